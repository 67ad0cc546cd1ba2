"""Lines across an area, however it is shaped: by even and odd crossings, so that a hole is one outline more."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    Array = npt.NDArray[np.float64]


def hatched(outlines: Sequence[Array], apart: float, angle: float = 45.0) -> list[Array]:
    """Parallel lines inside outlines.

    Args:
        outlines: closed or not, shape (n, 2) each [pt].
        apart: distance between two lines [pt].
        angle: of the lines to the right and up [deg].

    Returns:
        lines, shape (2, 2) each.
    """
    if not outlines:
        return []
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    turn = np.array([[c, -s], [s, c]])
    turned = [points @ turn for points in outlines]
    starts = np.concatenate(turned)
    ends = np.concatenate([np.roll(points, -1, axis=0) for points in turned])
    low, high = float(starts[:, 1].min()), float(starts[:, 1].max())
    found = []
    # Half a step off round numbers, so that no line runs along an edge that lies on one.
    for level in np.arange((math.floor(low / apart) + 0.4999) * apart, high, apart):
        over = (starts[:, 1] > level) != (ends[:, 1] > level)
        a, b = starts[over], ends[over]
        crossings = np.sort(a[:, 0] + (b[:, 0] - a[:, 0]) * (level - a[:, 1]) / (b[:, 1] - a[:, 1]))
        for left, right in crossings.reshape(-1, 2):
            found.append(np.array([[left, level], [right, level]]) @ turn.T)
    return found
