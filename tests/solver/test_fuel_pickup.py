"""Outlets of fuel tanks under low fuel: by the wedge of a box, and cured by what is said."""

import math
import re

import pytest
from fuelled import fuel_plan

from catalogs.errors import PlanError
from lines.finding import Verdict
from solver.checks.pickup import covered
from solver.study import study

BOX = {"corner": "-2200, -200, 200 mm", "opposite": "-1800, 200, 900 mm"}
CLIMB = {"climb": {"nose_up": "60 %"}}


def tank(low, **out):
    ports = {"out": {"at": "-1790, 0, 210 mm"} | out, "return": {"at": "-1800, -100, 590 mm"}}
    return BOX | {"surface": {"full": "800 mm", "low": f"{low} mm"}, "ports": ports}


HARDLY = {"hardly": {"nose_up": "1 %"}}


def judged(folder, low, attitudes=None, **out):
    (found,) = covered(study(fuel_plan(folder, tank=tank(low, **out), attitudes=attitudes or {})))
    return found


@pytest.mark.parametrize("low", [230, 260])
def test_low_fuel_lies_as_a_wedge_at_the_back_of_its_box_on_a_climb(tmp_path, low):
    # 0.4 m long and h deep: on a slope of 60 % the wedge is as long as sqrt(2 h 0.4/0.6), which leaves the front bare.
    deep = 1e-3 * (low - 200)
    long = math.sqrt(2 * deep * 0.4 / 0.6)
    assert long < 0.4
    place = -2.1  # under the wedge: 0.1 m from the back
    found = judged(tmp_path, low, CLIMB, reaches=f"{1e3 * place} , 0, 200 mm")
    stands = (long - 0.1) * 0.6 * math.cos(math.atan(0.6))
    case = next(c for c in found.cases if c.state.attitude == "climb")
    assert case.value.value == pytest.approx(stands, abs=1e-5)


def test_an_outlet_in_the_front_wall_draws_air_on_a_climb_only(tmp_path):
    level = judged(tmp_path, 260, HARDLY)
    assert (level.id, level.verdict) == ("fuel.pickup/tank.out", Verdict.PASS)
    found = judged(tmp_path, 260, CLIMB)
    assert (found.verdict, found.worst.attitude) == (Verdict.FAIL, "climb")
    assert "the mouth of out stands" in found.why.say("metric")
    assert "draws from it gets air" in found.why.say("metric")


def test_what_lasts_a_moment_only_cautions(tmp_path):
    launch = {"launch": {"forward": "0.6 g", "lasts": "transient"}}
    assert judged(tmp_path, 260, launch).verdict is Verdict.CAUTION


def test_as_much_more_fuel_as_is_said_covers_it(tmp_path):
    said = judged(tmp_path, 260, CLIMB).change.say("metric")
    more = float(re.search(r"[Kk]eep ([\d.]+) L more fuel in the tank", said)[1])
    # 0.16 m2 of floor: a litre is 6.25 mm.
    assert judged(tmp_path, 260 + more / 0.16, CLIMB).verdict is Verdict.PASS
    assert judged(tmp_path, 260 + 0.97 * more / 0.16, CLIMB).verdict is not Verdict.PASS


def test_a_tube_inside_moves_the_mouth(tmp_path):
    found = judged(tmp_path, 260, CLIMB, reaches="-2100, 0, 205 mm")
    assert found.verdict is Verdict.PASS


def test_a_plan_without_attitudes_is_judged_on_level_ground_only_and_says_so(tmp_path):
    found = judged(tmp_path, 260)
    assert found.verdict is Verdict.UNCHECKED
    assert "level ground only: the plan has no [attitudes]" in found.why.say("metric")
    # The text that is asked for is one that a plan takes.
    asked = found.needs.partition("under [attitudes]: ")[2]
    attitudes = {"corner_left": {"like": "corner-left"}, "braking": {"like": "braking"}}
    assert all(f'{name} = {{ like = "{table["like"]}" }}' in asked for name, table in attitudes.items())
    assert judged(tmp_path, 260, attitudes).verdict is not Verdict.UNCHECKED
    # What is bare on level ground fails all the same.
    assert judged(tmp_path, 205).verdict is not Verdict.UNCHECKED


def test_a_mouth_outside_its_box_is_not_judged(tmp_path):
    assert judged(tmp_path, 260, reaches="-1700, 0, 205 mm").verdict is Verdict.UNCHECKED
    # A port stands out of the wall by its bung and its adapter.
    assert judged(tmp_path, 260, HARDLY, at="-1745, 0, 210 mm").verdict is Verdict.PASS
    assert judged(tmp_path, 260, at="-1700, 0, 210 mm").verdict is Verdict.UNCHECKED


def test_a_tube_ends_in_no_pump(tmp_path):
    pump = {"ports": {"in": {"at": "-1600, 100, 250 mm", "reaches": "0, 0, 0 mm"}, "out": {"at": "-1500, 100, 250 mm"}}}
    with pytest.raises(PlanError, match="pump is of kind pump, in which no tube ends"):
        fuel_plan(tmp_path, pump=pump)
