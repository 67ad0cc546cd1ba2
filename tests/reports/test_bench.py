"""The bench block: its lengths add up as printed, its bend table closes, its dial points where the outlet does."""

import math
import re
from decimal import Decimal
from importlib import resources
from itertools import pairwise
from pathlib import Path

import pytest
from reportlab.graphics.shapes import Line, String
from reportlab.platypus import PageBreak
from writing import read

from catalogs.catalog import Catalog
from lines.reading import read_plan
from reports.allowed import Clock
from reports.bench import blocks
from reports.figures import BLANK
from reports.pdf import MARGIN, PAPERS, room_of
from reports.pdfblock import BETWEEN, MOST_MARKS, Room, bench_story, block_table
from reports.pdfparts import DIAL, dial_picture, hand
from solver.checks import findings
from solver.study import study

INCH = 0.0254
US = {"units": "us", "ambient": {"temperature": "70 F", "altitude": "0 ft"}}
METRIC = {"units": "metric"}
STRAIGHT = {"ends": ["straight", "straight"]}
NUMBER = r"-?\d+(?:\.\d+)?"


@pytest.fixture
def bench(tmp_path):
    """The block of one run from one port to another."""

    def bench(run, *, plan=US, ports=({}, {}), thread="flare37 -6", shop=None, **sections):
        if shop:
            (tmp_path / "shop").mkdir(exist_ok=True)
            (tmp_path / "shop" / "ends.csv").write_text(shop, encoding="utf-8")
            plan = plan | {"shop": "shop"}
        components = {
            "a": {"kind": "source", "pressure": "40 psi", "ports": {"out": {"thread": thread} | ports[0]}},
            "b": {"kind": "draw", "flow": "10 gph", "ports": {"in": {"thread": thread} | ports[1]}},
        }
        circuits = {"fuel": {"fluid": "gasoline-summer", "temperature": "70 F"}}
        runs = {"F1": {"circuit": "fuel", "from": "a.out", "to": "b.in", "stock": "ptfe-braid -6"} | run}
        made = study(read(tmp_path, plan=plan, circuits=circuits, components=components, runs=runs, **sections))
        return blocks(made, findings(made))[0]

    return bench


def named(block):
    return {length.name: length for length in block.cut.lengths}


def example(name):
    with resources.as_file(resources.files("lines") / "examples" / name) as folder:
        made = study(read_plan(Path(folder) / "plan.toml"))
    return blocks(made, findings(made)), made.plan.system


# ---------------------------------------------------------------- lengths

# One straight end on -6 PTFE hose adds 0.81 in: NAVEDTRA 14018 Table 5-2 and US Army TM 1-1500-204-23-2 Table 4-22,
# column A. Hose = assembly - both cut-offs: the same TM, para. 4-5. Free length is the hose exposed between the ends:
# 49 CFR 571.106 S4.


def test_each_length_stands_by_its_name_with_its_formula(bench):
    shop = "id,overhang,insertion,source,grade\n,in,in,,\nptfe-braid -6 straight,0.2,0.6,our bench,measured\n"
    block = bench(STRAIGHT | {"length": "16.47 in", "length_is": "seat-to-seat"}, shop=shop)
    assert [(length.name, length.text) for length in block.cut.lengths] == [
        ("cut", "14.85 in"),
        ("seat to seat", "16.47 in"),
        ("overall", "16.87 in"),  # 16.47 + 2 x 0.2
        ("free", "13.65 in"),  # 14.85 - 2 x 0.6
    ]
    says = named(block)
    assert says["cut"].says == "= 16.47 - 0.81 (cut-off A) - 0.81 (cut-off B)"
    assert says["overall"].says == "= 16.47 + 0.20 (nut A) + 0.20 (nut B)"
    assert says["seat to seat"].says == "known by seat-to-seat length by tape"


def test_an_overall_length_that_nobody_knows_is_asked_for(bench):
    block = bench(STRAIGHT | {"length": "16.47 in", "length_is": "seat-to-seat"})
    overall = named(block)["overall"]
    assert overall.text == f"{BLANK} in"
    assert overall.says.startswith("measure how far the nut of end A and B reaches over its seat")


def test_an_overall_length_by_tape_is_not_passed_off_as_seat_to_seat(bench):
    block = bench(STRAIGHT | {"length": "16.47 in", "length_is": "overall"})
    assert (named(block)["overall"].text, named(block)["seat to seat"].text) == ("16.47 in", f"{BLANK} in")
    assert block.cut.word == "PROVISIONAL"
    assert any(line.startswith("MEASURE THE NUTS FIRST") and line.count(BLANK) == 3 for line in block.cut.measure)
    assert block.cut.measure[-1] == f"then cut  length - 0.81 - 0.81 = {BLANK} in"


def test_an_end_from_the_tables_is_measured_along_and_where_its_way_counts_across(bench):
    tape = {"length": "16.47 in", "length_is": "seat-to-seat", "ends": ["90 deg", "straight"]}
    ports = ({"at": "0, 0, 10 in", "points": "up"}, {"at": "20, 0, 14 in", "points": "back"})
    points = {"via": [], "ends": ["90 deg", "straight"]}
    # How far aside an elbow lies moves its hose between two ports; along a tape it does not count.
    for run, at, asked in ((tape, ({}, {}), f"cut-off {BLANK} in  ("), (points, ports, f", drop {BLANK} in  (")):
        (ask,) = [line for line in bench(run, ports=at).cut.measure if line.startswith("MEASURE END A FIRST")]
        assert asked in ask
        assert "illustrative" in ask


def test_hose_over_a_spigot_is_longer_than_its_place(bench):
    run = {"stock": "push-on -6", "ends": ["push-on -6 plain", "push-on -6 plain"]}
    shop = "id,cutoff,insertion,source,grade\n,in,in,,\npush-on -6 plain,-1.1,1.1,our bench,measured\n"
    tape = {"length": "20 in", "length_is": "seat-to-seat"}
    block = bench(run | tape, thread="barb 3/8", shop=shop)
    assert named(block)["cut"].text == "22.20 in"  # 20 + 2 x 1.1
    assert named(block)["cut"].says == "= 20.00 + 1.10 (over spigot A) + 1.10 (over spigot B)"
    assert named(block)["free"].text == "20.00 in"
    assert block.cut.formula == "20.00 + 1.10 + 1.10 = 22.20 in"
    assert block.ends[0].takes.startswith("pushed 1.10 in over its spigot (measured)")
    assert block.ends[0].nutless


def test_hose_over_spigots_that_nobody_measured_asks_how_far(bench):
    run = {"stock": "push-on -6", "ends": ["push-on -6 plain", "push-on -6 plain"]}
    block = bench(run | {"length": "20 in", "length_is": "seat-to-seat"}, thread="barb 3/8")
    assert f"MEASURE END A FIRST: how far the hose goes over its spigot {BLANK} in" in block.cut.measure[0]
    assert block.cut.measure[-1] == f"then cut  20.00 + over spigot A + over spigot B = {BLANK} in"


def test_a_flare_takes_some_of_the_tube(bench):
    run = {"stock": "tube-steel -6", "length": "20 in", "length_is": "seat-to-seat"}
    block = bench(run | {"ends": ["tube-steel -6 flare37", "tube-steel -6 flare37"]})
    taken = -Catalog().end("tube-steel -6 flare37").cutoff / INCH
    assert float(named(block)["cut"].text.split()[0]) == pytest.approx(20 + 2 * taken)
    assert block.ends[0].takes.startswith(f"its flare takes {taken:.2f} in")
    assert "free" not in named(block)  # nothing of a tube is hidden in a collar


def test_by_points_the_cut_length_lies_between_wide_and_tight_bends(bench):
    ports = ({"at": "0, 0, 10 in", "points": "forward"}, {"at": "12, 12, 10 in", "points": "right"})
    block = bench(STRAIGHT | {"via": ["12, 0, 10 in"]}, ports=ports)
    # By hand: two legs of 12 - 0.81 in, and a bend of 90 deg, which saves r (2 - pi/2). The tightest has the stock's
    # radius, the widest ends where the hose has to be straight: inside the collar and two diameters behind it.
    stock, end = Catalog().stock("ptfe-braid -6"), Catalog().end("ptfe-braid -6 straight")
    leg, saved = 12 - 0.81, 2 - math.pi / 2
    widest = leg - (end.insertion + 2 * stock.outside) / INCH
    low, high = (2 * leg - saved * r for r in (widest, stock.to_centreline(stock.bend_radius) / INCH))
    found = [float(n) for n in re.findall(rf"({NUMBER}) in\b", block.cut.between)]
    assert found == pytest.approx([low, high], abs=0.006)  # printed to a hundredth
    assert named(block)["cut"].text == f"{found[1]:.2f} in"


def test_a_length_by_tape_has_no_such_range(bench):
    assert bench(STRAIGHT | {"length": "16.47 in", "length_is": "seat-to-seat"}).cut.between == ""


def adds_up(length):
    """Does a printed formula `= name whole -/+ part (what) ...` give the length as printed?"""
    numbers = re.findall(rf"([-+]?) ?({NUMBER})(?= |,|$)", re.sub(r"\([^)]*\)", "", length.says.partition("=")[2]))
    total = sum(Decimal(n) * (-1 if sign == "-" else 1) for sign, n in numbers)
    return total == Decimal(length.text.split()[0])


@pytest.mark.parametrize("name", ["fuel-return", "methanol-sideways", "long-travel"])
def test_every_formula_of_the_examples_adds_up_as_printed(name):
    made, _ = example(name)
    shown = [
        length
        for block in made
        for length in block.cut.lengths
        if length.says.startswith("= ") and BLANK not in length.text and re.search(r"\d", length.says)
    ]
    assert len(shown) >= len(made)
    assert [length for length in shown if not adds_up(length)] == []


@pytest.mark.parametrize("plan", [US, METRIC])
@pytest.mark.parametrize("length", ["411.37 mm", "418.3 mm", "14 5/8 in", "16.333 in"])
def test_every_formula_adds_up_in_both_systems(bench, plan, length):
    shop = "id,overhang,insertion,source,grade\n,in,in,,\nptfe-braid -6 straight,0.213,0.587,our bench,measured\n"
    block = bench(STRAIGHT | {"length": length, "length_is": "seat-to-seat"}, plan=plan, shop=shop)
    formulas = [one for one in block.cut.lengths if one.says.startswith("=")]
    assert [one.name for one in formulas] == ["cut", "overall", "free"]
    assert all(adds_up(one) for one in formulas)


# ---------------------------------------------------------------- pressure, tolerance


def test_a_working_pressure_never_stands_alone_where_an_end_has_none(bench):
    block = bench(STRAIGHT | {"length": "16.47 in", "length_is": "seat-to-seat"})
    assert block.working_says.startswith("NOT KNOWN for the assembly, rating of end A and B not known")
    shop = "id,working_pressure,source,grade\n,psi,,\nptfe-braid -6 straight,900,data sheet,measured\n"
    rated = bench(STRAIGHT | {"length": "16.47 in", "length_is": "seat-to-seat"}, shop=shop)
    assert rated.working_says == "900 psi"


def test_the_tolerance_names_its_row(bench):
    block = bench(STRAIGHT | {"length": "16.47 in", "length_is": "seat-to-seat"})
    # The hose trade association's IP-2 (2003) table 4-8: 4.8 mm = 3/16 in for 12 to 24 in.
    assert (block.tolerance, block.tolerance_source) == ("+/- 3/16 in", "hose trade association IP-2 (2003) table 4-8")


# ---------------------------------------------------------------- bend table of a tube

# By hand: corners 400 and 250 mm apart with radius 20 mm; each bend of 90 deg takes 20 mm off each straight and is
# 20 pi/2 = 31.416 mm long.
TUBE = {
    "t": {"like": "tube-steel -4", "bend_radius": "20 mm", "radius_to": "centreline"}
    | {"source": "for the test", "grade": "published"}
}
NO_FLARE = "id,like,fits,cutoff,source,grade\n,,,mm,,\nt flare,tube-steel -4 flare37,t,0,for the test,measured\n"


def bent(bench, last, plan=METRIC):
    run = {"stock": "t", "via": ["400, 0, 0 mm", "400, 250, 0 mm"], "ends": ["t flare", "t flare"]}
    return bench(run, plan=plan, ports=({"at": "0, 0, 0 mm"}, {"at": last}), stock=TUBE, thread="", shop=NO_FLARE)


def test_straights_and_arcs_of_a_tube_are_those_by_hand(bench):
    block = bent(bench, "250, 250, 0 mm")
    rows = block.table.rows
    assert [row[2] for row in rows] == ["380.0", "210.0", "130.0"]
    assert [row[7] for row in rows[:2]] == ["31.4", "31.4"]
    assert [row[4] for row in rows[:2]] == ["90 deg", "90 deg"]
    assert rows[1][3] == "0 deg"  # both turn to the left, in one plane
    assert rows[2][1] == "782.8"  # 380 + 210 + 130 + 62.83
    assert all(BLANK in row[5] for row in rows[:2])  # the bender's own


@pytest.mark.parametrize(("last", "turned"), [("400, 250, -150 mm", "90 deg"), ("400, 250, 150 mm", "-90 deg")])
def test_rotation_is_counter_clockwise_seen_from_end_a(bench, last, turned):
    # Looking along the second straight, to the left of the vehicle, its front is on the right hand. The first bend
    # turns about an axis that points up; one down then turns about one to the rear: from up to the left hand, which
    # is counter-clockwise; one up turns about one to the front, clockwise.
    assert bent(bench, last).table.rows[1][3] == turned


@pytest.mark.parametrize("plan", [US, METRIC])
def test_printed_straights_and_arcs_sum_to_the_developed_length(bench, plan):
    block = bent(bench, "247, 250.3, 31 mm", plan)
    rows = block.table.rows
    total = sum(Decimal(row[2]) for row in rows) + sum(Decimal(row[7]) for row in rows[:-1])
    assert total == Decimal(rows[-1][1]) == Decimal(named(block)["cut"].text.split()[0])
    (said,) = [text for text in block.table.says if text.startswith("developed length")]
    whole, straight, arcs = (Decimal(n) for n in re.findall(NUMBER, said))
    assert whole == straight + arcs == total
    for (*_, arc), (_, begins, before, *_) in pairwise(rows):
        assert Decimal(begins) >= Decimal(before) + Decimal(arc)


def test_a_tube_gets_its_nuts_before_its_flares(bench):
    block = bent(bench, "250, 250, 0 mm")
    assert "both nuts and their sleeves" in block.before


@pytest.mark.parametrize(
    ("attaches", "said"),
    [
        (("reusable", "reusable"), "both sockets"),
        (("reusable", "clamped"), "the socket of end A, the hose clamp of end B"),
        (("clamped", "clamped"), "both hose clamps"),
        (("push-on", "push-on"), "clamps"),
    ],
)
def test_what_goes_on_first_is_what_its_ends_have(bench, attaches, said):
    # A reusable end has a socket that goes over the hose first; a hose pushed or clamped on a spigot has none.
    # Common practice, no source.
    rows = [
        f"{mark},ptfe-braid -6 straight,{how},for the test,measured" for mark, how in zip("AB", attaches, strict=True)
    ]
    shop = "\n".join(["id,like,attaches,source,grade", ",,,,", *rows, ""])
    block = bench({"length": "20 in", "length_is": "seat-to-seat", "ends": ["A", "B"]}, shop=shop)
    assert block.before.endswith(f", {said}")


# ---------------------------------------------------------------- marks of a hose


def test_the_marks_are_one_list_by_station(bench):
    run = STRAIGHT | {"via": ["30, 0, 10 in", "30, 40, 10 in"]}
    block = bench(run, ports=({"at": "0, 0, 10 in"}, {"at": "30, 40, 40 in"}))
    stations = [mark.station for mark in block.bends]
    assert stations == sorted(stations)
    assert {mark.what for mark in block.bends} == {"bend", "clamp"}
    assert [row[0].removesuffix(" *") for row in block.table.rows] == [f"{m.what} {m.label}" for m in block.bends]
    starred = [row[0] for row in block.table.rows if row[0].endswith("*")]
    assert len(starred) == 1  # the plane changes once, between the two bends


# ---------------------------------------------------------------- the clock angle

# MIL-DTL-83796/5 fig. 3: nearest outlet at 6 o'clock, counter-clockwise to the other; 3 deg to 610 mm.


def test_both_angles_stand_where_one_was_measured_and_one_computed(bench):
    ports = ({"at": "0, 0, 10 in", "points": "up"}, {"at": "20, 0, 10 in", "points": "left"})
    block = bench({"via": [], "ends": ["90 deg", "90 deg"], "clock": "88 deg"}, ports=ports)
    # Look forward along the hose: A's outlet points down, into its port; that of B points right, into a port that
    # points left. From 6 o'clock counter-clockwise to 3 o'clock: 90 deg.
    assert (block.clock.degrees, block.clock.computed) == (88.0, 90.0)
    assert "88 deg" in block.clock.says
    assert "by its points 90 deg" in block.clock.says
    assert block.clock.tolerance == pytest.approx((-3.0, 3.0))


def dial(degrees, **more):
    return dial_picture(Clock("given", degrees, "", "", **more)).contents


def rays(shapes):
    """Lines from the middle of the dial: their width, and where they point [deg from 6 o'clock, counter-clockwise]."""
    found = []
    for shape in shapes:
        if isinstance(shape, Line) and (shape.x1, shape.y1) == (DIAL / 2, DIAL / 2):
            angle = math.degrees(math.atan2(shape.y2 - DIAL / 2, shape.x2 - DIAL / 2)) + 90
            found.append((shape.strokeWidth, angle % 360))
    return found


@pytest.mark.parametrize("degrees", [0.0, 3.0, 45.0, 90.0, 137.5, 180.0, 270.0, 359.0])
def test_the_hands_point_where_the_outlets_do(degrees):
    (_, near), (_, far) = rays(dial(degrees))
    assert near == pytest.approx(0.0, abs=1e-9)
    assert (far - degrees + 180) % 360 - 180 == pytest.approx(0.0, abs=1e-9)


def test_a_quarter_counter_clockwise_from_six_is_three_oclock_and_its_mirror_nine():
    assert hand(0.0) == pytest.approx((0.0, -1.0))
    assert hand(90.0) == pytest.approx((1.0, 0.0))
    assert hand(270.0) == pytest.approx((-1.0, 0.0))


def test_the_dial_is_an_inch_across_and_its_words_lie_within():
    circle = next(shape for shape in dial(90.0) if type(shape).__name__ == "Circle")
    assert 2 * circle.r == 72.0
    for shape in dial(200.0):
        if isinstance(shape, String):
            assert 0 < shape.x - 4 < shape.x + 4 < DIAL
            assert 0 < shape.y < shape.y + 7 < DIAL


def test_a_computed_angle_is_dashed_beside_the_measured_one():
    shapes = dial(90.0, computed=80.0)
    dashed = [s for s in shapes if isinstance(s, Line) and s.strokeDashArray]
    assert len(dashed) == 1
    assert len(rays(shapes)) == 3


def test_no_dial_where_no_end_is_angled(bench):
    block = bench(STRAIGHT | {"length": "16.47 in", "length_is": "seat-to-seat"})
    assert block.clock.state == "none"


# ---------------------------------------------------------------- on paper


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("plan", [US, METRIC])
def test_the_fullest_block_still_fits_a_page(bench, paper, plan):
    corners = [f"{12 * n}, {6 * (n % 2)}, {10 + 3 * (n % 3)} in" for n in range(1, 20)]
    ports = ({"at": "0, 0, 10 in", "points": "up"}, {"at": "240, 0, 10 in", "points": "left"})
    block = bench({"via": corners, "ends": ["90 deg", "90 deg"], "clock": "88 deg"}, ports=ports, plan=plan)
    assert len(block.table.rows) > MOST_MARKS[0]
    width, height = room_of(paper)
    assert width + 2 * MARGIN == pytest.approx(PAPERS[paper][0])
    assert block_table(block, Room(width, height, plan["units"])).high <= height
    (table,) = bench_story([block], Room(width, height, plan["units"]))
    assert table.wrap(width, height)[1] <= height


def test_a_block_alone_on_its_page_has_its_views_larger_and_still_fits(bench):
    corners = [f"{12 * n}, {6 * (n % 2)}, {10 + 3 * (n % 3)} in" for n in range(1, 5)]
    ports = ({"at": "0, 0, 10 in", "points": "up"}, {"at": "60, 0, 10 in", "points": "left"})
    block = bench({"via": corners, "ends": ["90 deg", "90 deg"]}, ports=ports)
    room = Room(*room_of("a4"), "us")
    (alone,) = bench_story([block], room)
    assert block_table(block, room).high < alone.wrap(room.width, room.height)[1] <= room.height


def test_short_blocks_share_a_page_and_none_is_parted(bench):
    block = bench(STRAIGHT | {"length": "16.47 in", "length_is": "seat-to-seat"})
    width, height = room_of("letter")
    story = bench_story([block] * 5, Room(width, height, "us"))
    tall = block_table(block, Room(width, height, "us")).high
    pages = [[]]
    for part in story:
        if isinstance(part, PageBreak):
            pages.append([])
        else:
            pages[-1].append(part.wrap(width, height)[1])
    assert [len(page) for page in pages] == [3, 3, 1]  # two blocks with the room between them; the last alone
    assert all(sum(page) <= height for page in pages)
    assert 2 * tall + BETWEEN <= height
