"""The shape of a run against closed forms of straights and fillets."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from writing import read, run, tube

from lines.shape import shape

MM = 1e-3


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("shape")


def point(xyz):
    return ", ".join(f"{x:.9f}" for x in xyz) + " mm"


def of_points(folder, points, *, radius=20.0, stock=None, **facts):
    """The shape of a run through points [mm] in tube of this centreline radius [mm]."""
    plan = read(
        folder,
        circuits={"line": {"fluid": "water", "temperature": "20 C"}},
        components={
            "a": {"kind": "open", "ports": {"in": {"at": point(points[0])}}},
            "b": {"kind": "open", "ports": {"in": {"at": point(points[-1])}}},
        },
        stock={"tube": tube("8 mm", outside="10 mm", bend_radius=f"{radius!r} mm") | (stock or {})},
        runs={"T1": run("a.in", "b.in", "tube", via=[point(p) for p in points[1:-1]], **facts)},
    )
    return shape(plan, "T1")


def by_tape(folder, a=None, b=None, **facts):
    """The shape of a run of hose known by a tape alone."""
    ports = {k: {"in": v} for k, v in (("a", a), ("b", b)) if v}
    plan = read(
        folder,
        circuits={"line": {"fluid": "water", "temperature": "20 C"}},
        components={k: {"kind": "open", "ports": ports.get(k, {})} for k in "ab"},
        runs={"H1": run("a.in", "b.in", "ptfe-braid -6", **facts)},
    )
    return shape(plan, "H1")


# ---------------------------------------------------------------- a hard line

# Straights of 380, 210 and 130 mm and two quarter turns of 20 mm radius, 31.42 mm each: worked by hand.
IN_ONE_PLANE = [(0, 0, 0), (400, 0, 0), (400, 250, 0), (250, 250, 0)]
IN_TWO_PLANES = [*IN_ONE_PLANE[:3], (400, 250, -150)]


@pytest.mark.parametrize("points", [IN_ONE_PLANE, IN_TWO_PLANES])
def test_the_developed_length_of_a_bent_tube(folder, points):
    found = of_points(folder, points)
    assert found.length == pytest.approx((380 + 210 + 130 + 2 * 31.416) * MM, abs=1e-6)
    assert [math.degrees(c.turn) for c in found.corners] == pytest.approx([90, 90])
    assert [c.station for c in found.corners] == pytest.approx([0.400, 0.650])


def test_two_bends_share_the_straight_between_them(folder):
    # 250 mm between two quarter turns whose tangents are as long as their radii: 125 mm each, although the first
    # straight alone would have room for 400 mm.
    found = of_points(folder, IN_ONE_PLANE)
    assert [c.radius for c in found.corners] == pytest.approx([0.125, 0.125])


def test_a_last_straight_may_be_what_limits(folder):
    # 60 mm behind a turn of 60 deg: r tan(30 deg) = 60 mm.
    end = (400 + 60 * math.cos(math.pi / 3), 60 * math.sin(math.pi / 3), 0)
    found = of_points(folder, [(0, 0, 0), (400, 0, 0), end])
    assert found.corners[0].radius == pytest.approx(60 * MM / math.tan(math.radians(30)))
    assert math.degrees(found.corners[0].turn) == pytest.approx(60)


def test_a_bend_that_has_no_room_is_counted_as_tight_as_it_fits(folder):
    # Quarter turns 30 mm apart, for a radius of 20 mm: 15 mm fit. 100 + 30 + 100 less 2 (2 - pi/2) 15.
    points = [(0, 0, 0), (100, 0, 0), (100, 30, 0), (200, 30, 0)]
    found = of_points(folder, points)
    assert found.length == pytest.approx((230 - 2 * (2 - math.pi / 2) * 15) * MM, abs=1e-9)


def test_a_straight_tube_has_its_chord_for_length(folder):
    found = of_points(folder, [(10, -20, 30), (310, 380, 30)])
    assert (found.length, found.chord) == pytest.approx((0.5, 0.5))
    assert found.corners == ()
    assert found.directions().tolist() == [pytest.approx([0.6, 0.8, 0.0])]


def test_hose_bends_round_its_own_inside_radius(folder):
    # Given to the inside of the curve: the centreline is half the outside diameter farther out.
    inside = {"rigid": False, "radius_to": "inside"}
    found = of_points(folder, IN_ONE_PLANE[:3], radius=20.0, stock=inside)
    assert found.length == pytest.approx((400 + 250 - (2 - math.pi / 2) * 25) * MM, abs=1e-9)


def test_a_length_by_tape_goes_before_that_of_the_points(folder):
    found = of_points(folder, IN_ONE_PLANE, length="790 mm", length_is="overall")
    assert found.length == 0.790
    assert found.how == "overall length by tape"
    assert len(found.corners) == 2


# ---------------------------------------------------------------- laws

coordinates = st.tuples(*[st.integers(-400, 400)] * 3)


def apart(points):
    steps = np.linalg.norm(np.diff(np.array(points, dtype=float), axis=0), axis=1)
    return (steps > 20).all() and np.linalg.norm(np.subtract(points[0], points[-1])) > 20


polylines = st.lists(coordinates, min_size=3, max_size=6).filter(apart)
few = settings(max_examples=40)


def rounded(points, corners, radius):
    """Length of the polyline with its corners cut by arcs, as the sum of many chords [mm]."""
    points = np.array(points, dtype=float)
    walked = [points[0]]
    for before, here, after, corner in zip(points, points[1:], points[2:], corners, strict=False):
        u, v = (here - before), (after - here)
        u, v = u / np.linalg.norm(u), v / np.linalg.norm(v)
        r = min(radius, corner.radius / MM)
        reach = r * math.tan(corner.turn / 2)
        middle = here + (v - u) / np.linalg.norm(v - u) * r / math.cos(corner.turn / 2)
        axis = np.cross(u, v) / np.linalg.norm(np.cross(u, v))
        start = here - u * reach - middle
        angles = np.linspace(0, corner.turn, 400)
        walked += list(middle + Rotation.from_rotvec(angles[:, None] * axis).apply(start))
        assert walked[-1] == pytest.approx(here + v * reach, abs=1e-6)
    return float(np.linalg.norm(np.diff([*walked, points[-1]], axis=0), axis=1).sum())


@few
@given(points=polylines)
def test_the_length_is_that_of_the_rounded_path(folder, points):
    found = of_points(folder, points)
    turns = [c.turn for c in found.corners]
    if len(turns) == len(points) - 2 and max(turns) < math.radians(170):
        # 399 chords for an arc: short by (pi/399)^2 / 24, 3e-6 of it.
        assert found.length / MM == pytest.approx(rounded(points, found.corners, 20.0), rel=1e-5)
    assert found.length <= np.linalg.norm(np.diff(np.array(points), axis=0), axis=1).sum() * MM + 1e-12


@few
@given(points=polylines)
def test_bends_never_take_more_than_a_straight_has(folder, points):
    found = of_points(folder, points)
    stations = np.array([0.0, *(c.station for c in found.corners)])
    total = np.linalg.norm(np.diff(np.array(points), axis=0), axis=1).sum() * MM
    legs = np.diff([*stations, total])
    reach = [0.0, *(c.radius * math.tan(min(c.turn, math.radians(179)) / 2) for c in found.corners), 0.0]
    for leg, (one, two) in zip(legs, itertools.pairwise(reach), strict=True):
        assert one + two <= leg * (1 + 1e-9)


@few
@given(points=polylines, turn=st.tuples(*[st.floats(-180, 180)] * 3), move=coordinates)
def test_a_vehicle_measured_from_elsewhere_has_the_same_hoses(folder, points, turn, move):
    moved = Rotation.from_euler("xyz", turn, degrees=True).apply(np.array(points, dtype=float)) + move
    one, two = of_points(folder, points), of_points(folder, moved)
    # Points are written to 1e-9 mm; a turn near 180 deg comes from an arc cosine near its end.
    assert two.length == pytest.approx(one.length, abs=1e-8)
    assert [c.turn for c in two.corners] == pytest.approx([c.turn for c in one.corners], abs=1e-6)


@few
@given(points=polylines)
def test_a_run_named_from_its_other_end_is_the_same(folder, points):
    one, two = of_points(folder, points), of_points(folder, points[::-1])
    assert two.length == pytest.approx(one.length)
    assert [c.radius for c in two.corners[::-1]] == pytest.approx([c.radius for c in one.corners])
    assert two.rise == pytest.approx(-one.rise)


@few
@given(points=polylines, part=st.floats(0.01, 0.99), data=st.data())
def test_a_clamp_on_a_straight_changes_nothing(folder, points, part, data):
    i = data.draw(st.integers(0, len(points) - 2))
    clamp = np.array(points[i]) + part * np.subtract(points[i + 1], points[i])
    one, two = of_points(folder, points), of_points(folder, [*points[: i + 1], clamp, *points[i + 1 :]])
    assert two.length == pytest.approx(one.length, rel=1e-7)
    assert [c.radius for c in two.corners] == pytest.approx([c.radius for c in one.corners], rel=1e-6)
    assert [c.station for c in two.corners] == pytest.approx([c.station for c in one.corners], rel=1e-6)


# ---------------------------------------------------------------- what a tape gives


def test_a_tape_alone_gives_no_points_and_no_bends(folder):
    found = by_tape(folder, length="14 5/8 in", length_is="seat-to-seat", rise="2 in")
    assert (found.points, found.corners, found.chord, found.directions()) == (None, None, None, None)
    assert (found.length, found.rise) == pytest.approx((0.371475, 0.0508))


def test_a_span_gives_chord_and_rise(folder):
    found = by_tape(folder, span={"back": "12 in", "left": "4 in", "down": "3 in"})
    assert found.chord == pytest.approx(13 * 0.0254)
    assert found.rise == pytest.approx(-3 * 0.0254)
    assert found.length is None


def test_measured_bends_are_measured_on_their_inside(folder):
    # Half of the hose's 11.0 mm outside more to its centreline.
    found = by_tape(folder, length="1 m", length_is="cut", bends=[{"turn": "90 deg", "inside_radius": "110 mm"}])
    assert [c.radius for c in found.corners] == pytest.approx([0.1155])
    assert math.isnan(found.corners[0].station)


def test_two_heights_give_a_rise(folder):
    found = by_tape(folder, {"height": "400 mm"}, {"at": "0, 0, 150 mm"}, length="1 m", length_is="overall")
    assert found.rise == pytest.approx(-0.250)
    assert found.chord is None


def test_two_ports_in_one_place_are_no_path(folder):
    found = by_tape(folder, {"at": "1, 2, 3 in"}, {"at": "1, 2, 3 in"}, via=[], length="1 m", length_is="overall")
    assert (found.points, found.length, found.chord) == (None, 1.0, 0.0)
