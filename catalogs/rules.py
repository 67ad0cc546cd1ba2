"""The record of a clause of a class's rulebook."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import BeforeValidator, model_validator

from catalogs.fields import Dim, refuse
from catalogs.records import Family, Limit, several

Displacement = Annotated[float, Dim(("displacement",))]
About = Literal["", "burst", "temperature", "spacing", "vent", "catch-tank", "overflow"]
MEASURES = {
    "": "",
    "burst": "pressure_drop",
    "temperature": "temperature",
    "spacing": "length",
    "vent": "",
    "catch-tank": "oil_volume",
    "overflow": "volume",
}
"""What a clause may be about, and the dimension of its figure: "" has none."""


class Clause(Limit):
    """What one clause asks for, in `means`; with a figure where it is about something that a plan can decide.

    What is about nothing is printed, to be checked by hand.
    """

    in_words: ClassVar[bool] = True

    rulebook: str
    """The name by which a plan takes up the rulebook."""
    edition: str
    """Publisher and year."""
    clause: str = ""
    about: About = ""
    fluids: Annotated[tuple[Family, ...], BeforeValidator(several)] = ()
    """Families of fluid whose lines it speaks of; empty for all."""
    dimension: str = ""
    engine_above: Displacement = 0.0
    """It holds for engines over this …"""
    engine_up_to: Displacement | None = None
    """… and up to this [m3]."""

    @property
    def named(self) -> str:
        """As a sentence calls it."""
        return ", ".join(filter(None, [self.edition, self.clause]))

    @model_validator(mode="after")
    def _figure_of_its_kind(self) -> Self:
        wanted = MEASURES[self.about]
        if self.dimension != wanted:
            expect = f'dimension = "{wanted}"' if wanted else "no dimension and no figure"
            raise refuse(f'a clause about "{self.about}" has another figure', expected=expect, at="dimension")
        if wanted and self.least is None and self.most is None:
            raise refuse("a clause about a figure states none", expected="fail_below or fail_above", at="about")
        return self
