"""A bore that runs part full: against exact laws, a table of exact laminar flow, and the root finder of partfull."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solver.drains.channel import Channel
from solver.drains.foam import Foam, foam
from solver.partfull import by_darcy, normal_depth, segment

G = 9.80665


def channel(flow, bore=0.0127, density=850.0, viscosity=0.05, roughness=0.0):
    flow = np.atleast_1d(np.asarray(flow, dtype=float))
    full = np.full(len(flow), 1.0)
    return Channel(bore, roughness, Foam(flow, density * full, viscosity * full, 0.0 * full))


def half_full(density, viscosity, bore, sine):
    """By symmetry half of the full pipe's laminar flow at the same slope: rho g S pi D^4 / (256 mu)."""
    return density * G * sine * np.pi * bore**4 / (256 * viscosity)


def depth(made, sine, duty=0):
    sine = np.atleast_1d(sine)
    return made.normal(G * sine, np.full(sine.shape, duty))


@pytest.mark.parametrize(("bore", "viscosity"), [(0.0127, 0.05), (0.0159, 0.05), (0.010, 0.02)])
def test_half_full_carries_half_of_the_full_pipe(bore, viscosity):
    sine = np.sin(np.radians(15))
    flow = half_full(850.0, viscosity, bore, sine)
    # Churchill's factor is within 0.3 % of 64/Re here, and the depth goes with less than the root of the flow.
    assert depth(channel(flow, bore, viscosity=viscosity), sine)[0] == pytest.approx(0.5, abs=1e-3)


# Exact laminar flow in a segment, free surface without shear: Q over that of the full pipe, by finite elements on three
# meshes that agree to 1e-4 (computed for this). The law at the hydraulic radius is stated to be within 0.2 % of the
# flow to a depth of 0.6, 1 % at 0.7, 5 % at 0.85.
EXACT = {
    0.1: 0.0034,
    0.2: 0.0332,
    0.25: 0.0673,
    0.3: 0.1179,
    0.4: 0.2741,
    0.5: 0.5,
    0.6: 0.7714,
    0.7: 1.04,
    0.85: 1.2717,
}
WITHIN = {0.7: 0.01, 0.85: 0.05}


@pytest.mark.parametrize("share", EXACT)
def test_the_law_at_the_hydraulic_radius_is_near_exact_laminar_flow(share):
    made = channel(1e-5)
    needed = made.pull(np.array([share, 1.0]))[0]
    # In laminar flow the pull goes with the flow, so that the ratio of pulls at one flow is that of flows at one pull.
    carried = needed[1] / needed[0]
    tolerance = WITHIN.get(share, 0.002) + 0.00006 / EXACT[share]  # and half of the table's last digit
    assert carried == pytest.approx(EXACT[share], rel=tolerance)


def test_at_or_over_what_fills_it_the_bore_is_full_and_just_under_it_takes_the_lower_depth():
    made = channel(1e-5)
    fills = made.pull(np.array([1.0]))[0, 0]
    full, lower = made.normal(np.array([fills * 0.999, fills * 1.001]), np.zeros(2, dtype=int))
    assert full == 1.0
    # Q = A R^2 at the hydraulic radius comes to 1 at 0.682 (by a root finder), well under the other depth.
    assert lower == pytest.approx(0.682, abs=2e-3)


def test_what_does_not_fall_is_full():
    assert (channel(1e-9).normal(np.array([0.0, -1.0]), np.zeros(2, dtype=int)) == 1.0).all()


@given(
    flow=st.floats(1e-8, 3e-4),
    viscosity=st.floats(0.003, 3.0),
    bore=st.floats(0.006, 0.04),
    fall=st.floats(0.5, 90.0),
)
def test_it_agrees_with_the_root_finder(flow, viscosity, bore, fall):
    made = channel(flow, bore, viscosity=viscosity, roughness=2e-6)
    sine = np.array([np.sin(np.radians(fall))])
    law = by_darcy(roughness=2e-6, density=850.0, viscosity=viscosity)
    expected = normal_depth(np.array([flow]), bore, sine, law)[0]
    found = depth(made, sine)[0]
    assert found == pytest.approx(max(expected, 1e-4), rel=1e-3, abs=1e-5)


@given(share=st.floats(0.01, 0.97))
def test_at_critical_depth_the_froude_number_is_one(share):
    # Chow, Open-Channel Hydraulics, 1959, section 4-1: Q^2 T / (g A^3) = 1 (from memory).
    bore, press = 0.0127, 7.0
    area = segment(np.array([share]))[0][0] * np.pi * bore**2 / 4
    width = 2 * bore * np.sqrt(share * (1 - share))
    made = channel(np.sqrt(press * area**3 / width), bore)
    assert made.critical(np.array([press]), np.array([0]))[0] == pytest.approx(share, rel=1e-3)


def test_each_duty_has_its_own_table():
    made = channel([1e-6, 1e-5, 5e-5])
    pull = np.full(3, 2.0)
    together = made.normal(pull, np.arange(3))
    alone = [channel(q).normal(pull[:1], np.zeros(1, dtype=int))[0] for q in (1e-6, 1e-5, 5e-5)]
    assert together == pytest.approx(alone, rel=1e-12)


@given(share=st.floats(0.001, 1.0), duty=st.integers(0, 1))
def test_friction_at_a_depth_is_what_even_flow_of_it_needs(share, duty):
    made = channel([1e-5, 1e-4])
    found = made.slope_at(np.array([share]), np.array([duty]))[0]
    assert found == pytest.approx(made.pull(np.array([share]))[duty, 0], rel=2e-3)


def test_foam_is_more_lighter_and_thicker():
    # Half gas: twice the flow, half the density, twice the viscosity. The mass of oil is kept.
    made = foam(np.array([2e-5]), np.array([850.0]), np.array([0.01]), np.array([0.5]))
    assert (made.flow[0], made.density[0], made.viscosity[0]) == (4e-5, 425.0, 0.02)
    assert made.flow[0] * made.density[0] == pytest.approx(2e-5 * 850.0)
