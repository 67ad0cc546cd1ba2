"""Flow in a round bore that is not full: exact laws, a solution of the segment, and its table of elements."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from solver.friction import darcy_factor
from solver.partfull import by_darcy, by_manning, flow_at, normal_depth, segment

GRAVITY = 9.80665
BORE = np.array(0.0127)

# y/D, A/Af, R/Rf, and Q/Qf of laminar flow: a solution of the segment by finite elements, without shear at the surface.
# Computed for this test: three meshes agree to 1e-4.
TABLE = [
    (0.05, 0.0187, 0.1302, 0.0003),
    (0.10, 0.0520, 0.2541, 0.0034),
    (0.20, 0.1424, 0.4824, 0.0332),
    (0.30, 0.2523, 0.6838, 0.1179),
    (0.40, 0.3735, 0.8569, 0.2741),
    (0.50, 0.5000, 1.0000, 0.5000),
    (0.60, 0.6265, 1.1106, 0.7714),
    (0.70, 0.7477, 1.1849, 1.0400),
    (0.85, 0.9059, 1.2131, 1.2717),
    (0.938, 0.9743, 1.1601, 1.1949),
    (1.00, 1.0, 1.0, 1.0),
]


def oil(viscosity=0.05, roughness=0.0, density=850.0):
    return by_darcy(roughness=roughness, density=np.array(density), viscosity=np.array(viscosity))


def full(slope, law):
    """What just fills the bore [m3/s]."""
    return flow_at(np.ones(1), BORE, np.array(slope), law)


@pytest.mark.parametrize(("depth", "area", "radius", "_"), TABLE)
def test_the_segment_of_a_circle(depth, area, radius, _):
    assert [float(x) for x in segment(np.array(depth))] == pytest.approx([area, radius], abs=6e-5)


@pytest.mark.parametrize(("depth", "_", "__", "exact"), TABLE)
def test_laminar_flow_is_that_of_the_segment(depth, _, __, exact):
    # The hydraulic diameter is within 0.2 % to a depth of 0.6, 1 % at 0.7, 5 % at 0.85, 10 % at 0.94; the table has
    # four decimals.
    off = np.interp(depth, [0.6, 0.7, 0.85, 0.938, 1.0], [0.002, 0.01, 0.05, 0.1, 1e-9])
    found = flow_at(np.array([depth, 1.0]), BORE, np.array(0.2), oil())
    assert found[0] / found[1] == pytest.approx(exact, abs=off * exact + 6e-5)


def test_half_full_and_laminar_carries_half_of_hagen_and_poiseuille():
    # Exact, by symmetry: rho g S pi D^4 / (256 mu).
    found = flow_at(np.array([0.5]), BORE, np.array(0.2), oil())[0]
    assert found == pytest.approx(850 * GRAVITY * 0.2 * np.pi * BORE**4 / (256 * 0.05), rel=1e-5)


@given(slope=st.floats(0.001, 0.9), viscosity=st.floats(1e-3, 1.0), share=st.floats(0.001, 0.99))
def test_a_depth_carries_the_flow_that_it_is_the_depth_of(slope, viscosity, share):
    law = oil(viscosity, 1e-5)
    flow = share * full(slope, law)
    depth = normal_depth(flow, BORE, np.array(slope), law)
    assert 0 < depth[0] < 0.85
    assert flow_at(depth, BORE, np.array(slope), law) == pytest.approx(flow, rel=1e-6)


@given(slope=st.floats(0.001, 0.9), viscosity=st.floats(1e-4, 1.0), more=st.floats(1.0, 10.0))
def test_at_what_just_fills_it_and_above_a_bore_is_full(slope, viscosity, more):
    law = oil(viscosity, 1e-5)
    assert normal_depth((1 + 1e-9) * more * full(slope, law), BORE, np.array(slope), law).tolist() == [1.0]


@pytest.mark.parametrize("slope", [0.0, -0.1])
def test_where_a_bore_does_not_fall_it_is_full(slope):
    assert normal_depth(np.array([1e-7]), BORE, np.array(slope), oil()).tolist() == [1.0]


@given(slope=st.floats(0.01, 0.5), steeper=st.floats(1.01, 3.0), viscosity=st.floats(1e-3, 0.5))
def test_on_a_steeper_way_a_flow_is_never_deeper(slope, steeper, viscosity):
    law = oil(viscosity)
    flow = 0.5 * full(slope, law)
    depth, less = (normal_depth(flow, BORE, np.array(s), law)[0] for s in (slope, min(slope * steeper, 1.0)))
    assert less <= depth + 1e-12


def test_turbulent_flow_against_a_root_finder():
    # Water in 0.1 m at a depth of a half, slope 0.01: f rho v^2 / (2 D) = rho g S, with the hydraulic diameter D.
    def miss(v):
        factor = darcy_factor(np.array([v * 0.1 * 998.2 / 1.002e-3]), np.array([1e-4 / 0.1]))[0]
        return factor * v**2 / (2 * 0.1) - GRAVITY * 0.01

    found = flow_at(np.array([0.5]), np.array(0.1), np.array(0.01), oil(1.002e-3, 1e-4, 998.2))[0]
    assert found == pytest.approx(brentq(miss, 0.1, 10) * np.pi * 0.1**2 / 8, rel=1e-9)


def test_a_batch_is_what_each_is_alone():
    slope, share = np.linspace(0.01, 0.9, 50), np.linspace(0.01, 1.5, 50)
    flow = share * flow_at(np.ones(50), BORE, slope, oil())
    together = normal_depth(flow, BORE, slope, oil())
    alone = [normal_depth(flow[[i]], BORE, slope[i], oil())[0] for i in range(50)]
    assert together == pytest.approx(alone, rel=1e-12)


def test_by_mannings_law_a_pipe_that_is_nearly_full_carries_most():
    # The usual table of elements: 1.076 of the full flow at 0.938.
    depth = np.linspace(0.5, 1.0, 5001)
    flow = flow_at(depth, BORE, np.array(0.001), by_manning(0.013))
    assert flow.max() / flow[-1] == pytest.approx(1.076, abs=5e-4)
    assert depth[flow.argmax()] == pytest.approx(0.938, abs=5e-4)
