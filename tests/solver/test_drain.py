"""The drain of a turbocharger in every attitude, against angles worked by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from writing import read, run

from lines.finding import Verdict
from lines.states import LEVEL, AttitudeTable, attitude
from solver.checks import drain, flooding
from solver.study import study

# A crawler's drain that falls forward [mm]: from the outlet to a bung 260 forward, 40 left, 95 down. Worked by hand as
# the arc sine of the direction along effective gravity, to 0.1 deg (the descent and sides: to 1 deg).
BUNG = (260.0, 40.0, -95.0)
ATTITUDES = {
    "climb": {"nose_up": "60 %"},
    "descent": {"nose_down": "60 %"},
    "left": {"left_low": "40 %"},
    "right": {"right_low": "40 %"},
    "launch": {"forward": "0.5 g", "lasts": "transient"},
}
WORKED = {"level": 19.9, "climb": -10.8, "launch": -6.4, "descent": 50, "left": 22, "right": 15}


def down(name):
    return (LEVEL if name == "level" else attitude(name, AttitudeTable.model_validate(ATTITUDES[name]))).down


def unit(vector):
    return np.array([vector]) / np.linalg.norm(vector)


@pytest.mark.parametrize("name", WORKED)
def test_the_fall_of_a_drain_that_falls_forward(name):
    found = np.degrees(drain.falls(unit(BUNG), down(name)[None, :]))[0, 0]
    assert found == pytest.approx(WORKED[name], abs=0.05 if name in {"level", "climb", "launch"} else 0.5)


def test_a_plumb_drain_falls_90_deg_and_a_level_one_none():
    found = np.degrees(drain.falls(np.array([[0, 0, -1.0], [0, 1.0, 0], [0, 0, 1.0]]), LEVEL.down[None, :]))
    assert found.tolist() == [[90.0, 0.0, -90.0]]


vectors = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: np.linalg.norm(v) > 0.1)


@given(pieces=st.lists(vectors, min_size=1, max_size=4), turn=st.tuples(*[st.floats(-180, 180)] * 3))
def test_a_vehicle_turned_with_its_gravity_drains_the_same(pieces, turn):
    directions = np.array(pieces) / np.linalg.norm(pieces, axis=1, keepdims=True)
    gravity = np.stack([down(name) for name in WORKED])
    rotation = Rotation.from_euler("xyz", turn, degrees=True)
    turned = drain.falls(rotation.apply(directions), rotation.apply(gravity))
    # An arc sine near 90 deg knows its angle to the root of a float's last bit.
    assert turned == pytest.approx(drain.falls(directions, gravity), abs=1e-7)


# ---------------------------------------------------------------- as a plan

POINTS = {"fluid": "10w-40", "temperature": "90 C", "flow": ["1 L/min"], "drop": ["2 bar"]}


def place(xyz):
    return ", ".join(f"{x!r}" for x in xyz) + " mm"


def judged(
    folder, attitudes, *, bung=BUNG, via=(), ends=("turbo.drain", "sump.drain"), outlet=(0.0, 0.0, 0.0), **facts
):
    """The finding `drain.fall` of a plan with one drain."""
    path = {} if via is None else {"via": [place(p) for p in via]}
    plan = read(
        folder,
        circuits={"line": {"fluid": "10w-40", "temperature": "90 C"}},
        attitudes=attitudes,
        components={
            "turbo": {"kind": "turbocharger", "points": POINTS, "ports": {"drain": {"at": place(outlet)}}},
            "sump": {"kind": "sump", "ports": {"drain": {"at": place(bung)}}},
        },
        runs={"D1": run(*ends, "ptfe-braid -10", **path, **facts)},
    )
    (found,) = drain.fall(study(plan))
    assert found.id == "drain.fall/D1"
    return found


def only(*names):
    return {name: ATTITUDES[name] for name in names}


def degrees(finding):
    return {case.state.attitude: np.degrees(case.value.value) for case in finding.cases}


def test_it_fails_on_the_climb_that_it_was_never_measured_on(tmp_path):
    found = judged(tmp_path, ATTITUDES)
    assert found.verdict is Verdict.FAIL
    assert found.worst.attitude == "climb"
    assert degrees(found) == pytest.approx(WORKED, abs=0.5)
    assert "scavenge" in found.change.say("metric")


def test_on_the_level_alone_it_does_not_fail(tmp_path):
    # 19.9 deg, under the 30 deg of practice: a caution, and no word of a climb that nobody asked about.
    found = judged(tmp_path, {})
    assert (found.verdict, found.worst.attitude) == (Verdict.CAUTION, "level")


def test_a_launch_does_not_last_and_so_only_cautions(tmp_path):
    found = judged(tmp_path, only("launch"))
    assert (found.verdict, found.worst.attitude) == (Verdict.CAUTION, "launch")
    assert np.degrees(found.value.value) == pytest.approx(-6.4, abs=0.05)
    lasting = {"launch": ATTITUDES["launch"] | {"lasts": "sustained"}}
    assert judged(tmp_path, lasting).verdict is Verdict.FAIL


def test_a_steep_drain_passes_everywhere(tmp_path):
    found = judged(tmp_path, only("left", "right"), bung=(0.0, 0.0, -200.0))
    assert found.verdict is Verdict.PASS
    assert degrees(found) == pytest.approx({"level": 90, "left": 68.2, "right": 68.2}, abs=0.05)


def test_its_flattest_piece_decides_however_steep_the_rest(tmp_path):
    # Half a metre plumb, then 500 forward and 25 down, atan(0.05) = 2.9 deg, then plumb again.
    via = [(0, 0, -500), (500, 0, -525)]
    found = judged(tmp_path, {}, via=via, bung=(500.0, 0.0, -1000.0))
    assert np.degrees(found.value.value) == pytest.approx(2.86, abs=0.01)
    assert found.worst.station == "piece 2 of 3 from turbo.drain"


def test_a_run_that_cannot_lie_as_its_points_say_is_not_judged_by_them(tmp_path):
    # A hose of this size does not turn twice within 100 mm.
    via = [(0, 0, -100), (100, 0, -105)]
    found = judged(tmp_path, {}, via=via, bung=(100.0, 0.0, -200.0))
    assert found.verdict is Verdict.UNCHECKED
    assert found.needs == "what run.radius/D1 asks for first"


def test_a_dip_fails_on_the_level(tmp_path):
    found = judged(tmp_path, {}, via=[(100, 0, -150)], bung=(250.0, 0.0, -120.0))
    assert found.verdict is Verdict.FAIL
    assert found.worst.station == "piece 2 of 2 from turbo.drain"


def test_a_drain_named_from_its_sump_is_judged_as_it_flows(tmp_path):
    # The same pieces met from the other end: neither the verdict nor the piece that decides is another.
    via = [(0, 0, -100), (100, 0, -105)]
    one = judged(tmp_path, ATTITUDES, via=via, bung=(120.0, 0.0, -200.0))
    two = judged(tmp_path, ATTITUDES, via=via[::-1], bung=(120.0, 0.0, -200.0), ends=("sump.drain", "turbo.drain"))
    assert degrees(two) == pytest.approx(degrees(one))
    assert (two.verdict, two.worst) == (one.verdict, one.worst)


def test_a_sump_above_the_turbocharger_fails_however_it_is_named(tmp_path):
    for ends in (("turbo.drain", "sump.drain"), ("sump.drain", "turbo.drain")):
        assert judged(tmp_path, {}, bung=(100.0, 0.0, 50.0), ends=ends).verdict is Verdict.FAIL


def test_turned_on_the_spot_with_its_attitudes_it_drains_the_same(tmp_path):
    # A quarter turn to the left: forward becomes left, left becomes back.
    turned = {
        "climb": {"right_low": "60 %"},
        "descent": {"left_low": "60 %"},
        "left": {"nose_up": "40 %"},
        "right": {"nose_down": "40 %"},
        "launch": {"turn_left": "0.5 g", "lasts": "transient"},
    }
    one = judged(tmp_path, ATTITUDES, via=[(100, 30, -60)])
    two = judged(tmp_path, turned, via=[(-30, 100, -60)], bung=(-40.0, 260.0, -95.0))
    assert degrees(two) == pytest.approx(degrees(one))
    assert two.worst == one.worst


def test_without_its_points_two_ends_can_only_show_that_it_fails(tmp_path):
    tape = {"via": None, "length": "300 mm", "length_is": "overall"}
    assert judged(tmp_path, {}, **tape).verdict is Verdict.UNCHECKED
    assert judged(tmp_path, only("climb"), **tape).verdict is Verdict.FAIL
    assert judged(tmp_path, only("launch"), **tape).verdict is Verdict.UNCHECKED
    assert "via" in judged(tmp_path, {}, **tape).needs


def test_the_oil_in_it_is_not_passed_where_it_cannot_be_told(tmp_path):
    plan = read(
        tmp_path,
        circuits={"line": {"fluid": "10w-40", "temperature": "90 C"}},
        components={"turbo": {"kind": "turbocharger", "points": POINTS}, "sump": {"kind": "sump"}},
        runs={"D1": run("turbo.drain", "sump.drain", "ptfe-braid -10", length="300 mm", length_is="overall")},
    )
    (found,) = flooding.surface(study(plan))
    assert found.verdict is Verdict.UNCHECKED
    (fall,) = drain.fall(study(plan))
    assert fall.verdict is Verdict.UNCHECKED
