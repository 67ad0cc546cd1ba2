"""Which hose ends come into question, by the plan's word and by the port's seat."""

import math

import pytest
from writing import read, run, tube

from catalogs.catalog import Catalog
from lines.assembly import assembly
from lines.ends import candidates, matching_ends

HOSE = "ptfe-braid -6"


def plan_of(folder, points=None, *, thread="", to="0, 0, -900 mm", via=(), stock=HOSE, **facts):
    """A run from a port that points some way, through points, to a port that points up."""
    path = {} if via is None else {"via": list(via)}
    port = {"at": "0, 0, 0 mm"} | ({"points": points} if points else {}) | ({"thread": thread} if thread else {})
    return read(
        folder,
        circuits={"line": {"fluid": "10w-40", "temperature": "90 C"}},
        components={
            "a": {"kind": "open", "ports": {"in": port}},
            "b": {"kind": "open", "ports": {"in": {"at": to, "points": "up"}}},
        },
        stock={"tube": tube("8 mm")},
        runs={"H1": run("a.in", "b.in", stock, **path, **facts)},
    )


def first_end(plan):
    return assembly(plan, "H1").ends[0]


# The run goes straight down, far; ends are made in these angles and the one nearest to the port's goes on.
@pytest.mark.parametrize("turn", [0, 30, 45, 60, 90, 120, 150])
def test_the_end_of_the_ports_angle_goes_on(tmp_path, turn):
    plan = plan_of(tmp_path, f"down {turn} deg forward" if turn else "down", via=["0, 0, -400 mm"])
    assert math.degrees(first_end(plan).end.angle) == pytest.approx(turn)
    assert first_end(plan).end.fits == HOSE


@pytest.mark.parametrize(
    ("word", "angle"), [("straight", 0), ("45 deg", 45), ("90 deg", 90), ("150 deg", 150), (f"{HOSE} 45 deg", 45)]
)
def test_a_plan_may_say_the_end_itself(tmp_path, word, angle):
    # Whatever the port asks for.
    made = assembly(plan_of(tmp_path, "down", ends=[word, "straight"]), "H1")
    assert math.degrees(made.ends[0].end.angle) == pytest.approx(angle)
    assert made.ends[1].end.angle == 0


def test_the_ports_seat_decides_before_the_angle(tmp_path):
    # A tapped flat face takes a banjo, whatever the way; an unknown seat gets the stock's first.
    for thread, end in (("banjo M14x1.5", "banjo M14x1.5"), ("flare37 -6", "flare37 -6"), ("", "flare37 -6")):
        assert first_end(plan_of(tmp_path, "down", thread=thread)).end.thread == end


def test_a_seat_that_an_adapter_joins_is_better_than_none(tmp_path):
    assert {e.thread for e in candidates(plan_of(tmp_path, "down", thread="orb -8"), "H1", "from")[0]} == {"flare37 -6"}


def test_without_the_ports_direction_no_angle_is_guessed(tmp_path):
    chosen = first_end(plan_of(tmp_path))
    assert chosen.end is None
    assert "a.in" in chosen.needs


def test_without_the_points_of_the_run_no_angle_is_guessed(tmp_path):
    made = assembly(plan_of(tmp_path, "down", via=None, length="910 mm", length_is="overall"), "H1")
    assert made.ends[0].end is None
    assert "b.in" in made.ends[1].needs
    assert made.cut is None


def test_the_only_end_of_a_seat_needs_no_angle(tmp_path):
    # Coolant hose is pushed over its spigot and clamped: there is nothing to choose.
    plan = plan_of(tmp_path, thread="barb 1", stock="coolant -16", via=None, length="400 mm", length_is="cut")
    assert first_end(plan).end.attaches == "clamped"


def test_tube_without_ends_says_so(tmp_path):
    chosen = first_end(plan_of(tmp_path, "down", stock="tube"))
    assert chosen.end is None
    assert "no hose end for tube" in chosen.needs


@pytest.mark.parametrize("word", ["70 deg", "bent", "", "ptfe-braid -8 straight", "auto"])
def test_a_word_that_names_no_end_matches_none(word):
    assert matching_ends(Catalog(), HOSE, word) == []


def test_the_straightest_end_stands_first():
    angles = [round(math.degrees(end.angle)) for end in Catalog().ends_of(HOSE)]
    assert angles == sorted(angles)
    assert {0, 30, 45, 60, 90, 120, 150, 180} <= set(angles)
