"""What a pump draws: against the published balance of an inlet, and faults of the trade with their stated remedies."""

import re

import numpy as np
import pytest
from fuelled import BOX, CURVE, HOSE, LIQUID, fuel_plan
from writing import FLUID, run

from lines.finding import Verdict
from lines.reading import read_plan
from solver.checks import suction as checks
from solver.fuels import pumps
from solver.leaning import leaning
from solver.study import study
from solver.suction import extrapolated, suction

ATTITUDES = {
    "climb": {"nose_up": "60 %"},
    "left": {"left_low": "40 %"},
    "launch": {"forward": "0.5 g", "lasts": "transient"},
}
REID_9 = {"reid": "9 psi", "slope": 3.0} | FLUID
GASOLINE = LIQUID | {"vapour": REID_9}
FOOT, PSI = 0.3048, 6894.757293168


def inlet(plan, need=0.0):
    made = study(plan)
    answer = made.solutions["line"]
    (pump,) = pumps(answer.model.circuit)
    return suction(plan, pump, leaning(plan, answer), need, {})


def judged(plan):
    (found,) = checks.boils(study(plan))
    return found


# ---------------------------------------------------------------- the balance


@pytest.mark.parametrize(
    ("vapour", "gravity", "height"),
    # White, Fluid Mechanics, 4th, example 11.3, from memory: a pump that needs 40 ft draws from a reservoir under
    # 14.7 psia, 6 ft are lost on the way: it must lie 12.7 ft under the surface with water at 60 F (0.26 psia), 38.4 ft
    # under it at 200 F (11.52 psia, specific gravity 0.9635).
    [(0.26, 1.0, -12.7), (11.52, 0.9635, -38.4)],
)
def test_the_height_of_a_pump_over_a_reservoir(tmp_path, vapour, gravity, height):
    water = gravity * 62.4 * 0.45359237 / FOOT**3
    liquid = LIQUID | {
        "density": FLUID | {"at": ["20 C"], "is": [f"{water!r} kg/m3"]},
        "vapour": FLUID
        | {"law": "log", "at": ["10 C", "30 C"], "is": [f"{vapour} psi abs", f"{vapour * 1.0001} psi abs"]},
    }
    weight = water * 9.80665
    # A resistance that takes 6 ft of head of whatever flows, in a way so wide that nothing else counts.
    plan = fuel_plan(
        tmp_path,
        liquid=liquid,
        tank={"surface": {"full": "0 m", "low": "0 m"}},
        place=False,
        pump={"ports": {"in": {"height": f"{height} ft"}, "out": {"height": f"{height} ft"}}},
    )
    found = inlet(plan, need=40 * FOOT * weight)
    # What White's sum has left: nothing, with his 6 ft in place of what this way loses.
    lost = np.sum(list(found.losses().values()), axis=0)
    left = found.margin + lost - 6 * FOOT * weight
    # The air of the plan is 14.696 psia; he rounds to a tenth of a foot.
    assert left / weight / FOOT == pytest.approx(np.zeros(2), abs=0.08)


def test_what_stands_over_a_source_less_what_is_lost_is_what_arrives(tmp_path):
    found = inlet(fuel_plan(tmp_path, liquid=GASOLINE, attitudes=ATTITUDES))
    whole = found.over_source + found.column - np.sum(list(found.losses().values()), axis=0)
    assert whole == pytest.approx(found.pressure, abs=0.5)
    assert len(whole) == 8


def test_what_a_pump_asks_for_by_its_own_data_goes_before_what_is_asked_of_any(tmp_path):
    def left(**pump):
        found = judged(fuel_plan(tmp_path, liquid=GASOLINE, pump=pump))
        return min(case.value.value for case in found.cases)

    # Of any pump 1.5 psi is asked for.
    assert left() - left(inlet_need="20 kPa") == pytest.approx(20e3 - 1.5 * PSI, abs=1)
    assert left(inlet_need="0 kPa") - left() == pytest.approx(1.5 * PSI, abs=1)


def test_gasoline_boils_where_the_published_equation_has_it(tmp_path):
    # EPA AP-42, section 7.1, with S = 3: 70.6 kPa at 40 C and 9 psi.
    found = inlet(fuel_plan(tmp_path, liquid=GASOLINE, temperature="40 C"))
    assert found.vapour / 1e3 == pytest.approx([70.6, 70.6], abs=0.05)


def test_a_pump_that_another_feeds_has_what_that_one_brings(tmp_path):
    # Twice as much flow at a third of the pressure, straight into the main pump.
    points = [{"volts": "13 V", "rise": f"{p / 3} kPa", "flow": f"{2 * q} L/h"} for p, q in CURVE.items()]
    ports = {"in": {"at": "-1700, 100, 250 mm"}, "out": {"at": "-1650, 100, 250 mm"}}
    own = {"length": "1 m", "length_is": "overall"}
    plan = fuel_plan(
        tmp_path,
        liquid=GASOLINE,
        attitudes=ATTITUDES,
        components={"lift": {"kind": "pump", "curve": "lift", "volts": "13 V", "ports": ports}},
        runs={"F1": run("tank.out", "lift.in", "inlet", **own), "F5": run("lift.out", "pump.in", "hose", **own)},
        more_curves={"lift": {"means": "invented", "points": points, "source": "invented", "grade": "illustrative"}},
    )
    made = study(plan)
    lift, main = (next(f for f in checks.boils(made) if f.place == name) for name in ("lift", "pump"))
    answer = made.solutions["line"]
    brought = float(answer.total("lift.out").min() - answer.total("lift.in").min())
    # What the pump before it lifts is left at its inlet besides, less what the hose between takes.
    assert main.value.value > lift.value.value + 0.8 * brought
    assert main.verdict is Verdict.PASS
    found = suction(plan, made.circuits["line"].edges["pump: pump"], leaning(plan, answer), 0.0, {})
    whole = found.over_source + found.column - np.sum(list(found.losses().values()), axis=0)
    assert whole == pytest.approx(found.pressure, abs=0.5)
    assert found.brought


def test_the_vapour_pressure_that_is_asked_for_is_taken_as_it_is_written(tmp_path):
    plan = fuel_plan(tmp_path, attitudes=ATTITUDES)
    text = (tmp_path / "plan.toml").read_text(encoding="utf-8").replace('"fluid" = "liquid"', '"fluid" = "e85"')
    (tmp_path / "plan.toml").write_text(text, encoding="utf-8")
    asked = judged(read_plan(tmp_path / "plan.toml")).needs
    assert plan.circuits["line"].fluid == "liquid"
    vapour, own = re.search(r"\[e85\]: (vapour = {.*?}), and in the same row (.*?measured\")", asked).groups()
    row = f"[e85]\n{vapour}\n" + own.replace(", ", "\n") + "\n"
    measured = row.replace("[absolute pressures measured there]", '["6 kPa abs", "17 kPa abs", "41 kPa abs"]')
    fluids = tmp_path / "shop" / "fluids.toml"
    fluids.write_text(fluids.read_text(encoding="utf-8") + "\n" + measured, encoding="utf-8")
    assert judged(read_plan(tmp_path / "plan.toml")).verdict is not Verdict.UNCHECKED


def test_what_stands_at_the_inlet_is_told_where_nobody_knows_when_the_fuel_boils(tmp_path):
    found = judged(fuel_plan(tmp_path, attitudes=ATTITUDES))
    assert found.verdict is Verdict.UNCHECKED
    said = re.search(r"inlet is ([\d.]+) kPa abs, in attitude (\w+) at (\w+)", found.why.say("metric"))
    there = inlet(fuel_plan(tmp_path, liquid=GASOLINE, attitudes=ATTITUDES))
    assert float(said[1]) == pytest.approx(there.pressure.min() / 1e3, abs=0.6)
    state = there.stands.names[int(there.pressure.argmin())]
    assert (said[2], said[3]) == (state.attitude, state.duty)
    # Less what any pump is asked to have over that, and the room that is wanted: 1.5 psi each.
    safe = float(re.search(r"boils under ([\d.]+) kPa abs at the most", found.why.say("metric"))[1])
    assert safe == pytest.approx(there.pressure.min() / 1e3 - 2 * 1.5 * PSI / 1e3, abs=1.0)


# ---------------------------------------------------------------- faults, and their cures


def test_a_pump_that_has_to_lift_has_little_left_on_a_climb_and_enough_when_it_is_set_lower_by_what_is_said(tmp_path):
    high = {"in": {"at": "-1600, 100, 1000 mm"}, "out": {"at": "-1500, 100, 1000 mm"}}
    rise = {"F2": run("pump.out", "rail.in", "hose", **HOSE, rise="-100 mm")}
    facts = {"liquid": GASOLINE, "attitudes": {"climb": {"nose_up": "60 %"}}, "temperature": "43 C", "bore": "12 mm"}
    found = judged(fuel_plan(tmp_path, **facts, pump={"ports": high}, runs=rise))
    assert (found.verdict, found.worst.attitude) == (Verdict.CAUTION, "climb")
    assert "the lift up to its inlet takes" in found.why.say("metric")
    said = found.change.say("metric")
    by = float(re.search(r"[Ss]et pump (\d+) mm lower", said)[1])

    def lower(by):
        ports = {key: {"at": f"{x}, 100, {1000 - by} mm"} for key, x in (("in", -1600), ("out", -1500))}
        runs = {"F2": run("pump.out", "rail.in", "hose", **HOSE, rise=f"{by - 100} mm")}
        return judged(fuel_plan(tmp_path, **facts, pump={"ports": ports}, runs=runs))

    assert lower(by).verdict is Verdict.PASS
    assert lower(by - 25).verdict is Verdict.CAUTION


def test_cooler_fuel_by_what_is_said_is_enough(tmp_path):
    found = judged(fuel_plan(tmp_path, liquid=GASOLINE, temperature="50 C"))
    assert found.verdict is Verdict.FAIL
    said = found.change.say("metric")
    assert said.startswith("No size of hose cures it")
    cool = float(re.search(r"\((\d+) C at", said)[1])
    assert judged(fuel_plan(tmp_path, liquid=GASOLINE, temperature=f"{cool} C")).verdict is Verdict.PASS
    assert judged(fuel_plan(tmp_path, liquid=GASOLINE, temperature=f"{cool + 1.5} C")).verdict is Verdict.CAUTION


def test_fuel_that_boils_in_its_tank_is_not_helped_by_a_lift_pump(tmp_path):
    found = judged(fuel_plan(tmp_path, liquid=GASOLINE, temperature="55 C"))
    assert "It boils in tank already" in found.why.say("metric")
    assert "lift pump" not in found.change.say("metric")


FINE = {
    "kind": "filter",
    "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["200 L/h"], "drop": ["8 kPa"]},
    "mesh": "10 microns",
    "loaded": "5",
    "ports": {"in": {"at": "-1750, 100, 250 mm"}, "out": {"at": "-1650, 100, 250 mm"}},
}
SHORT = {"length": "300 mm", "length_is": "overall"}
BEFORE = {
    "F1": run("tank.out", "fine.in", "inlet", **SHORT),
    "F5": run("fine.out", "pump.in", "inlet", **SHORT),
}


def test_a_fine_filter_before_the_pump_starves_it_when_it_is_due_and_not_behind_it(tmp_path):
    facts = {"liquid": GASOLINE, "temperature": "35 C", "bore": "12 mm"}
    plan = fuel_plan(tmp_path, **facts, components={"fine": FINE}, runs=BEFORE)
    found = judged(plan)
    assert found.verdict is Verdict.FAIL
    # Five times the clean drop: as it is when it is due.
    assert re.search(r"\((2\d|3\d)\.\d kPa fine,", found.why.say("metric"))
    assert "Move fine behind pump" in found.change.say("metric")
    (filter_,) = checks.prefilter(study(plan))
    assert filter_.verdict is Verdict.FAIL
    assert "of 10 microns, stands on the suction side of pump" in filter_.why.say("metric")
    assert "100 microns or coarser" in filter_.change.say("metric")
    behind = {
        "F2": run("pump.out", "fine.in", "hose", **SHORT, rise="0 mm"),
        "F5": run("fine.out", "rail.in", "hose", **HOSE, rise="650 mm"),
    }
    ports = {"in": {"height": "250 mm"}, "out": {"height": "250 mm"}}
    cured = fuel_plan(tmp_path, **facts, components={"fine": FINE | {"ports": ports}}, runs=behind)
    assert judged(cured).verdict is Verdict.PASS
    assert checks.prefilter(study(cured)) == []


def test_a_filter_behind_the_pump_leaves_most_flow_in_its_suction_while_it_is_clean(tmp_path):
    # Due, it throttles the pump, and a narrow suction takes less: the clean one is what has to be told.
    facts = {"liquid": GASOLINE, "temperature": "20 C", "bore": "6 mm"}
    behind = {
        "F2": run("pump.out", "fine.in", "hose", **SHORT, rise="0 mm"),
        "F5": run("fine.out", "rail.in", "hose", **HOSE, rise="650 mm"),
    }
    ports = {"in": {"height": "250 mm"}, "out": {"height": "250 mm"}}
    worn, clean = (FINE | {"ports": ports, "loaded": times} for times in ("5", "1"))
    told = [judged(fuel_plan(tmp_path, **facts, components={"fine": one}, runs=behind)) for one in (worn, clean)]
    least = [min(case.value.value for case in one.cases) for one in told]
    assert least[0] == pytest.approx(least[1], abs=1)


@pytest.mark.parametrize(
    ("mesh", "area", "verdict"),
    [
        ("100 microns", "60 in2", "pass"),
        ("100 microns", "40 in2", "caution"),
        ("40 microns", "60 in2", "caution"),
        ("10 microns", "60 in2", "fail"),
    ],
)
def test_how_fine_a_filter_before_a_pump_may_be(tmp_path, mesh, area, verdict):
    # A maker of fuel pumps: not finer than 100 microns, and 60 sq in at least.
    plan = fuel_plan(tmp_path, components={"fine": FINE | {"mesh": mesh, "area": area}}, runs=BEFORE)
    (found,) = checks.prefilter(study(plan))
    assert found.verdict is Verdict(verdict)


def test_a_narrow_suction_is_cured_by_the_hose_that_is_said(tmp_path):
    facts = {"liquid": GASOLINE, "temperature": "40 C"}

    def with_(stock):
        return judged(fuel_plan(tmp_path, **facts, runs={"F1": run("tank.out", "pump.in", stock, **HOSE)}))

    narrow = with_("ptfe-braid -5")
    assert narrow.verdict is not Verdict.PASS
    assert "the hose of F1" in narrow.why.say("metric")
    said = narrow.change.say("metric")
    assert "No size of hose cures it" not in said
    wider = re.search(r"F1 in (ptfe-braid -\d+)", said)[1]
    assert with_(wider).verdict is Verdict.PASS
    assert wider == "ptfe-braid -6" or with_("ptfe-braid -6").verdict is not Verdict.PASS


def test_the_hose_that_is_said_is_enough_with_the_filter_clean_too(tmp_path):
    # Due, the filter behind the pump throttles it so that one size more would do.
    ports = {"in": {"height": "250 mm"}, "out": {"height": "250 mm"}}

    def with_(stock):
        runs = {
            "F1": run("tank.out", "pump.in", stock, **HOSE),
            "F2": run("pump.out", "fine.in", "hose", **SHORT, rise="0 mm"),
            "F5": run("fine.out", "rail.in", "hose", **HOSE, rise="650 mm"),
        }
        fine = {"fine": FINE | {"ports": ports, "loaded": "20"}}
        return judged(fuel_plan(tmp_path, liquid=GASOLINE, temperature="37 C", components=fine, runs=runs))

    assert with_("ptfe-braid -4").change.say("metric").startswith("F1 in ptfe-braid -6,")
    assert with_("ptfe-braid -5").verdict is Verdict.CAUTION
    assert with_("ptfe-braid -6").verdict is Verdict.PASS


# ---------------------------------------------------------------- what is not known


def test_a_fuel_whose_vapour_pressure_nobody_states_is_not_judged(tmp_path):
    found = judged(fuel_plan(tmp_path))
    assert found.verdict is Verdict.UNCHECKED
    assert "in no table" in found.why.say("metric")
    assert "vapour" in found.needs


@pytest.mark.parametrize(("warm", "told"), [("18 C", "plain"), ("40 C", "marked"), ("58 C", "refused")])
def test_a_vapour_pressure_is_carried_on_as_far_as_it_can_be_marked_and_no_farther(tmp_path, warm, told):
    measured = FLUID | {"at": ["10 C", "20 C"], "law": "log", "is": ["10 kPa", "15 kPa"]}
    temperature = {"idle": "15 C", "full": warm}
    plan = fuel_plan(tmp_path, liquid=LIQUID | {"vapour": measured}, temperature=temperature)
    found = judged(plan)
    if told == "refused":
        assert found.verdict is Verdict.UNCHECKED
        assert "in full" in found.why.say("metric")
        assert "measured near 58 C" in found.needs
    else:
        assert found.verdict is not Verdict.UNCHECKED
        assert extrapolated(inlet(plan)) == (told == "marked")


def test_where_no_state_can_be_told_none_is_shown_as_told(tmp_path, monkeypatch):
    from solver import suction as drawn

    monkeypatch.setattr(drawn, "vapour_pressure", lambda _fluid, temperature: np.full_like(temperature, np.nan))
    found = judged(fuel_plan(tmp_path, liquid=GASOLINE))
    assert found.verdict is Verdict.UNCHECKED
    assert "cannot be told" in found.why.say("metric")
    assert found.cases == ()


def test_without_the_box_of_the_tank_level_ground_alone_is_told_and_no_pass(tmp_path):
    tank = {"surface": BOX["surface"]}
    found = judged(fuel_plan(tmp_path, liquid=GASOLINE, attitudes=ATTITUDES, tank=tank))
    assert found.verdict is Verdict.UNCHECKED
    assert "in climb, left, launch cannot be told" in found.why.say("metric")
    assert "In attitude level" in found.why.say("metric")
    assert "corner" in found.needs


def test_a_pump_that_is_known_by_its_height_alone_asks_for_its_place(tmp_path):
    found = judged(fuel_plan(tmp_path, liquid=GASOLINE, attitudes=ATTITUDES, place=False))
    assert found.verdict is Verdict.UNCHECKED
    assert "`at` of pump.in" in found.needs


def test_heights_from_the_bottom_of_the_tank_are_told_as_such(tmp_path):
    tank = BOX | {"surface": {"full": "280 mm", "low": "100 mm"}}
    found = judged(fuel_plan(tmp_path, liquid=GASOLINE, attitudes=ATTITUDES, tank=tank))
    assert found.verdict is Verdict.UNCHECKED
    assert "low mark of tank lies under the floor of the box" in found.why.say("metric")
    assert "measured from the same zero" in found.needs


def test_a_state_without_an_answer_says_why_and_not_that_its_place_is_unknown(tmp_path, monkeypatch):
    import fuelled

    # A curve that begins just under what the pump lifts on level ground: with the nose down it lifts less.
    answer = study(fuel_plan(tmp_path, liquid=GASOLINE)).solutions["line"]
    lifts = float((answer.total("pump.out") - answer.total("pump.in")).min()) / 1e3
    monkeypatch.setattr(fuelled, "CURVE", {lifts - 2: 215, 300: 200, 600: 80})
    found = judged(fuel_plan(tmp_path, liquid=GASOLINE, attitudes={"descent": {"nose_down": "60 %"}}))
    assert found.verdict is Verdict.UNCHECKED
    said = found.why.say("metric")
    assert "in descent cannot be told: at idle pump would have to give more than" in said
    assert "only how high" not in said
