"""What `solve` prints: units that suit the fluid, how well it balances, filters clean and due."""

import json
import math

import pytest
from fuelled import fuel_plan
from writing import read, run, tube

from reports.cli import main

HOSE = {"length": "1 m", "length_is": "overall", "rise": "0 m"}
POINTS = {"fluid": "water", "temperature": "20 C", "flow": ["5 L/min", "10 L/min"], "drop": ["5 kPa", "20 kPa"]}


def shown(capsys, *arguments):
    code = main([*map(str, arguments)])
    return code, *capsys.readouterr()


@pytest.fixture
def filtered(tmp_path):
    """A source of 100 kPa, a filter and an open end: water."""
    read(
        tmp_path,
        circuits={"line": {"fluid": "water", "temperature": "20 C"}},
        components={
            "near": {"kind": "source", "pressure": "100 kPa"},
            "filter": {"kind": "filter", "points": POINTS, "loaded": 4},
            "far": {"kind": "open"},
        },
        stock={"pipe": tube("30 mm", outside="33 mm")},
        runs={"P1": run("near.out", "filter.in", "pipe", **HOSE), "P2": run("filter.out", "far.in", "pipe", **HOSE)},
    )
    return tmp_path / "plan.toml"


def test_a_filter_that_is_due_halves_the_flow_where_it_is_all_that_resists(capsys, filtered):
    # Four times an inertial drop: half the flow, less what little the wide pipe and its mouths cost.
    flows = []
    for state in ("clean", "due"):
        code, out, _ = shown(capsys, "solve", filtered, "--json", "--filters", state)
        assert code == 0
        flows.append(json.loads(out)["circuits"]["line"]["steady"]["runs"]["P1"]["flow"]["value"])
    assert flows[0] / flows[1] == pytest.approx(2, rel=0.01)


def test_the_answer_says_how_well_it_balances(capsys, filtered):
    _, out, _ = shown(capsys, "solve", filtered, "--json")
    left = json.loads(out)["circuits"]["line"]["steady"]["imbalance"]
    assert 0 <= left["pressure"]["value"] < 0.001
    assert left["pressure"]["unit"] == "kPa"
    assert 0 <= left["flow"]["value"] < 1e-6
    assert "worked out again" in shown(capsys, "solve", filtered)[1]


def test_most_of_a_loss_is_told_with_its_share(capsys, filtered):
    _, out, _ = shown(capsys, "solve", filtered)
    (row,) = (line for line in out.splitlines() if line.startswith("P1 "))
    assert row.rstrip().endswith("100% hose")


def test_a_gas_is_shown_in_units_that_suit_it(capsys, tmp_path):
    read(
        tmp_path,
        plan={"units": "us"},
        circuits={"line": {"fluid": "air", "temperature": "20 C"}},
        components={"case": {"kind": "draw", "flow": "-3 cfm"}, "far": {"kind": "open"}},
        stock={"pipe": tube("19 mm", outside="25 mm")},
        runs={"V1": run("case.in", "far.in", "pipe", **HOSE)},
    )
    _, out, _ = shown(capsys, "solve", tmp_path / "plan.toml", "--json")
    duty = json.loads(out)["circuits"]["line"]["steady"]
    assert duty["runs"]["V1"]["flow"]["unit"] == "cfm"
    assert duty["runs"]["V1"]["flow"]["value"] == pytest.approx(3, rel=2e-3)
    assert {node["total"]["unit"] for node in duty["nodes"].values()} == {"inH2O"}
    # A velocity head of 1.2 kg/m3 at 5 m/s is 15 Pa, 0.06 in of water; the mouth's laminar part is 160/Re of it, 3 %.
    assert duty["nodes"]["far.in"]["total"]["value"] == pytest.approx(
        1.2046 / 2 * (3 * 0.3048**3 / 60 / (math.pi * 0.019**2 / 4)) ** 2 / 248.84, rel=0.03
    )


def test_a_duty_without_an_answer_does_not_hide_the_others(capsys, tmp_path):
    # 60 L/min out of a 4 mm tube is more than the air pushes.
    read(
        tmp_path,
        circuits={"line": {"fluid": "water", "temperature": "20 C"}},
        components={"near": {"kind": "open"}, "far": {"kind": "draw", "flow": {"slow": "1 L/min", "fast": "60 L/min"}}},
        duties={"slow": {}, "fast": {}},
        stock={"pipe": tube("4 mm")},
        runs={"P1": run("near.in", "far.in", "pipe", **HOSE)},
    )
    code, out, err = shown(capsys, "solve", tmp_path / "plan.toml")
    assert code == 2
    assert "line at slow" in out
    assert "line at fast" not in out
    assert "no answer at fast" in err
    code, out, err = shown(capsys, "solve", tmp_path / "plan.toml", "--json")
    assert code == 2
    assert "errors" in json.loads(out)


def test_what_a_run_climbs_and_what_its_ends_cost_stand_beside_its_loss(capsys, tmp_path):
    read(
        tmp_path,
        circuits={"line": {"fluid": "water", "temperature": "20 C"}},
        components={"near": {"kind": "source", "pressure": "2 bar"}, "far": {"kind": "draw", "flow": "6 L/min"}},
        runs={
            "P1": run(
                "near.out", "far.in", "ptfe-braid -6", ends=["straight", "90 deg"], bends=[], **HOSE | {"rise": "2 m"}
            )
        },
    )
    _, out, _ = shown(capsys, "solve", tmp_path / "plan.toml", "--json")
    found = json.loads(out)["circuits"]["line"]["steady"]["runs"]["P1"]
    # 998.2 kg/m3 x 9.80665 m/s2 x 2 m.
    assert found["climb"]["value"] == pytest.approx(19.58, abs=0.01)
    assert list(found["things"]) == ["hose", "end at near.out", "end at far.in"]
    assert sum(part["value"] for part in found["things"].values()) == pytest.approx(found["loss"]["value"], rel=1e-4)
    assert found["things"]["end at far.in"]["value"] > found["things"]["end at near.out"]["value"]


def test_each_way_of_a_thermostat_is_printed_by_its_own_name(capsys, tmp_path):
    points = POINTS | {"flow": ["10 L/min"], "drop": ["20 kPa"], "fluid": "10w-40", "temperature": "100 C"}
    read(
        tmp_path,
        circuits={"line": {"fluid": "10w-40", "temperature": "120 C"}},
        components={
            "near": {"kind": "source", "pressure": "5 bar"},
            "far": {"kind": "draw", "flow": "8 L/min"},
            "stat": {"kind": "oil-thermostat", "opens": "70 C", "open": "90 C", "points": points},
            "core": {"kind": "cooler", "points": points},
        },
        stock={"pipe": tube("12 mm")},
        runs={
            "P0": run("near.out", "stat.in", "pipe", **HOSE),
            "P1": run("stat.out", "far.in", "pipe", **HOSE),
            "P2": run("stat.cooler_out", "core.in", "pipe", **HOSE),
            "P3": run("core.out", "stat.cooler_in", "pipe", **HOSE),
        },
    )
    code, out, _ = shown(capsys, "solve", tmp_path / "plan.toml")
    assert code == 0
    lines = out.splitlines()
    assert any(line.startswith("stat, to cooler: 480 L/h, costs") and line.endswith("open") for line in lines)
    assert any(line.startswith("stat, by-pass: 0 L/h, costs") and line.endswith("shut") for line in lines)
    # One way needs no name of its own.
    assert any(line.startswith("core: 480 L/h, costs") for line in lines)


def test_of_many_injectors_the_best_and_the_worst_fed_are_printed_and_all_of_them_written(capsys, tmp_path):
    fuel_plan(
        tmp_path,
        duties={"full": {"boost": "0 kPa", "burn": "150 L/h"}},
        components={"rail": {"kind": "rail", "bore": "6 mm", "length": "400 mm", "injectors": "6"}},
    )
    plan = tmp_path / "plan.toml"
    rows = [line for line in shown(capsys, "solve", plan)[1].splitlines() if line.startswith("rail, injector")]
    duty = json.loads(shown(capsys, "solve", plan, "--json")[1])["circuits"]["line"]["full"]
    each = {name: node for name, node in duty["nodes"].items() if name.startswith("rail.injector")}
    assert list(each) == [f"rail.injector {i}" for i in range(1, 7)]
    static = [node["static"]["value"] for node in each.values()]
    best, worst = static.index(max(static)) + 1, static.index(min(static)) + 1
    assert [row.split("  ")[0] for row in rows] == [f"rail, injector {best}", f"rail, injector {worst}"]
    # What flows by in the bore is no pressure that an injector feels.
    assert all(node["static"]["value"] < node["total"]["value"] for node in each.values())
    assert len(duty["components"]["rail"]) == 7
