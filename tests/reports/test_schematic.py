"""The schematic: every run once with its tag, boxes apart, words inside the page and large enough to read."""

import io
import itertools
from importlib import resources
from pathlib import Path

import numpy as np
import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.graphics.shapes import Polygon, String
from writing import fluid, read, straight, tube
from writing import run as a_run

from lines.reading import read_plan
from reports.layout import Box, Way, crossings, order, placed
from reports.packet import packet
from reports.pdf import PAPERS, pdf_bytes
from reports.pdfschematic import _drawing, sheets_of
from reports.schematic import Line, Part, Sketch, directions, sketches
from reports.wiring import wired
from solver.checks import findings
from solver.study import study

# What a page holds between its margins [pt]: US Letter and ISO 216 A4.
ROOMS = {"letter": (544.0, 688.0), "a4": (527.3, 737.9)}
LEAST = 7.0  # pt


def studied(name):
    with resources.as_file(resources.files("lines") / "examples" / name) as folder:
        return study(read_plan(Path(folder) / "plan.toml"))


@pytest.fixture(scope="module", params=["fuel-return", "methanol-sideways"])
def made(request):
    return studied(request.param)


def sketch(ways, first=()):
    """A sketch of runs written as `a.out b.in`, one to a line."""
    found = [Way(f"R{n}", *line.split()) for n, line in enumerate(ways.strip().splitlines(), 1)]
    names = list(dict.fromkeys(name for way in found for name in way.owners))
    return Sketch(
        circuit="test",
        fluid="a liquid",
        arrows="",
        parts={name: Part(name, "a kind") for name in names},
        lines={way.tag: Line(way.tag, "LINE", "-8 AN") for way in found},
        first=tuple(first),
        order=order(names, found, first),
    )


COOLANT = """
pump.out block.in
block.out thermostat.in
thermostat.out radiator.in
thermostat.bypass tee.branch
radiator.out tee.a
tee.b pump.in
radiator.bleed header.bleed1
block.steam header.bleed2
header.fill fill_tee.a
fill_tee.b pump.fill
block.heater heater.in
heater.out fill_tee.branch
"""
FUEL = """
cell.a lift_1.in
cell.b lift_2.in
lift_1.out lift_tee.a
lift_2.out lift_tee.branch
lift_tee.b surge.in
surge.overflow cell.overflow
surge.out_1 main_1.in
surge.out_2 main_2.in
main_1.out y.a
main_2.out y.branch
y.b filter.in
filter.out split.a
split.b left_rail.in
split.branch right_rail.in
left_rail.out join.a
right_rail.out join.branch
join.b regulator.in
regulator.return cooler.in
cooler.out surge.return
"""
SKETCHES = {"coolant": (COOLANT, ["pump"]), "fuel": (FUEL, ["cell"])}


@pytest.fixture(params=SKETCHES)
def large(request):
    return sketch(*SKETCHES[request.param])


def apart(a, b):
    return a.x + a.width < b.x or b.x + b.width < a.x or a.y + a.height < b.y or b.y + b.height < a.y


def steps(corners):
    """Every pair of neighbouring cells of a line."""
    cells = [corners[0]]
    for a, b in itertools.pairwise(corners):
        assert (a[0] == b[0]) != (a[1] == b[1])  # square
        size = max(abs(b[0] - a[0]), abs(b[1] - a[1]))
        cells += [(a[0] + (b[0] - a[0]) * n // size, a[1] + (b[1] - a[1]) * n // size) for n in range(1, size + 1)]
    return [frozenset(pair) for pair in itertools.pairwise(cells)]


def holds(flow, boxes, lines):
    """What holds of every drawing: boxes apart, each line from port to port, none over another or through a box."""
    assert all(apart(a, b) for a, b in itertools.combinations(boxes.values(), 2))
    ports = {port: at[:2] for box in boxes.values() for port, at in box.ports.items()}
    assert set(lines) == {way.tag for way in flow.ways}
    used = []
    for way in flow.ways:
        corners = lines[way.tag]
        assert (corners[0], corners[-1]) == (ports[way.start], ports[way.end])
        own = steps(corners)
        inner = {cell for step in own for cell in step} - {corners[0], corners[-1]}
        for box in boxes.values():
            assert not any(box.x <= x <= box.x + box.width and box.y <= y <= box.y + box.height for x, y in inner), (
                way.tag
            )
        used += own
    assert len(used) == len(set(used))


# ---------------------------------------------------------------- order


def test_a_chain_stands_in_its_order_and_its_return_leads_back():
    flow = sketch("cell.out pump.in\npump.out rail.in\nrail.out regulator.in\nregulator.return cell.return").order
    assert flow.columns == (("cell",), ("pump",), ("rail",), ("regulator",))
    assert flow.back == {"R4"}
    assert flow.ports("cell") == {"left": [], "right": ["cell.out"], "bottom": ["cell.return"]}
    assert flow.ports("regulator")["bottom"] == ["regulator.return"]


def test_a_closed_loop_begins_where_it_is_told():
    flow = sketch("a.out b.in\nb.out c.in\nc.out a.in", ["b"]).order
    assert flow.columns == (("b",), ("c",), ("a",))
    assert flow.back == {"R1"}


def test_everything_but_what_leads_back_runs_to_the_right(large):
    column = {name: n for n, names in enumerate(large.order.columns) for name in names}
    for way in large.order.ways:
        start, end = (column[name] for name in way.owners)
        assert (start >= end) == (way.tag in large.order.back)


def test_two_ways_that_need_not_cross_do_not():
    flow = sketch("tee.a left.in\ntee.b right.in\nright.out far_right.in\nleft.out far_left.in").order
    assert crossings(flow.columns, flow.ways) == 0
    assert flow.columns[1] == ("left", "right")
    assert flow.columns[2] == ("far_left", "far_right")


def test_a_long_chain_goes_on_in_bands_of_the_width():
    flow = sketch("\n".join(f"p{n}.out p{n + 1}.in" for n in range(9))).order
    boxes = placed(flow, dict.fromkeys(flow_names(flow), 8), 10, 62)
    assert len({box.y for box in boxes.values()}) == 3
    assert max(box.x + box.width for box in boxes.values()) <= 62
    assert all(apart(a, b) for a, b in itertools.combinations(boxes.values(), 2))


def flow_names(flow):
    return [name for column in flow.columns for name in column]


# ---------------------------------------------------------------- lines


def test_lines_run_from_port_to_port_and_none_over_another(large):
    for most in (60, 90, 200):
        boxes = placed(large.order, dict.fromkeys(large.parts, 10), 12, most)
        holds(large.order, boxes, wired(large.order.ways, boxes))


@st.composite
def circuits(draw):
    """Any runs between any few components, each port once."""
    number = draw(st.integers(2, 9))
    pairs = draw(st.lists(st.tuples(st.integers(0, number - 1), st.integers(0, number - 1)), min_size=1, max_size=14))
    return "\n".join(f"n{a}.a{n} n{b}.b{n}" for n, (a, b) in enumerate(pairs))


@given(circuits(), st.sampled_from([50, 100, 200]))
@settings(max_examples=40)
def test_any_circuit_finds_its_lines_where_the_boxes_stand_far_enough_apart(ways, most):
    flow = sketch(ways).order
    widths = {name: 8 + 2 * len(flow.ports(name)["bottom"]) for name in flow_names(flow)}
    for gap in (12, 20, 40, 80):
        boxes = placed(flow, widths, gap, most)
        lines = wired(flow.ways, boxes)
        if lines is not None:
            holds(flow, boxes, lines)
            return
    pytest.fail("no room even 80 cells apart")


def test_a_line_without_room_is_refused():
    flow = sketch("a.out b.in").order
    boxes = placed(flow, {"a": 8, "b": 8}, 0, 100)
    wall = Box(boxes["b"].x - 3, -50, 2, 120, {})
    assert wired(flow.ways, boxes | {"wall": wall}) is None


# ---------------------------------------------------------------- the drawing


def shapes(sheet):
    drawing = _drawing(sheet)
    return drawing, [s for s in drawing.contents if isinstance(s, String)]


def right_of(text):
    from reportlab.pdfbase.pdfmetrics import stringWidth

    wide = stringWidth(text.text, text.fontName, text.fontSize)
    left = text.x - {"start": 0.0, "middle": wide / 2, "end": wide}[text.textAnchor]
    return left, left + wide


def check_sheets(sketch_, paper):
    width, height = ROOMS[paper]
    sheets = sheets_of(sketch_, width, height)
    tags = []
    for sheet in sheets:
        drawing, texts = shapes(sheet)
        assert drawing.width <= width + 1e-6
        assert drawing.height <= height
        for text in texts:
            left, right = right_of(text)
            assert text.fontSize >= LEAST - 1e-9
            assert left >= -1e-6
            assert right <= drawing.width + 1e-6
            assert 0 <= text.y <= drawing.height
        tags += [text.text for text in texts if text.text in sketch_.lines]
        assert sum(isinstance(s, Polygon) for s in drawing.contents) == len(sheet.sketch.lines)
        for part in sheet.sketch.parts.values():
            assert part.name in {text.text for text in texts}
    assert sorted(tags) == sorted(sketch_.lines)
    return sheets


@pytest.mark.parametrize("paper", ROOMS)
def test_every_run_of_an_example_is_drawn_once_on_one_page(made, paper):
    found = sketches(made)
    assert [s.circuit for s in found] == list(made.circuits)
    for one in found:
        assert list(one.lines) == list(made.circuits[one.circuit].runs)
        assert len(check_sheets(one, paper)) == 1


@pytest.mark.parametrize("paper", ROOMS)
def test_a_large_circuit_is_drawn_whole(large, paper):
    (sheet,) = check_sheets(large, paper)
    words = [area for word in sheet.laid.words.values() for area in (word.first, word.second)]
    assert not any(a.over(b) for a, b in itertools.combinations(words, 2))


@pytest.mark.parametrize("paper", ROOMS)
def test_what_does_not_fit_at_a_size_to_read_goes_on_more_sheets(paper):
    sheets = check_sheets(sketch("\n".join(f"part_{n}.out part_{n + 1}.in" for n in range(60))), paper)
    assert len(sheets) > 1
    assert sheets[0].title.endswith(f"sheet 1 of {len(sheets)}")
    for one, other in itertools.pairwise(sheets):
        assert set(one.elsewhere) & set(other.elsewhere) == set(one.sketch.parts) & set(other.sketch.parts)


def test_long_names_are_cut_to_their_boxes_and_odd_letters_drawn():
    name = "x" * 120
    one = sketch(f"{name}.{'p' * 90} b.in\nb.out {name}.{'q' * 90}")
    odd = Line("W" * 120, "\u6f22 & <b> " + "W" * 150, "-8 AN")
    lines = dict.fromkeys(one.lines, odd)
    for sheet in sheets_of(Sketch("c" * 200, "f" * 300, "", one.parts, lines, (), one.order), *ROOMS["letter"]):
        drawing, texts = shapes(sheet)
        for text in texts:
            left, right = right_of(text)
            assert left >= -1e-6
            assert right <= drawing.width + 1e-6


@pytest.mark.parametrize("paper", PAPERS)
def test_schematics_stand_behind_the_front_and_before_the_lists(made, paper):
    pages = pypdf.PdfReader(io.BytesIO(pdf_bytes(packet(made, findings(made)), paper))).pages
    texts = [page.extract_text() for page in pages]
    drawn = [n for n, text in enumerate(texts) if "Schematic: " in text]
    assert drawn[0] == 1
    titles = [line for n in drawn for line in texts[n].splitlines() if line.startswith("Schematic: ")]
    assert titles == [f"Schematic: {name}" for name in made.circuits]
    assert drawn[-1] < next(n for n, text in enumerate(texts) if "Joint list" in text.splitlines())


# ---------------------------------------------------------------- the way it flows


def test_arrows_follow_the_flow_that_was_found_and_not_the_order_of_writing(tmp_path):
    here, there = straight(2.0)
    components = {
        "low": {"kind": "open", "ports": {"in": {"at": here}}},
        "high": {"kind": "source", "pressure": "50 kPa", "ports": {"out": {"at": there}}},
    }
    plan = read(
        tmp_path,
        fluids={"liquid": fluid("1000 kg/m3", "1 mPa s")},
        circuits={"line": {"fluid": "liquid", "temperature": "20 C"}},
        components=components,
        runs={"R1": a_run("low.in", "high.out", "t", via=[])},
        stock={"t": tube("8 mm")},
    )
    found = study(plan)
    (one,) = sketches(found)
    # It runs from the higher pressure to the lower, against the order of from and to.
    assert one.order.ways == (Way("R1", "high.out", "low.in"),)
    assert one.order.columns == (("high",), ("low",))
    assert one.arrows == "Arrows: the flow at steady."


def test_a_drain_runs_the_way_it_drains(made):
    one = next(s for s in sketches(made) if s.circuit == "drain")
    assert one.order.columns == (("turbo",), ("sump",))
    assert one.arrows == "Arrows: the way it drains."


def test_what_has_no_flow_is_drawn_as_the_plan_says(tmp_path):
    components = {"a": {"kind": "gauge"}, "b": {"kind": "gauge"}}
    plan = read(
        tmp_path,
        circuits={"line": {"fluid": "methanol", "temperature": "20 C"}},
        components=components,
        runs={"R1": a_run("a.in", "b.in", "t", length="1 m", length_is="cut")},
        stock={"t": tube("8 mm")},
    )
    found = study(plan)
    forward, says = directions(found, found.circuits["line"])
    assert forward == {}
    assert says == "Arrows: from and to as in the plan; no flow is known."


def test_the_arrow_points_into_the_port_that_the_fluid_enters():
    (sheet,) = sheets_of(sketch("a.out b.in"), *ROOMS["letter"])
    drawing, _ = shapes(sheet)
    (head,) = (s for s in drawing.contents if isinstance(s, Polygon))
    tip, *wings = np.array(head.points).reshape(-1, 2)
    assert all(tip[0] > wing[0] for wing in wings)
    box = sheet.laid.boxes["b"]
    assert tip[0] == pytest.approx(box.x * 6.0 - sheet.laid.x, abs=0.01)  # six points to a cell
