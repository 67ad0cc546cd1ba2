"""What README.md shows works as it stands."""

import re
import tomllib
from pathlib import Path

import numpy as np
import pytest

from lines.reading import read_plan
from solver.checks import findings
from solver.properties import kinematic_viscosity
from solver.solution import Solution
from solver.study import study

README = Path(__file__).parents[2] / "README.md"


def test_the_plan_in_the_readme_reads_and_solves(tmp_path):
    plan, zone, oil = re.findall(r"```toml\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
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


def test_the_readme_has_two_commands_for_a_fresh_machine():
    first, second = re.findall(r"```sh\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)[:2]
    assert first.strip() == "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/linewright demo"
    assert second.strip() == ".venv/bin/pip install '.[test]' && .venv/bin/pytest"
    extras = tomllib.loads((README.parent / "pyproject.toml").read_text(encoding="utf-8"))
    assert "test" in extras["project"]["optional-dependencies"]
