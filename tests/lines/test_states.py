"""Attitudes as one effective gravity in vehicle axes, against slopes and accelerations worked by hand."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError
from scipy.spatial.transform import Rotation

from lines.states import LEVEL, AttitudeTable, attitude

G = 9.80665


def lean(**table):
    return attitude("here", AttitudeTable.model_validate(table))


def degrees(vector, along, over):
    """Angle [deg] between gravity and straight down in the plane of an axis, positive towards that axis."""
    return math.degrees(math.atan2(vector[along] * over, -vector[2]))


# ---------------------------------------------------------------- figures


@pytest.mark.parametrize(("grade", "slope"), [("30 %", 16.7), ("60 %", 31.0), ("75 %", 36.9)])
def test_a_grade_is_this_many_degrees(grade, slope):
    # atan of the grade, to one decimal. A climb puts gravity towards the tail.
    assert degrees(lean(nose_up=grade).gravity, 0, -1) == pytest.approx(slope, abs=0.05)
    assert degrees(lean(nose_down=grade).gravity, 0, +1) == pytest.approx(slope, abs=0.05)


@pytest.mark.parametrize(("grade", "slope"), [("40 %", 21.8), ("55 %", 28.8)])
def test_a_side_slope_is_this_many_degrees(grade, slope):
    # y points left: with the left side low, gravity has a part to the left.
    assert degrees(lean(left_low=grade).gravity, 1, +1) == pytest.approx(slope, abs=0.05)
    assert degrees(lean(right_low=grade).gravity, 1, -1) == pytest.approx(slope, abs=0.05)


@pytest.mark.parametrize(("times", "tilt"), [(0.3, 16.7), (0.5, 26.6), (0.8, 38.7), (1.0, 45.0), (1.5, 56.3)])
def test_an_acceleration_tilts_gravity(times, tilt):
    # atan(a/g): everything loose lags behind.
    push = f"{times} g"
    assert degrees(lean(forward=push).gravity, 0, -1) == pytest.approx(tilt, abs=0.05)
    assert degrees(lean(braking=push).gravity, 0, +1) == pytest.approx(tilt, abs=0.05)
    assert degrees(lean(turn_left=push).gravity, 1, -1) == pytest.approx(tilt, abs=0.05)
    assert degrees(lean(turn_right=push).gravity, 1, +1) == pytest.approx(tilt, abs=0.05)


def test_pulling_up_a_climb():
    # atan((g sin theta + a) / (g cos theta)) for 60 % and 0.3 g: 43.5 deg.
    here = lean(nose_up="60 %", forward="0.3 g")
    assert degrees(here.gravity, 0, -1) == pytest.approx(43.5, abs=0.05)
    theta = math.atan(0.6)
    assert here.gravity == pytest.approx((-G * math.sin(theta) - 0.3 * G, 0, -G * math.cos(theta)))


def test_level_is_straight_down():
    assert LEVEL.gravity == (0.0, 0.0, -G)
    assert lean().gravity == LEVEL.gravity
    assert LEVEL.down.tolist() == [0.0, 0.0, -1.0]


def test_what_lasts_and_at_which_duties():
    here = lean(forward="0.5 g", lasts="transient", duties=["launch"])
    assert (here.sustained, here.duties) == (False, ("launch",))
    assert lean(nose_up="10 %").sustained


@pytest.mark.parametrize("table", [{"nose_up": "-60 %"}, {"forward": "-0.5 g"}, {"left_low": "90 deg"}])
def test_a_sign_or_a_wall_is_refused(table):
    with pytest.raises(ValidationError, match=r"carries a sign|leans too far"):
        lean(**table)


# ---------------------------------------------------------------- laws

KEYS = {
    "nose_up": "slope",
    "nose_down": "slope",
    "left_low": "slope",
    "right_low": "slope",
    "forward": "push",
    "braking": "push",
    "turn_left": "push",
    "turn_right": "push",
}
values = {
    "slope": st.floats(0, 200).map(lambda x: f"{x:.3f} %"),
    "push": st.floats(0, 3).map(lambda x: f"{x:.3f} g"),
}
OPPOSITE = {"nose_up": "nose_down", "left_low": "right_low", "forward": "braking", "turn_left": "turn_right"}
OPPOSITE |= {b: a for a, b in OPPOSITE.items()}
# One of each pair: a nose that is both up and down is refused.
tables = st.fixed_dictionaries({}, optional={key: values[sort] for key, sort in KEYS.items()}).map(
    lambda table: {k: v for k, v in table.items() if k < OPPOSITE[k] or OPPOSITE[k] not in table}
)


@given(table=tables, data=st.data())
def test_the_order_of_keys_does_not_matter(table, data):
    keys = data.draw(st.permutations(list(table)))
    assert lean(**{k: table[k] for k in keys}) == lean(**table)


@given(table=tables)
def test_the_opposite_attitude_is_the_mirror_image(table):
    here, mirror = lean(**table), lean(**{OPPOSITE[k]: v for k, v in table.items()})
    assert np.array(mirror.gravity) == pytest.approx(np.array(here.gravity) * [-1, -1, 1], abs=1e-12)


@given(up=st.floats(0, 60), left=st.floats(0, 60))
def test_on_a_slope_alone_gravity_keeps_its_size(up, left):
    assert math.hypot(*lean(nose_up=f"{up:.6f} deg", left_low=f"{left:.6f} deg").gravity) == pytest.approx(G)


@given(up=st.floats(0, 45), left=st.floats(0, 45))
def test_two_grades_are_those_of_one_plane(up, left):
    # The ground is one plane; its grade along the vehicle and across it are the two tangents. A rotation about the
    # axis that lies level in that plane gives the same gravity.
    a, b = math.tan(math.radians(up)), math.tan(math.radians(left))
    size = math.hypot(a, b)
    axis = np.array([-b, -a, 0.0]) / size if size > 0 else np.zeros(3)
    turned = Rotation.from_rotvec(math.atan(size) * axis * -1).apply([0.0, 0.0, -G])
    found = lean(nose_up=f"{up:.6f} deg", left_low=f"{left:.6f} deg").gravity
    assert found == pytest.approx(turned, abs=1e-6)  # angles are written to 1e-6 deg


def test_every_word_points_where_it_says():
    # One of each, all eight: the sign of the component along x (forward) or y (left).
    says = {
        "nose_up": (0, -1),
        "nose_down": (0, 1),
        "left_low": (1, 1),
        "right_low": (1, -1),
        "forward": (0, -1),
        "braking": (0, 1),
        "turn_left": (1, -1),
        "turn_right": (1, 1),
    }
    for key, (axis, sign) in says.items():
        gravity = lean(**{key: "20 %" if KEYS[key] == "slope" else "0.2 g"}).gravity
        assert gravity[axis] * sign > 0
        assert gravity[1 - axis] == 0
    assert says.keys() == KEYS.keys()
