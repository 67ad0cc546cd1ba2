"""How fuel warms while its pumps run: by the closed form, and against a figure of the trade."""

import re

import numpy as np
import pytest
from fuelled import BOX, LIQUID, fuel_plan
from scipy.integrate import solve_ivp
from writing import FLUID, run

from lines.finding import Verdict
from solver.checks.warmth import lasts
from solver.study import study
from solver.warming import Warming

GASOLINE = LIQUID | {
    "vapour": {"reid": "9 psi", "slope": 3.0} | FLUID,
    "heat_capacity": FLUID | {"at": ["0 C", "60 C"], "is": ["2000 J/kgK", "2100 J/kgK"]},
}
PUMP = {"amps": "10 A"}


def fahrenheit(f):
    return (f - 32) / 1.8 + 273.15


@pytest.mark.parametrize("cooling", [0.0, 2.0, 9.0])
def test_it_follows_the_heat_balance(cooling):
    body = Warming(300.0, 295.0, 400.0, cooling, 25e3)
    true = solve_ivp(lambda _t, x: (400.0 - cooling * (x - 295.0)) / 25e3, (0, 7200), [300.0], rtol=1e-9)
    assert body.after(7200.0) == pytest.approx(true.y[0][-1], abs=1e-3)
    assert body.until(body.after(5000.0)) == pytest.approx(5000.0, rel=1e-9)
    assert body.until(299.0) == 0.0
    assert body.until(body.ends_at + 1.0) == np.inf or cooling == 0.0


def test_five_gallons_by_two_pumps_in_two_hours():
    # A note of the trade: two pumps put more than 450 W into 5 US gal, which went to 170 F in two hours in air of 70 F.
    # What the limits have still air take, 12 W/m2K, is on the safe side: it comes out warmer, by less than half.
    volume = 5 * 3.785411784e-3
    wetted = 5 * volume ** (2 / 3)
    body = Warming(fahrenheit(70), fahrenheit(70), 450.0, 12.0 * wetted, volume * 745.0 * 2100.0)
    found = body.after(7200.0) - fahrenheit(70)
    assert 100 / 1.8 < found < 1.5 * 100 / 1.8
    # And with what the note comes to, 18 W/m2K, as it says.
    alike = Warming(fahrenheit(70), fahrenheit(70), 450.0, 18.0 * wetted, volume * 745.0 * 2100.0)
    assert alike.after(7200.0) == pytest.approx(fahrenheit(170), abs=1.5)


def judged(folder, **facts):
    (found,) = lasts(study(fuel_plan(folder, liquid=GASOLINE, pump=PUMP, **facts)))
    return found


def test_a_pump_warms_low_fuel_until_it_boils_at_its_inlet(tmp_path):
    found = judged(tmp_path, temperature="35 C")
    # 130 W into 0.4 x 0.4 x 0.25 m, 40 L: by the closed form, to where the inlet's sum comes to nothing.
    body = Warming(308.15, 293.15, 130.0, 12.0 * (0.16 + 1.6 * 0.25), 0.04 * 750.0 * 2058.0)
    said = found.why.say("metric")
    assert f"it goes from 35 C to {body.after(3600.0) - 273.15:.0f} C in 60 min" in said
    assert found.verdict is Verdict.PASS


def test_hot_fuel_boils_soon(tmp_path):
    found = judged(tmp_path, temperature="48 C")
    assert found.verdict is Verdict.FAIL
    assert "boils at an inlet from the first" in found.why.say("metric")


def test_how_long_it_takes_is_told_in_minutes(tmp_path):
    facts = {"liquid": GASOLINE, "pump": {"amps": "40 A"}, "temperature": "30 C", "bore": "6 mm"}
    (found,) = lasts(study(fuel_plan(tmp_path, **facts)))
    minutes = float(re.search(r"boils at an inlet in (\d+) min\.", found.why.say("metric"))[1])
    assert minutes == pytest.approx(min(case.value.value for case in found.cases) / 60, abs=0.5)
    assert found.verdict is Verdict.CAUTION


def test_a_filter_behind_the_pump_gives_no_longer_a_drive_when_it_is_due(tmp_path):
    # Due, it lessens what the pump draws: the clean one is what the fuel has to last with.
    hose = {"length": "300 mm", "length_is": "overall"}
    runs = {
        "F2": run("pump.out", "fine.in", "hose", **hose, rise="0 mm"),
        "F5": run("fine.out", "rail.in", "hose", **hose, rise="650 mm"),
    }
    fine = {
        "kind": "filter",
        "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["200 L/h"], "drop": ["8 kPa"]},
        "ports": {"in": {"height": "250 mm"}, "out": {"height": "250 mm"}},
    }
    times = []
    for loaded in ("1", "20"):
        parts = {"fine": fine | {"loaded": loaded}}
        facts = {"liquid": GASOLINE, "pump": {"amps": "40 A"}, "temperature": "30 C", "bore": "6 mm"}
        (found,) = lasts(study(fuel_plan(tmp_path, **facts, components=parts, runs=runs)))
        times.append(min(case.value.value for case in found.cases))
    assert 0 < times[0] < 24 * 3600
    assert times[1] == pytest.approx(times[0], rel=1e-6)


@pytest.mark.parametrize(
    ("facts", "needs"),
    [({"pump": {}}, "amps in [components.pump]"), ({"tank": {"surface": BOX["surface"]}}, "corner")],
)
def test_what_is_not_known_is_asked_for(tmp_path, facts, needs):
    (found,) = lasts(study(fuel_plan(tmp_path, **{"liquid": GASOLINE, "pump": PUMP} | facts)))
    assert found.verdict is Verdict.UNCHECKED
    assert needs in found.needs


def test_what_a_pulsed_pump_takes_is_asked_for_at_each_duty(tmp_path):
    pulsed = {"holds": "300 kPa", "reference": "manifold", "amps": "10 A"}
    (found,) = lasts(study(fuel_plan(tmp_path, liquid=GASOLINE, pump=pulsed)))
    assert found.verdict is Verdict.UNCHECKED
    assert 'amps in [components.pump] at each duty, as measured at its plug: { idle = "..."' in found.needs
    by_duty = pulsed | {"amps": {"idle": "2 A", "full": "10 A"}}
    (found,) = lasts(study(fuel_plan(tmp_path, liquid=GASOLINE, pump=by_duty)))
    assert found.verdict is not Verdict.UNCHECKED
