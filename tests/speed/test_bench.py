"""The benchmark's two sides solve the same circuit; nothing here looks at a clock."""

import functools

import numpy as np
import pytest
from speed.bench import duration, timed
from speed.built import ready
from speed.cases import CheckAt, RegulatorAt, fuel, grid
from speed.peer import Peer

# Equations in the flows of a cycle basis, friction by another library's Churchill and the root by MINPACK share
# nothing with the solver but the case. MINPACK stops at a relative step of 1.5e-8 in unknowns whose condition is
# some hundreds, so that a few 1e-6 remain.
CLOSE = 1e-5


@pytest.mark.parametrize("make", [fuel, functools.partial(grid, 4)], ids=["fuel", "grid"])
def test_solver_and_peer_give_the_same_flows(make):
    case = make(12, 1)
    flow, pressure, unsolved = ready(case)()
    assert unsolved == 0
    peer = Peer(case)
    start = peer.middle()
    for row in range(case.points):
        point = peer.point(row)
        its_flow, its_pressure = peer.answer(point, peer.solve(point, start))
        assert flow[row] == pytest.approx(its_flow, rel=0, abs=CLOSE * np.abs(its_flow).max())
        assert pressure[row] == pytest.approx(its_pressure, rel=0, abs=CLOSE * np.ptp(its_pressure))


def test_the_regulator_is_shut_at_some_points_and_holds_at_most():
    case = fuel(200, 1)
    flow, _, _ = ready(case)()
    regulator = next(i for i, spec in case.devices.items() if isinstance(spec, RegulatorAt))
    check = next(i for i, spec in case.devices.items() if isinstance(spec, CheckAt))
    shut = np.abs(flow[:, regulator]) < 1e-9
    assert 0 < shut.sum() < case.points / 4
    assert (flow[:, check] > 0).all()


def test_the_smallest_case_is_timed():
    row = timed(functools.partial(grid, 3), 2, beside=True)
    assert (row.nodes, row.edges, row.note) == (9, 12, "")
    assert row.difference < CLOSE
    assert row.whole > 0
    assert row.peer > 0


def test_a_duration_has_its_unit():
    assert [duration(t) for t in (2.0, 3e-3, 4e-6, None)] == ["2 s", "3 ms", "4 us", ""]
