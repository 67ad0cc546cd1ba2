"""What the tests of broken plans share."""

import shutil
from importlib import resources

import pytest

from catalogs.errors import InputError
from lines.reading import read_plan


@pytest.fixture
def broken(tmp_path):
    """Copies the example, changes one text of its plan, and gives the faults of reading it."""

    def change(old, new, *, example="fuel-return"):
        with resources.as_file(resources.files("lines") / "examples" / example) as folder:
            shutil.copytree(folder, tmp_path, dirs_exist_ok=True)
        plan = tmp_path / "plan.toml"
        text = plan.read_text(encoding="utf-8")
        assert old in text
        changed = text.replace(old, new, 1)
        plan.write_text(changed, encoding="utf-8")
        with pytest.raises(InputError) as caught:
            read_plan(plan)
        return caught.value.faults

    return change
