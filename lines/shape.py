"""What a run is in space, as far as it was measured. What was not measured is None, never guessed.

A polyline from port to port with a fillet at each corner: two straights that meet at the angle `turn` are joined
by an arc of radius r, which takes r tan(turn/2) off each straight and is r * turn long.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.records import Stock
    from lines.plan import Plan, RunTable


STRAIGHTEST = math.radians(0.5)
"""A corner under this is no bend."""


@dataclass(frozen=True, slots=True)
class Corner:
    """A bend: where, by how much, and the largest centreline radius that fits."""

    station: float
    """Distance from the start along the polyline [m]."""
    turn: float
    radius: float


@dataclass(frozen=True)
class Shape:
    """A run in space."""

    points: npt.NDArray[np.float64] | None
    """Corners of the polyline from port to port, shape (n, 3) [m]."""
    corners: tuple[Corner, ...] | None
    """None: the bends were not measured."""
    length: float | None
    """Length of the centreline from port to port [m]."""
    chord: float | None
    """Straight distance from port to port [m]."""
    rise: float | None
    """Height of the end over the start, the vehicle level [m]."""
    how: str
    """What the length was known by."""

    def directions(self) -> npt.NDArray[np.float64] | None:
        """Unit vectors of the legs, shape (n - 1, 3)."""
        if self.points is None:
            return None
        legs = np.diff(self.points, axis=0)
        return np.asarray(legs / np.linalg.norm(legs, axis=1, keepdims=True))


def shape(plan: Plan, tag: str) -> Shape:
    """The shape of a run from whatever the plan knows of it."""
    run = plan.runs[tag]
    stock = plan.catalog.stock(run.stock)
    a, b = plan.port(run.start).at, plan.port(run.end).at
    points = _points(run, a, b)
    if points is not None:
        return _of_points(points, stock, run)
    chord = float(np.linalg.norm(np.subtract(b, a))) if a is not None and b is not None else None
    if run.span is not None:
        chord = math.hypot(*run.span.vector)
    corners = _stated_corners(run, stock)
    return Shape(
        None,
        corners,
        run.length,
        chord,
        _rise(plan, run),
        f"{run.length_is} length by tape" if run.length else "",
    )


def _points(
    run: RunTable, a: tuple[float, float, float] | None, b: tuple[float, float, float] | None
) -> npt.NDArray[np.float64] | None:
    if run.via is None or a is None or b is None:
        return None
    points = np.array([a, *run.via, b])
    kept = [0, *(i for i in range(1, len(points)) if np.linalg.norm(points[i] - points[i - 1]) > 1e-6)]
    return np.asarray(points[kept]) if len(kept) > 1 else None


def _of_points(points: npt.NDArray[np.float64], stock: Stock, run: RunTable) -> Shape:
    legs = np.diff(points, axis=0)
    lengths = np.linalg.norm(legs, axis=1)
    unit = legs / lengths[:, None]
    turns = np.arccos(np.clip(np.sum(unit[:-1] * unit[1:], axis=1), -1.0, 1.0))
    bent = np.flatnonzero(turns > STRAIGHTEST)
    turns = turns[bent]
    half = np.tan(np.minimum(turns, math.radians(179.0)) / 2)
    # A point on a straight, such as a clamp, parts no leg in two.
    between = np.add.reduceat(lengths, [0, *(bent + 1)])
    radii = _largest_radii(between, half)
    stations = np.cumsum(between)[:-1]
    corners = tuple(Corner(float(s), float(t), float(r)) for s, t, r in zip(stations, turns, radii, strict=True))
    used = np.minimum(radii, stock.centreline_radius)
    length = float(lengths.sum() + np.sum(used * (turns - 2 * half)))
    chord = float(np.linalg.norm(points[-1] - points[0]))
    if run.length is not None:
        return Shape(
            points,
            corners,
            run.length,
            chord,
            float(points[-1, 2] - points[0, 2]),
            f"{run.length_is} length by tape",
        )
    return Shape(
        points,
        corners,
        length,
        chord,
        float(points[-1, 2] - points[0, 2]),
        "points, bends at the stock's tightest",
    )


def _largest_radii(lengths: npt.NDArray[np.float64], half: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """The largest fillet at each corner: a leg between two corners is shared as their tangents ask."""
    tangents = np.concatenate([[0.0], half, [0.0]])
    share = lengths / np.maximum(tangents[:-1] + tangents[1:], 1e-12)
    return np.asarray(np.minimum(share[:-1], share[1:]))


def _stated_corners(run: RunTable, stock: Stock) -> tuple[Corner, ...] | None:
    if run.bends is None:
        return None
    return tuple(Corner(math.nan, bend.turn, bend.inside_radius + stock.outside / 2) for bend in run.bends)


def _rise(plan: Plan, run: RunTable) -> float | None:
    start, end = plan.port(run.start).z, plan.port(run.end).z
    if start is not None and end is not None:
        return end - start
    if run.span is not None:
        return run.span.vector[2]
    return run.rise
