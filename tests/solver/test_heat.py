"""Fuel in warm air: along a run by the closed form, and the heat of the whole circuit against its balance."""

import re

import numpy as np
import pytest
from fuelled import HOSE, LIQUID, fuel_plan
from scipy.integrate import solve_ivp
from writing import FLUID, run

from catalogs.catalog import Catalog
from catalogs.errors import PlanError
from lines.finding import Verdict
from solver.bayair import transfer
from solver.checks.heat import at_rail
from solver.checks.rating import temperature
from solver.checks.warmth import lasts
from solver.study import study
from solver.warmed import warmed

GASOLINE = LIQUID | {
    "vapour": {"reid": "9 psi", "slope": 3.0} | FLUID,
    "heat_capacity": FLUID | {"at": ["0 C", "60 C"], "is": ["2000 J/kgK", "2000 J/kgK"]},
}
DUTIES = {"idle": {"boost": "-50 kPa", "burn": "4 L/h"}, "full": {"boost": "100 kPa", "burn": "150 L/h"}}
START = 303.15


def warm_plan(folder, air, *, amps=None, speed=None, **facts):
    """The system with some runs in warm air: {tag: temperature}."""
    own = {"F1": ("tank.out", "pump.in", "inlet", {}), "F2": ("pump.out", "rail.in", "hose", {"rise": "650 mm"})}
    own |= {
        "F3": ("rail.out", "regulator.in", "hose", {"rise": "0 mm"}),
        "F4": ("regulator.return", "tank.return", "hose", {}),
    }
    said = {tag: {"air": text} | ({"air_speed": speed} if speed else {}) for tag, text in air.items()}
    runs = {tag: run(*own[tag][:3], **HOSE, **own[tag][3], **said[tag]) for tag in air}
    pump = {"amps": amps} if amps else {}
    facts = {"liquid": GASOLINE, "temperature": "30 C", "duties": DUTIES, "pump": pump, "runs": runs} | facts
    return study(fuel_plan(folder, **facts))


def along(made):
    return warmed(made.plan, made.solutions["line"], made.assemblies)


def flow(made, tag):
    return made.solutions["line"].flow(tag) * made.solutions["line"].model.density


def gives(made, air, speed=0.0):
    """Of 3 m of hose, 20 mm outside [W/K]."""
    gas = Catalog().fluid("air")
    at = [np.array(x) for x in (0.020, START, air, speed, made.plan.ambient.pressures[0])]
    return float(transfer(gas, *at, emissivity=0.9)) * np.pi * 0.020 * made.assemblies["F2"].flowed


@pytest.mark.parametrize("speed", [None, "4 m/s"])
def test_along_one_run_it_follows_the_heat_balance_of_each_length(tmp_path, speed):
    made = warm_plan(tmp_path, {"F2": "80 C"}, speed=speed)
    found = along(made)
    per_kelvin = gives(made, 353.15, 4.0 if speed else 0.0)
    at_rail_ = found.nodes(found.start, pumps=False)[:, made.solutions["line"].model.number["rail.middle"]]
    for comes, mass in zip(at_rail_, flow(made, "F2"), strict=True):
        true = solve_ivp(
            lambda _x, t, m=mass: per_kelvin * (353.15 - t) / (m * 2000.0), (0, 1), [START], rtol=1e-10, atol=1e-10
        )
        assert comes == pytest.approx(true.y[0][-1], abs=1e-6)


def test_what_the_air_gives_is_burnt_or_comes_back(tmp_path):
    made = warm_plan(tmp_path, {"F1": "60 C", "F2": "80 C", "F3": "110 C", "F4": "90 C"})
    found = along(made)
    edges, warmer = found.answer.model.edges, found.warmer(found.start, pumps=False)
    taken = sum(warmer[:, edges.index(tag)] * flow(made, tag) * 2000.0 for tag in ("F1", "F2", "F3", "F4"))
    nodes = found.nodes(found.start, pumps=False)
    burnt = (flow(made, "F2") - flow(made, "F3")) * 2000.0
    burnt *= nodes[:, found.answer.model.number["rail.middle"]] - START
    assert found.back(found.start, pumps=False) == pytest.approx(taken - burnt, rel=1e-6)
    assert (burnt > 0).all()


def test_the_rail_is_warmer_by_what_the_pump_takes_less_what_it_lifts(tmp_path):
    made = warm_plan(tmp_path, {"F4": "90 C"}, amps="8 A")
    found, solution = along(made), made.solutions["line"]
    rise = found.nodes(found.start, pumps=True)[:, solution.model.number["rail.middle"]] - START
    # What it lifts becomes heat where lines and the regulator take it: before the pump, and from it to the rail.
    middle, surface = (solution.state.pressure[:, solution.model.number[n]] for n in ("rail.middle", "tank.surface"))
    kept = (middle - surface) * solution.flow("F2")
    assert rise == pytest.approx((8 * 13 - kept) / (flow(made, "F2") * 2000.0), rel=1e-9)


def test_what_a_pump_takes_comes_back_or_leaves_with_what_is_burnt(tmp_path):
    # 10 A at 13 V: back in the tank, as the heat of what is burnt, and as the pressure that this has at the rail.
    made = warm_plan(tmp_path, {}, amps="10 A", burn="80 L/h")
    found, solution = along(made), made.solutions["line"]
    number = solution.model.number
    burnt = solution.model.batch.taken.sum(axis=1)
    warmer = found.nodes(found.start, pumps=True)[:, number["rail.middle"]] - START
    pressure = solution.state.pressure[:, number["rail.middle"]] - solution.state.pressure[:, number["tank.surface"]]
    out = burnt * solution.model.density * 2000.0 * warmer + burnt * pressure
    assert found.back(found.start, pumps=True) + out == pytest.approx(130.0, rel=1e-6)
    assert (out > 0.2 * 130.0).any()


def test_what_comes_back_falls_evenly_as_the_tank_warms_and_is_nothing_at_the_air(tmp_path):
    made = warm_plan(tmp_path, {"F2": "80 C", "F4": "80 C"})
    found = along(made)
    at = [found.back(found.start + by, pumps=False) for by in (0.0, 20.0, 50.0)]
    assert at[2] == pytest.approx(0.0, abs=1e-6)
    assert at[1] == pytest.approx(0.6 * at[0], rel=1e-9)


def test_air_colder_than_the_fuel_is_not_counted(tmp_path):
    assert along(warm_plan(tmp_path, {"F4": "10 C"})).back(np.full(2, START), pumps=False) == pytest.approx(
        0.0, abs=1e-9
    )


def test_a_tank_warms_sooner_with_its_return_in_warm_air(tmp_path):
    bare, warm = (lasts(warm_plan(tmp_path, air, amps="10 A"))[0] for air in ({}, {"F4": "90 C"}))
    assert "Heat of the engine bay is not counted: no run says" in bare.why.say("metric")
    found = along(warm_plan(tmp_path, {"F4": "90 C"}, amps="10 A"))
    i = list(DUTIES).index(warm.worst.duty)
    assert f"{found.back(found.start, pumps=False)[i]:.0f} W of the air around its runs" in warm.why.say("metric")
    assert warm.value.value < 24 * 3600
    assert bare.value is None or bare.value.value > warm.value.value


def test_what_is_in_the_tank_after_an_hour_is_that_of_both_airs(tmp_path):
    made = warm_plan(tmp_path, {"F4": "90 C"}, amps="10 A")
    (found,) = lasts(made)
    brought = along(made).back(np.full(2, START), pumps=False)[0]
    pumped = along(made).back(np.full(2, START), pumps=True)[0] - brought
    # 40 L in 0.4 x 0.4 x 0.25 m, 12 W/m2K to air of 20 C: wetted are its floor and four sides.
    given_, heat = 12.0 * (0.16 + 1.6 * 0.25), 0.04 * 750.0 * 2000.0
    fuel = solve_ivp(
        lambda _t, t: (pumped - given_ * (t - 293.15) + brought * (363.15 - t) / 60.0) / heat, (0, 3600), [START]
    )
    hour = float(re.search(r"from 30 C to (\d+) C in 60 min", found.why.say("metric"))[1])
    assert hour == pytest.approx(fuel.y[0][-1] - 273.15, abs=0.6)


def test_a_rail_where_little_flows_comes_hot(tmp_path):
    # Its regulator lies before the rail, in which a trickle stands: it comes to nearly the air's temperature.
    runs = {
        "F2": run("pump.out", "regulator.in", "hose", **HOSE, rise="650 mm"),
        "F3": run("regulator.out", "rail.in", "hose", **HOSE, rise="0 mm", air="85 C"),
    }
    duties = {"idle": {"boost": "-50 kPa", "burn": "1 L/h"}, "full": {"boost": "100 kPa", "burn": "150 L/h"}}
    made = study(fuel_plan(tmp_path, liquid=GASOLINE, temperature="30 C", duties=duties, runs=runs))
    (found,) = at_rail(made)
    said = found.why.say("metric")
    assert found.worst.duty == "idle"
    comes = float(re.search(r"comes to rail at (\d+) C", said)[1])
    assert comes == pytest.approx(85.0, abs=3.0)
    assert "by F3" in said
    assert "What pump takes is not known, and is not in it." in said
    # RVP 9 by EPA AP-42, equation 1-25 with S = 3, and 250 kPa over ambient in the rail.
    a = 15.64 - 1.854 * 3**0.5 - (0.8742 - 0.3280 * 3**0.5) * np.log(9)
    b = 8742 - 1042 * 3**0.5 - (1049 - 179.4 * 3**0.5) * np.log(9)
    boils = np.exp(a - b / ((comes + 273.15) * 1.8)) * 6894.757
    assert found.value.value == pytest.approx(101325 + 250e3 - boils, abs=4e3)
    assert found.verdict is Verdict.PASS


def test_little_that_is_left_in_a_hot_rail_cautions_and_names_the_run(tmp_path):
    runs = {
        "F2": run("pump.out", "regulator.in", "hose", **HOSE, rise="650 mm"),
        "F3": run("regulator.out", "rail.in", "hose", **HOSE, rise="0 mm", air="88 C"),
    }
    winter = GASOLINE | {"vapour": {"reid": "13 psi", "slope": 3.0} | FLUID}
    (found,) = at_rail(study(fuel_plan(tmp_path, liquid=winter, temperature="30 C", runs=runs)))
    assert found.verdict is Verdict.CAUTION
    assert "F3 out of the warm air" in found.change.say("metric")


def test_where_nothing_flows_the_fuel_stays_as_it_is(tmp_path):
    runs = {
        "F2": run("pump.out", "regulator.in", "hose", **HOSE, rise="650 mm"),
        "F3": run("regulator.out", "rail.in", "hose", **HOSE, rise="0 mm", air="85 C"),
    }
    duties = {"off": {"boost": "0 kPa", "burn": "0 L/h"}}
    made = study(fuel_plan(tmp_path, liquid=GASOLINE, temperature="30 C", duties=duties, runs=runs))
    found = along(made)
    assert found.nodes(found.start, pumps=False) == pytest.approx(START, abs=1e-6)
    assert found.back(found.start, pumps=False) == pytest.approx(0.0, abs=1e-6)


def test_no_run_in_warm_air_asks_nothing(tmp_path):
    assert at_rail(warm_plan(tmp_path, {})) == []


def test_where_it_boils_is_asked_for_and_its_rise_told_all_the_same(tmp_path):
    bare = {k: v for k, v in GASOLINE.items() if k != "vapour"}
    (found,) = at_rail(warm_plan(tmp_path, {"F2": "120 C"}, liquid=bare))
    assert found.verdict is Verdict.UNCHECKED
    assert "comes to rail at" in found.why.say("metric")
    assert "vapour pressure" in found.needs


def test_a_hose_stands_the_air_around_it_too(tmp_path):
    found = {f.place: f for f in temperature(warm_plan(tmp_path, {"F2": "210 C", "F4": "20 C"}))}
    assert found["F2"].verdict is Verdict.FAIL
    assert "Air around it at 210 C" in found["F2"].why.say("metric")
    assert "Fluid at 30 C" in found["F4"].why.say("metric")


def test_a_speed_of_air_without_its_temperature_is_refused(tmp_path):
    with pytest.raises(PlanError, match="air_speed without air"):
        fuel_plan(tmp_path, runs={"F4": run("regulator.return", "tank.return", "hose", **HOSE, air_speed="3 m/s")})


def test_pumps_that_run_on_against_a_feed_regulator_cook_what_is_burnt_at_idle(tmp_path):
    # 130 W into what is burnt: at 2 L/h by far more than fuel stands, at 120 L/h by some 2 K; no run states its air.
    valve = {
        "kind": "feed-regulator",
        "set": "300 kPa",
        "reference": "manifold",
        "slope": "0 kPa per 100 L/h",
        "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["300 L/h"], "drop": ["20 kPa"]},
        "ports": {"in": {"at": "200, 0, 900 mm"}, "out": {"at": "210, 0, 900 mm"}},
    }
    points = [{"volts": "13 V", "rise": f"{p} kPa", "flow": f"{q} L/h"} for p, q in {0: 300, 400: 170, 700: 0}.items()]
    plan = fuel_plan(
        tmp_path,
        liquid=GASOLINE,
        temperature="30 C",
        duties={"idle": {"boost": "-50 kPa", "burn": "2 L/h"}, "full": {"boost": "50 kPa", "burn": "120 L/h"}},
        pump={"curve": "stops", "amps": "10 A"},
        more_curves={"stops": {"means": "invented", "points": points, "source": "invented", "grade": "illustrative"}},
        components={"regulator": valve, "cap": {"kind": "plug"}},
        runs={
            "F2": run("pump.out", "regulator.in", "hose", **HOSE, rise="650 mm"),
            "F3": run("regulator.out", "rail.in", "hose", **HOSE, rise="0 mm"),
            "F4": run("tank.return", "cap.in", "hose", **HOSE, rise="0 mm"),
        },
    )
    made = study(plan)
    assert made.solutions["line"].reasons == {}
    (found,) = at_rail(made)
    assert found.verdict is Verdict.FAIL
    said = found.why.say("metric")
    assert "more than 100 K warmer: the pumps run on while little is burnt" in said
    assert found.change.say("metric").startswith("A bypass regulator with a return to the tank")
    # 130 W less what the fuel has in pressure at the rail, into 120 L/h.
    (rise,) = re.findall(r"warmer by ([\d.]+) K at full", said)
    assert float(rise) == pytest.approx((130 - 120 / 3.6e6 * 350e3) / (120 / 3.6e6 * 750 * 2000), abs=0.6)
