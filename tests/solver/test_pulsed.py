"""A pulsed pump without a return: what it holds and where, and what is left once it runs at full."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from nets import GRAVITY, conditions, network, solved, viscous
from scipy.interpolate import PchipInterpolator

from solver.balance import balance
from solver.network import here_at
from solver.pulsed import PulsedPump

TANK, HELD = 1e5, 5e5  # Pa absolute
MOST, STOPS = 2e-4, 8e5  # m3/s at no rise, and the rise at which it gives nothing: a straight line between
RESISTS = 3e8  # Pa s/m3 of the line from the pump to the rail, laminar
RHO = 750.0


def pump(size):
    curve = PchipInterpolator([0.0, STOPS], [MOST, 0.0])
    return PulsedPump((curve,), np.ones((size, 1)), np.ones((size, 1)), held=np.full(size, HELD))


def rail(taken, *, felt=None, over=0.0):
    """Tank, pump, line, rail: the answer where so much is taken at the rail, which lies so high over the tank."""
    size = len(taken)
    net = replace(network([(0, 1, pump(size)), (1, 2, viscous(RESISTS))], {0}), felt=felt or {})
    batch = conditions(net, {0: TANK}, taken={2: taken}, density=RHO, viscosity=1.0, size=size)
    batch.lift[:, 0] = RHO * GRAVITY * over
    state = solved(net, batch)
    assert balance(net, batch, state).holds.all()
    return net, batch, state


def test_it_holds_its_outlet_where_no_sensor_stands_elsewhere():
    taken = np.array([0.0, 1e-5, 5e-5])
    _, _, state = rail(taken)
    assert state.switches[:, 0].tolist() == [1, 1, 1]
    assert state.pressure[:, 1] == pytest.approx(HELD, abs=2.0)
    assert state.flow[:, 0] == pytest.approx(taken, abs=1e-12)
    assert state.pressure[:, 2] == pytest.approx(HELD - RESISTS * taken, abs=2.0)


def test_with_its_sensor_at_the_rail_what_the_line_takes_is_made_up():
    taken = np.array([0.0, 1e-5, 5e-5])
    _, _, state = rail(taken, felt={0: 2})
    assert state.pressure[:, 2] == pytest.approx(HELD, abs=2.0)
    assert state.pressure[:, 1] == pytest.approx(HELD + RESISTS * taken, abs=2.0)


def test_a_sensor_that_lies_higher_holds_its_own_pressure():
    # P is piezometric: p at the sensor is P less rho g z, and that is what is held.
    _, _, state = rail(np.array([1e-5]), felt={0: 2}, over=0.8)
    assert state.pressure[0, 2] - RHO * GRAVITY * 0.8 == pytest.approx(HELD, abs=2.0)


def most_held():
    """The draw at which its curve is all used: MOST (1 - (HELD + RESISTS q - TANK) / STOPS) = q."""
    return (1 - (HELD - TANK) / STOPS) / (1 / MOST + RESISTS / STOPS)


def test_it_runs_at_full_from_where_its_curve_meets_the_line_on():
    near = most_held()
    taken = near * np.array([0.5, 0.999, 1.001, 1.5])
    _, _, state = rail(taken, felt={0: 2})
    assert state.switches[:, 0].tolist() == [1, 1, 2, 2]
    # At full: the curve less the line, under what it should hold.
    short = TANK + STOPS * (1 - taken / MOST) - RESISTS * taken
    assert state.pressure[2:, 2] == pytest.approx(short[2:], rel=1e-6)
    assert (state.pressure[2:, 2] < HELD).all()


@given(share=st.floats(0.0, 1.6), felt=st.booleans())
def test_the_rail_has_the_lesser_of_what_is_held_and_what_the_curve_leaves(share, felt):
    taken = np.array([share * most_held()])
    _, _, state = rail(taken, felt={0: 2} if felt else None)
    curve = TANK + STOPS * (1 - taken / MOST) - RESISTS * taken
    held = HELD if felt else HELD - RESISTS * taken
    assert state.pressure[:, 2] == pytest.approx(np.minimum(held, curve), abs=2.0)


def test_more_pressure_than_it_holds_shuts_it():
    # Behind it stands more than it holds: nothing flows, and nothing flows back.
    net = replace(network([(0, 1, pump(1)), (1, 2, viscous(RESISTS))], {0, 2}), felt={0: 2})
    batch = conditions(net, {0: TANK, 2: 6e5}, density=RHO, viscosity=1.0)
    state = solved(net, batch)
    assert state.switches[0, 0] == 0
    assert abs(state.flow[0, 0]) < 1e-8
    assert balance(net, batch, state).holds.all()


def test_beyond_its_points_it_says_so():
    device = replace(pump(1), curves=(PchipInterpolator([1e5, 3e5], [MOST, MOST / 2]),))
    rows = np.zeros(1, dtype=np.int64)
    net, batch, state = rail(np.array([1e-5]))

    def outside(flow, rise):
        here = here_at(net, batch, state, 0, rows)
        return bool(device.outside(replace(here, flow=np.array([flow]), end=here.start + rise), rows)[0])

    assert outside(1e-5, 4e5)
    assert not outside(1e-5, 2e5)
    # Under its first point it gives what it gives there, pulsed, and less; more is not known.
    assert not outside(1e-5, 5e4)
    assert outside(1.1 * MOST, 5e4)
