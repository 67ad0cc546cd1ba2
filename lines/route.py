"""How a hose or tube lies between two ports with a given pair of ends.

An end swivels on its port: a straight one leaves along the way that the port points, an angled one at its angle to it,
turned toward the first point of the run. From there the hose stays straight inside its collar and a little behind,
bends no tighter than it may, and goes through the points. Where its way does not lie on that of the end, one more bend
behind the collar joins them.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from lines.centreline import STRAIGHTEST, Centreline, angle_between, corners
from lines.held import ITS_OWN, WIDEST, Bench, Held, Seat, held_on

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from catalogs.records import HoseEnd

    Array = npt.NDArray[np.float64]

ROUNDS, CALM = 400, 40
"""In which a bend behind a collar finds its place, each a little nearer; after so many it goes half way only."""
SETTLED = 1e-8
"""It has found it when it moves by less [m]."""
TURNS_BACK = math.radians(100)
"""Behind a collar a turn of more, to reach a measured point, comes back to it."""
TRIED = 3
"""How many of the best angles of each end are laid when the very best does not fit."""
DEARER = 0.1
"""Of two ends between which the hose bends as much, the straighter is taken: an elbow's angle counts this much."""
MEETS_WITHIN = 0.025
"""Two measured axes that pass nearer than this meet [m]."""
FITS = 1e-3
"""No tape reads less: a straight that lacks no more than this fits [m]."""
ASIDE = 20.0
"""A measured point that an end passes by counts as so much bending [rad/m]."""
EASY = math.radians(25)
"""A turn behind a straight end that any hose takes: no elbow is bought for less."""
TIGHTER = np.linspace(1.0, 0.05, 20)
"""Shares of its least radius to which a hose is taken to be forced where it does not fit."""
FARTHEST = 4.0
"""Two ports that do not fit together so much farther apart do not fit together [m]."""


@dataclass(frozen=True)
class Route:
    """A run as it lies with one pair of ends."""

    held: tuple[Held, Held]
    line: Centreline
    """Of the hose, from cut edge to cut edge."""
    lacks: float
    """How much longer the straight that lacks most would have to be [m]; 0 or less where everything fits."""
    where: str
    """The straight that has the least room to spare."""
    behind: tuple[bool, bool]
    """Does the hose bend behind this end just to find its way?"""
    folded: tuple[bool, bool]
    """Is the first point so near this end, or so far aside of it, that the hose would have to come back to it?"""

    @property
    def fits(self) -> bool:
        return self.lacks <= FITS and not any(self.folded)

    @property
    def found(self) -> bool:
        """Is there a way at all, be it too tight?"""
        return not math.isinf(self.lacks)

    @property
    def cut(self) -> float:
        """Length of hose from cut edge to cut edge [m]; less than 0 where the two ends overlap on one line."""
        first, last = self.held
        behind = not self.line.bends and float(np.dot(last.edge - first.edge, first.axis)) < 0
        return -self.line.length if behind else self.line.length

    @property
    def between_seats(self) -> tuple[float, float]:
        """Stations of the hose's first and last point between the seats [m]: over a spigot it reaches past one."""
        first, last = (
            max(float(np.dot(held.seat - held.edge, held.axis)), 0.0) if len(held.metal) == 1 else 0.0
            for held in self.held
        )
        return min(first, self.line.length), max(self.line.length - last, 0.0)

    @property
    def points(self) -> Array:
        """Corners from seat to seat through the elbows, shape (n, 3) [m]."""
        return corners(self.seat_to_seat(self.line.corners[1:-1]))

    def seat_to_seat(self, hose: Sequence[Array] | Array) -> Array:
        """Points of the hose with those of both ends' metal about them, shape (n, 3) [m]."""
        first, last = self.held
        return np.array([*first.metal, *hose, *last.metal[::-1]])

    def taken_up(self, which: int) -> float:
        """Angle that the hose itself bends behind an end to find the run's way [rad]."""
        if not self.behind[which] or not self.line.bends:
            return 0.0
        return self.line.bends[0 if which == 0 else -1].turn


def laid(
    seats: tuple[Seat, Seat],
    via: Sequence[Array],
    choices: tuple[Sequence[HoseEnd | None], Sequence[HoseEnd | None]],
    bench: Bench,
) -> Route:
    """The best of all pairs of ends: one that fits, then the one between which the hose bends least.

    Args:
        seats: of both ends.
        via: points of the run between them, shape (3,) each [m].
        choices: the ends to choose from, one or more for each side; None for an end of which nothing is known.
        bench: what the hose may do.
    """
    # Of points on a straight wire none is a corner that the hose would have to find.
    via = list(corners(np.array([seats[0].at, *via, seats[1].at]))[1:-1]) if via else via
    sides: list[list[Held]] = []
    for seat, other, ends, points in zip(seats, seats[::-1], choices, (list(via), list(via)[::-1]), strict=True):
        # Last the way that the other port points: it turns an elbow whose own port looks straight at everything else.
        beyond = [] if other.points is None else [other.at + other.points * float(np.linalg.norm(other.at - seat.at))]
        held = held_on(seat, ends, [*points, other.at, *beyond], len(points), bench)
        sides.append(sorted(held, key=lambda one: _side(one, points, other)))
    routes = []
    for some in (TRIED, None):  # the best of each side first, all of them before none is said to fit
        pairs = itertools.product(sides[0][:some], sides[1][:some])
        for pair in sorted(pairs, key=lambda pair: _bending(pair, via)):
            routes.append(_lay(pair, via, bench))
            if routes[-1].fits:
                return routes[-1]
    if via:
        return min(routes, key=lambda route: (any(route.folded), round(route.lacks, 4)))
    return _forced([route.held for route in routes], bench)


def _side(held: Held, points: Sequence[Array], other: Seat) -> float:
    """How much the hose bends from one end to the second stretch of its way [rad], and a little for the end's angle."""
    ahead = [*points[held.skipped :], other.at]
    ways = [held.axis, ahead[0] - held.mouth]
    if len(ahead) > 1:
        ways.append(ahead[1] - ahead[0])
    elif other.points is not None:
        ways.append(-other.points)
    first, *rest = (angle_between(a, b) for a, b in itertools.pairwise(ways))
    return _behind(held, first) + sum(rest) + _price(held)


def _price(held: Held) -> float:
    """What an end counts itself [rad]: for its angle, and for a measured point that it passes by."""
    elbow = 0.0 if held.end is None else held.end.angle
    return DEARER * elbow + ASIDE * max(held.missed - ITS_OWN, 0.0)


def _behind(held: Held, turn: float) -> float:
    """What a turn behind a collar counts [rad]: nothing where a straight end leaves it to the hose and it is easy."""
    return max(turn - EASY, 0.0) if len(held.metal) == 1 else turn


def _forced(pairs: Sequence[tuple[Held, Held]], bench: Bench) -> Route:
    """Of pairs of ends between two ports none of which fits, the one with the least to force: length that it lacks, and
    length of hose in its bends; bent as tight as it would be.

    A hose that may not bend so tight has no way there; that of one which may is the nearest to what hands would force.
    """
    lacks, nearest, least = math.inf, pairs[0], math.inf
    for bent, pair in sorted(((bench.radius * _bending(pair, []), pair) for pair in pairs), key=lambda one: one[0]):
        if bent >= least:
            break
        more = _apart(pair, bench)
        if more + bent < least:
            lacks, nearest, least = more, pair, more + bent
    tight = [_lay(nearest, [], replace(bench, radius=share * bench.radius)) for share in TIGHTER]
    found = next((route for route in tight if route.fits), tight[-1])
    return replace(found, lacks=lacks, where="between the two ports")


def _fits_apart(pair: tuple[Held, Held], more: float, bench: Bench) -> bool:
    """Does a pair of ends fit so much farther apart along the straight line between the two seats [m]?"""
    first, last = pair
    way = (last.seat - first.seat) / max(float(np.linalg.norm(last.seat - first.seat)), 1e-9)
    moved = replace(last, metal=tuple(p + more * way for p in last.metal), edge=last.edge + more * way)
    return _lay((first, moved), [], bench).fits


def _apart(pair: tuple[Held, Held], bench: Bench) -> float:
    """How much farther apart along their straight line two ports would have to be for a hose to fit [m]."""
    low, high = 0.0, 0.05
    while not _fits_apart(pair, high, bench):
        low, high = high, 2 * high
        if high > FARTHEST:
            return math.inf
    while high - low > FITS:
        middle = (low + high) / 2
        low, high = (low, middle) if _fits_apart(pair, middle, bench) else (middle, high)
    return high


def _bending(pair: tuple[Held, Held], via: Sequence[Array]) -> float:
    """How much the hose bends between two ends [rad], and a little for each angle of an end itself."""
    first, last = pair
    stops = [first.mouth, *via[first.skipped : max(len(via) - last.skipped, first.skipped)], last.mouth]
    ways = [first.axis, *(b - a for a, b in itertools.pairwise(stops)), -last.axis]
    turns = [angle_between(a, b) for a, b in itertools.pairwise(ways)]
    turns[0], turns[-1] = _behind(first, turns[0]), _behind(last, turns[-1])
    return sum(turns) + _price(first) + _price(last)


def _lay(pair: tuple[Held, Held], via: Sequence[Array], bench: Bench) -> Route:
    first, last = pair
    inner = list(via[first.skipped : max(len(via) - last.skipped, first.skipped)])
    inner = list(corners(np.array([first.mouth, *inner, last.mouth]))[1:-1]) if inner else inner
    knees = _knees(pair, inner, bench)
    points = np.array([first.edge, *_given(knees[0]), *inner, *_given(knees[1]), last.edge])
    kept = (first.inside + bench.straight, last.inside + bench.straight)
    line = Centreline(points, bench.radius, kept=kept)
    ahead = float(np.dot(last.edge - first.edge, first.axis))
    lacks, where = _tightest(line, bench, kept, (first.inside, last.inside), ahead)
    ways = line.tangents[0], -line.tangents[-1]
    back = [float(np.dot(held.axis, way)) < 0 for held, way in zip(pair, ways, strict=True)]
    if not line.bends and all(back):
        back = [False, False]  # no fold: the two ends overlap on one line
    folded = [
        against or (bool(inner) and corner is not None and turn > TURNS_BACK)
        for against, corner, turn in zip(back, knees, _outer(line), strict=True)
    ]
    behind = knees[0] is not None, knees[1] is not None
    return Route(pair, line, lacks, where, behind, (folded[0], folded[1]))


def _outer(line: Centreline) -> tuple[float, float]:
    """The first and the last turn of a line [rad]."""
    return (float(line.turns[0]), float(line.turns[-1])) if line.bends else (0.0, 0.0)


def where_axes_meet(first: Seat, last: Seat) -> Array | None:
    """Where the ways that two ports point come nearest to each other before both [m]; None where they do not meet."""
    if first.points is None or last.points is None:
        return None
    columns = np.stack([first.points, -last.points], axis=1)
    along, _, rank, _ = np.linalg.lstsq(columns, last.at - first.at)
    on_first, on_last = first.at + along[0] * first.points, last.at + along[1] * last.points
    if rank < 2 or along.min() <= 0 or float(np.linalg.norm(on_last - on_first)) > MEETS_WITHIN:
        return None
    return np.asarray((on_first + on_last) / 2)


def _given(point: Array | None) -> list[Array]:
    return [] if point is None else [point]


Triple = tuple[float, float, float]


def _knees(pair: tuple[Held, Held], inner: list[Array], bench: Bench) -> tuple[Array | None, Array | None]:
    """Where the hose bends behind each collar to find its way; None where its way lies on that of the end.

    The corner lies a straight and a tangent behind the collar, and the tangent depends on the turn at the corner.
    """
    mouths, axes = [_triple(held.mouth) for held in pair], [_triple(held.axis) for held in pair]
    ahead = [_triple(inner[0]), _triple(inner[-1])] if inner else []
    reach: list[float | None] = [None, None]
    for n in range(ROUNDS):
        moved = 0.0
        for i in (0, 1):
            beyond = ahead[i] if ahead else _on(mouths[1 - i], axes[1 - i], reach[1 - i])
            turn = _turn(axes[i], _on(mouths[i], axes[i], reach[i]), beyond)
            if reach[i] is None and (turn <= STRAIGHTEST or turn >= math.pi - STRAIGHTEST):
                continue  # straight ahead, or the two collars overlap on one line
            found = bench.straight + bench.radius * math.tan(min(turn, WIDEST) / 2)
            before = reach[i] or 0.0
            moved = max(moved, abs(found - before))
            reach[i] = found if n < CALM else (found + before) / 2
        if moved < SETTLED:
            break
    places = [None if r is None else held.mouth + r * held.axis for held, r in zip(pair, reach, strict=True)]
    return places[0], places[1]


def _triple(point: Array) -> Triple:
    x, y, z = point.tolist()
    return x, y, z


def _on(start: Triple, axis: Triple, along: float | None) -> Triple:
    r = along or 0.0
    return start[0] + r * axis[0], start[1] + r * axis[1], start[2] + r * axis[2]


def _turn(axis: Triple, start: Triple, beyond: Triple) -> float:
    """Between an axis and the way from one place to another [rad].

    Of plain numbers: it is asked hundreds of times a route, and an array of three costs many times as much.
    """
    x, y, z = axis
    u, v, w = beyond[0] - start[0], beyond[1] - start[1], beyond[2] - start[2]
    return math.atan2(math.hypot(y * w - z * v, z * u - x * w, x * v - y * u), x * u + y * v + z * w)


def _tightest(
    line: Centreline, bench: Bench, kept: tuple[float, float], inside: tuple[float, float], ahead: float
) -> tuple[float, str]:
    """How much room the tightest straight lacks [m], and which it is; `ahead` of a straight hose is its length."""
    if not line.bends:
        return sum(inside) - ahead, "between the two ends"
    reach = np.concatenate([[kept[0]], bench.radius * line.tangent_of_half, [kept[1]]])
    short = reach[:-1] + reach[1:] - line.legs
    i = int(short.argmax())
    names = ["end A", *(f"bend {n}" for n in range(1, len(line.bends) + 1)), "end B"]
    return float(short[i]), f"between {names[i]} and {names[i + 1]}"
