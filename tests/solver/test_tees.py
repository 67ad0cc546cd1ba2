"""The loss of a tee: Crane's coefficients, no step between its patterns, no energy out of nothing."""

import fluids.fittings
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solver.tees import BRANCH, A, B, Tees, coefficients

MERGING, PARTING = 1.25, 1.075
BORE, RHO = 0.0127, 750.0
TEE = Tees(np.array([[0, 1, 2]]), np.array([BORE]), MERGING, PARTING)
HEAD = RHO / (2 * (np.pi * BORE**2 / 4) ** 2)
CURVES = coefficients(MERGING, PARTING)

flows = st.floats(-1e-3, 1e-3).filter(lambda q: q == 0 or abs(q) > 1e-7)


def drops(a, b, branch):
    """Drops from the three ports to the centre and their slopes, for flows in."""
    found, slope = TEE.drops(np.array([[[a, b, branch]]]), np.array([[[RHO]]]))
    return found[0, 0], slope[0, 0]


def between(a, b):
    """Total pressure at each port less that at port a, a and b being what comes in by those legs."""
    found, _ = drops(a, b, -a - b)
    return found - found[A]


@pytest.mark.parametrize("share", [0.0137, 0.2508, 0.333, 0.5, 0.6049, 0.97])
@pytest.mark.parametrize(
    ("dividing", "run", "branch"),
    [
        (True, "K_run_diverging_Crane", "K_branch_diverging_Crane"),
        (False, "K_run_converging_Crane", "K_branch_converging_Crane"),
    ],
)
def test_past_and_round_a_branch_it_is_cranes(share, dividing, run, branch):
    # Crane TP-410 (2009), chapter 2, as `fluids` has it. Its C steps by 0.01 where 0.4 of the flow comes by the
    # branch, and the branch begins at the static pressure of the way past it, not at 0.1 of a head over it: 0.02.
    ours = CURVES[False, dividing](share)
    theirs = [getattr(fluids.fittings, law)(BORE, BORE, 1 - share, share) for law in (run, branch)]
    assert ours == pytest.approx(theirs, abs=0.02 if share < 0.02 else 1e-3)


def test_halves_that_meet_or_part_have_the_figures_of_the_table():
    assert CURVES[True, False](0.5) == pytest.approx([MERGING] * 2)
    assert CURVES[True, True](0.5) == pytest.approx([PARTING] * 2)


def test_a_resting_branch_feels_the_static_pressure_of_what_passes():
    q = 5e-4
    assert between(q, -q)[BRANCH] == pytest.approx(-HEAD * q**2, rel=1e-6)


def test_through_a_tee_with_a_resting_branch_nothing_is_lost():
    # What its walls cost is counted apart.
    assert between(5e-4, -5e-4)[B] == 0.0


@given(a=flows, b=flows)
def test_the_two_straight_legs_are_alike(a, b):
    one, other = between(a, b), between(b, a)
    assert one - one[BRANCH] == pytest.approx((other - other[BRANCH])[[B, A, BRANCH]], abs=1e-6)


@given(a=flows, b=flows)
def test_a_tee_never_gives_energy(a, b):
    # The sum of flow times total pressure over what comes in, less that over what goes out.
    flow = np.array([a, b, -a - b])
    assert flow @ between(a, b) >= -1e-9 * HEAD * np.abs(flow).max() ** 3


@given(a=flows, b=flows)
def test_twice_the_flow_is_four_times_the_loss(a, b):
    assert between(2 * a, 2 * b) == pytest.approx(4 * between(a, b), rel=1e-9, abs=1e-9)


@given(which=st.sampled_from([A, B, BRANCH]), flow=st.floats(1e-5, 1e-3), sign=st.sampled_from([1.0, -1.0]))
def test_no_pattern_begins_with_a_step(which, flow, sign):
    # One leg all but rests; a little in and a little out of it must not differ by more than the little is worth: of
    # the curves none is steeper than 40 heads over the whole share.
    little = 1e-7
    through = np.roll([0.0, sign * flow, -sign * flow], which)
    more, less = through.copy(), through.copy()
    more[which] += little * flow
    less[which] -= little * flow
    one, other = (drops(*f)[0] for f in (more, less))
    assert one - one.mean() == pytest.approx(other - other.mean(), abs=HEAD * flow**2 * 80 * little)


@given(a=flows, b=flows)
def test_slopes_are_those_of_finite_differences(a, b):
    flow = np.array([a, b, -a - b])
    largest = np.abs(flow).max()
    # Away from where a leg rests, or two legs share the lead: there a slope has a corner.
    if largest == 0 or np.abs(flow).min() < 0.02 * largest:
        return
    _, slope = drops(*flow)
    step = 1e-6 * largest
    for leg in (A, B, BRANCH):
        there = np.eye(3)[leg] * step
        finite = (drops(*(flow + there))[0] - drops(*(flow - there))[0]) / (2 * step)
        assert slope[:, leg] == pytest.approx(finite, abs=HEAD * largest * 0.02)
