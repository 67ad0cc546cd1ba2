"""What the views of runs and of the vehicle show, in metres: lines projected on a plane, boxes, zones. No drawing.

Axes of ISO 8855. The side is seen from the right, so that forward is to the right as it is from above; the front view
has the vehicle's left on its right.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from reports.marks import marks

if TYPE_CHECKING:
    from collections.abc import Iterable

    import numpy.typing as npt

    from lines.assembly import Assembly
    from lines.centreline import Centreline
    from lines.held import Held
    from lines.plan import Plan
    from lines.zones import Nature, ZoneTable
    from solver.study import Study

    Array = npt.NDArray[np.float64]

View = Literal["side", "top", "front"]

PLANES: dict[View, tuple[int, int]] = {"side": (0, 2), "top": (0, 1), "front": (1, 2)}
"""The axes to the right and up of each view."""
SEEN: dict[View, str] = {
    "side": "SIDE, from the right",
    "top": "TOP, from above",
    "front": "FRONT, from ahead",
}
ARC = math.radians(6)
ACROSS = 0.5
"""A run that goes forward by less of what it goes aside and up shows its bends from ahead."""
ROUND = 48  # points of a circle
NEAR = 0.6
"""The zero point is shown where it lies no further off than so much of the vehicle's length."""


def projected(points: Array, view: View) -> Array:
    """Points as a view shows them: to the right and up.

    Args:
        points: shape (n, 3) [m].
        view: which.

    Returns:
        shape (n, 2) [m].
    """
    return np.asarray(points[:, list(PLANES[view])])


def drawn(line: Centreline) -> Array:
    """A centreline as a polyline, its arcs in steps of some degrees, shape (n, 3) [m]."""
    stations = [np.array([0.0, line.length])]
    stations += [np.linspace(b.start, b.end, math.ceil(b.turn / ARC) + 1) for b in line.bends]
    return line.at(np.unique(np.concatenate(stations)))[0]


# ---------------------------------------------------------------- one run


@dataclass(frozen=True)
class Spot:
    """A mark on a run."""

    label: str
    what: Literal["bend", "clamp"]
    at: Array
    along: Array
    """The way of the hose there."""


@dataclass(frozen=True)
class RunShape:
    """A run as it lies, for its own small views."""

    hose: Array
    """Centreline from cut edge to cut edge, shape (n, 3) [m]."""
    metal: tuple[Array, Array]
    """Each end from its seat through its elbow to where the hose comes out of it, shape (n, 3) [m]."""
    outside: float
    """Of the hose [m]."""
    spots: tuple[Spot, ...]
    ports: tuple[str, str]
    says: str
    """What its place in the vehicle is known by."""

    @property
    def seats(self) -> tuple[Array, Array]:
        return self.metal[0][0], self.metal[1][0]

    @property
    def views(self) -> tuple[View, View]:
        """From above and from the side; from ahead in place of one of them where it runs across the vehicle."""
        x, y, z = np.ptp(self.everything, axis=0)
        if x >= ACROSS * min(y, z):
            return "top", "side"
        return ("front", "side") if z >= y else ("top", "front")

    @property
    def everything(self) -> Array:
        """Every point that a view has to hold, shape (n, 3) [m]."""
        return np.concatenate([self.hose, *self.metal])


PLACED = "In vehicle axes."
LOOSE = "Its place in the vehicle is not known."


def run_shape(plan: Plan, made: Assembly) -> RunShape | None:
    """A run as it lies; None where its way is not known."""
    route = made.route
    if route is None:
        return None
    found = [m for m in marks(plan, made, plan.system) if math.isfinite(m.station)]
    at, along = route.line.at(np.array([m.station for m in found]))
    spots = [Spot(m.label, m.what, p, t) for m, p, t in zip(found, at, along, strict=True)]
    first, last = (_metal(held) for held in route.held)
    ports = made.run.start, made.run.end
    says = PLACED if made.placed else LOOSE
    return RunShape(drawn(route.line), (first, last), made.stock.outside, tuple(spots), ports, says)


def _metal(held: Held) -> Array:
    return np.array([*held.metal, held.edge, held.mouth])


# ---------------------------------------------------------------- the vehicle


@dataclass(frozen=True)
class Strand:
    """A placed run: its points from seat to seat."""

    tag: str
    circuit: str
    points: Array
    """Shape (n, 3) [m]."""


@dataclass(frozen=True)
class Solid:
    """A component as a box about its ports."""

    name: str
    corners: Array
    """The lowest and the highest corner, shape (2, 3) [m]."""
    circuits: frozenset[str]


@dataclass(frozen=True)
class Zone:
    """A zone: the outline of each view, shape (n, 2) [m]."""

    name: str
    nature: Nature
    outlines: dict[View, Array]


@dataclass(frozen=True)
class Vehicle:
    """Every line of a vehicle whose place is known."""

    strands: tuple[Strand, ...]
    solids: tuple[Solid, ...]
    zones: tuple[Zone, ...]
    zero: str
    fluids: dict[str, str]
    """Of each circuit, in the plan's order: what flows in it."""
    left_out: tuple[str, ...]
    """Tags of the runs whose place is not known."""

    @property
    def circuits(self) -> tuple[str, ...]:
        """Those that have a line here."""
        there = {strand.circuit for strand in self.strands}
        return tuple(name for name in self.fluids if name in there)

    def only(self, circuits: Iterable[str]) -> Vehicle:
        """The lines of some circuits with what they join; every zone stays."""
        kept = set(circuits)
        return Vehicle(
            tuple(s for s in self.strands if s.circuit in kept),
            tuple(s for s in self.solids if s.circuits & kept),
            self.zones,
            self.zero,
            self.fluids,
            self.left_out,
        )

    def extent(self, *, zones: bool) -> Array:
        """The lowest and the highest corner of everything, with the zero point where it lies near, shape (2, 3) [m].

        Args:
            zones: with the zones that lie near? Those that reach beyond are cut off at the frame.
        """
        points = [*(s.points for s in self.strands), *(s.corners for s in self.solids)]
        low, high = (np.concatenate(points).min(axis=0), np.concatenate(points).max(axis=0))
        near = (high - low).max()
        for zone in self.zones if zones else ():
            own = _box(zone)
            if (np.minimum(low, own[0]) > low - near).all() and (np.maximum(high, own[1]) < high + near).all():
                low, high = np.minimum(low, own[0]), np.maximum(high, own[1])
        if (low < NEAR * near).all() and (high > -NEAR * near).all():
            low, high = np.minimum(low, 0.0), np.maximum(high, 0.0)
        return np.array([low, high])


def _box(zone: Zone) -> Array:
    side, top = zone.outlines["side"], zone.outlines["top"]
    return np.array([[f(side[:, 0]), f(top[:, 1]), f(side[:, 1])] for f in (np.min, np.max)])


def vehicle(study: Study) -> Vehicle | None:
    """The lines of a vehicle; None where the place of none is known."""
    plan = study.plan
    placed = {tag: made.route for tag, made in study.assemblies.items() if made.placed and made.route is not None}
    if not placed:
        return None
    strands = tuple(
        Strand(tag, plan.runs[tag].circuit, route.seat_to_seat(drawn(route.line))) for tag, route in placed.items()
    )
    return Vehicle(
        strands,
        tuple(_solids(plan, strands)),
        tuple(_zone(name, zone) for name, zone in plan.zones.items()),
        plan.head.zero,
        {name: plan.catalog.fluid(table.fluid).means for name, table in plan.circuits.items()},
        tuple(tag for tag in plan.runs if tag not in placed),
    )


def _solids(plan: Plan, strands: tuple[Strand, ...]) -> Iterable[Solid]:
    """The components at the ends of the lines."""
    circuits: dict[str, set[str]] = {}
    for strand in strands:
        for port in (plan.runs[strand.tag].start, plan.runs[strand.tag].end):
            circuits.setdefault(port.partition(".")[0], set()).add(strand.circuit)
    for name, joined in circuits.items():
        places = np.array([port.at for port in plan.components[name].ports.values() if port.at is not None])
        yield Solid(name, np.array([places.min(axis=0), places.max(axis=0)]), frozenset(joined))


# ---------------------------------------------------------------- outlines of zones


def _zone(name: str, zone: ZoneTable) -> Zone:
    surface = _surface(zone)
    return Zone(name, zone.nature, {view: hull(projected(surface, view)) for view in PLANES})


def _surface(zone: ZoneTable) -> Array:
    """Points of which the hull is the zone, shape (n, 3) [m]."""
    if zone.form == "box":
        return np.array(list(itertools.product(*np.array([zone.corner, zone.opposite]).T)))
    radius, circle = zone.radius or 0.0, np.linspace(0.0, 2 * math.pi, ROUND, endpoint=False)
    if zone.form == "sphere":
        around = radius * np.stack([np.cos(circle), np.sin(circle), np.zeros(ROUND)], axis=1)
        # A great circle in each of the three planes has the outline of the sphere in each view.
        return np.asarray(np.array(zone.centre) + np.concatenate([np.roll(around, turn, axis=1) for turn in range(3)]))
    start, end = np.array(zone.start), np.array(zone.end)
    axis = (end - start) / np.linalg.norm(end - start)
    across = np.cross(axis, np.eye(3)[int(np.abs(axis).argmin())])
    across /= np.linalg.norm(across)
    rim = radius * (np.cos(circle)[:, None] * across + np.sin(circle)[:, None] * np.cross(axis, across))
    return np.asarray(np.concatenate([start + rim, end + rim]))


def hull(points: Array) -> Array:
    """The convex outline of points counter-clockwise, shape (n, 2) [m] (Andrew's monotone chain)."""
    places = sorted({(float(x), float(y)) for x, y in np.round(points, 9)})
    if len(places) < 3:
        return np.array(places)
    chains: list[list[tuple[float, float]]] = []
    for way in (places, places[::-1]):
        chain: list[tuple[float, float]] = []
        for point in way:
            while len(chain) > 1 and _left(chain[-2], chain[-1], point) <= 0:
                chain.pop()
            chain.append(point)
        chains.append(chain[:-1])
    return np.array([*chains[0], *chains[1]])


def _left(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    """Over 0 where c lies to the left of the way from a to b."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
