"""A shop's figure that is far from the one that it overrides is a slip of the hand: a unit, a point or a sign."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from catalogs import bounds, units
from catalogs.errors import Fault, QuantityError
from catalogs.fields import dimensions_of

if TYPE_CHECKING:
    from catalogs.records import Record
    from catalogs.row import Row

FAR = 5.0
"""No hose end, hose or adapter of one sort and size is so many times another's."""


def far_off(
    record: type[Record], key: str, row: Row, fields: dict[str, Any], base: Row, ours: Row | None
) -> list[Fault]:
    """The faults of the figures that are far from those that they override.

    Args:
        record: the table's record, which names the figures that are compared.
        key: the id of the row.
        row: the row as written, for the places.
        fields: its own figures.
        base: the row that it is laid over, or like.
        ours: the row that already has this id; against another one only the sign is compared.
    """
    faults = []
    for name in [n for n in record.compared if n in fields]:
        there = (ours or base).fields.get(name)
        told = _told(fields[name], there, _dimension(record, name), sign_only=ours is None)
        if told is not None:
            place: dict[str, Any] = {"file": row.file, "line": row.line((name,)), "table": key, "key": name}
            faults.append(Fault(message=told[0], expected=told[1], **place))
    return faults


def _dimension(record: type[Record], name: str) -> str:
    return dimensions_of(record.model_fields[name])[0]


def _told(here: object, there: object, dimension: str, *, sign_only: bool) -> tuple[str, str] | None:
    """What is wrong with a figure beside the one that it overrides; None if nothing is, or one cannot be read."""
    try:
        figure, known = (units.read(text, dimension).value for text in (here, there))
        bounds.hold(here, units.read(here, dimension), dimension)
    except QuantityError:
        return None  # told where it is read
    if figure == 0 or known == 0:  # nothing to compare: there is none of it
        return None
    ratio = figure / known
    table = units.in_unit_of(str(here), known, dimension)
    expect = f"about {table}"
    if ratio < 0:
        return f"{here}, the table has {table}: is the sign right?", expect
    if sign_only or 1 / FAR <= ratio <= FAR:
        return None
    return f"{here}, the table has {table}{_why(str(here), ratio)}", expect


def _why(text: str, ratio: float) -> str:
    """A likely slip: another unit typed, or a point in another place."""
    inch = math.log10(units.unit("length", "in").to_si(1.0) / units.unit("length", "mm").to_si(1.0))
    places = [(float(n), "is the point in its place?") for n in (-3, -2, -1, 1, 2, 3)]
    mistyped = [(-inch, "mm typed for in?")] * ("mm" in text) + [(inch, "in typed for mm?")] * ("in" in text)
    away, slip = min((abs(math.log10(ratio) - step), slip) for step, slip in places + mistyped)
    return f": {slip}" if away < 0.2 else ""
