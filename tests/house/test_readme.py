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
    """The tables that it shows: a plan, a zone of it, a shop's oil, a turbocharger of that plan, fuel of an example."""
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
    plan, _, _, turbo, _ = blocks()
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
    plan, shown = tomllib.loads((example / "plan.toml").read_text(encoding="utf-8")), tomllib.loads(blocks()[-1])
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


def test_the_readme_has_two_commands_for_a_fresh_machine():
    first, second = re.findall(r"```sh\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)[:2]
    assert first.strip() == "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/linewright demo"
    assert second.strip() == ".venv/bin/pip install '.[test]' && .venv/bin/pytest"
    extras = tomllib.loads((README.parent / "pyproject.toml").read_text(encoding="utf-8"))
    assert "test" in extras["project"]["optional-dependencies"]
