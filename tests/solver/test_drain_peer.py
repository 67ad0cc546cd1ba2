"""The oil's surface in a drain against the same rules written down plainly, by the roots and friction of libraries."""

import dataclasses
import functools
import itertools
from pathlib import Path

import numpy as np
import pytest
from drained import drain, states
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from speed.plaindrain import STEEP, stands
from speed.tilts import drain_of, every_state
from turbocharged import plan_of

from lines.reading import read_plan
from lines.states import leaning
from solver.drains.causes import Seal, seal
from solver.drains.pieces import Fitting
from solver.study import study

LONG_TRAVEL = Path(__file__).parents[2] / "lines" / "examples" / "long-travel" / "plan.toml"
DEPTH = 1e-4
"""[m]: tabled depths are within 1e-4 of the bore, a few micrometres, once at every piece that a rise begins from."""
RISE = 1e-4
"""[-]: a table of friction, straight between depths in its logarithm, is off by the square of their step, 2e-3 of it,
times a curvature of some tens; of a rise of metres that is tenths of a millimetre."""
LEVEL = (0.0, 0.0, -1.0)


def agrees(made, state, row=0):
    """The solver and the plain peer find the same in a state, unless rounding decides what is sealed."""
    found, plain = made.surface(state), stands(made, state, row)
    assume(plain.close > DEPTH)
    assert found.sealed[row].tolist() == plain.sealed
    high = np.abs(made.floods - made.line.points).max() + abs(plain.clearance)
    assert found.surface[0][row] == pytest.approx(plain.surface, rel=0, abs=DEPTH + RISE * high)
    assert made.clearance(state)[row] == pytest.approx(plain.clearance, rel=0, abs=DEPTH + RISE * high)
    return found, plain


def clear_cut(fall, normal):
    """No piece so near to where a rule changes that rounding decides."""
    near_steep = np.abs(np.abs(fall) - STEEP) <= 1e-6
    return not near_steep.any() and ((fall < -1e-6) | (fall > 1e-4)).all() and (normal != 0.9999).all()


steps = st.tuples(st.floats(-0.2, 0.2), st.floats(-0.2, 0.2), st.floats(-0.3, 0.1)).filter(
    lambda step: np.linalg.norm(step) > 0.02
)
powers = st.floats(-8, -4)


@settings(max_examples=300, deadline=None)
@given(
    way=st.lists(steps, min_size=1, max_size=4),
    tilt=st.floats(0, 0.7),
    bearing=st.floats(-3, 3),
    flow=powers.map(lambda p: 10.0**p),
    viscosity=st.floats(np.log10(0.003), np.log10(2)).map(lambda p: 10.0**p),
    oil=st.none() | st.floats(-0.2, 0.3),
    over=st.sampled_from([0.0, -500.0, 300.0, 2500.0]),
    gas=st.sampled_from([0.0, 0.5, 0.7]),
    lost=st.lists(st.tuples(st.floats(0, 1), st.floats(0, 3), st.floats(0, 3)), max_size=3),
    step=st.sampled_from([0.025, 0.004]),
)
def test_a_random_drain_stands_as_the_plain_one_does(way, tilt, bearing, flow, viscosity, oil, over, gas, lost, step):
    points = np.array([(0.0, 0.0, 0.0), *itertools.accumulate(way, np.add)])
    made = drain(points, flow=flow, viscosity=viscosity, gas=gas, step=step)
    # Fittings anywhere, of up to three velocity heads and as much again of 300/Re.
    area, last = np.pi * 0.0127**2 / 4, len(made.line.bore) - 1
    fittings = tuple(
        Fitting(round(at * last), "elbow", 0, 300 * k1 * np.pi * 0.0127 / (8 * area**2), k2 / (2 * area**2))
        for at, k1, k2 in lost
    )
    made = dataclasses.replace(made, line=dataclasses.replace(made.line, fittings=fittings))
    down = leaning(tilt, bearing)
    level = -np.inf if oil is None else float(-points[-1] @ down) + oil
    state = states(down, over=over, oil=level)
    found = made.surface(state)
    assume(clear_cut(found.fall, found.normal))
    found, plain = agrees(made, state)
    assert found.covered[0] == plain.covered


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """Drains of whole plans by name, each worked out once."""
    ways = {
        "straight": {},
        "with a dip": {"via": ((60.0, 0.0, 300.0), (100.0, 0.0, 220.0))},
        "into a pressed crankcase": {
            "sump": {
                "corner": "-200, -150, 0 mm",
                "opposite": "200, 150, 250 mm",
                "surface": {"full": "120 mm", "low": "90 mm"},
                "crankcase": "10 mbar",
            }
        },
    }

    @functools.cache
    def drains(name):
        if name == "bent":
            return drain_of(tmp_path_factory.mktemp("plan"))
        if name in ways:
            return study(plan_of(tmp_path_factory.mktemp("plan"), **ways[name])).drains["turbo"]
        return study(read_plan(LONG_TRAVEL)).drains[name]

    return drains


@pytest.mark.parametrize(
    "name", ["straight", "bent", "with a dip", "into a pressed crankcase", "left_turbo", "right_turbo"]
)
def test_the_drain_of_a_plan_stands_as_the_plain_one_does_at_every_tilt(built, name):
    made = built(name)
    some = np.radians(np.arange(0.0, 60.0, 6.3)), np.radians(np.arange(0.0, 360.0, 70.0))
    state = every_state(made, *some)
    whole, clearance = made.surface(state), made.clearance(state)
    compared = 0
    for row in range(len(state)):
        plain = stands(made, state, row)
        if plain.close <= DEPTH:
            continue
        high = np.abs(made.floods - made.line.points).max() + abs(plain.clearance)
        assert clearance[row] == pytest.approx(plain.clearance, rel=0, abs=DEPTH + RISE * high)
        assert whole.sealed[row].tolist() == plain.sealed
        compared += 1
    assert compared > len(state) / 10


# ---------------------------------------------------------------- what must not depend on how it is looked at


def test_a_bore_that_its_flow_fills_is_full_at_its_end_too():
    # Hagen-Poiseuille: a bore that runs full all the way stands over its crown at the inlet by what friction takes
    # beyond its fall, however it is cut in pieces.
    way = [(0, 0, 0), (0.025, 0, -0.005)]
    one, many = (drain(way, flow=1e-5, viscosity=0.5, step=step) for step in (0.025, 0.0005))
    assert one.clearance(states(LEVEL)) == pytest.approx(many.clearance(states(LEVEL)), abs=DEPTH)


def test_an_end_in_the_open_is_not_covered_by_what_pressure_lifts():
    made = drain([(0, 0, 0.3), (0.3, 0, 0.2)], flow=1e-5, viscosity=0.5)
    found = made.surface(states(LEVEL, over=2500.0))
    assert seal(found, 0)[0] is Seal.FULL
    assert not found.covered[0]


def test_what_does_not_fall_seals_no_less_than_what_hardly_falls():
    # Either counts as full, and a full length seals: so the level one cannot stand 200 mm lower under pressure.
    level, falls = (
        drain([(0, 0, 0), (0.1, 0, -0.1), (0.3, 0, -0.1 - by), (0.4, 0, -0.3)], flow=1e-6, viscosity=0.1)
        for by in (0.0, 1e-5)
    )
    state = states(LEVEL, over=2500.0)
    # The one stands full to its crown and the other over its crest: less than a bore apart.
    assert level.clearance(state) == pytest.approx(falls.clearance(state), abs=0.0127)


def test_an_outlet_along_gravity_does_not_flood_by_rounding():
    # Its invert and the middle of its outlet are one place: the oil stays under it by nothing, and not by less.
    rng = np.random.default_rng(0)
    for top, down in rng.normal(size=(500, 2, 3)):
        way = [top, top + 0.3 * down / np.linalg.norm(down)]
        assert drain(way, flow=1e-7).clearance(states(down))[0] >= 0
