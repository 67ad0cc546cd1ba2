"""The room of a bend behind its collar does not depend on points that lie on a straight."""

import shutil
from importlib import resources

import pytest

from lines.assembly import assembly, bend_radii
from lines.reading import read_plan


def test_a_clamp_point_on_a_straight_takes_no_room(tmp_path):
    with resources.as_file(resources.files("lines") / "examples" / "fuel-return") as folder:
        shutil.copytree(folder, tmp_path, dirs_exist_ok=True)
    plan = tmp_path / "plan.toml"
    before = bend_radii(assembly(read_plan(plan), "F4"))
    text = plan.read_text(encoding="utf-8")
    assert 'via = ["20, 5, 36 in"]' in text
    # A sixth of the way from (8, 5, 37) to (20, 5, 36) in, right behind the collar.
    clamped = text.replace('via = ["20, 5, 36 in"]', 'via = ["10, 5, 36 5/6 in", "20, 5, 36 in"]')
    plan.write_text(clamped, encoding="utf-8")
    after = bend_radii(assembly(read_plan(plan), "F4"))
    assert [c.radius for c in after] == pytest.approx([c.radius for c in before], rel=1e-6)
