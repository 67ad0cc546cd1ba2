"""Where a line is held: spacing by the rules, and at each change of plane."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from writing import read, run

from lines.assembly import assembly
from lines.supports import clamps, plane_changes, rule_for

IN = 0.0254


def held(folder, *, stock="ptfe-braid -6", liquid="10w-40", to="40, 0, 0 in", via=(), points=("forward", "back")):
    plan = read(
        folder,
        circuits={"line": {"fluid": liquid, "temperature": "60 C"}},
        components={
            "a": {"kind": "open", "ports": {"in": {"at": "0, 0, 0 in", "points": points[0]}}},
            "b": {"kind": "open", "ports": {"in": {"at": to, "points": points[1]}}},
        },
        runs={"H1": run("a.in", "b.in", stock, via=list(via))},
    )
    return plan, assembly(plan, "H1")


# Hose: NAVEDTRA 14105, no more than 24 in. Fuel hose: a speedway rulebook, 300 mm. Tube: MIL-H-8891A table II and the
# FAA AMT Handbook, from memory: steel 3/16 in every 14 in, 3/8 in every 20 in; aluminium 3/8 in every 16 1/2 in.
@pytest.mark.parametrize(
    ("stock", "liquid", "spacing"),
    [
        ("ptfe-braid -6", "10w-40", 24 * IN),
        ("rubber-braid -12", "glycol-50", 24 * IN),
        ("ptfe-braid -6", "gasoline-summer", 0.300),
        ("ptfe-braid -8", "e85", 0.300),
        ("tube-steel -3", "dot-4", 14 * IN),
        ("tube-steel -6", "dot-4", 20 * IN),
        ("tube-aluminium -6", "10w-40", 16.5 * IN),
        ("tube-aluminium -6", "gasoline-summer", 0.300),
        ("tube-steel -6", "diesel", 0.300),
        # US Army TM 5-4210-220-12: air tube of nylon every 2 to 3 ft, the shorter rounded down to 0.6 m.
        ("nylon-air -8", "air", 0.600),
        ("tube-stainless -6", "10w-40", 16.5 * IN),
    ],
)
def test_the_spacing_of_its_rule(tmp_path, stock, liquid, spacing):
    plan, made = held(tmp_path, stock=stock, liquid=liquid)
    assert rule_for(plan, made).spacing == pytest.approx(spacing)


@pytest.mark.parametrize(("inches", "number"), [(20, 0), (40, 1), (60, 2), (80, 3)])
def test_as_many_clamps_as_the_spacing_asks(tmp_path, inches, number):
    plan, made = held(tmp_path, to=f"{inches}, 0, 0 in")
    found = clamps(plan, made)
    assert len(found) == number
    assert number == max(math.ceil(made.free / (24 * IN)) - 1, 0)


@settings(max_examples=30)
@given(inches=st.floats(15, 300), liquid=st.sampled_from(["10w-40", "gasoline-summer"]))
def test_no_stretch_is_longer_than_its_rule(tmp_path_factory, inches, liquid):
    plan, made = held(tmp_path_factory.mktemp("held"), to=f"{inches:.3f}, 0, 0 in", liquid=liquid)
    rule, first, last = rule_for(plan, made), made.chosen[0].insertion, made.chosen[1].insertion
    stations = [first, *(hold.station for hold in clamps(plan, made)), made.cut - last]
    stretches = [b - a for a, b in itertools.pairwise(stations)]
    assert max(stretches) <= rule.spacing + 1e-9
    assert min(stretches) == pytest.approx(max(stretches))


def test_it_is_held_where_it_leaves_its_plane(tmp_path):
    # Forward, then left, then up: two quarter turns in two planes, 20 in apart; half way between them it is held.
    plan, made = held(tmp_path, via=["16, 0, 0 in", "16, 24, 0 in"], to="16, 24, 16 in", points=("forward", "down"))
    one, other = made.bends
    assert plane_changes(made) == pytest.approx([(one.end + other.start) / 2])
    (change,) = [hold for hold in clamps(plan, made) if hold.plane_changes]
    assert change.station == pytest.approx((one.end + other.start) / 2)


@pytest.mark.parametrize("last", ["0, 24, 0 in", "32, 24, 0 in"])
def test_bent_back_or_on_in_one_plane_it_does_not_leave_it(tmp_path, last):
    points = ("forward", "right" if last.startswith("0") else "back")
    _, made = held(tmp_path, via=["16, 0, 0 in", "16, 24, 0 in"], to=last, points=("forward", points[1]))
    assert plane_changes(made) == ()


def test_a_clamp_stands_beside_a_bend_where_its_spacing_lets_it(tmp_path):
    # Two legs of 24 in and a quarter turn half way: the even spacing would put the clamp on the bend.
    plan, made = held(tmp_path, via=["24, 0, 0 in"], to="24, 22, 0 in", points=("forward", "right"))
    (bend,) = made.bends
    (clamp,) = clamps(plan, made)
    assert not bend.start - 0.0099 < clamp.station < bend.end + 0.0099
    # Fuel hose is held every 300 mm: there is no room to move one off, and the spacing counts.
    plan, made = held(
        tmp_path, via=["24, 0, 0 in"], to="24, 22, 0 in", points=("forward", "right"), liquid="gasoline-summer"
    )
    stations = [made.chosen[0].insertion, *(c.station for c in clamps(plan, made)), made.cut - made.chosen[1].insertion]
    assert max(b - a for a, b in itertools.pairwise(stations)) <= 0.300 + 1e-9
