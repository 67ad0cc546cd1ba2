"""What a plan does not depend on: the order of its rows, its units, its names, the end that it is measured from."""

import random
import shutil
import tomllib
from importlib import resources

import numpy as np
import pytest
from writing import text_of

from catalogs import units
from lines.reading import read_plan
from solver.checks import findings
from solver.solution import Solution, solve_plan
from solver.study import study

CIRCUITS = ("fuel", "oil")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A copy of the example with its shop's folder, in which plans are written."""
    path = tmp_path_factory.mktemp("same")
    with resources.as_file(resources.files("lines") / "examples/fuel-return") as example:
        shutil.copytree(example, path, dirs_exist_ok=True)
    return path


@pytest.fixture(scope="module")
def data(folder):
    return tomllib.loads((folder / "plan.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def reference(folder):
    return numbers(read_plan(folder / "plan.toml"))


def written(folder, data):
    sections = {k: v for k, v in data.items() if k != "schema"}
    path = folder / "other.toml"
    path.write_text(text_of(sections), encoding="utf-8")
    return read_plan(path)


def numbers(plan):
    """Flow of each edge and total pressure of each node, by circuit and name; shape (duties,)."""
    found = {}
    for name, answer in solve_plan(plan).items():
        assert isinstance(answer, Solution)
        assert answer.reasons == {}
        found |= {(name, edge): answer.flow(edge) for edge in answer.model.edges}
        found |= {(name, node): answer.total(node) for node in answer.model.number}
    return found


def assert_same(found, reference, *, rename=lambda name: name, flow=1e-6, pressure=1e-6):
    """Balances close within 1e-3 Pa of 1e5, and a flow goes with the root of a pressure: 1e-6 is wide."""
    assert {(rename(c), rename(n)) for c, n in found} == set(reference)
    for (circuit, name), values in found.items():
        rel = pressure if np.abs(values).max() > 1e3 else flow
        assert values == pytest.approx(reference[rename(circuit), rename(name)], rel=rel)


def test_writing_the_example_again_changes_nothing(folder, data, reference):
    assert_same(numbers(written(folder, data)), reference)


@pytest.mark.parametrize("seed", range(4))
def test_the_order_of_rows_changes_nothing(folder, data, reference, seed):
    order = random.Random(seed)

    def shuffled(table):
        keys = list(table)
        order.shuffle(keys)
        return {k: table[k] for k in keys}

    # The duties keep theirs: it is that of the answer's arrays.
    moved = {k: v if k in {"plan", "schema", "duties"} else shuffled(v) for k, v in data.items()}
    moved = {k: moved[k] for k in ("schema", "plan", "runs", "components", "attitudes", "duties", "circuits")}
    assert_same(numbers(written(folder, moved)), reference)


def test_the_order_of_duties_only_orders_the_answer(folder, data, reference):
    turned = data | {"duties": dict(reversed(data["duties"].items()))}
    found = numbers(written(folder, turned))
    assert_same({k: v[::-1] for k, v in found.items()}, reference)


def test_the_units_of_the_reports_change_nothing(folder, data, reference):
    metric = data | {"plan": data["plan"] | {"units": "metric"}}
    assert_same(numbers(written(folder, metric)), reference)


def metric(value):
    """Every quantity of a plan written in metric units, where it is one."""
    if isinstance(value, dict):
        return {k: metric(v) for k, v in value.items()}
    if isinstance(value, list):
        return [metric(v) for v in value]
    if not isinstance(value, str):
        return value
    for dimension, spelling in METRIC.items():
        *_, unit = value.rpartition(" ")
        if unit in units.spellings(dimension) and unit in US:
            if "," in value:
                return ", ".join(f"{x * 1e3:.9f}" for x in units.read_vector(value)) + " mm"
            si = units.read(value, dimension).value
            return f"{units.unit(dimension, spelling).from_si(si):.12g} {spelling}"
    return value


US = {"in", "F", "ft", "psi", "gal", "gph", "gpm", "hp", "lb/h"}
METRIC = {
    "length": "mm",
    "temperature": "C",
    "pressure": "kPa",
    "volume": "L",
    "volume_flow": "L/h",
    "power": "kW",
    "mass_flow": "kg/h",
}


def test_a_plan_in_metric_units_has_the_same_answer(folder, data, reference):
    text = text_of({k: v for k, v in metric(data).items() if k != "schema"})
    assert all(f' {unit}"' not in text for unit in US)
    # Quantities are written to twelve figures.
    assert_same(numbers(written(folder, metric(data))), reference)


def test_names_are_only_names(folder, data, reference):
    new = {"cell": "tank 1", "pump": "Pump", "rail": "zz", "turbo": "a", "fuel": "gasoline", "F3": "Z9", "O1": "B-1"}

    def renamed(value, key=""):
        if isinstance(value, dict):
            return {renamed_key(k): renamed(v, k) for k, v in value.items()}
        if isinstance(value, str) and key in {"from", "to"}:
            owner, dot, port = value.partition(".")
            return renamed_key(owner) + dot + port
        return renamed_key(value) if key == "circuit" else value

    def renamed_key(key):
        return new.get(key, key) if isinstance(key, str) else key

    # A key inside a component or a duty keeps its name.
    other = data | {k: renamed(data[k]) for k in ("circuits", "runs")}
    other["components"] = {renamed_key(k): v for k, v in data["components"].items()}
    old = {v: k for k, v in new.items()}

    def back(name):
        for mark in (".", ": "):
            owner, found, rest = name.partition(mark)
            if found:
                return old.get(owner, owner) + found + rest
        return old.get(name, name)

    assert_same(numbers(written(folder, other)), reference, rename=back)


@pytest.mark.parametrize("tag", ["F1", "F3", "F5", "O1"])
def test_a_run_named_the_other_way_only_changes_its_sign(folder, data, reference, tag):
    row = dict(data["runs"][tag])
    row |= {"from": row["to"], "to": row["from"]}
    for key in ("via", "ends", "bends"):
        if key in row:
            row[key] = row[key][::-1]
    circuit = row["circuit"]
    found = numbers(written(folder, data | {"runs": data["runs"] | {tag: row}}))
    found[circuit, tag] = -found[circuit, tag]
    assert_same(found, reference)


@pytest.mark.parametrize("system", ["us", "metric"])
def test_verdicts_do_not_depend_on_units_or_order(folder, data, system):
    plain = {f.id: f.verdict for f in findings(study(read_plan(folder / "plan.toml")))}
    turned = {k: dict(reversed(v.items())) if k in {"runs", "components"} else v for k, v in data.items()}
    turned["plan"] = data["plan"] | {"units": system}
    assert {f.id: f.verdict for f in findings(study(written(folder, turned)))} == plain
