"""The air that a tank breathes in: by hand for one vent, and what it lacks at the pump's inlet."""

from importlib import resources

import numpy as np
import pytest
from fuelled import LIQUID, fuel_plan
from writing import FLUID, run, tube

from lines.finding import Verdict
from lines.reading import read_plan
from solver.checks.suction import boils
from solver.checks.tankair import breathes
from solver.study import study
from solver.tankair import tank_air

GASOLINE = LIQUID | {"vapour": {"reid": "9 psi", "slope": 3.0} | FLUID}
PORTS = {
    "out": {"at": "-1800, 100, 310 mm"},
    "return": {"at": "-1800, -100, 590 mm"},
    "vent": {"at": "-2000, 0, 900 mm"},
}
BOX = {
    "corner": "-2200, -200, 200 mm",
    "opposite": "-1800, 200, 900 mm",
    "surface": {"full": "800 mm", "low": "450 mm"},
}
DUTIES = {"idle": {"boost": "-50 kPa", "burn": "4 L/h"}, "full": {"boost": "100 kPa", "burn": "150 L/h"}}
AIR = {"vent": {"fluid": "air", "temperature": "20 C"}}
POINTS = {"fluid": "air", "temperature": "20 C", "flow": ["100 L/h", "200 L/h"], "drop": ["1.5 kPa", "6 kPa"]}


def vented(folder, *, valve=None, vent="vent", pressure=None, **facts):
    """The tank with a vent of 1 m of a 2 mm tube, or through a valve by its points and a short wide hose."""
    components = {"end": {"kind": "open", "ports": {"in": {"height": "100 mm"}}}}
    hose = {"length": "1 m", "length_is": "overall"}
    runs = {"V1": run("tank.vent", "end.in", vent, circuit="vent", **hose)}
    if valve is not None:
        components["valve"] = {"kind": "roll-over-valve", "shuts_at": "60 deg"} | valve
        runs = {
            "V1": run("tank.vent", "valve.in", "wide", circuit="vent", **hose),
            "V2": run("valve.out", "end.in", "wide", circuit="vent", **hose),
        }
    tank = BOX | {"ports": PORTS} | ({"pressure": pressure} if pressure else {})
    plan = fuel_plan(
        folder,
        more_stock={"vent": tube("2 mm"), "wide": tube("30 mm")},
        tank=tank,
        components=components,
        runs=runs,
        more_circuits=AIR,
        duties=DUTIES,
        liquid=GASOLINE,
        **facts,
    )
    return study(plan)


def air_of(made):
    return tank_air(made, made.plan.components["tank"])


def test_a_thin_vent_takes_what_poiseuille_has_and_a_mouth_at_each_end(tmp_path):
    found = air_of(vented(tmp_path))
    # Air at 20 C and one atmosphere by CoolProp: 1.2046 kg/m3, 18.21e-6 Pa s; it flows laminar, at 150 L/h Re = 1755.
    for under, flow in zip(found.under, np.array([4.0, 150.0]) / 3.6e6, strict=True):
        speed = flow / (np.pi * 0.001**2)
        friction = 128 * 18.21e-6 * 1.0 * flow / (np.pi * 0.002**4)
        assert under == pytest.approx(friction + 1.5 * 1.2046 * speed**2 / 2, rel=0.04)
    assert found.draws == pytest.approx(np.array([4.0, 150.0]) / 3.6e6, rel=1e-6)


def test_a_valve_by_its_points_takes_what_these_say(tmp_path):
    found = air_of(vented(tmp_path, valve={"points": POINTS}))
    # drop = 150 Pa at (100 L/h) times the square: 1.5 kPa and 6 kPa are just that.
    assert found.under[1] == pytest.approx(1500.0 * 1.5**2, rel=0.03)
    assert sum(drop[1] for drop in found.losses().values()) == pytest.approx(found.under[1], rel=1e-6)


def test_through_a_surge_tank_it_gives_what_is_burnt():
    with resources.as_file(resources.files("lines") / "examples" / "long-travel") as folder:
        made = study(read_plan(folder / "plan.toml"))
    found = tank_air(made, made.plan.components["cell"])
    density = made.solutions["fuel"].model.density
    # As the plan says: 6, 30 lb/h, 700 hp at 0.60 lb/(hp h), 11 and 7 lb/h.
    burnt = np.array([6, 30, 420, 11, 7]) * 0.45359237 / 3600 / density
    assert found.draws == pytest.approx(burnt, rel=1e-6)


def test_at_altitude_the_same_volume_of_thinner_air_loses_less(tmp_path):
    high = {"plan": {"ambient": {"temperature": "20 C", "altitude": "3000 m"}}}
    sea, top = (
        air_of(vented(tmp_path, valve={"points": POINTS})),
        air_of(vented(tmp_path, valve={"points": POINTS}, **high)),
    )
    # ISO 2533: 70.12 kPa at 3000 m; the same temperature.
    assert top.under[1] / sea.under[1] == pytest.approx(70.12 / 101.325, rel=0.02)


@pytest.mark.parametrize(
    ("drop", "verdict"), [("0.2 kPa", Verdict.PASS), ("1 kPa", Verdict.CAUTION), ("3 kPa", Verdict.FAIL)]
)
def test_it_is_judged_at_the_largest_draw(tmp_path, drop, verdict):
    valve = {"points": POINTS | {"flow": ["100 L/h"], "drop": [drop]}}
    (found,) = breathes(vented(tmp_path, valve=valve))
    assert found.verdict is verdict
    assert (found.place, found.worst.duty) == ("tank", "full")
    assert "by valve" in found.why.say("metric")


def test_what_the_vent_takes_the_pump_lacks_at_its_inlet(tmp_path):
    made = vented(tmp_path, valve={"points": POINTS})
    bare = vented(tmp_path, valve={"points": POINTS}, pressure="0 psi")
    (with_vent,), (without,) = boils(made), boils(bare)
    less = [b.value.value - w.value.value for w, b in zip(with_vent.cases, without.cases, strict=True)]
    wanted = [dict(zip(made.plan.duties, air_of(made).under, strict=True))[c.state.duty] for c in with_vent.cases]
    assert less == pytest.approx(wanted, abs=1.0)


def test_it_is_named_where_the_inlet_fails(tmp_path):
    made = vented(tmp_path, valve={"points": POINTS}, temperature="55 C")
    (found,) = boils(made)
    assert found.verdict is Verdict.FAIL
    assert "under the air outside by what its vent takes" in found.why.say("metric")


def test_a_stated_pressure_or_no_vent_asks_nothing(tmp_path):
    assert breathes(vented(tmp_path, pressure="1 psi")) == []
    assert breathes(study(fuel_plan(tmp_path))) == []


def test_a_valve_that_says_no_points_is_asked_for_them(tmp_path):
    (found,) = breathes(vented(tmp_path, valve={}))
    assert found.verdict is Verdict.UNCHECKED
    assert "points in [components.valve]" in found.needs
    assert 'fluid = "air"' in found.needs
