"""The tree of errors as its module draws it, and the wording of a fault."""

import ast
import builtins
import inspect
import re
from pathlib import Path

import pytest

from catalogs import errors
from catalogs.errors import (
    Fault,
    InputError,
    LinewrightError,
    NoAnswerError,
    OutputError,
    QuantityError,
    nearest,
)

ROOT = Path(__file__).parents[2]
PACKAGES = ("catalogs", "lines", "solver", "reports")


def drawn():
    """Each class of the drawing with the class above it."""
    above, tree = {}, {}
    for line in errors.__doc__.splitlines():
        if found := re.match(r"(?P<indent> +[│├└─ ]*)(?P<name>[A-Z]\w+Error)\b", line):
            depth = len(found["indent"])
            tree[found["name"]] = next((above[d] for d in sorted(above, reverse=True) if d < depth), None)
            above = {d: name for d, name in above.items() if d < depth} | {depth: found["name"]}
    return tree


def existing():
    classes = {n: c for n, c in vars(errors).items() if inspect.isclass(c) and issubclass(c, BaseException)}
    ours = {name: [b.__name__ for b in c.__bases__ if b.__name__ in classes] for name, c in classes.items()}
    return {name: bases[0] if bases else None for name, bases in ours.items()}


def test_the_drawing_is_the_tree():
    assert drawn() == existing()
    assert drawn()["NoReferenceError"] == "NoAnswerError"


def test_every_error_hangs_on_the_root():
    assert [name for name, base in existing().items() if base is None] == ["LinewrightError"]


def test_every_error_but_the_root_is_also_a_fitting_built_in():
    plain = {BaseException, Exception, object}
    for name in existing():
        kinds = {c for c in getattr(errors, name).__mro__ if c.__module__ == "builtins"} - plain
        assert kinds or name == "LinewrightError", name


def test_no_other_module_makes_an_error_of_its_own():
    built_in = {n for n, c in vars(builtins).items() if inspect.isclass(c) and issubclass(c, BaseException)}
    for package in PACKAGES:
        for path in (ROOT / package).rglob("*.py"):
            if path.name == "errors.py":
                continue
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                bases = {ast.unparse(b).split(".")[-1] for b in getattr(node, "bases", [])}
                assert not bases & (built_in | set(existing())), f"{path}: class {node.name}"


def fault(**facts):
    return Fault(message="is wrong", file="plan.toml", **facts)


@pytest.mark.parametrize(
    ("facts", "text"),
    [
        ({}, "plan.toml: is wrong"),
        ({"line": 3}, "plan.toml, line 3: is wrong"),
        ({"line": 3, "table": "runs.F1"}, "plan.toml, line 3, [runs.F1]: is wrong"),
        ({"line": 3, "table": "runs.F1", "key": "length"}, "plan.toml, line 3, [runs.F1] length: is wrong"),
        ({"key": "schema"}, "plan.toml schema: is wrong"),
        ({"expected": "a length"}, "plan.toml: is wrong; expected a length"),
        ({"nearest": "in"}, 'plan.toml: is wrong; did you mean "in"?'),
        (
            {"line": 9, "expected": "a length", "nearest": "in"},
            'plan.toml, line 9: is wrong; expected a length; did you mean "in"?',
        ),
    ],
)
def test_a_fault_says_where_what_and_what_was_expected(facts, text):
    assert str(fault(**facts)) == text


def test_faults_come_together_in_the_order_of_the_file():
    given = [
        fault(line=9),
        Fault(message="m", file="a.csv"),
        fault(line=2, key="b"),
        fault(line=2, key="a"),
        fault(),
    ]
    error = InputError(iter(given))
    assert [(f.file, f.line, f.key) for f in error.faults] == [
        ("a.csv", None, None),
        ("plan.toml", None, None),
        ("plan.toml", 2, "a"),
        ("plan.toml", 2, "b"),
        ("plan.toml", 9, None),
    ]
    assert str(error).splitlines() == [str(f) for f in error.faults]


def test_errors_hold_their_facts():
    error = QuantityError("5 pis", '"pis" is no unit here', expected="a pressure", nearest="psi")
    assert (error.text, error.reason, error.expected, error.nearest) == (
        "5 pis",
        '"pis" is no unit here',
        "a pressure",
        "psi",
    )
    assert str(error) == error.reason
    assert isinstance(error, ValueError)
    starved = NoAnswerError("no pressure is known", needs="a reference pressure")
    assert (str(starved), starved.needs) == ("no pressure is known", "a reference pressure")
    assert isinstance(OutputError("out.pdf"), OSError)
    assert isinstance(OutputError("out.pdf"), LinewrightError)


@pytest.mark.parametrize(
    ("word", "near"),
    [("lenght", "length"), ("LENGTH", "length"), ("stok", "stock"), ("zzz", None), ("", None), ("poi", "points")],
)
def test_the_nearest_word_is_near(word, near):
    assert nearest(word, ["length", "stock", "points"]) == near


# Pairs of one trade that look alike to a machine and not to a person, and what each costs where it is taken.
@pytest.mark.parametrize(
    ("word", "valid"),
    [
        ("petrol", ["ethanol", "methanol"]),
        ("imperial", ["us", "metric"]),
        ("nylon -8", ["push-on -8", "coolant -8"]),
        ("ptfe-braid -24", ["ptfe-braid -4", "ptfe-braid -20"]),
        ("dot-5", ["dot-5.1", "dot-4"]),
        ("70 deg", ["60 deg", "90 deg"]),
        ("10w-30", ["10w-40", "5w-30"]),
        ("aft", ["left", "back"]),
        ("ptfe-braid", ["ptfe-braid -6", "ptfe-braid -8"]),
        ("reg", ["regulator", "regulator two"]),
    ],
)
def test_nothing_is_guessed_over_another_material_fluid_or_size(word, valid):
    assert nearest(word, valid) is None


@pytest.mark.parametrize(
    ("word", "valid", "near"),
    [
        ("fuel-pump", ["pump", "rail"], "pump"),
        ("radius", ["turn", "inside_radius"], "inside_radius"),
        ("5w30", ["5w-30", "0w-20"], "5w-30"),
        ("pis", ["psi", "kPa"], "psi"),
        ("reg", ["regulator", "rail"], "regulator"),
    ],
)
def test_a_part_a_swap_and_a_beginning_are_near(word, valid, near):
    assert nearest(word, valid) == near


def test_the_nearest_word_keeps_its_case():
    assert nearest("kpa", ["kPa", "psi"]) == "kPa"
    assert nearest("kpa", []) is None
