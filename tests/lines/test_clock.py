"""The clock angle of two angled ends against situations worked by hand and an independent construction."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from lines.centreline import Centreline
from lines.clock import clock_angle

STRAIGHT = Centreline(np.array([[0.0, 0, 0], [0.7, 0, 0]]), 0.1)
DOWN, UP, LEFT, RIGHT = (np.array(v, dtype=float) for v in ((0, 0, -1), (0, 0, 1), (0, 1, 0), (0, -1, 0)))


def degrees(line, near, far):
    return math.degrees(clock_angle(line, (near, far)))


# The hose runs forward, the viewer stands behind it and looks along: left is +y. The near outlet hangs at 6 o'clock;
# from there counter-clockwise comes 3 o'clock, the right. (MIL-DTL-83796/5 fig. 3, which refers to SAE J517.)
@pytest.mark.parametrize(("far", "clock"), [(DOWN, 0), (RIGHT, 90), (UP, 180), (LEFT, 270)])
def test_counter_clockwise_from_six_o_clock_to_the_far_outlet(far, clock):
    assert degrees(STRAIGHT, DOWN, far) == pytest.approx(clock, abs=1e-9)


def test_far_to_near_clockwise_is_the_same_number():
    # A house says: far outlet at 12 o'clock, clockwise to the near one. Turn the hose so that the far one is up; the
    # near one then stands at 90 deg clockwise from it, at 3 o'clock, seen from the near end.
    turn = Rotation.from_rotvec([math.radians(90), 0, 0])
    near, far = turn.apply(DOWN), turn.apply(RIGHT)
    seen = {tuple(np.round(v)): hour for v, hour in zip((UP, RIGHT, DOWN, LEFT), (12, 3, 6, 9), strict=True)}
    hours = seen[tuple(np.round(near))] - seen[tuple(np.round(far))]
    assert (hours * 30) % 360 == pytest.approx(degrees(STRAIGHT, DOWN, RIGHT))


def test_it_is_carried_round_a_bend_in_its_plane():
    # A quarter turn to the left with both outlets down: nothing turns them.
    bent = Centreline(np.array([[0.0, 0, 0], [0.4, 0, 0], [0.4, 0.4, 0]]), 0.1)
    assert degrees(bent, DOWN, DOWN) == pytest.approx(0, abs=1e-9)
    # A quarter turn upward: what hung down at first points forward at its end.
    lifted = Centreline(np.array([[0.0, 0, 0], [0.4, 0, 0], [0.4, 0, 0.4]]), 0.1)
    assert degrees(lifted, DOWN, np.array([1.0, 0, 0])) == pytest.approx(0, abs=1e-9)


def test_an_outlet_that_points_along_the_hose_has_no_clock_angle():
    assert clock_angle(STRAIGHT, (np.array([-1.0, 0, 0]), DOWN)) is None


# ---------------------------------------------------------------- against another construction

points = st.lists(st.tuples(*[st.floats(-0.5, 0.5)] * 3), min_size=2, max_size=6).filter(
    lambda found: all(math.dist(a, b) > 0.05 for a, b in itertools.pairwise(found))
)
directions = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: np.linalg.norm(v) > 0.1)


def by_turning_back(line, near, far, steps=1500):
    """The same by another way: unbend the hose, small piece by small piece, with scipy's rotations.

    Each piece's tangent is turned onto the one before by the smallest rotation; all of them together lay the far outlet
    beside the near one, on a straight hose, where the angle is read off as a clock face is.
    """
    _, ways = line.at(np.linspace(0.0, line.length, steps))
    back = Rotation.identity()
    for one, two in itertools.pairwise(ways):
        axis = np.cross(two, one)
        size = np.linalg.norm(axis)
        if size > 1e-15:
            back *= Rotation.from_rotvec(axis / size * math.atan2(size, np.dot(one, two)))
    ahead = ways[0]
    six = near - np.dot(near, ahead) * ahead
    three = np.cross(ahead, -six)  # the right of a viewer who looks along `ahead` and whose up is -six
    laid = back.apply(far)
    return math.degrees(math.atan2(np.dot(laid, three), np.dot(laid, six))) % 360


@settings(max_examples=40)
@given(points=points, near=directions, far=directions)
def test_it_agrees_with_the_hose_unbent_by_scipys_rotations(points, near, far):
    line = Centreline(np.array(points), 0.05)
    near, far = (np.array(v) / np.linalg.norm(v) for v in (near, far))
    assume(abs(np.dot(near, line.tangents[0])) < 0.99)
    assume(abs(np.dot(far, line.tangents[-1])) < 0.99)
    assume((line.turns < math.radians(170)).all())
    apart = degrees(line, near, far) - by_turning_back(line, near, far)
    assert math.cos(math.radians(apart)) == pytest.approx(1.0, abs=1e-6)


@given(points=points, near=directions, far=directions)
def test_from_the_other_end_it_is_the_same(points, near, far):
    near, far = (np.array(v) / np.linalg.norm(v) for v in (near, far))
    one, two = Centreline(np.array(points), 0.05), Centreline(np.array(points[::-1]), 0.05)
    assume(abs(np.dot(near, one.tangents[0])) < 0.99)
    assume(abs(np.dot(far, one.tangents[-1])) < 0.99)
    assume((one.turns < math.radians(170)).all())
    apart = clock_angle(one, (near, far)) - clock_angle(two, (far, near))
    assert math.cos(apart) == pytest.approx(1.0, abs=1e-9)


@given(points=points, near=directions, far=directions)
def test_in_a_mirror_it_is_counted_the_other_way(points, near, far):
    near, far = (np.array(v) / np.linalg.norm(v) for v in (near, far))
    mirror = np.array([1.0, -1.0, 1.0])
    one, two = Centreline(np.array(points), 0.05), Centreline(np.array(points) * mirror, 0.05)
    assume(abs(np.dot(near, one.tangents[0])) < 0.99)
    assume(abs(np.dot(far, one.tangents[-1])) < 0.99)
    assume((one.turns < math.radians(170)).all())
    total = clock_angle(one, (near, far)) + clock_angle(two, (near * mirror, far * mirror))
    assert math.cos(total) == pytest.approx(1.0, abs=1e-9)
