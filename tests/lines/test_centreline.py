"""A centreline against closed forms of straights, arcs and frames."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from lines.centreline import STRAIGHTEST, Centreline, corners

MM = 1e-3

# A hard line bent by hand: straights of 380, 210 and 130 mm and two quarter turns of 20 mm radius, 31.42 mm each.
IN_ONE_PLANE = [(0, 0, 0), (400, 0, 0), (400, 250, 0), (250, 250, 0)]
IN_TWO_PLANES = [*IN_ONE_PLANE[:3], (400, 250, -150)]


def line(points, radius=20.0, **facts):
    """The line through points [mm] with bends of this radius [mm]."""
    return Centreline(np.array(points, dtype=float) * MM, radius * MM, **facts)


@pytest.mark.parametrize("points", [IN_ONE_PLANE, IN_TWO_PLANES])
def test_the_developed_length_of_a_bent_tube(points):
    found = line(points)
    assert found.length / MM == pytest.approx(380 + 210 + 130 + 2 * math.pi / 2 * 20)
    assert found.length / MM == pytest.approx(782.8, abs=0.05)
    assert [x / MM for x in found.straights] == pytest.approx([380, 210, 130])
    assert [math.degrees(b.turn) for b in found.bends] == pytest.approx([90, 90])
    assert [b.length / MM for b in found.bends] == pytest.approx([31.416, 31.416], abs=1e-3)
    assert [b.start / MM for b in found.bends] == pytest.approx([380, 380 + 31.416 + 210], abs=1e-3)


def test_two_bends_of_one_plane_that_turn_the_same_way_are_not_rotated():
    assert line(IN_ONE_PLANE).rotations == pytest.approx([0.0])


def test_a_second_bend_out_of_the_plane_is_rotated_a_quarter():
    # Along +y after a turn to the left, then down. The viewer looks along +y with z up, +x to the right. The first bend
    # came from -x: the second, down, lies a quarter turn counter-clockwise from going on to -x (left, then down).
    assert np.degrees(line(IN_TWO_PLANES).rotations) == pytest.approx([90.0])
    up = [*IN_ONE_PLANE[:3], (400, 250, 150)]
    assert np.degrees(line(up).rotations) == pytest.approx([-90.0])


def test_an_offset_is_bent_back_half_a_turn_round():
    offset = [(0, 0, 0), (300, 0, 0), (500, 200, 0), (800, 200, 0)]
    assert np.abs(np.degrees(line(offset).rotations)) == pytest.approx([180.0])


def test_two_bends_share_the_straight_between_them():
    # 250 mm between two quarter turns whose tangents are as long as their radii: 125 mm each, although the first
    # straight alone would have room for 400 mm.
    assert [b.room / MM for b in line(IN_ONE_PLANE).bends] == pytest.approx([125, 125])


def test_a_last_straight_may_be_what_limits():
    # 60 mm behind a turn of 60 deg: r tan(30 deg) = 60 mm.
    end = (400 + 60 * math.cos(math.pi / 3), 60 * math.sin(math.pi / 3), 0)
    found = line([(0, 0, 0), (400, 0, 0), end])
    assert found.bends[0].room / MM == pytest.approx(60 / math.tan(math.radians(30)))
    kept = line([(0, 0, 0), (400, 0, 0), end], kept=(0.0, 25 * MM))
    assert kept.bends[0].room / MM == pytest.approx(35 / math.tan(math.radians(30)))


def test_a_bend_that_has_no_room_is_as_tight_as_it_fits():
    # Quarter turns 30 mm apart, for a radius of 20 mm: 15 mm fit. 100 + 30 + 100 less 2 (2 - pi/2) 15.
    found = line([(0, 0, 0), (100, 0, 0), (100, 30, 0), (200, 30, 0)])
    assert [b.radius / MM for b in found.bends] == pytest.approx([15, 15])
    assert found.length / MM == pytest.approx(230 - 2 * (2 - math.pi / 2) * 15)


def test_the_shortest_way_has_the_widest_bends():
    # One quarter turn between two straights of 100 mm: the whole of it an arc of 100 mm.
    found = line([(0, 0, 0), (100, 0, 0), (100, 100, 0)])
    assert found.shortest / MM == pytest.approx(math.pi / 2 * 100)
    assert found.length / MM == pytest.approx(200 - (2 - math.pi / 2) * 20)


def test_points_on_a_straight_are_no_corners():
    slow = [(100 * i, 0.3 * i * i, 0) for i in range(4)]
    assert len(corners(np.array([(0, 0, 0), (1, 0, 0), (1, 0, 0), (2, 0, 0)], dtype=float))) == 2
    # A slow curve stays one: what is left turns by more than a corner's least.
    found = line(slow)
    assert all(b.turn > STRAIGHTEST for b in found.bends)
    assert found.legs.sum() / MM == pytest.approx(sum(math.dist(a, b) for a, b in itertools.pairwise(slow)), rel=1e-4)


# ---------------------------------------------------------------- laws

coordinates = st.floats(-500, 500).map(lambda x: round(x, 2))
polylines = st.lists(st.tuples(coordinates, coordinates, coordinates), min_size=2, max_size=6).filter(
    lambda points: (
        all(math.dist(a, b) > 20 for a, b in itertools.pairwise(points))
        and all(_turn(a, b, c) < 170 for a, b, c in zip(points, points[1:], points[2:], strict=False))
    )
)


def _turn(a, b, c):
    one, two = np.subtract(b, a), np.subtract(c, b)
    return math.degrees(math.acos(np.clip(np.dot(one, two) / np.linalg.norm(one) / np.linalg.norm(two), -1, 1)))


@given(points=polylines, radius=st.floats(1, 200))
def test_its_points_are_as_far_along_as_they_say(points, radius):
    found = line(points, radius)
    stations = np.linspace(0, found.length, 4001)
    where, ways = found.at(stations)
    steps = np.linalg.norm(np.diff(where, axis=0), axis=1)
    # A chord of an arc is shorter than the arc by its angle squared over 24.
    assert steps.sum() == pytest.approx(found.length, rel=1e-3)
    assert steps.max() <= stations[1] + 1e-9
    assert np.linalg.norm(ways, axis=1) == pytest.approx(np.ones(len(ways)))
    assert where[0] / MM == pytest.approx(np.array(points[0]), abs=1e-6)
    assert where[-1] / MM == pytest.approx(np.array(points[-1]), abs=1e-3)
    assert ways[-1] == pytest.approx(found.tangents[-1], abs=1e-6)


@given(points=polylines, turn=st.tuples(*[st.floats(-180, 180)] * 3), move=st.tuples(*[st.floats(-2000, 2000)] * 3))
def test_a_vehicle_measured_from_elsewhere_has_the_same_lines(points, turn, move):
    rotation = Rotation.from_euler("xyz", turn, degrees=True)
    one, two = line(points), line(rotation.apply(np.array(points, dtype=float)) + move)
    assert two.length == pytest.approx(one.length, abs=1e-9)
    assert two.turns == pytest.approx(one.turns, abs=1e-7)
    apart = np.subtract(two.rotations, one.rotations)
    assert np.cos(apart) == pytest.approx(np.ones(len(apart)), abs=1e-6)
    carried = rotation.apply(one.carried(np.array([0.0, 0.0, 1.0])))
    assert two.carried(rotation.apply([0.0, 0.0, 1.0])) == pytest.approx(carried, abs=1e-7)


@given(points=polylines)
def test_from_its_other_end_it_is_the_same_line(points):
    one, two = line(points), line(points[::-1])
    assert two.length == pytest.approx(one.length)
    assert [b.room for b in two.bends[::-1]] == pytest.approx([b.room for b in one.bends])
    assert [one.length - b.middle for b in two.bends[::-1]] == pytest.approx([b.middle for b in one.bends])
    # A bend's rotation is seen from the other side, and from behind: the same hand.
    apart = np.subtract(two.rotations[::-1], one.rotations)
    assert np.cos(apart) == pytest.approx(np.ones(len(apart)), abs=1e-6)


@given(points=polylines, part=st.floats(0.01, 0.99), data=st.data())
def test_a_clamp_on_a_straight_changes_nothing(points, part, data):
    i = data.draw(st.integers(0, len(points) - 2))
    clamp = np.array(points[i]) + part * np.subtract(points[i + 1], points[i])
    one, two = line(points), line([*points[: i + 1], clamp, *points[i + 1 :]])
    assert two.length == pytest.approx(one.length, rel=1e-9)
    assert [b.room for b in two.bends] == pytest.approx([b.room for b in one.bends], rel=1e-6)


@given(points=polylines, vector=st.tuples(*[st.floats(-1, 1)] * 3))
def test_what_is_carried_keeps_its_length_and_its_angle_to_the_line(points, vector):
    found, vector = line(points), np.array(vector)
    arrived = found.carried(vector)
    assert np.linalg.norm(arrived) == pytest.approx(np.linalg.norm(vector), abs=1e-12)
    assert np.dot(arrived, found.tangents[-1]) == pytest.approx(np.dot(vector, found.tangents[0]), abs=1e-9)
