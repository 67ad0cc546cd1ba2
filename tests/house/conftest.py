"""What belongs to the project, as git tells it."""

import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def tracked():
    """The project's files, in git or about to be; nothing that git ignores."""
    if not (ROOT / ".git").exists():
        pytest.skip("not a work tree of git")
    command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    names = subprocess.run(command, cwd=ROOT, check=True, capture_output=True).stdout.decode().split("\0")
    return sorted({name for name in names if (ROOT / name).is_file()})
