"""Examples of what may be written, in the units of the plan that they are shown in."""

from __future__ import annotations

import functools
import re
from typing import TYPE_CHECKING

from catalogs import units

if TYPE_CHECKING:
    from catalogs.units import System

_QUANTITY = re.compile(r'"(-?\d[\d ,./-]*) ([^\s"]+)"')


def in_units(example: str, system: System) -> str:
    """An example, which is written in US units, with its quantities in those of a plan, to two figures.

    Units in which no report prints, and those that both systems share, stay as they are.

    >>> in_units('{ at = "20, 8 1/2, 27 in", points = "forward", thread = "flare37 -6" }', "metric")
    '{ at = "510, 220, 690 mm", points = "forward", thread = "flare37 -6" }'
    """
    return _QUANTITY.sub(_turned, example) if system == "metric" else example


def _turned(found: re.Match[str]) -> str:
    numbers, spelling = found.groups()
    dimension = _printed_in().get(spelling)
    if dimension is None:
        return found[0]
    there = units.unit(dimension, units.printed_unit(dimension, "metric"))
    values = (there.from_si(units.read(f"{number} {spelling}", dimension).value) for number in numbers.split(","))
    rounded = ", ".join(f"{float(format(value, '.2g')):g}" for value in values)
    return f'"{rounded} {there.spelling}"'


@functools.cache
def _printed_in() -> dict[str, str]:
    """Of each unit in which reports print in the US, the first dimension that is printed in another elsewhere."""
    found: dict[str, str] = {}
    for dimension in units.dimensions():
        here = units.printed_unit(dimension, "us")
        if here != units.printed_unit(dimension, "metric"):
            found.setdefault(here, dimension)
    return found
