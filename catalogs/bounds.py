"""Figures that cannot be: the bounds of each dimension, which stand beside it in `units.toml`."""

from __future__ import annotations

import functools
import re

from catalogs import units
from catalogs.errors import QuantityError
from catalogs.units import Quantity

STANDARD_ATMOSPHERE = 101_325.0
"""ISO 2533 [Pa]: an absolute pressure is held against bounds of gauge pressure as over it."""


@functools.cache
def _bounds(dimension: str) -> tuple[float | None, float | None, float | None]:
    """The figures [SI] that it may have as its least, that it is over, and that it may have as its most."""
    texts = (units.bound(dimension, which) for which in ("least", "over", "most"))
    least, over, most = (None if text is None else units.read(text, dimension).value for text in texts)
    return least, over, most


def hold(text: object, quantity: Quantity, *dimensions: str) -> None:
    """Refuse a figure that is outside the bounds of its field's dimension.

    Args:
        text: what the person wrote.
        quantity: what it was read as.
        dimensions: those of the field, in order of preference.

    Raises:
        QuantityError: with the figure as it was written and the bound in its unit.
    """
    dimension = next(d for d in dimensions if units.base(d) == quantity.dimension)
    least, over, most = _bounds(dimension)
    figure = quantity.value - (STANDARD_ATMOSPHERE if quantity.reference == "absolute" else 0.0)
    if over is not None and figure <= over:
        raise QuantityError(str(text), f'"{text}" is 0 or less', expected=f"{_thing(dimension)} over 0")
    if least == 0 and figure < 0:
        raise QuantityError(str(text), f'"{text}" is less than 0', expected=f"{_thing(dimension)} of 0 or more")
    if (least is not None and figure < least) or (most is not None and figure > most):
        too = "less" if least is not None and figure < least else "more"
        reason = f'"{text}" is {too} than can be'
        raise QuantityError(str(text), reason, expected=_range(str(text), dimension, least or over, most))


def _thing(dimension: str) -> str:
    return re.sub(r" (over 0|of 0 or more|from 0 to 1)?,? ?like .*", "", units.expected(dimension)).rstrip(",")


def _range(text: str, dimension: str, low: float | None, high: float | None) -> str:
    least, most = (None if not x else units.in_unit_of(text, x, dimension) for x in (low, high))
    if least and most:
        return f"{_thing(dimension)} from {least} to {most}"
    return f"{_thing(dimension)} of at least {least}" if least else f"{_thing(dimension)} of at most {most}"
