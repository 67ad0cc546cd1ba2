"""Devices that switch: each state against a calculation by hand, and no step between them."""

import fluids.friction
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from nets import GRAVITY, conditions, network, pipe, solved, viscous
from scipy.interpolate import PchipInterpolator
from scipy.optimize import root

from solver.devices import FLATTEST, LEAK, Bore, Check, Pump, Regulator
from solver.network import here_at
from solver.newton import solve

R1, R2 = 2e9, 5e8  # Pa s/m3, of lines before and behind; laminar, so that every state has a closed form
ONE = np.ones(1)


def over(size, value):
    return np.broadcast_to(np.asarray(value, dtype=float), size).copy()


# ---------------------------------------------------------------- check valve


def with_check(supply, *, crack=3e4, resistance=1e9):
    """Source, line, check valve, line, fixed 1e5 Pa: the solution over a batch of supply pressures."""
    size = len(supply)
    valve = Check(over(size, crack), Bore(resistance, 0.0))
    net = network([(0, 1, viscous(R1)), (1, 2, valve), (2, 3, viscous(R2))], {0, 3})
    return solved(net, conditions(net, {0: supply, 3: 1e5}, viscosity=1.0, size=size))


def test_a_check_valve_opens_at_its_cracking_pressure():
    # q = (P0 - P3 - crack) / (R1 + R + R2).
    supply = np.array([4e5, 1.31e5, 1.305e5])
    state = with_check(supply)
    assert state.switches[:, 0].tolist() == [1, 1, 1]
    assert state.flow[:, 1] == pytest.approx((supply - 1e5 - 3e4) / (R1 + 1e9 + R2), rel=1e-6)


def test_a_check_valve_below_it_is_shut():
    # All but its stated leak: LEAK times the pressures' difference.
    supply = np.array([1.29e5, 1e5, 2e4])
    state = with_check(supply)
    assert state.switches[:, 0].tolist() == [0, 0, 0]
    assert state.flow[:, 1] == pytest.approx(LEAK * (supply - 1e5), rel=1e-4, abs=1e-15)
    # Which costs up to 0.16 Pa in the line before it.
    assert state.pressure[:, 1] == pytest.approx(supply, abs=0.2)


def test_through_a_check_valve_flow_rises_without_a_step():
    supply = np.linspace(0.9e5, 2e5, 2000)
    flow = with_check(supply).flow[:, 1]
    assert (np.diff(flow) > 0).all()
    # No step of supply brings more than its share; a shut valve opens 1 Pa late at most.
    assert np.diff(flow).max() <= (supply[1] - supply[0] + 1.0) / (R1 + 1e9 + R2) * 1.001


# ---------------------------------------------------------------- bypass regulator

HELD, SLOPE, TAKEN, WIDE, RISE = 4e5, 1e8, 2e-5, 1e9, 0.8


def with_bypass(supply, *, slope=SLOPE, back=1e5):
    """Source, line, a regulator 0.8 m up from which fuel is taken, return line, fixed pressure."""
    size = len(supply)
    valve = Regulator(over(size, HELD), over(size, slope), Bore(WIDE, 0.0))
    net = network([(0, 1, viscous(R1)), (1, 2, valve), (2, 3, viscous(R2))], {0, 3})
    lifted = conditions(
        net,
        {0: supply, 3: back},
        taken={1: TAKEN},
        heights={1: RISE, 2: RISE},
        density=750.0,
        viscosity=1.0,
        size=size,
    )
    return solved(net, lifted)


def bypass_by_hand(supply, back=1e5):
    """Pressure before the valve (piezometric) and return flow: shut, else the less of holding and wide open."""
    lift = 750 * GRAVITY * RISE
    holding = ((supply - lift - HELD) / R1 - TAKEN) / (1 + SLOPE / R1)
    wide = ((supply - back) / R1 - TAKEN) / (1 + (WIDE + R2) / R1)
    flow = np.maximum(0.0, np.minimum(holding, wide))
    return supply - R1 * (TAKEN + flow), flow


@pytest.mark.parametrize(("supply", "name"), [(4e5, "shut"), (6e5, "holding"), (1.2e6, "wide open")])
def test_each_state_of_a_bypass_regulator(supply, name):
    state = with_bypass(np.array([supply]))
    pressure, flow = bypass_by_hand(np.array([supply]))
    assert Regulator.states[state.switches[0, 0]] == name
    # The leak of 1e-15 m3/s per Pa: 4e-10 m3/s.
    assert state.flow[:, 1] == pytest.approx(flow, rel=1e-5, abs=5e-10)
    assert state.pressure[:, 1] == pytest.approx(pressure, abs=1.5)


def test_a_regulator_feels_the_pressure_where_it_stands():
    # It holds 4e5 Pa plus its slope at its own height, 0.8 m over the zero.
    state = with_bypass(np.array([6e5]))
    there = state.pressure[0, 1] - 750 * GRAVITY * RISE
    assert there == pytest.approx(HELD + SLOPE * state.flow[0, 1], abs=0.1)


def test_through_a_bypass_regulator_flow_rises_without_a_step():
    supply = np.linspace(3.5e5, 1.5e6, 3000)
    state = with_bypass(supply)
    pressure, flow = bypass_by_hand(supply)
    assert set(state.switches[:, 0]) == {0, 1, 2}
    assert (np.diff(state.flow[:, 1]) > 0).all()
    # Each state may hold on for 1 Pa past its end.
    assert state.flow[:, 1] == pytest.approx(flow, rel=1e-5, abs=5e-10 + 1.0 / SLOPE)
    assert state.pressure[:, 1] == pytest.approx(pressure, abs=R1 * (1.0 / SLOPE))


def test_behind_a_wide_open_regulator_the_return_line_sets_the_pressure():
    # 3e5 Pa more at the end of the return line lifts the pressure before a wide-open valve by
    # R1 / (R1 + R2 + WIDE) of it; before a holding one by nothing.
    low, high = (with_bypass(np.array([1.2e6]), back=b).pressure[0, 1] for b in (1e5, 2e5))
    assert high - low == pytest.approx(1e5 * R1 / (R1 + R2 + WIDE), rel=1e-5)
    low, high = (with_bypass(np.array([5e5]), back=b).pressure[0, 1] for b in (1e5, 2e5))
    assert high == pytest.approx(low, abs=1.0)


def test_a_regulator_without_slope_holds_its_pressure_exactly():
    # Stepped with the least slope instead of none: 1e4 Pa s/m3 is 1 Pa at 360 L/h.
    state = with_bypass(np.array([6e5]), slope=0.0)
    there = state.pressure[0, 1] - 750 * GRAVITY * RISE
    assert there == pytest.approx(HELD, abs=FLATTEST * 1e-4)


@given(supply=st.floats(1e5, 2e6), back=st.floats(2e4, 9e5), slope=st.floats(1e6, 1e10))
def test_a_bypass_regulator_always_finds_its_state(supply, back, slope):
    state = with_bypass(np.array([supply]), slope=slope, back=back)
    here = state.pressure[0, 1] - 750 * GRAVITY * RISE
    flow, which = state.flow[0, 1], state.switches[0, 0]
    if which == 0:
        assert here <= HELD + 1.01 or state.pressure[0, 1] <= state.pressure[0, 2] + 1.01
    elif which == 1:
        assert here == pytest.approx(HELD + slope * flow, abs=1.0 + slope * LEAK * 2e6)
    else:
        assert here >= HELD + slope * flow - 1.01
    assert flow >= -LEAK * 2e6


# ---------------------------------------------------------------- pump

RISES = np.array([1e5, 3e5, 5e5, 7e5])
LITRES = np.array([300.0, 260.0, 200.0, 100.0]) / 3.6e6  # m3/s; invented, as a data sheet of a pump may read


def sheet(scale=1.0):
    return PchipInterpolator(RISES, LITRES * scale)


def at_rise(rise, curves, weights, speed=1.0):
    """What a pump gives when it lifts this pressure [Pa] from one tank to another."""
    size = len(rise)
    pump = Pump(curves, np.broadcast_to(weights, (size, len(curves))), np.full((size, len(curves)), speed))
    net = network([(0, 1, pump), (1, 2, viscous(1e4))], {0, 2})
    state = solved(net, conditions(net, {0: 1e5, 2: 1e5 + rise}, viscosity=1.0, size=size))
    return state.flow[:, 0]


def test_a_pump_gives_the_points_of_its_data_sheet():
    # The line behind it costs 1e4 Pa s/m3, 1 Pa at these flows.
    assert at_rise(RISES, (sheet(),), [1.0]) == pytest.approx(LITRES, rel=1e-5)


def test_between_the_points_a_pump_never_gives_more_than_at_less_pressure():
    flow = at_rise(np.linspace(1e5, 7e5, 200), (sheet(),), [1.0])
    assert (np.diff(flow) < 0).all()


def test_between_two_voltages_a_pump_is_between_two_curves():
    # A third of the way from 12.0 to 13.5 V.
    flow = at_rise(RISES, (sheet(), sheet(1.2)), [2 / 3, 1 / 3])
    assert flow == pytest.approx(LITRES * (2 / 3 + 1.2 / 3), rel=1e-5)


def test_the_affinity_laws():
    # Crane TP-410 example 7-33: 400 gpm at 126 ft and 3500 rpm are 194.3 gpm at 29.73 ft and 1700 rpm.
    speed, head = 1700 / 3500, 126 * 0.3048 * 998 * GRAVITY
    curve = PchipInterpolator([0.5 * head, head, 1.2 * head], np.array([500.0, 400.0, 300.0]) * 6.309e-5)
    flow = at_rise(np.array([29.73 * 0.3048 * 998 * GRAVITY]), (curve,), [1.0], speed)
    # The line behind it costs 122 of 88 700 Pa.
    assert flow / 6.309e-5 == pytest.approx([194.3], rel=2e-3)


def test_a_pump_says_when_it_works_outside_its_data_sheet():
    pump = Pump((sheet(),), np.ones((3, 1)), np.ones((3, 1)))
    net = network([(0, 1, pump), (1, 2, viscous(1e4))], {0, 2})
    batch = conditions(net, {0: 1e5, 2: 1e5 + np.array([5e4, 4e5, 8e5])}, viscosity=1.0, size=3)
    state = solved(net, batch)
    rows = np.arange(3)
    assert pump.outside(here_at(net, batch, state, 0, rows), rows).tolist() == [True, False, True]


def lifting(*between):
    """Flow and pressures of pumps between two tanks, 3e5 Pa apart, from (start, end) and the nodes joined by a line."""
    pumps = [(a, b, Pump((sheet(),), np.ones((1, 1)), np.ones((1, 1)))) for a, b in between]
    last = max(b for _, b in between) + 1
    net = network([*pumps, (last - 1, last, viscous(1e9))], {0, last})
    return solved(net, conditions(net, {0: 1e5, last: 4e5}, viscosity=1.0), guess=5e-5)


def test_two_pumps_side_by_side_each_give_half():
    state = lifting((0, 1), (0, 1))
    assert state.flow[0, 0] == pytest.approx(state.flow[0, 1], rel=1e-12)
    assert state.flow[0, 2] == pytest.approx(2 * sheet()(state.pressure[0, 1] - 1e5), rel=1e-6)


def test_two_pumps_in_a_row_each_lift_half():
    state = lifting((0, 1), (1, 2))
    rises = np.diff(state.pressure[0, :3])
    assert rises[0] == pytest.approx(rises[1], rel=1e-9)
    assert state.flow[0] == pytest.approx(np.full(3, sheet()(rises[0])), rel=1e-6)


# ---------------------------------------------------------------- a whole circuit

FUEL = {"density": 746.0, "viscosity": 4.1e-4}
FILTER, OPEN = Bore(3e11, 2e9), Bore(0.0, 6e10)
HOSES = [pipe(0.4, 0.0103, 3e-6), pipe(1.8, 0.0079, 3e-6), pipe(2.5, 0.0079, 3e-6)]


def fuel_system(taken, *, size, held=4.5e5):
    """Tank, hose, pump, check valve, hose, regulator where the engine draws, hose, tank."""
    pump = Pump((sheet(),), np.ones((size, 1)), np.ones((size, 1)))
    edges = [
        (0, 1, HOSES[0]),
        (1, 2, pump),
        (2, 3, Check(over(size, 5e3), FILTER)),
        (3, 4, HOSES[1]),
        (4, 5, Regulator(over(size, held), over(size, 1.3e8), OPEN)),
        (5, 0, HOSES[2]),
    ]
    net = network(edges, {0})
    return net, conditions(net, {0: 1e5}, taken={4: taken}, heights={4: 0.5, 5: 0.5}, size=size, **FUEL)


def fuel_by_hand(unknown, taken, held):
    """Imbalances of the same circuit [Pa, m3/s], written apart from the solver: P1 ... P5, two flows."""
    (p1, p2, p3, p4, p5), (supply, back) = unknown[:5] * 1e5, unknown[5:] * 1e-4
    rho, mu = FUEL["density"], FUEL["viscosity"]

    def friction(hose, q):
        v = q / (np.pi * hose.bore**2 / 4)
        f = fluids.friction.Churchill_1977(max(abs(v), 1e-9) * hose.bore * rho / mu, 3e-6 / hose.bore)
        return f * hose.length / hose.bore * rho * v * abs(v) / 2

    lift = rho * GRAVITY * 0.5
    wide = np.sqrt(max(p4 - p5, 0.0) / (OPEN.inertial * rho))
    return [
        (1e5 - p1 - friction(HOSES[0], supply)) / 1e5,
        (supply - sheet()(p2 - p1)) / 1e-4,
        (p2 - p3 - 5e3 - FILTER.viscous * mu * supply - FILTER.inertial * rho * supply**2) / 1e5,
        (p3 - p4 - friction(HOSES[1], supply)) / 1e5,
        (back - max(0.0, min((p4 - lift - held) / 1.3e8, wide))) / 1e-4,
        (p5 - 1e5 - friction(HOSES[2], back)) / 1e5,
        (supply - taken - back) / 1e-4,
    ]


@pytest.mark.parametrize(
    ("taken", "held", "name"),
    [(1e-6, 4.5e5, "holding"), (4e-5, 4.5e5, "holding"), (1e-6, 2.5e5, "wide open"), (7.2e-5, 4.5e5, "shut")],
)
def test_a_fuel_system_against_a_general_solver(taken, held, name):
    net, batch = fuel_system(taken, size=1, held=held)
    state = solved(net, batch, guess=5e-5)
    first = np.array([1.0, 5.0, 4.8, 4.7, 1.2, 0.6, 0.5])
    found = root(fuel_by_hand, first, args=(taken, held), tol=1e-12)
    assert found.success
    assert Regulator.states[state.switches[0, -1]] == name
    # A shut regulator's leak, 3e-10 of 7e-5 m3/s, is 4 Pa of the pump's curve.
    assert state.pressure[0, 1:6] == pytest.approx(found.x[:5] * 1e5, rel=2e-5)
    assert state.flow[0, [0, 4]] == pytest.approx(found.x[5:] * 1e-4, rel=2e-5, abs=1e-9)


def test_a_batch_of_two_hundred_is_two_hundred_circuits():
    taken = np.linspace(0.0, 7.6e-5, 200)
    net, batch = fuel_system(taken, size=200)
    together = solved(net, batch, guess=5e-5)
    assert len(set(together.switches[:, -1])) == 2
    for i in range(200):
        net, batch = fuel_system(taken[i], size=1)
        alone = solved(net, batch, guess=5e-5)
        assert (together.switches[i] == alone.switches[0]).all()
        assert together.flow[i] == pytest.approx(alone.flow[0], rel=1e-9, abs=1e-12)
        assert together.pressure[i] == pytest.approx(alone.pressure[0], rel=1e-9)


class Restless:
    """A device that always wants its other state."""

    states = ("one", "two")

    def first(self, batch):
        return np.zeros(batch, dtype=np.int64)

    def line(self, here, state, rows):
        y = np.full(len(rows), 1e-9)
        return np.zeros(len(rows)), y, y

    def wanted(self, here, state, rows):
        return 1 - state, np.ones(len(rows))

    def outside(self, here, rows):
        return np.zeros(len(rows), dtype=bool)


def test_a_device_that_never_settles_is_named_by_its_edge():
    net = network([(0, 1, viscous(1e9)), (1, 2, Restless())], {0, 2})
    state = solve(net, conditions(net, {0: 2e5}, viscosity=1.0), np.full(2, 1e-5))
    assert state.failed == ["cycling:1"]
