"""The house: four packages, imports one way, outside libraries where they have business, no more on top."""

import ast
import graphlib
import re
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
LAYERS = ("catalogs", "lines", "solver", "reports")
TOP = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", *LAYERS, "tests"}

# Outside library: the packages or modules that have business with it.
BUSINESS = {
    "pint": {"catalogs.units"},
    "pydantic": {"catalogs", "lines"},
    "pydantic_core": {"catalogs", "lines"},
    "networkx": {"lines"},
    "numpy": {"lines", "solver", "reports"},
    "scipy": {"lines", "solver"},
    "fluids": {"lines", "solver"},
    "ht": {"solver"},
    "contourpy": {"reports"},
    "reportlab": {"reports"},
    "rich": {"reports"},
}
PART_OF = {"pydantic_core": "pydantic"}


def modules(root=ROOT):
    """Every module of the four packages: its dotted name and its syntax tree."""
    found = {}
    for path in sorted(p for layer in LAYERS for p in (root / layer).rglob("*.py")):
        parts = path.relative_to(root).with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        found[name] = ast.parse(path.read_text(encoding="utf-8"), str(path))
    return found


def _named(node):
    """The module that a call names by a text: import_module, __import__, resources.files."""
    function = ast.unparse(node.func).split(".")[-1]
    if function not in {"import_module", "__import__", "files"} or not (node.args or node.keywords):
        return []
    first = node.args[0] if node.args else node.keywords[0].value
    if isinstance(first, ast.Constant):
        return [str(first.value)]
    return [] if function == "files" else ["a name that is computed"]


def imports(tree, name, *, package=False):
    """Every import in a module with its line: statements, and calls that name a module by a text."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            home = name.split(".") + ["__init__"] * package
            base = ".".join([*home[: -node.level], *filter(None, [node.module])]) if node.level else node.module
            yield from ((f"{base}.{alias.name}", node.lineno) for alias in node.names)
        elif isinstance(node, ast.Call):
            yield from ((named, node.lineno) for named in _named(node))


def upward(found):
    """Imports against the one way, catalogs <- lines <- solver <- reports, and those by a computed name."""
    for name, tree in found.items():
        level = LAYERS.index(name.split(".")[0])
        for imported, line in imports(tree, name, package=_is_package(name, found)):
            first = imported.split(".")[0]
            if first in LAYERS[level + 1 :] or first == "tests" or imported == "a name that is computed":
                yield f"{name}:{line} imports {imported}"


def _is_package(name, found):
    return name in LAYERS or any(other.startswith(f"{name}.") for other in found)


def _for_types_only(node):
    return isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)


def _at_start(body):
    """What runs when the module is imported: neither functions nor imports for the type checker."""
    for node in body:
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda)):
            continue
        yield from _at_start(node.orelse if _for_types_only(node) else ast.iter_child_nodes(node))
        if isinstance(node, (ast.Import, ast.ImportFrom)):
            yield node


def _module_of(imported, found):
    """The module in which an imported name is found; None outside the house."""
    parts = imported.split(".")
    return next((n for n in (".".join(parts[:end]) for end in range(len(parts), 0, -1)) if n in found), None)


def circle(found):
    """A circle of imports that run when the modules are imported, or None."""
    graph = {}
    for name, tree in found.items():
        started = ast.Module([*_at_start(tree.body)], [])
        wanted = [imported for imported, _ in imports(started, name, package=_is_package(name, found))]
        graph[name] = {_module_of(imported, found) for imported in wanted} - {None, name}
    try:
        graphlib.TopologicalSorter(graph).prepare()
    except graphlib.CycleError as error:
        return error.args[1]
    return None


def outsiders(found):
    """Imports of outside libraries by modules that have no business with them."""
    for name, tree in found.items():
        for imported, line in imports(tree, name, package=_is_package(name, found)):
            first = imported.split(".")[0]
            if first in LAYERS or first in sys.stdlib_module_names:
                continue
            if not BUSINESS.get(first, set()) & {name, name.split(".")[0]}:
                yield f"{name}:{line} imports {imported}"


def printing(found):
    """Prints below reports."""
    for name, tree in found.items():
        for node in ast.walk(tree):
            if not name.startswith("reports") and isinstance(node, (ast.Call, ast.Attribute)):
                text = ast.unparse(node.func if isinstance(node, ast.Call) else node)
                if re.fullmatch(r"print|builtins\.print|sys\.(stdout|stderr)|pprint(\.\w+)?|warnings\.warn", text):
                    yield f"{name}:{node.lineno} {text}"


def test_imports_run_one_way():
    assert list(upward(modules())) == []


def test_no_modules_import_each_other_in_a_circle():
    assert circle(modules()) is None


def test_outside_libraries_are_used_where_they_have_business():
    assert list(outsiders(modules())) == []


def test_the_graph_library_stands_behind_one_module():
    users = {n for n, t in modules().items() if any(i.split(".")[0] == "networkx" for i, _ in imports(t, n))}
    assert len(users) <= 1


def test_the_wheel_asks_for_the_libraries_that_are_used_and_no_others():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    declared = {re.match(r"[\w-]+", text)[0] for text in project["dependencies"]}
    used = {imported.split(".")[0] for n, t in modules().items() for imported, _ in imports(t, n)}
    assert {PART_OF.get(name, name) for name in used & BUSINESS.keys()} == declared


def test_nothing_below_reports_prints():
    assert list(printing(modules())) == []


def test_every_folder_of_modules_is_a_package():
    for layer in LAYERS:
        for folder in {path.parent for path in (ROOT / layer).rglob("*.py")}:
            assert (folder / "__init__.py").exists(), folder


def test_the_top_holds_the_house_and_nothing_else(tracked):
    top = {name.split("/")[0] for name in tracked}
    assert {name for name in top if not name.startswith(".")} == TOP


@pytest.fixture
def house(tmp_path):
    """A house made for the test from modules and their text."""

    def house(texts):
        for layer in LAYERS:
            (tmp_path / layer).mkdir()
            (tmp_path / layer / "__init__.py").touch()
        for name, text in texts.items():
            path = tmp_path / f"{name}.py"
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
        return modules(tmp_path)

    return house


@pytest.mark.parametrize(
    "text",
    [
        "import solver",
        "import numpy, solver.network as n",
        "from solver import network",
        "from solver.network import solve",
        "def f():\n    from reports import cli",
        "if TYPE_CHECKING:\n    from solver.network import Network",
        "try:\n    import solver\nexcept ImportError:\n    pass",
        "import importlib\nimportlib.import_module('solver.network')",
        "from importlib import import_module\nimport_module(name='solver')",
        "__import__('reports')",
        "import importlib\nimportlib.import_module(f'sol{x}')",
        "from importlib import resources\nresources.files('reports')",
        "from ..solver import network",
        "import tests.strategies",
    ],
)
def test_an_import_against_the_way_is_seen(house, text):
    assert len(list(upward(house({"lines/plan": text})))) == 1


def test_imports_with_the_way_are_not_seen(house):
    text = "import catalogs.units\nfrom . import graph\nfrom lines.graph import x\n"
    named = "from importlib import resources\nresources.files('lines')\nresources.files(name)"
    assert list(upward(house({"lines/plan": text + named}))) == []


@pytest.mark.parametrize(
    "texts",
    [
        {"lines/a": "import lines.b", "lines/b": "from lines import a"},
        {
            "lines/a": "from .b import x",
            "lines/b": "from lines.c import y",
            "lines/c": "from lines.a import z",
        },
        {"lines/a": "class A:\n    import lines.b", "lines/b": "if 1:\n    import lines.a"},
        {"lines/sub/a": "from ..b import x", "lines/b": "from lines.sub.a import x"},
        {"lines/sub/__init__": "from . import a", "lines/sub/a": "import lines.sub"},
    ],
)
def test_a_circle_is_seen(house, texts):
    assert circle(house(texts)) is not None


@pytest.mark.parametrize(
    "text", ["if TYPE_CHECKING:\n    import lines.a", "def f():\n    import lines.a", "import catalogs"]
)
def test_an_import_that_does_not_run_at_the_start_makes_no_circle(house, text):
    assert circle(house({"lines/a": "import lines.b", "lines/b": text})) is None


@pytest.mark.parametrize("text", ["import pint", "def f():\n    import rich.table", "from requests import get"])
def test_an_outsider_is_seen(house, text):
    assert len(list(outsiders(house({"lines/plan": text})))) == 1


@pytest.mark.parametrize("text", ["print(1)", "import sys\nsys.stdout.write('x')", "f = lambda: print()"])
def test_a_print_is_seen(house, text):
    assert list(printing(house({"solver/network": text})))
    assert not list(printing({"reports.cli": ast.parse(text)}))
