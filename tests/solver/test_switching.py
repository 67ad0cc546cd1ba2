"""The law of a device between two pressures: one state and one flow, wherever it starts from."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solver.devices import FLATTEST, LEAK, Bore, Check, Here, Regulator

RHO, MU, LIFT = 750.0, 5e-4, 6e3
BORE = Bore(2e11, 3e9)
ROW = np.zeros(1, dtype=np.int64)
pressures = st.floats(-1e5, 2e6)


def settled(device, start, end, state):
    """State and flow of a device between two fixed pressures, stepped as a network steps it, from a state."""
    flow = 1e-4
    for _ in range(200):
        here = Here(*(np.array([x]) for x in (flow, start, end, RHO, MU, LIFT, end)))
        a, y_start, y_end = device.line(here, np.array([state]), ROW)
        new = float((a + y_start * start - y_end * end)[0])
        if abs(new - flow) > 1e-13 + 1e-9 * abs(flow):
            flow = new
            continue
        wanted = int(device.wanted(here, np.array([state]), ROW)[0][0])
        if wanted == state:
            return state, flow
        state = wanted
    pytest.fail("never settled")


def through(drop):
    """Flow that this drop drives through the bore of the devices here: the root of a q + b q^2."""
    a, b = BORE.viscous * MU, BORE.inertial * RHO
    return (-a + np.sqrt(a**2 + 4 * b * max(drop, 0.0))) / (2 * b)


@given(start=pressures, end=pressures, crack=st.floats(0, 1e5), state=st.sampled_from([0, 1]))
def test_a_check_valve_has_one_state(start, end, crack, state):
    device = Check(np.array([crack]), BORE)
    drop = start - end - crack
    found, flow = settled(device, start, end, state)
    # It may stay in its state for 1 Pa beyond; the leak is 1e-15 m3/s per Pa of up to 2.1 MPa; near zero the law is
    # stepped with its least slope.
    assert flow == pytest.approx(through(drop), rel=1e-5, abs=2.2e-9 + through(1.0) * (abs(drop) <= 1.01))
    if abs(drop) > 1.01:
        assert found == (drop > 0)


@given(
    start=pressures,
    end=pressures,
    held=st.floats(1e5, 8e5),
    slope=st.one_of(st.just(0.0), st.floats(1e6, 1e9)),
    state=st.sampled_from([0, 1, 2]),
)
def test_a_bypass_regulator_has_one_state(start, end, held, slope, state):
    device = Regulator(np.array([held]), np.array([slope]), BORE)
    over, steep = start - LIFT - held, max(slope, FLATTEST)
    holding, wide = over / steep, through(start - end)
    found, flow = settled(device, start, end, state)
    assert flow == pytest.approx(
        max(0.0, min(holding, wide)), rel=1e-5, abs=3e-9 + max(1.0 / steep * (abs(over) <= 1.01), 0.0) + through(1.0)
    )
    if over > 1.01 and start - end > 1.01 and BORE.viscous * MU * wide > 1.01:
        # Well away from where two states meet, it is the one with the lesser flow.
        if holding < 0.999 * wide:
            assert device.states[found] == "holding"
        elif wide < 0.999 * holding:
            assert device.states[found] == "wide open"
    elif over < -1.01 or start - end < -1.01:
        assert device.states[found] == "shut"


@given(start=pressures, end=pressures, more=st.floats(0, 1e5))
def test_more_before_a_regulator_is_never_less_through_it(start, end, more):
    device = Regulator(np.array([4e5]), np.array([1e8]), BORE)
    less, most = (settled(device, p, end, 0)[1] for p in (start, start + more))
    assert most >= less - through(1.0) - LEAK * 2e6


@given(start=pressures, end=pressures, more=st.floats(0, 1e5))
def test_more_behind_a_regulator_is_never_more_through_it(start, end, more):
    device = Regulator(np.array([4e5]), np.array([1e8]), BORE)
    most, less = (settled(device, start, p, 0)[1] for p in (end, end + more))
    assert less <= most + through(1.0) + LEAK * 2e6
