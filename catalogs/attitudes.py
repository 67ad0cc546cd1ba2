"""How a vehicle leans and accelerates: what a plan states of an attitude, and the presets that it may be like."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal, Self

from pydantic import AfterValidator, ValidationInfo, ValidatorFunctionWrapHandler, field_validator, model_validator

from catalogs.fields import Acceleration, Part, Slope, refuse
from catalogs.records import Record

if TYPE_CHECKING:
    from collections.abc import Mapping


def _leaning(value: float) -> float:
    if value >= math.pi / 2:
        raise refuse("leans too far", expected="a slope under 90 degrees")
    return value


Lean = Annotated[Slope, AfterValidator(_leaning)]
Lasts = Literal["sustained", "transient"]

OPPOSITES = {"nose_up": "nose_down", "left_low": "right_low", "forward": "braking", "turn_left": "turn_right"}
"""Each key that says a direction, and the one that says the opposite."""
_OTHER_WAY = OPPOSITES | {other: key for key, other in OPPOSITES.items()}


class Stance(Part):
    """How the vehicle leans [rad] and accelerates [m/s2]. No key carries a bare sign."""

    words: ClassVar[str] = "attitude"

    nose_up: Lean | None = None
    nose_down: Lean | None = None
    left_low: Lean | None = None
    right_low: Lean | None = None
    forward: Acceleration | None = None
    braking: Acceleration | None = None
    turn_left: Acceleration | None = None
    turn_right: Acceleration | None = None

    @property
    def figures(self) -> dict[str, float]:
        """The figures that it states, in SI."""
        stated = ((key, getattr(self, key)) for key in Stance.model_fields)
        return {key: value for key, value in stated if value is not None}

    @field_validator(*_OTHER_WAY, mode="wrap")
    @classmethod
    def _unsigned(cls, text: object, read: ValidatorFunctionWrapHandler, info: ValidationInfo) -> float | None:
        value: float | None = read(text)
        if value is not None and value < 0:
            there = f'{_OTHER_WAY[str(info.field_name)]} = "{str(text).strip().removeprefix("-").strip()}"'
            raise refuse("carries a sign", expected=f"{there}: the key's own name says the direction")
        return value

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
