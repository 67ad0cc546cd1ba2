"""Fuel without a return: a feed regulator or a pulsed pump holds the rail, as long as the pump's curve is enough."""

import itertools
import re

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq
from writing import FLUID, fluid, read, run, tube

from lines.finding import Verdict
from solver.byboost import by_boost
from solver.checks import fuel, fuelrail
from solver.checks.circuit import flow
from solver.study import study
from solver.warmed import warmed

LITRES = 3.6e6  # L/h in a m3/s
SHEET = {0: 400, 200: 340, 400: 250, 600: 120, 700: 0}
"""Of the pump, up to where it gives nothing: rise [kPa] to flow [L/h]. Invented."""
GIVES = PchipInterpolator(list(SHEET), list(SHEET.values()))
LIQUID = fluid("750 kg/m3", "0.5 mPa s", family="gasoline") | {
    "heat_capacity": FLUID | {"at": ["0 C", "60 C"], "is": ["2000 J/kgK", "2000 J/kgK"]}
}
WIDE = {"length": "100 mm", "length_is": "overall", "rise": "0 m"}
FULL = {"full": {"boost": "100 kPa", "burn": "150 L/h"}}
VALVE = {
    "kind": "feed-regulator",
    "set": "350 kPa",
    "reference": "manifold",
    "slope": "0 kPa per 100 L/h",
    "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["200 L/h"], "drop": ["30 kPa"]},
}


def plan(folder, duties=None, *, valve=None, filter_=None, pump=None, hose="30 mm", more_curves=None, **sections):
    """Tank, pump, what stands between, and a rail that ends there; hoses so wide that they take nothing."""
    valve = valve and {key: value for key, value in (VALVE | valve).items() if value is not None}
    between = {"valve": valve, "filter": filter_}
    stands = ["tank", "pump", *(name for name, table in between.items() if table), "rail"]
    ways = [(f"{a}.out", f"{b}.in") for a, b in itertools.pairwise(stands)]
    points = [
        {"volts": f"{v} V", "rise": f"{p} kPa", "flow": f"{q * share} L/h"}
        for v, share in {12.0: 0.8, 14.0: 1.0}.items()
        for p, q in SHEET.items()
    ]
    return read(
        folder,
        fluids={"liquid": LIQUID},
        circuits={"line": {"fluid": "liquid", "temperature": "20 C"}},
        duties=duties or FULL,
        curves={"c": {"means": "invented", "points": points, "source": "invented", "grade": "illustrative"}}
        | (more_curves or {}),
        stock={"hose": tube(hose)},
        components={
            "tank": {
                "kind": "tank",
                "surface": {"full": "0 m", "low": "0 m"},
                "ports": {"out": {"height": "0 m"}},
            },
            "pump": {k: v for k, v in ({"kind": "pump", "curve": "c", "volts": "14 V"} | (pump or {})).items() if v},
            "rail": {"kind": "rail", "bore": "30 mm", "length": "400 mm"},
        }
        | {name: table for name, table in between.items() if table},
        runs={f"F{i}": run(*way, "hose", **WIDE) for i, way in enumerate(ways, 1)},
        **sections,
    )


def told(made):
    (margin,), (rail,) = fuel.margin(made), fuelrail.rail(made)
    return margin, rail


# ---------------------------------------------------------------- a feed regulator


def most_fed():
    """The rise at which the pump's curve gives what the valve, 30 kPa at 200 L/h and by its square, passes over the
    450 kPa that it holds [kPa].
    """
    return brentq(lambda p: GIVES(p) - 200 * np.sqrt(max(p - 450, 0) / 30), 450, 700, xtol=1e-9)


def test_a_feed_regulator_holds_until_it_stands_wide_open(tmp_path):
    made = study(plan(tmp_path, valve={"kind": "feed-regulator"}))
    margin, rail = told(made)
    most = float(GIVES(most_fed()))
    assert margin.value.value == pytest.approx(most / 150 - 1, rel=0.01)
    assert margin.verdict is Verdict.PASS
    assert rail.verdict is Verdict.PASS
    assert rail.value.value == pytest.approx(0.0, abs=2e-3)
    # On either side of it.
    for share, verdict in ((0.99, Verdict.CAUTION), (1.01, Verdict.FAIL)):
        duties = {"full": FULL["full"] | {"burn": f"{share * most} L/h"}}
        assert told(study(plan(tmp_path, duties, valve={"kind": "feed-regulator"})))[0].verdict is verdict


@pytest.mark.parametrize("slope", ["0 kPa per 100 L/h", "10 kPa per 100 L/h"])
@pytest.mark.parametrize("burn", ["0 L/h", "0.001 L/h"])
def test_where_nothing_is_burnt_it_stands_at_what_is_held(tmp_path, slope, burn):
    duties = {"overrun": {"boost": "-70 kPa", "burn": burn}} | FULL
    made = study(plan(tmp_path, duties, valve={"kind": "feed-regulator", "slope": slope}))
    answer = made.solutions["line"]
    assert answer.reasons == {}
    ambient = made.plan.ambient.pressures[0]
    # 350 kPa over a manifold of 70 kPa under the open air; before the valve the pump stands at its shut-off.
    assert answer.total("rail.middle")[0] - ambient == pytest.approx(280e3, abs=5)
    assert answer.total("valve.in")[0] - ambient == pytest.approx(700e3, rel=1e-3)
    assert told(made)[1].verdict is Verdict.PASS


def test_one_that_cannot_hold_says_so_and_what_pump_is_enough(tmp_path):
    duties = {"full": FULL["full"] | {"burn": "240 L/h"}}
    margin, rail = told(study(plan(tmp_path, duties, valve={"kind": "feed-regulator"})))
    said = margin.why.say("metric")
    assert "valve stands wide open" in said
    lift, gives = (int(x) for x in re.search(r"At the (\d+) kPa .* pump gives (\d+) L/h", said).groups())
    assert lift == pytest.approx(most_fed(), abs=3)
    assert gives == pytest.approx(float(GIVES(most_fed())), abs=2)
    assert rail.value.value < -0.05
    assert "fuel.margin" in rail.change.say("metric")
    # The pump that is asked for lifts the held pressure and what the valve takes of a tenth more than is burnt.
    wanted, rise = (int(x) for x in re.search(r"give (\d+) L/h at (\d+) kPa", margin.change.say("metric")).groups())
    assert wanted == pytest.approx(264, abs=1)
    assert rise == pytest.approx(450 + 30 * (264 / 200) ** 2, abs=4)


def test_the_volts_that_are_said_are_enough(tmp_path):
    duties = {"full": FULL["full"] | {"burn": "165 L/h"}}
    low, _ = told(study(plan(tmp_path, duties, valve={"kind": "feed-regulator"}, pump={"volts": "12 V"})))
    assert low.verdict is not Verdict.PASS
    volts = float(re.search(r"this one does with ([\d.]+) V", low.change.say("metric"))[1])
    for at, passes in ((volts, True), (volts - 0.2, False)):
        there = plan(tmp_path, duties, valve={"kind": "feed-regulator"}, pump={"volts": f"{at:.1f} V"})
        assert (told(study(there))[0].verdict is Verdict.PASS) is passes


def test_a_feed_regulator_stands_for_the_pump_before_it(tmp_path):
    pulsed = {"holds": "500 kPa", "reference": "open air"}
    made = study(plan(tmp_path, valve={"kind": "feed-regulator"}, pump=pulsed))
    margin, rail = told(made)
    assert "valve" in rail.why.say("metric")
    assert made.solutions["line"].switch("pump: pump") == ["holding"]
    assert margin.verdict is Verdict.PASS


# ---------------------------------------------------------------- a pulsed pump

PULSED = {"holds": "350 kPa", "reference": "manifold"}


def test_a_pulsed_pump_holds_until_it_runs_at_full(tmp_path):
    made = study(plan(tmp_path, pump=PULSED))
    margin, rail = told(made)
    # Its curve at the 450 kPa that it holds.
    assert margin.value.value == pytest.approx(float(GIVES(450)) / 150 - 1, rel=0.01)
    assert rail.value.value == pytest.approx(0.0, abs=2e-3)
    assert "(pump holding)" in rail.why.say("metric")


def test_one_that_runs_at_full_fails_by_name(tmp_path):
    duties = {"full": FULL["full"] | {"burn": "240 L/h"}}
    margin, rail = told(study(plan(tmp_path, duties, pump=PULSED)))
    assert "pump runs at full" in margin.why.say("metric")
    assert margin.value.value == pytest.approx(float(GIVES(450)) / 240 - 1, abs=5e-3)
    # What its curve gives at 240 L/h is all that the rail has.
    left = brentq(lambda p: GIVES(p) - 240, 0, 700)
    assert rail.value.value == pytest.approx((left - 100) / 350 - 1, abs=5e-3)


def test_its_sensor_at_the_rail_makes_up_for_the_line(tmp_path):
    # What the line takes is missing at the rail, unless the sensor stands there.
    def across(sensor):
        made = study(plan(tmp_path, pump=PULSED | sensor, hose="5 mm"))
        answer = made.solutions["line"]
        return float(answer.total("rail.middle")[0] - answer.total("pump.out")[0]), told(made)[1].value.value

    lost, without = across({})
    assert lost < -500
    assert without == pytest.approx(lost / 350e3, rel=1e-3)
    # From the rail's inlet to its middle next to nothing is lost.
    assert abs(across({"sensor": "rail.in"})[1]) < abs(without) / 20


def test_a_constant_pressure_is_referred_to_the_manifold(tmp_path):
    _, rail = told(study(plan(tmp_path, pump={"holds": "350 kPa", "reference": "open air"})))
    assert rail.verdict is Verdict.FAIL
    assert rail.value.value == pytest.approx(-100 / 350, abs=5e-3)
    assert "Refer pump to the manifold" in rail.change.say("metric")


FILTER = {
    "kind": "filter",
    "loaded": "4",
    "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["200 L/h"], "drop": ["20 kPa"]},
}


def test_a_filter_that_is_due_leaves_less_over(tmp_path):
    # 20 kPa at 200 L/h and by its square, four times as much when due, before the sensor that makes up for it.
    made = study(plan(tmp_path, pump=PULSED | {"sensor": "rail.in"}, filter_=FILTER))
    margin, _ = told(made)

    def most(times):
        return brentq(lambda q: GIVES(450 + 20 * times * (q / 200) ** 2) - q, 1, 400)

    assert margin.value.value == pytest.approx(most(4) / 150 - 1, rel=0.01)
    due, clean = re.search(r"can feed (\d+) L/h with the filters due \((\d+) L/h", margin.why.say("metric")).groups()
    assert int(due) == pytest.approx(most(4), abs=1.5)
    assert int(clean) == pytest.approx(most(1), abs=1.5)


@pytest.mark.parametrize("loaded", ["1", "6"])
def test_behind_what_holds_a_filter_that_is_due_takes_from_the_rail(tmp_path, loaded):
    points = {"fluid": "liquid", "temperature": "20 C", "flow": ["150 L/h"], "drop": ["6 kPa"]}
    strainer = {"kind": "filter", "loaded": loaded, "points": points}
    (rail,) = fuelrail.rail(study(plan(tmp_path, pump=PULSED, filter_=strainer)))
    # 6 kPa clean, and that many times as much when it is due, of the pressure that the pump holds at its outlet.
    base = rail.why.parts["base"].value
    assert rail.value.value * base == pytest.approx(-6e3 * float(loaded), abs=300)
    said = rail.why.say("metric")
    assert ("with the filters due" in said) == (loaded == "6")
    assert rail.verdict is (Verdict.FAIL if loaded == "6" else Verdict.PASS)
    if loaded == "6":
        cure = rail.change.say("metric")
        assert re.search(r"takes filter, 3[56](\.\d)? kPa: a larger one, or changed sooner", cure)


def test_a_filter_that_is_due_and_chokes_it_altogether_leaves_nothing_judged(tmp_path):
    points = {"fluid": "liquid", "temperature": "20 C", "flow": ["150 L/h"], "drop": ["6 kPa"]}
    strainer = {"kind": "filter", "loaded": "300", "points": points}
    (rail,) = fuelrail.rail(study(plan(tmp_path, pump=PULSED, filter_=strainer)))
    assert (rail.verdict, rail.needs) == (Verdict.UNCHECKED, "what fuel.margin/line asks for")
    assert rail.why.say("metric").startswith("At full with the filters due circuit line has no answer (")


@pytest.mark.parametrize(("drop", "verdict"), [("2 kPa", Verdict.UNCHECKED), ("60 kPa", Verdict.FAIL)])
def test_a_slope_that_nobody_states_decides_nothing(tmp_path, monkeypatch, drop, verdict):
    monkeypatch.delitem(VALVE, "slope")
    points = {"fluid": "liquid", "temperature": "20 C", "flow": ["150 L/h"], "drop": [drop]}
    strainer = {"kind": "filter", "loaded": "1", "points": points}
    duties = {"full": {"boost": "100 kPa", "burn": "240 L/h"}}
    valve = {"set": "180 kPa"} if verdict is Verdict.UNCHECKED else {"set": "250 kPa"}
    (rail,) = fuelrail.rail(study(plan(tmp_path, duties, valve=valve, filter_=strainer)))
    assert rail.verdict is verdict
    # 2 psi at 100 gph is 8.74 kPa at 240 L/h.
    said = re.search(
        r"The slope of valve is not stated: taken as .*, that is ([\d.]+) kPa of the", rail.why.say("metric")
    )
    assert float(said[1]) == pytest.approx(2 * 6.894757 * 240 / 378.5412, rel=0.01)
    if verdict is Verdict.UNCHECKED:
        assert rail.needs.startswith("slope in [components.valve]: ")
        assert rail.needs.endswith("or the pressure of the rail by a gauge, at idle and at full load")


def test_a_pulsed_pump_over_the_manifold_feeds_what_its_curve_gives_at_what_it_holds_and_the_boost(tmp_path):
    made = study(plan(tmp_path, pump=PULSED))
    found = by_boost(made.plan, made.solutions["line"])
    # 350 kPa at its outlet over the manifold, drawn from a surface at its own height through hoses that take nothing.
    expected = GIVES(350 + found.boost / 1e3)
    assert found.feeds * LITRES == pytest.approx(expected, rel=2e-3)
    assert np.ptp(found.feeds) > 0.2 * found.feeds.max()


def test_a_stated_slope_that_takes_the_most_is_named(tmp_path):
    made = study(plan(tmp_path, valve={"slope": "20 kPa per 100 L/h"}))
    (rail,) = fuelrail.rail(made)
    # 30 kPa at 150 L/h.
    assert rail.verdict is Verdict.CAUTION
    assert rail.value.value * 350 == pytest.approx(-30, abs=0.5)
    assert "takes the slope of valve, 30.0 kPa: one that falls less, or set higher" in rail.change.say("metric")
    assert "not stated" not in rail.why.say("metric")


def test_the_rail_is_told_over_the_air_of_its_own_duty(tmp_path):
    # At sea level and 2,000 m up: by a gauge either shows base and boost, less what the slope takes.
    duties = {"low": FULL["full"] | {"burn": "20 L/h"}, "high": FULL["full"]}
    head = {"ambient": {"temperature": "20 C", "altitude": {"low": "0 m", "high": "2000 m"}}}
    made = study(plan(tmp_path, duties, valve={"slope": "20 kPa per 100 L/h"}, plan=head))
    assert np.ptp(made.plan.ambient.pressures) == pytest.approx(101.325e3 - 79.5e3, rel=2e-3)  # ISO 2533
    (rail,) = fuelrail.rail(made)
    assert rail.worst.duty == "high"
    assert rail.why.parts["gauge"].value == pytest.approx(350e3 + 100e3 - 30e3, abs=500)


def test_more_than_the_pump_has_at_all_fails_though_it_has_no_answer(tmp_path):
    # 450 L/h of a pump that gives 400 against nothing.
    duties = {"full": FULL["full"] | {"burn": "450 L/h"}}
    made = study(plan(tmp_path, duties, pump=PULSED))
    assert made.solutions["line"].reasons
    (margin,) = fuel.margin(made)
    assert margin.verdict is Verdict.FAIL
    assert margin.value.value == pytest.approx(float(GIVES(450)) / 450 - 1, abs=5e-3)
    assert "so much has no answer" in margin.why.say("metric")


def test_without_a_return_its_heat_comes_back_to_no_tank(tmp_path):
    made = study(plan(tmp_path, pump=PULSED | {"amps": "8 A"}))
    found = warmed(made.plan, made.solutions["line"], made.assemblies)
    assert found.back(found.start, pumps=True) == pytest.approx(0.0, abs=1e-3)


def test_a_pump_too_weak_to_lift_the_pressure_at_all_says_so(tmp_path):
    made = study(plan(tmp_path, pump=PULSED | {"holds": "650 kPa"}))
    margin, _ = told(made)
    assert margin.verdict is Verdict.FAIL
    assert "not be held with nothing burnt either" in margin.why.say("metric")
    assert "one for more pressure" in margin.change.say("metric")


def test_what_it_holds_is_asked_for_with_its_reference(tmp_path):
    found = flow(study(plan(tmp_path, pump={"holds": "350 kPa"})))
    assert any("reference in [components.pump]" in f.needs for f in found)


def test_a_sensor_stands_on_a_port_of_its_circuit(tmp_path):
    with pytest.raises(Exception, match="rail has no port"):
        plan(tmp_path, pump=PULSED | {"sensor": "rail.inn"})
    made = study(plan(tmp_path, pump=PULSED | {"sensor": "rail.out"}))
    assert any("rail.out, is in no run of line" in f.why.say("metric") for f in flow(made))
    made = study(plan(tmp_path, pump=PULSED | {"sensor": "tank.out"}))
    assert any("tank.out, does not lie behind it" in f.why.say("metric") for f in flow(made))


def test_a_pulsed_pump_may_stand_still(tmp_path):
    duties = {"overrun": {"boost": "-70 kPa", "burn": "0 L/h"}} | FULL
    made = study(plan(tmp_path, duties, pump=PULSED))
    assert made.solutions["line"].switch("pump: pump")[0] == "holding"
    assert {f.verdict for f in flow(made)} == {Verdict.PASS}
    # One that runs on against a shut feed regulator heats what is in it.
    made = study(plan(tmp_path, duties, valve={"kind": "feed-regulator"}))
    assert any("runs against a closed way" in f.why.say("metric") for f in flow(made))


def test_every_figure_that_lacks_is_asked_for_at_once(tmp_path):
    bare = {key: value for key, value in FILTER.items() if key != "points"}
    lacking = {"kind": "feed-regulator", "points": None}
    made = study(plan(tmp_path, valve=lacking, filter_=bare, pump={"volts": None}))
    (found,) = flow(made)
    said = f"{found.why.say('metric')} {found.needs}"
    for figure in ("how filter resists", "points of valve", "volts of pump", "points in [components.valve]"):
        assert figure in said


def test_a_curve_that_ends_before_its_shut_off_is_asked_for_up_to_there(tmp_path):
    points = [{"volts": "14 V", "rise": f"{p} kPa", "flow": f"{q} L/h"} for p, q in SHEET.items() if p < 500]
    ends = {"ends": {"means": "invented", "points": points, "source": "invented", "grade": "illustrative"}}
    duties = {"idle": {"boost": "-60 kPa", "burn": "2 L/h"}}
    made = study(plan(tmp_path, duties, valve={"kind": "feed-regulator"}, pump={"curve": "ends"}, more_curves=ends))
    (found,) = flow(made)
    assert "the pump's curve up to where it gives nothing" in found.needs


def test_without_anything_that_holds_it_nothing_is_judged(tmp_path):
    margin, rail = told(study(plan(tmp_path)))
    assert {margin.verdict, rail.verdict} == {Verdict.UNCHECKED}
    assert "Nothing holds" in margin.why.say("metric")
    assert "Nothing holds" in rail.why.say("metric")
