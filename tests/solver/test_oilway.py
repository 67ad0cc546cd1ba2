"""A filter ahead of a small hole, and how soon oil is at a turbocharger, against fillings integrated elsewhere."""

import numpy as np
import pytest
from oilfeeds import BALL, DUTIES, HOSE, HOT, JOURNAL, OIL, feed_plan, jet, pumped_plan, steady
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


def test_where_no_oil_comes_nothing_is_said_of_its_filter(tmp_path):
    # The plan says nothing of a filter, and no duty tells which side is ahead.
    found = filtered(
        feed_plan(tmp_path, BALL, duties={"off": {"engine_speed": "0 rpm"}}, pressure="50 psi", between=[jet("1.0 mm")])
    )
    assert found.verdict is Verdict.UNCHECKED
    # What the housing presses back through the hole is no way of the oil.
    dry = BALL | {"housing_pressure": "3 kPa"}
    found = filtered(feed_plan(tmp_path, dry, pressure="0 psi", between=[jet("1.0 mm")]))
    assert found.verdict is Verdict.UNCHECKED


def two_galleries(folder, coarse, fine, *, filtered=False):
    """A hole with oil from one gallery at idle and another at red line, each through its own filter."""
    ahead = {"coarse": coarse, "fine": fine}
    check = {"kind": "check-valve", "crack": "1 kPa"} | {
        "points": HOT | {"flow": ["1 L/min", "3 L/min"], "drop": ["2 kPa", "6 kPa"]}
    }
    high, low = {"idle": "50 psi", "red_line": "10 psi"}, {"idle": "10 psi", "red_line": "50 psi"}
    components, runs = {}, {}
    for name, pressure, leg in (("coarse", high, "a"), ("fine", low, "b")):
        components |= {
            f"{name}_oil": {"kind": "gallery", "pressure": pressure, "filtered": filtered, "ports": {"x": {}}},
            name: {"kind": "filter", "mesh": ahead[name]} | ELEMENT,
            f"{name}_valve": check,
        }
        runs |= {
            f"{name}_1": run(f"{name}_oil.x", f"{name}.in", "ptfe-braid -4", **HOSE),
            f"{name}_2": run(f"{name}.out", f"{name}_valve.in", "ptfe-braid -4", **HOSE),
            f"{name}_3": run(f"{name}_valve.out", f"split.{leg}", "ptfe-braid -4", **HOSE),
        }
    return read(
        folder,
        fluids={"oil": OIL},
        circuits={"line": HOT},
        duties=DUTIES,
        components=components
        | {
            "split": {"kind": "tee", "bore": "4.3 mm"},
            "jet": {"kind": "restrictor", "bore": "1.0 mm", "length": "2 mm"},
            "turbo": {"kind": "turbocharger"} | BALL,
        },
        runs=runs
        | {
            "C": run("split.branch", "jet.in", "ptfe-braid -4", **HOSE),
            "D": run("jet.out", "turbo.feed", "ptfe-braid -4", **HOSE),
        },
    )


def test_the_duty_whose_oil_comes_through_the_coarser_filter_counts(tmp_path):
    found = filtered(two_galleries(tmp_path, "0.5 mm", "40 um"))
    assert found.verdict is Verdict.CAUTION
    assert "coarse ahead of it lets through 500 microns" in found.why.say("metric")
    assert filtered(two_galleries(tmp_path, "100 um", "40 um")).verdict is Verdict.PASS
    assert filtered(two_galleries(tmp_path, "0.5 mm", "40 um", filtered=True)).verdict is Verdict.PASS


def test_the_finer_of_two_filters_in_line_counts(tmp_path):
    second = ("second", {"kind": "filter", "mesh": "50 um"} | ELEMENT)
    found = filtered(feed_plan(tmp_path, BALL, between=[screen("0.5 mm"), second, jet("1.0 mm")]))
    assert found.verdict is Verdict.PASS
    assert "second ahead of it lets through 50 microns" in found.why.say("metric")


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
    return longest_filling(answer, way, 0, open_flows(answer, way, np.array([101325.0]), {}, "metric")[0])


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
    # The air is given a fifth of the time that the line takes at its steady flow, and it is said.
    assert "20.0 % of the oil's own time is added for the air ahead of it" in found.why.say("metric")
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


# ---------------------------------------------------------------- from a pump, and over a crest


def test_a_pump_that_draws_from_a_sump_is_what_it_is_counted_from(tmp_path):
    plan = pumped_plan(tmp_path, BALL, volume="5 L")
    found = arrivals(plan)["turbo"]
    assert found.verdict is Verdict.PASS
    assert "at most after pump gives its oil, at " in found.why.say("metric")
    # By hand, what the one hose behind the pump holds: at least at the pump's flow with the hose open, at most at that
    # with the bearings behind it, 1.3 L/min at the most; and a fifth of the latter for the air.
    answer = line(plan)
    held = content(answer.model.bores["turbo.feed"], 0.6)
    steadily = held / answer.flow("O1")[0]
    assert held / (1.3e-3 / 60 * 2500 / 3000) < found.value.value < 1.3 * steadily


def test_neither_the_sump_nor_the_hose_to_the_pump_has_to_fill(tmp_path):
    # Neither is the oil in the sump asked for, nor is its hose counted. Its loss is some pascals of the pump's bars.
    near, far = (arrivals(pumped_plan(tmp_path, BALL, suction))["turbo"] for suction in ("300 mm", "1500 mm"))
    assert far.value.value == pytest.approx(near.value.value, rel=2e-3)


def over_a_crest(folder, pressure, up):
    """A pipe of 6 mm from a gallery up, level for 1.5 m, and down again to a turbocharger as high as the gallery."""
    return read(
        folder,
        fluids={"oil": COLD},
        circuits={"line": HOT},
        duties={"idle": {"engine_speed": "800 rpm"}},
        components={
            "gallery": {"kind": "gallery", "pressure": pressure, "ports": {"a": {"at": "0, 0, 0 m", "points": "up"}}},
            "turbo": {"kind": "turbocharger", "ports": {"feed": {"at": "1.5, 0, 0 m", "points": "up"}}} | JOURNAL,
        },
        runs={"O1": run("gallery.a", "turbo.feed", "pipe", via=[f"0, 0, {up}", f"1.5, 0, {up}"])},
        stock={"pipe": tube("6 mm")},
    )


def test_a_crest_that_is_higher_than_the_inlet_is_in_the_bound(tmp_path):
    # 12.5 kPa lift 1.45 m of 880 kg/m3; the pipe rises 1.3 m. By Hagen and Poiseuille, with corners without radius.
    pressure, up, level, slope = 12.5e3, 1.3, 1.5, 880 * 9.80665
    each = resistance(0.006, 1.0)

    def filling(_t, x):
        return (pressure - slope * min(x[0], up)) / (each * max(x[0], 1e-4)) / content(0.006, 1.0)

    def over(_t, x):
        return x[0] - up - level

    over.terminal = True
    # From where it goes down again oil runs by itself: so long at least.
    true = solve_ivp(filling, (0, 1e5), [1e-3], events=over, rtol=1e-6, max_step=5.0).t_events[0][0]
    # Had the whole way the whole pressure, as with its end open, it would seem to be there sooner.
    whole = (2 * up + level) ** 2 * each * content(0.006, 1.0)
    assert whole / pressure < true
    found = arrivals(over_a_crest(tmp_path, f"{pressure} Pa", f"{up} m"))["turbo"]
    assert found.value.value > true
    # The whole way at what is left over the crest: the bends are longer than the corners, and a fifth of what fills at
    # the whole pressure, with its bearings, is the air's.
    assert found.value.value == pytest.approx(whole / (pressure - slope * up) + 0.2 * whole / pressure, rel=0.15)


def test_a_crest_that_the_pressure_does_not_reach_is_unchecked(tmp_path):
    found = arrivals(over_a_crest(tmp_path, "10 kPa", "1.3 m"))["turbo"]
    assert found.verdict is Verdict.UNCHECKED
    assert "O1 comes 1300 mm over gallery, whose 10 kPa at idle does not lift oil" in found.why.say("metric")
    assert "a lower way for O1" in found.needs


def test_a_trickle_is_no_arrival(tmp_path):
    # A gallery of 3 kPa against a housing of 3 kPa: what its numbers make of nothing is no time.
    still = JOURNAL | {"housing_pressure": "3 kPa"}
    duties = {"steady": {"engine_speed": "800 rpm"}}
    for gallery in ("0 kPa", "3 kPa"):
        found = arrivals(feed_plan(tmp_path, still, pressure=gallery, duties=duties))["turbo"]
        assert found.verdict is Verdict.UNCHECKED
        assert "no oil comes to turbo.feed" in found.why.say("metric")
