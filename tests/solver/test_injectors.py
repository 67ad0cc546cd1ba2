"""What injectors pass: by published ratios, and whether they are large enough."""

import re

import numpy as np
import pytest
from fuelled import fuel_plan

from catalogs.errors import UnknownInputError
from lines.finding import Verdict
from solver.checks.injectors import duty_cycle
from solver.injectors import injectors
from solver.study import study

POUND, PSI = 0.45359237 / 3600, 6894.757293168  # kg/s in a lb/h; Pa
RATED = {"injectors": "8", "injector_flow": "60 lb/h", "injector_drop": "43.5 psi"}
PETROL = np.array([745.0])


def rail_plan(folder, burn="300 lb/h", duties=None, **rail):
    rail = {"rail": {"kind": "rail", "bore": "14 mm", "length": "400 mm"} | rail}
    duties = duties or {"full": {"boost": "0 kPa", "burn": burn, "engine_speed": "6000 rpm"}}
    return fuel_plan(folder, duties=duties, components=rail)


def rated(folder, density=PETROL, **rail):
    plan = rail_plan(folder, **RATED | rail)
    return injectors(plan, plan.components["rail"], density)


def judged(folder, **facts):
    (found,) = duty_cycle(study(rail_plan(folder, **facts)))
    return found


@pytest.mark.parametrize(
    ("across", "flow"),
    # Trade pages that agree: half as much pressure more passes 22.5 % more, 30 % less passes 16 % less, 58 psi for
    # 43.5 passes 1.1547 times as much; 60 lb/h against 20 psi of boost without reference passes 44.1.
    [(43.5, 60.0), (65.25, 73.48), (30.45, 50.20), (58.0, 69.28), (23.5, 44.1)],
)
def test_an_injector_passes_with_the_root_of_the_pressure_across_it(tmp_path, across, flow):
    found = rated(tmp_path).passes(np.array([across * PSI]), PETROL)[0] / POUND
    assert found == pytest.approx(flow, abs=0.05)


def test_a_flow_by_volume_is_that_of_the_test_liquid(tmp_path):
    # An orifice passes a mass with the root of the density: 550 cc/min of n-heptane of 684 kg/m3 are 6.270 g/s, of
    # petrol of 745 kg/m3 they are 6.270 sqrt(745/684) g/s.
    own = rated(tmp_path, injector_flow="550 cc/min")
    heptane = 550e-6 / 60 * 684.0
    assert own.passes(np.array([43.5 * PSI]), np.array([684.0]))[0] == pytest.approx(heptane, rel=1e-9)
    petrol = own.passes(np.array([43.5 * PSI]), PETROL)[0]
    assert petrol == pytest.approx(heptane * np.sqrt(745 / 684), rel=1e-9)
    stated = rated(tmp_path, injector_flow="550 cc/min", injector_tested="745 kg/m3")
    assert stated.passes(np.array([43.5 * PSI]), PETROL)[0] == pytest.approx(550e-6 / 60 * 745.0, rel=1e-9)


def test_a_duty_cycle_is_what_is_burnt_over_what_passes_and_dead_time_comes_on_top(tmp_path):
    # 300 lb/h over 8 of 52 lb/h: 72.1 %; 0.9 ms at 6000 rpm, 50 times a second, are 4.5 % more.
    own = rated(tmp_path, injector_flow="52 lb/h")
    burn, across = np.array([300 * POUND]), np.array([43.5 * PSI])
    assert own.duty_cycle(burn, across, PETROL)[0] == pytest.approx(300 / 8 / 52, rel=1e-6)
    slow = rated(tmp_path, injector_flow="52 lb/h", dead_time="0.9 ms")
    assert slow.duty_cycle(burn, across, PETROL)[0] == pytest.approx(300 / 8 / 52 + 0.045, rel=1e-6)


def test_injectors_that_are_too_small_fail_and_those_that_are_said_pass(tmp_path):
    small = judged(tmp_path, burn="270 lb/h", **RATED | {"injector_flow": "36 lb/h"})
    assert small.verdict is Verdict.FAIL
    said = small.change.say("us")
    enough = float(re.search(r"pass ([\d.]+) lb/h", said)[1])
    # 270 lb/h over 8, 80 % of the time, at a rail that stands a little over its base.
    assert enough == pytest.approx(270 / 8 / 0.8, rel=0.02)
    assert judged(tmp_path, burn="270 lb/h", **RATED | {"injector_flow": f"{enough} lb/h"}).verdict is Verdict.PASS
    less = judged(tmp_path, burn="270 lb/h", **RATED | {"injector_flow": f"{0.98 * enough} lb/h"})
    assert less.verdict is Verdict.CAUTION
    assert "more base pressure" in less.change.say("us")


def test_larger_injectors_are_told_as_their_box_has_them(tmp_path):
    small = judged(tmp_path, burn="270 lb/h", **RATED | {"injector_flow": "330 cc/min"})
    assert small.verdict is Verdict.FAIL
    box = small.change.parts["box"]
    # 270 lb/h over 8 are 4.252 g/s, in 80 % of the time 5.315 g/s, of n-heptane less by the root of the densities.
    more = re.search(
        r"L/h of the liquid they are tested with, ([\d.]+) % of what their box has", small.change.say("metric")
    )
    assert float(more[1]) == pytest.approx(small.value.value / 0.8 * 100, abs=0.11)
    assert box.value == pytest.approx(270 * POUND / 8 / 0.8 / np.sqrt(684 * 750), rel=0.02)
    enough = f"{box.value * 60e6} cc/min"
    assert judged(tmp_path, burn="270 lb/h", **RATED | {"injector_flow": enough}).verdict is Verdict.PASS
    by_mass = judged(tmp_path, burn="270 lb/h", **RATED | {"injector_flow": "36 lb/h"})
    assert "box" not in by_mass.change.say("us")


def test_without_a_reference_the_injectors_lose_what_the_boost_takes(tmp_path):
    duties = {
        name: {"boost": boost, "burn": "200 lb/h", "engine_speed": "6000 rpm"}
        for name, boost in (("calm", "0 psi"), ("boosted", "20 psi"))
    }
    open_air = {
        "kind": "regulator",
        "set": "43.5 psi",
        "reference": "open air",
        "slope": "0 kPa per 100 L/h",
        "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["300 L/h"], "drop": ["20 kPa"]},
        "ports": {"in": {"at": "200, 0, 900 mm"}, "return": {"at": "200, 0, 880 mm"}},
    }
    rail = {"kind": "rail", "bore": "14 mm", "length": "400 mm"} | RATED
    plan = fuel_plan(tmp_path, duties=duties, components={"regulator": open_air, "rail": rail})
    (found,) = duty_cycle(study(plan))
    calm, boosted = (next(c.value.value for c in found.cases if c.state.duty == d) for d in duties)
    assert boosted / calm == pytest.approx(np.sqrt(43.5 / 23.5), rel=0.005)
    assert found.worst.duty == "boosted"


@pytest.mark.parametrize("lacking", ["injectors", "injector_flow", "injector_drop"])
def test_what_nobody_states_is_asked_for(tmp_path, lacking):
    found = judged(tmp_path, **{key: value for key, value in RATED.items() if key != lacking})
    assert found.verdict is Verdict.UNCHECKED
    assert found.needs.startswith(f"{lacking} in [components.rail], as injectors")


def test_dead_time_asks_for_the_engines_speed(tmp_path):
    plan = rail_plan(tmp_path, duties={"full": {"boost": "0 kPa", "burn": "10 L/h"}}, **RATED, dead_time="1 ms")
    with pytest.raises(UnknownInputError, match="how often"):
        injectors(plan, plan.components["rail"], PETROL)


def test_where_the_pump_does_not_hold_the_rail_its_injectors_are_not_made_larger(tmp_path):
    found = judged(tmp_path, burn="400 lb/h", **RATED)
    assert found.verdict is Verdict.FAIL
    assert found.change.say("us") == "regulator has shut, so that the rail lacks its pressure: see fuel.margin first."
