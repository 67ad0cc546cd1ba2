"""How a hose lies between two ports with its ends, against constructions worked by hand."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from catalogs.records import HoseEnd
from lines.held import Bench, Seat
from lines.route import angle_between, laid

MM = 1e-3
ANGLES = (0, 30, 45, 60, 90, 120, 150, 180)
LEG, BEND, TAIL, HELD = 20.0, 15.0, 25.0, 18.0
"""Of every elbow here [mm]: leg on the seat's side, radius of its arc, leg on the hose's side; hose in its collar."""
BENCH = Bench(radius=100 * MM, straight=22 * MM)


def end(degrees):
    """An elbow of those legs: along the hose TAIL + r sin t + LEG cos t, across LEG sin t + r (1 - cos t)."""
    t = math.radians(degrees)
    return HoseEnd.model_validate(
        {
            "id": f"{degrees}",
            "fits": "hose",
            "means": "for a test",
            "angle": f"{degrees} deg",
            "thread": "flare37 -6",
            "cutoff": f"{TAIL + BEND * math.sin(t) + LEG * math.cos(t)!r} mm",
            "drop": f"{LEG * math.sin(t) + BEND * (1 - math.cos(t))!r} mm",
            "insertion": f"{HELD} mm",
            "bore": "6 mm",
            "attaches": "crimped",
            "source": "for the test",
            "grade": "published",
        }
    )


ENDS = {degrees: end(degrees) for degrees in ANGLES}


def seat(at, points):
    return Seat(np.array(at, dtype=float) * MM, None if points is None else np.array(points, dtype=float))


def lay(first, last, via=(), choices=(ANGLES, ANGLES), bench=BENCH):
    ends = tuple([ENDS[degrees] for degrees in side] for side in choices)
    return laid((first, last), [np.array(p, dtype=float) * MM for p in via], ends, bench)


def angles(route):
    return tuple(round(math.degrees(held.end.angle)) for held in route.held)


# ---------------------------------------------------------------- where an end puts the hose


def test_a_straight_end_leaves_along_its_port():
    route = lay(seat((0, 0, 0), (1, 0, 0)), seat((500, 0, 0), (-1, 0, 0)))
    assert angles(route) == (0, 0)
    assert route.held[0].edge / MM == pytest.approx([LEG + TAIL, 0, 0])
    assert route.held[0].mouth / MM == pytest.approx([LEG + TAIL + HELD, 0, 0])
    assert route.line.length / MM == pytest.approx(500 - 2 * (LEG + TAIL))
    assert route.points / MM == pytest.approx(np.array([[0, 0, 0], [500, 0, 0]]))


@pytest.mark.parametrize("degrees", [30, 45, 60, 90, 120, 150])
def test_an_elbow_puts_the_cut_edge_where_its_legs_and_arc_end(degrees):
    # Port up; the elbow as it is bent: LEG up, an arc of BEND through the angle toward +x, TAIL on.
    t = math.radians(degrees)
    edge = (BEND * (1 - math.cos(t)) + TAIL * math.sin(t), 0, LEG + BEND * math.sin(t) + TAIL * math.cos(t))
    far = np.array(edge) + 600 * np.array([math.sin(t), 0, math.cos(t)])
    route = lay(seat((0, 0, 0), (0, 0, 1)), seat(far, None), choices=((degrees,), (0,)))
    held = route.held[0]
    assert held.edge / MM == pytest.approx(edge, abs=1e-9)
    assert held.axis == pytest.approx([math.sin(t), 0, math.cos(t)])
    assert held.outlet == pytest.approx([0, 0, -1])


def test_a_half_turn_lays_the_hose_beside_its_port():
    # LEG up, half a circle of BEND, TAIL down again: the hose runs down, two radii aside.
    route = lay(seat((0, 0, 0), (0, 0, 1)), seat((300, 0, -600), None), choices=((180,), (0,)))
    held = route.held[0]
    assert held.edge / MM == pytest.approx([2 * BEND, 0, LEG - TAIL], abs=1e-9)
    assert held.axis == pytest.approx([0, 0, -1], abs=1e-12)


# ---------------------------------------------------------------- which end goes on


@pytest.mark.parametrize("degrees", [0, 30, 45, 60, 90, 120, 150])
def test_of_all_angles_the_one_that_the_way_asks_for(degrees):
    # The way leaves the port at this angle; the run is long, so that the elbow's own size turns it little.
    t = math.radians(degrees)
    far = 5000 * np.array([math.sin(t), 0, math.cos(t)])
    via = [far * part for part in (0.3, 0.6)]
    route = lay(seat((0, 0, 0), (0, 0, 1)), seat(far, -far / 5000), via)
    assert angles(route)[0] == degrees
    assert route.fits


def test_a_point_within_the_elbow_is_the_elbows_own():
    # A wire bent 25 mm over the port: the elbow turns there, the hose does not.
    route = lay(seat((0, 0, 0), (0, 0, 1)), seat((600, 0, 25), (-1, 0, 0)), [(0, 0, 25)])
    assert angles(route) == (90, 0)
    assert route.held[0].skipped == 1
    assert math.degrees(route.line.turns.sum()) < 5


def test_where_the_angle_is_a_tie_the_straighter_end_goes_on():
    # 15 deg between port and way: both a straight end and one of 30 deg leave 15 deg to the hose.
    t = math.radians(15)
    far = 5000 * np.array([math.sin(t), 0, math.cos(t)])
    assert angles(lay(seat((0, 0, 0), (0, 0, 1)), seat(far, None), choices=(ANGLES, (0,))))[0] == 0


@settings(max_examples=60)
@given(turn=st.integers(0, 180))
def test_no_other_angle_would_leave_the_hose_less_to_bend(turn):
    t = math.radians(turn)
    far = 5000 * np.array([math.sin(t), 0, math.cos(t)])
    first, last = seat((0, 0, 0), (0, 0, 1)), seat(far, None)
    best = lay(first, last, choices=(ANGLES, (0,)))
    others = [lay(first, last, choices=((degrees,), (0,))) for degrees in ANGLES]
    least = min(float(other.line.turns.sum()) for other in others if other.fits)
    # No elbow is bought for 25 deg that the hose takes, and a little more than the angle of an elbow costs.
    assert best.line.turns.sum() <= least + math.radians(31 if best.held[0].end.angle == 0 else 18)


# ---------------------------------------------------------------- the bend behind a collar


def test_the_bend_behind_a_collar_starts_a_straight_behind_it():
    # Straight ends on ports that look along x, 200 mm aside: an S of two equal turns.
    route = lay(seat((0, 0, 0), (1, 0, 0)), seat((900, 200, 0), (-1, 0, 0)), choices=((0,), (0,)))
    first, last = route.line.bends
    assert first.turn == pytest.approx(last.turn, abs=1e-6)
    assert first.start / MM == pytest.approx(HELD + BENCH.straight / MM, abs=1e-3)
    assert route.line.length - last.end == pytest.approx(HELD * MM + BENCH.straight, abs=1e-6)
    # Worked by hand: over all it goes 200 mm aside in 900 mm. With the collars, straights and tangents off both sides,
    # tan(turn) = 200 / (900 - 2 (45 + 18 + 22 + 100 tan(turn / 2))).
    t = first.turn
    assert math.tan(t) == pytest.approx(200 / (900 - 2 * (85 + 100 * math.tan(t / 2))), abs=1e-6)
    assert route.taken_up(0) == pytest.approx(t)


def test_a_way_along_the_port_needs_no_bend_behind_the_collar():
    route = lay(seat((0, 0, 0), (1, 0, 0)), seat((600, 400, 0), (0, -1, 0)), [(600, 0, 0)])
    assert len(route.line.bends) == 1
    assert route.behind == (False, False)


# ---------------------------------------------------------------- what does not fit


@pytest.mark.parametrize("spare", [0.5, -1.5, -12.0])
def test_what_lacks_is_what_the_straight_is_too_short(spare):
    # One quarter turn: cut-off, collar, straight and the bend's tangent, on both sides.
    leg = LEG + TAIL + HELD + BENCH.straight / MM + 100 + spare
    route = lay(seat((0, 0, 0), (1, 0, 0)), seat((leg, leg, 0), (0, -1, 0)), [(leg, 0, 0)], choices=((0,), (0,)))
    assert route.lacks / MM == pytest.approx(-spare, abs=1e-6)
    assert route.fits == (spare >= 0)
    assert route.where in {"between end A and bend 1", "between bend 1 and end B"}


def test_a_pair_that_fits_goes_before_one_that_bends_less():
    # Too near for straight ends and a bend between them; elbows of 45 deg leave the hose nearly straight.
    first, last = seat((0, 0, 0), (1, 0, 0)), seat((150, 150, 0), (0, -1, 0))
    assert not lay(first, last, choices=((0,), (0,))).fits
    found = lay(first, last)
    assert found.fits
    assert sum(angles(found)) > 0


def test_two_ends_longer_than_their_place_lack_it():
    route = lay(seat((0, 0, 0), (1, 0, 0)), seat((110, 0, 0), (-1, 0, 0)), choices=((0,), (0,)))
    # 110 less two cut-offs of 45 leaves 20 mm of hose; the collars hold 36.
    assert route.lacks / MM == pytest.approx(16, abs=1.1)  # a millimetre is no miss
    assert route.cut / MM == pytest.approx(20)
    # 80 less two of 45: no hose at all.
    route = lay(seat((0, 0, 0), (1, 0, 0)), seat((80, 0, 0), (-1, 0, 0)), choices=((0,), (0,)))
    assert route.cut / MM == pytest.approx(-10)
    assert route.lacks / MM == pytest.approx(46, abs=1.1)


def test_what_lacks_between_two_ports_is_how_much_farther_apart_they_would_fit():
    first, last = seat((0, 0, 0), (1, 0, 0)), seat((260, 60, 0), (-1, 0, 0))
    short = lay(first, last, choices=((0,), (0,)))
    assert not short.fits
    way = last.at / np.linalg.norm(last.at)
    for more, fits in ((short.lacks + 1e-6, True), (short.lacks - 5e-3, False)):
        moved = Seat(last.at + more * way, last.points)
        assert laid((first, moved), [], ([ENDS[0]], [ENDS[0]]), BENCH).fits is fits


@pytest.mark.parametrize("apart", [(0, -216, -66), (0, -150, -100), (60, -120, -150)])
def test_where_none_fits_between_two_ports_the_hose_is_the_one_that_hands_would_force(apart):
    first, last = seat((0, 0, 0), (0, 0, -1)), seat(apart, (0, 0.906, 0.423))
    bench = Bench(radius=240 * MM, straight=50 * MM)
    forced = lay(first, last, bench=bench)
    assert not forced.fits
    assert 0 < forced.lacks < math.inf
    # No coil that leads away and back, but a bend tighter than it may be.
    assert forced.line.length < 1.5 * np.linalg.norm(last.at)
    assert max(bend.radius for bend in forced.line.bends) < bench.radius
    # So much farther apart it does fit.
    moved = Seat(last.at + (forced.lacks + 1e-3) * unit(last.at), last.points)
    assert laid((first, moved), [], tuple([held.end] for held in forced.held), bench).fits


# ---------------------------------------------------------------- laws

places = st.tuples(*[st.floats(-800, 800)] * 3)
ways = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: np.linalg.norm(v) > 0.2)
SOME = ((0, 45, 90), (0, 45, 90))


def unit(vector):
    return np.array(vector) / np.linalg.norm(vector)


@settings(max_examples=60)
@given(far=places, via=st.lists(places, max_size=3), a=ways, b=ways, data=st.data())
def test_a_vehicle_measured_from_elsewhere_has_the_same_hose(far, via, a, b, data):
    stops = [(0, 0, 0), *via, far]
    assume(all(math.dist(p, q) > 200 for p, q in itertools.pairwise(stops)))
    assume(np.linalg.norm(np.cross(unit(a), unit(b))) > 0.05 or via)  # else nothing says which way an elbow turns
    turn = Rotation.from_euler("xyz", data.draw(st.tuples(*[st.floats(-180, 180)] * 3)), degrees=True)
    one = lay(seat((0, 0, 0), unit(a)), seat(far, unit(b)), via, SOME)
    moved = [turn.apply(p) + 50 for p in stops]
    two = lay(seat(moved[0], turn.apply(unit(a))), seat(moved[-1], turn.apply(unit(b))), moved[1:-1], SOME)
    assume(angles(one) == angles(two))  # two pairs may serve as well as each other to the last bit
    assume(all(held.aside is not None for held in one.held))  # as above: it then hangs down
    assert two.fits == one.fits or abs(one.lacks) < 1e-5
    if one.fits:
        assert two.line.length == pytest.approx(one.line.length, abs=1e-6)
    else:  # found to a tenth of a millimetre; near a hairpin the tangent of half its turn runs away
        assert two.lacks == pytest.approx(one.lacks, abs=3e-4, rel=1e-2)


@settings(max_examples=60)
@given(far=places, via=st.lists(places, max_size=3), a=ways, b=ways)
def test_named_from_its_other_end_it_is_the_same_hose(far, via, a, b):
    stops = [(0, 0, 0), *via, far]
    assume(all(math.dist(p, q) > 200 for p, q in itertools.pairwise(stops)))
    one = lay(seat((0, 0, 0), unit(a)), seat(far, unit(b)), via, SOME)
    two = lay(seat(far, unit(b)), seat((0, 0, 0), unit(a)), via[::-1], SOME)
    assume(angles(one) == angles(two)[::-1])
    assert two.line.length == pytest.approx(one.line.length, abs=1e-5) or not one.fits


@settings(max_examples=60)
@given(far=places, via=st.lists(places, max_size=3), a=ways, b=ways)
def test_a_hose_leaves_its_ends_along_their_axes_and_no_tighter_than_it_may(far, via, a, b):
    stops = [(0, 0, 0), *via, far]
    assume(all(math.dist(p, q) > 200 for p, q in itertools.pairwise(stops)))
    route = lay(seat((0, 0, 0), unit(a)), seat(far, unit(b)), via, SOME)
    assume(route.fits)
    for held, way in zip(route.held, (route.line.tangents[0], -route.line.tangents[-1]), strict=True):
        assert math.degrees(angle_between(held.axis, way)) < 0.6  # less is no corner
    # A millimetre of straight is no miss; it is the radius times the tangent of half the turn.
    assert all(bend.radius + 1.01 * MM / math.tan(bend.turn / 2) >= BENCH.radius for bend in route.line.bends)
    kept = HELD * MM + BENCH.straight - 1e-5
    straights = route.line.straights
    assert len(straights) == 1 or min(straights[0], straights[-1]) >= kept


def test_hose_that_is_pushed_over_its_spigots_runs_from_mouth_to_mouth():
    over = ENDS[0].model_copy(update={"cutoff": -30 * MM, "insertion": 30 * MM, "attaches": "clamped"})
    first, last = seat((0, 0, 0), (1, 0, 0)), seat((400, 400, 0), (0, -1, 0))
    route = laid((first, last), [np.array([400, 0, 0]) * MM], ([over], [over]), BENCH)
    assert route.points / MM == pytest.approx(np.array([[0, 0, 0], [400, 0, 0], [400, 400, 0]]))
    assert route.cut / MM == pytest.approx(800 - (2 - math.pi / 2) * 100 + 60)
    assert route.held[0].mouth / MM == pytest.approx([0, 0, 0])
