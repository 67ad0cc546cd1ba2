"""Which hose end goes on: the angle between port and path, worked by hand."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from writing import read, run, tube

from catalogs.catalog import Catalog
from lines.ends import chosen_end, matching_ends, port_turn

HOSE = "ptfe-braid -6"


def plan_of(folder, points=None, *, at="0, 0, 0 mm", to="0, 0, -400 mm", via=(), stock=HOSE, **facts):
    """A run from a port that points some way, through points, to a port that points up."""
    path = {} if via is None else {"via": list(via)}
    return read(
        folder,
        circuits={"line": {"fluid": "10w-40", "temperature": "90 C"}},
        components={
            "a": {"kind": "open", "ports": {"in": {"at": at} | ({"points": points} if points else {})}},
            "b": {"kind": "open", "ports": {"in": {"at": to, "points": "up"}}},
        },
        stock={"tube": tube("8 mm")},
        runs={"H1": run("a.in", "b.in", stock, **path, **facts)},
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("ends")


# ---------------------------------------------------------------- the angle


@pytest.mark.parametrize(
    ("points", "turn"),
    [
        ("down", 0),
        ("down 15 deg forward", 15),
        ("down 45 deg left", 45),
        ("forward", 90),
        ("forward 30 deg up", 120),
        ("up", 180),
        ("1, 0, -1", 45),
    ],
)
def test_the_turn_is_between_the_port_and_the_way_the_run_leaves(folder, points, turn):
    # The run goes straight down.
    plan = plan_of(folder, points)
    assert math.degrees(port_turn(plan, "H1", "from")) == pytest.approx(turn, abs=1e-5)
    assert math.degrees(port_turn(plan, "H1", "to")) == pytest.approx(0, abs=1e-5)


def test_at_its_other_end_the_run_is_looked_at_from_there(folder):
    # Last leg 300 mm forward and 400 mm down to a port that points up: it leaves that port back and up, 36.87 deg
    # from plumb.
    plan = plan_of(folder, "down", to="300, 0, -800 mm", via=["0, 0, -400 mm"])
    assert math.degrees(port_turn(plan, "H1", "from")) == pytest.approx(0, abs=1e-5)
    assert math.degrees(port_turn(plan, "H1", "to")) == pytest.approx(math.degrees(math.atan2(3, 4)))


# ---------------------------------------------------------------- the choice

# Ends are made straight, 45 and 90 deg: the nearest goes on and the hose takes the rest.
CHOICES = [(0, 0, 0), (20, 0, 20), (25, 45, 20), (45, 45, 0), (65, 45, 20), (70, 90, 20), (90, 90, 0), (135, 90, 45)]


@pytest.mark.parametrize(("turn", "end", "left"), CHOICES)
def test_the_nearest_end_goes_on(folder, turn, end, left):
    plan = plan_of(folder, f"down {turn} deg forward" if turn else "down")
    chosen = chosen_end(plan, "H1", "from")
    assert math.degrees(chosen.end.angle) == pytest.approx(end)
    assert math.degrees(chosen.left_over) == pytest.approx(left, abs=1e-5)
    assert chosen.end.fits == HOSE


@settings(max_examples=40)
@given(turn=st.integers(0, 180))
def test_no_other_end_would_leave_less_to_the_hose(folder, turn):
    plan = plan_of(folder, f"down {turn} deg forward" if turn else "down")
    chosen = chosen_end(plan, "H1", "from")
    others = [abs(math.degrees(end.angle) - turn) for end in plan.catalog.ends_of(HOSE)]
    assert math.degrees(chosen.left_over) == pytest.approx(min(others), abs=1e-5)


@pytest.mark.parametrize(("word", "angle"), [("straight", 0), ("45 deg", 45), ("90 deg", 90), (f"{HOSE} 45 deg", 45)])
def test_a_plan_may_say_the_end_itself(folder, word, angle):
    # Whatever the port asks for.
    plan = plan_of(folder, "down", ends=[word, "auto"])
    assert math.degrees(chosen_end(plan, "H1", "from").end.angle) == pytest.approx(angle)
    assert chosen_end(plan, "H1", "to").end.angle == 0


def test_without_the_ports_direction_no_end_is_guessed(folder):
    chosen = chosen_end(plan_of(folder), "H1", "from")
    assert chosen.end is None
    assert "a.in" in chosen.needs


def test_without_the_points_of_the_run_no_end_is_guessed(folder):
    plan = plan_of(folder, "down", via=None, length="410 mm", length_is="overall")
    assert chosen_end(plan, "H1", "from").end is None
    assert "b.in" in chosen_end(plan, "H1", "to").needs


def test_tube_without_ends_says_so(folder):
    chosen = chosen_end(plan_of(folder, "down", stock="tube"), "H1", "from")
    assert chosen.end is None
    assert "no hose end for tube" in chosen.needs


@pytest.mark.parametrize("word", ["60 deg", "bent", "", "ptfe-braid -8 straight", "auto"])
def test_a_word_that_names_no_end_matches_none(word):
    assert matching_ends(Catalog(), HOSE, word) == []


def test_the_straightest_end_stands_first():
    angles = [math.degrees(end.angle) for end in Catalog().ends_of(HOSE)]
    assert angles == pytest.approx([0, 45, 90])
