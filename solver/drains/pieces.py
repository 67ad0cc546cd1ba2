"""A drain as short straight pieces with their bores, and those of one run as it lies."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from lines.centreline import SAME_PLACE
from solver.resistances import of_run as resistance_of_run

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from lines.assembly import Assembly
    from lines.plan import Plan
    from solver.fittings import Part

    Array = npt.NDArray[np.float64]
    Booleans = npt.NDArray[np.bool_]
    Integers = npt.NDArray[np.int64]

STEP = 0.025
"""A straight is cut in pieces no longer than this [m], along which the depth is taken to be one."""
ARC = np.radians(10)
"""An arc is cut in pieces that turn by no more than this."""

HARDLY_FITS = 0.05
"""A hose that lacks more room than this for its bends lies nobody knows how [m]."""


@dataclass(frozen=True)
class Fitting:
    """What a stream loses at one place of a drain."""

    after: int
    """Number of the piece at whose lower end it sits."""
    name: str
    run: int
    """Number of the run that it belongs to."""
    viscous: float
    """Drop [Pa] = viscous mu Q + inertial rho Q^2, of the full bore."""
    inertial: float

    def wider(self, times: float) -> Fitting:
        """The same with every bore so many times as wide [-]."""
        return replace(self, viscous=self.viscous / times**3, inertial=self.inertial / times**4)


@dataclass(frozen=True)
class DrainLine:
    """A drain as pieces, in the way that it flows."""

    outlet: str
    """The port of the turbocharger that it starts at."""
    inlet: str
    """The port that it ends at."""
    runs: tuple[str, ...]
    """Its runs, the upper first."""
    forward: tuple[bool, ...]
    """Does each flow from its start to its end?"""
    points: Array
    """On the bore's axis, shape (pieces + 1, 3) [m]."""
    run: Integers
    """Number of the run of each piece, shape (pieces,)."""
    bore: Array
    """[m], shape (pieces,)."""
    roughness: Array
    """[m], shape (pieces,)."""
    fittings: tuple[Fitting, ...]
    body: Booleans
    """Which pieces lie in the body of a union or a tee, which belongs to the run after it; shape (pieces,)."""

    @property
    def lengths(self) -> Array:
        """Of the pieces, shape (pieces,) [m]."""
        return np.asarray(np.linalg.norm(np.diff(self.points, axis=0), axis=1))

    @property
    def in_hose(self) -> Booleans:
        """Which pieces lie in hose or tube and not in the metal of an end or a body, shape (pieces,)."""
        widest = np.array([self.bore[(self.run == i) & ~self.body].max() for i in self.run])
        return np.asarray((self.bore == widest) & ~self.body)

    @property
    def stations(self) -> Array:
        """Of the points along the drain from the turbocharger, shape (pieces + 1,) [m]."""
        return np.concatenate([[0.0], np.cumsum(self.lengths)])

    def wider(self, times: float) -> DrainLine:
        """The same drain with every bore so many times as wide [-]."""
        return replace(self, bore=self.bore * times, fittings=tuple(f.wider(times) for f in self.fittings))

    def place(self, point: int) -> tuple[str, float]:
        """The run that a point is on, and how far it lies from that run's end A [m]; of a body the end after it."""
        piece = min(point, len(self.run) - 1)
        i = int(self.run[piece])
        stations, mine = self.stations, np.flatnonzero((self.run == i) & ~self.body)
        start, end = stations[mine[0]], stations[mine[-1] + 1]
        station = max(stations[point], start)
        return self.runs[i], float(station - start if self.forward[i] else end - station)


def lies(made: Assembly) -> bool:
    """Does a run lie as its points say, or nearly so? So does one of which only its ends are known."""
    return not made.astray and (made.route is None or made.route.lacks <= HARDLY_FITS)


def of_run(plan: Plan, made: Assembly, others: Mapping[str, Assembly], *, forward: bool) -> DrainLine:
    """One run as pieces, in the way that it flows."""
    tag, route = made.tag, made.route
    if route is None or not made.placed:
        raise UnknownInputError(
            f"where {tag} runs is not known", needs=f"the points of {tag} (via) and `at` of its two ports"
        )
    if not lies(made):
        raise UnknownInputError(f"{tag} cannot lie as its points say", needs=f"what run.radius/{tag} asks for first")
    first, last = route.held
    start, end = route.between_seats
    turns = [start, end]
    for bend in route.line.bends:
        turns += np.linspace(bend.start, bend.end, max(int(np.ceil(bend.turn / ARC)), 1) + 1).tolist()
    turns += [first.inside, route.line.length - last.inside]
    cuts = np.unique(np.round(np.clip(turns, start, end), 9))
    hose = route.line.at(_cut_short(cuts))
    stations = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(hose[0], axis=0), axis=1))])
    middles = start + (stations[1:] + stations[:-1]) / 2 * (end - start) / max(stations[-1], 1e-9)
    ports = [np.array(plan.port(ref).at) for ref in (made.run.start, made.run.end)]
    heads = [np.array([*([port] if np.linalg.norm(port - h.metal[0]) > SAME_PLACE else []), *h.metal])
             for port, h in zip(ports, (first, last), strict=True)]  # fmt: skip
    bores = [made.stock.bore if end is None else end.bore for end in made.chosen]
    bore = np.where(
        middles < first.inside,
        bores[0],
        np.where(middles > route.line.length - last.inside, bores[1], made.stock.bore),
    )
    points = np.concatenate([heads[0], hose[0], heads[1][::-1]])
    bore = np.concatenate([np.full(len(heads[0]), bores[0]), bore, np.full(len(heads[1]), bores[1])])
    # The last piece before each change of bore, between an end's metal and its hose.
    collars = (middles < first.inside).sum(), (middles <= route.line.length - last.inside).sum()
    mouths = tuple(max(len(heads[0]) + int(count) - 1, 0) for count in collars)
    fittings = [
        Fitting(
            _after(part, made, (mouths[0], mouths[1]), stations, len(heads[0]), start),
            part.name,
            0,
            part.viscous,
            part.inertial if forward else part.inertial_back,
        )
        for part in resistance_of_run(plan, made, others).parts
    ]
    points, bore, fittings = _without_double(points, bore, fittings)
    if not forward:
        count = len(bore)
        points, bore = points[::-1], bore[::-1]
        fittings = [replace(f, after=max(count - 2 - f.after, 0)) for f in fittings]
    rough = np.full(len(bore), made.stock.roughness)
    nothing = np.zeros(len(bore), dtype=np.int64)
    above, below = (made.run.start, made.run.end)[:: 1 if forward else -1]
    return DrainLine(above, below, (tag,), (forward,), points, nothing, bore, rough, tuple(fittings), nothing > 0)


def _cut_short(stations: Array) -> Array:
    """Stations with more between them, so that none are farther apart than a step [m]."""
    parts = [np.linspace(a, b, max(int(np.ceil((b - a) / STEP)), 1) + 1)[:-1] for a, b in itertools.pairwise(stations)]
    return np.concatenate([*parts, stations[-1:]])


def _after(part: Part, made: Assembly, mouths: tuple[int, int], stations: Array, before: int, start: float) -> int:
    """The piece after which a named loss of a run sits: an end's at its mouth, a bend's at its middle."""
    if part.name.endswith(f" at {made.run.start}"):
        return mouths[0]
    if part.name.endswith(f" at {made.run.end}"):
        return mouths[1]
    number = int(part.name.removeprefix("bend "))
    assert made.bends is not None
    return before + int(np.searchsorted(stations, made.bends[number - 1].middle - start)) - 1


def _without_double(points: Array, bore: Array, fittings: list[Fitting]) -> tuple[Array, Array, list[Fitting]]:
    """Without pieces of no length."""
    kept = np.linalg.norm(np.diff(points, axis=0), axis=1) > SAME_PLACE
    number = np.maximum(np.cumsum(kept) - 1, 0)
    moved = [replace(f, after=int(number[min(f.after, len(number) - 1)])) for f in fittings]
    return points[np.concatenate([[True], kept])], bore[kept], moved
