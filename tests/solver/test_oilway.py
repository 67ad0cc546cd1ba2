"""A filter ahead of a small hole, and how soon oil is at a turbocharger, against fillings integrated elsewhere."""

import numpy as np
import pytest
from oilfeeds import BALL, DUTIES, HOT, JOURNAL, feed_plan, jet, steady
from scipy.integrate import solve_ivp
from writing import line, read, run, tube

from lines.finding import Verdict
from solver.arrival import longest_filling, open_flows, way_to
from solver.checks import oilway
from solver.study import study

# ---------------------------------------------------------------- a filter ahead of a small hole

ELEMENT = {"points": HOT | {"flow": ["1 L/min", "3 L/min"], "drop": ["1 kPa", "3 kPa"]}, "volume": "50 mL"}


def screen(mesh=None):
    return ("screen", {"kind": "filter"} | ELEMENT | ({"mesh": mesh} if mesh else {}))


def filtered(plan):
    (found,) = oilway.filtered(study(plan))
    assert found.id == "oil.filter/jet"
    return found


def test_a_1_mm_orifice_with_no_filter_ahead_is_a_caution(tmp_path):
    # Common practice, no source: a restrictor where swarf blocks it, and a feed taken before the filter, are mistakes.
    found = filtered(feed_plan(tmp_path, BALL, between=[jet("1.0 mm")]))
    assert found.verdict is Verdict.CAUTION
    assert "filter ahead of jet" in found.change.say("us")


def test_a_filter_ahead_of_it_passes_and_one_behind_it_does_not(tmp_path):
    ahead = filtered(feed_plan(tmp_path, BALL, between=[screen("100 um"), jet("1.0 mm")]))
    assert ahead.verdict is Verdict.PASS
    assert "100 microns, 10.0 % of the hole of 1.00 mm" in ahead.why.say("metric")
    behind = filtered(feed_plan(tmp_path, BALL, between=[jet("1.0 mm"), screen("100 um")]))
    assert behind.verdict is Verdict.CAUTION


def test_a_filter_that_lets_through_what_blocks_the_hole_is_a_caution(tmp_path):
    found = filtered(feed_plan(tmp_path, BALL, between=[screen("0.5 mm"), jet("1.0 mm")]))
    assert found.verdict is Verdict.CAUTION
    assert "330 microns or finer" in found.change.say("metric")


def test_a_filter_of_unknown_fineness_is_asked_for_it(tmp_path):
    found = filtered(feed_plan(tmp_path, BALL, between=[screen(), jet("1.0 mm")]))
    assert (found.verdict, found.needs[:26]) == (Verdict.UNCHECKED, "mesh in [components.screen")


def test_a_gallery_after_the_engines_filter_passes(tmp_path):
    found = filtered(feed_plan(tmp_path, BALL, between=[jet("1.0 mm")], gallery={"filtered": True}))
    assert found.verdict is Verdict.PASS
    found = filtered(feed_plan(tmp_path, BALL, between=[jet("1.0 mm")], gallery={"filtered": False}))
    assert found.verdict is Verdict.CAUTION


def test_a_wide_hole_needs_none_and_a_plan_without_a_hole_is_not_asked(tmp_path):
    assert filtered(feed_plan(tmp_path, BALL, between=[jet("2.5 mm")])).verdict is Verdict.PASS
    assert oilway.filtered(study(feed_plan(tmp_path, BALL))) == []


def test_without_flows_it_is_not_known_which_side_is_ahead(tmp_path):
    found = filtered(feed_plan(tmp_path, {"bearing": "ball"}, between=[jet("1.0 mm")]))
    assert (found.verdict, found.needs) == (Verdict.UNCHECKED, "what circuit.flow/line asks for")


# ---------------------------------------------------------------- how soon it is there

PRESSURE, VISCOSITY = 4e5, 0.2
COLD = steady("880 kg/m3", "200 mPa s")
"""Oil that is slow everywhere here: Reynolds numbers under 50, so that Hagen and Poiseuille have all of it."""


def resistance(bore, length):
    """Of a straight bore by Hagen and Poiseuille [Pa s/m3]."""
    return 128 * VISCOSITY * length / (np.pi * bore**4)


def content(bore, length):
    return np.pi * bore**2 / 4 * length


def arrivals(plan):
    return {found.place: found for found in oilway.arrival(study(plan))}


def bound(plan, turbo):
    """The bound on the filling alone, without the air's share [s]."""
    answer = line(plan)
    way = way_to(answer, f"{turbo}.feed", 0)
    return longest_filling(answer, way, 0, open_flows(answer, way, np.array([101325.0]), "metric")[0])


def one_line(folder, bore, length):
    return read(
        folder,
        fluids={"oil": COLD},
        circuits={"line": HOT},
        components={
            "gallery": {"kind": "gallery", "pressure": f"{PRESSURE} Pa", "ports": {"a": {}}},
            "turbo": {"kind": "turbocharger"} | JOURNAL,
        },
        runs={"O1": run("gallery.a", "turbo.feed", "pipe", rise="0 mm", length=f"{length} m", length_is="overall")},
        stock={"pipe": tube(f"{bore} m")},
    )


@pytest.mark.parametrize(("bore", "length"), [(0.004, 1.5), (0.0045, 2.5)])
def test_an_empty_line_fills_within_the_bound(tmp_path, bore, length):
    def filling(_t, x):
        return PRESSURE / (resistance(bore, 1.0) * np.maximum(x, 1e-6)) / (np.pi * bore**2 / 4)

    def full(_t, x):
        return x[0] - length

    full.terminal = True
    true = solve_ivp(filling, (0, 100), [1e-4], events=full, rtol=1e-8).t_events[0][0]
    # The same in closed form: 16 mu L^2/(d^2 p).
    assert true == pytest.approx(16 * VISCOSITY * length**2 / (bore**2 * PRESSURE), rel=1e-4)
    plan = one_line(tmp_path, bore, length)
    found = arrivals(plan)["turbo"]
    # In slow flow in one bore the bound is twice the truth; Churchill's friction is Hagen's and Poiseuille's there.
    # The air is given a fifth of the time that the line takes at its steady flow.
    steadily = content(bore, length) / line(plan).flow("O1")[0]
    assert found.value.value == pytest.approx(2 * true + 0.2 * steadily, rel=1e-3)
    assert found.verdict is (Verdict.CAUTION if found.value.value > 4 else Verdict.PASS)


def test_a_line_ahead_of_a_restrictor_fills_as_if_there_were_none(tmp_path):
    facts = {"rise": "0 mm", "length_is": "overall"}
    first, last, (d, thick) = (0.004, 1.5), (0.004, 0.1), (0.001, 0.002)
    plan = read(
        tmp_path,
        fluids={"oil": COLD},
        circuits={"line": HOT},
        components={
            "gallery": {"kind": "gallery", "pressure": f"{PRESSURE} Pa", "ports": {"a": {}}},
            "jet": {"kind": "restrictor", "bore": f"{d} m", "length": f"{thick} m"},
            "turbo": {"kind": "turbocharger"} | JOURNAL,
        },
        runs={
            "O1": run("gallery.a", "jet.in", "pipe", length=f"{first[1]} m", **facts),
            "O2": run("jet.out", "turbo.feed", "pipe", length=f"{last[1]} m", **facts),
        },
        stock={"pipe": tube("4 mm")},
    )
    # The hole by Sampson (1891) and Poiseuille, and by a discharge coefficient of 0.7 (880 kg/m3).
    viscous = VISCOSITY * (24 / d**3 + 128 * thick / (np.pi * d**4))
    inertial = 880 / 2 / (0.7 * np.pi * d**2 / 4) ** 2

    def filling(_t, x):
        linear = resistance(first[0], max(x[0], 1e-4)) + (viscous if x[0] > first[1] else 0.0)
        square = inertial if x[0] > first[1] else 0.0
        flow = 2 * PRESSURE / (linear + np.sqrt(linear**2 + 4 * square * PRESSURE))
        return [flow / content(first[0], 1.0)]

    def there(_t, x):
        return x[0] - first[1] - last[1]

    there.terminal = True
    true = solve_ivp(filling, (0, 100), [1e-3], events=there, rtol=1e-6, max_step=0.01).t_events[0][0]
    # Twice the truth ahead of the hole, and the truth behind it, where the hole has all of the loss.
    assert true < bound(plan, "turbo") < 2.1 * true
    steadily = sum(content(*each) for each in (first, last)) / line(plan).flow("O1")[0]
    assert steadily > 2.5 * true


# Two turbochargers: a trunk, a leg to the first, and a wide leg to a second whose bearings let little by.
TRUNK, FIRST, SECOND = (0.004, 0.5), (0.004, 0.5), (0.009, 1.5)
SLOW = {"bearing": "ball", "points": HOT | {"flow": ["0.02 L/min", "0.04 L/min"], "drop": ["2 bar", "4 bar"]}}
SLOW_RESISTANCE = 2e5 / (0.02e-3 / 60)


def two_lines(folder):
    facts = {"rise": "0 mm", "length_is": "overall"}
    lines = {"trunk": TRUNK, "first": FIRST, "second": SECOND}
    ends = {
        "trunk": ("gallery.a", "split.branch"),
        "first": ("split.a", "first.feed"),
        "second": ("split.b", "second.feed"),
    }
    return read(
        folder,
        fluids={"oil": COLD},
        circuits={"line": HOT},
        components={
            "gallery": {"kind": "gallery", "pressure": f"{PRESSURE} Pa", "ports": {"a": {}}},
            "split": {"kind": "tee", "bore": "4 mm"},
            "first": {"kind": "turbocharger"} | JOURNAL,
            "second": {"kind": "turbocharger"} | SLOW,
        },
        runs={tag: run(*ends[tag], tag, length=f"{length} m", **facts) for tag, (_, length) in lines.items()},
        stock={tag: tube(f"{bore} m") for tag, (bore, _) in lines.items()},
    )


def test_a_branch_that_fills_meanwhile_is_in_the_bound(tmp_path):
    trunk = resistance(*TRUNK)
    legs = [resistance(bore, 1.0) for bore, _ in (FIRST, SECOND)]
    lengths, areas = (FIRST[1], SECOND[1]), [content(bore, 1.0) for bore, _ in (FIRST, SECOND)]

    def filling(_t, x):
        """How fast the two fronts go once the trunk is full; the second leg is full where its front is at its end."""
        behind = [legs[0] * max(x[0], 1e-6), legs[1] * min(max(x[1], 1e-6), lengths[1])]
        behind[1] += SLOW_RESISTANCE if x[1] >= lengths[1] else 0.0
        tee = PRESSURE / trunk / (1 / trunk + sum(1 / r for r in behind))
        return [tee / r / a for r, a in zip(behind, areas, strict=True)]

    def there(_t, x):
        return x[0] - lengths[0]

    there.terminal = True
    trunk_time = 16 * VISCOSITY * TRUNK[1] ** 2 / (TRUNK[0] ** 2 * PRESSURE)
    legs_time = solve_ivp(filling, (0, 500), [1e-4, 1e-4], events=there, rtol=1e-6, max_step=0.02).t_events[0][0]
    true = trunk_time + legs_time

    # What each line holds over its own flow, by hand, open at its end …
    second = resistance(*SECOND) + SLOW_RESISTANCE
    out = PRESSURE / trunk / (1 / trunk + 1 / resistance(*FIRST) + 1 / second) / resistance(*FIRST)
    on_the_way = content(*TRUNK) * trunk / PRESSURE + content(*FIRST) / out
    # … is no bound: the wide leg drinks first.
    assert on_the_way < true
    found = bound(two_lines(tmp_path), "first")
    assert found >= true
    # With what the branch holds at the first's flow. The tee itself and its changes of bore, in slow flow, add some.
    assert found == pytest.approx(on_the_way + content(*SECOND) / out, rel=0.15)


def test_two_ways_round_to_one_inlet_are_counted_by_the_flow_there(tmp_path):
    facts = {"rise": "0 mm", "length_is": "overall", "length": "0.5 m"}
    plan = read(
        tmp_path,
        fluids={"oil": COLD},
        circuits={"line": HOT},
        components={
            "gallery": {"kind": "gallery", "pressure": f"{PRESSURE} Pa", "ports": {"a": {}, "b": {}}},
            "split": {"kind": "tee", "bore": "4 mm"},
            "turbo": {"kind": "turbocharger"} | JOURNAL,
        },
        runs={
            "A": run("gallery.a", "split.a", "pipe", **facts),
            "B": run("gallery.b", "split.b", "pipe", **facts),
            "C": run("split.branch", "turbo.feed", "pipe", **facts),
        },
        stock={"pipe": tube("4 mm")},
    )
    # By hand: half a resistance and a whole one; three lines' content at the least flow, there. The tee adds some.
    flow = PRESSURE / (1.5 * resistance(0.004, 0.5))
    found = bound(plan, "turbo")
    assert found == pytest.approx(3 * content(0.004, 0.5) / flow, rel=0.15)


def test_at_every_duty_and_the_coldest_is_the_worst(tmp_path):
    plan = feed_plan(
        tmp_path,
        JOURNAL | {"points": JOURNAL["points"] | {"fluid": "10w-40"}},
        duties=DUTIES | {"cold_start": {"engine_speed": "1300 rpm"}},
        pressure={"idle": "25 psi", "red_line": "85 psi", "cold_start": "80 psi"},
        oil={"fluid": "10w-40", "temperature": {"cold_start": "-15 C", "otherwise": "100 C"}},
        hose={"length": "1500 mm"},
    )
    found = arrivals(plan)["turbo"]
    assert (found.verdict, found.worst.duty) == (Verdict.CAUTION, "cold_start")
    assert {case.state.duty for case in found.cases} == {"idle", "red_line", "cold_start"}
    assert "prime it" in found.change.say("us")
    assert "a shorter O1" in found.change.say("us")


def test_what_a_filter_on_the_way_holds_is_asked_for(tmp_path):
    name, table = screen("40 um")
    silent = {key: value for key, value in table.items() if key != "volume"}
    found = arrivals(feed_plan(tmp_path, BALL, between=[(name, silent)]))["turbo"]
    assert found.verdict is Verdict.UNCHECKED
    assert "volume in [components.screen]" in found.needs
    with_it = arrivals(feed_plan(tmp_path, BALL, between=[screen("40 um")]))["turbo"]
    # 50 mL at a flow of more than a litre a minute: under three seconds, and not to be overlooked.
    without = arrivals(feed_plan(tmp_path, BALL))["turbo"]
    assert 0.2 < with_it.value.value - without.value.value < 3.0


def test_without_an_answer_or_an_engine_that_runs_it_is_unchecked(tmp_path):
    found = arrivals(feed_plan(tmp_path, {"bearing": "ball"}))["turbo"]
    assert (found.verdict, found.needs) == (Verdict.UNCHECKED, "what circuit.flow/line asks for")
    still = arrivals(feed_plan(tmp_path, BALL, pressure={"otherwise": "0 psi"}))["turbo"]
    assert still.verdict is Verdict.UNCHECKED
