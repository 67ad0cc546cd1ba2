"""Places, directions and layers among a component's figures: how they read, and what a slip is told."""

import math

import numpy as np
import pytest
from writing import read, run

from catalogs.errors import PlanError

ONE = {"corner": "0, 0, 0 mm", "opposite": "400, 300, 100 mm"}
UNDER = {"corner": "0, 0, -120 mm", "opposite": "150, 300, 0 mm"}


def plan(folder, *, sump=None, turbo=None):
    return read(
        folder,
        circuits={"drain": {"fluid": "10w-40", "temperature": "90 C"}},
        components={"turbo": {"kind": "turbocharger"} | (turbo or {}), "pan": {"kind": "sump"} | (sump or {})},
        runs={"D1": run("turbo.drain", "pan.drain", "ptfe-braid -10", "drain", length="300 mm", length_is="cut")},
    )


def test_a_place_a_direction_and_layers_are_read(tmp_path):
    facts = {"corner": "-34, -10, 28 in", "opposite": "-20, 10, 37 1/2 in", "areas": [ONE, UNDER]}
    found = plan(tmp_path, sump=facts, turbo={"shaft": "forward 30 deg up"}).components
    assert found["pan"].figures["corner"] == pytest.approx((-0.8636, -0.254, 0.7112))
    assert found["pan"].figures["opposite"] == pytest.approx((-0.508, 0.254, 0.9525))
    one, two = found["pan"].figures["areas"]
    assert one.bounds == pytest.approx(np.array([[0, 0, 0], [0.4, 0.3, 0.1]]))
    assert two.bounds == pytest.approx(np.array([[0, 0, -0.12], [0.15, 0.3, 0]]))
    assert found["turbo"].figures["shaft"] == pytest.approx((math.sqrt(0.75), 0, 0.5))


def test_they_may_be_left_out(tmp_path):
    found = plan(tmp_path).components
    assert found["turbo"].figures["shaft"] is None
    assert [found["pan"].figures[key] for key in ("corner", "opposite", "areas")] == [None] * 3


def test_a_face_in_other_units_is_one_face(tmp_path):
    # 100 mm are 3 15/16 in less 0.0125 mm: the layers neither overlap nor stand apart.
    over = {"corner": "0, 0, 3 15/16 in", "opposite": "10, 10, 6 in"}
    assert len(plan(tmp_path, sump={"areas": [ONE, over]}).components["pan"].figures["areas"]) == 2
    lid = {"corner": "0, 0, 100 mm", "opposite": "400, 300, 150 mm"}
    under = {"corner": "0, 0, 0 in", "opposite": "15, 11, 3 15/16 in"}
    assert len(plan(tmp_path, sump={"areas": [under, lid]}).components["pan"].figures["areas"]) == 2


@pytest.mark.parametrize(
    ("facts", "key", "message", "expected"),
    [
        ({"sump": {"corner": "-34, -10 in"}}, "corner", None, "three"),
        ({"sump": {"corner": "-34, -10, 28"}}, "corner", None, "unit"),
        ({"sump": {"opposite": 28}}, "opposite", None, None),
        ({"turbo": {"shaft": "forwards"}}, "shaft", '"forwards" is no direction', "a direction"),
        ({"turbo": {"shaft": "x"}}, "shaft", '"x" is no direction', "a direction"),
        ({"sump": {"areas": []}}, "areas", "is empty", "[{ corner"),
        ({"sump": {"areas": {"z": "30 in"}}}, "areas", "must be a list", "[{ corner"),
        (
            {"sump": {"areas": [{"corner": "0, 0, 0 mm"}]}},
            "areas[1].opposite",
            "is missing",
            'opposite = "860, 200, 460 mm"',
        ),
        ({"sump": {"areas": [ONE | {"height": "1 in"}]}}, "areas[1].height", "no key", "corner, opposite"),
        (
            {"sump": {"areas": [{"corner": "0, 0, 0 mm", "opposite": "400, 0, 100 mm"}]}},
            "areas[1].opposite",
            "as far left as corner",
            "across",
        ),
        ({"sump": {"areas": [ONE, ONE]}}, "areas", "layers 1 and 2 overlap", "share no space"),
        (
            {"sump": {"areas": [ONE, UNDER, {"corner": "0, 0, 300 mm", "opposite": "1, 1, 2 m"}]}},
            "areas",
            "layer 3 is not joined to layer 1",
            "touch on a face",
        ),
        (
            # Along an edge only.
            {"sump": {"areas": [ONE, {"corner": "400, 0, 100 mm", "opposite": "500, 300, 200 mm"}]}},
            "areas",
            "layer 2 is not joined to layer 1",
            "touch on a face",
        ),
        (
            {
                "sump": {
                    "areas": [
                        {"corner": f"0, 0, {10 * n} mm", "opposite": f"100, 100, {10 * n + 10} mm"} for n in range(21)
                    ]
                }
            },
            "areas",
            "21 are too many",
            "at most 20",
        ),
    ],
)
def test_a_slip_is_told_at_its_place_with_what_belongs_there(tmp_path, facts, key, message, expected):
    with pytest.raises(PlanError) as error:
        plan(tmp_path, **facts)
    (fault,) = error.value.faults
    assert fault.table == ("components.turbo" if "turbo" in facts else "components.pan")
    assert fault.key == key
    assert message is None or message in fault.message
    assert expected is None or expected in (fault.expected or "")


def test_the_pickup_is_a_port_that_is_known(tmp_path):
    with pytest.raises(PlanError) as error:
        plan(tmp_path, sump={"pickup": {"at": "0, 0, 20 mm"}})
    (fault,) = error.value.faults
    assert "ports.pickup" in fault.expected
