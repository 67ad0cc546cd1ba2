"""How sure a figure is, from the surest to the least sure."""

from __future__ import annotations

import enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


class Grade(enum.StrEnum):
    """What a figure rests on."""

    MEASURED = "measured"
    STANDARD = "standard"
    PUBLISHED = "published"
    PRACTICE = "practice"
    MEMORY = "memory"
    ILLUSTRATIVE = "illustrative"

    @property
    def provisional(self) -> bool:
        """Does what rests on this figure have to say so where it is printed?"""
        return self in {Grade.MEMORY, Grade.ILLUSTRATIVE}

    @property
    def says(self) -> str:
        return _SAYS[self]


_SAYS = {
    Grade.MEASURED: "measured by the shop",
    Grade.STANDARD: "from a standard",
    Grade.PUBLISHED: "from a published text",
    Grade.PRACTICE: "common practice, no source",
    Grade.MEMORY: "from memory: check against the standard",
    Grade.ILLUSTRATIVE: "illustrative: replace with your supplier's figure",
}


def weakest(grades: Iterable[Grade]) -> Grade:
    """The grade of what rests on several figures; measured where there are none."""
    order = list(Grade)
    return max(grades, key=order.index, default=Grade.MEASURED)
