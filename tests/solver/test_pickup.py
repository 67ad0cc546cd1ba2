"""Is the pickup under low oil in every attitude, against depths worked by hand.

The box is 400 x 300 mm and 200 mm high, low oil stands 80 mm in it. While the surface meets the four walls only it
turns about its centre: over a place x forward of it stand 80 - x tan(tilt), and along gravity by the cosine less.
"""

import math

import pytest
from writing import read, run

from lines.finding import Verdict
from solver.checks import findings
from solver.checks.openport import open_ports
from solver.checks.pickup import covered
from solver.study import study

BOX = {"corner": "-200, -150, 0 mm", "opposite": "200, 150, 200 mm"}
MARKS = {"surface": {"full": "125 mm", "low": "80 mm"}}
FRONT = {"at": "180, 0, 20 mm"}
MIDDLE = {"at": "0, 0, 20 mm"}
CLIMB = {"nose_up": "40 %"}
COS, SIN = 1 / math.sqrt(1.16), 0.4 / math.sqrt(1.16)


def made(folder, pickup=None, attitudes=None, **facts):
    return study(
        read(
            folder,
            circuits={"drain": {"fluid": "10w-40", "temperature": "90 C"}},
            attitudes=attitudes or {},
            components={
                "turbo": {"kind": "turbocharger", "ports": {"drain": {"at": "0, 0, 500 mm"}}},
                "pan": {
                    "kind": "sump",
                    "ports": {"drain": {"at": "0, 0, 190 mm"}} | ({"pickup": pickup} if pickup else {}),
                }
                | facts,
            },
            runs={"D1": run("turbo.drain", "pan.drain", "ptfe-braid -10", "drain")},
        )
    )


def judged(folder, pickup=None, attitudes=None, **facts):
    (found,) = covered(made(folder, pickup, attitudes, **facts))
    assert found.id == "sump.pickup/pan"
    return found


def depths(finding):
    return {case.state.attitude: case.value.value * 1e3 for case in finding.cases}


def said(finding):
    return f"{finding.why.say('metric')} {finding.change.say('metric')}"


# ---------------------------------------------------------------- depth and verdict


def test_in_the_middle_it_stays_covered(tmp_path):
    found = judged(tmp_path, MIDDLE, {"climb": CLIMB, "left": {"left_low": "30 %"}}, **BOX, **MARKS)
    assert found.verdict is Verdict.PASS
    assert depths(found) == pytest.approx({"level": 60, "climb": 60 * COS, "left": 60 / math.sqrt(1.09)})
    assert found.worst.attitude == "climb"
    assert not found.change


def test_ahead_on_a_climb_it_is_bare(tmp_path):
    # 80 - 180 x 0.4 = 8 mm of oil, the mouth 20 mm up.
    found = judged(tmp_path, FRONT, {"climb": CLIMB}, **BOX, **MARKS)
    assert (found.verdict, found.worst.attitude) == (Verdict.FAIL, "climb")
    assert depths(found) == pytest.approx({"level": 60, "climb": -12 * COS})
    assert "11 mm over low oil" in found.why.say("metric")


def test_past_the_floor_it_is_bare_by_the_wedge(tmp_path):
    # Nose up 60 %: the oil is a wedge, x^2 0.6/2 = 80 x 400 mm2, x = 326.6 mm from the rear wall at -200, so that at
    # -100 the surface stands (326.6 - 100) x 0.6 = 136.0 mm over the floor.
    found = judged(tmp_path, {"at": "-100, 0, 20 mm"}, {"climb": {"nose_up": "60 %"}}, **BOX, **MARKS)
    wedge = math.sqrt(2 * 80 * 400 / 0.6)
    assert depths(found)["climb"] == pytest.approx(((wedge - 100) * 0.6 - 20) / math.sqrt(1.36))


def test_what_does_not_last_only_cautions(tmp_path):
    launch = {"forward": "0.4 g", "lasts": "transient"}
    found = judged(tmp_path, FRONT, {"launch": launch}, **BOX, **MARKS)
    assert (found.verdict, found.worst.attitude) == (Verdict.CAUTION, "launch")
    assert found.value.value * 1e3 == pytest.approx(-12 * COS)
    lasting = launch | {"lasts": "sustained"}
    assert judged(tmp_path, FRONT, {"launch": lasting}, **BOX, **MARKS).verdict is Verdict.FAIL


def test_little_oil_over_it_cautions(tmp_path):
    found = judged(tmp_path, {"at": "0, 0, 60 mm"}, **BOX, **MARKS)
    assert (found.verdict, found.value.value) == (Verdict.CAUTION, pytest.approx(0.02))
    assert "only 20 mm" in found.why.say("metric")
    assert "5 mm lower" in found.change.say("metric")


def test_a_mouth_is_as_high_as_the_highest_of_its_rim(tmp_path):
    # A bore of 40 mm that looks straight down: its rim rises by 20 mm x sin(tilt); level it lies level.
    pipe = MIDDLE | {"bore": "40 mm", "points": "down"}
    found = judged(tmp_path, pipe, {"climb": CLIMB}, **BOX, **MARKS)
    assert depths(found) == pytest.approx({"level": 60, "climb": 60 * COS - 20 * SIN})
    # One that looks to the side has its rim a radius higher.
    found = judged(tmp_path, pipe | {"points": "left"}, **BOX, **MARKS)
    assert depths(found) == pytest.approx({"level": 40})


# ---------------------------------------------------------------- what would cover it


def test_what_would_cover_it_does(tmp_path):
    # 25 mm along gravity are wanted at the climb, 36.14 more than there are. Lower it would have to be 38.9 mm, under
    # the floor; toward the back 36.14/sin(tilt) = 97.3 mm, 98 by the tape; or 38.9 mm of oil on 400 x 300, 4.67 L.
    found = judged(tmp_path, FRONT, {"climb": CLIMB}, **BOX, **MARKS)
    text = found.change.say("metric")
    assert "lower" not in text
    assert "98 mm toward the back" in text
    assert "4.68 L more oil" in text
    moved = judged(tmp_path, {"at": "82, 0, 20 mm"}, {"climb": CLIMB}, **BOX, **MARKS)
    assert moved.verdict is Verdict.PASS
    assert moved.value.value * 1e3 == pytest.approx(25, abs=0.5)
    fuller = judged(tmp_path, FRONT, {"climb": CLIMB}, **BOX, surface={"full": "125 mm", "low": "119 mm"})
    assert fuller.verdict is Verdict.PASS
    assert fuller.value.value * 1e3 == pytest.approx(25, abs=0.5)


def test_more_oil_than_full_is_no_answer(tmp_path):
    found = judged(tmp_path, FRONT, {"climb": CLIMB}, **BOX, surface={"full": "100 mm", "low": "80 mm"})
    assert "more oil in" not in found.change.say("metric")


def test_a_lower_mouth_serves_where_there_is_room_under_it(tmp_path):
    # At 100 forward 40 mm of oil on the climb, the mouth 60 up: lower by 20 + 25/cos(tilt) = 46.9 mm.
    high = {"at": "100, 0, 60 mm"}
    found = judged(tmp_path, high, {"climb": CLIMB}, **BOX, **MARKS)
    assert "Set its mouth 47 mm lower" in found.change.say("metric")
    lower = judged(tmp_path, {"at": "100, 0, 13 mm"}, {"climb": CLIMB}, **BOX, **MARKS)
    assert lower.verdict is Verdict.PASS


def test_a_move_that_bares_it_elsewhere_is_no_answer(tmp_path):
    # In a box of little oil ahead of it on the climb, behind it on the descent.
    both = {"climb": {"nose_up": "80 %"}, "descent": {"nose_down": "80 %"}}
    found = judged(tmp_path, MIDDLE, both, **BOX, surface={"full": "60 mm", "low": "50 mm"})
    assert found.verdict is Verdict.FAIL
    text = found.change.say("metric")
    assert "toward" not in text
    assert "dry sump" in text


def test_what_serves_only_where_it_lasts_says_so(tmp_path):
    # Braking at 1.5 g leaves nothing behind; the climb alone is cured by a place farther back.
    states = {"climb": CLIMB, "stop": {"braking": "1.5 g", "lasts": "transient"}}
    found = judged(tmp_path, FRONT, states | {"launch": {"forward": "1.5 g", "lasts": "transient"}}, **BOX, **MARKS)
    text = found.change.say("metric")
    assert "98 mm toward the back" in text
    assert "that lasts" in text
    assert "baffles" in text


# ---------------------------------------------------------------- what is not known


def test_a_sump_of_which_nothing_is_known_is_told_once(tmp_path):
    found = judged(tmp_path, None, {"climb": CLIMB})
    assert found.verdict is Verdict.UNCHECKED
    assert "ports.pickup" in found.needs
    assert "surface" in found.needs
    boxless = judged(tmp_path, None, {"climb": CLIMB}, **MARKS)
    assert "ports.pickup" in boxless.needs
    assert "corner" in boxless.needs
    assert [f.id for f in findings(made(tmp_path)) if f.rule == "sump.pickup"] == ["sump.pickup/pan"]


@pytest.mark.parametrize(
    ("pickup", "facts", "says", "needs"),
    [
        (MIDDLE, {}, "low mark of pan is not known", "surface"),
        (MIDDLE, BOX | {"volume": "10 L"}, "low mark of pan is not known", "surface"),
        (MIDDLE, MARKS, "pan in climb cannot be told", "corner"),
        ({"height": "20 mm"}, BOX | MARKS, "only the height of its mouth", "at ="),
        ({"height": "20 mm"}, MARKS, "box that holds the oil of pan", "at ="),
        ({"at": "0, 0, -50 mm"}, BOX | MARKS, "50 mm outside the box", "again"),
        ({"at": "0, 200, 50 mm"}, BOX | MARKS, "50 mm outside the box", "again"),
        (MIDDLE, BOX | {"surface": {"full": "250 mm", "low": "210 mm"}}, "low mark of pan lies over", "same zero"),
    ],
)
def test_what_cannot_be_told_is_never_passed(tmp_path, pickup, facts, says, needs):
    found = judged(tmp_path, pickup, {"climb": CLIMB}, **facts)
    assert found.verdict is Verdict.UNCHECKED
    assert says in found.why.say("metric")
    assert needs in found.needs


def test_marks_and_a_height_are_enough_for_level_ground(tmp_path):
    assert judged(tmp_path, {"height": "20 mm"}, **MARKS).verdict is Verdict.PASS
    found = judged(tmp_path, {"height": "90 mm"}, {"climb": CLIMB}, **MARKS)
    assert (found.verdict, depths(found)) == (Verdict.FAIL, pytest.approx({"level": -10}))
    assert "35 mm lower" in found.change.say("metric")
    assert "that can be told" in found.change.say("metric")


# ---------------------------------------------------------------- the port


def test_a_pickup_without_a_run_is_no_hole_and_other_openings_still_are(tmp_path):
    placed = made(tmp_path, MIDDLE)
    assert "pan" not in {f.place for f in open_ports(placed)}
    plan = read(
        tmp_path,
        circuits={"drain": {"fluid": "10w-40", "temperature": "90 C"}},
        components={
            "turbo": {"kind": "turbocharger"},
            "pan": {"kind": "sump", "ports": {"pickup": MIDDLE, "breather": {}}},
        },
        runs={"D1": run("turbo.drain", "pan.drain", "ptfe-braid -10", "drain", length="300 mm", length_is="cut")},
    )
    (told,) = [f for f in open_ports(study(plan)) if f.place == "pan"]
    assert "pan.breather" in said(told)
    assert "pickup" not in said(told)


def test_a_suction_hose_may_still_be_on_it(tmp_path):
    plan = read(
        tmp_path,
        circuits={"oil": {"fluid": "10w-40", "temperature": "90 C"}},
        components={"pan": {"kind": "sump", "ports": {"pickup": MIDDLE}} | MARKS | BOX, "end": {"kind": "open"}},
        runs={"S1": run("pan.pickup", "end.in", "ptfe-braid -10", "oil", length="1 m", length_is="cut", rise="0 m")},
    )
    made_of = study(plan)
    assert "pan.pickup" in made_of.circuits["oil"].nodes
    assert covered(made_of)[0].verdict is Verdict.PASS
