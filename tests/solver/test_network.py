"""Networks against published networks, textbook examples and laws that every network keeps."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from nets import GRAVITY, WATER, conditions, inertial, network, pipe, solved, viscous
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from solver.devices import Bore, Check, Pump

FOOT = 0.3048
HOUR = 3600.0


# ---------------------------------------------------------------- published networks

# E. Maurer, R package `hydraulics`, Hardy Cross example: three loops and ten pipes, 0.08 m3/s in at A; 0.04, 0.02
# and 0.02 out at D, F and H. Diameter [m], length [m], fixed friction factor.
NODES = "ABCDEFGH"
LOOPS = [
    ("AB", 0.30, 250, 0.01879),
    ("BC", 0.20, 100, 0.02075),
    ("CD", 0.20, 125, 0.02075),
    ("DE", 0.20, 125, 0.02075),
    ("EA", 0.20, 100, 0.02075),
    ("DG", 0.15, 100, 0.02233),
    ("GF", 0.25, 125, 0.01964),
    ("FE", 0.15, 100, 0.02233),
    ("CH", 0.15, 100, 0.02233),
    ("HG", 0.25, 125, 0.01964),
]
# The flows that satisfy its equations to the last figure; three sweeps of Hardy Cross, as printed, stop short.
CONVERGED = [0.03823, 0.03823, 0.02315, -0.02565, -0.04177, 0.00880, 0.00387, -0.01613, 0.01508, -0.00492]
# Printed after three sweeps with Colebrook factors for a roughness of 0.25 mm.
PRINTED = [0.0382, 0.0382, 0.0230, -0.0258, -0.0418, 0.0088, 0.0040, -0.0160, 0.0152, -0.0048]
TAKEN = {NODES.index("D"): 0.04, NODES.index("F"): 0.02, NODES.index("H"): 0.02}


def three_loops(parts):
    ends = [(NODES.index(names[0]), NODES.index(names[1])) for names, *_ in LOOPS]
    return network([(a, b, part) for (a, b), part in zip(ends, parts, strict=True)], {0})


def test_three_loops_with_fixed_friction_factors():
    # Half a unit of the last figure, and as much again for the factors as printed.
    net = three_loops([inertial(8 * f * length / (np.pi**2 * d**5)) for _, d, length, f in LOOPS])
    state = solved(net, conditions(net, {0: 5e5}, taken=TAKEN), guess=0.01)
    assert state.flow[0] == pytest.approx(CONVERGED, abs=1e-5)


def test_three_loops_with_friction_from_a_roughness():
    # Three sweeps are off by up to 2.5e-4 m3/s from the converged flows; 3e-4.
    net = three_loops([pipe(length, d, 0.25e-3) for _, d, length, _ in LOOPS])
    state = solved(net, conditions(net, {0: 5e5}, taken=TAKEN, **WATER), guess=0.01)
    assert state.flow[0] == pytest.approx(PRINTED, abs=3e-4)


def test_two_loops_with_given_coefficients():
    # The same package, help of its function: head K Q^2 [m, m3/s], 0.5 m3/s from C to B. Solved to five figures.
    edges = [("CA", 200), ("AD", 2500), ("CD", 500), ("AB", 800), ("DB", 300)]
    names = "CADB"
    net = network([(names.index(e[0]), names.index(e[1]), inertial(k * GRAVITY)) for e, k in edges], {0})
    state = solved(net, conditions(net, {0: 5e5}, taken={3: 0.5}), guess=0.1)
    assert state.flow[0] == pytest.approx([0.27467, 0.06418, 0.22533, 0.21049, 0.28951], abs=6e-6)


# F. White, Fluid Mechanics, chapter 6 (inputs and answers from memory; they agree with each other to every
# printed figure): three cast-iron pipes; water; 150 kPa and 5 m of fall, 20.3 m of head in all.
WHITE = [pipe(100, 0.080, 0.24e-3), pipe(150, 0.060, 0.12e-3), pipe(80, 0.040, 0.20e-3)]
WHITE_WATER = {"density": 1000.0, "viscosity": 1.02e-3}
HEAD = 150e3 + 1000 * GRAVITY * 5
# His factors are Colebrook's. Churchill's are within 1.2 % of them, and flow goes with the root: 0.6 %, and half
# a unit of the last printed figure.
COLEBROOK = 6e-3


def test_parallel_pipes_of_white():
    net = network([(0, 1, p) for p in WHITE], {0, 1})
    flow = solved(net, conditions(net, {0: HEAD}, **WHITE_WATER)).flow[0] * HOUR
    assert flow == pytest.approx([62.5, 25.9, 11.4], rel=COLEBROOK, abs=0.05)
    assert flow.sum() == pytest.approx(99.8, rel=COLEBROOK)


def test_series_pipes_of_white():
    net = network([(i, i + 1, p) for i, p in enumerate(WHITE)], {0, 3})
    state = solved(net, conditions(net, {0: HEAD}, **WHITE_WATER))
    assert state.flow[0] * HOUR == pytest.approx([10.2] * 3, rel=COLEBROOK, abs=0.05)
    assert state.flow[0, 0] / (np.pi * 0.08**2 / 4) == pytest.approx(0.565, rel=COLEBROOK)


def test_the_operating_point_of_a_pump():
    # E. Maurer, R package `hydraulics`, vignette: 30 ft of lift, 3884 ft of 20 in, three points of a pump curve
    # fitted by h = a + c Q^2, the pipe's K from Colebrook's factor at 1 ft3/s. Printed Q 12.051 ft3/s and
    # h 53.285 ft, with K rounded to 0.160: 0.1 %.
    gpm = 231 / 1728 / 60
    flow, head = np.array([0.0, 5000.0, 7850.0]) * gpm, np.array([81.0, 60.0, 20.0])
    a, c = np.linalg.lstsq(np.stack([np.ones(3), flow**2], axis=1), head, rcond=None)[0]
    d, rough, reynolds = 20 / 12, 0.0005 * 12 / 20, 4 * 1.0 / (np.pi * 20 / 12 * 1.23e-5)
    root = brentq(lambda x: x + 2 * np.log10(rough / 3.7 + 2.51 * x / reynolds), 1, 20)
    k = 8 * root**-2 * 3884 / (np.pi**2 * 32.174 * d**5)
    assert (a, c) == pytest.approx((82.467, -0.20094), rel=1e-4)
    assert k == pytest.approx(0.160, abs=5e-4)
    pascal = 1000 * GRAVITY * FOOT
    rises = np.linspace(20.0, 81.0, 60)
    curve = PchipInterpolator(rises * pascal, np.sqrt((rises - a) / c) * FOOT**3)
    pump = Pump((curve,), np.ones((1, 1)), np.ones((1, 1)))
    net = network([(0, 1, pump), (1, 2, inertial(k * GRAVITY / FOOT**5))], {0, 2})
    state = solved(net, conditions(net, {2: 30 * pascal}), guess=0.1)
    assert state.flow[0] / FOOT**3 == pytest.approx([12.051] * 2, rel=1e-3)
    assert state.pressure[0, 1] / pascal == pytest.approx(53.285, rel=1e-3)


def test_hagen_and_poiseuille():
    # Oil in a -4 feed line: q = pi D^4 dp / (128 mu L), exact; Re 20.
    net = network([(0, 1, pipe(0.6, 0.00476))], {0, 1})
    state = solved(net, conditions(net, {0: 3e5}, density=850, viscosity=0.05))
    assert state.flow[0, 0] == pytest.approx(np.pi * 0.00476**4 * 3e5 / (128 * 0.05 * 0.6), rel=1e-6)


# ---------------------------------------------------------------- laws of every network

bores, lengths = st.floats(0.003, 0.03), st.floats(0.1, 5.0)
pipes = st.builds(pipe, lengths, bores, st.sampled_from([0.0, 3e-6, 1e-4]))
# Losses as components have them: some 1 to 100 kPa at 1e-4 m3/s of fuel.
losses = st.floats(1e8, 1e10).map(lambda x: inertial(x, back=2 * x))
liquids = st.sampled_from([(746.0, 4e-4), (998.0, 1e-3), (850.0, 0.01), (880.0, 0.5)])


@st.composite
def networks(draw, *, fixed=1):
    """Edges of a connected network whose first nodes have known pressures."""
    nodes = draw(st.integers(fixed + 2, 7))
    ends = [(draw(st.integers(0, node - 1)), node) for node in range(1, nodes)]
    ends += draw(st.lists(st.tuples(st.integers(0, nodes - 1), st.integers(0, nodes - 1)), max_size=4))
    kept = [(a, b) for a, b in ends if a != b]
    return [(a, b, draw(pipes), *draw(st.lists(losses, max_size=1))) for a, b in kept], nodes


@given(drawn=networks(), liquid=liquids, data=st.data())
def test_every_free_node_passes_on_what_it_gets(drawn, liquid, data):
    edges, nodes = drawn
    taken = {n: data.draw(st.floats(-2e-5, 1e-4)) for n in range(1, nodes)}
    net = network(edges, {0})
    batch = conditions(net, {0: 4e5}, taken=taken, density=liquid[0], viscosity=liquid[1])
    state = solved(net, batch, guess=1e-4)
    balance = net.out @ state.flow[0] + batch.taken[0]
    assert np.abs(balance[1:]).max() <= 1e-9 * max(1e-4, np.abs(state.flow).max())


@given(drawn=networks(fixed=2), liquid=liquids, data=st.data())
def test_an_edge_named_the_other_way_only_changes_its_sign(drawn, liquid, data):
    edges, _ = drawn
    edges = [(a, b, p) for a, b, p, *_ in edges]  # losses differ by direction, pipes do not
    turned = data.draw(st.lists(st.booleans(), min_size=len(edges), max_size=len(edges)))
    other = [(b, a, p) if turn else (a, b, p) for (a, b, p), turn in zip(edges, turned, strict=True)]
    known = {0: 4e5, 1: 1e5}
    one, two = (
        solved(net, conditions(net, known, density=liquid[0], viscosity=liquid[1]), guess=1e-4)
        for net in (network(e, {0, 1}) for e in (edges, other))
    )
    signs = np.where(turned, -1, 1)
    # Each pressure balance closes within 1e-3 Pa, which a wide pipe's least slope turns into this much flow.
    slope = np.array([128 * liquid[1] * p.length / (np.pi * p.bore**4) for _, _, p in edges])
    off = np.abs(two.flow[0] * signs - one.flow[0])
    assert (off <= 2e-3 / slope + 1e-6 * np.abs(one.flow[0])).all()
    assert two.pressure[0] == pytest.approx(one.pressure[0], abs=0.1)


@given(drawn=networks(fixed=2), liquid=liquids, data=st.data())
def test_a_longer_or_narrower_pipe_never_lets_more_through(drawn, liquid, data):
    edges, _ = drawn
    worse = data.draw(st.integers(0, len(edges) - 1))
    factor = data.draw(st.floats(1.0, 3.0))
    length, bore = data.draw(st.sampled_from([(factor, 1.0), (1.0, 1 / factor), (factor, 1 / factor)]))

    def through(edges):
        net = network(edges, {0, 1})
        state = solved(net, conditions(net, {0: 4e5, 1: 1e5}, density=liquid[0], viscosity=liquid[1]), guess=1e-4)
        return (net.out @ state.flow[0])[0]

    a, b, old, *rest = edges[worse]
    new = pipe(old.length * length, old.bore * bore, old.roughness)
    before = through(edges)
    assert through([*edges[:worse], (a, b, new, *rest), *edges[worse + 1 :]]) <= before * (1 + 1e-6)


@given(length=lengths, bore=bores, reynolds=st.floats(1.0, 480.0))
def test_slow_friction_is_in_proportion_to_flow(length, bore, reynolds):
    # Under Re 1000 the drop is that of Hagen and Poiseuille: twice the pressure is twice the flow.
    rho, mu = 850.0, 0.05
    resistance = 128 * mu * length / (np.pi * bore**4)
    dp = reynolds * mu * np.pi * bore / (4 * rho) * resistance
    net = network([(0, 1, pipe(length, bore))], {0, 1})
    state = solved(net, conditions(net, {0: np.array([dp, 2 * dp])}, density=rho, viscosity=mu, size=2))
    # The pressure balance closes within 1e-3 Pa.
    assert state.flow[:, 0] * resistance == pytest.approx([dp, 2 * dp], rel=1e-6, abs=2e-3)


checks = st.builds(
    Check,
    st.floats(1e2, 1e5).map(lambda x: np.array([x])),
    st.builds(Bore, st.sampled_from([0.0, 1e11]), st.floats(1e8, 3e10)),
)


@given(drawn=networks(fixed=2), valves=st.dictionaries(st.integers(0, 9), checks, max_size=4))
def test_check_valves_anywhere_find_their_states(drawn, valves):
    edges = [(a, b, valves[i]) if i in valves else (a, b, *p) for i, (a, b, *p) in enumerate(drawn[0])]
    net = network(edges, {0, 1})
    state = solved(net, conditions(net, {0: 4e5, 1: 1e5}, density=750, viscosity=5e-4), guess=5e-5)
    for which, (edge, valve) in zip(state.switches[0], net.devices.items(), strict=True):
        across = state.pressure[0, net.start[edge]] - state.pressure[0, net.end[edge]]
        flow = state.flow[0, edge]
        if which == 0:
            assert across <= valve.crack[0] + 1.01
        else:
            assert flow >= 0
            assert across == pytest.approx(valve.crack[0] + valve.bore.drop(flow, 750, 5e-4)[0], abs=2e-3)


@given(drawn=networks(), lift=st.floats(-3.0, 3.0))
def test_without_devices_height_moves_nothing(drawn, lift):
    # P is piezometric: with no device to feel a pressure, heights do not enter.
    edges, nodes = drawn
    net, taken = network(edges, {0}), {nodes - 1: 5e-5}
    heights = {n: lift * n for n in range(nodes)}
    plain = solved(net, conditions(net, {0: 4e5}, taken=taken), guess=1e-4)
    lifted = solved(net, conditions(net, {0: 4e5}, taken=taken, heights=heights), guess=1e-4)
    assert (plain.flow == lifted.flow).all()


def test_a_loss_may_differ_by_direction():
    # 1e9 rho q^2 one way, 4e9 back: half the flow.
    net = network([(0, 1, inertial(1e9, back=4e9))], {0, 1})
    state = solved(net, conditions(net, {0: np.array([1e5, 0.0]), 1: np.array([0.0, 1e5])}, size=2))
    assert state.flow[:, 0] == pytest.approx([(1e5 / 1e12) ** 0.5, -((1e5 / 4e12) ** 0.5)], rel=1e-6)


@pytest.mark.parametrize("part", [pipe(1.0, 0.01), inertial(1e9), viscous(1e9)])
def test_a_dead_end_has_the_pressure_of_its_root_and_no_flow(part):
    net = network([(0, 1, pipe(1.0, 0.01)), (1, 2, part), (2, 3, pipe(0.5, 0.006))], {0})
    state = solved(net, conditions(net, {0: 4e5}))
    assert state.flow[0] == pytest.approx([0.0] * 3, abs=1e-12)
    assert state.pressure[0] == pytest.approx([4e5] * 4, abs=1e-2)
