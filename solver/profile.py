"""A run as a line from seat to seat, and what stands in its lows along any gravity."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.assembly import Assembly

    Array = npt.NDArray[np.float64]

STEP = 0.005
"""Between two points of a hose's centreline [m]."""


@dataclass(frozen=True)
class Profile:
    """A run's centreline from the seat of its start to that of its end."""

    points: Array
    """Shape (n, 3) [m]."""

    @cached_property
    def stations(self) -> Array:
        """Of each point, along the line from its start [m], shape (n,)."""
        return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(self.points, axis=0), axis=1))])

    def heights(self, down: Array) -> Array:
        """Of each point against effective gravity [m], shape (attitudes, n).

        Args:
            down: unit vectors of effective gravity, shape (attitudes, 3).
        """
        return np.asarray(-down @ self.points.T)


def profile(made: Assembly) -> Profile | None:
    """The line of a run; None where its way is not known or makes no sense."""
    if made.route is None or made.astray:
        return None
    start, end = made.route.between_seats
    hose = made.route.line.at(np.linspace(start, end, max(math.ceil((end - start) / STEP), 1) + 1))[0]
    return Profile(made.route.seat_to_seat(hose))


def pools(heights: Array, before: Array, behind: Array) -> Array:
    """How deep liquid comes to stand at each point of a line, over its centreline [m].

    What stands at a point rises until it runs over the lower of the highest points to its two sides.

    Args:
        heights: shape (attitudes, n) [m].
        before: height that has to be passed beyond the line's start, shape (attitudes,); -inf where liquid may go.
        behind: beyond its end, likewise.

    Returns:
        shape (attitudes, n), 0 where it runs off.

    >>> free = np.array([-np.inf])
    >>> pools(np.array([[3.0, 1.0, 0.0, 2.0, 1.0]]), free, free).tolist()
    [[0.0, 1.0, 2.0, 0.0, 0.0]]
    """
    start = np.maximum(np.maximum.accumulate(heights, axis=1), before[:, None])
    end = np.maximum(np.maximum.accumulate(heights[:, ::-1], axis=1)[:, ::-1], behind[:, None])
    return np.asarray(np.minimum(start, end) - heights)
