"""The centreline of a hose or tube: straights through the corners of a polyline, joined by arcs.

Two straights that meet at the angle `turn` are joined by an arc of radius r, which takes r tan(turn/2) off each and is
r * turn long. Along it a frame is carried without rotation about the line itself: on a straight it stays, on an arc it
turns with the tangent about the arc's axis. A hose that lies without twist carries its printed line like that.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

STRAIGHTEST = math.radians(0.5)
"""A corner under this is no bend."""
SAME_PLACE = 1e-6
"""Points nearer than this are one [m]."""
SHARPEST = math.radians(179.0)
"""A corner over this has no arc: its tangents have no end."""


@dataclass(frozen=True, slots=True)
class Bend:
    """One arc of a centreline."""

    turn: float
    """[rad]"""
    radius: float
    """Of the centreline [m]."""
    room: float
    """The largest radius that fits between the corners beside it [m]."""
    start: float
    """Station of its first point along the centreline [m]."""
    axis: tuple[float, float, float]
    """About which the tangent turns, by the right hand."""

    @property
    def length(self) -> float:
        return self.radius * self.turn

    @property
    def middle(self) -> float:
        """Station of its middle [m]."""
        return self.start + self.length / 2

    @property
    def end(self) -> float:
        """Station of its last point [m]."""
        return self.start + self.length


def angle_between(a: Array, b: Array) -> float:
    """Between two ways, shape (3,) each [rad]."""
    return math.atan2(float(np.linalg.norm(np.cross(a, b))), float(np.dot(a, b)))


def corners(points: Array) -> Array:
    """The corners of a polyline: its ends, and every point at which it turns, shape (n, 3) [m].

    A point on a straight, such as a clamp, is no corner.
    """
    points = np.asarray(points, dtype=float)
    apart = np.linalg.norm(np.diff(points, axis=0), axis=1) > SAME_PLACE
    points = points[np.concatenate([[True], apart])]
    while len(points) > 2:
        legs = np.diff(points, axis=0)
        cross = np.linalg.norm(np.cross(legs[:-1], legs[1:]), axis=1)
        straight = np.arctan2(cross, np.sum(legs[:-1] * legs[1:], axis=1)) <= STRAIGHTEST
        if not straight.any():
            break
        # No two neighbours at once: of several points on a slow curve each is a corner once its neighbour is gone.
        gone: list[int] = []
        for i in np.flatnonzero(straight).tolist():
            gone += [i] if not gone or i > gone[-1] + 1 else []
        points = np.delete(points, np.array(gone) + 1, axis=0)
    return points


class Centreline:
    """A centreline through corners, its bends of one radius or tighter where there is less room."""

    def __init__(self, points: Array, radius: float, *, kept: tuple[float, float] = (0.0, 0.0)) -> None:
        """Lay a line through corners.

        Args:
            points: corners from end to end, shape (n, 3) [m]; corners on a straight and double points do no harm.
            radius: of the centreline in its bends [m].
            kept: length that stays straight behind each end [m].
        """
        self.corners: Array = corners(points)
        legs = np.diff(self.corners, axis=0)
        self.legs: Array = np.linalg.norm(legs, axis=1)
        self.tangents: Array = legs / self.legs[:, None]
        cross = np.cross(self.tangents[:-1], self.tangents[1:])
        sine = np.linalg.norm(cross, axis=1)
        self.turns: Array = np.arctan2(sine, np.sum(self.tangents[:-1] * self.tangents[1:], axis=1))
        self.tangent_of_half: Array = np.tan(np.minimum(self.turns, SHARPEST) / 2)
        """Of half of each turn: what an arc takes off each of its two straights, over its radius."""
        room = self._largest(kept)
        radii = np.minimum(room, radius)
        self.bends = tuple(self._bends(radii, room, cross / np.maximum(sine, 1e-12)[:, None]))
        self.length = float(self.legs.sum() + np.sum(radii * (self.turns - 2 * self.tangent_of_half)))
        self.shortest = float(self.legs.sum() + np.sum(room * (self.turns - 2 * self.tangent_of_half)))
        """With every bend as wide as fits [m]."""

    def _largest(self, kept: tuple[float, float]) -> Array:
        """The largest arc at each corner: a leg between two corners is shared as their tangents ask."""
        free = self.legs.copy()
        free[0] -= kept[0]
        free[-1] -= kept[1]
        tangents = np.concatenate([[0.0], self.tangent_of_half, [0.0]])
        share = np.maximum(free, 0.0) / np.maximum(tangents[:-1] + tangents[1:], 1e-12)
        return np.asarray(np.minimum(share[:-1], share[1:]))

    def _bends(self, radii: Array, room: Array, axes: Array) -> list[Bend]:
        reach = np.concatenate([[0.0], radii * self.tangent_of_half, [0.0]])
        straights = self.legs - reach[:-1] - reach[1:]
        arcs = radii * self.turns
        starts = np.cumsum(straights[:-1]) + np.concatenate([[0.0], np.cumsum(arcs)])[:-1] if len(arcs) else arcs
        return [
            Bend(float(t), float(r), float(most), float(s), (float(a[0]), float(a[1]), float(a[2])))
            for t, r, most, s, a in zip(self.turns, radii, room, starts, axes, strict=True)
        ]

    @property
    def straights(self) -> list[float]:
        """Length of each straight, before the first bend first [m]."""
        edges = [0.0, *(x for bend in self.bends for x in (bend.start, bend.end)), self.length]
        return [edges[i + 1] - edges[i] for i in range(0, len(edges), 2)]

    @cached_property
    def _pieces(self) -> tuple[Array, Array, Array, Array, Array]:
        """Of each piece, straights and arcs by turns: station of its start, point, tangent, axis and curvature."""
        starts, points, tangents, axes, curvatures = [0.0], [self.corners[0]], [self.tangents[0]], [np.zeros(3)], [0.0]
        for i, bend in enumerate(self.bends):
            reach = bend.radius * self.tangent_of_half[i]
            corner = self.corners[i + 1]
            for station, along, tangent, curvature in (
                (bend.start, -reach * self.tangents[i], self.tangents[i], 1.0 / max(bend.radius, 1e-9)),
                (bend.end, reach * self.tangents[i + 1], self.tangents[i + 1], 0.0),
            ):
                starts.append(station)
                points.append(corner + along)
                tangents.append(tangent)
                axes.append(np.array(bend.axis))
                curvatures.append(curvature)
        return np.array(starts), np.array(points), np.array(tangents), np.array(axes), np.array(curvatures)

    def at(self, stations: Array) -> tuple[Array, Array]:
        """Points and unit tangents at stations.

        Args:
            stations: along the centreline, shape (n,) [m].

        Returns:
            points [m] and tangents, shape (n, 3) each.
        """
        starts, points, tangents, axes, curvatures = self._pieces
        stations = np.asarray(stations, dtype=float)
        i = np.clip(np.searchsorted(starts, stations, side="right") - 1, 0, len(starts) - 1)
        along, turn = stations - starts[i], (stations - starts[i]) * curvatures[i]
        tangent, inward = tangents[i], np.cross(axes[i], tangents[i])
        curved = curvatures[i] > 0
        radius = 1.0 / np.where(curved, curvatures[i], 1.0)
        ahead = np.where(curved, radius * np.sin(turn), along)
        aside = np.where(curved, radius * (1.0 - np.cos(turn)), 0.0)
        found = points[i] + ahead[:, None] * tangent + aside[:, None] * inward
        return found, np.cos(turn)[:, None] * tangent + np.sin(turn)[:, None] * inward

    def sampled(self, step: float) -> Array:
        """Points along the whole line no further apart than a step, shape (n, 3) [m]."""
        return self.at(np.linspace(0.0, self.length, max(math.ceil(self.length / step), 1) + 1))[0]

    def carried(self, vector: Array) -> Array:
        """A vector at the start as it arrives at the end, carried without rotation about the line, shape (3,)."""
        for bend in self.bends:
            vector = turned(vector, np.array(bend.axis), bend.turn)
        return vector

    @property
    def rotations(self) -> list[float]:
        """Between each bend and the next, how far the plane of bending turns [rad], -pi to pi.

        Seen along the line from its start, counter-clockwise is positive: about the tangent that points at the viewer.
        """
        axes = [np.array(bend.axis) for bend in self.bends]
        return [
            math.atan2(float(np.dot(-tangent, np.cross(a, b))), float(np.dot(a, b)))
            for a, b, tangent in zip(axes, axes[1:], self.tangents[1:], strict=False)
        ]


def turned(vector: Array, axis: Array, angle: float) -> Array:
    """A vector turned about a unit axis by the right hand, shape (3,) (Rodrigues' formula)."""
    c, s = math.cos(angle), math.sin(angle)
    return np.asarray(c * vector + s * np.cross(axis, vector) + (1.0 - c) * np.dot(axis, vector) * axis)
