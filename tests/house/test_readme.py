"""What README.md shows works as it stands."""

import re
import shutil
import tomllib
from pathlib import Path

import numpy as np
import pytest
from writing import text_of

import lines
from lines.reading import read_plan
from solver.checks import findings
from solver.properties import kinematic_viscosity
from solver.solution import Solution
from solver.study import study

README = Path(__file__).parents[2] / "README.md"


def blocks():
    """The tables that it shows: a plan, a zone of it, a shop's oil, a turbocharger of that plan, fuel of an example;
    of fuel without a return two pumps with a feed regulator, a pulsed pump, and a vent.
    """
    return re.findall(r"```toml\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)


def test_the_plan_in_the_readme_reads_and_solves(tmp_path):
    plan, zone, oil, *_ = blocks()
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "fluids.toml").write_text(oil, encoding="utf-8")
    own = plan.replace("[plan]\n", '[plan]\nshop = "shop"\n')
    (tmp_path / "plan.toml").write_text(own + zone, encoding="utf-8")
    made = study(read_plan(tmp_path / "plan.toml"))
    viscosity = kinematic_viscosity(made.plan.catalog.fluid("our-5w-40"), np.array([373.15]))
    assert viscosity[0] == pytest.approx(13.9e-6)
    assert isinstance(made.solutions["fuel"], Solution)
    assert not [f.id for f in findings(made) if f.verdict == "fail"]
    assert made.assemblies["R1"].cut is not None


def test_the_turbocharger_in_the_readme_is_fed_and_drains_in_every_attitude(tmp_path):
    plan, _, _, turbo, *_ = blocks()
    (tmp_path / "plan.toml").write_text(plan + turbo, encoding="utf-8")
    made = study(read_plan(tmp_path / "plan.toml"))
    found = {f.id: f for f in findings(made)}
    assert not [f.id for f in found.values() if f.verdict in {"fail", "unchecked"}]
    for told in (
        "drain.surface/O2",
        "oil.feed/turbo",
        "sump.pickup/sump",
        "drain.attitudes/drain",
        "turbo.flange/turbo",
    ):
        assert found[told].verdict == "pass", told
    foam = made.plan.components["turbo"].figures["foam"]
    assert foam.over(["idle", "cold_start"]) == pytest.approx([0.5, 0.1])
    # Every preset of the table that leans or pushes one way, and one by its own figure: 38 deg.
    assert len(made.plan.attitudes) == 10
    assert made.plan.attitudes["dune_face"].tilt == pytest.approx(np.radians(38))


def test_the_fuel_in_the_readme_is_judged_in_the_example_that_it_is_of(tmp_path):
    example = Path(lines.__file__).parent / "examples" / "fuel-return"
    shutil.copytree(example / "shop", tmp_path / "shop")
    plan, shown = tomllib.loads((example / "plan.toml").read_text(encoding="utf-8")), tomllib.loads(blocks()[4])
    del plan["components"]["cell"]["areas"]
    for section, rows in shown.items():
        for name, row in rows.items():
            there = plan[section][name]
            ports = there.get("ports", {}) | row.get("ports", {})
            plan[section][name] = there | row | ({"ports": ports} if ports else {})
    plan["duties"]["full_load"] = shown["duties"]["full_load"]
    (tmp_path / "plan.toml").write_text(text_of({k: v for k, v in plan.items() if k != "schema"}), encoding="utf-8")
    found = {f.rule: f for f in findings(study(read_plan(tmp_path / "plan.toml"))) if f.rule.startswith("fuel.")}
    wanted = {"margin", "rail", "even", "return", "injector", "suction", "pickup", "trapped", "siphon"}
    assert {rule for rule, f in found.items() if f.verdict in {"pass", "caution"}} == {
        f"fuel.{rule}" for rule in wanted
    }


HOSE = {"circuit": "fuel", "line": "FEED", "stock": "ptfe-braid -8", "length": "20 in", "length_is": "seat-to-seat"}


def without_return(folder, shown, ways, without):
    """The plan of the example, its fuel system but for the tank and some parts replaced by what is shown.

    Ways are pairs of ports, each joined by a level hose; the last rises to the rail's height.
    """
    example = Path(lines.__file__).parent / "examples" / "fuel-return"
    shutil.copytree(example / "shop", folder / "shop")
    curves = [f"{name},,{volts},{rise},{flow},," for name, volts, rise, flow in CURVES]
    curves[0] = curves[0].replace(",,", ",invented,", 1).removesuffix(",,") + ",invented,illustrative"
    with (folder / "shop" / "curves.csv").open("a", encoding="utf-8") as file:
        file.write("\n".join(curves) + "\n")
    plan = tomllib.loads((example / "plan.toml").read_text(encoding="utf-8"))
    for name in ("regulator", *without):
        del plan["components"][name]
    del plan["components"]["cell"]["ports"]["return"]
    plan["runs"] = {tag: run for tag, run in plan["runs"].items() if run["circuit"] != "fuel"}
    plan["components"] |= shown["components"]
    for i, (start, end) in enumerate(ways, 1):
        rise = {"rise": "23 in" if i == len(ways) else "0 in"}
        plan["runs"][f"F{i}"] = HOSE | {"from": start, "to": end, "ends": ["straight", "straight"]} | rise
    (folder / "plan.toml").write_text(text_of({k: v for k, v in plan.items() if k != "schema"}), encoding="utf-8")
    return study(read_plan(folder / "plan.toml"))


CURVES = [("main-b", 13.5, rise, flow) for rise, flow in ((20, 90), (60, 72), (100, 40), (120, 0))]
"""Of a pump up to the rise at which it gives nothing: psi and gph."""


def test_two_pumps_and_a_feed_regulator_in_the_readme_give_flows(tmp_path):
    ways = [
        ("cell.out", "split.a"),
        ("split.b", "pump_left.in"),
        ("split.branch", "pump_right.in"),
        ("pump_left.out", "join.a"),
        ("pump_right.out", "join.b"),
        ("join.branch", "filter.in"),
        ("filter.out", "regulator.in"),
        ("rail_left.out", "rail_right.in"),
        ("regulator.out", "rail_left.in"),
    ]
    made = without_return(tmp_path, tomllib.loads(blocks()[5]), ways, ("pump", "rail", "filter"))
    answer = made.solutions["fuel"]
    assert isinstance(answer, Solution)
    assert answer.solved.all()
    given = sum(answer.flow(f"pump_{side}: pump") for side in ("left", "right"))
    assert given == pytest.approx(answer.model.batch.taken.sum(axis=1), rel=1e-6)
    # It begins to open at 43.5 psi over the manifold, and falls by 0.5 psi in 100 gph.
    over = answer.total("regulator.out") - made.plan.ambient.pressures
    boost = np.array([duty.boost.value for duty in made.plan.duties.values()])
    holds = 43.5 - 0.5 * given / (100 * 3.785411784e-3 / 3600)
    assert (over - boost) / 6894.757293168 == pytest.approx(holds, abs=1e-3)
    told = {f.rule for f in findings(made) if f.rule.startswith("fuel.") and f.verdict in {"pass", "caution", "fail"}}
    assert {"fuel.margin", "fuel.rail", "fuel.even", "fuel.injector"} <= told


def test_the_pulsed_pump_in_the_readme_holds_its_pressure(tmp_path):
    ways = [("cell.out", "pump.in"), ("pump.out", "rail.in")]
    made = without_return(tmp_path, tomllib.loads(blocks()[6]), ways, ("filter",))
    answer = made.solutions["fuel"]
    assert isinstance(answer, Solution)
    assert answer.solved.all()
    boost = np.array([duty.boost.value for duty in made.plan.duties.values()])
    over = answer.total("rail.in") - made.plan.ambient.pressures - boost
    assert over / 6894.757293168 == pytest.approx(58.0, abs=1e-3)


def test_the_vent_in_the_readme_lets_air_in(tmp_path):
    example = Path(lines.__file__).parent / "examples" / "fuel-return"
    shutil.copytree(example / "shop", tmp_path / "shop")
    plan, shown = tomllib.loads((example / "plan.toml").read_text(encoding="utf-8")), tomllib.loads(blocks()[7])
    plan["components"]["cell"]["ports"] |= shown["components"].pop("cell")["ports"]
    for section, rows in shown.items():
        plan[section] |= rows
    (tmp_path / "plan.toml").write_text(text_of({k: v for k, v in plan.items() if k != "schema"}), encoding="utf-8")
    made = study(read_plan(tmp_path / "plan.toml"))
    assert isinstance(made.solutions["vent"], Solution)
    found = {f.id: f.verdict for f in findings(made)}
    assert found["fuel.vent.flow/cell"] == "pass"


def test_the_readme_has_two_commands_for_a_fresh_machine():
    first, second = re.findall(r"```sh\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)[:2]
    assert first.strip() == "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/linewright demo"
    assert second.strip() == ".venv/bin/pip install '.[test]' && .venv/bin/pytest"
    extras = tomllib.loads((README.parent / "pyproject.toml").read_text(encoding="utf-8"))
    assert "test" in extras["project"]["optional-dependencies"]
