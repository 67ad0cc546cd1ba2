"""A valve that a temperature sets, against closed forms: drop by its free area, no step, and what goes each way."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from nets import conditions, network, solved, viscous

from solver.balance import balance
from solver.devices import LEAK, Bore
from solver.oilparts import opening
from solver.throttle import SHUTS, Throttle

A, B = 2e8, 3e8  # of the law wide open: Pa s/m3 where the viscosity is 1 Pa s, and 1/m4
WIDE = Bore(A, B)
RHO = 870.0


def through(drop, share, bore=WIDE):
    """Flow of a throttle between two known pressures [m3/s], and how well it balances."""
    drop, share = np.broadcast_arrays(np.atleast_1d(drop).astype(float), np.atleast_1d(share).astype(float))
    size = len(drop)
    valve = Throttle(share.copy(), bore)
    net = network([(0, 1, valve), (1, 2, viscous(1.0))], {0, 2})
    batch = conditions(net, {0: 2e5 + drop, 2: 2e5}, density=RHO, viscosity=1.0, size=size)
    state = solved(net, batch)
    assert balance(net, batch, state).holds.all()
    return state.flow[:, 0], [valve.states[i] for i in state.switches[:, 0]]


def by_area(flow, share, bore=WIDE):
    """Drop [Pa] at a flow: the laminar part over the share of the area, the inertial over its square."""
    return bore.viscous * flow / share + bore.inertial * RHO * (flow / share) ** 2


@pytest.mark.parametrize("share", [1.0, 0.5, 0.1, 0.003])
def test_its_drop_goes_by_its_free_area(share):
    # The line behind it costs 1 Pa s/m3, which is nothing; beside its way there is its stated leak.
    drop = np.array([1e3, 5e4, 4e5])
    flow, states = through(drop, share)
    assert by_area(flow - LEAK * drop, share) == pytest.approx(drop, rel=1e-6)
    assert set(states) == {"open" if share == 1.0 else "part open"}


def test_shut_it_lets_by_its_stated_leak():
    flow, states = through([1e5, 5e5], 0.0)
    assert flow == pytest.approx([LEAK * 1e5, LEAK * 5e5], rel=1e-6)
    assert states == ["shut", "shut"]


def test_flow_rises_with_the_opening_without_a_step():
    # At both ends of its travel too: over a share it passes that share of what it passes wide open.
    share = np.concatenate([[0.0], np.geomspace(SHUTS / 10, 1e-3, 60), np.linspace(1e-3, 1.0, 400)[1:]])
    flow, _ = through(1e5, share)
    assert (np.diff(flow) >= 0).all()
    # Under a millionth it counts as shut: the step there is a millionth of the flow wide open, as small as the leak.
    assert np.abs(flow - share * flow[-1]).max() <= SHUTS * flow[-1] + LEAK * 1e5


@given(
    low=st.floats(-6e5, 6e5),
    step=st.floats(1.0, 3e5),
    share=st.floats(0.0, 1.0),
    viscous_part=st.sampled_from([0.0, 1e6, 1e9]),
    inertial_part=st.sampled_from([1e9, 1e11]),
)
def test_flow_rises_with_the_pressure_across_it_whatever_its_share(low, step, share, viscous_part, inertial_part):
    flow, _ = through([low, low + step], [share, share], Bore(viscous_part, inertial_part))
    assert flow[1] > flow[0]
    assert abs(low) < 1.0 or flow[0] * low > 0.0


def test_its_slope_is_finite_where_nothing_flows():
    flow, _ = through([0.0, 1e-3], 0.5, Bore(0.0, B))
    assert abs(flow[0]) < 1e-9
    assert np.isfinite(flow).all()


def test_a_thermostat_opens_evenly_between_its_two_temperatures():
    # 170 and 185 F; 177.5 F lies half way.
    kelvin = (np.array([40.0, 170.0, 177.5, 185.0, 240.0]) + 459.67) / 1.8
    assert opening(kelvin, *((np.array([170.0, 185.0]) + 459.67) / 1.8)) == pytest.approx([0, 0, 0.5, 1, 1], abs=1e-12)


def loop(share, *, cooler=1e9, total=2e-4):
    """A flow that comes to a thermostat, through a cooler or round it, and out: flows of both ways."""
    share = np.atleast_1d(np.asarray(share, dtype=float))
    ways = [(0, 1, Throttle(share, WIDE)), (1, 2, viscous(cooler)), (0, 2, Throttle(1.0 - share, WIDE))]
    net = network([*ways, (2, 3, viscous(1e6))], {3})
    batch = conditions(net, {3: 1e5}, taken={0: -total}, density=RHO, viscosity=1.0, size=len(share))
    state = solved(net, batch)
    assert balance(net, batch, state).holds.all()
    return state.flow[:, 1], state.flow[:, 2]


def test_cold_all_goes_round_and_hot_all_goes_through():
    cooled, round_it = loop([0.0, 1.0])
    assert cooled == pytest.approx([0.0, 2e-4], abs=1e-9)
    assert round_it == pytest.approx([2e-4, 0.0], abs=1e-9)


def test_half_open_the_flow_divides_by_what_the_two_ways_cost():
    cooled, round_it = loop(0.5)
    assert cooled + round_it == pytest.approx([2e-4], rel=1e-9)
    assert by_area(cooled, 0.5) + 1e9 * cooled == pytest.approx(by_area(round_it, 0.5), rel=1e-6)
    # With a cooler that costs nothing the two halves are alike.
    cooled, round_it = loop(0.5, cooler=1.0)
    assert cooled == pytest.approx(round_it, rel=1e-6)


@given(share=st.floats(0.0, 1.0), total=st.floats(1e-6, 1e-3), cooler=st.floats(1e6, 1e10))
def test_what_comes_in_goes_one_way_or_the_other(share, total, cooler):
    cooled, round_it = loop(share, cooler=cooler, total=total)
    assert cooled + round_it == pytest.approx([total], rel=1e-6)
    assert (cooled >= -1e-12).all()
    assert (round_it >= -1e-12).all()


def test_the_warmer_the_more_goes_through_the_cooler():
    cooled, _ = loop(np.linspace(0.0, 1.0, 300))
    assert (np.diff(cooled) > 0).all()
