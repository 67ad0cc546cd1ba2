"""Views of runs and of the vehicle: to scale on both papers, every word within its frame, no line without its tag."""

import io
import itertools
import math
import re

import numpy as np
import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.graphics.shapes import PolyLine, Rect, String
from reportlab.pdfbase import pdfmetrics
from writing import read

from lines.zones import ZoneTable
from reports.labels import Room
from reports.packet import packet
from reports.pdf import PAPERS, pdf_bytes, room_of
from reports.pdfvehicle import STYLES, drawings, vehicle_sheets
from reports.pdfviews import CAPTION, GAP, NOTES, POINT, SCALES, bar_of, run_stand, run_views, scale_for
from reports.views import LOOSE, PLACED, Zone, _zone, hull, projected, run_shape, vehicle
from solver.checks import findings
from solver.study import study

INCH = 0.0254
FLARE = {"thread": "flare37 -6"}
STRAIGHT = {"ends": ["straight", "straight"]}


@pytest.fixture
def studied(tmp_path):
    """The study of runs between ports at two places each [in], one circuit for each letter of their tags."""

    def studied(runs, *, units="us", **sections):
        components, rows = {}, {}
        for n, (tag, (start, end, run)) in enumerate(runs.items()):
            components[f"s{n}"] = {"kind": "source", "pressure": "40 psi", "ports": {"out": FLARE | start}}
            components[f"d{n}"] = {"kind": "draw", "flow": "10 gph", "ports": {"in": FLARE | end}}
            rows[tag] = {"circuit": tag[0], "from": f"s{n}.out", "to": f"d{n}.in", "stock": "ptfe-braid -6"} | run
        circuits = {tag[0]: {"fluid": "gasoline-summer", "temperature": "70 F"} for tag in runs}
        plan = {"units": units, "zero": "the ground under the front axle"}
        return study(read(tmp_path, plan=plan, circuits=circuits, components=components, runs=rows, **sections))

    return studied


def at(*place):
    return {"at": f"{', '.join(str(n) for n in place)} in"}


ROOM = 186.0, 200.0
"""Of the views of a run on its block [pt]."""
ALONG = {"F1": (at(0, 0, 20), at(-60, 0, 20), STRAIGHT | {"via": []})}
"""60 in from seat to seat, straight from front to back."""


def shape_of(made, tag="F1"):
    return run_shape(made.plan, made.assemblies[tag])


def pieces(drawing, sort):
    return [shape for shape in drawing.contents if isinstance(shape, sort)]


def extents(line):
    points = np.array(line.points).reshape(-1, 2)
    return points.max(axis=0) - points.min(axis=0)


# ---------------------------------------------------------------- what is seen


def test_the_axes_of_each_view():
    # ISO 8855: x forward, y left, z up. From the right forward is to the right; from ahead the left is to the right.
    point = np.array([[1.0, 2.0, 3.0]])
    assert projected(point, "side").tolist() == [[1.0, 3.0]]
    assert projected(point, "top").tolist() == [[1.0, 2.0]]
    assert projected(point, "front").tolist() == [[2.0, 3.0]]


def off(line, point):
    """How far a point lies from a polyline."""
    legs = np.diff(line, axis=0)
    shares = np.clip(((point - line[:-1]) * legs).sum(axis=1) / (legs**2).sum(axis=1), 0, 1)
    return np.linalg.norm(line[:-1] + shares[:, None] * legs - point, axis=1).min()


def test_a_run_shows_its_hose_its_ends_and_its_marks(studied):
    run = STRAIGHT | {"via": ["30, 0, 20 in"]}
    made = studied({"F1": (at(0, 0, 20), at(30, 40, 20), run)})
    shape = shape_of(made)
    # A straight end on -6 PTFE hose adds 0.81 in: NAVEDTRA 14018 Table 5-2.
    assert np.linalg.norm(shape.hose[0] - shape.seats[0]) == pytest.approx(0.81 * INCH)
    assert shape.says == PLACED
    for spot in shape.spots:
        assert off(shape.hose, spot.at) < 0.001  # m: how far an arc bulges over its polyline
        assert np.linalg.norm(spot.along) == pytest.approx(1.0)
    legs = np.linalg.norm(np.diff(shape.hose, axis=0), axis=1).sum()
    # A polyline through an arc in steps of 6 deg is shorter than the arc by (1 - sin 3/3 deg), under 0.05 %.
    assert legs == pytest.approx(made.assemblies["F1"].cut, rel=5e-4)


def test_a_run_known_only_from_end_to_end_says_so_and_one_of_no_known_way_has_no_view(studied):
    ends = {"points": "forward"}, {"points": "back"}
    span = STRAIGHT | {"span": {"forward": "30 in"}, "bends": []}
    tape = STRAIGHT | {"length": "30 in", "length_is": "seat-to-seat"}
    made = studied({"F1": (*ends, span), "F2": ({}, {}, tape), "F3": (at(0, 0, 9), at(30, 0, 9), {"via": []})})
    assert shape_of(made).says == LOOSE
    assert shape_of(made, "F2") is None
    seen = vehicle(made)
    assert [strand.tag for strand in seen.strands] == ["F3"]
    assert seen.left_out == ("F1", "F2")


def test_a_plan_without_places_has_no_views(studied):
    made = studied({"F1": ({}, {}, STRAIGHT | {"length": "30 in", "length_is": "seat-to-seat"})})
    assert vehicle(made) is None
    assert "Lines of the vehicle" not in text_of(made, "letter")


def text_of(made, paper):
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(packet(made, findings(made)), paper)))
    return "\n".join(page.extract_text() for page in reader.pages)


# ---------------------------------------------------------------- to scale


@given(st.floats(0.01, 20), st.floats(0.001, 5), st.floats(100, 600), st.floats(60, 600))
def test_what_is_drawn_fits_and_the_next_larger_scale_would_not(wide, high, room, tall):
    scale = scale_for(wide, high, (room, tall))
    assert max(wide / scale / POINT / room, high / scale / POINT / tall) <= 1 + 1e-6
    if scale > 1:
        # Scales stand no further apart than 1 to 2.
        assert max(wide / scale / POINT / room, high / scale / POINT / tall) >= 1 / 2 - 1e-6


@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_scale_bar_is_as_long_as_it_says(units):
    for scale in (1, 8, 30, 100):
        long, text = bar_of(scale, units, 90)
        number, unit = text.split()
        assert long * POINT * scale == pytest.approx(float(number) * {"in": INCH, "mm": 0.001}[unit])
        assert long <= 90


def test_a_straight_run_is_as_long_as_its_scale_says(studied):
    made = studied(ALONG)
    scale = run_stand(shape_of(made), *ROOM).scale
    widths = [extents(line)[0] for line in pieces(run_views(shape_of(made), "us", *ROOM), PolyLine)]
    # Seat to seat 60 in less 0.81 in at each end, on both views.
    hose = (60 - 2 * 0.81) * INCH / scale / POINT
    assert sum(abs(wide - hose) < 1e-6 for wide in widths) == 2


def test_hose_is_as_wide_as_its_outside(studied):
    made = studied({"F1": (at(0, 0, 20), at(-10, 0, 20), STRAIGHT | {"via": []})})
    lines = pieces(run_views(shape_of(made), "us", *ROOM), PolyLine)
    outside = made.assemblies["F1"].stock.outside / run_stand(shape_of(made), *ROOM).scale / POINT
    assert sum(line.strokeWidth == pytest.approx(outside) for line in lines) == 2


def segments(data):
    """Length of every straight stroke on each page [pt], through all transformations."""
    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        found, last = [], [None]

        def see(operator, operands, matrix, _text, found=found, last=last):
            if operator not in {b"m", b"l"}:
                return
            x, y = (float(n) for n in operands)
            a, b, c, d, e, f = (float(n) for n in matrix)
            here = (a * x + c * y + e, b * x + d * y + f)
            if operator == b"l" and last[0] is not None:
                found.append(math.dist(last[0], here))
            last[0] = here

        page.extract_text(visitor_operand_before=see)
        yield page.extract_text(), found


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_on_paper_a_straight_run_is_as_long_as_the_printed_scale_says(studied, paper, units):
    made = studied(ALONG, units=units)
    pages = list(segments(pdf_bytes(packet(made, findings(made)), paper)))
    views = [page for page in pages if "Lines of the vehicle" in page[0] or "CUT LENGTH" in page[0]]
    assert len(views) == 2
    for text, lengths in views:
        scale = float(re.search(r"scale 1:([\d.]+)", text)[1])
        hose = (60 - 2 * 0.81) * INCH / scale / POINT
        # A page's numbers have six digits or fewer.
        assert sum(abs(length - hose) < 0.01 for length in lengths) >= 2


# ---------------------------------------------------------------- words


def boxes(drawing, frames):
    """Of each word in one of the frames: its text and its rectangle, and the frame that it is in."""
    for word in pieces(drawing, String):
        wide = pdfmetrics.stringWidth(word.text, word.fontName, word.fontSize)
        left = word.x - {"start": 0.0, "middle": wide / 2, "end": wide}[word.textAnchor]
        area = left, word.y - 0.22 * word.fontSize, left + wide, word.y + 0.76 * word.fontSize
        inside = [f for f in frames if f[0] <= word.x <= f[2] and f[1] <= word.y <= f[3]]
        if inside:
            yield word.text, area, inside[0]


def frames_of(drawing):
    return [
        (r.x, r.y, r.x + r.width, r.y + r.height)
        for r in pieces(drawing, Rect)
        if r.fillColor is None and r.strokeWidth == 0.5 and r.width > 100
    ]


def assert_tidy(drawing, count):
    frames = frames_of(drawing)
    assert len(frames) == count
    words = list(boxes(drawing, frames))
    for text, (left, low, right, high), frame in words:
        assert frame[0] <= left, text
        assert right <= frame[2], text
        assert frame[1] <= low, text
        assert high <= frame[3], text
    for (one, a, _), (other, b, _) in itertools.combinations(words, 2):
        over = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
        assert min(over) <= 0.01, (one, other)
    return [text for text, _, _ in words]


@pytest.mark.parametrize("units", ["us", "metric"])
def test_every_word_of_a_runs_views_lies_in_its_frame_and_over_no_other(studied, units):
    run = STRAIGHT | {"via": ["30, 0, 20 in", "30, 40, 24 in", "-20, 44, 24 in"]}
    made = studied({"F1": (at(0, 0, 20), at(-20, 80, 40), run)}, units=units)
    words = assert_tidy(run_views(shape_of(made), units, 190.0, 260.0), 2)
    labels = [spot.label for spot in shape_of(made).spots]
    assert len(labels) > 8
    for label in labels:
        assert label in words  # in one view at least: where a run is seen end on, its marks lie over each other
    assert words.count("A: s0.out") == words.count("B: d0.in") == 2


@pytest.mark.parametrize("to", [(-60, 0, 20), (0, 0, 80), (0, -60, 20), (-20, 30, 60)])
def test_views_fill_their_room_as_far_as_a_standard_scale_goes(studied, to):
    made = studied({"F1": (at(0, 0, 20), at(*to), STRAIGHT | {"via": []})})
    shape = shape_of(made)
    stand, drawing = run_stand(shape, *ROOM), run_views(shape, "us", *ROOM)
    assert drawing.width == ROOM[0]
    assert drawing.height <= ROOM[1] + 0.01
    larger = SCALES[SCALES.index(stand.scale) - 1]
    x, y, z = (np.ptp(shape.everything, axis=0) + shape.outside) / larger / POINT
    # Drawn to the next larger scale it would leave less than 16 pt at a side and 10 pt over and under it for words.
    under = x > ROOM[0] - 32 or y + z > ROOM[1] - NOTES - GAP - 2 * (CAPTION + 20)
    beside = x > (ROOM[0] - GAP) / 2 - 32 or max(y, z) > ROOM[1] - NOTES - CAPTION - 20
    assert under
    assert beside


def test_a_run_across_the_vehicle_shows_its_bend_from_ahead(studied):
    # Up and to the left, nothing forward: from above and from the side its quarter turn is a straight.
    made = studied({"F1": (at(0, 0, 0), at(0, 30, 30), STRAIGHT | {"via": ["0, 0, 30 in"]})})
    assert "front" in shape_of(made).views
    made = studied({"F1": (at(0, 0, 0), at(30, 0, 30), STRAIGHT | {"via": ["0, 0, 30 in"]})})
    assert shape_of(made).views == ("top", "side")


def crowd(per_circuit, circuits="ABCDEFGHI"):
    """Runs side by side through a vehicle of 3 by 1 m, circuits over each other."""
    runs = {}
    for level, circuit in enumerate(circuits):
        for n in range(per_circuit):
            y, z = -20 + 8 * n + level, 12 + 5 * level
            bend = f"{-60 + 4 * n}, {y}, {z} in"
            runs[f"{circuit}{n + 1}"] = (at(-10 * n, y, z), at(-110 + 3 * n, y + 6, z + 3), STRAIGHT | {"via": [bend]})
    return runs


@pytest.mark.parametrize("paper", PAPERS)
def test_forty_five_runs_have_each_its_tag_in_each_view_within_the_frames(studied, paper):
    made = studied(crowd(5))
    seen = vehicle(made)
    assert len(seen.strands) == 45
    sheets = vehicle_sheets(seen, "us", *room_of(paper))
    assert len(sheets) > 1  # too dense for one
    assert all(drawing.height + 40 < room_of(paper)[1] for _, drawing in sheets)
    words = [text for _, d in sheets for text in assert_tidy(d, len(frames_of(d)))]
    for tag in made.assemblies:
        assert words.count(tag) == 3, tag
    for solid in seen.solids:
        assert solid.name in words


def test_few_runs_stand_on_one_sheet_with_their_three_views_to_one_scale(studied):
    made = studied(crowd(2, "AB"))
    (page,) = drawings(vehicle(made), "us", *room_of("letter"))
    assert len(frames_of(page.drawing)) == 3
    assert page.clear
    assert {"TOP, from above", "SIDE, from the right", "FRONT, from ahead"} <= {
        w.text for w in pieces(page.drawing, String)
    }


def test_circuits_are_told_apart_in_black_alone(studied):
    assert len(set(STYLES)) == len(STYLES) >= 12
    made = studied(crowd(1, "ABCD"))
    page = drawings(vehicle(made), "us", *room_of("letter"))[0].drawing
    legend = [line for line in pieces(page, PolyLine) if extents(line).tolist() == [44.0, 0.0]]
    assert len({(line.strokeWidth, str(line.strokeDashArray)) for line in legend}) == 4
    assert {line.strokeColor.rgb() for line in pieces(page, PolyLine)} <= {(0, 0, 0), (1, 1, 1)}


def test_a_label_keeps_off_lines_and_other_labels():
    room = Room(200, 100)
    room.line(np.array([[0.0, 50.0], [200.0, 50.0]]), 3.0)
    placed = [room.place([(x, 50.0) for x in (100.0, 40.0, 160.0)], 30, 7) for _ in range(6)]
    for one, other in itertools.combinations(placed, 2):
        assert abs(one.x - other.x) >= 30 or abs(one.y - other.y) >= 7
    assert all(label.y > 51 or label.y + 7 < 49 for label in placed)


@pytest.mark.parametrize("place", [(-15.0, 50.0), (215.0, 50.0), (100.0, -15.0), (100.0, 115.0)])
def test_a_label_of_what_lies_beside_the_frame_stands_within_it(place):
    room = Room(200, 100)
    for x in range(0, 200, 40):
        room.keep(x, 0, 30, 100)
    label = room.place([place], 9, 7)
    assert 0 <= label.x <= 191
    assert 0 <= label.y <= 93


@pytest.mark.parametrize("shift", [-3, -1, 0, 1, 3])
@pytest.mark.parametrize("end", [0, -60])
def test_zero_may_lie_at_an_edge_of_a_view(studied, end, shift):
    made = studied({"F1": (at(shift - end, 0, 20), at(shift - end - 60, 0, 20), STRAIGHT | {"via": []})})
    for paper in PAPERS:
        assert drawings(vehicle(made), "us", *room_of(paper))


def test_a_leader_begins_at_the_rim_of_its_dot_and_no_label_covers_one():
    room = Room(200, 100)
    dots = [(60.0 + 9 * i, 50.0) for i in range(5)]
    for x, y in dots:
        room.keep(x - 2.6, y - 2.6, 5.2, 5.2)
    placed = [room.place([dot], 30, 7, radius=2.6) for dot in dots]
    for label, dot in itertools.product(placed, dots):
        assert not (label.x - 2.6 < dot[0] < label.x + 32.6 and label.y - 2.6 < dot[1] < label.y + 9.6)
    led = [(label.leader, dot) for label, dot in zip(placed, dots, strict=True) if label.leader is not None]
    assert led
    for (x, y, _, _), dot in led:
        assert np.hypot(x - dot[0], y - dot[1]) == pytest.approx(2.6)
    assert all(label.clear for label in placed)


def test_where_a_leader_will_not_do_a_label_stands_near():
    room = Room(200, 100)
    room.line(np.array([[0.0, y] for y in (40.0, 60.0)]), 1.0)
    for y in range(0, 100, 6):
        room.line(np.array([[0.0, y], [200.0, y]]), 1.0)
    room.keep(60, 10, 80, 80)
    assert room.place([(100.0, 50.0)], 30, 7).leader is not None
    assert room.place([(100.0, 50.0)], 30, 7, near=True).leader is None


def test_a_label_that_finds_no_clear_place_is_left_out_where_that_is_asked():
    room = Room(60, 20)
    room.keep(0, 0, 60, 20)
    assert not room.place([(30.0, 10.0)], 30, 7, only_clear=True).clear
    assert room.place([(30.0, 10.0)], 30, 7).x >= 0


# ---------------------------------------------------------------- zones


def test_a_hull_holds_its_points_and_no_more_corners_than_it_needs():
    square = [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0), (1.0, 1.0), (1.0, 0.0)]
    assert sorted(map(tuple, hull(np.array(square)))) == [(0.0, 0.0), (0.0, 2.0), (2.0, 0.0), (2.0, 2.0)]


def zone(**facts):
    return _zone("z", ZoneTable.model_validate({"nature": "hot"} | facts))


def test_a_sphere_is_a_circle_in_each_view():
    outlines = zone(form="sphere", centre="1, 2, 3 m", radius="0.5 m").outlines
    for view, middle in {"side": (1, 3), "top": (1, 2), "front": (2, 3)}.items():
        assert np.linalg.norm(outlines[view] - middle, axis=1) == pytest.approx(0.5)


def test_a_cylinder_is_a_circle_along_its_axis_and_a_rectangle_across_it():
    outlines = zone(form="cylinder", **{"from": "0, 0, 1 m", "to": "2, 0, 1 m"}, radius="0.25 m").outlines
    assert np.linalg.norm(outlines["front"] - (0, 1), axis=1) == pytest.approx(0.25)
    low, high = outlines["side"].min(axis=0), outlines["side"].max(axis=0)
    # Its rim is drawn with 48 corners, which reach to within 0.3 % of the radius.
    assert (low, high) == (pytest.approx([0, 0.75], abs=1e-3), pytest.approx([2, 1.25], abs=1e-3))


def test_a_box_shows_its_sides():
    outlines = zone(form="box", corner="0, 0, 0 m", opposite="3, 2, 1 m").outlines
    assert [np.ptp(outlines[view], axis=0).tolist() for view in ("side", "top", "front")] == [[3, 1], [3, 2], [2, 1]]


def test_a_zone_far_off_does_not_make_the_lines_small(studied):
    zones = {
        "near": {"form": "sphere", "nature": "hot", "centre": "-30, 0, 20 in", "radius": "10 in"},
        "far": {"form": "sphere", "nature": "hot", "centre": "3000, 0, 20 in", "radius": "10 in"},
    }
    seen = vehicle(studied(ALONG, zones=zones))
    assert [isinstance(z, Zone) for z in seen.zones] == [True, True]
    low, high = seen.extent(zones=True)
    assert high[0] < 100 * INCH
    assert high[2] == pytest.approx(30 * INCH)
    assert low[2] == 0.0  # the ground
