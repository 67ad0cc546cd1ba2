"""What a user installs: exactly the four packages, each of their data files, and the command."""

import email
import importlib
import importlib.metadata
import os
import site
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest
from hatchling.builders.wheel import WheelBuilder

ROOT = Path(__file__).parents[2]
PACKAGES = {"catalogs", "lines", "reports", "solver"}
DATA = ("catalogs/data", "lines/examples")
INSTALLED = bool(os.environ.get("LINEWRIGHT_TEST_INSTALLED"))


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    (path,) = WheelBuilder(str(ROOT)).build(directory=str(tmp_path_factory.mktemp("wheel")), versions=["standard"])
    with zipfile.ZipFile(path) as archive:
        yield archive


@pytest.fixture(scope="module")
def names(wheel):
    return set(wheel.namelist())


@pytest.fixture(scope="module")
def version():
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]


def test_it_holds_the_four_packages_and_nothing_else(names, version):
    assert {name.split("/")[0] for name in names} == PACKAGES | {f"linewright-{version}.dist-info"}


def test_it_holds_every_file_of_the_packages(names, tracked):
    in_tree = {name for name in tracked if name.split("/")[0] in PACKAGES}
    assert {name for name in names if ".dist-info/" not in name} == in_tree


def test_it_holds_the_data_the_examples_and_the_marks_of_types(names, tracked):
    for folder in DATA:
        files = {name for name in tracked if name.startswith(f"{folder}/")}
        assert files
        assert files <= names
    assert {f"{package}/py.typed" for package in PACKAGES} <= names


def test_it_gives_the_command(wheel, version):
    entry = wheel.read(f"linewright-{version}.dist-info/entry_points.txt").decode()
    assert "[console_scripts]\nlinewright = reports.cli:main\n" in entry
    assert callable(importlib.import_module("reports.cli").main)


def test_it_says_what_it_is(wheel, version):
    facts = email.message_from_bytes(wheel.read(f"linewright-{version}.dist-info/METADATA"))
    assert (facts["Name"], facts["Version"], facts["License-Expression"]) == ("linewright", version, "MIT")
    assert facts["Requires-Python"] == ">=3.11"
    assert f"linewright-{version}.dist-info/licenses/LICENSE" in wheel.namelist()


@pytest.mark.skipif(not INSTALLED, reason="the tree itself is under test")
def test_the_installed_wheel_is_what_these_tests_import():
    places = [Path(place).resolve() for place in site.getsitepackages()]
    for package in PACKAGES:
        file = Path(importlib.import_module(package).__file__).resolve()
        assert any(file.is_relative_to(place) for place in places), file
    assert str(ROOT) not in sys.path
    assert "" not in sys.path


@pytest.mark.skipif(not INSTALLED, reason="the tree itself is under test")
def test_the_installed_version_is_that_of_the_tree(version):
    assert importlib.metadata.version("linewright") == version
