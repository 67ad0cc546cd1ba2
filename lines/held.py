"""One end of a hose on its port: where its metal lies, and which way the hose leaves it."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lines.centreline import angle_between

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from catalogs.records import HoseEnd

    Array = npt.NDArray[np.float64]

ITS_OWN = 0.020
"""A measured point this near to an end's own metal and straight is one of them [m]."""
ONWARD = math.radians(30)
"""A way that turns by less goes on."""
WIDEST = math.radians(160)
"""A turn over this has no place for its bend."""
HARDLY = 0.005
"""A way less than this aside of a port's direction does not tell which way an end is turned [m]."""
NEAR_PORT = 0.1
"""A corner of a wire no farther over a port may be meant for that of an elbow [m]."""
ALIKE = 1e-3
"""Angles this near to each other are one [rad]."""


@dataclass(frozen=True)
class Bench:
    """What a hose may do: its least radius, and how long it stays straight behind a collar."""

    radius: float
    """Of the centreline [m]."""
    straight: float
    """[m]"""


@dataclass(frozen=True)
class Seat:
    """Where an end sits: the seat's centre, and the way the port points, if it is known."""

    at: Array
    points: Array | None


@dataclass(frozen=True)
class Held:
    """One end of a run on its port."""

    end: HoseEnd | None
    metal: tuple[Array, ...]
    """Corners of its centreline from the seat on, as far as they are not those of the hose's first straight."""
    edge: Array
    """The cut edge of the hose."""
    axis: Array
    """The way the hose leaves, a unit vector."""
    inside: float
    """Length of hose that the end holds straight [m]."""
    outlet: Array | None
    """The way the end's outlet points into its port; None where the port's direction is not known."""
    aside: Array | None
    """From the hose's axis square to it toward the seat; None where nothing says which way the end is turned."""
    skipped: int
    """Points of the run that are the end's own."""
    missed: float
    """How far the farthest of them lies from it [m]."""

    @property
    def aimed(self) -> bool:
        """Is the way known that its port points?"""
        return self.outlet is not None

    @property
    def seat(self) -> Array:
        """The seat's centre."""
        return self.metal[0]

    @property
    def mouth(self) -> Array:
        """Where the hose comes out of its collar."""
        return self.edge + self.inside * self.axis


def held_on(
    seat: Seat, ends: Sequence[HoseEnd | None], targets: Sequence[Array], most: int, bench: Bench
) -> list[Held]:
    """Each end on its port, turned toward the first of its targets that is not a point of the end itself.

    An elbow whose first point stands over its port, nearer than a straight end could bend to the next, is laid twice:
    through that point, and with its own corner in its place.

    Args:
        seat: where it sits.
        ends: the ends to choose from; None where nothing is known of it.
        targets: the points of the run from here on, then the other seat and what lies beyond it, shape (3,) each [m].
        most: how many of them are points of the run, which may be the end's own.
        bench: what the hose may do.
    """
    found = []
    for end in ends:
        held = _past_its_own(seat, end, targets, most, bench)
        found.append(held)
        if held.skipped < most and _over_port(seat, held, targets[held.skipped], targets[held.skipped + 1], bench):
            found.append(_turned_to(seat, end, targets, held.skipped + 1))
    return found


def _past_its_own(seat: Seat, end: HoseEnd | None, targets: Sequence[Array], most: int, bench: Bench) -> Held:
    skipped = 0
    while True:
        held = _turned_to(seat, end, targets, skipped)
        if skipped >= most or not _its_own(held, targets[skipped], targets[skipped + 1], bench):
            return held
        skipped += 1


def _its_own(held: Held, point: Array, after: Array, bench: Bench) -> bool:
    """Is a measured point the corner of an elbow, or one where the hose is still coming out of its end?"""
    elbow = [*held.metal, held.edge]
    if len(elbow) > 2 and min(_from_stretch(point, a, b) for a, b in itertools.pairwise(elbow)) < ITS_OWN:
        return True
    turn = angle_between(held.axis, after - point)
    if turn > ONWARD:
        return False
    reach = bench.straight + 2 * bench.radius * math.tan(turn / 2)
    return _from_stretch(point, held.edge, held.mouth + reach * held.axis) < max(ITS_OWN, reach * math.sin(turn))


def _over_port(seat: Seat, held: Held, point: Array, after: Array, bench: Bench) -> bool:
    """Does a point stand on the port's axis, nearer than a straight end could bend to the next?"""
    if seat.points is None or held.end is None or len(held.metal) == 1:
        return False
    ahead = float(np.dot(point - seat.at, seat.points))
    beside = float(np.linalg.norm(point - seat.at - ahead * seat.points))
    turn = angle_between(seat.points, after - point)
    needs = held.end.cutoff + held.inside + bench.straight + bench.radius * math.tan(min(turn, WIDEST) / 2)
    return turn > ONWARD and beside < ITS_OWN and 0 < ahead < min(needs, NEAR_PORT)


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
        return Held(end, (seat.at,), seat.at + cutoff * axis, axis, inside, None, None, skipped, 0.0)
    turn, drop = (0.0, 0.0) if end is None else (end.angle, end.drop)
    known = _aside(seat.points, [t - seat.at for t in targets[skipped:]])
    side = _any_aside(seat.points) if known is None else known
    axis = math.cos(turn) * seat.points + math.sin(turn) * side
    up = math.sin(turn) * seat.points - math.cos(turn) * side
    edge = seat.at + drop * up + cutoff * axis
    metal = (seat.at,) if end is None else _metal(seat.at, seat.points, side, end)
    stops = [*metal, edge, edge + inside * axis]
    missed = max(
        (min(_from_stretch(p, a, b) for a, b in itertools.pairwise(stops)) for p in targets[:skipped]), default=0
    )
    return Held(end, metal, edge, axis, inside, -seat.points, None if known is None else -up, skipped, missed)


def _metal(seat: Array, points: Array, side: Array, end: HoseEnd) -> tuple[Array, ...]:
    """Corners of an end from its seat on: none but that of a straight end, the corner of an elbow up to a right angle.

    The axes of one beyond meet far outside its metal: its arc stands for them.
    """
    turn, sine = end.angle, math.sin(end.angle)
    if end.straight or end.drop <= 0:
        return (seat,)
    if turn <= math.pi / 2 + ALIKE:
        return seat, seat + end.drop / sine * points
    radius = end.drop / (1.0 - math.cos(turn))
    leg = 0.0
    if end.bend_ratio is not None and end.bend_ratio * end.bore < radius:
        radius = end.bend_ratio * end.bore
        leg = (end.drop - radius * (1.0 - math.cos(turn))) / sine if sine > ALIKE else 0.0
    start, middle = seat + leg * points, seat + leg * points + radius * side
    arc = [middle + radius * (math.sin(t) * points - math.cos(t) * side) for t in (turn / 3, 2 * turn / 3, turn)]
    return (seat, *([start] if leg > 0 else []), *arc)


def _aside(points: Array, ways: Sequence[Array]) -> Array | None:
    """The unit vector square to a port's direction, toward the first way that does not lie on it; None if all do."""
    for way in ways:
        across = way - np.dot(way, points) * points
        size = float(np.linalg.norm(across))
        if size > max(0.05 * float(np.linalg.norm(way)), HARDLY):
            return np.asarray(across / size)
    return None


def _any_aside(points: Array) -> Array:
    helper = np.array([0.0, 0.0, -1.0]) if abs(points[2]) < 0.9 else np.array([-1.0, 0.0, 0.0])
    across = helper - np.dot(helper, points) * points
    return np.asarray(across / np.linalg.norm(across))
