"""What a fuel system feeds over boost: by the pump's curve, by the injectors, and where the engine asks for more."""

from dataclasses import replace

import numpy as np
import pytest
from fuelled import CURVE, fuel_plan
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq
from writing import run

from lines.reading import read_plan
from solver.byboost import by_boost
from solver.carrying import SIZES, carried, fuelling, system_curve
from solver.fuels import felt, pumps, rails
from solver.solution import Solution
from solver.study import study

LITRES = 3.6e6  # L/h in a m3/s
GIVES = PchipInterpolator(list(CURVE), list(CURVE.values()))
AIR = 101.325  # kPa, ISO 2533 at sea level
DUTIES = {
    "overrun": {"boost": "-70 kPa", "burn": "0 L/h"},
    "idle": {"boost": "-50 kPa", "burn": "2 L/h"},
    "full": {"boost": "100 kPa", "burn": "120 L/h"},
}
INJECTORS = {
    "injectors": "4",
    "injector_flow": "500 cc/min",
    "injector_drop": "300 kPa",
    "injector_tested": "750 kg/m3",
}


@pytest.fixture
def returning(tmp_path):
    """With a bypass regulator, as the helper has it."""
    made = study(fuel_plan(tmp_path, duties=DUTIES, components={}))
    answer = made.solutions["line"]
    assert isinstance(answer, Solution)
    return made.plan, answer


def test_what_is_fed_is_what_the_pump_gives_at_the_pressure_that_is_held(returning):
    plan, answer = returning
    found = by_boost(plan, answer)
    assert found.duty == "full"
    assert found.boost[0] == 0
    assert found.boost[-1] >= 1.6 * 100e3
    # At the most that is fed nothing comes back, so that the pump gives it: at the rise that the circuit then asks for.
    for boost, most in zip(found.boost[::6] / 1e3, found.feeds[::6], strict=True):
        here = fuelling(answer, plan.system).rows(np.array([2])).boosted(np.array([boost * 1e3 - 100e3]))
        fed = here.burning(np.array([most]))
        rise = float(fed.total("pump.out")[0] - fed.total("pump.in")[0])
        assert most * LITRES == pytest.approx(float(GIVES(rise / 1e3)), rel=1e-4)
        assert float(fed.flow("regulator: valve")[0]) * LITRES < 0.02
        # 300 kPa over boost, 650 mm of rise from the pump, and what its lines take.
        assert 300 + boost < rise / 1e3 < 300 + boost + 4.9 + 12


def test_what_is_needed_goes_with_the_absolute_pressure_in_the_manifold(returning):
    plan, answer = returning
    found = by_boost(plan, answer)
    assert found.needs * LITRES == pytest.approx(120 * (AIR + found.boost / 1e3) / (AIR + 100), rel=1e-4)
    spare = lambda b: np.interp(b, found.boost, found.feeds) - np.interp(b, found.boost, found.needs)  # noqa: E731
    assert found.runs_out == pytest.approx(brentq(spare, 0, found.boost[-1]), rel=1e-6)


def test_injectors_pass_the_same_at_every_boost_where_the_regulator_feels_it(tmp_path):
    rail = {"kind": "rail", "bore": "14 mm", "length": "400 mm"} | INJECTORS
    made = study(fuel_plan(tmp_path, duties=DUTIES, components={"rail": rail}))
    found = by_boost(made.plan, made.solutions["line"])
    # Four of 30 L/h, 80 % of the time, at the 300 kPa at which they were tested.
    assert found.passes * LITRES == pytest.approx(4 * 30 * 0.8, rel=5e-3)
    assert (found.has <= found.passes).all()
    # 96 L/h are less than the 120 that are burnt: they run out before the boost of the plan.
    assert found.runs_out < 100e3
    assert np.interp(found.runs_out, found.boost, found.needs) * LITRES == pytest.approx(96, rel=5e-3)


def test_held_over_the_open_air_the_pump_feeds_the_same_and_injectors_pass_less(tmp_path):
    rail = {"kind": "rail", "bore": "14 mm", "length": "400 mm"} | INJECTORS
    components = {"rail": rail}
    made = study(fuel_plan(tmp_path, duties=DUTIES, components=components))
    regulator = made.plan.components["regulator"]
    assert regulator.figures["reference"] == "manifold"
    text = (tmp_path / "plan.toml").read_text(encoding="utf-8").replace('"manifold"', '"open air"')
    (tmp_path / "plan.toml").write_text(text, encoding="utf-8")

    open_air = study(read_plan(tmp_path / "plan.toml"))
    found = by_boost(open_air.plan, open_air.solutions["line"])
    assert np.ptp(found.feeds) < 1e-3 * found.feeds.max()
    # 300 kPa over the open air: less across them by the boost.
    assert found.passes * LITRES == pytest.approx(96 * np.sqrt(np.maximum(300 - found.boost / 1e3, 0) / 300), rel=1e-2)


def test_dead_time_is_that_of_the_duty_that_is_turned_up(tmp_path):
    rail = {"kind": "rail", "bore": "14 mm", "length": "400 mm", "dead_time": "1 ms"} | INJECTORS
    duties = {name: duty | {"engine_speed": "1000 rpm"} for name, duty in DUTIES.items()}
    duties["full"] |= {"engine_speed": "6000 rpm"}
    made = study(fuel_plan(tmp_path, duties=duties, components={"rail": rail}))
    found = by_boost(made.plan, made.solutions["line"])
    # 50 times a second 1 ms: 5 % of the 80 %.
    assert found.passes * LITRES == pytest.approx(4 * 30 * (0.8 - 0.05), rel=5e-3)


@pytest.mark.parametrize("share", ["70 %", "30 %"])
def test_the_rail_that_lacks_first_counts_by_its_share(tmp_path, share):
    other = f"{100 - int(share.split()[0])} %"
    rail = {"kind": "rail", "bore": "14 mm", "length": "400 mm"} | INJECTORS
    short = {"length": "400 mm", "length_is": "overall", "rise": "0 mm"}
    made = study(
        fuel_plan(
            tmp_path,
            duties=DUTIES,
            components={"rail": rail | {"share": share}, "second": rail | {"share": other}},
            runs={
                "F3": run("rail.out", "second.in", "hose", **short),
                "F5": run("second.out", "regulator.in", "hose", **short),
            },
        )
    )
    found = by_boost(made.plan, made.solutions["line"])
    # Four of 30 L/h, 80 % of the time, are 70 % of what both may be given.
    assert found.passes * LITRES == pytest.approx(96 / 0.7, rel=0.02)


def test_the_injector_with_the_least_pressure_counts(tmp_path):
    rail = {"kind": "rail", "bore": "2.5 mm", "length": "400 mm"} | INJECTORS
    made = study(fuel_plan(tmp_path, duties=DUTIES, components={"rail": rail}))
    answer = made.solutions["line"]
    found = by_boost(made.plan, answer)
    here = fuelling(answer, made.plan.system).rows(np.full(1, 2))
    fed = here.burning(np.array([np.interp(100e3, found.boost, found.feeds)]))
    across = [felt(fed, node)[0] - 201325.0 for node in rails(answer.model.circuit)["rail"]]
    assert max(across) > 1.02 * min(across)
    expected = 96 * np.sqrt(min(across) / 300e3)
    assert np.interp(100e3, found.boost, found.passes) * LITRES == pytest.approx(expected, rel=2e-3)


def test_where_the_curve_of_the_pump_ends_it_runs_out_at_the_last_boost_that_is_known(returning):
    plan, answer = returning
    found = by_boost(plan, answer)
    whole = int(np.flatnonzero(found.boost < found.runs_out)[-1]) - 2
    feeds = np.where(np.arange(len(found.boost)) > whole, np.nan, found.feeds)
    assert replace(found, feeds=feeds).runs_out == found.boost[whole]


def test_without_boost_there_is_nothing_to_turn_up(tmp_path):
    duties = {"full": {"boost": "0 kPa", "burn": "100 L/h"}}
    made = study(fuel_plan(tmp_path, duties=duties))
    assert by_boost(made.plan, made.solutions["line"]) is None


def test_what_the_circuit_asks_of_its_pump_passes_where_it_works(returning):
    plan, answer = returning
    (pump,) = pumps(answer.model.circuit)
    flow, rise = system_curve(fuelling(answer, plan.system), [pump], 2)
    works = float(answer.flow("pump: pump")[2]), float((answer.total("pump.out") - answer.total("pump.in"))[2])
    assert len(flow) <= SIZES.size
    order = np.argsort(flow)
    assert np.interp(works[0], flow[order], rise[order]) == pytest.approx(works[1], rel=2e-3)
    # While the regulator holds, more flow asks for more: what the lines lose; the base pressure stays.
    holding = flow[order] > 1.02 * 120 / LITRES
    assert (np.diff(rise[order][holding]) > 0).all()
    assert np.ptp(rise[order][holding]) < 60e3


def test_the_most_is_the_least_that_is_no_longer_held(returning):
    plan, answer = returning
    here = fuelling(answer, plan.system).rows(np.array([1, 2]))
    most = carried(here)
    for share, state in ((0.999, "holding"), (1.002, "shut")):
        fed = here.burning(share * most)
        assert fed.switch("regulator: valve") == [state, state]
