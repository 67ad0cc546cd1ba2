"""What a reader of the physics may count on: units in brackets, examples that run, pieces that stay small."""

import ast
import doctest
import importlib
import io
import re
import tokenize
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FILES = [
    p.relative_to(ROOT) for layer in ("catalogs", "lines", "solver", "reports") for p in (ROOT / layer).rglob("*.py")
]
SOLVER = [path for path in FILES if path.parts[0] == "solver"]
MOST_LINES = 500
MOST_CODE_LINES = 60

NUMBERS = re.compile(r"\bfloat\b|\bfloat64\b|\bArray\b|\bFloats?\b|\bndarray\b")
# A unit is letters, powers, products and ratios, or a dash for a plain number: [Pa], [m3/s], [kg/(m s)], [-].
UNIT = re.compile(r"\[(-|[A-Za-zµ°%][A-Za-zµ°%0-9 ./()*^-]*)\]")


def tree(path):
    return ast.parse((ROOT / path).read_text(encoding="utf-8"))


def public_functions(path):
    return [n for n in tree(path).body if isinstance(n, ast.FunctionDef) and not n.name.startswith("_")]


def annotations(function):
    arguments = [*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs]
    return " ".join(ast.unparse(a) for a in [*(x.annotation for x in arguments), function.returns] if a is not None)


def undocumented(function):
    """What the docstring of a public function lacks, or an empty text."""
    text = ast.get_docstring(function) or ""
    if not text:
        return "no docstring"
    if NUMBERS.search(annotations(function)) and not UNIT.search(text):
        return "no unit in [ ]"
    return ""


def code_lines(function, source):
    """Lines that hold code: neither comment, nor docstring, nor blank."""
    skipped = {
        tokenize.COMMENT,
        tokenize.NL,
        tokenize.NEWLINE,
        tokenize.INDENT,
        tokenize.DEDENT,
        tokenize.ENDMARKER,
    }
    lines = source.splitlines(keepends=True)[function.lineno - 1 : function.end_lineno]
    first = function.body[0]
    held = set()
    for token in tokenize.generate_tokens(io.StringIO("".join(lines)).readline):
        if token.type not in skipped:
            held |= set(range(token.start[0], token.end[0] + 1))
    if ast.get_docstring(function):
        held -= set(range(first.lineno - function.lineno + 1, first.end_lineno - function.lineno + 2))
    return len(held)


def long_functions(source):
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            count = code_lines(node, source)
            if count > MOST_CODE_LINES:
                yield f"{node.name}: {count}"


@pytest.mark.parametrize("path", SOLVER, ids=str)
def test_every_public_function_of_the_solver_says_its_units(path):
    lacking = {f.name: undocumented(f) for f in public_functions(path) if undocumented(f)}
    assert lacking == {}


@pytest.mark.parametrize("path", FILES, ids=str)
def test_every_module_and_function_stays_small(path):
    source = (ROOT / path).read_text(encoding="utf-8")
    assert len(source.splitlines()) < MOST_LINES
    assert list(long_functions(source)) == []


@pytest.mark.parametrize("path", [p for p in FILES if ">>>" in (ROOT / p).read_text(encoding="utf-8")], ids=str)
def test_every_example_runs(path):
    module = importlib.import_module(".".join(path.with_suffix("").parts).removesuffix(".__init__"))
    result = doctest.testmod(module, optionflags=doctest.NORMALIZE_WHITESPACE)
    assert (result.failed, result.attempted > 0) == (0, True)


@pytest.mark.parametrize(
    ("text", "lack"),
    [
        ("def f(x: float) -> float: ...", "no docstring"),
        ("def f(x: float) -> float: 'The pressure.'", "no unit in [ ]"),
        ("def f(x: Array) -> None: 'Changes x[0].'", "no unit in [ ]"),
        ("def f(*, x: npt.NDArray[np.float64]): 'The ranges [1, 2].'", "no unit in [ ]"),
        ("def f(x: float) -> float: 'The pressure [Pa].'", ""),
        ("def f(x: float) -> float: 'The viscosity [kg/(m s)].'", ""),
        ("def f(x: float) -> float: 'The factor [-].'", ""),
        ("def f(name: str) -> list[int]: 'The ids.'", ""),
    ],
)
def test_a_missing_unit_is_seen(text, lack):
    assert undocumented(ast.parse(text).body[0]) == lack


def test_code_lines_are_counted_without_comments_docstrings_and_blank_lines():
    body = "\n".join("    x = (\n        1)\n\n    # a comment" for _ in range(MOST_CODE_LINES // 2))
    source = f"import a\n\n\ndef f():\n    '''A docstring\n\n    of three lines.'''\n{body}\n"
    assert list(long_functions(source)) == [f"f: {MOST_CODE_LINES + 1}"]
    assert list(long_functions(source.replace("    x = (\n        1)", "    x = 1", 1))) == []
