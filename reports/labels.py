"""Where labels go on a drawing: near what they name, within the frame, clear of lines and of each other."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    Array = npt.NDArray[np.float64]
    Counts = npt.NDArray[np.int32]

CELL = 1.5  # pt
DISTANCES = (3.0, 6.0, 10.0, 15.0, 21.0, 28.0, 38.0, 50.0)  # pt, from a place to its label
_ANGLES = [k * math.pi / 8 for k in (4, 12, 0, 8, 2, 6, 10, 14, 1, 3, 5, 7, 9, 11, 13, 15)]
_ROUND = np.round([[math.cos(a), math.sin(a)] for a in _ANGLES], 12)
WAYS = np.tile(_ROUND, (len(DISTANCES), 1))
OFFSETS = np.repeat(DISTANCES, len(_ROUND))[:, None] * WAYS
"""Every way to a label, the nearest first, and how far it goes [pt]."""
NEAR = 2 * len(_ROUND)
"""So many of them need no leader."""
LEADER = 9.0  # pt: a label further away has a line to its place
OVER_WORDS, OVER_INK, LATER = 500.0, 5.0, 1.0
"""What it costs to lie over a cell of words, over one of a line, and to name a place that is not the first."""


@dataclass(frozen=True, slots=True)
class Label:
    """Where a label stands [pt], its left lower corner, and from where to where its leader goes, if it has one."""

    x: float
    y: float
    leader: tuple[float, float, float, float] | None
    clear: bool
    """Does neither it nor its leader lie over other words?"""


class Room:
    """A frame that fills with lines and labels; y up [pt]."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = width, height
        shape = math.ceil(height / CELL) + 1, math.ceil(width / CELL) + 1
        self.ink = np.zeros(shape, dtype=bool)
        self.words = np.zeros(shape, dtype=bool)

    def line(self, points: Array, wide: float = 1.0) -> None:
        """A line is drawn here: corners, shape (n, 2), and its width [pt]."""
        self.lines([points], wide)

    def lines(self, all_points: Sequence[Array], wide: float = 1.0) -> None:
        """Lines of one width [pt] are drawn here."""
        if not all_points:
            return
        most, steps = np.array(self.ink.shape[::-1]) - 1, np.concatenate([_steps(points) for points in all_points])
        low, high = (np.clip(((steps + side) / CELL).astype(int), 0, most) for side in (-wide / 2, wide / 2))
        across, up = (high - low).max(axis=0)
        for i in range(across + 1):
            for j in range(up + 1):
                columns, rows = np.minimum(low + np.array([i, j]), high).T
                self.ink[rows, columns] = True

    def keep(self, x: float, y: float, width: float, height: float) -> None:
        """No words over this rectangle [pt]."""
        rows, columns = self._cells(x, y, width, height)
        self.words[rows, columns] = True

    def place(
        self,
        at: Sequence[tuple[float, float]],
        width: float,
        height: float,
        *,
        only_clear: bool = False,
        near: bool = False,
        radius: float = 0.0,
    ) -> Label:
        """The best place for a label, which is kept from then on.

        Args:
            at: places that it may name, the best first [pt].
            width: of the label [pt].
            height: of the label [pt].
            only_clear: nothing is kept for a label that finds no clear place.
            near: a label with a leader will not do.
            radius: of what is kept for a dot at the place: a leader begins there [pt].
        """
        most = OVER_WORDS if only_clear else math.inf
        rings = ((NEAR, math.inf if near else DISTANCES[2] + LEADER), (len(OFFSETS), math.inf))
        for ring, beyond in rings:
            best, least = self._best(self._tried(np.array(at), (width, height), ring), (width, height), most, radius)
            # A label further away has a leader, and costs more than that.
            if best is not None and least <= beyond:
                break
        if best is None:
            x, y = (max(min(at[0][i], most), 0.0) for i, most in enumerate((self.width - width, self.height - height)))
            best = Label(x, y, None, clear=False)
        if only_clear and not best.clear:
            return best
        self.keep(best.x - 1, best.y - 1, width + 2, height + 2)
        if best.leader is not None:
            self.line(np.array(best.leader).reshape(2, 2))
        return best

    def _best(
        self, tried: tuple[Array, Array, Array, Array], size: tuple[float, float], least: float, radius: float
    ) -> tuple[Label | None, float]:
        """The label that costs least, if any costs less than that, and its cost."""
        corners, named, far, cost = tried
        best = None
        for n in np.argsort(cost, kind="stable"):
            if cost[n] >= least:
                break
            label, crossing = self._label(corners[n], named[n], far[n], size, radius)
            if cost[n] + crossing < least:
                best, least = label, float(cost[n] + crossing)
        return best, least

    def _tried(self, at: Array, wide_high: tuple[float, float], ring: int) -> tuple[Array, Array, Array, Array]:
        """Places for a label, so many of each: its left lower corner, what it names, how far that is, and its cost."""
        named = np.repeat(at, ring, axis=0)
        offsets, ways = np.tile(OFFSETS[:ring], (len(at), 1)), np.tile(WAYS[:ring], (len(at), 1))
        far = np.linalg.norm(offsets, axis=1)
        size = np.array(wide_high)
        corners = named + offsets + (ways - 1.0) * size / 2
        inside = (corners >= 1.0).all(axis=1) & (corners + size <= np.array([self.width, self.height]) - 1.0).all(
            axis=1
        )
        cost = far + LATER * np.repeat(np.arange(len(at)), ring) + np.where(far > LEADER, LEADER, 0.0)
        cost += OVER_WORDS * self._under(self.words, corners, size) + OVER_INK * self._under(self.ink, corners, size)
        return corners, named, far, np.where(inside, cost, math.inf)

    def _under(self, grid: npt.NDArray[np.bool_], corners: Array, size: Array) -> Counts:
        """How many cells are taken under each rectangle, shape (n,)."""
        most = np.array(grid.shape[::-1]) - 1
        low = np.clip((corners / CELL).astype(int), 0, most)
        high = np.clip(((corners + size) / CELL).astype(int), 0, most) + 1
        first, last = low.min(axis=0), high.max(axis=0)
        table = _summed(grid[first[1] : last[1], first[0] : last[0]])
        (left, bottom), (right, top) = (low - first).T, (high - first).T
        return np.asarray(table[top, right] - table[bottom, right] - table[top, left] + table[bottom, left])

    def _label(
        self, corner: Array, named: Array, far: float, size: tuple[float, float], radius: float
    ) -> tuple[Label, float]:
        """A label, and what it costs that its leader crosses words, and that one from a dot crosses lines."""
        x, y = float(corner[0]), float(corner[1])
        rows, columns = self._cells(x, y, *size)
        clear, leader, crossed, inked = not self.words[rows, columns].any(), None, 0, 0
        if far > LEADER:
            near = min(max(named[0], x), x + size[0]), min(max(named[1], y), y + size[1])
            way = np.array(near) - named
            # What is kept for a dot are whole cells.
            rim, past = np.minimum(
                np.array([radius, radius * math.sqrt(2) + CELL * (radius > 0)]) / math.hypot(*way), 1.0
            )
            leader = *(named + rim * way).tolist(), float(near[0]), float(near[1])
            shares = np.linspace(past, 1.0, math.ceil(far / CELL) + 1)[:, None]
            # What a label names may lie a little outside the frame.
            most = np.array(self.words.shape[::-1]) - 1
            across, up = np.clip(((named + shares * way) / CELL).astype(int), 0, most).T
            crossed = int(self.words[up, across].sum())
            inked = int(self.ink[up, across].sum()) if radius else 0
        return Label(x, y, leader, clear=clear and not crossed), OVER_WORDS * crossed + OVER_INK * inked

    def _cells(self, x: float, y: float, width: float, height: float) -> tuple[slice, slice]:
        (row, column), (last_row, last_column) = self._cell(x, y), self._cell(x + width, y + height)
        return slice(row, last_row + 1), slice(column, last_column + 1)

    def _cell(self, x: float, y: float) -> tuple[int, int]:
        rows, columns = self.ink.shape
        return min(max(int(y / CELL), 0), rows - 1), min(max(int(x / CELL), 0), columns - 1)


def _summed(grid: npt.NDArray[np.bool_]) -> Counts:
    """How many cells are taken below and to the left of each corner of a grid."""
    rows, columns = grid.shape
    table = np.zeros((rows + 1, columns + 1), dtype=np.int32)
    grid.cumsum(axis=0, dtype=np.int32).cumsum(axis=1, out=table[1:, 1:])
    return table


def _steps(points: Array) -> Array:
    """Points along a polyline no further apart than a cell, shape (n, 2) [pt]."""
    stations = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    between = np.linspace(0.0, stations[-1], math.ceil(stations[-1] / CELL) + 1)
    at = np.concatenate([stations, between])
    return np.stack([np.interp(at, stations, points[:, axis]) for axis in (0, 1)], axis=1)


def along(points: Array, shares: Sequence[float]) -> list[tuple[float, float]]:
    """Places at these shares of a polyline's length [pt]."""
    stations = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    at = np.array(shares) * stations[-1]
    return [(float(x), float(y)) for x, y in zip(*(np.interp(at, stations, points[:, i]) for i in (0, 1)), strict=True)]
