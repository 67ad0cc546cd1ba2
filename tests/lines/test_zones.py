"""Zones that lines keep away from: distances worked by hand, and what a zone must say."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.spatial.transform import Rotation
from writing import read, run

from catalogs.errors import PlanError
from lines.zones import ZoneTable, gaps

BOX = {"form": "box", "nature": "still", "corner": "0, 0, 0 mm", "opposite": "100, 200, 50 mm"}
PIPE = {"form": "cylinder", "nature": "hot", "from": "0, 0, 0 mm", "to": "0, 0, 300 mm", "radius": "25 mm"}
BALL = {"form": "sphere", "nature": "moving", "centre": "10, 20, 30 mm", "radius": "40 mm"}


def zone(facts):
    return ZoneTable.model_validate(facts)


@pytest.mark.parametrize(
    ("facts", "point", "gap"),
    [
        (BOX, (130, 100, 25), 30),
        (BOX, (130, 240, 25), 50),  # past an edge: 3-4-5
        (BOX, (102, 203, 56), 7),  # past a corner: 2, 3, 6
        (BOX, (50, 100, 40), -10),
        (PIPE, (55, 0, 150), 30),
        (PIPE, (0, 10, 340), 40),
        (PIPE, (55, 0, 340), 50),  # past the rim: 3-4-5
        (PIPE, (0, 0, 150), -25),
        (PIPE, (0, 0, 290), -10),
        (BALL, (10, 20, 130), 60),
        (BALL, (10, 20, 30), -40),
    ],
)
def test_a_distance_worked_by_hand(facts, point, gap):
    assert gaps(zone(facts), np.array([point]) / 1e3)[0] * 1e3 == pytest.approx(gap)


places = st.tuples(*[st.floats(-400, 400)] * 3)


@given(point=places)
def test_a_box_is_as_far_as_the_nearest_of_its_points(point):
    # By another route: the nearest point of a box is found by scipy's bounded minimisation.
    def apart(q):
        return float(np.sum((q - np.array(point)) ** 2))

    bounds = [(0, 100), (0, 200), (0, 50)]
    inside = all(low <= x <= high for x, (low, high) in zip(point, bounds, strict=True))
    found = gaps(zone(BOX), np.array([point]) / 1e3)[0] * 1e3
    if inside:
        assert found <= 0
    else:
        nearest = minimize(apart, [50, 100, 25], bounds=bounds, tol=1e-12)
        assert found == pytest.approx(math.sqrt(nearest.fun), abs=1e-3)


@given(point=places, turn=st.tuples(*[st.floats(-180, 180)] * 3))
def test_a_cylinder_turned_with_the_point_is_as_near(point, turn):
    rotation = Rotation.from_euler("xyz", turn, degrees=True)
    end = ", ".join(f"{x:.9f}" for x in rotation.apply([0, 0, 300])) + " mm"
    turned = zone(PIPE | {"to": end})
    found = gaps(turned, rotation.apply(np.array([point])) / 1e3)
    assert found == pytest.approx(gaps(zone(PIPE), np.array([point]) / 1e3), abs=1e-8)


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        (BOX | {"radius": "5 mm"}, "corner, opposite"),
        (PIPE | {"to": "0, 0, 0 mm"}, "from and to are one place"),
        (BALL | {"radius": "0 mm"}, "radius"),
        (BALL | {"growth": "-1 mm"}, "less than 0"),
        ({"form": "sphere", "nature": "hot"}, "centre, radius"),
    ],
)
def test_a_zone_says_what_it_lacks(tmp_path, facts, says):
    with pytest.raises(PlanError) as error:
        read(
            tmp_path,
            circuits={"line": {"fluid": "10w-40", "temperature": "90 C"}},
            components={"a": {"kind": "open"}, "b": {"kind": "open"}},
            zones={"thing": facts},
            runs={"H1": run("a.in", "b.in", "ptfe-braid -6", length="1 m", length_is="cut")},
        )
    assert says in str(error.value)
    assert "zones.thing" in str(error.value)


def test_a_zone_names_runs_that_exist(tmp_path):
    with pytest.raises(PlanError, match="H1"):
        read(
            tmp_path,
            circuits={"line": {"fluid": "10w-40", "temperature": "90 C"}},
            components={"a": {"kind": "open"}, "b": {"kind": "open"}},
            zones={"thing": BALL | {"apart_from": ["H2"]}},
            runs={"H1": run("a.in", "b.in", "ptfe-braid -6", length="1 m", length_is="cut")},
        )
