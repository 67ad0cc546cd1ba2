"""How far the vehicle may lean as one drain goes: seen from above, tilt outward, the bearing that is downhill around.

Forward is up on the page: a nose that is down, on a descent, lies above the middle, and a climb below it. In radians.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

import contourpy
import numpy as np

from solver.drains.envelope import COLD, STEEPEST, WARM, WAYS

if TYPE_CHECKING:
    import numpy.typing as npt

    from reports.drainstates import DrainState
    from solver.drains.envelope import Envelope

    Array = npt.NDArray[np.float64]
    Integers = npt.NDArray[np.int64]

RINGS = tuple(range(10, 61, 10))
"""[deg]"""
RIM = {"up": "nose down (descent)", "left": "left side low", "down": "nose up (climb)", "right": "right side low"}
BOUND = 1e-3
"""Clearances beyond this on either side tell nothing more of where the limit lies [m]."""
LEANS_LITTLE = math.radians(0.05)
NOT_LEVEL = "not even level"


@dataclass(frozen=True)
class Mark:
    """An attitude of the plan."""

    number: int
    name: str
    at: tuple[float, float]
    works: bool | None
    sustained: bool
    beyond: bool
    """Does it lean farther than the rim? Then it stands on it."""


@dataclass(frozen=True)
class Polar:
    """The envelope as it is drawn: places to the right and up, their distance from the middle being the tilt [rad]."""

    rim: float
    rings: tuple[tuple[float, str], ...]
    """Tilt and its text."""
    fails: tuple[Array, ...]
    """Outlines of where it does not work warm, closed, shape (n, 2) each; a hole is one outline more."""
    limit: tuple[Array, ...]
    """Lines between where it works warm and where it does not."""
    cold: tuple[Array, ...]
    """The same of cold oil."""
    marks: tuple[Mark, ...]
    says: tuple[str, ...]


@dataclass(frozen=True)
class LimitRow:
    """How far the vehicle may lean one way."""

    way: str
    texts: tuple[str, ...]
    """Warm, and cold where that is apart."""
    numbers: tuple[float | None, ...]
    """The same in degrees; None where it does not work on level ground."""


def polar(found: Envelope, worst: list[DrainState]) -> Polar:
    """The envelope of a drain and the attitudes of its plan, each by the state in which it is worst."""
    cold = _edges(found, COLD) if COLD in found.clearance else ()
    return Polar(
        rim=STEEPEST,
        rings=tuple((math.radians(ring), tilt_text(math.radians(ring))) for ring in RINGS),
        fails=_outlines(found, WARM),
        limit=_edges(found, WARM),
        cold=cold,
        marks=tuple(_mark(number, state) for number, state in enumerate(worst, 1)),
        says=_oils(found),
    )


def on_page(tilt: npt.ArrayLike, bearing: npt.ArrayLike) -> Array:
    """To the right and up, the shape of both with an axis of 2 behind: left is left, as seen from above."""
    t, b = np.broadcast_arrays(np.asarray(tilt, dtype=float), np.asarray(bearing, dtype=float))
    return np.stack([-t * np.sin(b), t * np.cos(b)], axis=-1)


def _field(found: Envelope, oil: str) -> contourpy.ContourGenerator:
    """The clearance over the page; the first bearing once more as the last. What cannot be told does not work."""
    bearings = np.append(found.bearings, found.bearings[0] + 2 * np.pi)
    place = on_page(*np.meshgrid(found.tilts, bearings, indexing="ij"))
    # It jumps where oil begins to seal the bore: bounded alike on both sides, the line runs amid the cell of a jump.
    clearance = np.clip(np.nan_to_num(found.clearance[oil], nan=-1.0), -BOUND, BOUND)
    return contourpy.contour_generator(
        place[..., 0],
        place[..., 1],
        np.append(clearance, clearance[:, :1], axis=1),
        fill_type=contourpy.FillType.OuterOffset,
    )


def _outlines(found: Envelope, oil: str) -> tuple[Array, ...]:
    """Where it does not work."""
    # As its fill type has it: points of polygons, and where in these each ring begins and the last one ends.
    filled = cast("tuple[list[Array], list[Integers]]", _field(found, oil).filled(-np.inf, 0.0))
    rings = []
    for points, cuts in zip(*filled, strict=True):
        rings += [points[a:b] for a, b in itertools.pairwise(cuts)]
    return tuple(rings)


def _edges(found: Envelope, oil: str) -> tuple[Array, ...]:
    return tuple(np.asarray(line) for line in _field(found, oil).lines(0.0))


def _mark(number: int, state: DrainState) -> Mark:
    beyond = state.tilt > STEEPEST
    x, y = on_page(min(state.tilt, STEEPEST), state.bearing)
    return Mark(number, state.attitude.name, (float(x), float(y)), state.works, state.attitude.sustained, beyond)


def _oils(found: Envelope) -> tuple[str, ...]:
    if COLD not in found.duties:
        return (f"all duties have the same oil: {', '.join(found.duties[WARM])}",)
    return tuple(f"{oil}: {', '.join(found.duties[oil])}" for oil in (WARM, COLD))


def limit_rows(found: Envelope) -> tuple[LimitRow, ...]:
    """The largest safe climb, descent and side slopes."""
    oils = [oil for oil in (WARM, COLD) if oil in found.limits]
    return tuple(_limit_row(way, [found.limits[oil][way] for oil in oils]) for way in WAYS)


def _limit_row(way: str, tilts: list[float | None]) -> LimitRow:
    numbers = tuple(None if t is None else math.degrees(t) for t in tilts)
    return LimitRow(way, tuple(safe_text(t) for t in tilts), numbers)


def safe_text(tilt: float | None) -> str:
    """The largest safe tilt [rad], rounded down."""
    if tilt is None:
        return NOT_LEVEL
    return f"over {tilt_text(STEEPEST)}" if tilt >= STEEPEST else tilt_text(tilt, down=True)


def tilt_text(tilt: float, *, down: bool = False) -> str:
    """`31.0 deg, 60 %`: a tilt [rad] as an angle and as a grade, rounded down where it is a limit."""
    degrees, grade = math.degrees(tilt), 100 * math.tan(tilt)
    if down:
        degrees, grade = math.floor(10 * degrees + 1e-6) / 10, math.floor(grade + 1e-6)
    return f"{degrees:.1f}".removesuffix(".0") + f" deg, {grade:.0f} %"


def lean_text(tilt: float | Array, bearing: float | Array) -> str:
    """`31.0 deg, 60 %, nose up`: how far effective gravity leans, and which way is downhill."""
    if tilt < LEANS_LITTLE:
        return "level"
    ahead, left = math.cos(float(bearing)), math.sin(float(bearing))
    sides = [
        (abs(ahead), "nose down" if ahead > 0 else "nose up"),
        (abs(left), "left low" if left > 0 else "right low"),
    ]
    said = [text for share, text in sorted(sides, reverse=True) if share > math.sin(math.radians(5))]
    return f"{tilt_text(float(tilt))}, {' and '.join(said)}"


def largest(tilts: Array, good: npt.NDArray[np.bool_]) -> Array:
    """The largest tilt up to which it works without a break toward each bearing, on the grid [rad].

    Args:
        tilts: shape (tilts,), from level [rad].
        good: does it work there? Shape (tilts, bearings).

    Returns:
        shape (bearings,); nan where it does not work on level ground.
    """
    first = np.where(good.all(axis=0), len(tilts), good.argmin(axis=0))
    return np.where(good[0], tilts[np.maximum(first - 1, 0)], np.nan)
