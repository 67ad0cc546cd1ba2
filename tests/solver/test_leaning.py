"""Circuits in every attitude: still liquid against its own weight, regulators against the pressure that they feel."""

import math
from dataclasses import replace

import numpy as np
import pytest
from fuelled import BOX, HOSE, RHO, fuel_plan
from hypothesis import given
from hypothesis import strategies as st
from writing import run

from lines.states import LEVEL
from lines.states import leaning as tilted
from solver.leaning import leaning
from solver.solution import Solution
from solver.study import study

G = 9.80665
ATTITUDES = {
    "climb": {"nose_up": "60 %"},
    "descent": {"nose_down": "30 deg"},
    "left": {"left_low": "40 %"},
    "launch": {"forward": "0.5 g", "lasts": "transient", "duties": ["full"]},
    "corner": {"turn_right": "0.8 g", "nose_up": "10 %", "lasts": "transient"},
}


def leant(plan):
    answer = study(plan).solutions["line"]
    assert isinstance(answer, Solution)
    return answer, leaning(plan, answer)


def row(stands, attitude, duty):
    return next(i for i, name in enumerate(stands.names) if (name.attitude, name.duty) == (attitude, duty))


# ---------------------------------------------------------------- rows


def test_every_attitude_at_each_duty_that_goes_with_it_and_level_ground_as_it_was(tmp_path):
    answer, stands = leant(fuel_plan(tmp_path, attitudes=ATTITUDES))
    assert {(n.attitude, n.duty) for n in stands.names} == {
        (attitude, duty)
        for attitude in [LEVEL.name, *ATTITUDES]
        for duty in ("idle", "full")
        if (attitude, duty) != ("launch", "idle")
    }
    assert stands.transient == {"launch", "corner"}
    for i, duty in enumerate(("idle", "full")):
        k = row(stands, "level", duty)
        for node in answer.model.circuit.nodes:
            assert stands.answer.total(node)[k] == pytest.approx(answer.total(node)[i], abs=0.5)
        assert stands.answer.flow("F1")[k] == pytest.approx(answer.flow("F1")[i], rel=1e-7)


# ---------------------------------------------------------------- against the weight of the liquid


def test_what_stands_between_tank_and_inlet_is_the_height_between_them_along_gravity(tmp_path):
    plan = fuel_plan(tmp_path, attitudes=ATTITUDES)
    _, stands = leant(plan)
    for k, name in enumerate(stands.names):
        gravity = np.array(plan.attitudes[name.attitude].gravity)
        # The pool of a box that the surface cuts on its four sides alone turns about the middle of the level one.
        middle, inlet = np.array([-2.0, 0.0, 0.45]), np.array([-1.6, 0.1, 0.25])
        column = RHO * float(gravity @ (inlet - middle))
        found = stands.answer
        lost = sum(float(part[k]) for part in found.parts("F1").values())
        mouth = next(e for e in found.model.edges if e == "tank: mouth out")
        lost += sum(float(part[k]) for part in found.parts(mouth).values())
        air = float(found.total("tank.surface")[k])
        assert air == pytest.approx(101325, abs=1)
        assert found.total("pump.in")[k] == pytest.approx(air + column - lost, abs=1.0)


def test_a_regulator_holds_the_pressure_where_it_is(tmp_path):
    _, stands = leant(fuel_plan(tmp_path, attitudes=ATTITUDES))
    for k, name in enumerate(stands.names):
        manifold = 101325 + {"idle": -50e3, "full": 100e3}[name.duty]
        assert stands.answer.total("regulator.body")[k] - manifold == pytest.approx(300e3, abs=20)


def dead_head(folder, out):
    """Without a return: the regulator's inlet lies 1.2 m behind its outlet."""
    feed = {
        "kind": "feed-regulator",
        "slope": "0 kPa per 100 L/h",
        "ports": {"in": {"at": "-1300, 100, 300 mm"}, "out": out},
    }
    runs = {
        "F1": run("tank.out", "joint.in", "inlet", **HOSE),
        "F2": run("joint.out", "pump.in", "inlet", **HOSE),
        "F3": run("pump.out", "regulator.in", "hose", **HOSE),
        "F4": run("regulator.out", "rail.in", "hose", **HOSE, rise="0 mm"),
    }
    ports = {"in": {"at": "-1700, 100, 250 mm"}, "out": {"at": "-1690, 100, 250 mm"}}
    joint = {"kind": "resistance", "k": 0.1, "bore": "8 mm", "ports": ports}
    regulator = {
        "set": "300 kPa",
        "reference": "manifold",
        "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["300 L/h"], "drop": ["20 kPa"]},
    }
    components = {"joint": joint, "regulator": regulator | feed}
    plan = fuel_plan(folder, burn="100 L/h", attitudes=ATTITUDES, components=components, runs=runs)
    return leant(plan)[1]


def test_a_dead_head_regulator_holds_the_pressure_at_its_outlet(tmp_path):
    # On a slope that is not the pressure at its inlet.
    stands = dead_head(tmp_path, {"at": "-100, 0, 880 mm"})
    assert len(stands.names) > 2
    for k, name in enumerate(stands.names):
        manifold = 101325 + {"idle": -50e3, "full": 100e3}[name.duty]
        assert stands.answer.total("regulator.out")[k] - manifold == pytest.approx(300e3, abs=20)


@given(tilt=st.floats(0, math.radians(50)), bearing=st.floats(-math.pi, math.pi), turn=st.floats(-math.pi, math.pi))
def test_vehicle_and_gravity_turned_together_change_nothing(tmp_path_factory, tilt, bearing, turn):
    # About the vertical axis, so that tank and sump stay boxes: turned by quarters a box stays along the axes.
    quarter = round(turn / (math.pi / 2))
    spun = np.linalg.matrix_power(np.array([[0, -1, 0], [1, 0, 0], [0, 0, 1]]), quarter % 4)
    found = []
    for by in (np.eye(3), spun):
        down = by @ tilted(tilt, bearing)

        def moved(text, by=by):
            x = by @ np.array([float(t) for t in text.removesuffix(" mm").split(",")])
            return ", ".join(f"{v:g}" for v in x) + " mm"

        tank = BOX | {key: moved(BOX[key]) for key in ("corner", "opposite")}
        plan = fuel_plan(tmp_path_factory.mktemp("plan"), attitudes={}, tank=tank)
        ports = {
            name: c.ports | {p: t.model_copy(update={"at": tuple(by @ t.at)}) for p, t in c.ports.items() if t.at}
            for name, c in plan.components.items()
        }
        components = {n: c if n == "tank" else replace(c, ports=ports[n]) for n, c in plan.components.items()}
        components["tank"] = replace(plan.components["tank"], ports=ports["tank"])
        attitude = type(LEVEL)("one", tuple(float(g) for g in G * down))
        plan = replace(plan, components=components, attitudes={"level": LEVEL, "one": attitude})
        _, stands = leant(plan)
        found.append(stands.answer.total("pump.in"))
    assert found[0] == pytest.approx(found[1], abs=0.5)


# ---------------------------------------------------------------- what is not known


def test_without_the_box_of_its_tank_only_level_ground_is_told(tmp_path):
    _, stands = leant(fuel_plan(tmp_path, attitudes=ATTITUDES, tank={"surface": BOX["surface"]}))
    assert {name.attitude for name in stands.names} == {"level"}
    assert set(stands.lacks) == set(ATTITUDES)
    assert "corner and opposite in [components.tank]" in stands.lacks["climb"].needs


def test_where_a_dead_head_regulator_feels_has_to_be_known(tmp_path):
    stands = dead_head(tmp_path, {"height": "880 mm"})
    assert set(stands.lacks) == set(ATTITUDES)
    assert "`at` of regulator.out" in stands.lacks["climb"].needs


def test_places_that_decide_nothing_need_not_be_known(tmp_path):
    _, stands = leant(fuel_plan(tmp_path, attitudes=ATTITUDES, place=False))
    assert not stands.lacks
    k = row(stands, "climb", "full")
    assert np.isnan(stands.answer.total("pump.in")[k])
    assert np.isfinite(stands.answer.total("regulator.body")[k])
    assert np.isfinite(stands.answer.flow("F1")[k])
