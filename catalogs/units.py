"""One grammar for quantities at the border; plain SI floats inside.

A quantity is a finite number (a decimal, a fraction or a mixed number as a tape is read) and a unit from the
list that `units.toml` keeps for the dimension of the field. No arithmetic, nothing that evaluates, at most
64 characters. Only the expressions of `units.toml` ever reach the unit library.
"""

from __future__ import annotations

import functools
import math
import re
import tomllib
from dataclasses import dataclass
from fractions import Fraction
from importlib import resources
from typing import TYPE_CHECKING, Any, Literal

from catalogs import typeset, words
from catalogs.errors import QuantityError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

Reference = Literal["gauge", "absolute"]
System = Literal["us", "metric"]

LONGEST = 64  # characters
LARGEST = 1e50  # of a bare number
STANDARD_GRAVITY = 9.80665  # m/s2, exact by definition (ISO 80000-3)

_NUMBER = re.compile(
    r"""\s*(?P<sign>[+-]?)\s*(?:
        (?P<whole>\d{1,9})(?:\s+|-)(?P<over>\d{1,4})\s*/\s*(?P<under>\d{1,4})
      | (?P<top>\d{1,9})\s*/\s*(?P<bottom>\d{1,9})
      | (?P<decimal>(?:\d{1,25}(?:\.\d{0,25})?|\.\d{1,25})(?:[eE][+-]?\d{1,2})?)
    )(?P<rest>.*)""",
    re.VERBOSE | re.DOTALL,
)
_DECIMAL_COMMA = re.compile(r"^\s*[+-]?\d+,\d+\s*[^\d,\s]")


@dataclass(frozen=True, slots=True)
class Unit:
    """A spelling and the straight line from its numbers to SI."""

    spelling: str
    factor: float
    offset: float = 0.0
    reference: Reference | None = None
    through: Literal["atan"] | None = None

    def to_si(self, number: float) -> float:
        value = number * self.factor + self.offset
        return math.atan(value) if self.through == "atan" else value

    def from_si(self, value: float) -> float:
        inner = math.tan(value) if self.through == "atan" else value
        return (inner - self.offset) / self.factor


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value in SI with its dimension; a pressure knows whether it is gauge or absolute."""

    value: float
    dimension: str
    reference: Reference | None = None

    def absolute(self, ambient: float) -> float:
        """The pressure [Pa absolute] at the ambient pressure [Pa absolute]."""
        return self.value if self.reference == "absolute" else self.value + ambient


@functools.cache
def _table() -> dict[str, dict[str, Any]]:
    text = resources.files("catalogs").joinpath("data/units.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)
    return {name: _without_bounds(table[row["of"]]) | row if "of" in row else row for name, row in table.items()}


def _without_bounds(row: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in row.items() if key not in {"least", "over", "most"}}


@functools.cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry()


def dimensions() -> list[str]:
    """Every dimension that a field may have."""
    return list(_table())


def base(dimension: str) -> str:
    """The dimension whose units it has: `length` for `altitude`; most are their own."""
    return str(_table()[dimension].get("of", dimension))


def bound(dimension: str, which: Literal["least", "over", "most"]) -> str | None:
    """The text of a bound of the dimension, None where it has none."""
    return _table()[dimension].get(which)


def spellings(dimension: str) -> list[str]:
    """Every unit that may be written in a field of this dimension."""
    return list(_table()[dimension]["units"])


def expected(dimension: str) -> str:
    """What an error says was expected in a field of this dimension."""
    return str(_table()[dimension]["say"])


@functools.cache
def unit(dimension: str, spelling: str) -> Unit:
    """The unit that `spelling` means in a field of this dimension.

    Raises:
        KeyError: no such spelling here.
    """
    row = _table()[dimension]["units"][spelling]
    facts: dict[str, Any] = row if isinstance(row, dict) else {"is": row}
    registry = _registry()
    zero, one = (float(registry.Quantity(n, facts["is"]).to_base_units().magnitude) for n in (0.0, 1.0))
    factor = (one - zero) * facts.get("times", 1.0)
    return Unit(spelling, factor, zero, facts.get("reference"), facts.get("through"))


@functools.cache
def _folded(dimension: str) -> dict[str, str]:
    # m and M differ by nine powers of ten, so the case of that first letter always counts.
    return {s if s[0] in "mM" else s.casefold(): s for s in spellings(dimension)}


def _find_unit(text: str, written: str, dimensions_: Sequence[str]) -> tuple[str, Unit]:
    word = " ".join(written.split())
    for dimension in dimensions_:
        key = word if word[:1] in {"m", "M"} else word.casefold()
        found = word if word in spellings(dimension) else _folded(dimension).get(key)
        if found is not None:
            return dimension, unit(dimension, found)
    valid = [s for d in dimensions_ for s in spellings(d)]
    expect = " or ".join(expected(d) for d in dimensions_)
    elsewhere = [d for d in dimensions() if word in spellings(d)]
    reason = f'"{word}" is no unit here'
    if elsewhere:
        there, here = (base(d).replace("_", " ") for d in (elsewhere[0], dimensions_[0]))
        reason = f'"{word}" is a unit of {there}, not of {here}'
    elif written.lstrip()[:2].lstrip("'")[:1].isdigit():
        reason = f'"{text.strip()}" has feet, and then a number without its unit'
    absolute = any(unit(d, word).reference == "absolute" for d in elsewhere)
    raise QuantityError(text, reason, expected=expect, nearest=None if absolute else words.near("unit", word, valid))


def _split_number(text: str, expect: str) -> tuple[float, str]:
    match = _NUMBER.fullmatch(text)
    if match is None:
        raise QuantityError(text, f'"{text.strip()}" does not begin with a number', expected=expect)
    part = match.groupdict()
    if int(part["under"] or part["bottom"] or 1) == 0:
        raise QuantityError(text, f'"{text.strip()}" divides by zero', expected=expect)
    if part["decimal"] is not None:
        number = float(part["decimal"])
    elif part["whole"] is not None:
        number = float(int(part["whole"]) + Fraction(int(part["over"]), int(part["under"])))
    else:
        number = float(Fraction(int(part["top"]), int(part["bottom"])))
    return (-number if part["sign"] == "-" else number), part["rest"]


def in_unit_of(text: str, value: float, *dimensions_: str) -> str:
    """A value [SI] in the unit in which a text that reads well is written, to three figures."""
    found = _unit_of(text, dimensions_)
    number = found.from_si(value)
    digits = max(0, 3 - _digits(number))
    plain = f"{number:.{digits}f}" if digits else str(round(number, 3 - _digits(number))).removesuffix(".0")
    plain = plain.rstrip("0").rstrip(".") if "." in plain else plain
    return f"{plain} {found.spelling}".strip()


def _unit_of(text: str, dimensions_: Sequence[str]) -> Unit:
    for dimension in dimensions_:
        if _split_compound(dimension, text, "") is not None:
            return unit(dimension, "ft" if "ft" in text else "'")
    rest = _split_number(text, "")[1]
    if rest.strip():
        return _find_unit(text, rest, dimensions_)[1]
    return Unit("", 1.0)


def _split_compound(dimension: str, text: str, expect: str) -> float | None:
    """The value [SI] of `11 ft 3 in`; None if the text is not written in two parts."""
    for large, small in [("ft", "in"), ("'", '"')] if "compound" in _table()[dimension] else []:
        head, mark, tail = text.partition(large)
        if mark and tail.strip().endswith(small) and any(c.isdigit() for c in tail):
            feet, left = _split_number(head, expect)
            inches, right = _split_number(tail.strip().removesuffix(small), expect)
            if left.strip() or right.strip() or tail.strip()[0] in "+-":
                raise QuantityError(text, f'"{text.strip()}" is not one length', expected=expect)
            size = unit(dimension, large).to_si(abs(feet)) + unit(dimension, small).to_si(inches)
            return -size if head.strip().startswith("-") else size
    return None


def _refuse_typeset(text: str) -> None:
    if (plain := typeset.plain(text)) != text:
        raise QuantityError(text, f'"{text}" has signs of a typesetter', expected=f"plain ones: {plain}")


def _bounded(text: object, expect: str, *, bare_allowed: bool) -> str:
    """The text to read; a bare number becomes text where one is allowed."""
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        # Not a number, infinite, or a whole number that Python refuses to print.
        if not abs(text) < LARGEST:
            raise QuantityError("", "not a number of a sensible size", expected=expect)
        text = repr(text)
        if not bare_allowed:
            raise QuantityError(text, f"a bare number ({text}): write the unit, in quotes", expected=expect)
    if not isinstance(text, str):
        raise QuantityError(str(text)[:LONGEST], "not a quantity in quotes", expected=expect)
    if len(text) > LONGEST:
        raise QuantityError(text[:LONGEST], f"longer than {LONGEST} characters", expected=expect)
    if _DECIMAL_COMMA.match(text):
        raise QuantityError(text, f'"{text}" has a comma in its number: write a point', expected=expect)
    _refuse_typeset(text)
    return text


def read(text: object, *dimensions_: str) -> Quantity:
    """Read one quantity of one of the given dimensions.

    Args:
        text: what the person wrote, such as `14 5/8 in`.
        dimensions_: the dimensions that the field may have, in order of preference.

    Returns:
        the value in SI; a pressure without a reference is gauge.

    Raises:
        QuantityError: with the reason, what was expected and the nearest valid unit.
    """
    expect = " or ".join(expected(d) for d in dimensions_)
    bare_allowed = any(_table()[d].get("bare") for d in dimensions_)
    text = _bounded(text, expect, bare_allowed=bare_allowed)
    for dimension in dimensions_:
        compound = _split_compound(dimension, text, expect)
        if compound is not None:
            return Quantity(compound, base(dimension))
    number, rest = _split_number(text, expect)
    if not rest.strip():
        if not bare_allowed:
            raise QuantityError(text, f'"{text.strip()}" has no unit', expected=expect)
        dimension = next(d for d in dimensions_ if _table()[d].get("bare"))
        found = Unit("", 1.0)
    else:
        dimension, found = _find_unit(text, rest, dimensions_)
    return _finished(text, expect, dimension, found, number)


def _finished(text: str, expect: str, dimension: str, found: Unit, number: float) -> Quantity:
    value = found.to_si(number)
    if not math.isfinite(value):
        raise QuantityError(text, f'"{text.strip()}" is not a finite number', expected=expect)
    dimension = base(dimension)
    if dimension == "temperature" and value < 0:
        raise QuantityError(text, f'"{text.strip()}" is below absolute zero', expected=expect)
    reference = found.reference or ("gauge" if dimension == "pressure" else None)
    if reference == "absolute" and value < 0:
        raise QuantityError(text, f'"{text.strip()}" is below a vacuum', expected=expect)
    return Quantity(value, dimension, reference)


def read_vector(text: object, dimension: str = "length") -> tuple[float, float, float]:
    """Read `-78, 6, 14 in`: three numbers that share the unit after the last one.

    Raises:
        QuantityError: as `read`.
    """
    expect = "three numbers and one unit, like 20, 8 1/2, 27 in (x forward, y left, z up)"
    if not isinstance(text, str):
        raise QuantityError(str(text)[:LONGEST], "not a point in quotes", expected=expect)
    if len(text) > LONGEST:
        raise QuantityError(text[:LONGEST], f"longer than {LONGEST} characters", expected=expect)
    _refuse_typeset(text)
    parts = text.split(",")
    if len(parts) != 3:
        has = "semicolons" if ";" in text else "1 number" if len(parts) == 1 else f"{len(parts)} numbers"
        raise QuantityError(text, f'"{text}" has {has}', expected=expect)
    last, rest = _split_number(parts[2], expect)
    if not rest.strip():
        raise QuantityError(text, f'"{text}" has no unit after its last number', expected=expect)
    shared = _find_unit(text, rest, [dimension])[1]
    numbers = []
    for part in parts[:2]:
        number, left = _split_number(part, expect)
        if left.strip():
            reason = f'"{text}" has a unit after each number: one, after the last, is enough'
            raise QuantityError(text, reason, expected=expect)
        numbers.append(number)
    x, y, z = (shared.to_si(n) for n in (*numbers, last))
    return x, y, z


def printed_unit(dimension: str, system: System) -> str:
    """The unit in which reports of this system print the dimension."""
    return str(_table()[dimension][system]["unit"])


def printed_decimals(dimension: str, system: System) -> int:
    """The decimals of that unit, where the number is small."""
    return int(_table()[dimension][system]["decimals"])


def number_in(quantity: Quantity, system: System) -> float:
    """The number of a quantity in the unit that reports of this system print."""
    spelling = printed_unit(quantity.dimension, system)
    return unit(quantity.dimension, spelling).from_si(quantity.value) if spelling else quantity.value


def _digits(number: float) -> int:
    """Digits before the point; under one, less one for each zero behind it."""
    return math.floor(math.log10(max(abs(number), 1e-9))) + 1


def show(
    quantity: Quantity, system: System, *, decimals: int | None = None, rounding: Callable[[float], int] = round
) -> str:
    """A quantity as reports print it, with its unit: about three figures, at most the decimals of its unit.

    A length is shown as a tape reads it unless decimals are asked for.

    Args:
        quantity: what is shown.
        system: in whose unit.
        decimals: how many, where it is not about three figures.
        rounding: `round`, or `math.ceil` for what has to be that much at least, `math.floor` at most.
    """
    if quantity.dimension == "length" and decimals is None:
        return show_tape(quantity.value, system, rounding=rounding)
    facts = _table()[quantity.dimension][system]
    number = number_in(quantity, system)
    places = min(facts["decimals"], max(0, 3 - _digits(number))) if decimals is None else decimals
    # A number that stands on a printed one stays on it: math.ceil must not see the last bits of a float.
    number = rounding(round(number * 10**places, 6)) / 10**places
    text = f"{number:.{places}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return " ".join(filter(None, [text, facts["unit"], "abs" if quantity.reference == "absolute" else ""]))


def show_tape(length: float, system: System, *, parts: int = 16, rounding: Callable[[float], int] = round) -> str:
    """A length [m] as a tape reads it: inches with a fraction, or whole millimetres.

    Args:
        length: the length [m].
        system: inches or millimetres.
        parts: the finest mark of the inch tape.
        rounding: `round`, or `math.ceil` for a length to order.
    """
    # A length that stands on a mark stays on it: math.ceil must not see the last bits of a float.
    if system == "metric":
        return f"{rounding(round(length * 1000, 6))} mm"
    marks = rounding(round(unit("length", "in").from_si(length) * parts, 6))
    sign, marks = ("-" if marks < 0 else ""), abs(marks)
    whole, rest = divmod(marks, parts)
    if not rest:
        return f"{sign}{whole} in"
    fraction = Fraction(rest, parts)
    return f"{sign}{whole} {fraction} in" if whole else f"{sign}{fraction} in"
