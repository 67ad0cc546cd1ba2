"""The level of a sump's oil in every attitude: closed forms, a hull of the clipped box, points thrown at random."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial import ConvexHull
from writing import read, run

from catalogs.errors import UnknownInputError
from lines.states import AttitudeTable, attitude, leaning
from solver.liquid import Liquid, liquid_in
from solver.pool import capacity, level, parted, volume_under

BOX = np.array([[[-0.35, -0.15, 0.0], [0.35, 0.15, 0.3]]])
# A shallow floor in front of a deep well behind: 400 x 300 x 80 mm over 150 x 200 x 120 mm.
STEPPED = np.array([[[-0.2, -0.15, 0.12], [0.2, 0.15, 0.20]], [[-0.2, -0.1, 0.0], [-0.05, 0.1, 0.12]]])
LEVEL = np.array([[0.0, 0.0, -1.0]])


def unit(vectors):
    vectors = np.atleast_2d(np.array(vectors, dtype=float))
    return vectors / np.linalg.norm(vectors, axis=1, keepdims=True)


def down_of(**table):
    return attitude("a", AttitudeTable.model_validate(table)).down[None]


def z_at(height, down, x, y=0.0):
    """Where the surface stands over a place of the vehicle's floor: its z."""
    return (height + x * down[:, 0] + y * down[:, 1]) / -down[:, 2]


sizes = st.tuples(*[st.floats(0.05, 1.0)] * 3)
corners = st.tuples(*[st.floats(-2.0, 2.0)] * 3)
ways = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: np.linalg.norm(v) > 0.1)
# Also the attitudes in which a component vanishes, or nearly.
thin = st.tuples(*[st.sampled_from([0.0, 1e-300, 1e-17, 1e-12, 1e-9, 1e-6, 1e-3, 0.7, -1e-9, -1.0])] * 3).filter(
    lambda v: np.linalg.norm(v) > 0.1
)
shares = st.floats(0.0, 1.0)


@st.composite
def bodies(draw):
    """A stack of boxes, each on the last."""
    x, y, z = draw(corners)
    boxes = []
    for width, length, height in draw(st.lists(sizes, min_size=1, max_size=5)):
        boxes.append([[x, y, z], [x + width, y + length, z + height]])
        z += height
    return np.array(boxes)


# ---------------------------------------------------------------- volume under a plane


def hull_volume(box, height, down):
    """By another route: the hull of the corners under the plane and of the points where edges cross it."""
    points = np.array(list(itertools.product(*box.T)))
    over = -points @ down - height
    kept = [p for p, o in zip(points, over, strict=True) if o <= 0]
    for i, j in itertools.combinations(range(8), 2):
        if np.count_nonzero(points[i] != points[j]) == 1 and over[i] * over[j] < 0:
            kept.append(points[i] + (points[j] - points[i]) * over[i] / (over[i] - over[j]))
    return ConvexHull(np.array(kept)).volume


@given(size=sizes, corner=corners, way=ways, share=st.floats(0.02, 0.98))
def test_a_box_cut_by_a_plane_holds_what_the_hull_of_the_piece_does(size, corner, way, share):
    box = np.array([corner, np.add(corner, size)])
    down = unit(way)[0]
    heights = -np.array(list(itertools.product(*box.T))) @ down
    height = heights.min() + share * np.ptp(heights)
    found = volume_under(box[None], np.array([height]), down[None])[0]
    # The hull is right to about a part in 1e-12 of the box; its facets are merged within 1e-9 m or so.
    assert found == pytest.approx(hull_volume(box, height, down), rel=1e-6, abs=1e-8 * np.prod(size))


def test_points_thrown_at_random_fall_under_the_plane_as_often():
    rng = np.random.default_rng(20)
    downs = unit(rng.normal(size=(12, 3)))
    points = np.concatenate([low + rng.random((100_000, 3)) * (high - low) for low, high in STEPPED])
    weights = np.repeat(np.prod(STEPPED[:, 1] - STEPPED[:, 0], axis=1) / 100_000, 100_000)
    heights = np.quantile(-points @ downs.T, 0.4, axis=0)
    thrown = ((-points @ downs.T <= heights) * weights[:, None]).sum(axis=0)
    # Of n points the share that falls under has a standard deviation of at most 0.5/sqrt(n): four of them.
    assert volume_under(STEPPED, heights, downs) == pytest.approx(thrown, abs=4 * 0.5 / 316 * capacity(STEPPED))


def test_a_cut_corner_is_a_pyramid_and_a_cut_edge_a_prism():
    # Own arithmetic. A plane through three edges at a, b, c from a corner leaves a b c / 6; one along an edge of
    # length l, at a and b on the two others, leaves a b l / 2.
    a, b, c = 0.1, 0.12, 0.15
    box = np.array([[[0.0, 0.0, 0.0], [0.4, 0.5, 0.6]]])
    normal = np.array([[1 / a, 1 / b, 1 / c], [1 / a, 0, 1 / c]])
    long = np.linalg.norm(normal, axis=1)
    found = volume_under(box, 1 / long, -normal / long[:, None])
    assert found == pytest.approx([a * b * c / 6, a * c * 0.5 / 2], rel=1e-14)


@given(body=bodies(), way=st.one_of(ways, thin), share=shares)
def test_what_is_under_a_plane_and_what_is_over_it_make_the_whole(body, way, share):
    down = unit(way)
    ends = -np.array([list(itertools.product(*box.T)) for box in body]) @ down[0]
    height = np.array([ends.min() + share * np.ptp(ends)])
    both = volume_under(body, height, down) + volume_under(body, -height, -down)
    assert both[0] == pytest.approx(capacity(body), rel=1e-12)


def test_a_box_cut_in_two_holds_as_much():
    halves = np.array([[[-0.35, -0.15, 0.0], [0.1, 0.15, 0.3]], [[0.1, -0.15, 0.0], [0.35, 0.15, 0.3]]])
    downs = unit(np.random.default_rng(3).normal(size=(500, 3)))
    heights = np.linspace(-0.4, 0.4, 500)
    assert volume_under(halves, heights, downs) == pytest.approx(volume_under(BOX, heights, downs), abs=1e-16)


# ---------------------------------------------------------------- the level with the volume kept


@given(body=bodies(), downs=st.lists(st.one_of(ways, thin), min_size=1, max_size=6), share=shares)
def test_the_volume_is_kept_at_every_tilt(body, downs, share):
    volume = share * capacity(body)
    down = unit(downs)
    held = volume_under(body, level(body, volume, down), down)
    # A level is a float: one of 2 m has its last bit at 2e-16 m, on a surface of the body's widest cut.
    cut = np.prod(np.sort(np.ptp(body.reshape(-1, 3), axis=0))[1:]) * 2
    assert held == pytest.approx(np.full(len(down), volume), abs=1e-12 * capacity(body) + 1e-14 * cut)


@given(share=st.floats(0.2, 0.8), tilt=st.floats(0, 12), toward=st.floats(0, 360))
def test_a_moderate_tilt_turns_about_the_centre_of_the_surface(share, tilt, toward):
    # Own arithmetic: while the surface meets the four walls only, what one side loses the other gains. 12 deg of a box
    # 700 mm long raise its ends by 74 mm, its sides by 32 mm at most, together less than sqrt(74^2 + 32^2) = 81 mm
    # in any one direction; 20 % of 300 mm are 60 mm, so that steeper ones are left out.
    across = np.array([math.cos(math.radians(toward)), math.sin(math.radians(toward))])
    slope = math.tan(math.radians(tilt))
    rise = slope * float(np.abs(across) @ [0.35, 0.15])
    if rise > min(share, 1 - share) * 0.3:
        return
    down = unit([[*(across * slope), -1.0]])
    height = level(BOX, share * capacity(BOX), down)
    assert z_at(height, down, 0.0)[0] == pytest.approx(share * 0.3, abs=1e-13)


def test_nose_up_31_deg_the_level_200_mm_behind_the_centre_rises_by_120_mm():
    # Own arithmetic: 200 mm x tan 31 deg = 120.2 mm. In a box so tall that the surface meets its four walls only.
    tall = np.array([[[-0.35, -0.15, 0.0], [0.35, 0.15, 0.6]]])
    down = down_of(nose_up="31 deg")
    height = level(tall, 0.7 * 0.3 * 0.3, down)
    assert z_at(height, down, 0.0)[0] == pytest.approx(0.3, abs=1e-13)
    assert z_at(height, down, -0.2)[0] - 0.3 == pytest.approx(0.1202, abs=5e-5)


def test_past_its_floor_the_oil_is_a_wedge_and_no_longer_turns_about_the_centre():
    # Own arithmetic: 50 mm of oil in 700 mm, nose up 45 deg. The wedge of length x has x^2 tan(45)/2 = 50 x 700 mm2,
    # x = 264.6 mm, and so stands 264.6 mm up the rear wall; by the centre it would be 50 + 350 = 400, over the roof.
    down = down_of(nose_up="45 deg")
    height = level(BOX, 0.7 * 0.3 * 0.05, down)
    wedge = math.sqrt(2 * 0.05 * 0.7)
    assert z_at(height, down, -0.35)[0] == pytest.approx(wedge, abs=1e-13)
    assert z_at(height, down, -0.35 + wedge)[0] == pytest.approx(0.0, abs=1e-13)
    assert z_at(height, down, 0.0)[0] < 0


def test_on_its_side_it_stands_as_deep_as_its_volume_over_that_wall():
    down = np.array([[0.0, 1.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, 1.0]])
    found = level(BOX, 0.3 * capacity(BOX), down)
    assert found == pytest.approx([-0.15 + 0.09, -0.15 + 0.09, -0.3 + 0.09], abs=1e-15)


def test_a_well_fills_before_the_floor_over_it():
    # Own arithmetic: 150 x 200 mm of well, then 400 x 300 mm.
    well = 0.15 * 0.2 * 0.12
    assert level(STEPPED, well / 2, LEVEL)[0] == pytest.approx(0.06)
    assert level(STEPPED, well + 0.4 * 0.3 * 0.03, LEVEL)[0] == pytest.approx(0.15)


def test_an_empty_body_a_brimful_one_and_no_attitude():
    assert level(BOX, 0.0, LEVEL).tolist() == [0.0]
    assert level(BOX, capacity(BOX), LEVEL) == pytest.approx([0.3])
    assert level(BOX, 0.01, np.empty((0, 3))).shape == (0,)
    for volume in (-1e-9, 1.01 * capacity(BOX)):
        with pytest.raises(ValueError, match="m3"):
            level(BOX, volume, LEVEL)


# ---------------------------------------------------------------- of a plan


CORNERS = {"corner": "-200, -150, 0 mm", "opposite": "200, 150, 200 mm"}
MARKS = {"surface": {"full": "100 mm", "low": "80 mm"}}
TILTED = np.concatenate([LEVEL, down_of(nose_up="30 %")])


def sump(folder, **facts):
    plan = read(
        folder,
        circuits={"drain": {"fluid": "10w-40", "temperature": "90 C"}},
        duties={"idle": {}, "full": {}},
        components={"turbo": {"kind": "turbocharger"}, "pan": {"kind": "sump"} | facts},
        runs={"D1": run("turbo.drain", "pan.drain", "ptfe-braid -10", "drain", length="300 mm", length_is="cut")},
    )
    return plan.components["pan"]


def test_a_box_and_its_marks_give_every_attitude(tmp_path):
    pan = sump(tmp_path, **CORNERS, **MARKS)
    # Own arithmetic: nose up 30 % the surface still turns about its centre, along gravity by 1/sqrt(1.09).
    assert liquid_in(pan, "full").levels(TILTED).heights * 1e3 == pytest.approx([100, 100 / math.sqrt(1.09)])
    assert liquid_in(pan, "low").levels(TILTED).heights * 1e3 == pytest.approx([80, 80 / math.sqrt(1.09)])
    assert liquid_in(pan, "full").volume == pytest.approx(0.012)


def test_corners_may_be_named_in_any_order(tmp_path):
    other = {"corner": "200, -150, 200 mm", "opposite": "-200, 150, 0 mm"}
    assert liquid_in(sump(tmp_path, **other, **MARKS)).volume == pytest.approx(0.012)


def test_its_layers_give_every_attitude(tmp_path):
    layers = [
        {"corner": "-200, -150, 120 mm", "opposite": "200, 150, 200 mm"},
        {"corner": "-200, -100, 0 mm", "opposite": "-50, 100, 120 mm"},
    ]
    pan = sump(tmp_path, areas=layers, surface={"full": "150 mm", "low": "60 mm"})
    assert liquid_in(pan, "full").body == pytest.approx(STEPPED)
    assert liquid_in(pan, "full").volume == pytest.approx(0.15 * 0.2 * 0.12 + 0.4 * 0.3 * 0.03)
    assert liquid_in(pan, "low").volume == pytest.approx(0.15 * 0.2 * 0.06)


def test_its_marks_alone_answer_level_ground_alone(tmp_path):
    pan = sump(tmp_path, **MARKS)
    assert liquid_in(pan, "low").levels(LEVEL).heights.tolist() == [0.08]
    assert liquid_in(pan).levels(LEVEL).why == ""
    told = liquid_in(pan).levels(TILTED)
    assert told.heights[0] == pytest.approx(0.1)
    assert np.isnan(told.heights[1])
    assert "corner" in told.why
    assert "opposite" in told.needs
    assert "areas" in told.needs


def test_half_a_box_says_which_corner_it_lacks(tmp_path):
    told = liquid_in(sump(tmp_path, corner="0, 0, 0 mm", **MARKS)).levels(TILTED)
    assert np.isnan(told.heights).tolist() == [False, True]
    assert told.why.endswith("no opposite")
    assert told.needs == 'opposite in [components.pan]: "x, y, z mm", the corner across the box'


def test_without_marks_the_volume_is_that_of_the_full_one(tmp_path):
    pan = sump(tmp_path, **CORNERS, volume="6 L")
    assert liquid_in(pan, "full").levels(LEVEL).heights[0] == pytest.approx(0.05)
    with pytest.raises(UnknownInputError, match="low mark of pan") as error:
        liquid_in(pan, "low")
    assert "surface" in error.value.needs


@pytest.mark.parametrize(
    ("facts", "says", "needs"),
    [
        ({}, "how much oil pan holds", "surface"),
        ({"volume": "6 L"}, "how much oil pan holds", "surface"),
        (CORNERS, "how much oil pan holds", "volume in [components.pan]"),
        (CORNERS | {"volume": "25 L"}, "more oil than its box has room for", "measured again"),
        (CORNERS | {"volume": {"idle": "6 L", "full": "5 L"}}, "changes with the duty", "volume"),
        (CORNERS | {"surface": {"full": "210 mm", "low": "80 mm"}}, "full mark of pan lies over the top", "same zero"),
        (CORNERS | {"surface": {"full": "-10 mm", "low": "-20 mm"}}, "full mark of pan lies under", "same zero"),
        (MARKS | {"corner": "0, 0, 0 mm", "opposite": "0, 150, 200 mm"}, "as far forward as corner", "across the box"),
        (MARKS | CORNERS | {"areas": [CORNERS]}, "both a box and areas", "one of them"),
    ],
)
def test_what_cannot_be_told_says_why_and_what_to_measure(tmp_path, facts, says, needs):
    with pytest.raises(UnknownInputError) as error:
        liquid_in(sump(tmp_path, **facts), "full")
    assert says in str(error.value)
    assert needs in error.value.needs


def test_what_it_asks_for_is_said_in_the_plans_own_units(tmp_path):
    with pytest.raises(UnknownInputError) as error:
        liquid_in(sump(tmp_path))
    assert error.value.needs.startswith(
        'surface in [components.pan]: { full = "410 mm", low = "380 mm" }, the vehicle level and the engine running'
    )
    boxless = liquid_in(sump(tmp_path, **MARKS)).needs
    assert boxless.startswith(
        'corner and opposite in [components.pan], as corner = "510, -200, 300 mm" and opposite = "860, 200, 460 mm"; '
    )
    assert 'areas in [components.pan]: [{ corner = "510, -200, 300 mm", opposite =' in boxless


def test_two_wells_whose_bridge_is_dry_are_two_pools():
    # Wells 100 mm long with 100 mm of oil, joined over their tops from 150 mm up: on a slope of 60 % no oil reaches the
    # bridge (at the wall it stands 100 + 50 x 0.6 = 130 mm high), so that each keeps its own, and one level is wrong.
    wells = np.array([[[-0.25, 0, 0], [-0.15, 0.1, 0.15]], [[0.15, 0, 0], [0.25, 0.1, 0.15]]])
    bridge = np.array([[[-0.25, 0, 0.15], [0.25, 0.1, 0.25]]])
    body = np.concatenate([wells, bridge])
    down = leaning(np.arctan([0.0, 0.6]), [0.0, 0.0])
    volume = 2 * 0.1 * 0.1 * 0.1
    assert parted(body, level(body, volume, down[:1]), down[:1])[0]
    seen = Liquid(surface=0.1, body=body, volume=volume).levels(down)
    assert seen.heights[0] == pytest.approx(0.1)
    assert np.isnan(seen.heights[1])
    assert "pools" in seen.why
    # Full over the bridge they are one.
    assert not parted(body, level(body, 0.0035, down[:1]), down[:1])[0]
