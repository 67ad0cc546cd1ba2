"""The air that a tank breathes in: by hand for one vent, and what it lacks at the pump's inlet."""

from importlib import resources

import numpy as np
import pytest
from fuelled import HOSE, LIQUID, fuel_plan
from writing import FLUID, run, tube

from lines.finding import Verdict
from lines.reading import read_plan
from solver.checks.suction import boils
from solver.checks.tankair import breathes
from solver.checks.warmth import lasts
from solver.fuels import pumps
from solver.leaning import leaning
from solver.study import study
from solver.suction import suction
from solver.tankair import drawn_under, tank_air

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


def vented(folder, *, valve=None, vent="vent", pressure=None, more_stock=None, **facts):
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
        more_stock={"vent": tube("2 mm"), "wide": tube("30 mm")} | (more_stock or {}),
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


# ---------------------------------------------------------------- two tanks, and pumps in a row

WAY_OUT = {"end": {"kind": "open", "ports": {"in": {"height": "100 mm"}}}}
METRE = {"length": "1 m", "length_is": "overall"}


def right(**ports):
    """A second tank, as large and a metre to the right."""
    ports = {"out": "-1800, 1100, 310 mm", "vent": "-2000, 1000, 900 mm"} | ports
    box = {"corner": "-2200, 800, 200 mm", "opposite": "-1800, 1200, 900 mm", "surface": BOX["surface"]}
    return {"kind": "tank", "ports": {k: {"at": v} for k, v in ports.items()}} | box


def lift(y):
    ports = {"in": {"at": f"-1780, {y}, 300 mm"}, "out": {"at": f"-1750, {y}, 300 mm"}}
    return {"kind": "pump", "curve": "lift", "volts": "13 V", "ports": ports}


def curve(points):
    points = [{"volts": "13 V", "rise": f"{p} kPa", "flow": f"{q} L/h"} for p, q in points.items()]
    return {"lift": {"means": "invented", "points": points, "source": "invented", "grade": "illustrative"}}


def fuelled(folder, components, runs, tank=None, **facts):
    return study(
        fuel_plan(
            folder,
            liquid=GASOLINE,
            duties=DUTIES,
            more_circuits=AIR,
            more_stock={"vent": tube("2 mm"), "wide": tube("30 mm")} | facts.pop("stock", {}),
            tank=tank or BOX | {"ports": PORTS},
            components=components,
            runs=runs,
            **facts,
        )
    )


def draws(made):
    return {name: tank_air(made, made.plan.components[name]).draws for name in ("tank", "right")}


def own_vents():
    ends = dict.fromkeys(("end", "end2"), WAY_OUT["end"])
    return ends, {
        "V1": run("tank.vent", "end.in", "vent", circuit="vent", **METRE),
        "V2": run("right.vent", "end2.in", "vent", circuit="vent", **METRE),
    }


def test_what_returns_to_another_tank_has_left_its_own(tmp_path):
    ends, vents = own_vents()
    back = {"F4": run("regulator.return", "right.return", "hose", **HOSE)}
    made = fuelled(tmp_path, ends | {"right": right(**{"return": "-1800, 900, 590 mm"})}, vents | back)
    answer, found = made.solutions["line"], draws(made)
    assert found["tank"] == pytest.approx(answer.flow("F1"), rel=1e-9)
    assert (found["tank"] > 2 * answer.flow("F4")[1]).all()
    assert found["right"] == pytest.approx([0.0, 0.0])
    # 211 L/h through 1 m of a 2 mm bore; that nothing is drawn from the other is no finding.
    (judged,) = breathes(made)
    assert (judged.place, judged.verdict, judged.worst.duty) == ("tank", Verdict.FAIL, "idle")


def test_two_tanks_that_feed_one_surge_tank_give_together_what_is_burnt(tmp_path):
    ends, vents = own_vents()
    high = {"surface": {"full": "780 mm", "low": "760 mm"}}
    at = {"in": "-1700, 0, 700 mm", "in2": "-1700, 50, 700 mm", "out": "-1700, 0, 300 mm"}
    at |= {"over": "-1700, 0, 820 mm", "ret": "-1700, 0, 750 mm"}
    surge = {"kind": "surge-tank", "ports": {k: {"at": v} for k, v in at.items()}} | high
    runs = {
        "F1": run("tank.out", "lift.in", "wide", **HOSE),
        "L1": run("lift.out", "surge.in", "hose", **HOSE),
        "F5": run("right.out", "lift2.in", "wide", **HOSE),
        "L2": run("lift2.out", "surge.in2", "hose", length="12 m", length_is="overall"),
        "F6": run("surge.out", "pump.in", "wide", **HOSE),
        "F4": run("regulator.return", "surge.ret", "hose", **HOSE),
        "F7": run("surge.over", "tank.over", "hose", **HOSE),
    }
    parts = {"right": right(), "surge": surge, "lift": lift(0), "lift2": lift(1000)}
    tank = BOX | {"ports": PORTS | {"over": {"at": "-1800, 0, 850 mm"}}}
    points = curve({0: 200, 40: 120, 80: 0})
    made = fuelled(tmp_path, ends | parts, vents | runs, tank=tank, more_curves=points)
    found = draws(made)
    assert (found["tank"] > 0).all()
    assert (found["right"] > 0).all()
    assert found["tank"] + found["right"] == pytest.approx(np.array([4.0, 150.0]) / 3.6e6, rel=1e-6)


def test_through_one_vent_both_tanks_breathe(tmp_path):
    # All that it takes is in one run behind a wide tee: as much as one tank that gives it all would lack.
    ports = {k: {"height": "100 mm"} for k in ("a", "b", "c")}
    parts = WAY_OUT | {"right": right(), "join": {"kind": "manifold", "bore": "30 mm", "ports": ports}}
    feed = {"kind": "manifold", "bore": "30 mm", "ports": {k: {"at": "-1700, 0, 300 mm"} for k in ("a", "b", "c")}}
    runs = {
        "F1": run("tank.out", "feed.a", "wide", **HOSE),
        "F5": run("right.out", "feed.b", "wide", **HOSE),
        "F6": run("feed.c", "pump.in", "wide", **HOSE),
        "V1": run("tank.vent", "join.a", "wide", circuit="vent", **METRE),
        "V2": run("right.vent", "join.b", "wide", circuit="vent", **METRE),
        "V3": run("join.c", "end.in", "vent", circuit="vent", **METRE),
    }
    made = fuelled(tmp_path, parts | {"feed": feed}, runs)
    found = air_of(made)
    both = sum(draws(made).values())
    assert both[1] == pytest.approx(150 / 3.6e6, rel=1e-6)
    assert found.draws[1] < 0.7 * both[1]
    speed = both[1] / (np.pi * 0.001**2)
    friction = 128 * 18.21e-6 * 1.0 * both[1] / (np.pi * 0.002**4)
    assert found.under[1] == pytest.approx(friction + 1.5 * 1.2046 * speed**2 / 2, rel=0.05)


@pytest.mark.parametrize("bore", ["1.3 mm", "0.6 mm"])
def test_a_vent_that_takes_more_than_a_tenth_of_an_atmosphere_fails_and_leaves_the_inlet_untold(tmp_path, bore):
    made = vented(tmp_path, vent="thin", more_stock={"thin": tube(bore)})
    (found,) = breathes(made)
    assert (found.verdict, found.value, found.worst.duty) == (Verdict.FAIL, None, "full")
    assert "more than 10.1 kPa, a tenth of the pressure outside" in found.why.say("metric")
    assert "Most of it goes by the hose of V1" in found.why.say("metric")
    (inlet,) = boils(made)
    assert inlet.verdict is Verdict.UNCHECKED
    assert "fuel.vent.flow/tank" in inlet.needs
    (warms,) = lasts(made)
    assert warms.verdict is Verdict.UNCHECKED


def test_a_vent_of_which_nothing_is_known_leaves_the_inlet_untold(tmp_path):
    (inlet,) = boils(vented(tmp_path, valve={}))
    assert inlet.verdict is Verdict.UNCHECKED
    assert "points in [components.valve]" in inlet.needs


def test_behind_a_lift_pump_the_main_pump_lacks_as_much(tmp_path):
    runs = {
        "F1": run("tank.out", "lift.in", "inlet", **HOSE),
        "F5": run("lift.out", "pump.in", "inlet", **HOSE),
        "V1": run("tank.vent", "end.in", "vent", circuit="vent", **METRE),
    }
    points = curve({0: 500, 40: 400, 80: 200, 100: 0})
    made = fuelled(tmp_path, WAY_OUT | {"lift": lift(0)}, runs, more_curves=points)
    circuit, under = made.circuits["line"], air_of(made).under
    assert under[1] > 1000
    for pump in pumps(circuit):
        assert list(drawn_under(made, circuit, pump).values()) == pytest.approx(under.tolist())


def test_what_stands_over_a_source_less_what_is_lost_is_what_arrives_with_a_vent(tmp_path):
    made = vented(tmp_path, valve={"points": POINTS})
    circuit = made.circuits["line"]
    (pump,) = pumps(circuit)
    stands = leaning(made.plan, made.solutions["line"])
    found = suction(made.plan, pump, stands, 0.0, drawn_under(made, circuit, pump))
    whole = found.over_source + found.column - np.sum(list(found.losses().values()), axis=0)
    assert whole == pytest.approx(found.pressure, abs=0.5)
    # By the valve's points at 150 L/h.
    assert found.over_source[1] == pytest.approx(101325 - 1500 * 1.5**2, abs=100)


def test_a_tank_that_nothing_leaves_is_asked_nothing(tmp_path):
    still = {"idle": {"boost": "-50 kPa", "burn": "0 L/h"}}
    runs = {"V1": run("tank.vent", "end.in", "vent", circuit="vent", **METRE)}
    plan = fuel_plan(
        tmp_path,
        liquid=GASOLINE,
        duties=still,
        more_circuits=AIR,
        more_stock={"vent": tube("2 mm")},
        tank=BOX | {"ports": PORTS},
        components=WAY_OUT,
        runs=runs,
    )
    assert breathes(study(plan)) == []
