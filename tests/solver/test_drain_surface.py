"""The oil's surface in a drain, against laws that are exact."""

import numpy as np
import pytest
from drained import G, drain, least_energy, slope_that_fills, states
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from lines.states import leaning
from solver.drains.causes import dip
from solver.drains.envelope import largest_tilts, safe_tilts
from solver.drains.surface import surface

VANISHING = 1e-9
LEVEL = (0.0, 0.0, -1.0)
FORWARD = 0.0
BACK = np.pi


def falls_forward(fall, length=0.3):
    """A straight drain that falls forward at an angle [deg]."""
    return [(0, 0, 0), (length * np.cos(np.radians(fall)), 0, -length * np.sin(np.radians(fall)))]


@pytest.mark.parametrize("fall", [5, 12, 20, 31, 40])
def test_with_hardly_any_flow_a_straight_drain_has_its_own_fall_as_limit(fall):
    # Nose up the drain that falls forward loses the tilt.
    limit = safe_tilts(drain(falls_forward(fall), flow=VANISHING), np.array([BACK]))
    assert np.degrees(limit) == pytest.approx([fall], abs=0.02)


@pytest.mark.parametrize("fall", [12, 20, 31])
@pytest.mark.parametrize("viscosity", [0.1, 0.4])
def test_with_flow_the_limit_is_less_by_the_slope_that_just_fills_it(fall, viscosity):
    # The flooding point on the crown of the bore: it is reached when the bore is full, and not before.
    flow, bore = 1e-6, 0.0127
    fills = slope_that_fills(flow, 850.0, viscosity, bore)
    limits = []
    for tilt in np.radians([fall]) - np.arcsin(fills) + np.radians([-0.02, 0.02]):
        down = leaning(tilt, BACK)
        made = drain(falls_forward(fall), flow=flow, viscosity=viscosity, bore=bore)
        found = surface(made.line, made.foams, states(down))
        limits.append(found.surface[0][0, 0] >= found.crown[0][0, 0] - 1e-9)
    assert limits == [False, True]


@pytest.mark.parametrize("fall", [12, 20])
def test_at_its_middle_the_outlet_floods_at_the_slope_that_runs_it_half_full(fall):
    # Half full carries half of what fills it, so the slope is twice as much.
    flow, viscosity, bore = 1e-6, 0.3, 0.0127
    half = np.degrees(np.arcsin(2 * slope_that_fills(flow, 850.0, viscosity, bore)))
    limit = safe_tilts(drain(falls_forward(fall), flow=flow, viscosity=viscosity, bore=bore), np.array([BACK]))
    assert np.degrees(limit) == pytest.approx([fall - half], abs=0.02)


points = st.lists(
    st.tuples(st.floats(-0.2, 0.2), st.floats(-0.2, 0.2), st.floats(-0.3, 0.1)), min_size=1, max_size=3, unique=True
).filter(lambda ps: all(np.linalg.norm(p) > 0.02 for p in ps))


@settings(max_examples=60)
@given(
    way=points,
    turn=st.tuples(*[st.floats(-180, 180)] * 3),
    tilt=st.floats(0, 1.0),
    bearing=st.floats(-3, 3),
    flow=st.floats(1e-8, 5e-5),
)
def test_turning_the_vehicle_and_its_gravity_together_changes_nothing(way, turn, tilt, bearing, flow):
    rotation = Rotation.from_euler("xyz", turn, degrees=True)
    path = np.array([(0.0, 0.0, 0.0), *way])
    path = path[np.concatenate([[True], np.linalg.norm(np.diff(path, axis=0), axis=1) > 0.01])]
    down = leaning(tilt, bearing)
    one = drain(path, flow=flow, over=200.0).clearance(states(down, over=200.0))
    two = drain(rotation.apply(path), flow=flow, over=200.0).clearance(states(rotation.apply(down), over=200.0))
    assert two == pytest.approx(one, abs=1e-6)


@pytest.mark.parametrize("pressure", [50.0, 500.0, 2500.0])
def test_a_sealed_line_rises_by_the_pressure_over_the_specific_weight(pressure):
    # Upstream of a dip that stands full the oil is higher by dp / (rho g); where gas has a way, by nothing.
    way = [(0, 0, 0), (0.02, 0, -0.40), (0.10, 0, -0.46), (0.18, 0, -0.40), (0.20, 0, -0.5)]
    made = drain(way, flow=VANISHING)
    calm, pushed = (surface(made.line, made.foams, states(LEVEL, over=over)) for over in (0.0, pressure))
    lowest = dip(made, states(LEVEL)).low
    rise = pushed.surface[0][0, lowest] - calm.surface[0][0, lowest]
    assert rise == pytest.approx(pressure / (850.0 * G), rel=1e-6)
    open_way = drain([(0, 0, 0), (0.1, 0, -0.3)], flow=VANISHING)
    same = [surface(open_way.line, open_way.foams, states(LEVEL, over=over)).surface[0] for over in (0.0, pressure)]
    assert same[1] == pytest.approx(same[0])


def test_a_vacuum_in_the_crankcase_never_lowers_it():
    way = [(0, 0, 0), (0.1, 0, -0.3), (0.2, 0, -0.27), (0.25, 0, -0.5)]
    made = drain(way, flow=VANISHING)
    calm, drawn = (surface(made.line, made.foams, states(LEVEL, over=over)).surface[0] for over in (0.0, -3000.0))
    assert drawn == pytest.approx(calm)


@pytest.mark.parametrize("deep", [0.010, 0.030, 0.060])
def test_a_dip_fills_to_its_rim(deep):
    # A low point between two that lie higher; behind the rim it falls as steeply as it rose.
    way = [(0, 0, 0), (0.05, 0, -0.2), (0.15, 0, -0.2 - deep), (0.25, 0, -0.2), (0.35, 0, -0.2 - deep)]
    made = drain(way, flow=VANISHING)
    state = states(LEVEL)
    found = surface(made.line, made.foams, state)
    there = dip(made, state)
    assert there.depth == pytest.approx(deep, abs=1e-6)
    rim = -0.2 - 0.0127 / 2 * np.cos(np.arctan2(deep, 0.1))
    crown = -0.2 - deep + 0.0127 / 2 * np.cos(np.arctan2(deep, 0.1))  # a dip less deep than the bore stands full
    assert found.surface[0][0, there.low] == pytest.approx(max(rim, crown), abs=2e-4)


def test_the_sumps_oil_stands_level_in_what_it_covers():
    made = drain([(0, 0, 0), (0.1, 0, -0.3)], flow=VANISHING)
    found = surface(made.line, made.foams, states(LEVEL, oil=-0.2))
    under = found.crown[0][0] < -0.2
    assert found.covered[0]
    assert found.surface[0][0, under] == pytest.approx(-0.2, abs=1e-6)


def test_oil_under_the_end_changes_nothing():
    made = drain([(0, 0, 0), (0.1, 0, -0.3)])
    low, none = (surface(made.line, made.foams, states(LEVEL, oil=oil)).surface[0] for oil in (-0.4, -np.inf))
    assert low == pytest.approx(none)


def test_where_it_runs_full_it_rises_by_friction():
    # 0.3 m that falls at half of the slope that its flow needs: it stands over the crown at the inlet by the rest.
    flow, viscosity, bore = 1e-6, 0.5, 0.0127
    needs = slope_that_fills(flow, 850.0, viscosity, bore)
    fall = np.degrees(np.arcsin(needs / 2))
    made = drain(falls_forward(fall), flow=flow, viscosity=viscosity, bore=bore, step=0.002)
    found = surface(made.line, made.foams, states(LEVEL))
    assert found.surface[0][0, 0] - found.crown[0][0, 0] == pytest.approx(0.3 * needs / 2, rel=0.01)


@settings(max_examples=100)
@given(
    way=points,
    tilt=st.floats(0, 1.0),
    bearing=st.floats(-3, 3),
    flow=st.floats(1e-8, 5e-5),
    viscosity=st.floats(0.004, 0.5),
    oil=st.just(-np.inf) | st.floats(-0.5, 0.1),
    over=st.floats(0, 1500),
    more=st.floats(1.01, 3),
)
def test_neither_more_flow_nor_thicker_oil_stands_lower(way, tilt, bearing, flow, viscosity, oil, over, more):
    path = np.array([(0.0, 0.0, 0.0), *way])
    path = path[np.concatenate([[True], np.linalg.norm(np.diff(path, axis=0), axis=1) > 0.01])]
    state = states(leaning(tilt, bearing), oil=oil, over=over)
    less, plenty, thick = (
        drain(path, flow=q, viscosity=mu).clearance(state)
        for q, mu in ((flow, viscosity), (more * flow, viscosity), (flow, more * viscosity))
    )
    assert (plenty <= less + 1e-6).all()
    # Where a stream passes from laminar to turbulent it takes more fall than it did thicker.
    if 4 * 850.0 * flow / (np.pi * 0.0127 * viscosity) < 200:
        assert (thick <= less + 1e-6).all()


def test_hot_and_fast_the_inlet_decides():
    # 30 deg of fall: even flow is shallow and fast, so that the housing keeps the pool that it runs off by.
    made = drain(falls_forward(30), flow=1e-5, viscosity=0.004)
    found = surface(made.line, made.foams, states(LEVEL))
    pool = found.surface[0][0, 0] - found.invert[0][0, 0]
    assert found.normal[0, 0] * 0.0127 < 0.6 * pool
    assert pool == pytest.approx(least_energy(1e-5, 0.0127, np.cos(np.radians(30))), abs=2e-5)


def test_a_pool_before_a_bore_that_is_all_but_full_keeps_no_more_than_the_full_bore_takes():
    # Critical depth nears the crown, where its velocity head grows without bound: the bore runs full before that.
    flow, cosine = 1.5e-4, np.cos(np.radians(30))
    made = drain(falls_forward(30), flow=flow, viscosity=0.004)
    pool = made.surface(states(LEVEL)).surface[0][0, 0] - made.surface(states(LEVEL)).invert[0][0, 0]
    full = 0.0127 * cosine + (flow / (np.pi * 0.0127**2 / 4)) ** 2 / (2 * G)
    assert pool == pytest.approx(full, abs=2e-5)


def test_foam_in_a_covered_end_stands_over_the_oil_by_its_gas():
    # The column of foam over the crown of the end weighs what the oil over it does: the law of the manometer.
    end, oil = -0.4, -0.3
    for gas in (0.0, 0.5):
        made = drain([(0, 0, 0), (0, 0, end)], flow=VANISHING, gas=gas)
        found = made.surface(states(LEVEL, oil=oil))
        top = found.surface[0][0]
        stands = float(top[top > found.crown[0][0] + 1e-4].max())
        assert stands == pytest.approx(end + (oil - end) / (1 - gas), abs=1e-3)


def test_what_runs_down_a_length_steeper_than_half_upright_is_as_deep_as_its_own_fall_makes_it():
    # Thick oil near what the bore takes: its Froude number says nothing, and no step lies at 45 deg for even flow.
    flow = 0.95 * 850.0 * G * np.sin(np.radians(45)) * np.pi * 0.0127**4 / (128 * 0.5)
    clear = [float(drain(falls_forward(a), flow=flow, viscosity=0.5).clearance(states(LEVEL))[0]) for a in (44.9, 45.1)]
    assert clear[0] == pytest.approx(clear[1], abs=2e-4)
    assert clear[1] < 0


@pytest.mark.parametrize("limit", [0.49, 0.999, 7.31, 33.3])
def test_a_limit_of_tilt_is_never_past_the_last_that_works(limit):
    found = np.degrees(largest_tilts(lambda tilt, _bearing: tilt <= np.radians(limit), np.zeros(1)))[0]
    assert limit - 0.002 < found <= limit + 1e-9
