"""Crankcase breathing: pressure, bores, lows and open ends in every attitude, and the can."""

import re

import fluids.compressible
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from writing import read, run, tube

from catalogs.grades import Grade
from lines.finding import Verdict
from solver.checks import breather, breathercures, breatherstated, breatherway, findings
from solver.profile import Profile, pools, profile
from solver.study import study

ATMOSPHERE = 101_325.0
POINTS = {"fluid": "air", "temperature": "20 C", "flow": ["300 L/min", "600 L/min"], "drop": ["0.2 kPa", "0.6 kPa"]}
LARGE = {"displacement": "6.2 L", "wear": "used"}
FULL = {"full": {"engine_speed": "6500 rpm", "boost": "1 bar"}}


def breathing(
    folder, *, engine=LARGE, duties=FULL, lines=("push-on -8", "push-on -8"), can=None, second=False, plan=None, **more
):
    """A crankcase, a can and a filter, joined by straight lines of 1.2 m and 0.6 m."""
    runs = {
        "V1": run("engine.out", "can.in", lines[0], length="1.2 m", length_is="cut", ends=["straight", "straight"]),
        "V2": run("can.out", "filter.in", lines[1], length="0.6 m", length_is="cut", ends=["straight", "straight"]),
    }
    components = {
        "engine": {"kind": "crankcase", "ports": {"out": {}, "more": {}}} | engine,
        "can": {"kind": "catch-tank", "volume": "3 L", "ports": {"in": {}, "out": {}, "more": {}}} | (can or {}),
        "filter": {"kind": "breather-filter", "points": POINTS},
    }
    if second:
        runs["V3"] = runs["V1"] | {"from": "engine.more", "to": "can.more"}
    for part in ("engine", "can") if not second else ():
        components[part]["ports"] = {k: v for k, v in components[part]["ports"].items() if k != "more"}
    air = {"line": {"fluid": "air", "temperature": "90 C"}}
    return read(folder, plan=plan or {}, circuits=air, duties=duties, components=components | more, runs=runs)


def judged(plan, check):
    return {finding.id: finding for finding in check(study(plan))}


def pressure(plan):
    return judged(plan, breather.pressure)["breather.pressure/engine"]


# ---------------------------------------------------------------- pressure


def test_one_small_line_on_a_large_engine_fails_and_what_is_said_to_cure_it_does(tmp_path):
    small = ("rubber-braid -8", "rubber-braid -8")
    wide = {"kind": "breather-filter", "points": POINTS | {"drop": ["0.05 kPa", "0.15 kPa"]}}
    found = pressure(breathing(tmp_path, lines=small, filter=wide))
    assert (found.verdict, found.worst.duty) == (Verdict.FAIL, "full")
    said = found.change.say("metric")
    stocks = dict(re.findall(r"(V\d) as (rubber-braid -\d+)", said))
    assert stocks
    lines = tuple(stocks.get(tag, "rubber-braid -8") for tag in ("V1", "V2"))
    after = pressure(breathing(tmp_path, lines=lines, filter=wide))
    assert after.verdict is Verdict.PASS
    told = float(re.search(r"it would be ([\d.]+) kPa\.", said)[1])
    assert after.value.value / 1000 == pytest.approx(told, rel=0.005)  # as printed, to three figures


def test_where_no_wider_hose_stands_in_the_tables_more_lines_are_named(tmp_path):
    # Push-on hose ends at -12: the rest of the way is more lines.
    said = pressure(breathing(tmp_path)).change.say("metric")
    assert re.search(r"V1 as \d lines of push-on -12", said)
    assert re.search(r"V2 as \d lines of push-on -12, each with a filter of its own", said)
    assert float(re.search(r"it would be ([\d.]+) kPa\.", said)[1]) <= 2.5


def beside(sections, tag, count, stock, owned):
    """The sections of a plan with several lines for one, each with a copy of the component it is on where owned."""
    first = sections["runs"][tag] | {"stock": stock}
    for n in range(1, count + 1):
        line = dict(first)
        for side in ("from", "to"):
            owner, port = first[side].split(".")
            if owner in owned:
                line[side] = f"{owner}{n}.{port}"
                sections["components"][f"{owner}{n}"] = sections["components"][owner]
            else:
                line[side] = f"{owner}.{port}{n}"
                sections["components"][owner]["ports"][f"{port}{n}"] = {}
        sections["runs"][f"{tag}-{n}"] = line
    del sections["runs"][tag]
    for side in ("from", "to"):
        owner, port = first[side].split(".")
        if owner in owned:
            del sections["components"][owner]
        else:
            del sections["components"][owner]["ports"][port]


def test_the_lines_that_are_named_leave_what_was_said(tmp_path):
    found = pressure(breathing(tmp_path))
    said = found.change.say("metric")
    told = float(re.search(r"the ports to match, it would be ([\d.]+) kPa\.", said)[1])
    tape = {"length_is": "cut", "ends": ["straight", "straight"]}
    sections = {
        "components": {
            "engine": {"kind": "crankcase", "ports": {"out": {}}} | LARGE,
            "can": {"kind": "catch-tank", "volume": "3 L", "ports": {"in": {}, "out": {}}},
            "filter": {"kind": "breather-filter", "points": POINTS},
        },
        "runs": {
            "V1": run("engine.out", "can.in", "push-on -8", length="1.2 m", **tape),
            "V2": run("can.out", "filter.in", "push-on -8", length="0.6 m", **tape),
        },
    }
    for tag, count, stock, owned in re.findall(
        r"(V\d) as (\d) lines of (push-on -\d+)((?:, each with a \w+ of its own)*)", said
    ):
        beside(sections, tag, int(count), stock, re.findall(r"with a (\w+) of its own", owned))
    after = pressure(
        read(tmp_path, circuits={"line": {"fluid": "air", "temperature": "90 C"}}, duties=FULL, **sections)
    )
    assert len(sections["runs"]) > 2
    assert after.verdict is Verdict.PASS
    assert after.value.value / 1000 == pytest.approx(told, rel=0.005)


def test_a_shop_says_how_many_lines_are_advised(tmp_path):
    (tmp_path / "shop").mkdir()
    own = '["breather.lines"]\ncaution_above = "2"\nsource = "our own"\ngrade = "measured"\n'
    (tmp_path / "shop" / "limits.toml").write_text(own, encoding="utf-8")
    said = pressure(breathing(tmp_path, plan={"shop": "shop"})).change.say("metric")
    assert "as 2 lines" in said
    assert "as 3 lines" not in said


def test_a_second_line_leaves_what_was_said(tmp_path):
    # The longer first line takes the most: the second one is beside it.
    said = pressure(breathing(tmp_path, lines=("push-on -8", "push-on -12"))).change.say("metric")
    told = float(re.search(r"second line like V1 .* it would be ([\d.]+) kPa", said)[1])
    after = pressure(breathing(tmp_path, lines=("push-on -8", "push-on -12"), second=True))
    assert after.value.value / 1000 == pytest.approx(told, rel=0.005)


def test_a_filter_that_takes_the_most_is_named_and_no_wider_hose_is_praised(tmp_path):
    choked = {"kind": "breather-filter", "points": POINTS | {"drop": ["6 kPa", "20 kPa"]}}
    engine = {"blow_by": "250 L/min"}
    found = pressure(breathing(tmp_path, engine=engine, lines=("push-on -12", "push-on -12"), filter=choked))
    said = found.change.say("metric")
    assert found.verdict is Verdict.FAIL
    assert "is lost in filter. Take a larger one, or two." in said
    assert "V2 as 2 lines of push-on -12, each with a filter of its own" in said
    assert "With a second line like V2 with openings of its own and a second filter it would be" in said


def test_a_line_too_small_for_one_density_fails_by_a_pressure_that_is_the_least(tmp_path):
    # A 10 mm tube of 1 m at 600 L/min. Crane TP-410 equation 1-6 as `fluids` has it, which also gives the gas its
    # speed, with 1.5 velocity heads of mouths as so much more tube: at the pressure that is told less goes through than
    # has to.
    plan = read(
        tmp_path,
        circuits={"line": {"fluid": "air", "temperature": "20 C"}},
        components={
            "engine": {"kind": "crankcase", "blow_by": "600 L/min", "ports": {"out": {}}},
            "far": {"kind": "open"},
        },
        stock={"pipe": tube("10 mm")},
        runs={"V1": run("engine.out", "far.in", "pipe", length="1 m", length_is="overall")},
    )
    found = pressure(plan)
    assert found.verdict is Verdict.FAIL
    assert "at least" in found.why.say("metric")
    rho, mu = PropsSI("D", "P", ATMOSPHERE, "T", 293.15, "Air"), PropsSI("V", "P", ATMOSPHERE, "T", 293.15, "Air")
    mass = rho * 0.01
    factor = fluids.friction.Churchill_1977(4 * mass / (np.pi * 0.01 * mu), 1e-5)
    over = found.value.value
    before, length = ATMOSPHERE + over, 1.0 + 1.5 * 0.01 / factor
    pushed = fluids.compressible.isothermal_gas(
        rho=rho * before / ATMOSPHERE, fd=factor, P1=before, P2=ATMOSPHERE, L=length, D=0.01
    )
    assert 0.9 * mass < pushed < mass
    assert over > 0.1 * ATMOSPHERE


def test_an_estimate_is_said_and_what_wear_would_make_of_it(tmp_path):
    small = {"displacement": "1.8 L", "wear": "used"}
    found = pressure(breathing(tmp_path, engine=small, lines=("push-on -12", "push-on -12")))
    said = found.why.say("metric")
    assert found.verdict is Verdict.PASS
    assert "estimated for an engine that is used" in said
    worn = pressure(breathing(tmp_path, engine=small | {"wear": "worn"}, lines=("push-on -12", "push-on -12")))
    told = float(re.search(r"Once worn, it would come to ([\d.]+) kPa", said)[1])
    assert worn.value.value / 1000 == pytest.approx(told, rel=0.005)
    assert worn.verdict is Verdict.FAIL
    assert "over the limit" in said
    assert found.basis is not Grade.MEASURED


def test_what_is_only_the_least_is_said_to_be_in_every_figure(tmp_path):
    # What each sentence says of a change, the plan so changed says too.
    found = pressure(breathing(tmp_path, lines=("push-on -12", "push-on -12")))
    worn = pressure(breathing(tmp_path, engine=LARGE | {"wear": "worn"}, lines=("push-on -12", "push-on -12")))
    assert "leave the crankcase at least" not in found.why.say("metric")
    assert "leave the crankcase at least" in worn.why.say("metric")
    assert "Once worn, it would come to at least" in found.why.say("metric")
    small = pressure(breathing(tmp_path, lines=("push-on -6", "push-on -12")))
    told = re.search(r"second line like V1 .* it would be at least ([\d.]+) kPa", small.change.say("metric"))
    after = pressure(breathing(tmp_path, lines=("push-on -6", "push-on -12"), second=True))
    assert "leave the crankcase at least" in after.why.say("metric")
    assert after.value.value / 1000 == pytest.approx(float(told[1]), rel=0.005)
    one_size = breathercures.Cure("V1 as a wider hose", 1000.0, at_least=True)
    assert one_size.still(2500.0) == ", how much more is not known."


def test_a_pressure_that_is_only_the_least_passes_nowhere(tmp_path):
    # What draws on it stands 20 kPa under the air outside, and the line takes 15 of them: more than a tenth.
    intake = {"kind": "source", "pressure": "-20 kPa", "ports": {"out": {}}}
    plan = read(
        tmp_path,
        circuits={"line": {"fluid": "air", "temperature": "20 C"}},
        components={"engine": {"kind": "crankcase", "blow_by": "450 L/min", "ports": {"out": {}}}, "intake": intake},
        stock={"pipe": tube("10 mm")},
        runs={"V1": run("engine.out", "intake.out", "pipe", length="1 m", length_is="overall")},
    )
    found = pressure(plan)
    assert found.verdict is Verdict.UNCHECKED
    assert "or higher; how much is not known" in found.why.say("metric")
    assert "gauge" in found.needs


def test_a_stated_blow_by_is_not_said_to_be_an_estimate(tmp_path):
    said = pressure(breathing(tmp_path, engine={"blow_by": "100 L/min"})).why.say("metric")
    assert "100.0 L/min of blow-by leave" in said or "100 L/min of blow-by leave" in said
    assert "estimated" not in said


def test_too_much_suction_on_a_closed_breather_fails_the_other_way(tmp_path):
    intake = {"kind": "source", "pressure": "-4 kPa", "ports": {"out": {}}}
    plan = read(
        tmp_path,
        circuits={"line": {"fluid": "air", "temperature": "90 C"}},
        components={"engine": {"kind": "crankcase", "blow_by": "20 L/min", "ports": {"out": {}}}, "intake": intake},
        runs={"V1": run("engine.out", "intake.out", "push-on -10", length="1 m", length_is="cut")},
    )
    found = pressure(plan)
    assert found.verdict is Verdict.FAIL
    assert found.value.value == pytest.approx(-4000, abs=50)
    assert "under the air outside" in found.why.say("metric")
    assert "It is closed" in found.why.say("metric")
    assert "suction" in found.change.say("metric")


def test_an_open_breather_is_said_to_be_open(tmp_path):
    assert "open to the air at filter; road law" in pressure(breathing(tmp_path)).why.say("metric")


def test_without_blow_by_or_what_gives_it_there_is_no_verdict(tmp_path):
    found = pressure(breathing(tmp_path, engine={}))
    assert found.verdict is Verdict.UNCHECKED
    assert "circuit.flow/line" in found.needs


def test_a_crankcase_that_nothing_joins_has_no_findings_of_its_breather(tmp_path):
    plan = read(
        tmp_path,
        circuits={"line": {"fluid": "air", "temperature": "20 C"}},
        components={"engine": {"kind": "crankcase"}, "a": {"kind": "open"}, "b": {"kind": "open"}},
        runs={"V1": run("a.in", "b.in", "push-on -10", length="1 m", length_is="cut")},
    )
    told = {f.rule for f in findings(study(plan))}
    assert not {rule for rule in told if rule.startswith("breather")}
    assert "port.open" in told


# ---------------------------------------------------------------- measured


def stating(folder, crankcase, **facts):
    """A sump that states its crankcase pressure beside a breather that gives one, and what is said of the two."""
    pan = {"kind": "sump", "crankcase": crankcase, "ports": {"pickup": {}}}
    return judged(breathing(folder, pan=pan, **facts), breatherstated.measured)


def test_a_stated_pressure_far_from_that_of_the_breather_is_told_with_both(tmp_path):
    wide = {"engine": {"blow_by": "120 L/min"}, "lines": ("push-on -12", "push-on -12")}
    given = pressure(breathing(tmp_path, **wide)).value.value
    assert given < 500
    found = stating(tmp_path, "5 kPa", **wide)
    one = found["breather.measured/pan"]
    assert one.verdict is Verdict.CAUTION
    assert one.value.value == pytest.approx(5000 - given)
    said = one.why.say("metric")
    assert "states 5.00 kPa against" in said
    assert float(re.search(r"gives ([\d.]+) kPa: one of the two is wrong", said)[1]) == pytest.approx(
        given / 1000, abs=5e-4
    )
    assert "more blows by" in one.change.say("metric")
    assert "breather.measured/pan" in found["breather.pressure/pan"].change.say("metric")
    assert "a crankcase in the plan tells which" not in found["breather.pressure/pan"].change.say("metric")


def test_a_stated_pressure_under_that_of_the_breather_means_another_way_out(tmp_path):
    found = stating(tmp_path, "0 kPa")["breather.measured/pan"]
    assert found.verdict is Verdict.CAUTION
    assert "gives at least" in found.why.say("metric")
    assert "another way out of the crankcase; blow_by of engine is only estimated" in found.change.say("metric")


def test_a_stated_pressure_near_to_it_passes(tmp_path):
    wide = {"engine": {"blow_by": "120 L/min"}, "lines": ("push-on -12", "push-on -12")}
    given = pressure(breathing(tmp_path, **wide)).value.value
    found = stating(tmp_path, f"{given + 990!r} Pa", **wide)["breather.measured/pan"]
    assert found.verdict is Verdict.PASS
    assert "one pressure" in found.why.say("metric")


def test_a_stated_pressure_over_the_least_that_it_can_be_is_not_called_wrong(tmp_path):
    small = {"engine": {"blow_by": "900 L/min"}}
    found = stating(tmp_path, "500 kPa", **small)["breather.measured/pan"]
    assert found.verdict is Verdict.UNCHECKED


def test_without_an_answer_of_the_breather_nothing_is_compared(tmp_path):
    assert list(stating(tmp_path, "5 kPa", engine={})) == ["breather.pressure/pan"]


# ---------------------------------------------------------------- bores and the can


def test_the_convention_of_bores(tmp_path):
    # One maker's page: -10 or 5/8 in to the can, 1 in at each cover and at the can's outlet.
    wide = {"ports": {"out": {"bore": "1 in"}}}
    plan = breathing(
        tmp_path,
        engine=LARGE | wide,
        can={"ports": {"in": {}, "out": {"bore": "1 in"}}},
        lines=("push-on -10", "rubber-braid -20"),
    )
    assert {f.verdict for f in judged(plan, breather.bore).values()} == {Verdict.PASS}


def test_a_line_under_it_is_a_caution_and_said_to_be_a_convention(tmp_path):
    wide = {"ports": {"out": {"bore": "1 in"}, "more": {}}}
    found = judged(breathing(tmp_path, engine={"blow_by": "90 L/min"} | wide), breather.bore)["breather.bore/V1"]
    assert found.verdict is Verdict.CAUTION
    assert found.worst.station == "hose"
    assert found.value.value == pytest.approx((1 / 2) / (5 / 8))  # the table's bore of -8 push-on hose
    assert "m/s at full" in found.why.say("metric")
    assert "convention" in found.change.say("metric")


def test_the_velocity_is_that_of_the_flow_in_the_bore(tmp_path):
    # 120 L/min in 1/2 in: 15.79 m/s by hand; the gas is a percent denser in the hose than outside.
    found = judged(breathing(tmp_path, engine={"blow_by": "120 L/min"}), breather.bore)["breather.bore/V1"]
    told = float(re.search(r"goes ([\d.]+) m/s", found.why.say("metric"))[1])
    assert told == pytest.approx(0.120 / 60 / (np.pi / 4 * 0.0127**2), rel=0.02)


@pytest.mark.parametrize(
    ("engine", "can", "verdict"),
    [("2.0 L", "2 L", "pass"), ("2.0 L", "1.9 L", "caution"), ("2.1 L", "2.9 L", "caution"), ("6 L", "3 L", "pass")],
)
def test_a_can_against_the_rules_of_classes(tmp_path, engine, can, verdict):
    # FIA Appendix K (2016) and Appendix J as a dealer sums them up: 2 L up to an engine of 2.0 L, 3 L above.
    plan = breathing(tmp_path, engine={"blow_by": "90 L/min", "displacement": engine}, can={"volume": can})
    found = judged(plan, breather.tank)["breather.tank/can"]
    assert found.verdict == verdict
    assert "FIA" in found.source


def test_what_is_asked_of_a_can_cures_it(tmp_path):
    engine = {"blow_by": "90 L/min", "displacement": "2.1 L"}
    found = judged(breathing(tmp_path, engine=engine, can={"volume": "1 L"}), breather.tank)["breather.tank/can"]
    asked = re.search(r"A can of ([\d.]+ L) or more", found.change.say("metric"))[1]
    after = breathing(tmp_path, engine=engine, can={"volume": asked})
    assert judged(after, breather.tank)["breather.tank/can"].verdict is Verdict.PASS


def test_a_can_that_two_engines_breathe_into_counts_both_and_no_engine_beside(tmp_path):
    # The same rules: 1.5 L asks for 2 L, 3.0 L together for 3 L. The third engine breathes into a can of its own.
    engine = {"kind": "crankcase", "blow_by": "20 L/min", "displacement": "1.5 L", "ports": {"out": {}}}
    can = {"kind": "catch-tank", "volume": "2.5 L"}
    tape = {"length": "1 m", "length_is": "cut"}
    plan = read(
        tmp_path,
        circuits={"line": {"fluid": "air", "temperature": "90 C"}},
        components={
            **dict.fromkeys(("left", "right", "own"), engine),
            "both": can | {"ports": {"a": {}, "b": {}, "out": {}}},
            "one": can | {"ports": {"a": {}, "out": {}}},
            "far": {"kind": "open"},
            "away": {"kind": "open"},
        },
        runs={
            "V1": run("left.out", "both.a", "push-on -10", **tape),
            "V2": run("right.out", "both.b", "push-on -10", **tape),
            "V3": run("both.out", "far.in", "push-on -10", **tape),
            "V4": run("own.out", "one.a", "push-on -10", **tape),
            "V5": run("one.out", "away.in", "push-on -10", **tape),
        },
    )
    found = judged(plan, breather.tank)
    assert found["breather.tank/both"].verdict is Verdict.CAUTION
    assert "for 2 engines together of 3.00 L" in found["breather.tank/both"].why.say("metric")
    assert found["breather.tank/one"].verdict is Verdict.PASS


def test_a_can_of_no_volume_or_an_engine_of_no_displacement_is_asked_for(tmp_path):
    found = judged(breathing(tmp_path, engine={"blow_by": "90 L/min"}), breather.tank)["breather.tank/can"]
    assert found.verdict is Verdict.UNCHECKED
    assert found.needs == "displacement in [components.engine]"


# ---------------------------------------------------------------- lows

FREE = np.array([-np.inf])


def stands(heights):
    """What stands at each place, by looking from each to both sides: another way to the same figure."""
    return [min(max(heights[: i + 1]), max(heights[i:])) - h for i, h in enumerate(heights)]


@given(st.lists(st.floats(-2, 2), min_size=2, max_size=30))
def test_what_stands_in_a_line(heights):
    found = pools(np.array([heights]), FREE, FREE)[0]
    assert found.tolist() == stands(heights)
    assert found.min() >= 0
    # From its other end it is the same line; at its ends it runs off; along a fall all the way nothing stands.
    assert pools(np.array([heights[::-1]]), FREE, FREE)[0][::-1].tolist() == found.tolist()
    assert (found[0], found[-1]) == (0, 0)
    assert not pools(np.array([sorted(heights)]), FREE, FREE).any()


@given(
    points=st.lists(st.tuples(*[st.floats(-1, 1)] * 3), min_size=3, max_size=8),
    turn=st.tuples(*[st.floats(-180, 180)] * 3),
)
def test_a_line_turned_with_its_gravity_holds_the_same(points, turn):
    down = np.array([[0, 0, -1.0], [0.6, 0, -0.8]])
    rotation = Rotation.from_euler("xyz", turn, degrees=True)
    one = pools(Profile(np.array(points)).heights(down), FREE, FREE)
    two = pools(Profile(rotation.apply(points)).heights(rotation.apply(down)), FREE, FREE)
    assert two == pytest.approx(one, abs=1e-9)


def place(xyz):
    return ", ".join(f"{x!r}" for x in xyz) + " mm"


def hung(folder, via, *, ends=((0, 0, 0), (400, 0, 0)), attitudes=None, far="catch-tank", middle=None, zones=None):
    """A plan with one breather line through points [mm], of tube that bends on 20 mm; or two, joined by a union."""
    first, last = ends
    port = "in" if far == "breather-filter" else "a"
    components = {
        "engine": {"kind": "crankcase", "blow_by": "20 L/min", "ports": {"out": {"at": place(first)}}},
        "far": {"kind": far, "ports": {port: {"at": place(last)}}},
        "air": {"kind": "open"},
    }
    runs = {"V1": run("engine.out", f"far.{port}", "pipe", via=[place(p) for p in via])}
    if far == "catch-tank":
        components["far"]["ports"]["b"] = {}
        runs["V9"] = run("far.b", "air.in", "pipe", length="1 m", length_is="overall")
    if middle:
        components["joint"] = {"kind": "union", "ports": {"a": {"at": place(middle)}, "b": {"at": place(middle)}}}
        runs["V1"] = run("engine.out", "joint.a", "pipe", via=[])
        runs["V2"] = run("joint.b", f"far.{port}", "pipe", via=[])
    return read(
        folder,
        circuits={"line": {"fluid": "air", "temperature": "90 C"}},
        attitudes=attitudes or {},
        components=components,
        zones=zones or {},
        stock={"pipe": tube("10 mm")},
        runs=runs,
    )


def loop(plan, tag="V1"):
    return judged(plan, breatherway.loop)[f"breather.loop/{tag}"]


CLIMB = {"climb": {"nose_up": "60 %"}}
V = [(200, 0, -200)]
ROUNDED = 0.020 * (2**0.5 - 1)  # how far an arc of 20 mm stays from the corner of a right angle


def test_a_low_is_named_by_its_depth_and_place(tmp_path):
    found = loop(hung(tmp_path, V))
    depth = 0.200 - ROUNDED
    assert found.verdict is Verdict.FAIL
    assert found.value.value == pytest.approx(depth / 0.010, rel=1e-3)
    # Half way along two legs of 282.8 mm, less what the arc cuts off: 282.8 - (20 - 20 pi / 4) = 278.6, to a step of
    # 5 mm.
    assert float(found.worst.station.split(" mm")[0]) == pytest.approx(278.6, abs=3)
    assert "from engine.out" in found.worst.station
    assert "192 mm" in found.why.say("metric")


def test_on_a_climb_it_is_as_deep_as_worked_by_hand(tmp_path):
    # Along (-0.6, 0, -1): the arc's centre stands (0.6 * 200 - 171.7) / 1.166 = -44.3 mm, its lowest point 20 under it,
    # and oil runs off at the crankcase, at 0.
    found = loop(hung(tmp_path, V, attitudes=CLIMB))
    depths = {case.state.attitude: case.value.value * 10 for case in found.cases}
    assert depths == pytest.approx({"level": 191.7, "climb": 64.35}, abs=0.1)


def test_a_low_in_one_attitude_alone_is_named_by_it(tmp_path):
    # It rises all the way to the can; nose up the first leg, which goes forward, falls.
    via = [(-200, 0, 60)]
    plan = hung(
        tmp_path,
        via,
        ends=((0, 0, 0), (-200, 0, 400)),
        attitudes=CLIMB | {"stop": {"braking": "1 g", "lasts": "transient"}},
    )
    found = loop(plan)
    assert (found.verdict, found.worst.attitude) == (Verdict.FAIL, "climb")
    assert {case.state.attitude for case in found.cases} == {"level", "climb"}
    assert found.cases[0].value.value == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("via", [V, [(100, 0, -150), (300, 0, -150)], [(100, 0, -40), (200, 0, 30), (300, 0, -90)]])
@pytest.mark.parametrize("attitudes", [{}, CLIMB])
def test_the_stated_remedy_cures_it(tmp_path, via, attitudes):
    said = loop(hung(tmp_path, via, attitudes=attitudes)).change.say("metric")
    told = [(int(at), int(up)) for at, up in re.findall(r"the point (\d+) mm from engine.out by (\d+) mm", said)]
    stops = np.array([(0, 0, 0), *via, (400, 0, 0)])
    walked = np.cumsum(np.linalg.norm(np.diff(stops, axis=0), axis=1))[:-1]
    for at, up in told:
        # By tape along the line, which cuts its corners a little.
        stops[1 + int(np.abs(walked - at).argmin())] += (0, 0, up)
    assert told
    assert loop(hung(tmp_path, stops[1:-1].tolist(), attitudes=attitudes)).verdict is Verdict.PASS


def test_a_line_over_one_crest_has_no_low(tmp_path):
    found = loop(hung(tmp_path, [(200, 0, 200)], attitudes=CLIMB))
    assert found.verdict is Verdict.PASS
    assert "no low" in found.why.say("metric")


def test_a_low_at_a_union_between_two_lines_is_found(tmp_path):
    # Neither line has a low of its own: both fall to the union.
    plan = hung(tmp_path, [], middle=(200, 0, -200))
    for tag in ("V1", "V2"):
        assert loop(plan, tag).value.value == pytest.approx(0.200 / 0.010, rel=1e-6)
        assert loop(plan, tag).verdict is Verdict.FAIL


def test_a_shallow_sag_is_open(tmp_path):
    # 4 mm of sag under the ends in a bore of 10: 40 %, under the half that a tape can tell.
    found = loop(hung(tmp_path, [(200, 0, -4)]))
    assert found.verdict is Verdict.PASS
    assert found.value.value < 0.4


@pytest.mark.parametrize(("stock", "thread"), [("breather -16", "barb 1"), ("push-on -10", "barb 5/8")])
def test_a_hose_over_a_spigot_counts_from_seat_to_seat(tmp_path, stock, thread):
    # Its cut edge lies under the spigot's tip, past the port: plumb between two ports it has no low for all that.
    plan = read(
        tmp_path,
        circuits={"line": {"fluid": "air", "temperature": "90 C"}},
        attitudes=CLIMB,
        components={
            "can": {"kind": "catch-tank", "ports": {"out": {"at": "0, 0, 0 mm", "points": "up", "thread": thread}}},
            "engine": {"kind": "crankcase", "blow_by": "20 L/min", "ports": {"out": {}}},
            "far": {
                "kind": "breather-filter",
                "ports": {"in": {"at": "0, 0, 240 mm", "points": "down", "thread": thread}},
            },
        }
        | {"air": {"kind": "open"}},
        runs={
            "V1": run("can.out", "far.in", stock, via=[]),
            "V2": run("engine.out", "air.in", "push-on -8", length="1 m", length_is="cut"),
        },
    )
    made = study(plan).assemblies["V1"]
    line = profile(made)
    assert made.route.line.length > 0.240
    assert line.points[[0, -1]] == pytest.approx(np.array([[0, 0, 0], [0, 0, 0.240]]), abs=1e-9)
    assert line.stations[-1] == pytest.approx(0.240, abs=1e-9)
    found = loop(plan)
    assert found.verdict is Verdict.PASS
    assert "no low" in found.why.say("metric")


def test_without_its_points_the_way_is_asked_for(tmp_path):
    found = loop(hung(tmp_path, V), "V9")
    assert found.verdict is Verdict.UNCHECKED
    assert "V9 (via)" in found.needs


# ---------------------------------------------------------------- open ends


def outlet(plan):
    return judged(plan, breatherway.outlet)["breather.outlet/V1"]


def test_a_filter_over_its_line_lets_everything_run_back(tmp_path):
    found = outlet(hung(tmp_path, [(0, 0, 300)], ends=((0, 0, 0), (200, 0, 420)), far="breather-filter"))
    assert found.verdict is Verdict.PASS


def test_a_filter_that_hangs_under_the_crest_drips(tmp_path):
    plan = hung(tmp_path, [(0, 0, 300), (200, 0, 300)], ends=((0, 0, 0), (200, 0, 100)), far="breather-filter")
    found = outlet(plan)
    assert found.verdict is Verdict.CAUTION
    # From the tangent of the second arc, level with its top, to the filter.
    assert found.value.value == pytest.approx(0.200, abs=1e-6)
    assert "hot" in found.change.say("metric")


def test_a_filter_that_stands_on_the_level_and_drips_on_the_climb(tmp_path):
    # 500 mm back and 100 up: nose up by 60 % it lies (100 - 300) / 1.166 mm, 171.5 under the crankcase.
    plan = hung(tmp_path, [], ends=((0, 0, 0), (-500, 0, 100)), far="breather-filter", attitudes=CLIMB)
    found = outlet(plan)
    assert (found.verdict, found.worst.attitude) == (Verdict.CAUTION, "climb")
    assert found.value.value == pytest.approx(0.1715, abs=5e-5)
    assert "falls all the way from engine.out" in found.why.say("metric")


@pytest.mark.parametrize(("x", "told"), [(-740, True), (-500, False), (-260, False)])
def test_what_is_hot_below_an_open_end_is_named_as_it_lies_where_it_drips(tmp_path, x, told):
    # Nose up by 60 % a drop falls 60 mm back for each 100 down in vehicle axes: from (-500, 0, 100) by (-740, 0, -300).
    # On the level, where it would fall by (-500, 0, -300), the filter stands over its line and nothing drips.
    zone = {"form": "sphere", "nature": "hot", "centre": f"{x}, 0, -300 mm", "radius": "50 mm"}
    plan = hung(
        tmp_path, [], ends=((0, 0, 0), (-500, 0, 100)), far="breather-filter", attitudes=CLIMB, zones={"pipe": zone}
    )
    said = outlet(plan).change.say("metric")
    assert ("Below it lies pipe" in said) is told
