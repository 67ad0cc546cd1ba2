"""Fuel that is shut in when the engine stands hot."""

import re

import pytest
from fuelled import HOSE, fuel_plan
from writing import FLUID, run

from lines.finding import Verdict
from solver.checks.trapped import shut_in
from solver.study import study

CHECK = {
    "kind": "check-valve",
    "crack": "5 kPa",
    "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["200 L/h"], "drop": ["10 kPa"]},
}


def judged(folder, **facts):
    return {f.place: f for f in shut_in(study(fuel_plan(folder, **facts)))}


def test_a_return_lets_what_expands_go(tmp_path):
    found = judged(tmp_path)
    assert {f.verdict for f in found.values()} == {Verdict.PASS}
    # What is joined to the tank before the pump and behind the regulator, and what lies between these two.
    assert set(found) == {"F1", "F2"}


def dead_head(folder, **facts):
    """A pump, a check valve, a feed regulator and a rail that ends."""
    regulator = {
        "kind": "feed-regulator",
        "set": "300 kPa",
        "reference": "manifold",
        "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["300 L/h"], "drop": ["20 kPa"]},
    }
    runs = {
        "F2": run("pump.out", "check.in", "hose", **HOSE, rise="0 mm"),
        "F3": run("check.out", "regulator.in", "hose", **HOSE, rise="0 mm"),
        "F4": run("regulator.out", "rail.in", "hose", **HOSE, rise="0 mm"),
    }
    return judged(folder, components={"regulator": regulator, "check": CHECK}, runs=runs, **facts)


def test_a_dead_head_behind_a_check_valve_is_shut_in(tmp_path):
    found = dead_head(tmp_path)
    assert found["F1"].verdict is Verdict.PASS
    shut = found["F3"]
    assert shut.verdict is Verdict.CAUTION
    assert "is shut in by check, regulator and what it feeds" in shut.why.say("metric")
    assert "relief valve" in shut.change.say("metric")
    assert found["F4"].verdict is Verdict.CAUTION


def test_between_a_pump_and_a_check_valve_it_goes_on_through_that_only_as_far_as_that_can(tmp_path):
    # It lets go into what is shut in itself.
    assert dead_head(tmp_path)["F2"].verdict is Verdict.CAUTION


def test_warming_adds_what_expansion_and_modulus_make_of_it(tmp_path):
    # 0.00095 a kelvin (gasoline, from memory) of 1.3 GPa: 6 MPa for 5 K, 6.7 MPa for 10 F.
    liquid = {
        "means": "gasoline for the test",
        "family": "gasoline",
        "flammable": True,
        "density": FLUID | {"at": ["0 C", "60 C"], "is": ["771.4 kg/m3", "728.6 kg/m3"]},
        "viscosity": FLUID | {"law": "log", "at": ["0 C", "60 C"], "is": ["0.6 mPa s", "0.3 mPa s"]},
        "modulus": FLUID | {"at": ["20 C"], "is": ["1.3 GPa"]},
    } | FLUID
    said = dead_head(tmp_path, liquid=liquid)["F3"].why.say("metric")
    assert float(re.search(r"([\d.]+) kPa for 5 K more", said)[1]) == pytest.approx(5 * 1.3e6 * 0.00093, rel=0.03)
    said = dead_head(tmp_path, liquid=liquid, plan={"units": "us"})["F3"].why.say("us")
    psi = float(re.search(r"([\d.]+) psi for 10 F more", said)[1])
    assert psi == pytest.approx(10 / 1.8 * 1.3e6 * 0.00093 / 6.894757, rel=0.03)
