"""Vents with the vehicle lying any way: the classic one with a ball valve, and the loop that cures it."""

import re

import numpy as np
import pytest
from fuelled import fuel_plan
from writing import run

from lines.finding import Verdict
from solver.checks.venting import runs_out
from solver.study import study
from solver.vents import LYING, vents

# A tank of 400 x 400 x 300 mm, three quarters full, its vent in the middle of its top.
TANK = {
    "corner": "-2200, -200, 200 mm",
    "opposite": "-1800, 200, 500 mm",
    "surface": {"full": "425 mm", "low": "300 mm"},
    "ports": {
        "out": {"at": "-1800, 100, 210 mm"},
        "return": {"at": "-1800, -100, 490 mm"},
        "vent": {"at": "-2000, 0, 500 mm"},
    },
}
AIR = {"vent": {"fluid": "air", "temperature": "20 C"}}
DOWN_THE_LEFT = ["-2000, 0, 560 mm", "-2000, 240, 560 mm", "-2000, 260, 300 mm"]
ROUND = [
    "-2000, 0, 560 mm",
    "-1700, 0, 560 mm",
    "-1700, 300, 560 mm",
    "-2300, 300, 560 mm",
    "-2300, -300, 560 mm",
    "-2100, -300, 560 mm",
    "-2100, -300, 150 mm",
    "-2000, 260, 150 mm",
]


def vent_plan(folder, via, *, shuts_at=None, **facts):
    """The vent through a valve at the tank, or straight, to an end on the left under the tank."""
    end = {"kind": "open", "ports": {"in": {"at": "-2000, 260, 100 mm"}}}
    components, runs = {"end": end}, {"V1": run("tank.vent", "end.in", "inlet", circuit="vent", via=via)}
    if shuts_at is not None:
        ports = {"in": {"at": "-2000, 0, 505 mm"}, "out": {"at": "-2000, 0, 530 mm"}}
        valve = {"kind": "roll-over-valve", "ports": ports} | ({"shuts_at": shuts_at} if shuts_at else {})
        components["ball"] = valve
        runs = {
            "V1": run("tank.vent", "ball.in", "inlet", circuit="vent", via=[]),
            "V2": run("ball.out", "end.in", "inlet", circuit="vent", via=via),
        }
    return fuel_plan(folder, tank=TANK, components=components, runs=runs, more_circuits=AIR, **facts)


def judged(folder, *args, **facts):
    (found,) = runs_out(study(vent_plan(folder, *args, **facts)))
    return found


def heights(found):
    return {case.state.attitude: case.value.value for case in found.cases}


def test_a_vent_straight_down_one_side_runs_out_on_that_side_though_a_ball_shuts_it_upside_down(tmp_path):
    found = judged(tmp_path, DOWN_THE_LEFT, shuts_at="150 deg")
    assert (found.id, found.verdict) == ("fuel.vent/tank.vent", Verdict.FAIL)
    # On its left side the fuel stands 300 mm deep over the left wall: to 100 mm right of the middle. The mouth of the
    # vent is in the middle, and all else farther left.
    assert found.worst.attitude == "on its left side"
    assert heights(found)["on its left side"] == pytest.approx(-0.100, abs=0.001)
    assert "on its roof" not in heights(found)
    said = found.why.say("metric")
    assert "all of the vent lies under the fuel" in said
    assert "So it does on its nose and on its tail." in said
    assert "its valve is not shut there" in said
    assert "ball shuts it with the vehicle on its roof" in said
    assert "round by the right of the tank" in found.change.say("metric")


def test_on_its_nose_and_its_tail_the_same_vent_runs_out_too(tmp_path):
    # Three quarters of 400 mm stand 300 mm deep: to 100 mm past the middle each way.
    found = heights(judged(tmp_path, DOWN_THE_LEFT, shuts_at="150 deg"))
    assert found["on its nose"] == pytest.approx(-0.1, abs=0.001)
    assert found["on its tail"] == pytest.approx(-0.1, abs=0.001)
    assert found["on its right side"] == pytest.approx(0.16, abs=0.005)
    assert found["upright"] > 0.1


def test_a_valve_that_is_shut_on_every_side_keeps_it_in(tmp_path):
    found = judged(tmp_path, DOWN_THE_LEFT, shuts_at="60 deg")
    assert found.verdict is Verdict.PASS
    assert set(heights(found)) == {"upright"}
    assert "Without it fuel would run out" in found.why.say("metric")


def test_a_loop_round_the_tank_keeps_it_in_by_itself(tmp_path):
    found = judged(tmp_path, ROUND)
    assert found.verdict is Verdict.PASS
    assert set(heights(found)) == set(LYING)
    assert all(height > 0.02 for height in heights(found).values())
    assert "It has no valve that shuts." in found.why.say("metric")


def test_as_far_round_as_is_said_is_enough(tmp_path):
    found = judged(tmp_path, DOWN_THE_LEFT, shuts_at="150 deg")
    more = float(re.search(r"(\d+) mm farther that way", found.change.say("metric"))[1])
    # The vent goes no farther right than its mouth: so far beyond the middle.
    aside = -more
    via = ["-2000, 0, 600 mm", f"-2000, {aside}, 600 mm", f"-2000, {aside}, 700 mm", "-2000, 260, 700 mm"]
    cured = heights(judged(tmp_path, via, shuts_at="150 deg"))
    assert cured["on its left side"] == pytest.approx(0.025, abs=0.0011)


def test_a_valve_of_which_nobody_says_when_it_shuts_is_no_valve(tmp_path):
    found = judged(tmp_path, DOWN_THE_LEFT, shuts_at="")
    assert found.verdict is Verdict.UNCHECKED
    assert "shuts_at in [components.ball]" in found.needs


def test_a_valve_that_is_shut_upright_does_not_let_the_tank_breathe(tmp_path):
    found = judged(tmp_path, DOWN_THE_LEFT, shuts_at="0 deg")
    assert found.verdict is Verdict.FAIL
    assert "the tank does not breathe" in found.why.say("metric")


@pytest.mark.parametrize("first", [True, False])
def test_of_two_ends_of_a_vent_the_one_that_runs_out_counts(tmp_path, first):
    # From a tee on the tank one line goes round it, by which nothing runs out; the other ends where fuel gets to.
    ends = {
        "low": {"kind": "open", "ports": {"in": {"at": "-2000, 260, 100 mm"}}},
        "safe": {"kind": "open", "ports": {"in": {"at": "-2000, 260, 90 mm"}}},
    }
    tee = {
        "kind": "tee",
        "ports": {
            "a": {"at": "-2000, 0, 560 mm"},
            "b": {"at": "-2000, 20, 560 mm"},
            "branch": {"at": "-2000, 0, 580 mm"},
        },
    }
    runs = {
        "V1": run("tank.vent", "split.a", "inlet", circuit="vent", via=[]),
        "V2": run("split.b", "low.in", "inlet", circuit="vent", via=["-2000, 260, 300 mm"]),
        "V3": run("split.branch", "safe.in", "inlet", circuit="vent", via=ROUND[1:]),
    }
    if not first:
        runs = {"V1": runs["V1"], "V2": runs["V3"], "V3": runs["V2"]}
    plan = fuel_plan(tmp_path, tank=TANK, components={"split": tee, **ends}, runs=runs, more_circuits=AIR)
    made = study(plan)
    both = vents(made.plan, made.circuits, made.assemblies, made.plan.components["tank"])
    down = np.array(list(LYING.values()))
    assert sorted(bool((vent.over(down) > 0).all()) for vent in both) == [False, True]
    (found,) = runs_out(made)
    assert (found.place, found.verdict) == ("tank.vent", Verdict.FAIL)


def test_the_way_is_followed_from_the_tank_however_its_run_was_drawn(tmp_path):
    end = {"kind": "open", "ports": {"in": {"at": "-2000, 260, 100 mm"}}}
    ways = []
    for ends, via in (
        (("tank.vent", "end.in"), ROUND),
        (("end.in", "tank.vent"), ROUND[::-1]),
    ):
        runs = {"V1": run(*ends, "inlet", circuit="vent", via=via)}
        made = study(fuel_plan(tmp_path, tank=TANK, components={"end": end}, runs=runs, more_circuits=AIR))
        (found,) = vents(made.plan, made.circuits, made.assemblies, made.plan.components["tank"])
        ways.append(found.points)
        assert found.end == "end"
    assert ways[0][1] == pytest.approx(np.array([-2.0, 0.0, 0.5]), abs=1e-6)
    assert ways[1] == pytest.approx(ways[0], abs=2e-3)


def test_a_vent_breathes_where_its_pipe_inside_the_tank_ends(tmp_path):
    tank = TANK | {"ports": TANK["ports"] | {"vent": {"at": "-2000, 0, 500 mm", "reaches": "-2000, -150, 480 mm"}}}
    end = {"kind": "open", "ports": {"in": {"at": "-2000, 260, 100 mm"}}}
    runs = {"V1": run("tank.vent", "end.in", "inlet", circuit="vent", via=DOWN_THE_LEFT)}
    (found,) = runs_out(study(fuel_plan(tmp_path, tank=tank, components={"end": end}, runs=runs, more_circuits=AIR)))
    # On its left side the fuel stands to 100 mm right of the middle; the mouth is 150 mm right of it.
    assert heights(found)["on its left side"] == pytest.approx(0.050, abs=0.001)


def test_a_tank_without_a_vent_in_the_plan_is_asked_for_it(tmp_path):
    (found,) = runs_out(study(fuel_plan(tmp_path)))
    assert found.verdict is Verdict.UNCHECKED
    assert "to a component of kind open" in found.needs


def test_without_the_box_of_the_tank_nothing_is_told(tmp_path):
    plan = vent_plan(tmp_path, ROUND)
    bare = {key: value for key, value in TANK.items() if key not in {"corner", "opposite"}}
    end = {"kind": "open", "ports": {"in": {"at": "-2000, 260, 100 mm"}}}
    runs = {"V1": run("tank.vent", "end.in", "inlet", circuit="vent", via=ROUND)}
    plan = fuel_plan(tmp_path, tank=bare, components={"end": end}, runs=runs, more_circuits=AIR)
    (found,) = runs_out(study(plan))
    assert found.verdict is Verdict.UNCHECKED
    assert "corner" in found.needs


def test_air_does_not_join_the_circuit_of_the_fuel(tmp_path):
    made = study(vent_plan(tmp_path, ROUND))
    assert "tank.air" in made.circuits["vent"].nodes
    assert "tank.air" not in made.circuits["line"].nodes
    (found,) = vents(made.plan, made.circuits, made.assemblies, made.plan.components["tank"])
    assert (found.port, found.end) == ("tank.vent", "end")


def test_a_vent_in_the_circuit_of_the_fuel_is_told_as_such(tmp_path):
    end = {"kind": "open", "ports": {"in": {"at": "-2000, 260, 100 mm"}}}
    ports = {"in": {"at": "-2000, 0, 505 mm"}, "out": {"at": "-2000, 0, 530 mm"}}
    valve = {"kind": "roll-over-valve", "ports": ports, "shuts_at": "60 deg"}
    runs = {
        "V1": run("tank.vent", "ball.in", "inlet", via=[]),
        "V2": run("ball.out", "end.in", "inlet", via=ROUND),
    }
    made = study(fuel_plan(tmp_path, tank=TANK, components={"end": end, "ball": valve}, runs=runs))
    error = made.solutions["line"].error
    assert "ball is a vent's valve and stands in a circuit of liquid" in error.reason
    assert "in a circuit of air" in error.needs
