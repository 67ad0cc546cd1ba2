"""States: duty x attitude x position. One effective-gravity vector in vehicle axes for each attitude.

Vehicle axes are those of ISO 8855: x forward, y left, z up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, Generic, TypeVar

import numpy as np
from pydantic_core import CoreSchema, core_schema

from catalogs.attitudes import Lasts, Stance
from catalogs.errors import nearest
from catalogs.fields import Dim, refuse
from catalogs.units import STANDARD_GRAVITY, Quantity

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import numpy.typing as npt
    from pydantic import GetCoreSchemaHandler
    from pydantic_core.core_schema import ValidationInfo

    from catalogs.attitudes import AttitudePreset

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


class AttitudeTable(Stance):
    """An attitude of a plan: like a preset, by its own figures, or both. Its own figures override."""

    example: ClassVar[str] = '{ like = "climb-60" }'

    like: str = ""
    """A preset: an id of the attitudes table."""
    lasts: Lasts | None = None
    """Sustained, where neither it nor its preset says."""
    duties: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class Attitude:
    """A named attitude and its effective gravity [m/s2] in vehicle axes."""

    name: str
    gravity: tuple[float, float, float]
    sustained: bool = True
    duties: tuple[str, ...] | None = None
    says: tuple[str, ...] = ()
    """The keys of its figures that are over 0: `nose_up`, `forward` …"""
    like: str = ""
    """The preset that gives what the plan does not state."""

    @property
    def down(self) -> npt.NDArray[np.float64]:
        """The unit vector along effective gravity."""
        vector = np.array(self.gravity)
        return np.asarray(vector / np.linalg.norm(vector))

    @property
    def tilt(self) -> float:
        """How far effective gravity is turned from straight down on level ground [rad]."""
        return float(leans(self.down)[0])

    @property
    def weight(self) -> float:
        """Effective gravity over standard gravity [-]."""
        return math.hypot(*self.gravity) / STANDARD_GRAVITY


LEVEL = Attitude("level", (0.0, 0.0, -STANDARD_GRAVITY))
LEAST_WEIGHT = 0.1
"""Where less than this share of gravity is left, a small slip in a figure turns down to anywhere."""


def attitude(name: str, table: AttitudeTable, preset: AttitudePreset | None = None) -> Attitude:
    """The attitude that a plan's table describes, over the preset that it is like.

    The slope of the ground is a pair of grades, nose to tail and side to side, so that no order of rotations
    arises. An acceleration adds its opposite to gravity.
    """
    figures = figures_over(preset, table)

    def grade(key: str) -> float:
        return math.tan(figures.get(key, 0.0))

    def push(key: str) -> float:
        return figures.get(key, 0.0)

    vector = np.array([grade("nose_down") - grade("nose_up"), grade("left_low") - grade("right_low"), -1.0])
    gravity = STANDARD_GRAVITY * vector / np.linalg.norm(vector)
    gravity[0] -= push("forward") - push("braking")
    gravity[1] -= push("turn_left") - push("turn_right")
    x, y, z = (float(g) for g in gravity)
    lasts = table.lasts or (preset.lasts if preset else "sustained")
    says = tuple(key for key, figure in figures.items() if figure > 0)
    return Attitude(name, (x, y, z), lasts == "sustained", table.duties, says, table.like)


def figures_over(preset: AttitudePreset | None, table: AttitudeTable) -> dict[str, float]:
    """The figures of a plan's attitude laid over those of its preset [rad, m/s2]."""
    return (preset.figures if preset else {}) | table.figures


def too_light(here: Attitude) -> bool:
    """Do the accelerations take away nearly all of gravity, so that nothing knows where down is?"""
    return here.weight < LEAST_WEIGHT


# ---------------------------------------------------------------- by tilt, and the bearing that is downhill


def leaning(tilt: npt.ArrayLike, bearing: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """The direction of effective gravity in vehicle axes, for a tilt toward a bearing.

    Args:
        tilt: how far gravity is turned from straight down [rad].
        bearing: which way is downhill [rad]: 0 forward, so that the nose is down; a quarter turn the left side.

    Returns:
        unit vectors, the shape of both arguments together and an axis of 3 behind it.

    >>> leaning(np.radians([0, 30, 30]), np.radians([0, 0, 90])).round(3).tolist()
    [[0.0, 0.0, -1.0], [0.5, 0.0, -0.866], [0.0, 0.5, -0.866]]
    """
    t, b = np.broadcast_arrays(np.asarray(tilt, dtype=float), np.asarray(bearing, dtype=float))
    return np.stack([np.sin(t) * np.cos(b), np.sin(t) * np.sin(b), -np.cos(t)], axis=-1)


def leans(down: npt.ArrayLike) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Tilt and bearing of directions of effective gravity: the inverse of `leaning`.

    Args:
        down: vectors in vehicle axes [-], of any length, shape (..., 3).

    Returns:
        tilt from 0 to half a turn and bearing from -half to half a turn [rad], shape (...); the bearing of no tilt
        is 0.

    >>> tilt, bearing = leans([0.0, -0.6, -0.8])
    >>> round(float(np.degrees(tilt)), 1), round(float(np.degrees(bearing)), 1)
    (36.9, -90.0)
    """
    x, y, z = np.moveaxis(np.asarray(down, dtype=float), -1, 0)
    across = np.hypot(x, y)
    return np.arctan2(across, -z), np.where(across > 0, np.arctan2(y, x), 0.0)
