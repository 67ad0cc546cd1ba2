"""What crankcase pressure does to oil that shuts a drain: by exact laws, one seal and several."""

import dataclasses

import numpy as np
import pytest
from drained import G, drain, least_energy, line, states
from hypothesis import given, settings
from hypothesis import strategies as st

from lines.states import leaning
from solver.drains.causes import Seal, seal
from solver.drains.envelope import WAYS, envelope, safe_tilts
from solver.drains.foam import Foam
from solver.drains.pieces import Fitting

VANISHING = 1e-9
LEVEL = (0.0, 0.0, -1.0)
PLUMB = [(0, 0, 0), (0, 0, -0.4)]
# A dip whose rim is followed by a length that falls steeply to an end.
DIPPED = [(0, 0, 0), (0.03, 0, -0.30), (0.10, 0, -0.35), (0.17, 0, -0.30), (0.20, 0, -0.60)]
RHO = 850.0


def foamy(density):
    return Foam(np.array([VANISHING]), np.array([density]), np.array([0.010]), np.zeros(1))


def rise(made, over, *, oil=-np.inf, size=G, piece=0, end=0):
    """By how much pressure raises the surface at the upper or the lower end of a piece [m]."""
    calm, pushed = (made.surface(states(LEVEL, over=p, oil=oil, size=size)) for p in (0.0, over))
    return float(pushed.surface[end][0, piece] - calm.surface[end][0, piece])


def in_the_dip(made):
    """A piece that stands full in the dip."""
    found = made.surface(states(LEVEL))
    return int(np.flatnonzero(found.surface[0][0] > found.crown[0][0] + 1e-3)[-1])


@pytest.mark.parametrize("over", [100.0, 500.0])
def test_of_two_seals_each_bears_the_whole_pressure(over):
    # The end is covered, gas is caught between it and the dip: it comes to the crankcase's pressure.
    made = drain(DIPPED, flow=VANISHING)
    upper = in_the_dip(made)
    lifts = over / (RHO * G)
    assert rise(made, over, oil=-0.58, piece=upper) == pytest.approx(lifts, abs=1e-6)
    assert rise(made, over, oil=-0.58, piece=-1, end=1) == pytest.approx(lifts, abs=1e-6)
    found = made.surface(states(LEVEL, over=5000.0, oil=-0.58))
    what, piece = seal(found, 0)
    assert what is Seal.DIP
    assert made.line.points[piece, 2] > -0.40
    # One column from the oil up through the dip bears it once.
    assert rise(made, over, oil=-0.29, piece=upper) == pytest.approx(lifts, abs=1e-6)
    assert seal(made.surface(states(LEVEL, over=over, oil=-0.29)), 0)[0] is Seal.END


def test_a_column_of_two_foams_rises_as_the_lighter():
    plumb = line(PLUMB)
    run = (plumb.stations[1:] > 0.3).astype(int)
    two = dataclasses.replace(plumb, run=run, runs=("D1", "D2"), forward=(True, True))
    for over in (500.0, 1000.0):
        for lower, upper in ((800.0, 400.0), (400.0, 800.0), (800.0, 800.0)):
            made = dataclasses.replace(drain(PLUMB, flow=VANISHING), line=two, foams=(foamy(upper), foamy(lower)))
            top = made.surface(states(LEVEL, over=over, oil=-0.38))
            under = top.surface[1][0] > top.crown[1][0] + 1e-4
            lifted = float(top.surface[1][0][under].max()) + 0.38
            exact = 0.08 + (over / G - 0.08 * lower) / upper if over / (lower * G) > 0.08 else over / (lower * G)
            assert lifted >= exact - 1e-9
        assert lifted == pytest.approx(exact, abs=1e-6)


@pytest.mark.parametrize("times", [0.8, 1.0, 1.2])
def test_pressure_lifts_against_effective_gravity(times):
    made = drain(DIPPED, flow=VANISHING)
    assert rise(made, 500.0, size=times * G, piece=in_the_dip(made)) == pytest.approx(500.0 / (RHO * times * G))


@pytest.mark.parametrize("times", [0.5, 1.0, 2.0])
def test_a_steep_stream_is_held_against_effective_gravity(times):
    made = drain(PLUMB, flow=2e-5)
    found = made.surface(states(LEVEL, size=times * G))
    area = np.pi * 0.0127**2 / 4
    assert found.froude[0] == pytest.approx(2e-5 / (area * np.sqrt(times * G * 0.0127)))


steps = st.tuples(st.floats(-0.2, 0.2), st.floats(-0.2, 0.2), st.floats(-0.3, 0.15)).filter(
    lambda step: np.linalg.norm(step) > 0.03
)


@settings(max_examples=200)
@given(
    way=st.lists(steps, min_size=1, max_size=5),
    tilt=st.floats(0, 0.7),
    bearing=st.floats(-3, 3),
    flow=st.floats(1e-9, 3e-5),
    oil=st.floats(-0.6, 0.2),
    more=st.floats(0.0001, 0.3),
    over=st.floats(0, 2000),
)
def test_more_oil_in_the_sump_never_stands_lower(way, tilt, bearing, flow, oil, more, over):
    made = drain(np.cumsum([(0.0, 0.0, 0.0), *way], axis=0), flow=flow, viscosity=0.05)
    down = leaning(tilt, bearing)
    less, plenty = (made.clearance(states(down, over=over, oil=level)) for level in (oil, oil + more))
    assert (plenty <= less + 1e-6).all()


@settings(max_examples=200)
@given(
    way=st.lists(steps, min_size=1, max_size=5),
    tilt=st.floats(0, 0.7),
    bearing=st.floats(-3, 3),
    flow=st.floats(1e-9, 3e-5),
    oil=st.floats(-0.6, 0.2),
    over=st.floats(0, 2000),
    more=st.floats(1, 1000),
)
def test_more_pressure_never_stands_lower(way, tilt, bearing, flow, oil, over, more):
    made = drain(np.cumsum([(0.0, 0.0, 0.0), *way], axis=0), flow=flow, viscosity=0.05)
    down = leaning(tilt, bearing)
    less, plenty = (made.clearance(states(down, over=p, oil=oil)) for p in (over, over + more))
    assert (plenty <= less + 1e-6).all()


# ---------------------------------------------------------------- ways, necks, fittings


@pytest.mark.parametrize(
    ("toward", "loses"),
    [((0, 1), "right side low"), ((0, -1), "left side low"), ((1, 0), "climb"), ((-1, 0), "descent")],
)
def test_a_drain_loses_its_fall_where_the_vehicle_leans_away_from_it(toward, loses):
    x, y = (0.3 * np.cos(np.radians(20)) * part for part in toward)
    made = drain([(0, 0, 0), (x, y, -0.3 * np.sin(np.radians(20)))], flow=VANISHING)
    limits = envelope(made, ["hot"]).limits["warm"]
    assert np.degrees(limits[loses]) == pytest.approx(20, abs=0.02)
    assert min(limits, key=limits.get) == loses
    assert safe_tilts(made, np.array([WAYS[loses]])) == pytest.approx([limits[loses]])


def test_a_steep_length_that_takes_too_much_bounds_the_envelope():
    made = dataclasses.replace(drain(PLUMB, flow=2e-5, floods=(0, 0, 0.1)), most_froude=0.01)
    assert (made.clearance(states(LEVEL)) > 0).all()
    assert envelope(made, ["hot"]).limits["warm"] == dict.fromkeys(WAYS)


def test_before_a_neck_in_a_flat_fall_stands_the_pool_that_it_runs_off_by():
    # Warm oil at 20 deg of fall comes too slowly to go into a bore half as wide: it does by way of critical flow.
    fall = np.radians(20)
    way = [(0, 0, 0), (0.3 * np.cos(fall), 0, -0.3 * np.sin(fall))]
    made = drain(way, flow=5e-6, viscosity=0.05)
    k = len(made.line.bore) // 2
    bore = np.where(np.arange(len(made.line.bore)) == k, 0.008, 0.0127)
    necked = dataclasses.replace(made, line=dataclasses.replace(made.line, bore=bore))
    found = necked.surface(states(LEVEL))
    pool = found.surface[0][0, k] - found.invert[0][0, k]
    assert pool == pytest.approx(least_energy(5e-6, 0.008, np.cos(fall)), abs=2e-5)
    # Hot and thin it comes with more head than that and shoots through.
    hot = dataclasses.replace(drain(way, flow=5e-6, viscosity=0.002), line=necked.line).surface(states(LEVEL))
    own = hot.normal[0, k] * 0.008 * np.cos(fall)
    assert hot.surface[0][0, k] - hot.invert[0][0, k] == pytest.approx(own, abs=2e-5)
    assert own < pool / 2


def test_a_fitting_where_it_runs_full_costs_its_head():
    fall = 0.02
    way = [(0, 0, 0), (0.5, 0, -fall)]
    made = drain(way, flow=1e-5, viscosity=0.5)
    fitting = Fitting(len(made.line.bore) // 2, "elbow", 0, 1e6, 2e11)
    with_it = dataclasses.replace(made, line=dataclasses.replace(made.line, fittings=(fitting,)))
    head = (1e6 * 0.5 * 1e-5 + 2e11 * RHO * 1e-10) / (RHO * G)
    less, more = (made_.clearance(states(LEVEL))[0] for made_ in (made, with_it))
    assert less - more == pytest.approx(head, rel=1e-6)
