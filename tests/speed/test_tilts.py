"""The two sides of the comparison over every tilt solve the same; nothing here looks at a clock."""

import numpy as np
import pytest
from speed.tilts import drain_of, row_of, timed


@pytest.fixture(scope="module")
def drain(tmp_path_factory):
    return drain_of(tmp_path_factory.mktemp("plan"))


def test_both_sides_find_the_same(drain):
    # Tabled depths against roots: within 1e-4 of a bore of 12.7 mm at each of 17 pieces.
    found = timed(drain, np.radians([0.0, 5.0, 15.0]), np.radians([0.0, 90.0, 200.0]))
    assert found.states == 9 * len(drain.known)
    assert found.difference < 1e-5
    assert found.times > 0


def test_its_row_has_every_cell(drain):
    row = row_of(timed(drain, np.radians([0.0]), np.radians([0.0])))
    assert row.count("|") == 8
