"""What a drain of a plan is made of: its runs, what joins them, where it floods, what runs in it and presses on it."""

import dataclasses

import numpy as np
import pytest
from turbocharged import BOX, POINTS, plan_of
from writing import run

from lines.finding import Verdict
from solver.checks import drain as drain_checks
from solver.checks import filling, flooding
from solver.drains import relaid
from solver.drains.causes import Cause, cause
from solver.drains.cures import Ill, cures
from solver.drains.drainage import drains
from solver.drains.pieces import Fitting
from solver.drains.stood import stood
from solver.drains.surface import one
from solver.study import study

CLIMB = {"climb": {"nose_up": "60 %"}}
PORTS = {"feed": {"at": "0, 0, 580 mm"}, "drain": {"at": "0, 0, 500 mm"}}


def drain_of(plan, turbo="turbo"):
    found = study(plan).drains[turbo]
    if isinstance(found, Exception):
        raise found
    return found


def joined(tmp_path, kind, figures, *, upper="0, 0, 360 mm", lower="0, 0, 340 mm", ports=("in", "out"), **facts):
    """A drain of two plumb runs with something between them."""
    a, b = ports
    return plan_of(
        tmp_path,
        bung=(0.0, 0.0, 200.0),
        turbo={"ports": PORTS, "drain_bore": "12 mm"} | facts.pop("turbo", {}),
        components={"mid": {"kind": kind, "ports": {a: {"at": upper}, b: {"at": lower}}} | figures},
        runs={
            "D1": run("turbo.drain", f"mid.{a}", "ptfe-braid -10", circuit="drain", via=[]),
            "D2": run(f"mid.{b}", "sump.drain", "ptfe-braid -10", circuit="drain", via=[]),
        },
        **facts,
    )


# ---------------------------------------------------------------- what joins two runs


@pytest.mark.parametrize(
    ("kind", "figures"),
    [
        ("restrictor", {"bore": "1 mm", "length": "3 mm"}),
        ("check-valve", {"crack": "0.3 bar"}),
        ("filter", {}),
        ("resistance", {"k": "1000", "bore": "2 mm"}),
        ("cooler", {}),
    ],
)
def test_what_gravity_may_not_get_oil_through_is_refused_by_name(tmp_path, kind, figures):
    (found,) = flooding.surface(study(joined(tmp_path, kind, figures)))
    assert found.verdict is Verdict.UNCHECKED
    assert "how oil gets through mid by gravity alone is not known" in found.why.say("metric")
    assert "a drain without mid" in found.needs


def test_a_union_is_no_more_than_its_length(tmp_path):
    plan = joined(tmp_path, "union", {}, ports=("a", "b"))
    (found,) = flooding.surface(study(plan))
    assert found.verdict is Verdict.PASS
    assert drain_of(plan).line.stations[-1] == pytest.approx(0.300)
    assert drain_of(plan).line.body.sum() == 1
    # A place in its body is the end of the run after it, and that run is counted from its own end.
    line = drain_of(plan).line
    body = int(np.flatnonzero(line.body)[0])
    assert line.place(body) == ("D2", 0.0)
    assert line.place(len(line.run)) == ("D2", pytest.approx(0.140))


def test_a_tee_necks_a_drain_by_its_bore_and_costs_what_a_tee_does(tmp_path):
    tee = {"bore": "4 mm"}
    narrow = study(joined(tmp_path, "tee", tee, ports=("a", "b")))
    (found,) = flooding.surface(narrow)
    assert found.verdict is Verdict.FAIL
    assert "fill its bore of 4.00 mm" in found.why.say("metric")
    (found,) = filling.bore(narrow)
    assert found.verdict is Verdict.CAUTION
    wide = drain_of(joined(tmp_path, "tee", {"bore": "12 mm"}, ports=("a", "b")))
    legs = [fitting for fitting in wide.line.fittings if fitting.name.startswith("mid")]
    assert [fitting.name for fitting in legs] == ["mid, leg a", "mid, leg b"]
    assert all(fitting.inertial > 0 for fitting in legs)
    (found,) = flooding.surface(study(joined(tmp_path, "tee", {}, ports=("a", "b"))))
    assert found.verdict is Verdict.UNCHECKED
    assert "bore in [components.mid]" in found.needs


@pytest.mark.parametrize(("lower", "verdict"), [("40, 0, 360 mm", Verdict.FAIL), ("0, 0, 340 mm", Verdict.PASS)])
def test_a_union_that_lies_level_does_not_fall(tmp_path, lower, verdict):
    plan = joined(tmp_path, "bulkhead-union", {}, lower=lower, ports=("a", "b"))
    (found,) = (f for f in drain_checks.fall(study(plan)) if f.place == "mid")
    assert found.verdict is verdict
    # Level it is no low: nothing dips where its hoses come to it from above and lead on downward.
    (found,) = filling.dips(study(plan))
    assert (found.verdict, found.value.value) == (Verdict.PASS, 0.0)


def test_a_run_drawn_from_the_sump_up_is_the_same_drain(tmp_path):
    down = plan_of(tmp_path, thread="flare37 -10")
    turned = down.runs["D1"].model_copy(
        update={"start": "sump.drain", "end": "turbo.drain", "via": tuple(reversed(down.runs["D1"].via))}
    )
    up = dataclasses.replace(down, runs=down.runs | {"D1": turned})
    one_way, other = drain_of(down).line, drain_of(up).line
    assert other.points == pytest.approx(one_way.points, abs=1e-9)
    assert other.bore == pytest.approx(one_way.bore)
    length = one_way.stations[-1]
    for point in range(len(one_way.points)):
        assert other.place(point) == ("D1", pytest.approx(length - one_way.place(point)[1]))
    # Out of an end into its hose costs more than the other way, so what each costs goes by how it flows.
    named = {fitting.name: fitting for fitting in one_way.fittings}
    assert named["bore of the end at turbo.drain"].inertial != named["bore of the end at sump.drain"].inertial
    for fitting in other.fittings:
        if not fitting.name.startswith("bend"):
            assert fitting.inertial == pytest.approx(named[fitting.name].inertial)
    assert drain_of(up).clearance(states_of(up)) == pytest.approx(drain_of(down).clearance(states_of(down)), abs=1e-6)


def states_of(plan):
    return stood(plan, drain_of(plan)).states


# ---------------------------------------------------------------- where it floods


def test_it_floods_at_the_height_that_is_stated(tmp_path):
    way = {"outlet": (0.0, 0.0, 500.0), "bung": (150.0, 0.0, 420.0), "attitudes": CLIMB}
    bare = stood(plan_of(tmp_path, **way), drain_of(plan_of(tmp_path, **way)))
    plan = plan_of(tmp_path, **way, turbo={"floods_at": "530 mm"})
    stated = stood(plan, drain_of(plan))
    upright = -bare.states.down[:, 2]
    assert stated.clearance - bare.clearance == pytest.approx(0.030 * upright, abs=1e-6)
    raised = relaid.with_outlet_raised(plan, stated.drain, 0.040)
    assert drain_of(raised).floods == pytest.approx(stated.drain.floods + np.array([0, 0, 0.040]))


@pytest.mark.parametrize(
    ("height", "says"),
    [("480 mm", "lies under its own drain port"), ({"hot": "520 mm", "cold": "530 mm"}, "changes with the duty")],
)
def test_a_height_at_which_it_cannot_flood_is_refused(tmp_path, height, says):
    (found,) = flooding.surface(study(plan_of(tmp_path, turbo={"floods_at": height})))
    assert found.verdict is Verdict.UNCHECKED
    assert says in found.why.say("metric")
    assert "floods_at" in found.needs


# ---------------------------------------------------------------- what runs in it, what presses on it


def test_the_housings_pressure_counts_against_the_crankcases(tmp_path):
    sump = BOX | {"crankcase": {"hot": "2 kPa", "cold": "1 kPa"}}
    made = drain_of(plan_of(tmp_path, sump=sump, turbo={"housing_pressure": "0.4 kPa"}))
    assert made.over == pytest.approx([1600.0, 600.0])
    states = stood(plan_of(tmp_path, sump=sump), made).states
    assert states.over == pytest.approx(made.over[states.duty])


def test_of_foams_that_run_together_each_counts_by_its_flow(tmp_path):
    half = {
        "fluid": "10w-40",
        "temperature": "100 C",
        "flow": ["0.1 L/min", "0.25 L/min"],
        "drop": ["1 bar", "2.5 bar"],
    }
    plan = plan_of(
        tmp_path,
        bung=(0.0, 0.0, 200.0),
        turbo={"ports": PORTS, "foam": "20 %"},
        components={
            "other": {
                "kind": "turbocharger",
                "bearing": "ball",
                "foam": "60 %",
                "points": half,
                "ports": {"feed": {"at": "0, 200, 580 mm"}, "drain": {"at": "0, 200, 500 mm"}},
            },
            "gallery2": {"kind": "gallery", "pressure": "3 bar", "ports": {"out": {"at": "0, 300, 500 mm"}}},
            "join": {
                "kind": "tee",
                "bore": "12 mm",
                "ports": {"a": {"at": "0, 0, 380 mm"}, "branch": {"at": "0, 20, 375 mm"}, "b": {"at": "0, 0, 370 mm"}},
            },
        },
        runs={
            "O2": run("gallery2.out", "other.feed", "ptfe-braid -4", circuit="oil", length="500 mm", length_is="cut"),
            "D1": run("turbo.drain", "join.a", "ptfe-braid -10", circuit="drain", via=[]),
            "D2": run("other.drain", "join.branch", "ptfe-braid -10", circuit="drain", via=[]),
            "D3": run("join.b", "sump.drain", "ptfe-braid -10", circuit="drain", via=[]),
        },
    )
    one_, other = drain_of(plan), drain_of(plan, "other")
    (alone, both), (second, same) = one_.foams, other.foams
    assert not np.allclose(alone.flow, second.flow)
    assert both.density * both.flow == pytest.approx(alone.density * alone.flow + second.density * second.flow)
    assert both.viscosity * both.flow == pytest.approx(alone.viscosity * alone.flow + second.viscosity * second.flow)
    assert same.density == pytest.approx(both.density)
    assert one_.line.bore[one_.line.body] == pytest.approx([0.012])


def test_what_lasts_a_moment_need_not_be_cured(tmp_path):
    low = {"outlet": (-190.0, 0.0, 215.0), "bung": (-190.0, 0.0, 180.0)}
    attitudes = {"climb": {"nose_up": "56 %"}, "launch": {"forward": "1.5 g", "lasts": "transient"}}
    plan = plan_of(tmp_path, **low, attitudes=attitudes)
    found = next(f for f in flooding.surface(study(plan)))
    assert found.verdict is Verdict.FAIL
    assert "One of these is enough wherever an attitude lasts" in found.change.say("metric")
    by = {lasting: least(plan, lasting=lasting) for lasting in (True, False)}
    assert by[True] < by[False]


def least(plan, *, lasting):
    """The least by which a turbocharger has to be raised; inf where no height is enough."""
    made = study(plan)
    stands = stood(plan, made.drains["turbo"])
    states = stands.states.rows(np.flatnonzero(stands.lasts)) if lasting else stands.states
    found = cures(Ill(made, stands.drain, states, None), wider=False)
    return next((c.by for c in found if c.what == "turbo up"), np.inf)


def test_several_things_together_speak_of_pressure_only_where_there_is_some(tmp_path):
    thick = {"points": POINTS | {"flow": ["0.2 L/min", "0.4 L/min"], "drop": ["0.7 bar", "2.5 bar"]}, "foam": "50 %"}
    plan = plan_of(
        tmp_path,
        outlet=(-190.0, 0.0, 215.0),
        bung=(-190.0, 0.0, 180.0),
        turbo=thick,
        temperature={"hot": "110 C", "cold": "0 C"},
        pressure={"hot": "2 bar", "cold": "6 bar"},
        attitudes=CLIMB,
    )
    stands = stood(plan, drain_of(plan))
    row = next(i for i, s in enumerate(stands.names) if (s.attitude, s.duty) == ("climb", "cold"))
    assert cause(stands.drain, one(stands.states, row)) is Cause.TOGETHER
    (found,) = flooding.surface(study(plan))
    assert "crankcase pressure" not in found.why.say("metric").partition("As far as")[0]


def test_a_duty_whose_feed_has_no_answer_is_not_known(tmp_path):
    plan = plan_of(tmp_path)
    made = study(plan)
    answers = dict(made.solutions)
    answers["oil"] = dataclasses.replace(answers["oil"], reasons={"cold": "for the test"})
    found = drains(plan, made.circuits, made.assemblies, answers)["turbo"]
    assert [list(plan.duties)[i] for i in found.known] == ["hot"]


def test_a_fitting_of_a_wider_bore_loses_less_by_its_velocity():
    # A laminar loss goes with 1/d^3 at one flow, an inertial one with 1/d^4.
    wide = Fitting(0, "elbow", 0, 8.0, 16.0).wider(2.0)
    assert (wide.viscous, wide.inertial) == (1.0, 1.0)


def test_drawn_up_from_the_sump_its_fittings_sit_at_the_same_places(tmp_path):
    way = {"thread": "flare37 -10", "outlet": (0.0, 0.0, 600.0), "bung": (300.0, 0.0, 200.0)}
    turned = {"D1": run("sump.drain", "turbo.drain", "ptfe-braid -10", circuit="drain", via=["150, 100, 400 mm"])}
    down = study(plan_of(tmp_path, **way, via=[(150, 100, 400)])).drains["turbo"].line
    up = study(plan_of(tmp_path, **way, runs=turned)).drains["turbo"].line
    one, two = ({f.name: line.points[f.after + 1] for f in line.fittings if " at " in f.name} for line in (down, up))
    assert one.keys() == two.keys()
    assert len(one) >= 2
    for name in one:
        assert one[name] == pytest.approx(two[name], abs=2e-5)


def test_an_ends_loss_sits_where_its_metal_meets_the_hose(tmp_path):
    way = {"thread": "flare37 -10", "outlet": (0.0, 0.0, 600.0), "bung": (300.0, 0.0, 200.0)}
    line = study(plan_of(tmp_path, **way)).drains["turbo"].line
    ends = {f.name.rpartition(" at ")[2]: f.after for f in line.fittings if f.name.startswith("bore of the end")}
    bore = line.bore
    assert bore[ends["turbo.drain"]] < bore[ends["turbo.drain"] + 1]
    assert bore[ends["sump.drain"]] > bore[ends["sump.drain"] + 1]
