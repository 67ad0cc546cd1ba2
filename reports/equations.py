"""Equations that are evaluated as they are printed: in symbols, then with the numbers put in.

An equation is a text such as `v = 4 x Q / (pi x D^2)`: ` x ` is times and `^` to the power. Its figures are in SI; they
are printed in the reader's units, with the one factor c that those units need.
"""

from __future__ import annotations

import ast
import math
import operator
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from catalogs import units
from catalogs.units import Quantity, Unit

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from catalogs.units import System

FIGURES = 5
"""Significant figures of a printed number: who types them in comes to the printed result within 1 in 1000."""
OWN_UNITS = {"acceleration": {"us": "ft/s2", "metric": "m/s2"}}
"""Where an equation needs another unit than the one that reports print."""
NUMBER = "number"
"""The dimension of a plain number."""

_SYMBOL = re.compile(r"(?<![\w.])(?!x\b)[A-Za-z]\w*\b(?!\()")
_FUNCTIONS: dict[str, Callable[..., float]] = {"ln": math.log, "sqrt": math.sqrt, "min": min}
_OPERATORS: dict[type[ast.operator], Callable[[float, float], float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}


@dataclass(frozen=True, slots=True)
class Step:
    """One line of a calculation, as text and as a value."""

    name: str
    formula: str
    """In symbols; of a figure that is given its symbol alone."""
    numbers: str
    """The same with the numbers put in; empty for a figure that is given."""
    factor: str
    """What c is, and between which units; empty where there is none."""
    result: str
    unit: str
    """Empty for a plain number."""
    sources: tuple[str, ...]
    quantity: Quantity
    """The result in SI, not rounded."""
    note: str = ""
    share: str = ""
    """Of a line of a sum."""


@dataclass(frozen=True, slots=True)
class Hand:
    """Works in the units of one system."""

    system: System
    figures: int = FIGURES
    decimals: int | None = None
    """Of every number, for sums; None for so many figures."""

    def given(self, name: str, symbol: str, quantity: Quantity, *sources: str) -> Step:
        """A figure that the calculation starts from."""
        number, unit = self.printed(quantity)
        return Step(name, symbol, "", "", number, unit, sources, quantity)

    def step(self, name: str, equation: str, dimension: str, *sources: str, **values: Step | Quantity | float) -> Step:
        """A line that computes.

        Args:
            name: what it finds.
            equation: `symbol = formula`.
            dimension: of the result.
            sources: whose law it is.
            values: of the symbols of the formula in SI, a float for a plain number.

        Raises:
            ValueError: the formula has units and is neither a sum in one of them nor a product of powers, so that no
                one factor serves it.
        """
        symbol, _, formula = equation.partition(" = ")
        of = {key: _quantity(value) for key, value in values.items()}
        result = Quantity(evaluate(formula, {key: q.value for key, q in of.items()}), dimension)
        c, says = _factor(formula, {key: self.unit(q.dimension) for key, q in of.items()}, self.unit(dimension))
        put_in = _put_in(formula, {key: self.printed(q) for key, q in of.items()})
        if says:
            formula, put_in = _times("c", formula), _times(digits(c), put_in)
        number, unit = self.printed(result)
        return Step(name, f"{symbol} = {formula}", put_in, says, number, unit, sources, result)

    def printed(self, quantity: Quantity) -> tuple[str, str]:
        """Number and unit of a quantity."""
        unit = self.unit(quantity.dimension)
        number = unit.from_si(quantity.value)
        if self.decimals is None:
            return digits(number, self.figures), unit.spelling
        return f"{round(number, self.decimals) + 0.0:.{self.decimals}f}", unit.spelling

    def says(self, quantity: Quantity) -> str:
        """A quantity in words."""
        return " ".join(self.printed(quantity)).rstrip()

    def unit(self, dimension: str) -> Unit:
        """The unit in which a dimension is printed; that of a plain number has no spelling."""
        spelling = OWN_UNITS.get(dimension, {}).get(self.system) or units.printed_unit(dimension, self.system)
        return units.unit(dimension, spelling) if spelling else Unit("", 1.0)


def digits(number: float, figures: int = FIGURES) -> str:
    """A number to so many figures; a very large or small one as a pocket calculator shows it.

    >>> [digits(x) for x in (0.3125, 19123.4, 191234.6, 1.23456e-12)]
    ['0.3125', '19123', '191235', '1.2346e-12']
    """
    if number and not 1e-4 <= abs(number) < 1e6:
        mantissa, _, exponent = f"{number:.{figures - 1}e}".partition("e")
        return f"{_short(mantissa)}e{int(exponent)}"
    before = math.floor(math.log10(abs(number))) + 1 if number else 1
    return _short(f"{number:.{max(figures - before, 0)}f}")


def _short(number: str) -> str:
    return number.rstrip("0").rstrip(".") if "." in number else number


def _quantity(value: Step | Quantity | float) -> Quantity:
    if isinstance(value, Step):
        return value.quantity
    return value if isinstance(value, Quantity) else Quantity(value, NUMBER)


# ---------------------------------------------------------------- in symbols


def evaluate(formula: str, values: Mapping[str, float]) -> float:
    """The value of a formula [the unit that its symbols make].

    >>> round(evaluate("4 x Q / (pi x D^2)", {"Q": 1.0, "D": 2.0}), 4)
    0.3183
    """
    python = re.sub(r"(?<=\s)x(?=\s)", "*", formula).replace("^", "**")
    return _value(ast.parse(python, mode="eval").body, {"pi": math.pi, **values})


def _value(node: ast.expr, values: Mapping[str, float]) -> float:
    match node:
        case ast.Constant(value=int() | float() as number):
            return float(number)
        case ast.Name(id=symbol):
            return values[symbol]
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_value(operand, values)
        case ast.BinOp(left=left, op=sign, right=right):
            return _OPERATORS[type(sign)](_value(left, values), _value(right, values))
        case ast.Call(func=ast.Name(id=function), args=arguments):
            return float(_FUNCTIONS[function](*(_value(argument, values) for argument in arguments)))
    raise ValueError(ast.unparse(node))


# ---------------------------------------------------------------- with the numbers put in


def _put_in(formula: str, numbers: Mapping[str, tuple[str, str]]) -> str:
    """The formula with numbers and their units in the place of its symbols."""

    def put(match: re.Match[str]) -> str:
        if match[0] not in numbers:
            return match[0]
        number, unit = numbers[match[0]]
        text = f"{number} {unit}".rstrip()
        raised = formula.startswith("^", match.end()) and ("e" in number or unit)
        return f"({text})" if number.startswith("-") or raised else text

    return _SYMBOL.sub(put, formula)


def _times(factor: str, formula: str) -> str:
    """A factor before a product, behind its sign."""
    sign = "-" if formula.startswith("-") else ""
    return f"{sign}{factor} x {formula.removeprefix('-')}"


# ---------------------------------------------------------------- the factor that the units need


def _factor(formula: str, of: Mapping[str, Unit], result: Unit) -> tuple[float, str]:
    """What the numbers of a formula are to be multiplied with, and that in words; nothing to say where it is one."""
    used = {key: unit for key, unit in of.items() if unit.spelling}
    if {unit.spelling for unit in used.values()} <= {result.spelling}:
        return 1.0, ""
    left = {result.spelling: 0}
    c = 1.0 / result.factor
    for key, unit in used.items():
        power = _power(formula, key, of)
        left[unit.spelling] = left.get(unit.spelling, 0) + power
        c *= unit.factor**power
    if {unit: n for unit, n in left.items() if n} in ({}, {result.spelling: 1}):
        return 1.0, ""
    above = [_raised(unit, n) for unit, n in left.items() if n > 0]
    below = [f"({_raised(unit, -n)})" if "/" in unit else _raised(unit, -n) for unit, n in left.items() if n < 0]
    turns = " / ".join([" x ".join(above) or "1", *below])
    return c, f"c = {digits(c)}: from {turns} to {result.spelling or 'a plain number'}"


def _power(formula: str, symbol: str, of: Mapping[str, Unit]) -> int:
    """The power of a symbol in a product of powers: by how much that grows when the symbol is doubled."""
    ones = dict.fromkeys(of, 1.0)
    grown = math.log2(evaluate(formula, ones | {symbol: 2.0}) / evaluate(formula, ones))
    if abs(grown - round(grown)) > 1e-9:
        raise ValueError(f"{formula} is no product of powers of {symbol}")
    return round(grown)


def _raised(unit: str, power: int) -> str:
    if power == 1:
        return unit
    return f"({unit})^{power}" if "/" in unit else f"{unit}^{power}"
