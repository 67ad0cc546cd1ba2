"""One end of a hose on its port: where its metal lies, and which way the hose leaves it."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from catalogs.records import HoseEnd

    Array = npt.NDArray[np.float64]

ITS_OWN = 0.020
"""A measured point this near to an end's own metal and straight is one of them [m]."""
ONWARD = math.cos(math.radians(30))
"""A way that turns by less goes on."""


@dataclass(frozen=True)
class Seat:
    """Where an end sits: the seat's centre, and the way the port points, if it is known."""

    at: Array
    points: Array | None


@dataclass(frozen=True)
class Held:
    """One end of a run on its port."""

    end: HoseEnd | None
    seat: Array
    knee: Array | None
    """Where the axes of port and hose meet inside an elbow; None in a straight end, and where they never meet."""
    edge: Array
    """The cut edge of the hose."""
    axis: Array
    """The way the hose leaves, a unit vector."""
    inside: float
    """Length of hose that the end holds straight [m]."""
    outlet: Array | None
    """The way the end's outlet points into its port; None where the port's direction is not known."""
    aside: Array | None
    """From the hose's axis square to it toward the seat; None where that is not known."""
    skipped: int
    """Points of the run that lie within the end itself."""

    @property
    def aimed(self) -> bool:
        """Is the way known that its port points?"""
        return self.outlet is not None

    @property
    def mouth(self) -> Array:
        """Where the hose comes out of its collar."""
        return self.edge + self.inside * self.axis

    @property
    def metal(self) -> list[Array]:
        """Corners from the seat on, as far as the way is not that of the hose's first straight."""
        if self.knee is not None:
            return [self.seat, self.knee]
        beside = self.end is not None and self.end.drop > 0
        return [self.seat, self.edge] if beside else [self.seat]


def held_on(seat: Seat, end: HoseEnd | None, targets: Sequence[Array], most: int, straight: float) -> Held:
    """An end on its port, turned toward the first of its targets that is not a point of the end itself.

    Args:
        seat: where it sits.
        end: the end; None where nothing is known of it.
        targets: the points of the run from here on, then the other seat and what lies beyond it, shape (3,) each [m].
        most: how many of them are points of the run, which may be the end's own.
        straight: length that the hose stays straight behind its collar [m].
    """
    skipped = 0
    while True:
        held = _turned_to(seat, end, targets, skipped)
        if skipped >= most or not _its_own(held, targets[skipped], targets[skipped + 1], straight):
            return held
        skipped += 1


def _its_own(held: Held, point: Array, after: Array, straight: float) -> bool:
    """Is a measured point the corner of an elbow, or one on the straight behind a collar from which the way goes on?"""
    elbow = [*held.metal, held.edge]
    if len(elbow) > 2 and min(_from_stretch(point, a, b) for a, b in itertools.pairwise(elbow)) < ITS_OWN:
        return True
    onward = after - point
    ahead = float(np.dot(onward, held.axis)) > ONWARD * float(np.linalg.norm(onward))
    return ahead and _from_stretch(point, held.edge, held.mouth + straight * held.axis) < ITS_OWN


def _from_stretch(point: Array, a: Array, b: Array) -> float:
    """Distance of a point from a stretch [m]."""
    way = b - a
    part = float(np.clip(np.dot(point - a, way) / max(float(np.dot(way, way)), 1e-18), 0.0, 1.0))
    return float(np.linalg.norm(point - a - part * way))


def _turned_to(seat: Seat, end: HoseEnd | None, targets: Sequence[Array], skipped: int) -> Held:
    cutoff, inside = (0.0, 0.0) if end is None else (end.cutoff, end.insertion or 0.0)
    way = targets[skipped] - seat.at
    if seat.points is None:
        axis = way / max(float(np.linalg.norm(way)), 1e-9)
        return Held(end, seat.at, None, seat.at + cutoff * axis, axis, inside, None, None, skipped)
    turn, drop = (0.0, 0.0) if end is None else (end.angle, end.drop)
    side = _aside(seat.points, [t - seat.at for t in targets[skipped:]])
    axis = math.cos(turn) * seat.points + math.sin(turn) * side
    up = math.sin(turn) * seat.points - math.cos(turn) * side
    edge = seat.at + drop * up + cutoff * axis
    meet = math.sin(turn)
    knee = seat.at + drop / meet * seat.points if meet > 1e-3 and drop > 0 else None
    return Held(end, seat.at, knee, edge, axis, inside, -seat.points, -up, skipped)


def _aside(points: Array, ways: Sequence[Array]) -> Array:
    """The unit vector square to a port's direction, toward the first way that does not lie on it."""
    for way in ways:
        across = way - np.dot(way, points) * points
        size = float(np.linalg.norm(across))
        if size > 0.05 * float(np.linalg.norm(way)):
            return np.asarray(across / size)
    helper = np.array([0.0, 0.0, -1.0]) if abs(points[2]) < 0.9 else np.array([-1.0, 0.0, 0.0])
    across = helper - np.dot(helper, points) * points
    return np.asarray(across / np.linalg.norm(across))
