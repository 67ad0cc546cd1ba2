"""What a person sees of a drain: figures that agree with geometry and with the solver, on one page, to scale.

Expected angles and areas are plane geometry; axes are those of ISO 8855 (x forward, y left, z up).
"""

import io
import math

import numpy as np
import pypdf
import pytest
from reportlab.graphics.shapes import Group, PolyLine, String
from reportlab.pdfbase import pdfmetrics
from turbocharged import BOX, plan_of

from lines.finding import Verdict
from lines.states import leaning, leans
from reports.csvfile import csv_bytes
from reports.drainprofile import BETWEEN, length_text, lows, profile, slope_text
from reports.drains import DrainPage, NoDrain, drain_pages
from reports.drainstates import drain_states
from reports.hatching import hatched
from reports.leaning import largest, lean_text, limit_rows, on_page, polar, safe_text, tilt_text
from reports.packet import packet
from reports.pdf import PAPERS, bound, room_of
from reports.pdfdrains import drain_story
from reports.pdfenvelope import envelope_drawing
from reports.pdfprofile import OFF, profile_drawing, profile_frame
from reports.pdfviews import POINT
from reports.tables import tables
from solver.checks import findings
from solver.drains.envelope import BEARINGS, COLD, STEEPEST, TILTS, WARM, Envelope, envelope
from solver.drains.stood import stood
from solver.study import study

ATTITUDES = {
    "climb": {"nose_up": "60 %"},
    "descent": {"nose_down": "60 %"},
    "left_low": {"left_low": "40 %"},
    "braking": {"braking": "0.8 g", "lasts": "transient", "duties": ["hot"]},
}
WIDE = {"stock": "ptfe-braid -16"}
"""A hose in which the oil of these tests runs with room over it."""
DIP = {"outlet": (0.0, 0.0, 500.0), "bung": (900.0, 0.0, 320.0), "via": [(250.0, 0.0, 250.0), (600.0, 0.0, 420.0)]}


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    """The study, the findings and the pages of a plan of one drain; of each plan once."""
    kept = {}

    def drawn(**facts):
        if repr(facts) not in kept:
            made = study(plan_of(tmp_path_factory.mktemp("drain"), attitudes=ATTITUDES, **facts))
            found = findings(made)
            kept[repr(facts)] = made, found, drain_pages(made, found)
        return kept[repr(facts)]

    return drawn


def seen_in(made, found, attitude, duty):
    """The profile of a drain in one state, and its number."""
    states = drain_states(made.plan, stood(made.plan, made.drains["turbo"]), found)
    state = next(s for s in states.each if (s.attitude.name, s.duty) == (attitude, duty))
    return states.stood, state.number, profile(made.plan, states, state, "")


def row_of(page, attitude):
    return next(row for row in page.rows if row.state.attitude.name == attitude)


def rows_of(table):
    return [dict(zip(table.names, row, strict=True)) for row in table.rows]


# ---------------------------------------------------------------- the table of attitudes


def test_each_attitude_has_a_row_with_the_slope_that_geometry_gives(drawn):
    # From 0, 0, 500 to 150, 0, 200 mm it falls atan(300 / 150), forward: a climb of 60 % takes atan(0.6) of that, a
    # descent turns the line past plumb. Sideways the sine of the fall goes with the cosine of the tilt.
    _, _, (page,) = drawn(**WIDE)
    own, slope, side = math.degrees(math.atan(2)), math.degrees(math.atan(0.6)), math.atan(0.4)
    wanted = {
        "level": own,
        "climb": own - slope,
        "descent": 180 - own - slope,
        "left_low": math.degrees(math.asin(math.sin(math.radians(own)) * math.cos(side))),
    }
    assert [row.state.attitude.name for row in page.rows] == ["level", *ATTITUDES]
    for name, angle in wanted.items():
        assert math.degrees(row_of(page, name).state.fall) == pytest.approx(angle, abs=1e-6)
        assert row_of(page, name).slope == f"{angle:.1f} deg"


def test_a_row_is_that_of_the_duty_in_which_the_oil_stands_highest_and_says_what_the_solver_says(drawn):
    made, _, (page,) = drawn()
    drain, duties = made.drains["turbo"], list(made.plan.duties)
    for row in page.rows:
        attitude = row.state.attitude
        goes = [n for n in drain.known if attitude.duties is None or duties[n] in attitude.duties]
        clear = drain.clearance(drain.states(np.array([attitude.gravity] * len(goes)), np.array(goes)))
        assert row.state.clearance == pytest.approx(clear.min(), abs=1e-12)
        assert row.state.duty == duties[goes[int(clear.argmin())]]
        says = "OVER" if clear.min() < 0 else "runs part full" if row.state.free else "under"
        assert row.under.endswith(f"{says}, {row.state.duty}")
    assert {state.duty for state in page.states if state.attitude.name == "braking"} == {"hot"}


def test_the_verdict_of_a_row_is_that_of_the_findings_and_a_transient_fail_cautions(drawn):
    _, found, (page,) = drawn(stock="ptfe-braid -8")
    surface = next(f for f in found if f.rule == "drain.surface")
    for row in page.rows:
        name = row.state.attitude.name
        floods = any(case.value.value < 0 for case in surface.cases if case.state.attitude == name)
        assert row.state.works is not floods
        if floods:
            loud = Verdict.FAIL if row.state.attitude.sustained else Verdict.CAUTION
            assert row.verdict.startswith(loud.upper())
            assert "surface" in row.verdict
    worst = min((s for s in page.states if s.verdict is Verdict.FAIL), key=lambda s: s.clearance)
    assert page.verdict is Verdict.FAIL
    assert page.profiles[0].title == f"WORST: {worst.attitude.name} at {worst.duty}"


def test_of_a_sump_without_its_box_only_level_ground_is_told(drawn):
    made, found, (page,) = drawn(sump={"surface": BOX["surface"]}, **WIDE)
    assert page.envelope is page.polar is None
    assert page.limits == ()
    assert any("No envelope" in note and "corner" in note for note in page.notes)
    assert row_of(page, "level").state.clearance is not None
    for name in ATTITUDES:
        assert row_of(page, name).under == "not known"
        assert row_of(page, name).verdict.startswith(("UNCHECKED", "FAIL"))
    assert "No envelope" in text_of(made, [page], "a4")
    (row,) = rows_of(tables(packet(made, found))["envelope.csv"])
    assert row["why"] == made.drains["turbo"].oil.lacks


def test_a_drain_of_which_nothing_is_known_has_a_page_that_asks(drawn):
    made, found, pages = drawn(runs={"O1": {"circuit": "oil", "from": "gallery.out", "to": "turbo.feed"}
                                     | {"stock": "ptfe-braid -4"}})  # fmt: skip
    (page,) = pages
    assert isinstance(page, NoDrain)
    text = text_of(made, pages, "letter")
    assert "UNCHECKED" in text
    assert page.needs
    (row,) = rows_of(tables(packet(made, found))["drains.csv"])
    assert (row["turbocharger"], row["verdict"], row["why"]) == ("turbo", "unchecked", page.why)


# ---------------------------------------------------------------- the profile


@pytest.mark.parametrize(
    ("attitude", "fall"), [("level", math.atan(2)), ("climb", math.atan(2) - math.atan(0.6))], ids=["level", "climb"]
)
def test_the_profile_is_the_line_unrolled_and_a_bore_wide(drawn, attitude, fall):
    made, found, _ = drawn(**WIDE)
    _, _, seen = seen_in(made, found, attitude, "hot")
    long = math.hypot(0.150, 0.300)
    assert seen.ends[1] - seen.ends[0] == pytest.approx([long * math.cos(fall), -long * math.sin(fall)], abs=1e-9)
    wide = np.linalg.norm(seen.crown - seen.invert, axis=1)
    # The line is straight: no section is mitred.
    assert wide == pytest.approx(np.repeat(made.drains["turbo"].line.bore, 2), abs=1e-9)
    assert len(seen.straights) == 1
    assert f"falls {math.degrees(fall):.1f} deg" in seen.straights[0].text
    assert seen.straights[0].text.startswith("335 mm")


def test_a_line_that_turns_aside_is_as_long_unrolled(drawn):
    # 100 mm down, then 150 forward and 200 to the left while it falls 300: 250 mm along, whatever way it turns.
    made, found, _ = drawn(bung=(150.0, 200.0, 100.0), via=[(0.0, 0.0, 400.0)], **WIDE)
    _, _, seen = seen_in(made, found, "level", "hot")
    way = made.drains["turbo"].line.points[:, :2]
    along = np.linalg.norm(np.diff(way, axis=0), axis=1).sum()
    assert seen.ends[1] - seen.ends[0] == pytest.approx([along, -0.400], abs=1e-9)
    assert along == pytest.approx(0.250, abs=0.005)  # the bend cuts its corner


def test_a_dip_stands_full_and_says_where_it_is_lowest_and_how_far_the_line_rises(drawn):
    made, found, _ = drawn(**DIP, **WIDE)
    stands, n, seen = seen_in(made, found, "level", "hot")
    line = made.drains["turbo"].line
    first = line.points[:, 0] < 0.3  # m: behind it the line falls to a bung that lies lower still
    low = int(np.where(first, line.points[:, 2], np.inf).argmin())
    run, far = line.place(low)
    rises = line.points[low:, 2].max() - line.points[low, 2]
    (dip,) = seen.dips
    assert dip.text == f"{1000 * far:.0f} mm from A of {run}, rises {1000 * rises:.0f} mm"
    assert dip.at[1] == pytest.approx(line.points[low, 2] - 0.500, abs=1e-9)
    # Where the oil has a free surface, it is drawn as high as the solver has it.
    starts = np.arange(0, len(seen.oil), BETWEEN)
    free = seen.free[starts]
    assert free.any()
    level = stands.surface.surface[0][n] - line.points[0, 2]
    assert seen.oil[starts][free, 1] == pytest.approx(level[free], abs=1e-9)
    # The pool of the dip reaches the bed of the crest behind it, on the way down to it too.
    pool = seen.oil[(seen.bed[:, 0] < dip.at[0]), 1]
    assert pool.max() >= (line.points[low:, 2].max() - 0.500 - line.bore.max() / 2) - 1e-9


def test_lows_are_where_a_line_rises_again():
    assert lows(np.array([3.0, 2.0, 1.0, 2.0, 1.0])) == [2]
    assert lows(np.array([3.0, 1.0, 1.0, 2.0, 0.0, 5.0])) == [2, 4]
    assert lows(np.array([3.0, 2.0, 2.0, 1.0])) == []
    assert lows(np.array([1.0, 2.0, 3.0])) == []  # it rises from its start on: no low, but uphill


def strings(drawing):
    found = []
    for shape in drawing.contents:
        found += strings(shape) if isinstance(shape, Group) else [shape] if isinstance(shape, String) else []
    return found


@pytest.mark.parametrize("size", [(356.0, 230.0), (182.0, 110.0), (527.0, 135.0)])
@pytest.mark.parametrize("facts", [WIDE, {"stock": "ptfe-braid -8"}, DIP, {"bung": (0.0, 0.0, 200.0)}])
def test_every_word_of_a_profile_is_in_its_frame_and_the_bore_is_to_scale(drawn, facts, size):
    _, _, (page,) = drawn(**facts)
    for seen in page.profiles:
        drawing = profile_drawing(seen, "metric", *size)
        for word in strings(drawing):
            wide = pdfmetrics.stringWidth(word.text, word.fontName, word.fontSize)
            assert word.x >= 0
            assert word.x + wide <= size[0] + 1
            assert 0 <= word.y <= size[1]
        walls = [shape for shape in drawing.contents if isinstance(shape, PolyLine) and shape.strokeWidth == 1.5]
        scale = profile_frame(seen, *size).scale
        for wall, true in zip(walls, (seen.crown, seen.invert), strict=True):
            points = np.array(wall.points).reshape(-1, 2)
            assert np.ptp(points, axis=0) * scale * POINT == pytest.approx(np.ptp(true, axis=0), abs=1e-9)
            assert points.min() >= 0
            assert (points.max(axis=0) <= size).all()


def test_oil_that_stands_metres_over_is_said_and_its_level_cut_off(drawn):
    # 20 kPa over foam of half oil, about 420 kg/m3, is 4.9 m of it: far over a drain 0.3 m high.
    _, _, (page,) = drawn(stock="ptfe-braid -6", sump=BOX | {"crankcase": "20 kPa"})
    seen = page.profiles[0]
    assert seen.floods
    assert seen.surface > 1.0
    frame = profile_frame(seen, 356.0, 230.0)
    assert frame.beyond(seen.surface)
    texts = [word.text for word in strings(profile_drawing(seen, "metric", 356.0, 230.0))]
    assert OFF in texts
    assert any(text.startswith("FLOODS HERE: ") and text.endswith("mm OVER it") for text in texts)
    assert "OVER" in page.says


def test_a_drain_that_floods_says_under_its_verdict_what_would_be_enough(drawn):
    _, found, (page,) = drawn(stock="ptfe-braid -6")
    (surface,) = (f for f in found if f.rule == "drain.surface")
    assert page.verdict is Verdict.FAIL
    assert page.do == surface.change.say("metric")
    texts = [t.text for t in drain_story([page], room_of("a4"))[:4] if hasattr(t, "text")]
    assert any(text.startswith("<b>Do</b>") for text in texts)
    _, _, (fine,) = drawn(**WIDE)
    assert fine.verdict is Verdict.PASS or fine.do


# ---------------------------------------------------------------- the envelope


def test_the_limits_are_the_solvers_and_never_rounded_up(drawn):
    made, _, (page,) = drawn(**WIDE)
    wanted = envelope(made.drains["turbo"], list(made.plan.duties))
    assert page.oils == (WARM, COLD)
    for row in page.limits:
        for oil, text, number in zip(page.oils, row.texts, row.numbers, strict=True):
            tilt = wanted.limits[oil][row.way]
            if tilt is None:
                assert (number, text) == (None, "not even level")
                continue
            assert number == pytest.approx(math.degrees(tilt))
            printed = float(text.removeprefix("over ").partition(" ")[0])
            assert printed <= number + 1e-9
            assert printed > number - 0.1 - 1e-9


def test_tilts_as_words():
    # A grade of 60 % is atan 0.6 = 30.96 deg.
    assert tilt_text(math.atan(0.6)) == "31 deg, 60 %"
    assert tilt_text(math.radians(30.99), down=True) == "30.9 deg, 60 %"
    assert safe_text(None) == "not even level"
    assert safe_text(STEEPEST) == "over 60 deg, 173 %"
    assert lean_text(*leans(leaning(math.atan(0.6), math.pi))) == "31 deg, 60 %, nose up"
    assert lean_text(*leans(leaning(math.atan(0.4), -math.pi / 2))) == "21.8 deg, 40 %, right low"
    assert lean_text(*leans(leaning(math.atan(0.4), math.pi / 4))) == "21.8 deg, 40 %, nose down and left low"
    assert lean_text(0.0, 0.0) == "level"
    assert [slope_text(math.radians(x)) for x in (24.0, -3.21, 0.01)] == ["falls 24.0 deg", "RISES 3.2 deg", "LEVEL"]
    assert length_text(0.0003, "metric") == "less than 1 mm"
    assert length_text(0.0127, "us") == "1/2 in"


def test_seen_from_above_forward_is_up_and_left_is_left():
    # ISO 8855: bearing 0 is forward, a quarter turn the left side. A climb has the back downhill.
    for bearing, place in ((0.0, [0, 1]), (math.pi / 2, [-1, 0]), (math.pi, [0, -1]), (-math.pi / 2, [1, 0])):
        assert on_page(1.0, bearing) == pytest.approx(np.array(place), abs=1e-12)


def made_envelope(warm, cold=None):
    """An envelope of this clearance: a function of tilt and bearing [rad]."""
    tilt, bearing = np.meshgrid(TILTS, BEARINGS, indexing="ij")
    clearance = {oil: f(tilt, bearing) for oil, f in ((WARM, warm), (COLD, cold)) if f is not None}
    ways = ("climb", "descent", "left side low", "right side low")
    limits = {oil: dict.fromkeys(ways, None) for oil in clearance}
    return Envelope(TILTS, BEARINGS, clearance, limits, dict.fromkeys(clearance, ("steady",)))


def area(outlines):
    """Of outlines and holes, by the shoelace formula: a hole runs the other way."""
    total = sum(0.5 * np.sum(p[:-1, 0] * p[1:, 1] - p[1:, 0] * p[:-1, 1]) for p in outlines)
    return abs(float(total))


def test_the_area_where_it_floods_is_a_ring_where_the_limit_is_a_circle():
    # Circles of 120 corners: sin(2 pi / 120) / (2 pi / 120) = 0.99954 of the area of round ones.
    limit = math.radians(33.3)
    seen = polar(made_envelope(lambda t, _b: limit - t, lambda t, _b: limit / 2 - t), [])
    assert area(seen.fails) == pytest.approx(math.pi * (STEEPEST**2 - limit**2), rel=1e-3)
    (line,), (cold,) = seen.limit, seen.cold
    # The clearance is cut off at a millimetre, and with it where in its cell of half a degree the limit lies.
    assert np.linalg.norm(line, axis=1) == pytest.approx(np.full(len(line), limit), abs=math.radians(0.25))
    assert np.linalg.norm(cold, axis=1) == pytest.approx(np.full(len(cold), limit / 2), abs=math.radians(0.25))


def test_an_envelope_that_is_no_star_keeps_its_islands():
    # A band that floods between 20 and 30 deg, and one single place of the grid at 50 deg toward the left.
    def clearance(tilt, bearing):
        band = (tilt > math.radians(20)) & (tilt < math.radians(30))
        spot = np.isclose(tilt, math.radians(50)) & np.isclose(bearing, math.pi / 2)
        return np.where(band | spot, -0.1, 0.1)

    seen = polar(made_envelope(clearance), [])
    assert len(seen.limit) == 3
    island = min(seen.limit, key=lambda line: np.ptp(line, axis=0).sum())
    assert island.mean(axis=0) == pytest.approx([-math.radians(50), 0.0], abs=math.radians(0.2))
    assert largest(TILTS, clearance(*np.meshgrid(TILTS, BEARINGS, indexing="ij")) > 0).tolist() == pytest.approx(
        [math.radians(20)] * len(BEARINGS)
    )


def test_what_cannot_be_told_is_not_shown_as_working():
    seen = polar(made_envelope(lambda t, _b: np.where(t > 0.5, np.nan, 0.1)), [])
    assert area(seen.fails) > math.pi * (STEEPEST**2 - 0.51**2) * 0.99


def test_the_plans_attitudes_are_marks_at_their_tilt_and_bearing(drawn):
    _, _, (page,) = drawn(**WIDE)
    marks = {mark.name: mark for mark in page.polar.marks}
    assert marks["climb"].at == pytest.approx((0.0, -math.atan(0.6)), abs=1e-12)
    assert marks["descent"].at == pytest.approx((0.0, math.atan(0.6)), abs=1e-12)
    assert marks["left_low"].at == pytest.approx((-math.atan(0.4), 0.0), abs=1e-12)
    # Braking by 0.8 g turns effective gravity forward by atan 0.8.
    assert marks["braking"].at == pytest.approx((0.0, math.atan(0.8)), abs=1e-12)
    assert not marks["braking"].sustained
    assert {name: mark.works for name, mark in marks.items()} == {
        row.state.attitude.name: row.state.works for row in page.rows
    }


def test_hatching_fills_an_area_and_leaves_a_hole_free():
    # Lines of a distance d apart over an area A have the length A / d together; 2 %: the lines at the edges.
    square = np.array([[0, 0], [100, 0], [100, 100], [0, 100.0]])
    hole = square * 0.4 + 30
    for angle in (0.0, 45.0):
        lines = hatched([square, hole], 1.0, angle)
        assert sum(np.linalg.norm(a - b) for a, b in lines) == pytest.approx(100**2 - 40**2, rel=0.02)
        middles = np.array([line.mean(axis=0) for line in lines])
        assert not ((middles > 30.5) & (middles < 69.5)).all(axis=1).any()
    assert hatched([], 1.0) == []


def test_every_word_of_the_envelope_is_on_it(drawn):
    _, _, (page,) = drawn(**WIDE)
    drawing = envelope_drawing(page.polar, 220.0)
    texts = {word.text for word in strings(drawing)}
    assert {"nose down (descent)", "nose up (climb)", "left side low", "right side low"} <= texts
    assert {"30 deg, 58 %", "60 deg, 173 %"} <= texts  # tan 30 deg = 0.577, tan 60 deg = 1.732
    assert {str(row.number) for row in page.rows} <= texts


# ---------------------------------------------------------------- the files


def text_of(made, pages, paper):
    return "\n".join(page.extract_text() for page in sheets(made, pages, paper))


def sheets(made, pages, paper):
    front = packet(made, findings(made)).front
    return pypdf.PdfReader(io.BytesIO(bound(front, drain_story(pages, room_of(paper)), paper, "drains"))).pages


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("facts", [WIDE, {"stock": "ptfe-braid -8"}, DIP])
def test_a_drain_is_one_page(drawn, facts, paper):
    made, _, pages = drawn(**facts)
    (page,) = sheets(made, pages, paper)
    text = " ".join(page.extract_text().split())
    assert "Oil drain of turbo" in text
    assert "turbo.drain to sump.drain by D1" in text
    for word in ("WORST", "LEVEL GROUND", "flooding point", "may lean", "nose down (descent)", "50 % gas", *ATTITUDES):
        assert word in text, word
    for row in pages[0].limits:
        assert row.way in text


def test_the_csv_files_hold_every_state_and_every_bearing(drawn):
    made, found, (page,) = drawn(**WIDE)
    files = tables(packet(made, found))
    states = rows_of(files["drains.csv"])
    # Level and three more at both duties, braking at one.
    assert len(states) == 4 * 2 + 1
    one = next(row for row in states if (row["attitude"], row["duty"]) == ("climb", "hot"))
    drain = made.drains["turbo"]
    gravity = np.array([made.plan.attitudes["climb"].gravity])
    clear = drain.clearance(drain.states(gravity, np.array([0])))[0]
    assert one["oil under the flooding point [mm]"] == pytest.approx(1000 * clear)
    assert one["tilt [deg]"] == pytest.approx(math.degrees(math.atan(0.6)))
    assert abs(one["toward [deg, 0 forward, 90 left]"]) == pytest.approx(180)
    edges = rows_of(files["envelope.csv"])
    assert len(edges) == len(BEARINGS)
    by_way = {row.way: row.numbers for row in page.limits}
    for way, bearing in (("descent", 0), ("left side low", 90), ("climb", 180), ("right side low", 270)):
        row = next(r for r in edges if r["downhill toward [deg, 0 forward, 90 left]"] == pytest.approx(bearing))
        for oil, limit in zip(page.oils, by_way[way], strict=True):
            safe = row[f"largest safe tilt, {oil} oil [deg]"]
            assert row[f"not even level, {oil} oil"] == ("yes" if limit is None else "no")
            # To the half degree of the grid below the limit itself.
            assert safe is None if limit is None else limit - 0.5 - 1e-6 <= safe <= limit + 1e-6
    for name in ("drains.csv", "envelope.csv"):
        assert csv_bytes(files[name]).startswith(b"turbocharger,")


def test_one_oil_at_every_duty_has_no_cold_column(drawn):
    _, _, (page,) = drawn(temperature="100 C", **WIDE)
    assert isinstance(page, DrainPage)
    assert page.oils == (WARM,)
    assert page.polar.cold == ()
    assert all(len(row.texts) == 1 for row in limit_rows(page.envelope))
