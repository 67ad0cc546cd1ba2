"""Drains of whole plans that flood, each for one reason: named by place and attitude, and cured by what is said."""

import dataclasses
import math

import numpy as np
import pytest
from turbocharged import BOX, plan_of
from writing import run

from lines.finding import Verdict
from lines.states import ByDuty
from solver.checks import breatherstated, filling, flooding
from solver.drains import cures as cures_
from solver.drains import telling
from solver.drains.causes import Cause, Seal, cause, dip, seal
from solver.drains.cures import Ill, cures
from solver.drains.stood import stood
from solver.drains.surface import States, one
from solver.study import study

CLIMB = {"climb": {"nose_up": "60 %"}}


def judged(plan, check=flooding.surface):
    (found,) = check(study(plan))
    return found


def worst(plan):
    """A drain in its worst state: the study, how it stands, the row."""
    made = study(plan)
    stands = stood(plan, made.drains["turbo"])
    return made, stands, int(stands.clearance.argmin())


def offered(plan):
    """What would be enough, by name."""
    made, stands, _ = worst(plan)
    return {c.what: c for c in cures(Ill(made, stands.drain, stands.states, None), wider=True)}


# ---------------------------------------------------------------- one that works


def test_a_plumb_drain_works_and_says_how_far_the_vehicle_may_lean(tmp_path):
    found = judged(plan_of(tmp_path, bung=(60.0, 0.0, 200.0)))
    assert found.verdict is Verdict.PASS
    said = found.why.say("metric")
    assert "runs part full from end to end" in said
    assert "warm climb" in said
    assert "cold climb" in said
    assert "50 % gas" in said


# ---------------------------------------------------------------- a dip


DIP = {"outlet": (0.0, 0.0, 470.0), "bung": (700.0, 0.0, 370.0), "via": [(120, 0, 340), (420, 0, 520)]}
FEW = {"turbo": {"points": {"fluid": "10w-40", "temperature": "100 C", "flow": ["0.02 L/min"], "drop": ["2.5 bar"]}}}


def test_a_low_loop_is_named_by_its_place_and_cured_by_leading_the_hose_straight(tmp_path):
    plan = plan_of(tmp_path, **DIP, **FEW)
    _, stands, row = worst(plan)
    assert cause(stands.drain, one(stands.states, row)) is Cause.DIP
    low = dip(stands.drain, one(stands.states, row))
    assert low.depth > 0.030
    run, along = stands.drain.line.place(low.low)
    found = judged(plan)
    assert found.verdict is Verdict.FAIL
    assert found.worst.attitude == "level"
    said = found.why.say("metric")
    assert f"a dip of {1e3 * low.depth:.0f} mm, lowest {1e3 * along:.0f} mm from end A of {run}, stands full" in said
    assert "the hose straight from end to end" in found.change.say("metric")
    assert judged(plan_of(tmp_path, **DIP | {"via": []}, **FEW)).verdict is Verdict.PASS


def test_a_dip_of_30_mm_fails_and_passes_when_it_is_lifted_by_what_is_said(tmp_path):
    # Corners 50 mm apart in height: the bends of the hose leave a low point 30 mm under the rim behind it.
    way = {"bung": (800.0, 0.0, 150.0), "sump": BOX | {"opposite": "900, 150, 250 mm"}}
    plan = plan_of(tmp_path, **way, via=[(150, 0, 320), (500, 0, 370)])
    found = judged(plan, filling.dips)
    assert found.verdict is Verdict.FAIL
    assert found.worst.attitude == "level"
    assert found.worst.station == "285 mm from end A of D1"
    assert "a low loop of 30 mm, lowest 285 mm from end A of D1" in found.why.say("metric")
    assert "Lift it there by 30 mm" in found.change.say("metric")
    assert judged(plan_of(tmp_path, **way, via=[(150, 0, 372), (500, 0, 370)]), filling.dips).verdict is Verdict.PASS


# ---------------------------------------------------------------- oil over the drain's end, on a climb only


COVERED = {"outlet": (-190.0, 0.0, 215.0), "bung": (-190.0, 0.0, 180.0)}


def test_an_end_under_the_oil_on_a_climb_only(tmp_path):
    assert judged(plan_of(tmp_path, **COVERED)).verdict is Verdict.PASS
    plan = plan_of(tmp_path, **COVERED, attitudes=CLIMB)
    _, stands, row = worst(plan)
    assert stands.names[row].attitude == "climb"
    assert cause(stands.drain, one(stands.states, row)) is Cause.OIL
    found = judged(plan)
    assert (found.verdict, found.worst.attitude) == (Verdict.FAIL, "climb")
    # The box is 400 mm long and half full: at its rear wall the level rises by about 200 mm tan(31 deg) = 120 mm.
    outlet = judged(plan, flooding.outlet)
    assert (outlet.verdict, outlet.worst.attitude) == (Verdict.CAUTION, "climb")
    # The end is 60 mm over 120 mm of oil; tilted by 31 deg about the surface's middle, 190 mm ahead of it, it lies at
    # 60 cos 31 - 190 sin 31 = -46 mm along gravity, while the surface meets neither floor nor roof.
    assert outlet.value.value == pytest.approx(-0.046, abs=0.001)
    assert "the middle of its end at sump.drain lies 46 mm under the oil in sump: no gas gets by" in outlet.why.say(
        "metric"
    )


def test_the_stated_height_cures_it(tmp_path):
    up = offered(plan_of(tmp_path, **COVERED, attitudes=CLIMB))["turbo up"].by
    x, y, z = COVERED["outlet"]
    higher, lower = (COVERED | {"outlet": (x, y, z + 1e3 * up - less)} for less in (0.0, 10.0))
    assert judged(plan_of(tmp_path, **higher, attitudes=CLIMB)).verdict is Verdict.PASS
    assert judged(plan_of(tmp_path, **lower, attitudes=CLIMB)).verdict is Verdict.FAIL


# ---------------------------------------------------------------- cold only


COLD = {
    "pressure": {"hot": "2 bar", "cold": "6 bar"},
    "temperature": {"hot": "110 C", "cold": "0 C"},
    "turbo": {
        "points": {
            "fluid": "10w-40",
            "temperature": "100 C",
            "flow": ["0.2 L/min", "0.4 L/min"],
            "drop": ["0.7 bar", "2.5 bar"],
        },
        "foam": "50 %",
    },
    "bung": (60.0, 0.0, 250.0),
}


def test_flooded_cold_only_and_cured_by_the_size_that_is_said(tmp_path):
    plan = plan_of(tmp_path, **COLD)
    _, stands, row = worst(plan)
    assert stands.names[row].duty == "cold"
    assert cause(stands.drain, one(stands.states, row)) is Cause.FLOW
    assert (stands.clearance[[s.duty == "hot" for s in stands.names]] >= 0).all()
    found = judged(plan)
    assert (found.verdict, found.worst.duty) == (Verdict.FAIL, "cold")
    said = found.why.say("metric")
    assert "fill its bore" in said
    assert "0 C" in said
    size = offered(plan)["size"].stock.id
    assert size in found.change.say("metric")
    assert judged(plan_of(tmp_path, **COLD, stock=size)).verdict is Verdict.PASS


def test_cold_oil_is_taken_without_gas_where_nobody_says_how_much(tmp_path):
    bare = {key: value for key, value in COLD["turbo"].items() if key != "foam"}
    found = judged(plan_of(tmp_path, **COLD | {"turbo": bare}))
    assert found.verdict is Verdict.PASS
    assert "cold oil without any" in found.why.say("metric")
    # What is stated counts as stated, and is no estimate.
    by_duty = {"foam": {"cold": "0 %", "hot": "50 %"}}
    found = judged(plan_of(tmp_path, **COLD | {"turbo": bare | by_duty}))
    assert found.verdict is Verdict.PASS
    assert "% gas" not in found.why.say("metric")


# ---------------------------------------------------------------- sealed by its dip


WIDE = BOX | {"opposite": "700, 150, 250 mm"}
LITTLE = {"turbo": {"points": {"fluid": "10w-40", "temperature": "100 C", "flow": ["0.1 L/min"], "drop": ["2.5 bar"]}}}
SEALED = {"bung": (600.0, 0.0, 290.0), "via": [(200, 0, 250)]} | LITTLE


def test_sealed_only_by_its_dip_crankcase_pressure_floods_it(tmp_path):
    calm = plan_of(tmp_path, **SEALED, sump=WIDE)
    assert judged(calm).verdict is Verdict.PASS
    pushed = WIDE | {"crankcase": "3 kPa"}
    plan = plan_of(tmp_path, **SEALED, sump=pushed)
    _, stands, row = worst(plan)
    assert cause(stands.drain, one(stands.states, row)) is Cause.PRESSURE
    assert seal(stands.surface, row)[0] is Seal.DIP
    found = judged(plan)
    assert found.verdict is Verdict.FAIL
    assert "crankcase pressure, 3.00 kPa over the housing's, lifts the oil behind it by" in found.why.say("metric")
    # Without the dip nothing seals it, and the same pressure adds no head.
    assert judged(plan_of(tmp_path, **SEALED | {"via": []}, sump=pushed)).verdict is Verdict.PASS
    left = offered(plan)["pressure"].by
    eased = WIDE | {"crankcase": f"{left - 1:.1f} Pa"}
    assert judged(plan_of(tmp_path, **SEALED, sump=eased)).verdict is Verdict.PASS


# ---------------------------------------------------------------- what cannot be told


def test_without_the_sumps_box_only_level_ground_can_be_told(tmp_path):
    found = judged(plan_of(tmp_path, sump={"surface": BOX["surface"]}, attitudes=CLIMB))
    assert found.verdict is Verdict.UNCHECKED
    assert "corner" in found.needs
    assert judged(plan_of(tmp_path, sump={"surface": BOX["surface"]})).verdict is Verdict.PASS


@pytest.mark.parametrize(
    ("without", "asks"),
    [
        ({"sump": {}}, "surface"),
        ({"turbo": {"points": None}}, "points in [components.turbo], as circuit.flow/oil shows"),
        ({"turbo": {"foam": ByDuty({"otherwise": 0.95})}}, "foam in [components.turbo]: at most 90 %"),
    ],
)
def test_it_asks_for_what_it_lacks(tmp_path, without, asks):
    turbo = without.get("turbo")
    plan = plan_of(tmp_path, sump=without.get("sump"))
    if turbo:
        component = plan.components["turbo"]
        bare = dataclasses.replace(component, figures=component.figures | turbo)
        plan = dataclasses.replace(plan, components=plan.components | {"turbo": bare})
    found = judged(plan)
    assert found.verdict is Verdict.UNCHECKED
    assert asks in found.needs


def test_in_an_attitude_that_does_not_last_it_only_cautions(tmp_path):
    moment = {"launch": {"forward": "0.6 g", "lasts": "transient"}}
    found = judged(plan_of(tmp_path, **COVERED, attitudes=moment))
    assert (found.verdict, found.worst.attitude) == (Verdict.CAUTION, "launch")


def test_an_attitude_is_judged_at_its_own_duties_only(tmp_path):
    plan = plan_of(
        tmp_path, **COLD | {"stock": "ptfe-braid -12"}, attitudes={"climb": {"nose_up": "75 %", "duties": ["hot"]}}
    )
    stands = stood(plan, study(plan).drains["turbo"])
    assert {s.duty for s in stands.names if s.attitude == "climb"} == {"hot"}
    assert {s.duty for s in stands.names if s.attitude == "level"} == {"hot", "cold"}


# ---------------------------------------------------------------- two into one


def test_what_two_turbochargers_send_down_one_hose_adds_up(tmp_path):
    turbo = {
        "kind": "turbocharger",
        "bearing": "ball",
        "points": {"fluid": "10w-40", "temperature": "100 C", "flow": ["0.5 L/min"], "drop": ["2.5 bar"]},
    }
    plan = plan_of(
        tmp_path,
        bung=(0.0, 0.0, 200.0),
        turbo={"ports": {"feed": {"at": "0, 0, 580 mm"}, "drain": {"at": "0, 0, 500 mm"}}},
        components={
            "other": turbo | {"ports": {"feed": {"at": "0, 200, 580 mm"}, "drain": {"at": "0, 200, 500 mm"}}},
            "gallery2": {"kind": "gallery", "pressure": "3 bar", "ports": {"out": {"at": "0, 300, 500 mm"}}},
            "join": {
                "kind": "tee",
                "bore": "12 mm",
                "ports": {
                    "a": {"at": "0, 10, 380 mm"},
                    "branch": {"at": "0, 20, 390 mm"},
                    "b": {"at": "0, 0, 370 mm"},
                },
            },
        },
        runs={
            "O2": run("gallery2.out", "other.feed", "ptfe-braid -4", circuit="oil", length="500 mm", length_is="cut"),
            "D1": run("turbo.drain", "join.a", "ptfe-braid -10", circuit="drain", via=[]),
            "D2": run("other.drain", "join.branch", "ptfe-braid -10", circuit="drain", via=[]),
            "D3": run("join.b", "sump.drain", "ptfe-braid -10", circuit="drain", via=[]),
        },
    )
    drains = study(plan).drains
    assert drains["turbo"].line.runs == ("D1", "D3")
    assert drains["other"].line.runs == ("D2", "D3")
    alone, both = (foam.flow for foam in drains["turbo"].foams)
    other = drains["other"].foams[0].flow
    assert both == pytest.approx(alone + other)
    assert np.isfinite(both).all()


def test_a_stated_crankcase_pressure_has_a_limit_of_its_own(tmp_path):
    verdicts = [
        judged(plan_of(tmp_path, sump=BOX | {"crankcase": pressure}), breatherstated.measured).verdict
        for pressure in ("2 kPa", "3 kPa", "-3 kPa")
    ]
    assert verdicts == [Verdict.PASS, Verdict.FAIL, Verdict.FAIL]
    assert breatherstated.measured(study(plan_of(tmp_path))) == []


def test_a_turbocharger_that_is_fed_and_has_no_drain_fails(tmp_path):
    whole = plan_of(tmp_path)
    assert flooding.missing(study(whole)) == []
    bare = dataclasses.replace(whole, runs={tag: run_ for tag, run_ in whole.runs.items() if tag != "D1"})
    (found,) = flooding.missing(study(bare))
    assert (found.id, found.verdict) == ("drain.missing/turbo", Verdict.FAIL)


def test_a_higher_bung_keeps_its_end_clear_in_every_attitude(tmp_path):
    attitudes = CLIMB | {"left": {"left_low": "40 %"}}
    high = COVERED | {"outlet": (0.0, 0.0, 700.0)}
    plan = plan_of(tmp_path, **high, attitudes=attitudes)
    told = judged(plan, flooding.outlet).change
    more, fall = (told.parts[key].value for key in ("more", "fall"))
    x, y, z = COVERED["bung"]
    way = np.subtract((x, y, z + 1e3 * more), 1e3 * np.array(plan.components["turbo"].ports["drain"].at))
    assert math.sin(fall) == pytest.approx(-way[2] / np.linalg.norm(way))
    raised = high | {"bung": (x, y, z + 1e3 * more + 0.1)}
    assert judged(plan_of(tmp_path, **raised, attitudes=attitudes), flooding.outlet).verdict is Verdict.PASS


def test_a_bung_that_would_have_to_lie_over_the_turbocharger_is_none(tmp_path):
    # 400 mm behind the middle of the oil, which a climb of 60 % lifts there by 240 mm over an outlet 20 mm lower.
    low = {"outlet": (-400.0, 0.0, 250.0), "bung": (-400.0, 200.0, 160.0)}
    said = judged(plan_of(tmp_path, **low, attitudes=CLIMB), flooding.outlet).change.say("metric")
    assert said.startswith("No bung: ")
    assert "over the turbocharger's outlet" in said


def test_what_crankcase_pressure_lifts_is_told_whatever_else_floods_it_and_comes_first(tmp_path):
    plan = plan_of(tmp_path, **DIP, sump=BOX | {"crankcase": "8 kPa"})
    made, stands, row = worst(plan)
    drain = stands.drain
    calm = stood(plan, dataclasses.replace(drain, over=np.zeros(len(drain.over))))
    lift = calm.clearance[row] - stands.clearance[row]
    # The pressure over the specific weight of the foam that it lifts.
    duty = int(stands.states.duty[row])
    weight = float(drain.foams[0].density[duty]) * np.linalg.norm(stands.states.gravity[row])
    assert lift == pytest.approx(8000 / weight, rel=0.02)
    found = judged(plan)
    assert f"{1e3 * lift:.0f} mm of that height is crankcase pressure" in found.why.say("metric")
    said = found.change.say("metric")
    assert "see breather.pressure" in said or "crankcase pressure no more than" in said
    assert made.plan is plan


def test_a_low_in_the_metal_of_an_end_is_not_lifted_by_a_clamp(tmp_path):
    # An elbow that leads off level from an outlet that points down, on a slope: its own leg is the low.
    right = {"right": {"right_low": "40 %"}}
    ports = {"feed": {"at": "0, 0, 550 mm"}, "drain": {"at": "0, 0, 470 mm", "points": "down", "thread": "flare37 -10"}}
    bung = {"drain": {"at": "0, 700, 380 mm", "points": "right", "thread": "flare37 -10"}}
    ends = {"ends": ["90 deg", "straight"]}
    way = {"runs": {"D1": run("turbo.drain", "sump.drain", "ptfe-braid -10", circuit="drain", via=[], **ends)}}
    plan = plan_of(tmp_path, turbo={"ports": ports}, sump=BOX | {"ports": bung}, attitudes=right, **way)
    found = judged(plan, filling.dips)
    assert found.verdict is not Verdict.PASS
    assert "in the metal of its end at turbo.drain" in found.change.say("metric")


def test_of_states_that_run_past_the_outlet_alike_the_one_that_stands_highest_is_the_worst(tmp_path):
    # An outlet that points straight down, its end under the oil; a pressure at one duty lifts what stands over that.
    facts = {"crankcase": {"hot": "0 kPa", "cold": "0.8 kPa"}}
    temperature = {"hot": "110 C", "cold": "109 C"}
    plan = plan_of(tmp_path, bung=(0.0, 0.0, 100.0), sump=BOX | facts, temperature=temperature)
    made = study(plan)
    stands = stood(plan, made.drains["turbo"])
    assert (stands.clearance >= 0).all()
    assert np.ptp(stands.clearance) < flooding.FILM
    assert np.ptp(stands.standing) > 0.05
    found = judged(plan)
    assert found.worst.duty == "cold"
    under = f"{math.floor(1e3 * stands.standing.min())} mm under the middle of the outlet"
    assert under in found.why.say("metric")


def test_the_wider_hose_that_a_steep_length_asks_for_brings_it_within_its_limit(tmp_path):
    much = {"turbo": {"points": {"fluid": "10w-40", "temperature": "100 C", "flow": ["1.5 L/min"], "drop": ["2 bar"]}}}
    plan = plan_of(tmp_path, **much, bung=(20.0, 0.0, 200.0))
    found = judged(plan, filling.vertical)
    assert found.verdict in {Verdict.CAUTION, Verdict.FAIL}
    stock = found.change.parts["stock"]
    assert (
        judged(plan_of(tmp_path, **much, bung=(20.0, 0.0, 200.0), stock=stock), filling.vertical).verdict
        is Verdict.PASS
    )


def test_states_of_one_row():
    states = States(np.eye(3), np.arange(3), np.zeros(3), np.zeros(3))
    assert one(states, 1).duty.tolist() == [1]


def test_every_cure_has_its_words():
    assert set(cures_.MOVES) | {"straight", "size", "turn", "pressure"} == set(telling._DONE)
