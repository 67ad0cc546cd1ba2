"""How far the vehicle may lean before a drain floods: over every tilt, and the largest safe climb, descent and side.

A tilt is how far the vehicle leans, and the bearing that is then downhill: 0 forward, 90 deg to the left (ISO 8855),
so that no order of rotations arises. The engine runs, and the vehicle stands or drives steadily.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import STANDARD_GRAVITY
from lines.states import leaning

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import numpy.typing as npt

    from solver.drains.drain import Drain

    Array = npt.NDArray[np.float64]
    Booleans = npt.NDArray[np.bool_]

STEEPEST = math.radians(60)
"""Farther than this no attitude of a vehicle on its wheels goes that lasts."""
TILTS = np.radians(np.arange(0.0, 60.1, 0.5))
BEARINGS = np.radians(np.arange(0.0, 360.0, 3.0))
WAYS: dict[str, float] = {
    "climb": math.pi,
    "descent": 0.0,
    "left side low": math.pi / 2,
    "right side low": -math.pi / 2,
}
"""The bearing that is downhill."""
ROUNDS, PARTS = 3, 16
"""A limit is looked for between two tilts of the grid: so often in so many parts, to a ten thousandth of a degree."""
WARM, COLD = "warm", "cold"


@dataclass(frozen=True)
class Envelope:
    """How far a vehicle may lean as far as one drain goes."""

    tilts: Array
    """[rad], shape (tilts,), from level."""
    bearings: Array
    """Of what is downhill [rad], shape (bearings,)."""
    clearance: dict[str, Array]
    """Warm and cold: how far the oil stays under the flooding point at the worst duty, less than 0 too where a steep
    length takes too much, shape (tilts, bearings) [m]; nan where it cannot be told."""
    limits: dict[str, dict[str, float | None]]
    """Warm and cold: by way, the largest tilt up to which it works [rad]; None where it does not on level ground, nan
    where it cannot be told for want of the sump's box."""
    duties: dict[str, tuple[str, ...]]
    """Which duties are warm, and which is cold."""

    def works(self, oil: str) -> Booleans:
        """Where the drain works, shape (tilts, bearings)."""
        return self.clearance[oil] >= 0.0


def envelope(drain: Drain, duties: list[str]) -> Envelope:
    """The envelope of a drain.

    Args:
        drain: the drain.
        duties: of the plan, in its order.
    """
    groups = warm_and_cold(drain)
    tilt, bearing = np.meshgrid(TILTS, BEARINGS, indexing="ij")
    clearance, limits = {}, {}
    for name, numbers in groups.items():
        clearance[name] = worst_clearance(drain, numbers, tilt.ravel(), bearing.ravel()).reshape(tilt.shape)
        found = safe_tilts(drain, np.array(list(WAYS.values())), numbers)
        limits[name] = {way: None if math.isnan(x) else x for way, x in zip(WAYS, found.tolist(), strict=True)}
        if not drain.leans:
            limits[name] = dict.fromkeys(WAYS, math.nan)
    said = {name: tuple(duties[i] for i in numbers) for name, numbers in groups.items()}
    return Envelope(TILTS, BEARINGS, clearance, limits, said)


def warm_and_cold(drain: Drain) -> dict[str, list[int]]:
    """The duties that have an answer, by number: those with cold oil and the others. A group of none is left out."""
    groups = {
        WARM: [i for i in drain.known if not drain.cold[i]],
        COLD: [i for i in drain.known if drain.cold[i]],
    }
    return {name: numbers for name, numbers in groups.items() if numbers}


def safe_tilts(drain: Drain, bearings: Array, duties: Sequence[int] | None = None) -> Array:
    """The largest tilt up to which a drain works toward each bearing [rad], at some duties or at all that are known.

    Shape (bearings,): at most `STEEPEST`, nan where it floods on level ground.
    """
    return largest_tilts(_works(drain, drain.known if duties is None else duties), bearings)


def worst_clearance(drain: Drain, duties: Sequence[int], tilt: Array, bearing: Array) -> Array:
    """Least clearance over some duties at tilts toward bearings [rad], shape (n,) each; shape (n,) [m]."""
    gravity = STANDARD_GRAVITY * leaning(tilt, bearing)
    states = drain.states(np.tile(gravity, (len(duties), 1)), np.repeat(duties, len(tilt)))
    return np.asarray(drain.to_spare(states).reshape(len(duties), -1).min(axis=0))


def _works(drain: Drain, duties: Sequence[int]) -> Callable[[Array, Array], Booleans]:
    return lambda tilt, bearing: worst_clearance(drain, duties, tilt, bearing) >= 0.0


def largest_tilts(works: Callable[[Array, Array], Booleans], bearings: Array) -> Array:
    """The largest tilt up to which something works without a break, toward each bearing.

    Args:
        works: from tilts and bearings [rad], shape (n,) each, whether it works there.
        bearings: shape (n,) [rad].

    Returns:
        shape (n,) [rad]: at most `STEEPEST`, nan where it does not work on level ground.
    """
    coarse = np.repeat(TILTS, len(bearings)), np.tile(bearings, len(TILTS))
    good = works(*coarse).reshape(len(TILTS), len(bearings))
    first = np.where(good.all(axis=0), len(TILTS) - 1, good.argmin(axis=0))
    low, width = TILTS[np.maximum(first - 1, 0)], TILTS[1]
    for _ in range(ROUNDS):
        width /= PARTS
        inside = low + width * np.arange(1, PARTS)[:, None]
        fine = works(inside.ravel(), np.tile(bearings, PARTS - 1)).reshape(inside.shape)
        low = low + width * np.where(fine.all(axis=0), PARTS - 1, fine.argmin(axis=0))
    return np.where(good.all(axis=0), STEEPEST, np.where(good[0], low, np.nan))
