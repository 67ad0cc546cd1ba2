"""How a vehicle leans and accelerates: what a plan states of an attitude, and the presets that it may be like."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated, Literal, Self

from pydantic import AfterValidator, model_validator

from catalogs.fields import Acceleration, Part, Slope, refuse
from catalogs.records import Record

if TYPE_CHECKING:
    from collections.abc import Mapping


def _unsigned(value: float) -> float:
    if value < 0:
        raise refuse("carries a sign", expected="no sign: the key's own name says the direction")
    return value


def _leaning(value: float) -> float:
    if value >= math.pi / 2:
        raise refuse("leans too far", expected="a slope under 90 degrees")
    return _unsigned(value)


Lean = Annotated[Slope, AfterValidator(_leaning)]
Push = Annotated[Acceleration, AfterValidator(_unsigned)]
Lasts = Literal["sustained", "transient"]

OPPOSITES = {"nose_up": "nose_down", "left_low": "right_low", "forward": "braking", "turn_left": "turn_right"}
"""Each key that says a direction, and the one that says the opposite."""


class Stance(Part):
    """How the vehicle leans [rad] and accelerates [m/s2]. No key carries a bare sign."""

    nose_up: Lean | None = None
    nose_down: Lean | None = None
    left_low: Lean | None = None
    right_low: Lean | None = None
    forward: Push | None = None
    braking: Push | None = None
    turn_left: Push | None = None
    turn_right: Push | None = None

    @property
    def figures(self) -> dict[str, float]:
        """The figures that it states, in SI."""
        stated = ((key, getattr(self, key)) for key in Stance.model_fields)
        return {key: value for key, value in stated if value is not None}

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        for key, other in opposed(self.figures):
            raise refuse(f"stands beside {key}, its opposite", expected="one of the two", at=other)
        return self


def opposed(figures: Mapping[str, float]) -> list[tuple[str, str]]:
    """The pairs of opposite keys among the figures of an attitude that are both over 0 [rad, m/s2]."""
    return [(a, b) for a, b in OPPOSITES.items() if figures.get(a, 0.0) > 0 and figures.get(b, 0.0) > 0]


class AttitudePreset(Record, Stance):
    """An attitude that a plan's own may be like. A shop lays its own over them."""

    means: str
    lasts: Lasts
