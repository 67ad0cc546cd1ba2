"""What has no answer says so by name and says what would give one; it is never a number and never a traceback."""

import numpy as np
import pytest
from writing import fluid, read, run, tube

from catalogs.errors import PlanError
from lines.finding import Verdict
from solver import components
from solver.checks import findings
from solver.devices import Check
from solver.solution import Solution, Unsolved, solve_plan
from solver.study import study

POINTS = {"fluid": "water", "temperature": "20 C", "flow": ["5 L/min"], "drop": ["10 kPa"]}
# Two figures of 70 F, 30 and 60 gph, 1.1 and 4.2 psi; of 212 F, 4 and 8 gpm, 4 and 14 psi.
A_FUEL_PART = (
    '{ fluid = "gasoline-summer", temperature = "21 C", flow = ["110 L/h", "230 L/h"], drop = ["7.6 kPa", "29 kPa"] }'
)
AN_OIL_PART = (
    '{ fluid = "10w-40", temperature = "100 C", flow = ["15 L/min", "30 L/min"], drop = ["28 kPa", "97 kPa"] }'
)
DRIVEN = {
    "means": "a pump that an engine drives, for the test",
    "points": [{"speed": "3000 rpm", "rise": f"{p} bar", "flow": f"{q} L/min"} for p, q in ((0, 30), (4, 28), (8, 24))],
    "source": "for the test",
    "grade": "published",
}
HOSE = {"length": "1 m", "length_is": "overall", "rise": "0 m"}


def made(folder, part=None, *, near=None, far=None, **sections):
    """A source, a part between two pipes, an open end: the study of it and the finding of its circuit."""
    components = {"near": near or {"kind": "source", "pressure": "3 bar"}, "far": far or {"kind": "open"}}
    ends = [("near.out", "far.in")]
    if part is not None:
        components["part"] = part
        out = "return" if part["kind"] in {"regulator", "relief-valve"} else "out"
        ends = [("near.out", "part.in"), (f"part.{out}", "far.in")]
    plan = read(
        folder,
        **{
            "circuits": {"line": {"fluid": "water", "temperature": "20 C"}},
            "components": components,
            "stock": {"pipe": tube("8 mm")},
            "curves": {"driven": DRIVEN},
            "runs": {f"P{i}": run(*pair, "pipe", **HOSE) for i, pair in enumerate(ends)},
        }
        | sections,
    )
    found = study(plan)
    (flow,) = (f for f in findings(found) if f.rule == "circuit.flow")
    return found.solutions["line"], flow


def without_answer(folder, *args, **facts):
    """What the circuit's finding says and needs."""
    _, flow = made(folder, *args, **facts)
    assert flow.verdict is Verdict.UNCHECKED
    assert flow.needs
    return f"{flow.why.say('metric')} {flow.needs}"


def regulator(**facts):
    return {"kind": "regulator", "set": "100 kPa", "reference": "open air", "points": POINTS} | facts


@pytest.mark.parametrize(
    ("part", "named"),
    [
        (
            {"kind": "resistance"},
            f'points in [components.part]: {A_FUEL_PART}, or k = 2.5 and bore = "8 mm" in [components.part]',
        ),
        ({"kind": "resistance", "k": 2}, "bore in [components.part]: a bore, like 0.406 in or 10.3 mm"),
        ({"kind": "cooler"}, f"points in [components.part]: {AN_OIL_PART}"),
        ({"kind": "restrictor"}, "bore in [components.part]: a bore, like 0.406 in or 10.3 mm"),
        (
            {"kind": "restrictor", "bore": {"steady": "1 mm", "otherwise": "2 mm"}},
            "one value of it for every duty: bore",
        ),
        (
            {"kind": "restrictor", "bore": "1 mm", "length": "1 mm", "cd": 1.5},
            "cd in [components.part]: a plain number of 0 or more, like 2.5, and 1 or less",
        ),
        ({"kind": "restrictor", "bore": "9 mm", "length": "1 mm"}, "like 0.406 in or 10.3 mm, under that of the line"),
        ({"kind": "restrictor", "bore": "1 mm", "length": "1 mm", "cd": 0}, "cd in [components.part]: a plain number"),
        ({"kind": "pump", "curve": "electric-small", "volts": "0 V"}, "like 13.5 V, over 0 in steady"),
        (
            {"kind": "pump", "volts": "12 V"},
            "a row of the curves table with the voltage of each",
        ),
        (regulator(reference="manifold"), "boost in steady: a boost, like 18 psi or 1.2 bar (part feels it)"),
        (
            {"kind": "regulator", "set": "3 bar", "points": POINTS},
            'reference in [components.part]: "manifold" or "open air"',
        ),
        ({"kind": "feed-regulator", "set": "3 bar", "reference": "open air"}, "points in [components.part]: {"),
        ({"kind": "oil-pump", "ratio": 1}, "a row of the curves table with the speed of each"),
        (
            {"kind": "oil-pump", "ratio": 1, "curve": "electric-small"},
            "curve in [components.part]: a row of the curves table with the speed of each point",
        ),
        (
            {"kind": "pump", "volts": "12 V", "curve": "driven"},
            "curve in [components.part]: a row of the curves table with the voltage of each point",
        ),
        (
            {"kind": "oil-pump", "ratio": 1, "curve": "driven"},
            "engine_speed in steady: a speed of rotation, like 6500 rpm (it drives part)",
        ),
        ({"kind": "steering-pump", "flow": "5 L/min"}, "relief in [components.part]: a pressure difference"),
        ({"kind": "thermostat"}, "part is of kind thermostat"),
        ({"kind": "roll-over-valve"}, "part is a vent's valve and stands in a circuit of liquid"),
    ],
)
def test_a_figure_that_cannot_be_used_is_asked_for(tmp_path, part, named):
    assert named in without_answer(tmp_path, part)


def test_a_plan_in_inches_is_asked_in_inches(tmp_path):
    said = without_answer(tmp_path, {"kind": "resistance"}, plan={"units": "us"})
    assert 'flow = ["30 gph", "60 gph"], drop = ["1.1 psi", "4.2 psi"]' in said
    assert 'k = 2.5 and bore = "0.315 in" in [components.part]' in said


@pytest.mark.parametrize(
    ("part", "key", "message"),
    [
        ({"kind": "resistance", "k": 2, "bore": "0 mm"}, "bore", '"0 mm" is 0 or less'),
        ({"kind": "resistance", "k": -2, "bore": "8 mm"}, "k", '"-2" is less than 0'),
        ({"kind": "restrictor", "bore": "1 mm", "length": "-1 mm"}, "length", '"-1 mm" is less than 0'),
        (regulator(slope="-1 psi/gph"), "slope", '"-1 psi/gph" is less than 0'),
        ({"kind": "source", "pressure": "-5 bar"}, "pressure", '"-5 bar" is less than can be'),
    ],
)
def test_a_figure_that_cannot_be_is_refused_before_anything_is_computed(tmp_path, part, key, message):
    with pytest.raises(PlanError) as caught:
        made(tmp_path, part)
    assert [(f.key, f.message) for f in caught.value.faults] == [(key, message)]


def test_a_pump_is_never_taken_beyond_its_data_sheet(tmp_path):
    # At 6 V the affinity laws leave a quarter of its pressure: into 3 bar more it cannot work at all.
    pump = {"kind": "pump", "curve": "electric-small", "volts": "6 V"}
    far = {"kind": "source", "pressure": "6 bar"}
    runs = {"P0": run("near.out", "part.in", "pipe", **HOSE), "P1": run("part.out", "far.out", "pipe", **HOSE)}
    said = without_answer(tmp_path, pump, far=far, runs=runs)
    # 100 psi at 12 V is a quarter of that at 6 V.
    assert "the flow goes backwards through part, whose curve ends at 172 kPa" in said


def test_a_pump_that_runs_free_of_its_data_sheet_says_where_that_begins(tmp_path):
    points = [{"volts": "12 V", "rise": f"{p} bar", "flow": f"{q} L/h"} for p, q in ((2, 300), (4, 250), (6, 150))]
    pump = {"kind": "pump", "curve": "main", "volts": "12 V"}
    curves = {"main": DRIVEN | {"points": points}}
    far = {"kind": "source", "pressure": "3.5 bar"}
    runs = {"P0": run("near.out", "part.in", "pipe", **HOSE), "P1": run("part.out", "far.out", "pipe", **HOSE)}
    said = without_answer(tmp_path, pump, far=far, runs=runs, curves=curves)
    assert "part would have to give more than 300 L/h, where its curve begins at 200 kPa" in said


def test_pressure_below_a_vacuum_is_no_answer(tmp_path):
    # 500 000 L/min out of an 8 mm pipe.
    assert "far.in" in without_answer(tmp_path, far={"kind": "draw", "flow": "500000 L/min"})


def test_without_a_known_pressure_there_is_no_answer(tmp_path):
    draws = {"near": {"kind": "draw", "flow": "-5 L/min"}, "far": {"kind": "draw", "flow": "5 L/min"}}
    said = without_answer(tmp_path, components=draws, runs={"P0": run("near.in", "far.in", "pipe", **HOSE)})
    assert "no pressure is known in the part of line with far, near" in said


def test_a_breather_that_ends_in_a_mere_filter_is_told_what_ends_one(tmp_path):
    parts = {
        "near": {"kind": "crankcase", "blow_by": "50 L/min", "ports": {"out": {}}},
        "far": {"kind": "filter", "points": POINTS},
    }
    said = without_answer(
        tmp_path,
        components=parts,
        circuits={"line": {"fluid": "air", "temperature": "70 C"}},
        runs={"P0": run("near.out", "far.in", "pipe", **HOSE)},
    )
    assert "no pressure is known in the part of line with far, near" in said
    assert "breather filter" in said.replace("-", " ")
    assert "open" in said


def test_a_gas_that_expands_too_much_is_no_answer(tmp_path):
    said = without_answer(tmp_path, circuits={"line": {"fluid": "air", "temperature": "20 C"}})
    assert "falls by more than a tenth of its pressure in P0" in said


def check_valve(**facts):
    return {"kind": "check-valve", "crack": "0.02 bar", "points": POINTS} | facts


def test_a_draw_behind_a_valve_that_shuts_is_named_with_its_valve(tmp_path):
    # The valve lets through from the draw to the source only.
    runs = {"P0": run("near.out", "part.out", "pipe", **HOSE), "P1": run("part.in", "far.in", "pipe", **HOSE)}
    said = without_answer(tmp_path, check_valve(), far={"kind": "draw", "flow": "5 L/min"}, runs=runs)
    assert "nothing supplies far: part is shut between it and every known pressure" in said


def test_what_cannot_go_out_is_named_with_its_valve(tmp_path):
    said = without_answer(tmp_path, check_valve(), far={"kind": "draw", "flow": "-5 L/min"})
    assert "what comes in at far has no way out: part is shut" in said


def loop(folder, **sections):
    """A closed loop: a pump, a cooler and a hose back, its reference at the pump's inlet."""
    return read(
        folder,
        **{
            "circuits": {
                "line": {"fluid": "water", "temperature": "20 C", "reference": {"port": "pump.in", "pressure": "1 bar"}}
            },
            "components": {
                "pump": {"kind": "oil-pump", "curve": "driven", "ratio": 1},
                "cooler": {"kind": "cooler", "points": POINTS},
                "tee": {"kind": "tee", "bore": "12 mm"},
                "drop": {"kind": "draw", "flow": "0 L/min"},
            },
            "curves": {"driven": DRIVEN},
            "duties": {"steady": {"engine_speed": "3000 rpm"}},
            "stock": {"pipe": tube("12 mm")},
            "runs": {
                "P0": run("pump.out", "cooler.in", "pipe", **HOSE),
                "P1": run("cooler.out", "tee.a", "pipe", **HOSE),
                "P2": run("tee.b", "pump.in", "pipe", **HOSE),
                "P3": run("tee.branch", "drop.in", "pipe", **HOSE),
            },
        }
        | sections,
    )


def test_a_closed_loop_goes_round_by_its_one_reference(tmp_path):
    answer = solve_plan(loop(tmp_path))["line"]
    assert isinstance(answer, Solution)
    assert answer.reasons == {}
    assert answer.total("pump.in")[0] == pytest.approx(101_325 + 1e5, abs=1)
    assert answer.flow("P0")[0] * 60_000 == pytest.approx(28, abs=2)
    assert answer.flow("P2") == pytest.approx(answer.flow("P0"), rel=1e-9)
    # What the pump lifts is what the way round costs: 1 bar of piezometric head goes nowhere.
    lost = sum(answer.total(a) - answer.total(b) for a, b in (("pump.out", "cooler.in"), ("cooler.in", "cooler.out")))
    lost += answer.total("cooler.out") - answer.total("tee.a") + answer.total("tee.a") - answer.total("pump.in")
    assert lost[0] == pytest.approx((answer.total("pump.out") - answer.total("pump.in"))[0], rel=1e-9)


def test_the_reference_of_a_closed_loop_is_no_source(tmp_path):
    components = {"drop": {"kind": "draw", "flow": "1 L/min"}}
    plain = loop(tmp_path)
    pump, cooler = ({"kind": "oil-pump", "curve": "driven", "ratio": 1}, {"kind": "cooler", "points": POINTS})
    assert solve_plan(plain)["line"].reasons == {}
    parts = {"pump": pump, "cooler": cooler, "tee": {"kind": "tee", "bore": "12 mm"}} | components
    answer = solve_plan(loop(tmp_path, components=parts))["line"]
    assert "what is drawn or comes in at drop has no source" in answer.reasons["steady"]


def test_a_gallery_without_its_pressure_is_asked_for_it(tmp_path):
    far = {"kind": "source", "pressure": "0 bar"}
    runs = {"P0": run("near.take", "far.out", "pipe", **HOSE)}
    said = without_answer(tmp_path, near={"kind": "gallery", "ports": {"take": {}}}, far=far, runs=runs)
    assert "pressure of near is not known" in said
    assert "pressure in [components.near]" in said


def test_a_reference_beside_a_known_pressure_is_one_too_many(tmp_path):
    circuits = {"line": {"fluid": "water", "temperature": "20 C", "reference": {"port": "far.in", "pressure": "1 bar"}}}
    said = without_answer(tmp_path, circuits=circuits)
    assert "two pressures are known in line: the reference at far.in and that of" in said


def test_two_parts_without_heights_are_solved_each_by_itself(tmp_path):
    components = {
        name: {"kind": "source", "pressure": f"{bar} bar"} for name, bar in (("a", 2), ("b", 1), ("c", 5), ("d", 1))
    }
    runs = {"P0": run("a.out", "b.out", "pipe", **HOSE), "P1": run("c.out", "d.out", "pipe", **HOSE)}
    answer, flow = made(tmp_path, components=components, runs=runs)
    assert flow.verdict is Verdict.PASS
    assert (answer.flow("P1") > answer.flow("P0")).all()


@pytest.mark.parametrize(("litres", "why"), [(1, "would have to let by what it does not"), (5, "is shut")])
def test_more_than_a_valve_lets_by_while_it_holds_is_no_answer(tmp_path, litres, why):
    # Behind it stand 2.99 bar of the 3 that it holds: by its slope it lets 0.46 L/min through.
    valve = {"kind": "feed-regulator", "set": "3 bar", "reference": "open air", "points": POINTS}
    runs = {"P0": run("near.in", "part.in", "pipe", **HOSE), "P1": run("part.out", "far.out", "pipe", **HOSE)}
    near, far = {"kind": "draw", "flow": f"-{litres} L/min"}, {"kind": "source", "pressure": "2.99 bar"}
    said = without_answer(tmp_path, valve | {"slope": "2 psi per 100 gph"}, near=near, far=far, runs=runs)
    assert "part " + why in said


class Restless(Check):
    """A check valve that always asks for its other state."""

    def wanted(self, here, state, rows):
        return 1 - state, np.ones(len(rows))


def test_a_device_without_a_steady_state_is_named(tmp_path, monkeypatch):
    monkeypatch.setattr(components, "Check", Restless)
    assert "part cycles: no steady state holds" in without_answer(tmp_path, check_valve())


# ---------------------------------------------------------------- answers that cannot be


def caution(folder, *args, **facts):
    """What the caution of the circuit says, and what to do."""
    answer, flow = made(folder, *args, **facts)
    assert isinstance(answer, Solution)
    assert answer.reasons == {}
    assert flow.verdict is Verdict.CAUTION
    return f"{flow.why.say('metric')} {flow.change.say('metric')}", flow


def test_a_liquid_that_would_boil_is_told_with_place_and_pressures(tmp_path):
    # Water of 90 C boils at 70.2 kPa (IAPWS-95). 2.6 m over an open end at sea level there are 101.3 - 2.6 x 9.47 =
    # 76.7 kPa, 4 m over it 63.5 kPa.
    sections = {
        "circuits": {"line": {"fluid": "water", "temperature": "90 C"}},
        "near": {"kind": "draw", "flow": "-1 L/min"},
    }
    for height, boils in (("2.6 m", False), ("4 m", True)):
        runs = {"P0": run("near.in", "far.in", "pipe", **HOSE | {"rise": f"-{height}"})}
        if not boils:
            assert made(tmp_path, runs=runs, **sections)[1].verdict is Verdict.PASS
            continue
        said, flow = caution(tmp_path, runs=runs, **sections)
        assert "At steady the pressure at near.in is 64" in said
        assert "under the 70" in said
        assert flow.worst.duty == "steady"
        assert flow.worst.station == "near.in"


@pytest.mark.parametrize(("top", "boils"), [("2.6 m", False), ("4 m", True)])
def test_a_liquid_that_would_boil_at_the_top_of_a_run_is_told(tmp_path, top, boils):
    # As above, but up and down again between a source and an open end at one height: 76.7 and 63.5 kPa at the top, of
    # which the flow of a trickle takes nothing.
    sections = {
        "circuits": {"line": {"fluid": "water", "temperature": "90 C"}},
        "near": {"kind": "draw", "flow": "-0.1 L/min", "ports": {"in": {"at": "0, 0, 0 m", "points": "up"}}},
        "far": {"kind": "open", "ports": {"in": {"at": "1, 0, 0 m", "points": "up"}}},
        "runs": {"P0": run("near.in", "far.in", "pipe", via=[f"0, 0, {top}", f"1, 0, {top}"])},
    }
    if not boils:
        assert made(tmp_path, **sections)[1].verdict is Verdict.PASS
        return
    said, flow = caution(tmp_path, **sections)
    assert "At steady the pressure at the top of P0 is 63" in said
    assert flow.worst.station == "the top of P0"


def test_a_pump_against_a_closed_valve_is_told_with_the_valve(tmp_path):
    # Two pumps side by side, each behind a check valve of its own, of which one is the wrong way round.
    sheet = [{"volts": "12 V", "rise": f"{p} bar", "flow": f"{q} L/h"} for p, q in ((0, 300), (4, 200), (6, 0))]
    pump = {"kind": "pump", "curve": "main", "volts": "12 V"}
    components = {
        "near": {"kind": "manifold", "bore": "8 mm", "ports": {"supply": {}, "one": {}, "two": {}}},
        "tank": {"kind": "source", "pressure": "0 bar"},
        "pump_a": pump,
        "pump_b": pump,
        "check_a": check_valve(),
        "check_b": check_valve(),
        "far": {"kind": "manifold", "bore": "8 mm", "ports": {"out": {}, "one": {}, "two": {}}},
        "end": {"kind": "source", "pressure": "2 bar"},
    }
    ends = [
        ("tank.out", "near.supply"),
        ("near.one", "pump_a.in"),
        ("near.two", "pump_b.in"),
        ("pump_a.out", "check_a.in"),
    ]
    ends += [
        ("pump_b.out", "check_b.out"),
        ("check_a.out", "far.one"),
        ("check_b.in", "far.two"),
        ("far.out", "end.out"),
    ]
    said, _ = caution(
        tmp_path,
        components=components,
        curves={"main": DRIVEN | {"points": sheet}},
        runs={f"P{i}": run(*pair, "pipe", **HOSE) for i, pair in enumerate(ends)},
    )
    assert "At steady pump_b runs against a closed way" in said
    # check_a is shut or open as it should be, and not accused.
    assert "which way the arrow points on check_b, which stands against it" in said


def test_a_regulator_without_its_return_is_told(tmp_path):
    runs = {"P0": run("near.out", "part.in", "pipe", **HOSE), "P1": run("part.out", "far.in", "pipe", **HOSE)}
    said, _ = caution(tmp_path, regulator(), runs=runs)
    assert "part holds nothing: no hose is on its return" in said
    assert "feed-regulator" in said


def test_points_whose_drop_falls_are_refused(tmp_path):
    part = {"kind": "resistance", "points": POINTS | {"flow": ["5 L/min", "10 L/min"], "drop": ["10 kPa", "8 kPa"]}}
    with pytest.raises(PlanError) as caught:
        made(tmp_path, part)
    assert [f.message for f in caught.value.faults] == ["a drop falls as the flow rises"]


# ---------------------------------------------------------------- properties out of reach


def test_a_liquid_hotter_than_its_density_goes_is_no_answer(tmp_path):
    # Carried straight on, this table of density reaches zero at 300 C.
    thin = fluid("800 kg/m3", "1 mPa s")
    thin["density"] |= {"at": ["100 C", "200 C"], "is": ["800 kg/m3", "400 kg/m3"]}
    circuits = {"line": {"fluid": "thin", "temperature": "350 C"}}
    assert "temperature of line in steady" in without_answer(tmp_path, circuits=circuits, fluids={"thin": thin})


def test_a_property_beyond_its_table_is_said_to_be(tmp_path):
    # The table of water ends at 130 C.
    answer, flow = made(tmp_path, circuits={"line": {"fluid": "water", "temperature": "140 C"}})
    assert isinstance(answer, Solution)
    # It boils there too: both are said.
    assert flow.verdict is Verdict.CAUTION
    assert "density of Water taken beyond its table" in flow.why.say("metric")
    _, flow = made(tmp_path, circuits={"line": {"fluid": "water", "temperature": "120 C"}})
    assert "beyond its table" not in flow.why.say("metric")


def test_one_duty_without_an_answer_leaves_the_others(tmp_path):
    duties = {"good": {}, "bad": {}}
    taken = {"good": "5 L/min", "bad": "500000 L/min"}
    answer, flow = made(tmp_path, far={"kind": "draw", "flow": taken}, duties=duties)
    assert flow.verdict is Verdict.UNCHECKED
    assert list(answer.reasons) == ["bad"]
    assert np.isfinite(answer.flow("P0")).tolist() == [True, False]
    assert np.isfinite(answer.total("far.in")).tolist() == [True, False]


def test_the_engine_that_burns_nothing_has_no_margin(tmp_path):
    rail = {"kind": "rail", "bore": "14 mm", "length": "300 mm"}
    runs = {
        "P0": run("near.out", "rail.in", "pipe", **HOSE),
        "P1": run("rail.out", "part.in", "pipe", **HOSE),
        "P2": run("part.return", "far.in", "pipe", **HOSE),
    }
    components = {
        "near": {"kind": "source", "pressure": "3 bar"},
        "rail": rail,
        "part": regulator(),
        "far": {"kind": "open"},
    }
    plan = read(
        tmp_path,
        circuits={"line": {"fluid": "gasoline-summer", "temperature": "20 C"}},
        duties={"off": {"boost": "0 kPa", "burn": "0 lb/h"}},
        components=components,
        stock={"pipe": tube("8 mm")},
        runs=runs,
    )
    rules = {f.rule: f.verdict for f in findings(study(plan))}
    assert rules["circuit.flow"] is Verdict.PASS
    assert "fuel.margin" not in rules
    assert "fuel.rail" in rules


# ---------------------------------------------------------------- what looks hopeless and is not


def test_a_dead_end_is_still(tmp_path):
    # Nothing flows; the gauge shows the source less 0.5 m of water.
    part = {"kind": "resistance", "k": 3, "bore": "8 mm"}
    runs = {
        "P0": run("near.out", "part.in", "pipe", **HOSE),
        "P1": run("part.out", "far.in", "pipe", **(HOSE | {"rise": "0.5 m"})),
    }
    answer, flow = made(tmp_path, part, far={"kind": "gauge"}, runs=runs)
    assert flow.verdict is Verdict.PASS
    assert answer.flow("P1")[0] == pytest.approx(0, abs=1e-12)
    shown = answer.total("far.in")[0] - 101_325
    assert shown == pytest.approx(3e5 - 998.21 * 9.80665 * 0.5, abs=0.1)


def test_a_regulator_whose_return_is_closed_lets_nothing_by(tmp_path):
    answer, flow = made(tmp_path, regulator(), far={"kind": "gauge"})
    assert flow.verdict is Verdict.PASS
    assert answer.flow("P1")[0] == pytest.approx(0, abs=1e-9)
    assert answer.total("part.in")[0] == pytest.approx(101_325 + 3e5, abs=1)


@pytest.mark.parametrize(
    ("stock", "ends", "bore"),
    [("pipe", ["auto", "auto"], 0.008), ("ptfe-braid -6", ["straight", "straight"], 0.261 * 0.0254)],
)
def test_the_mouth_of_a_tank_is_as_wide_as_the_end_in_it(tmp_path, stock, ends, bore):
    # Crane TP-410: 0.5 of the velocity head out of a tank; thin fluid, so that the laminar part of 160 / Re is small.
    tank = {"kind": "tank", "surface": {"full": "0 m", "low": "0 m"}, "ports": {"out": {"height": "0 m"}}}
    plan = read(
        tmp_path,
        fluids={"thin": fluid("1000 kg/m3", "0.001 mPa s")},
        circuits={"line": {"fluid": "thin", "temperature": "20 C"}},
        components={"near": tank, "far": {"kind": "draw", "flow": "10 L/min"}},
        stock={"pipe": tube("8 mm")},
        runs={"P0": run("near.out", "far.in", stock, ends=ends, **HOSE)},
    )
    answer = study(plan).solutions["line"]
    assert not isinstance(answer, Unsolved)
    velocity = 10 / 60_000 / (np.pi * bore**2 / 4)
    lost = answer.total("near.surface") - answer.total("near.out")
    assert lost[0] == pytest.approx(0.5 * 1000 * velocity**2 / 2, rel=1e-3)
