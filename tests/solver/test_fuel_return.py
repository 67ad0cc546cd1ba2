"""The lowest pressure that a return lets its regulator hold: by the sum of what takes it, and cured by what is said."""

import re

import numpy as np
import pytest
from fuelled import BOX, HOSE, PORTS, fuel_plan
from writing import run

from lines.finding import Verdict
from solver.checks import fuel, fuelrail
from solver.checks.fuelreturn import lowest
from solver.study import study

DUTIES = {"idle": {"boost": "-50 kPa", "burn": "4 L/h"}, "full": {"boost": "100 kPa", "burn": "150 L/h"}}


def system(folder, stock="ptfe-braid -6", base="300 kPa", duties=DUTIES, **facts):
    """A return in a real hose; the rest is short and wide."""
    regulator = {
        "kind": "regulator",
        "set": base,
        "reference": "manifold",
        "slope": "0 kPa per 100 L/h",
        "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["300 L/h"], "drop": ["20 kPa"]},
        "ports": {"in": {"at": "200, 0, 900 mm"}, "return": {"at": "200, 0, 880 mm"}},
    }
    runs = {"F4": run("regulator.return", "tank.return", stock, **HOSE)}
    return study(fuel_plan(folder, duties=duties, components={"regulator": regulator}, runs=runs, **facts))


def judged(folder, *args, **facts):
    (found,) = lowest(system(folder, *args, **facts))
    return found


def test_held_wide_open_it_is_what_a_regulator_without_a_base_stands_at(tmp_path):
    # The same system with a base that its return cannot hold: its rail is then at the lowest that it can be.
    found = judged(tmp_path)
    made = system(tmp_path, base="1 kPa")
    answer = made.solutions["line"]
    assert answer.switch("regulator: valve")[0] == "wide open"
    outside = np.array([101325.0 - 50e3, 101325.0 + 100e3])
    lowest_ = answer.total("regulator.body") - outside
    assert 300e3 - found.cases[0].value.value == pytest.approx(lowest_[0], abs=50)
    # Under boost it holds even that.
    assert answer.switch("regulator: valve")[1] == "holding"
    assert found.cases[1].value.value > 300e3
    assert found.worst.duty == "idle"


def test_a_return_that_is_too_small_decides_the_rail_and_the_hose_that_is_said_does_not(tmp_path):
    small = judged(tmp_path, "ptfe-braid -3")
    assert (small.verdict, small.worst.duty) == (Verdict.FAIL, "idle")
    said = small.why.say("metric")
    assert "it stands wide open, and the return decides the pressure of the rail" in said
    assert re.search(r"most of it [\d.]+ kPa the hose of F4", said)
    assert "less pump at idle (fewer volts), or a larger regulator" in small.change.say("metric").lower()
    (rail,) = fuelrail.rail(system(tmp_path, "ptfe-braid -3"))
    assert rail.verdict is Verdict.FAIL
    assert "wide open" in rail.why.say("metric")
    wider = re.search(r"F4 in (ptfe-braid -\d+)", small.change.say("metric"))[1]
    assert judged(tmp_path, wider).verdict is Verdict.PASS
    (rail,) = fuelrail.rail(system(tmp_path, wider))
    assert rail.verdict is Verdict.PASS


def test_a_return_that_chokes_the_pump_beyond_its_curve_fails_though_no_flows_are_found(tmp_path, monkeypatch):
    import fuelled

    # Data sheets often end long before shut-off.
    monkeypatch.setattr(fuelled, "CURVE", {0: 300, 200: 240, 330: 195})
    made = system(tmp_path, "ptfe-braid -3", duties={"idle": DUTIES["idle"]})
    assert not made.solutions["line"].solved.all()
    (found,) = lowest(made)
    assert found.verdict is Verdict.FAIL
    assert "the hose of F4" in found.why.say("metric")
    assert re.search(r"F4 in ptfe-braid -\d+", found.change.say("metric"))


def beside(folder, kind, set_):
    """The system with one more valve from the feed to the tank, and that without it."""
    valve = {
        "kind": kind,
        "set": set_,
        "reference": "open air",
        "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["300 L/h"], "drop": ["20 kPa"]},
    }
    short = {"length": "100 mm", "length_is": "overall"}
    runs = {
        "F2": run("pump.out", "split.a", "hose", **HOSE, rise="650 mm"),
        "F5": run("split.b", "rail.in", "hose", **short, rise="0 mm"),
        "F6": run("split.branch", "spill.in", "hose", **short, rise="0 mm"),
        "F7": run("spill.return", "tank.spill", "hose", **short, rise="-310 mm"),
        "F4": run("regulator.return", "tank.return", "ptfe-braid -6", **HOSE),
    }
    ports = {key: {"at": at} for key, at in PORTS.items()} | {"spill": {"at": "-1800, 0, 590 mm"}}
    components = {"spill": valve, "split": {"kind": "tee", "bore": "8 mm"}}
    plan = fuel_plan(folder, duties=DUTIES, tank=BOX | {"ports": ports}, components=components, runs=runs)
    return study(plan), study(fuel_plan(folder, duties=DUTIES, runs={"F4": runs["F4"]}))


def test_a_relief_valve_that_stays_shut_beside_the_regulator_changes_nothing(tmp_path):
    made, plain = beside(tmp_path, "relief-valve", "900 kPa")
    for told in (fuel.margin, fuelrail.rail, lowest):
        (found,), (before,) = told(made), told(plain)
        assert (found.verdict, found.place) == (before.verdict, before.place)
        assert found.verdict is not Verdict.UNCHECKED


def test_of_two_regulators_one_that_holds_is_enough(tmp_path):
    made, plain = beside(tmp_path, "regulator", "900 kPa")
    assert set(made.solutions["line"].switch("spill: valve")) == {"shut"}
    (found,), (before,) = fuel.margin(made), fuel.margin(plain)
    shares = [[case.value.value for case in each.cases] for each in (found, before)]
    assert shares[0] == pytest.approx(shares[1], rel=0.05)


def test_the_vacuum_of_the_manifold_is_named_where_it_is_most_of_it(tmp_path):
    found = judged(tmp_path, "ptfe-braid -10", base="85 kPa")
    assert found.verdict is Verdict.CAUTION
    said = found.why.say("metric")
    assert "(most of it 50.0 kPa by which the manifold is under the air in tank" in said


def test_a_pump_under_the_first_point_of_its_curve_is_an_estimate_and_said_so(tmp_path, monkeypatch):
    assert "carried on" not in judged(tmp_path).why.say("metric")
    import fuelled

    monkeypatch.setattr(fuelled, "CURVE", {200: 240, 300: 200, 600: 80})
    found = judged(tmp_path)
    assert "carried on straight" in found.why.say("metric")
    assert found.verdict is Verdict.PASS
    assert found.basis.value != "measured"
