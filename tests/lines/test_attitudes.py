"""Attitudes of a plan: like a preset or by their own figures; and every direction that gravity may lean in.

The angles are arithmetic, printed to a tenth of a degree: hence 0.05.
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from writing import read, run

from catalogs.errors import InputError
from lines.states import LEVEL, AttitudeTable, attitude, leaning, leans

G = 9.80665


def plan(folder, attitudes, **more):
    return read(
        folder,
        circuits={"line": {"fluid": "10w-40", "temperature": "90 C"}},
        duties={"idle": {}, "full_load": {}},
        attitudes=attitudes,
        components={"sump": {"kind": "sump"}, "end": {"kind": "open", "ports": {"in": {}}}},
        runs={"D1": run("end.in", "sump.drain", "ptfe-braid -10", length="300 mm", length_is="overall")},
        **more,
    ).attitudes


def told(folder, attitudes, **more):
    with pytest.raises(InputError) as caught:
        plan(folder, attitudes, **more)
    return {(f.table, f.key): (f.message, f.nearest) for f in caught.value.faults}


def degrees(here):
    tilt, bearing = leans(here.gravity)
    return float(np.degrees(tilt)), float(np.degrees(bearing))


# ---------------------------------------------------------------- like a preset


@pytest.mark.parametrize(
    ("like", "tilt", "bearing"),
    [
        ("climb-60", 31.0, 180),
        ("descent-60", 31.0, 0),
        ("climb-75", 36.9, 180),
        ("descent-75", 36.9, 0),
        ("left-low-40", 21.8, 90),
        ("right-low-40", 21.8, -90),
        ("left-low-55", 28.8, 90),
        ("right-low-55", 28.8, -90),
        ("launch", 26.6, 180),
        ("braking", 38.7, 0),
        ("corner-left", 38.7, -90),
        ("corner-right", 38.7, 90),
        # atan((sin a + 0.3) / cos a) with a = atan(0.6)
        ("climb-60-pulling", 43.5, 180),
    ],
)
def test_a_preset_leans_gravity_by_this_much(tmp_path, like, tilt, bearing):
    here = plan(tmp_path, {"here": {"like": like}})["here"]
    found, toward = degrees(here)
    assert found == pytest.approx(tilt, abs=0.05)
    assert abs(toward) == pytest.approx(abs(bearing), abs=1e-9)
    assert math.copysign(1, toward) == math.copysign(1, bearing) or abs(bearing) in {0, 180}
    assert here.tilt == pytest.approx(math.radians(found))
    assert here.like == like


def test_what_the_plan_states_overrides_the_preset_and_nothing_else(tmp_path):
    found = plan(
        tmp_path,
        {
            "as_it_is": {"like": "climb-60-pulling"},
            "steeper": {"like": "climb-60-pulling", "nose_up": "100 %"},
            "still": {"like": "climb-60-pulling", "forward": "0 g", "lasts": "sustained", "duties": ["idle"]},
            "tilted": {"like": "climb-60", "left_low": "40 %"},
        },
    )
    # On 100 % gravity is g sin 45 along and g cos 45 square to the ground.
    assert degrees(found["steeper"])[0] == pytest.approx(
        math.degrees(math.atan((math.sqrt(0.5) + 0.3) / math.sqrt(0.5)))
    )
    assert (found["as_it_is"].sustained, found["as_it_is"].duties) == (False, None)
    assert degrees(found["still"])[0] == pytest.approx(31.0, abs=0.05)
    assert (found["still"].sustained, found["still"].duties) == (True, ("idle",))
    assert found["still"].says == ("nose_up",)
    # Two grades make one slope of the root of their squares.
    assert math.tan(found["tilted"].tilt) == pytest.approx(math.hypot(0.6, 0.4))
    assert found["tilted"].says == ("nose_up", "left_low")


def test_a_plan_uses_the_shops_own_preset(tmp_path):
    (tmp_path / "shop").mkdir()
    text = '[ramp]\nlike = "climb-60"\nnose_up = "30 %"\nsource = "by tape"\ngrade = "measured"\n'
    (tmp_path / "shop" / "attitudes.toml").write_text(text, encoding="utf-8")
    found = plan(tmp_path, {"up": {"like": "ramp"}}, plan={"shop": "shop"})
    assert degrees(found["up"])[0] == pytest.approx(16.7, abs=0.05)


def test_a_shops_broken_presets_are_told_and_not_missed_in_the_plan_too(tmp_path):
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "attitudes.toml").write_text('[ramp]\nnose_up = "30 %"\n', encoding="utf-8")
    found = told(tmp_path, {"up": {"like": "ramp"}}, plan={"shop": "shop"})
    assert list(found) == [("ramp", None)]


def test_every_fault_is_told_at_once_with_the_nearest_word(tmp_path):
    found = told(
        tmp_path,
        {
            "a": {"like": "climb60", "nose_up": "-70 %", "pitch": "3 deg", "duties": ["idel"]},
            "b": {"like": "left-lwo-55"},
            "c": {"like": "climb-65"},
            "d": {"like": "climb-60", "nose_down": "30 %"},
            "e": {"forward": "1 g", "braking": "0.5 g"},
            "f": {"like": "launch", "lasts": "long"},
            "level": {"nose_up": "1 %"},
        },
    )
    assert found == {
        ("attitudes.a", "like"): ('"climb60" is no preset', "climb-60"),
        ("attitudes.a", "nose_up"): ("carries a sign", None),
        ("attitudes.a", "pitch"): ("is no key here", None),
        ("attitudes.a", "duties"): ('"idel" is no duty of this plan', "idle"),
        ("attitudes.b", "like"): ('"left-lwo-55" is no preset', "left-low-55"),
        ("attitudes.c", "like"): ('"climb-65" is no preset', None),  # a size is never guessed
        ("attitudes.d", "nose_down"): ("stands over nose_up of climb-60, its opposite", None),
        ("attitudes.e", "braking"): ("stands beside forward, its opposite", None),
        ("attitudes.f", "lasts"): ('"long" is none of the choices', None),
        ("attitudes.level", None): ("level is always there", None),
    }


@pytest.mark.parametrize(
    ("attitude", "key", "expected", "nearest"),
    [
        ({"pitch": "30 deg"}, "pitch", '"nose_up" or "nose_down"', None),
        ({"roll": "30 deg"}, "roll", '"left_low" or "right_low"', None),
        ({"tilt": "30 deg"}, "tilt", '"nose_up" or "nose_down" or "left_low" or "right_low"', None),
        ({"climb": "60 %"}, "climb", "one of nose_up", "nose_up"),
        ({"cornering": "0.8 g"}, "cornering", '"turn_left" or "turn_right"', None),
        ({"left-down": "40 %"}, "left-down", "one of nose_up", "left_low"),
        ({"nose_up": "-60 %"}, "nose_up", 'nose_down = "60 %"', None),
        ({"like": "corner"}, "like", '"corner-left" or "corner-right", or figures of its own', None),
        ({"like": "climb"}, "like", '"climb-60" or "climb-75", or figures of its own', None),
        ({"like": "climb-65"}, "like", '"climb-60" or "climb-75", or figures of its own', None),
        ({"like": "left_low 50 %"}, "like", '"left-low-40" or "left-low-55", or figures', None),
        ({"like": "corner_left"}, "like", "one of climb-60", "corner-left"),
        ({"like": "upside-down"}, "like", 'in place of like, as nose_up = "50 %"', None),
    ],
)
def test_what_a_driver_calls_it_leads_to_the_word(tmp_path, attitude, key, expected, nearest):
    with pytest.raises(InputError) as caught:
        plan(tmp_path, {"here": attitude})
    (fault,) = caught.value.faults
    assert (fault.table, fault.key, fault.nearest) == ("attitudes.here", key, nearest)
    assert expected in fault.expected


@pytest.mark.parametrize(
    "attitude", [{}, {"lasts": "transient"}, {"nose_up": "0 %"}, {"like": "launch", "forward": "0 g"}]
)
def test_an_attitude_that_is_level_is_refused(tmp_path, attitude):
    found = told(tmp_path, {"flat": attitude})
    assert found == {("attitudes.flat", None): ("neither leans nor pushes: that is level, which is always there", None)}


def test_an_attitude_without_braces_is_shown_how(broken):
    (fault,) = broken('climb = { nose_up = "60 %", lasts = "sustained" }', 'climb = "60 %"')
    assert (fault.table, fault.message, fault.expected) == (
        "attitudes.climb",
        "must be a table",
        'climb = { like = "climb-60" }',
    )


def test_an_attitude_that_leaves_no_gravity_is_refused(tmp_path):
    # Nearly upright on its tail, falling at 1 g: sin 88 deg = 0.9994, cos 88 deg = 0.0349; 0.035 g is left.
    found = told(tmp_path, {"a": {"nose_up": "88 deg", "braking": "1 g"}, "b": {"nose_up": "80 deg"}})
    assert found == {("attitudes.a", None): ("leaves 0.03 g of gravity: where down is cannot be told", None)}


# ---------------------------------------------------------------- tilt, and the bearing that is downhill

tilts, bearings = st.floats(0, math.pi), st.floats(-math.pi, math.pi)


def test_bearings_run_from_the_nose_to_the_left():
    # ISO 8855: x forward, y left, z up.
    quarter = np.radians([0, 90, 180, 270])
    found = leaning(math.radians(30), quarter)
    s, c = 0.5, math.sqrt(0.75)
    assert found == pytest.approx(np.array([[s, 0, -c], [0, s, -c], [-s, 0, -c], [0, -s, -c]]), abs=1e-15)


def test_the_words_of_a_plan_lie_on_their_bearings():
    for key, bearing in {"nose_down": 0, "left_low": 90, "nose_up": 180, "right_low": 270}.items():
        here = attitude("here", AttitudeTable.model_validate({key: "31 deg"}))
        assert here.down == pytest.approx(leaning(math.radians(31), math.radians(bearing)), abs=1e-12)


@given(tilt=tilts, bearing=bearings)
def test_it_is_a_rotation_of_straight_down_about_the_level_axis_square_to_the_bearing(tilt, bearing):
    # A rotation by scipy, about the axis that lies level a quarter turn to the left of the bearing.
    axis = np.array([-math.sin(bearing), math.cos(bearing), 0.0])
    turned = Rotation.from_rotvec(-tilt * axis).apply(LEVEL.down)
    assert leaning(tilt, bearing) == pytest.approx(turned, abs=1e-12)


@given(tilt=st.floats(1e-3, math.pi - 1e-3), bearing=bearings, size=st.floats(0.01, 100))
def test_leans_is_the_inverse_of_leaning(tilt, bearing, size):
    found = leans(size * leaning(tilt, bearing))
    assert float(found[0]) == pytest.approx(tilt, abs=1e-12)
    assert math.remainder(float(found[1]) - bearing, math.tau) == pytest.approx(0.0, abs=1e-9)


def test_straight_down_has_no_bearing():
    assert [float(x) for x in leans(LEVEL.gravity)] == [0.0, 0.0]


def test_arrays_keep_their_shape():
    down = leaning(np.linspace(0, 1, 5)[:, None], np.linspace(0, 2, 3))
    assert down.shape == (5, 3, 3)
    assert np.linalg.norm(down, axis=-1) == pytest.approx(np.ones((5, 3)))
    assert leans(down)[0].shape == (5, 3)


# Arithmetic: atan((g sin a + push) / (g cos a)).
@pytest.mark.parametrize(
    ("grade", "push", "pitch"),
    [
        ("30 %", 0, 16.7),
        ("60 %", 0, 31.0),
        ("75 %", 0, 36.9),
        ("40 %", 0, 21.8),
        ("55 %", 0, 28.8),
        ("0 %", 0.3, 16.7),
        ("0 %", 0.5, 26.6),
        ("0 %", 0.8, 38.7),
        ("0 %", 1.0, 45.0),
        ("0 %", 1.5, 56.3),
        ("60 %", 0.3, 43.5),
    ],
)
def test_the_equivalent_pitch_of_a_grade_and_a_push(grade, push, pitch):
    here = attitude("here", AttitudeTable.model_validate({"nose_up": grade, "forward": f"{push} g"}))
    tilt, bearing = degrees(here)
    assert tilt == pytest.approx(pitch, abs=0.05)
    assert abs(bearing) == pytest.approx(180)
