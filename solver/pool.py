"""Liquid in a body of boxes at any tilt: its volume is kept, and so its level follows.

The boxes stand in vehicle axes. Left out: liquid that moves (the pool is still, its surface square to effective
gravity), baffles and trap doors (the pool is freely connected, air and liquid change places). What a lid over the boxes
would hold back stays under it here: the boxes are closed at the top.

A height along `down`, a unit vector of effective gravity, is that of a point p over the plan's zero: -(p . down).
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

from lines.layers import TOUCHES

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]
    Booleans = npt.NDArray[np.bool_]

HOLDS = 1e-6
"""By how much of itself a volume may pass what the boxes hold: the last figures of another unit."""
_ROUNDED = 1e-12
"""Share of what the boxes hold that the rounding of a volume never reaches."""


def capacity(body: Array) -> float:
    """What a body of boxes, shape (boxes, 2, 3) [m], holds [m3]."""
    return float(_volumes(body).sum())


def volume_under(body: Array, height: Array, down: Array) -> Array:
    """Volume of a body of boxes under a plane at each attitude [m3].

    Of one box it is the share of a unit cube with a1 x1 + a2 x2 + a3 x3 <= t: the integral over the widest extent a3 of
    the area G that the line at t cuts off the unit square of the other two. With H the integral of G it is
    (H(t) - H(t - a3))/a3, in which nothing is divided by an extent that vanishes.

    Args:
        body: lower and upper corners, shape (boxes, 2, 3) [m].
        height: of the plane along -down, shape (batch,) [m].
        down: unit vectors, shape (batch, 3).

    Returns:
        shape (batch,).

    Source: own arithmetic; piece by piece the cases of Scardovelli and Zaleski, J. Comput. Phys. 164 (2000) 228, named
    from memory.

    >>> import numpy as np
    >>> box = np.array([[[0, 0, 0], [0.4, 0.3, 0.2]]])
    >>> float(volume_under(box, np.array([0.05]), np.array([[0, 0, -1.0]]))[0])
    0.006
    """
    lowest, *extents = _seen_along(body, down)
    return _under(height[:, None] - lowest, *extents) @ _volumes(body)


def _volumes(body: Array) -> Array:
    return np.asarray(np.prod(body[:, 1] - body[:, 0], axis=1))


def _seen_along(body: Array, down: Array) -> tuple[Array, Array, Array, Array]:
    """Height of the lowest corner of each box, and its three extents along -down from the least to the widest [m].

    Each of shape (batch, boxes).
    """
    ends = -down[:, None, None, :] * body
    extents = np.sort(np.abs(ends[:, :, 1] - ends[:, :, 0]), axis=2)
    return ends.min(axis=2).sum(axis=2), extents[..., 0], extents[..., 1], extents[..., 2]


def _under(t: Array, a1: Array, a2: Array, a3: Array) -> Array:
    """Share of a box under the plane at t over its lowest corner [m]."""
    return np.asarray((_under_lines(t, a1, a2) - _under_lines(t - a3, a1, a2)) / a3)


def _under_lines(t: Array, a1: Array, a2: Array) -> Array:
    """The integral up to t of the area of the unit square with a1 x1 + a2 x2 <= t, where a1 <= a2.

    Each of its three pieces is clipped to its own stretch of t, so that a stretch without length gives nothing.
    """
    tiny = np.finfo(np.float64).tiny
    d1, d2 = np.maximum(a1, tiny), np.maximum(a2, tiny)
    first = np.clip(t, 0.0, a1)
    second = np.clip(t, a1, a2)
    left = np.clip(a1 + a2 - t, 0.0, a1)
    rising = first * (first / d1) * (first / d2) / 6
    steady = (second - a1) * (second / d2) / 2
    filled = np.maximum(t - a2, 0.0) - (a1 * (a1 / d2) - left * (left / d1) * (left / d2)) / 6
    return np.asarray(rising + steady + filled)


def level(body: Array, volume: float, down: Array) -> Array:
    """Height of the free surface along -down with the volume kept, at each attitude [m].

    Args:
        body: lower and upper corners, shape (boxes, 2, 3) [m].
        volume: of the liquid, from 0 to what the body holds [m3].
        down: unit vectors, shape (batch, 3).

    Returns:
        shape (batch,).

    Raises:
        ValueError: the volume is no volume that the body holds.
    """
    from scipy.optimize import elementwise

    held = capacity(body)
    if not 0.0 <= volume <= held * (1 + HOLDS):
        raise ValueError(f"{volume} m3 in a body of {held} m3")
    lowest, a1, a2, a3 = _seen_along(body, down)
    floor, roof = lowest.min(axis=1), (lowest + a1 + a2 + a3).max(axis=1)
    # So near empty or brimful the ends themselves are the answer, and rounding hides their signs.
    if volume <= _ROUNDED * held:
        return np.asarray(floor)
    if volume >= (1 - _ROUNDED) * held:
        return np.asarray(roof)
    volumes = _volumes(body)

    def over(height: Array, attitude: Array) -> Array:
        """For the attitudes that are not yet found, by their numbers."""
        i = attitude.astype(np.intp)
        return np.asarray(_under(height[:, None] - lowest[i], a1[i], a2[i], a3[i]) @ volumes - volume)

    found = elementwise.find_root(over, (floor, roof), args=(np.arange(len(down)),))
    return np.asarray(found.x)


def parted(body: Array, height: Array, down: Array) -> Booleans:
    """Where the liquid stands in two pools or more: wet boxes that no wetted face joins.

    Args:
        body: lower and upper corners, shape (boxes, 2, 3) [m].
        height: of the surface along -down, shape (batch,) [m].
        down: unit vectors, shape (batch, 3).

    Returns:
        shape (batch,).
    """
    wet = _lowest(body, down) < height[:, None]
    pool = np.where(wet, np.arange(len(body)), len(body))
    pairs = _faces(body)
    joined = [_lowest(face[None], down)[:, 0] < height for _, _, face in pairs]
    for _ in range(len(body)):
        for (i, j, _face), open_ in zip(pairs, joined, strict=True):
            least = np.minimum(pool[:, i], pool[:, j])
            both = open_ & wet[:, i] & wet[:, j]
            pool[:, i], pool[:, j] = np.where(both, least, pool[:, i]), np.where(both, least, pool[:, j])
    first = pool.min(axis=1, keepdims=True)
    return np.asarray((wet & (pool != first)).any(axis=1))


def _lowest(body: Array, down: Array) -> Array:
    """Height of the lowest corner of each box along -down, shape (batch, boxes) [m]."""
    return np.asarray(np.sum(np.minimum(-body[:, 0] * down[:, None], -body[:, 1] * down[:, None]), axis=2))


def _faces(body: Array) -> list[tuple[int, int, Array]]:
    """The boxes that share a face, by twos, and the face as a flat box, shape (2, 3) [m]."""
    found = []
    for i, j in itertools.combinations(range(len(body)), 2):
        face = np.stack([np.maximum(body[i, 0], body[j, 0]), np.minimum(body[i, 1], body[j, 1])])
        shared = face[1] - face[0]
        if (shared > -TOUCHES).all() and (shared > TOUCHES).sum() >= 2:
            found.append((i, j, np.sort(face, axis=0)))
    return found
