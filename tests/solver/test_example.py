"""The example plan against a calculation by hand.

The hand uses other formulas than the solver where there are any: friction by Colebrook (iterated), narrowing by
Crane TP-410's K = 0.5 (1 - beta^2), bends left out (they cost under 0.06 psi together), the pump straight between the
points of its data sheet. The example's figures are read by eye from its files and typed here in the units they have
there. Tolerances come from those differences: Colebrook and Churchill differ by up to 3 % of a friction loss that is
2.5 psi in all; straight lines cut the pump's curve by up to 1 %.
"""

import math
from importlib import resources

import numpy as np
import pytest

from lines.reading import read_plan
from solver.solution import Solution, solve_plan
from solver.study import study

PSI, IN, GPH, LB_H = 6894.757, 0.0254, 3.785411784e-3 / 3600, 0.45359237 / 3600
RAIL = 0.62  # in
G = 9.80665
AMBIENT = 101325 * (1 - 2.25577e-5 * 900 * 0.3048) ** 5.25588  # ISO 2533, troposphere


@pytest.fixture(scope="module")
def plan():
    with resources.as_file(resources.files("lines") / "examples" / "fuel-return") as folder:
        return read_plan(folder / "plan.toml")


@pytest.fixture(scope="module")
def fuel(plan) -> Solution:
    answer = solve_plan(plan)["fuel"]
    assert isinstance(answer, Solution)
    return answer


def colebrook(reynolds, relative):
    if reynolds < 2300:
        return 64 / reynolds
    f = 0.02
    for _ in range(50):
        f = (-2 * math.log10(relative / 3.7 + 2.51 / (reynolds * math.sqrt(f)))) ** -2
    return f


def hose_drop(q, length_in, bore_in, rho, nu):
    """One hose with an end 0.835 as wide at each side."""
    bore = bore_in * IN
    v = q / (math.pi / 4 * bore**2)
    head = rho * v**2 / 2
    friction = colebrook(v * bore / nu, 3e-6 / bore) * length_in * IN / bore
    beta2 = 0.835**2
    ends = ((1 - beta2) ** 2 + 0.5 * (1 - beta2)) / beta2**2  # widen after the first end, narrow into the last
    return head * (friction + ends)


def in_the_end(q, rho):
    """Velocity head in a -6 end of 0.261 in."""
    return rho * (q / (math.pi / 4 * (0.261 * IN) ** 2)) ** 2 / 2


def pump_gph(rise_psi, volts):
    """The shop's table main-a, straight between its points and between its voltages."""
    rise = [20, 40, 60, 80, 100]
    low, high = np.interp(rise_psi, rise, [72, 64, 54, 41, 26]), np.interp(rise_psi, rise, [84, 77, 68, 57, 44])
    return low + (volts - 12.0) / 1.5 * (high - low)


def by_hand(boost_psi, burn_lb_h, volts, fuel_f):
    """Pump flow, return flow [gph] and rail gauge pressure [psi], by halving the interval of the pump's flow."""
    celsius = (fuel_f - 32) / 1.8
    rho = 746 - (746 - 717) * (celsius - 20) / 40
    nu = 1e-6 * float(np.exp(np.interp(celsius, [20, 40, 60], np.log([0.55, 0.45, 0.38]))))
    burn = burn_lb_h * LB_H / rho
    filter_law = (1.3 * PSI) / (60 * GPH) ** 1.55  # through the middle point; 0.5, 1.3, 2.4 psi at 30, 60, 90 gph
    low, high = burn, 90 * GPH
    for _ in range(60):
        q = (low + high) / 2
        back = q - burn
        # pressure that the regulator holds, lifted by 2 psi per 100 gph; heights: regulator 35 in, rail 37 in
        held = (boost_psi + 43.5 + 0.02 * back / GPH) * PSI
        rail = held + rho * G * (35 - 37) * IN + hose_drop(back, 21.4, 5 / 16, rho, nu)
        beta2 = (0.261 / RAIL) ** 2  # into the rail and out of it
        rail += 0.5 * (1 - beta2) * in_the_end(back, rho)
        out = rail + rho * G * (37 - 15) * IN + (1 - beta2) ** 2 * in_the_end(q, rho)
        out += hose_drop(q, 16.5, 5 / 16, rho, nu) + hose_drop(q, 69.7, 5 / 16, rho, nu) + filter_law * q**1.55
        mouth = 0.5 * rho * (q / (math.pi / 4 * (0.339 * IN) ** 2)) ** 2 / 2  # K 0.5 into the first end
        inlet = rho * G * (19 - 15) * IN - hose_drop(q, 14.6, 13 / 32, rho, nu) - mouth
        if pump_gph((out - inlet) / PSI, volts) * GPH > q:
            low = q
        else:
            high = q
    return q / GPH, back / GPH, rail / PSI


@pytest.mark.parametrize(
    ("duty", "boost", "burn", "volts", "fuel_f"),
    [("idle", -9, 4, 13.4, 105), ("full_load", 18, 500 * 0.60, 12.2, 95)],
)
def test_return_flow_and_rail_pressure_as_by_hand(plan, fuel, duty, boost, burn, volts, fuel_f):
    pump, back, rail = by_hand(boost, burn, volts, fuel_f)
    row = fuel.model.duties.index(duty)
    assert fuel.flow("pump: pump")[row] / GPH == pytest.approx(pump, rel=0.015)
    # What returns is what is left of two larger numbers: 1.5 % of the pump's flow, not of its own.
    assert fuel.flow("F5")[row] / GPH == pytest.approx(back, abs=0.015 * pump)
    gauge = fuel.total("rail.injector 4")[row] - plan.ambient.pressure[duty]
    assert gauge / PSI == pytest.approx(rail, abs=0.15)


def test_ambient_is_the_standard_atmosphere(plan):
    # The closed form of ISO 2533 for the troposphere; its printed constants hold to five figures.
    assert plan.ambient.pressure["idle"] == pytest.approx(AMBIENT, rel=2e-5)


def test_demand_is_power_times_consumption(fuel):
    # 500 hp at 0.60 lb/(hp h) = 300 lb/h; 749.3 kg/m3 at 60 F is 731.66 at 95 F by API
    # MPMS chapter 11.1 (constants from memory).
    row = fuel.model.duties.index("full_load")
    taken = fuel.model.batch.taken[row].sum()
    assert taken == pytest.approx(300 * LB_H / 731.660, rel=1e-5)
    assert fuel.flow("F3")[row] - fuel.flow("F4")[row] == pytest.approx(taken, rel=1e-6)


def test_drain_in_a_60_percent_climb_as_by_hand(plan):
    # The outlet at (6, 30) in points 15 deg forward of down. Its 45 deg end turns the hose 30 deg under level; the
    # axes of port and hose meet drop / sin(45 deg) = 0.8485 in along the outlet's way, at (6.2196, 29.1804). From there
    # to the bung at (16.1, 23.5): 9.8804 in forward and 5.6804 in down, 29.895 deg, in the plane of the climb. A 60 %
    # climb is atan(0.6) = 30.964 deg. So it falls 29.895 - 30.964 = -1.069 deg: uphill.
    from solver.checks.drain import fall

    (found,) = fall(study(plan))
    assert found.place == "O2"
    assert found.verdict == "fail"
    assert found.worst.attitude == "climb"
    assert math.degrees(found.value.value) == pytest.approx(29.895 - 30.964, abs=2e-3)
    level = next(case for case in found.cases if case.state.attitude == "level")
    assert math.degrees(level.value.value) == pytest.approx(29.895, abs=1e-3)
    # What it lacks: level with the climb the end lies 9.8804 x 0.6 = 5.928 in under the knee, 0.248 in lower than
    # 5.6804; a tenth of a degree more, to fall at all, is 0.02 in: 5/16 on the tape.
    assert "5/16 in or more" in found.change.say("us")


def test_pump_boost_and_voltage_decide_the_margin(fuel):
    row = fuel.model.duties.index("full_load")
    assert 0.08 < fuel.flow("F5")[row] / fuel.model.batch.taken[row].sum() < 0.11
    assert fuel.switch("regulator: valve") == ["holding"] * 3
