"""How much oil goes through a cooler when hot: thermostats with swapped hoses, late ones, coolers side by side."""

import numpy as np
import pytest
from writing import fluid, line, read, run, tube

from lines.finding import Verdict
from solver.checks import findings
from solver.checks.roles import coolers, loops
from solver.checks.ways import cooled, ways
from solver.study import study

HOSE = {"length": "1 m", "length_is": "overall", "rise": "0 m"}
EVEN = {"source": "for the test", "grade": "published", "at": ["0 C", "150 C"]}
OIL = {
    "oil": fluid("850 kg/m3", "10 mPa s")
    | {
        "density": EVEN | {"is": ["850 kg/m3", "850 kg/m3"]},
        "viscosity": EVEN | {"is": ["100 mPa s", "5 mPa s"], "law": "log"},
    }
}
"""An oil from 0 to 150 C."""
POINTS = {"fluid": "oil", "temperature": "100 C", "flow": ["10 L/min"], "drop": ["20 kPa"]}
CORE = {"kind": "cooler", "points": POINTS}
STAT = {"kind": "oil-thermostat", "opens": "75 C", "open": "85 C", "points": POINTS}
RIGHT = {"in": "in", "out": "out", "cooler_out": "cooler_out", "cooler_in": "cooler_in"}


def plan_of(folder, components, runs, *, temperature, duties=("steady",)):
    """A source, a draw of 20 L/min and what lies between them."""
    ends = {"near": {"kind": "source", "pressure": "5 bar"}, "far": {"kind": "draw", "flow": "20 L/min"}}
    return read(
        folder,
        fluids=OIL,
        circuits={"line": {"fluid": "oil", "temperature": temperature, "seals": "fkm"}},
        duties={d: {} for d in duties},
        stock={"pipe": tube("16 mm")},
        components=ends | components,
        runs={tag: run(start, end, "pipe", **HOSE) for tag, (start, end) in runs.items()},
    )


def thermostatted(folder, *, stat=None, swapped=None, temperature="120 C", duties=("steady",)):
    """The four hoses of a thermostat and its cooler; `swapped` says which port of it a hose is on instead."""
    on = RIGHT | (swapped or {})
    runs = {
        "C1": ("near.out", f"stat.{on['in']}"),
        "C2": (f"stat.{on['cooler_out']}", "core.in"),
        "C3": ("core.out", f"stat.{on['cooler_in']}"),
        "C4": (f"stat.{on['out']}", "far.in"),
    }
    return plan_of(folder, {"stat": STAT | (stat or {}), "core": CORE}, runs, temperature=temperature, duties=duties)


def through(plan, cooler="core"):
    """The finding of what goes through a cooler."""
    return next(f for f in findings(study(plan)) if f.id == f"cooler.through/{cooler}")


def said(finding):
    return f"{finding.why.say('metric')} {finding.change.say('metric')} {finding.needs}"


def test_wide_open_all_of_it_goes_through(tmp_path):
    found = through(thermostatted(tmp_path, temperature={"cold": "10 C", "hot": "120 C"}, duties=("cold", "hot")))
    assert found.verdict is Verdict.PASS
    assert found.value.value == pytest.approx(1.0, abs=1e-6)
    assert "At hot, the hottest, with the oil at 120 C, 20.0 L/min" in said(found)


def test_hoses_swapped_on_a_thermostat_leave_the_cooler_without_oil(tmp_path):
    # The hot hose on the port for the cooler's return: it goes straight on to `out`, and the cooler hangs on two ports
    # that nothing drives oil through. Common practice, no source.
    found = through(thermostatted(tmp_path, swapped={"in": "cooler_in", "cooler_in": "in"}))
    assert found.verdict is Verdict.FAIL
    assert found.value.value == 0.0
    assert "Hardly any oil goes through it when hot" in said(found)
    assert "see whether two hoses on it are swapped" in said(found)
    assert "cooler_in from the cooler" in said(found)


def test_a_thermostat_that_opens_too_late_is_told_with_the_share(tmp_path):
    # A third open. Both ways lie between the same two nodes; by points of one flow each goes by the square: at 10 L/min
    # the way through costs 20 kPa (1 + 9) and little hose, the way round 20 kPa (3/2)^2.
    plan = thermostatted(tmp_path, stat={"opens": "115 C", "open": "130 C"})
    found = through(plan)
    resistance = np.array([20 * 3**2 + 20, 20 * 1.5**2])
    share = 1 / (1 + np.sqrt(resistance[0] / resistance[1]))
    # The hoses' friction is on top of the 200 kPa: under a twentieth of it.
    assert found.value.value == pytest.approx(share, rel=0.03)
    answer = line(plan)
    assert found.value.value == pytest.approx(answer.flow("C2")[0] / answer.flow("C1")[0], rel=1e-6)
    assert found.verdict is Verdict.CAUTION
    assert "stat begins to open at 115 C and is open at 130 C: one that opens earlier" in said(found)


def test_one_that_is_shut_at_the_hottest_fails(tmp_path):
    found = through(thermostatted(tmp_path, stat={"opens": "125 C", "open": "130 C"}))
    assert found.verdict is Verdict.FAIL
    assert found.value.value == pytest.approx(0.0, abs=1e-6)


def test_without_a_duty_with_hot_oil_it_is_not_judged(tmp_path):
    found = through(thermostatted(tmp_path, temperature="20 C"))
    assert found.verdict is Verdict.UNCHECKED
    assert "a duty with hot oil: temperature in [circuits.line]" in said(found)


TEES = {name: {"kind": "tee", "bore": "40 mm"} for name in ("before", "behind")}
BESIDE = {
    "P0": ("near.out", "before.a"),
    "P1": ("before.b", "core.in"),
    "P2": ("core.out", "behind.a"),
    "P3": ("before.branch", "other.in"),
    "P4": ("other.out", "behind.branch"),
    "P5": ("behind.b", "far.in"),
}


def test_two_coolers_beside_each_other_are_no_way_round_each_other(tmp_path):
    plan = plan_of(tmp_path, TEES | {"core": CORE, "other": CORE}, BESIDE, temperature="120 C")
    assert line(plan).flow("P1")[0] == pytest.approx(10 / 60_000, rel=0.1)
    for cooler in ("core", "other"):
        found = through(plan, cooler)
        assert found.verdict is Verdict.PASS
        assert found.value.value == pytest.approx(1.0, abs=1e-6)
    drop = next(f for f in findings(study(plan)) if f.id == "cooler.drop/core")
    assert "Nothing goes round it" in said(drop)


def test_an_open_way_round_takes_its_part(tmp_path):
    # A filter beside the cooler, of the same points: half each, but for what the tees do.
    filter_ = {"kind": "filter", "points": POINTS}
    plan = plan_of(tmp_path, TEES | {"core": CORE, "other": filter_}, BESIDE, temperature="120 C")
    found, answer = through(plan), line(plan)
    assert found.value.value == pytest.approx(answer.flow("P1")[0] / answer.flow("P0")[0], rel=1e-6)
    assert found.value.value == pytest.approx(0.5, abs=0.05)


def test_what_is_drawn_off_before_the_cooler_never_came_to_it(tmp_path):
    # 15 of 20 + 15 L/min go elsewhere from a tee upstream of thermostat and cooler.
    runs = {
        "P0": ("near.out", "before.a"),
        "P1": ("before.branch", "elsewhere.in"),
        "C1": ("before.b", "stat.in"),
        "C2": ("stat.cooler_out", "core.in"),
        "C3": ("core.out", "stat.cooler_in"),
        "C4": ("stat.out", "far.in"),
    }
    parts = {"before": TEES["before"], "elsewhere": {"kind": "draw", "flow": "15 L/min"}, "stat": STAT, "core": CORE}
    found = through(plan_of(tmp_path, parts, runs, temperature="120 C"))
    assert found.verdict is Verdict.PASS
    assert found.value.value == pytest.approx(1.0, abs=1e-6)


def test_a_valve_to_the_tank_is_no_way_round_the_cooler(tmp_path):
    # Pump, cooler, reservoir, and a relief valve before the cooler into the same reservoir: what it lets by comes to
    # what went through by the surface only.
    valve = {"kind": "relief-valve", "set": "50 bar", "points": POINTS}
    plan = read(
        tmp_path,
        fluids=OIL,
        circuits={"line": {"fluid": "oil", "temperature": "80 C", "seals": "fkm"}},
        stock={"pipe": tube("16 mm")},
        components={
            "tank": {
                "kind": "reservoir",
                "surface": {"full": "0.2 m", "low": "0.1 m"},
                "ports": {name: {"height": "0 m"} for name in ("out", "return", "relief")},
            },
            "pump": {"kind": "steering-pump", "flow": "8 L/min", "relief": "90 bar"},
            "tee": {"kind": "tee", "bore": "16 mm"},
            "valve": valve,
            "core": CORE,
        },
        runs={
            tag: run(start, end, "pipe", **HOSE)
            for tag, (start, end) in {
                "P0": ("tank.out", "pump.in"),
                "P1": ("pump.out", "tee.a"),
                "P2": ("tee.b", "core.in"),
                "P3": ("core.out", "tank.return"),
                "P4": ("tee.branch", "valve.in"),
                "P5": ("valve.return", "tank.relief"),
            }.items()
        },
    )
    circuit = study(plan).circuits["line"]
    assert not ways(line(plan), coolers(circuit)[0]).round_it


def test_cooled_oil_mixes_by_what_flows():
    # A cooler, behind it 1 of 4 parts drawn off and led round again before the end: 3 and 1 of 6 parts that leave have
    # passed it, 2 have not. Worked by hand.
    ends = np.array([[0, 1], [1, 2], [1, 3], [3, 2], [0, 2]])
    cools = np.array([True, False, False, False, False])
    forward = np.array([[4.0, 3.0, 1.0, 1.0, 2.0]])
    assert cooled(ends, cools, forward) == pytest.approx([4 / 6])
    assert cooled(ends, cools, -forward) == pytest.approx([4 / 6])
    # Two in a row cool no oil twice.
    assert cooled(ends, np.array([True, True, False, True, False]), forward) == pytest.approx([4 / 6])


def test_an_oil_circuit_with_an_electric_pump_is_a_loop(tmp_path):
    components = {
        "tank": {
            "kind": "reservoir",
            "surface": {"full": "0.2 m", "low": "0.1 m"},
            "ports": {"out": {"height": "0 m"}, "return": {"height": "0 m"}},
        },
        "pump": {"kind": "pump"},
    }
    plan = read(
        tmp_path,
        fluids=OIL,
        circuits={"line": {"fluid": "oil", "temperature": "80 C", "seals": "fkm"}},
        stock={"pipe": tube("16 mm")},
        components=components,
        runs={"P0": run("tank.out", "pump.in", "pipe", **HOSE), "P1": run("pump.out", "tank.return", "pipe", **HOSE)},
    )
    made = study(plan)
    assert [circuit.name for circuit in loops(made)] == ["line"]
    assert any(f.id == "loop.suction/pump" for f in findings(made))


def test_a_radiator_with_oil_in_it_is_a_cooler_too(tmp_path):
    # Its way is called a core as well; that begins in its tank, where no hose is and a gauge reads the total pressure.
    runs = {"P0": ("near.out", "core.in"), "P1": ("core.out", "far.in")}
    plan = plan_of(tmp_path, {"core": {"kind": "radiator", "points": POINTS}}, runs, temperature="120 C")
    checked = {f.id: f for f in findings(study(plan))}
    # 5 bar less what 1 m of 16 mm pipe costs, under a fiftieth of it.
    assert checked["cooler.drop/core"].value.value == pytest.approx(5e5, rel=0.02)
    assert checked["cooler.through/core"].verdict is Verdict.PASS
    assert checked["cooler.air/core"].verdict is Verdict.UNCHECKED
