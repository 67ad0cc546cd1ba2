"""The same plan gives the same words and numbers, whatever the interpreter's hash seed."""

import os
import subprocess
import sys
from importlib import resources

import pytest


@pytest.mark.parametrize("command", ["check", "solve"])
def test_output_does_not_depend_on_the_hash_seed(command):
    told = set()
    with resources.as_file(resources.files("lines") / "examples" / "methanol-sideways") as folder:
        for seed in ("1", "2"):
            program = "import sys; from reports.cli import main; sys.exit(main(sys.argv[1:]))"
            run = subprocess.run(
                [sys.executable, "-c", program, command, str(folder / "plan.toml"), "--json"],
                capture_output=True,
                check=False,
                env=os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p)},
            )
            assert run.returncode in {0, 1}
            told.add(run.stdout)
    assert len(told) == 1
