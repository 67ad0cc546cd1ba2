"""How a turbocharger stands, and whether its drain is judged in every way that the vehicle leans.

The limits are those of makers' papers: an outlet within 15 deg of plumb, over 35 deg a cause of leaks, a shaft within
15 deg of level; a diesel maker's own are narrower. Angles are worked by hand or turned by scipy.
"""

import math
import re

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from writing import read, run

from catalogs.catalog import Catalog
from catalogs.grades import Grade
from lines.finding import Verdict
from solver.checks import attitudes, turbo
from solver.drains.line import drain_line
from solver.study import study

POINTS = {"fluid": "10w-40", "temperature": "90 C", "flow": ["1 L/min"], "drop": ["2 bar"]}
ALL = {
    "climb": {"like": "climb-60"},
    "descent": {"like": "descent-60"},
    "left_low": {"left_low": "30 %"},
    "right_low": {"right_low": "30 %"},
    "launch": {"like": "launch", "duties": ["steady"]},
    "braking": {"like": "braking"},
    "corner_left": {"like": "corner-left"},
    "corner_right": {"like": "corner-right"},
}


def plan(folder, *, drain="down", water=None, to="sump", leaning=None, **facts):
    """A plan with one turbocharger, its drain and, between two places, its water."""
    ports = {"drain": {"at": "0, 0, 500 mm"} | ({"points": drain} if drain else {})}
    components = {
        "turbo": {"kind": "turbocharger", "points": POINTS, "ports": ports} | facts,
        "sump": {"kind": "sump", "ports": {"drain": {"at": "0, 0, 200 mm"}}},
        "pump": {"kind": "scavenge-pump", "ports": {"in": {"at": "0, 0, 200 mm"}, "out": {"at": "50, 0, 200 mm"}}},
    }
    used = ("turbo", "sump") if to == "sump" else ("turbo", "sump", "pump")
    runs = {"D1": run("turbo.drain", "sump.drain" if to == "sump" else "pump.in", "ptfe-braid -10", via=[])}
    circuits = {"line": {"fluid": "10w-40", "temperature": "90 C"}}
    if to == "pump":
        runs["D2"] = run("pump.out", "sump.drain", "ptfe-braid -10", length="300 mm", length_is="overall")
        components["sump"]["ports"] = {"drain": {}}
    components = {name: components[name] for name in used}
    if water is not None:
        circuits["water"] = {"fluid": "glycol-50", "temperature": "90 C"}
        ports |= {name: {"at": at} if at else {} for name, at in zip(("water_in", "water_out"), water, strict=True)}
        components |= {"cold": {"kind": "open", "ports": {"in": {}}}, "hot": {"kind": "open", "ports": {"in": {}}}}
        tape = {"length": "300 mm", "length_is": "overall", "circuit": "water"}
        runs["W1"] = run("cold.in", "turbo.water_in", "push-on -6", **tape)
        runs["W2"] = run("turbo.water_out", "hot.in", "push-on -6", **tape)
    return study(read(folder, circuits=circuits, attitudes=leaning or {}, components=components, runs=runs))


def flange(folder, **facts):
    (found,) = turbo.flange(plan(folder, **facts))
    assert found.id == "turbo.flange/turbo"
    return found


def shaft(folder, lies, **facts):
    (found,) = turbo.shaft(plan(folder, **({"shaft": lies} if lies else {}), **facts))
    assert found.id == "turbo.shaft/turbo"
    return found


def water(folder, *places, **facts):
    return turbo.water(plan(folder, water=places, **facts))


# ---------------------------------------------------------------- the oil outlet


@pytest.mark.parametrize(
    ("points", "off", "verdict"),
    [
        ("down", 0.0, Verdict.PASS),
        ("down 14 deg back", 14.0, Verdict.PASS),
        ("down 16 deg left", 16.0, Verdict.CAUTION),
        ("down 34 deg forward", 34.0, Verdict.CAUTION),
        ("down 36 deg right", 36.0, Verdict.FAIL),
        ("forward", 90.0, Verdict.FAIL),
        ("up", 180.0, Verdict.FAIL),
        # 5 forward, 4 right, 12 down: atan(root(25 + 16)/12)
        ("5, -4, -12", 28.1, Verdict.CAUTION),
    ],
)
def test_an_outlet_away_from_plumb(tmp_path, points, off, verdict):
    found = flange(tmp_path, drain=points)
    assert math.degrees(found.value.value) == pytest.approx(off, abs=0.05)
    assert found.verdict is verdict
    assert found.worst.attitude == "level"
    assert "10 deg of plumb" in found.source  # what another maker says is shown beside it
    assert bool(found.change) is (verdict is not Verdict.PASS)


def test_the_limits_are_those_of_the_makers_papers():
    limit = Catalog().limit("turbo.flange")
    assert np.degrees([limit.caution_above, limit.fail_above]) == pytest.approx([15, 35])
    assert math.degrees(Catalog().limit("turbo.shaft").fail_above) == pytest.approx(15)
    assert math.degrees(Catalog().limit("turbo.water").caution_above) == pytest.approx(20)
    assert all(Catalog().limit(key).disagree for key in ("turbo.flange", "turbo.shaft", "turbo.water"))


def test_a_shop_sets_its_own_limit(tmp_path):
    (tmp_path / "shop").mkdir()
    own = '["turbo.flange"]\ncaution_above = "5 deg"\nsource = "our own"\ngrade = "measured"\n'
    (tmp_path / "shop" / "limits.toml").write_text(own, encoding="utf-8")
    components = {
        "turbo": {"kind": "turbocharger", "points": POINTS, "ports": {"drain": {"points": "down 6 deg back"}}},
        "sump": {"kind": "sump"},
    }
    drain = run("turbo.drain", "sump.drain", "ptfe-braid -10", length="300 mm", length_is="overall")
    circuits = {"line": {"fluid": "10w-40", "temperature": "90 C"}}
    found = study(read(tmp_path, plan={"shop": "shop"}, circuits=circuits, components=components, runs={"D1": drain}))
    assert turbo.flange(found)[0].verdict is Verdict.CAUTION


@pytest.mark.parametrize(("own", "verdict"), [("10 deg", Verdict.FAIL), ("25 deg", Verdict.PASS)])
def test_its_own_makers_figure_counts_instead(tmp_path, own, verdict):
    found = flange(tmp_path, drain="down 20 deg back", flange_limit=own)
    assert found.verdict is verdict
    assert found.source == "as its maker states: flange_limit of turbo"
    assert found.basis is Grade.PUBLISHED


def test_an_outlet_of_which_nobody_says_where_it_points(tmp_path):
    found = flange(tmp_path, drain=None)
    assert found.verdict is Verdict.UNCHECKED
    assert "angle finder" in found.needs


def test_with_a_scavenge_pump_it_may_lean_as_long_as_it_falls(tmp_path):
    # The same paper: within 15 deg, else a scavenge pump.
    found = flange(tmp_path, drain="down 40 deg back", to="pump")
    assert found.verdict is Verdict.PASS
    assert math.degrees(found.margin.value) == pytest.approx(45)
    assert "scavenge pump" in found.why.say("metric")


@pytest.mark.parametrize("points", ["forward", "up", "left 10 deg up", "down 87 deg back"])
def test_from_an_outlet_that_does_not_fall_no_pump_draws(tmp_path, points):
    # Geometry: to leave by an opening that points level or up, oil has to stand as high as its edge.
    found = flange(tmp_path, drain=points, to="pump")
    assert (found.verdict, found.id) == (Verdict.FAIL, "turbo.flange/turbo")
    assert "no pump draws oil that does not come to it" in found.why.say("metric")
    assert "Turn the centre housing" in found.change.say("metric")
    assert "fit a scavenge pump" not in found.change.say("metric")


def test_the_stated_turn_cures_it_with_a_pump_too(tmp_path):
    # Turned by scipy about a shaft that points to the left, from level backward to within the limit.
    found = flange(tmp_path, drain="back", to="pump", shaft="left")
    said = found.change.say("metric")
    turn, end = re.search(r"turn it about its shaft, .* as seen from its (\w+) end: ([\d.]+) deg", said).group(2, 1)
    way = 1 if ("counter" in said) == (end == "left") else -1
    turned = Rotation.from_rotvec([0, way * math.radians(float(turn) + 0.1), 0]).apply([-1, 0, 0])
    after = flange(tmp_path, drain=", ".join(f"{x:.6f}" for x in turned), to="pump", shaft="left")
    assert after.verdict is Verdict.PASS


def test_a_plumb_drain_pushed_over_spigots_falls_all_the_way(tmp_path):
    # The hose covers the spigots, so that it is longer than the ports are apart: the oil falls from seat to seat.
    seat = {"thread": "barb 5/8"}
    components = {
        "turbo": {"kind": "turbocharger", "ports": {"drain": seat | {"at": "0, 0, 500 mm", "points": "down"}}},
        "sump": {"kind": "sump", "ports": {"drain": seat | {"at": "0, 0, 200 mm", "points": "up"}}},
    }
    drain = run("turbo.drain", "sump.drain", "push-on -10", via=[])
    circuits = {"line": {"fluid": "10w-40", "temperature": "90 C"}}
    found = study(read(tmp_path, circuits=circuits, components=components, runs={"D1": drain}))
    line = drain_line(found.plan, found.circuits["line"], "turbo.drain", found.assemblies)
    assert found.assemblies["D1"].route.line.length > 0.300
    assert (np.diff(line.points[:, 2]) < 0).all()
    assert line.lengths.sum() == pytest.approx(0.300, abs=1e-9)


def test_without_its_shaft_the_plain_difference_is_told(tmp_path):
    said = flange(tmp_path, drain="down 40 deg back").change.say("metric")
    assert "25.0 deg nearer" in said
    assert "shaft" in said


def test_with_its_shaft_the_turn_is_told_and_from_where_it_is_seen(tmp_path):
    # The shaft along the vehicle, the outlet 40 deg to the left of down. Seen from the front, facing back, the
    # vehicle's left is on the right hand: from there to down is clockwise. 25 deg leaves 15.
    said = flange(tmp_path, drain="down 40 deg left", shaft="forward").change.say("metric")
    assert "clockwise as seen from its front end: 25.0 deg and" in said
    assert "40.0 deg and it is as plumb as turning makes it (0.0 deg)" in said
    assert "counter" not in said
    # The shaft said the other way round is the same shaft.
    assert flange(tmp_path, drain="down 40 deg left", shaft="back").change.say("metric") == said
    assert "counter-clockwise as seen" in flange(tmp_path, drain="down 40 deg right", shaft="forward").change.say("us")
    # Across the vehicle, seen from its left, facing right: the front is on the left hand... from it down is
    # counter-clockwise.
    said = flange(tmp_path, drain="down 40 deg forward", shaft="left").change.say("metric")
    assert "counter-clockwise as seen from its left end: 25.0 deg" in said


def test_a_turn_that_cannot_do_it_says_why(tmp_path):
    # Along the shaft nothing turns: 40 deg forward of down, the shaft forward and level, stays 40 deg off.
    said = flange(tmp_path, drain="down 40 deg forward", shaft="forward").change.say("metric")
    assert "stays 40.0 deg or more from plumb" in said
    assert "It lies 40.0 deg off square to the shaft" in said
    # Square to a shaft that climbs 30 deg toward the front it leans 30 deg at best.
    said = flange(tmp_path, drain="down 30 deg forward", shaft="forward 30 deg up").change.say("metric")
    assert "stays 30.0 deg or more from plumb" in said
    assert "The shaft is 30.0 deg from level" in said


def test_the_water_turns_with_the_oil(tmp_path):
    # Ports level, the outlet 40 deg left of down. Turned 25 deg clockwise as seen from the front, the right side
    # goes up by 25: water let out there rises by that, over the 20 that a maker allows; let in there it falls.
    def said(*places):
        return flange(tmp_path, drain="down 40 deg left", shaft="forward", water=places).change.say("metric")

    right, left = "0, -50, 600 mm", "0, 50, 600 mm"
    assert "Its water then rises 25.0 deg from inlet to outlet, over the 20.0 deg" in said(left, right)
    assert "Its water inlet then stands higher than its outlet, by 25.0 deg: swap" in said(right, left)
    # 45 mm lower on 100: atan(0.45) is 24.2 deg, and 25 - 24.2 is left.
    assert "Its water then rises 0.8 deg from inlet to outlet." in said(left, "0, -50, 555 mm")
    assert "water" not in flange(tmp_path, drain="down 40 deg left", shaft="forward").change.say("metric")


units = (
    st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: np.linalg.norm(v) > 0.2).map(lambda v: v / np.linalg.norm(v))
)
DOWN = np.array([0.0, 0.0, -1.0])


def off_plumb(vector):
    return math.atan2(np.linalg.norm(np.cross(vector, DOWN)), float(np.dot(vector, DOWN)))


@given(outlet=units, along=units, within=st.floats(0.05, 1.0))
def test_the_turn_brings_it_there_and_a_lesser_one_does_not(outlet, along, within):
    # Against turns by scipy: each of a full circle is no nearer to plumb than the best.
    assume(np.linalg.norm(np.cross(outlet, along)) > 0.05 and np.hypot(*along[:2]) > 0.05)
    assume(off_plumb(outlet) > within + 1e-3)
    turn, best_turn, best = turning = turbo.turning(np.array(outlet), np.array(along), within)
    assert np.isfinite(turning).all()

    def after(angle):
        return off_plumb(Rotation.from_rotvec(angle * np.array(along)).apply(outlet))

    assert after(best_turn) == pytest.approx(best, abs=1e-6)
    assert min(after(angle) for angle in np.linspace(-math.pi, math.pi, 73)) >= best - 1e-6
    if best > within:
        assert turn == best_turn
    else:
        assert after(turn) == pytest.approx(within, abs=1e-6)
        assert after(0.99 * turn) > within
        assert after(-turn) >= within - 1e-6


# ---------------------------------------------------------------- the shaft


@pytest.mark.parametrize(
    ("lies", "tilt", "verdict"),
    [
        ("forward", 0.0, Verdict.PASS),
        ("left 14 deg up", 14.0, Verdict.PASS),
        ("back 16 deg down", 16.0, Verdict.FAIL),
        ("up", 90.0, Verdict.FAIL),
    ],
)
def test_a_shaft_away_from_level(tmp_path, lies, tilt, verdict):
    found = shaft(tmp_path, lies)
    assert math.degrees(found.value.value) == pytest.approx(tilt, abs=1e-6)
    assert found.verdict is verdict
    assert "5 deg of level" in found.source


def test_its_low_end_is_named(tmp_path):
    for lies in ("back 20 deg down", "forward 20 deg up"):
        found = shaft(tmp_path, lies)
        assert "Its rear end is the low one: raise that by 5.0 deg" in found.change.say("metric")
    assert "right end" in shaft(tmp_path, "right 20 deg down").why.say("metric")


def test_a_shaft_has_its_makers_own_limit_and_is_asked_for(tmp_path):
    assert shaft(tmp_path, "left 8 deg up", shaft_limit="5 deg").verdict is Verdict.FAIL
    found = shaft(tmp_path, None)
    assert found.verdict is Verdict.UNCHECKED
    assert 'shaft = "forward"' in found.needs


# ---------------------------------------------------------------- the water


@pytest.mark.parametrize(
    ("places", "rise", "verdict", "do"),
    [
        # 100 mm across and 20 up: atan(0.2). 0 up: it stands. 45 up: atan(0.45).
        (("0, 50, 600 mm", "0, -50, 620 mm"), 11.3, Verdict.PASS, ""),
        (("0, 50, 600 mm", "0, -50, 600 mm"), 0.0, Verdict.CAUTION, "outlet stands higher"),
        (("0, 50, 620 mm", "0, -50, 600 mm"), -11.3, Verdict.CAUTION, "Swap its two water hoses"),
        (("0, 50, 600 mm", "0, -50, 645 mm"), 24.2, Verdict.CAUTION, "4.2 deg less from level"),
    ],
)
def test_water_rises_through_it(tmp_path, places, rise, verdict, do):
    (found,) = water(tmp_path, *places)
    assert math.degrees(found.value.value) == pytest.approx(rise, abs=0.05)
    assert found.verdict is verdict
    assert do in found.change.say("metric")
    assert "25 deg" in found.source


def test_a_dry_housing_is_not_asked_about_its_water(tmp_path):
    assert turbo.water(plan(tmp_path)) == []
    (found,) = water(tmp_path, None, "0, 0, 600 mm")
    assert found.verdict is Verdict.UNCHECKED


# ---------------------------------------------------------------- the attitudes of a drain


def named(folder, leaning):
    (found,) = attitudes.named(plan(folder, leaning=leaning))
    assert found.id == "drain.attitudes/line"
    return found


def test_a_drain_judged_on_the_level_alone_is_unchecked(tmp_path):
    found = named(tmp_path, {})
    assert found.verdict is Verdict.UNCHECKED
    said = found.why.say("metric")
    assert "judged in level, and in nothing else" in said
    assert "a climb, a descent, a slope with the left side low" in said
    for name, facts in (("climb", "climb-60"), ("corner_right", "corner-right")):
        assert f'{name} = {{ like = "{facts}" }}' in found.needs


def test_an_attitude_that_hardly_leans_is_none_that_a_drain_is_judged_in(tmp_path):
    keys = ("nose_up", "nose_down", "left_low", "right_low")
    hardly = ALL | {key: {key: "1 %"} for key in keys}
    hardly = {name: table for name, table in hardly.items() if name not in {"climb", "descent"}}
    assert named(tmp_path, hardly).verdict is Verdict.UNCHECKED


@pytest.mark.parametrize("missing", ALL)
def test_each_way_that_is_not_named_is_told_and_what_to_write(tmp_path, missing):
    found = named(tmp_path, {name: table for name, table in ALL.items() if name != missing})
    assert found.verdict is Verdict.UNCHECKED
    assert found.needs.count("like = ") == 2  # the line, and the same with a figure of one's own
    assert f"{missing} = {{ like = " in found.needs


def test_what_it_says_to_write_makes_it_pass(tmp_path):
    lines = re.findall(r'([\w-]+) = \{ like = "([\w-]+)" \}', named(tmp_path, {"climb": {"forward": "0.1 g"}}).needs)
    assert dict(lines)["climb-60"] == "climb-60"  # the plan has a climb already, which is none
    written = {"climb": {"forward": "0.1 g"}} | {name: {"like": like} for name, like in lines}
    assert named(tmp_path, written).verdict is Verdict.PASS


def test_a_pass_lists_what_was_judged_and_rests_on_the_presets(tmp_path):
    found = named(tmp_path, ALL)
    assert found.verdict is Verdict.PASS
    said = found.why.say("metric")
    assert "climb 31.0 deg; descent 31.0 deg; left_low 16.7 deg" in said
    assert "launch 26.6 deg (for moments, steady only)" in said
    assert found.basis is Grade.PRACTICE
    assert found.source == "common practice, no source"


def test_a_slope_of_nothing_is_not_named(tmp_path):
    assert named(tmp_path, ALL | {"climb": {"nose_up": "0 %", "left_low": "30 %"}}).verdict is Verdict.UNCHECKED
