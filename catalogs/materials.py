"""The records of what liners, seals and metals make of a fluid, and of what a fluid does to a plastic."""

from __future__ import annotations

from typing import Literal

from catalogs.fields import Temperature
from catalogs.records import Record


class Material(Record):
    """What a liner, a seal or a metal thinks of a family of fluids."""

    material: str
    sort: Literal["plastic", "rubber", "metal"]
    fluid: str
    verdict: Literal["good", "caution", "no"]
    hottest: Temperature | None = None
    """In this fluid, where it is known."""
    why: str


class Charging(Record):
    """What a family of fluids, its id, does as it flows through a liner of plastic that does not conduct."""

    verdict: Literal["caution", "no"]
    why: str
