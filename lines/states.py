"""States: duty x attitude x position. One effective-gravity vector in vehicle axes for each attitude.

Vehicle axes are those of ISO 8855: x forward, y left, z up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Generic, Literal, TypeVar

import numpy as np
from pydantic import AfterValidator
from pydantic_core import CoreSchema, core_schema

from catalogs.errors import nearest
from catalogs.fields import Acceleration, Dim, Part, Slope, refuse
from catalogs.units import STANDARD_GRAVITY, Quantity

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import numpy.typing as npt
    from pydantic import GetCoreSchemaHandler
    from pydantic_core.core_schema import ValidationInfo

T = TypeVar("T")

OTHERWISE = "otherwise"
"""The key of a table by duty that stands for every duty that it does not name."""


@dataclass(frozen=True, slots=True)
class ByDuty(Generic[T]):
    """One value for every duty, or a value for each."""

    values: dict[str, T]

    def at(self, duty: str) -> T:
        return self.values[duty] if duty in self.values else self.values[OTHERWISE]

    def over(self, duties: Sequence[str]) -> list[T]:
        return [self.at(duty) for duty in duties]


@dataclass(frozen=True)
class VariesBy:
    """Reads one quantity, or a table of them by duty; the duties' names come with the validation's context."""

    dimensions: tuple[str, ...]

    def __get_pydantic_core_schema__(self, _source: Any, _handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(self.read)

    def read(self, value: object, info: ValidationInfo) -> ByDuty[Any]:
        read: Callable[[object], float | Quantity] = Dim(self.dimensions).read
        if not isinstance(value, dict):
            return ByDuty({OTHERWISE: read(value)})
        duties: Sequence[str] = (info.context or {}).get("duties", [])
        unknown = [name for name in value if name not in duties and name != OTHERWISE]
        if unknown:
            raise refuse(
                f'"{unknown[0]}" is no duty of this plan',
                expected="one of " + ", ".join([*duties, OTHERWISE]),
                nearest_word=nearest(unknown[0], [*duties, OTHERWISE]),
            )
        missing = [duty for duty in duties if duty not in value]
        if missing and OTHERWISE not in value:
            raise refuse(
                f"has no value for {', '.join(missing)}",
                expected=f'a value for every duty, or "{OTHERWISE}" for the rest',
            )
        return ByDuty({name: read(text) for name, text in value.items()})


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


class AttitudeTable(Part):
    """How the vehicle leans and accelerates. No key carries a bare sign."""

    nose_up: Lean | None = None
    nose_down: Lean | None = None
    left_low: Lean | None = None
    right_low: Lean | None = None
    forward: Push | None = None
    braking: Push | None = None
    turn_left: Push | None = None
    turn_right: Push | None = None
    lasts: Literal["sustained", "transient"] = "sustained"
    duties: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class Attitude:
    """A named attitude and its effective gravity [m/s2] in vehicle axes."""

    name: str
    gravity: tuple[float, float, float]
    sustained: bool = True
    duties: tuple[str, ...] | None = None

    @property
    def down(self) -> npt.NDArray[np.float64]:
        """The unit vector along effective gravity."""
        vector = np.array(self.gravity)
        return np.asarray(vector / np.linalg.norm(vector))


LEVEL = Attitude("level", (0.0, 0.0, -STANDARD_GRAVITY))


def attitude(name: str, table: AttitudeTable) -> Attitude:
    """The attitude that a plan's table describes.

    The slope of the ground is a pair of grades, nose to tail and side to side, so that no order of rotations
    arises. An acceleration adds its opposite to gravity.
    """
    up = _tangent(table.nose_up) - _tangent(table.nose_down)
    left = _tangent(table.left_low) - _tangent(table.right_low)
    vector = np.array([-up, left, -1.0])
    gravity = STANDARD_GRAVITY * vector / np.linalg.norm(vector)
    gravity[0] -= (table.forward or 0.0) - (table.braking or 0.0)
    gravity[1] -= (table.turn_left or 0.0) - (table.turn_right or 0.0)
    x, y, z = (float(g) for g in gravity)
    return Attitude(name, (x, y, z), table.lasts == "sustained", table.duties)


def _tangent(slope: float | None) -> float:
    return 0.0 if slope is None else math.tan(slope)
