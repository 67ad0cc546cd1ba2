"""The way to the answer: large networks, large batches, points that are lost, and what every answer keeps to."""

import fluids.friction
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from nets import conditions, inertial, network, pipe, solved, viscous
from scipy.optimize import brentq

from solver import newton
from solver.balance import balance
from solver.devices import Bore, Regulator
from solver.newton import solve


def lattice(side, draws=3, seed=1):
    """A square lattice of hoses, fed at two corners and drawn from at some nodes."""
    dice = np.random.default_rng(seed)
    number = np.arange(side * side).reshape(side, side)
    pairs = [(number[:, :-1], number[:, 1:]), (number[:-1], number[1:])]
    ends = np.concatenate([np.stack([a.ravel(), b.ravel()], axis=1) for a, b in pairs])
    edges = [(int(a), int(b), pipe(dice.uniform(0.2, 1.0), dice.uniform(0.006, 0.0127), 2e-6)) for a, b in ends]
    net = network(edges, {0, side * side - 1})
    places = dice.choice(np.arange(1, side * side - 1), draws, replace=False)
    taken = {int(n): 1e-4 * dice.uniform(0.5, 1.0) / draws for n in places}
    return net, conditions(net, {0: 5e5, side * side - 1: 4.95e5}, taken=taken, density=745.0, viscosity=4.5e-4)


@pytest.mark.parametrize("side", [4, 8])
def test_a_sparse_matrix_gives_what_a_full_one_gives(monkeypatch, side):
    net, batch = lattice(side)
    found = []
    for most in (0, 10_000):
        monkeypatch.setattr(newton, "MOST_DENSE", most)
        found.append(solved(net, batch, guess=1e-5))
    assert found[0].flow == pytest.approx(found[1].flow, rel=1e-9, abs=1e-15)
    assert found[0].pressure == pytest.approx(found[1].pressure, rel=1e-12)


def test_ten_thousand_edges_have_an_answer_that_balances():
    net, batch = lattice(71, draws=500)
    assert net.edges == 9940
    assert balance(net, batch, solved(net, batch, guess=1e-5)).holds.all()


def regulated(size):
    """Hose, regulator, hose, at supplies from too low to high, so that some are shut and some wide open."""
    supply = np.linspace(2e5, 9e5, size)
    valve = Regulator(np.full(size, 4e5), np.full(size, 1e8), Bore(0.0, 2e9))
    edges = [(0, 1, pipe(1.0, 0.008)), (1, 2, valve), (2, 3, pipe(1.0, 0.006))]
    net = network(edges, {0, 3})
    return net, conditions(net, {0: supply, 3: 1e5}, taken={1: 1e-5}, density=745.0, viscosity=4.5e-4, size=size)


def test_a_batch_of_several_blocks_is_what_each_point_is_alone():
    size = 2 * newton.BLOCK + 7
    net, batch = regulated(size)
    state = solved(net, batch)
    assert len(set(state.switches[:, 0])) == 3
    for row in (0, 1, newton.BLOCK - 1, newton.BLOCK, newton.BLOCK + 1, 2 * newton.BLOCK, size - 1):
        alone_net = network(
            [
                (0, 1, pipe(1.0, 0.008)),
                (1, 2, Regulator(np.full(1, 4e5), np.full(1, 1e8), Bore(0.0, 2e9))),
                (2, 3, pipe(1.0, 0.006)),
            ],
            {0, 3},
        )
        alone = solved(alone_net, batch.rows(np.array([row])))
        assert state.switches[row] == alone.switches[0]
        assert state.flow[row] == pytest.approx(alone.flow[0], rel=1e-9, abs=1e-13)


@pytest.mark.parametrize("most", [0, 10_000])
def test_a_lost_point_does_not_take_the_others_with_it(monkeypatch, most):
    # Its pressure is not a number; the two beside it have their answer.
    monkeypatch.setattr(newton, "MOST_DENSE", most)
    net = network([(0, 1, viscous(1e9)), (1, 2, viscous(1e9))], {0, 2})
    batch = conditions(net, {0: np.array([2e5, np.nan, 2e5]), 2: 1e5}, viscosity=1.0, size=3)
    state = solve(net, batch, np.full(2, 1e-5))
    assert state.failed == ["", "no balance", ""]
    assert state.flow[[0, 2]] == pytest.approx(np.full((2, 2), 5e-5), rel=1e-6)
    assert balance(net, batch, state).holds.tolist() == [True, False, True]


hoses = st.builds(pipe, st.floats(0.1, 5.0), st.floats(0.003, 0.03), st.sampled_from([0.0, 1e-4]))


@given(
    data=st.data(),
    liquid=st.sampled_from([(746.0, 4e-4), (850.0, 0.01), (880.0, 0.5)]),
    curvature=st.sampled_from([0.0, 0.1, 0.25]),
)
def test_total_head_falls_along_the_flow_where_there_is_no_pump(data, liquid, curvature):
    nodes = data.draw(st.integers(3, 7))
    ends = [(data.draw(st.integers(0, node - 1)), node) for node in range(1, nodes)]
    ends += data.draw(st.lists(st.tuples(st.integers(0, nodes - 1), st.integers(0, nodes - 1)), max_size=4))
    edges = [(a, b, data.draw(hoses), inertial(data.draw(st.floats(0, 1e10)))) for a, b in ends if a != b]
    net = network(edges, {0, 1})
    net.pipes.curvature[:] = curvature
    taken = {n: data.draw(st.floats(-2e-5, 1e-4)) for n in range(2, nodes)}
    batch = conditions(net, {0: 4e5, 1: 1e5}, taken=taken, density=liquid[0], viscosity=liquid[1])
    state = solved(net, batch)
    fall = state.pressure[0, net.start] - state.pressure[0, net.end]
    # The balance closes within 1e-3 Pa.
    assert (fall * np.sign(state.flow[0]) >= -2e-3).all()


@pytest.mark.parametrize("litres", [0.001, 0.1, 5.0])
@pytest.mark.parametrize("bore", [0.025, 0.05, 0.076])
def test_a_trickle_divides_rightly_between_wide_hoses(litres, bore):
    # Laminar, so that 0.5 and 1.2 m side by side carry 12 parts and 5, however little they resist. Oil of 10 mPa s.
    taken = litres / 60_000
    net = network([(0, 1, pipe(0.5, bore)), (0, 1, pipe(1.2, bore))], {0})
    state = solved(net, conditions(net, {0: 1e5}, taken={1: taken}, density=850.0, viscosity=0.01))
    assert state.flow[0] == pytest.approx(taken * np.array([12, 5]) / 17, rel=1e-3, abs=2e-9)


@pytest.mark.parametrize("litres", [5.0, 60.0, 150.0])
@pytest.mark.parametrize("bore", [0.025, 0.038, 0.05, 0.076])
def test_blow_by_divides_rightly_between_wide_hoses(litres, bore):
    # Both drops, worked out apart by `fluids`, are the same.
    taken, rho, mu = litres / 60_000, 1.06, 2.01e-5
    net = network([(0, 1, pipe(0.5, bore, 1e-5)), (0, 1, pipe(1.2, bore, 1e-5))], {1})
    state = solved(net, conditions(net, {1: 1e5}, taken={0: -taken}, density=rho, viscosity=mu))

    def drop(flow, length):
        velocity = flow / (np.pi * bore**2 / 4)
        factor = fluids.friction.Churchill_1977(velocity * bore * rho / mu, 1e-5 / bore)
        return factor * length / bore * rho * velocity**2 / 2

    split = brentq(lambda q: drop(q, 0.5) - drop(taken - q, 1.2), 0.01 * taken, 0.99 * taken, xtol=1e-16)
    assert state.flow[0] == pytest.approx([split, taken - split], rel=1e-3)


def held(pressure):
    return Regulator(np.full(1, pressure), np.full(1, 1e6), Bore(0.0, 1e8))


@pytest.mark.parametrize("level", [1e5, 5e5])
def test_what_lies_behind_two_shut_valves_comes_to_rest(level):
    # Nothing flows, so that only the last digits of the pressures are left to balance.
    edges = [(1, 0, pipe(1.0, 0.016), inertial(1e8)), (0, 2, held(1e5)), (2, 3, held(1e5))]
    net = network([*edges, (4, 3, inertial(1e8)), (4, 5, pipe(0.05, 0.05))], {0})
    batch = conditions(net, {0: level}, density=746.0, viscosity=4.1e-4)
    state = solved(net, batch)
    assert np.abs(state.flow).max() < 1e-8
    assert balance(net, batch, state).holds.all()
