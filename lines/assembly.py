"""A run as a thing to make: its ends, its way, its lengths and how sure they are.

Three lengths, always named. Cut: the hose itself. Seat to seat: along the hose to the sealing face of a straight end
and to the level of the seat's centre of an angled end; it is the cut length and the cut-off of both ends. Overall: seat
to seat and what the nut of each end reaches over its seat.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.grades import Grade, weakest
from lines.between import chord
from lines.centreline import Bend
from lines.clock import clock_angle
from lines.ends import BOTH, ChosenEnd, candidates, port_of, without_path
from lines.joints import Joint, joint
from lines.route import Bench, Route, Seat, laid, where_axes_meet

if TYPE_CHECKING:
    from catalogs.records import HoseEnd, Stock
    from lines.ends import Which
    from lines.plan import Plan, RunTable

AS_SAID = math.radians(20)
"""A measured turn and that of a way found from the two ports differ by less, or they are two ways."""
STRAIGHT_END = math.radians(1)
"""An end that turns by less is straight."""


@dataclass(frozen=True)
class Assembly:
    """One hose or tube assembly."""

    tag: str
    run: RunTable
    stock: Stock
    ends: tuple[ChosenEnd, ChosenEnd]
    joints: tuple[Joint, Joint]
    route: Route | None
    """Its way in space; None where that is not known."""
    placed: bool
    """Is its way known in vehicle axes, or only from one end of it to the other?"""
    bends: tuple[Bend, ...] | None
    """None: not known. A bend that was measured without its place has the station nan."""
    chord: float | None
    """Straight distance from port to port [m]."""
    cut: float | None
    """Length of hose or tube to cut [m]."""
    length: float | None
    """Seat to seat [m]."""
    how: str
    """What its length is known by."""
    grade: Grade
    """Of the cut length: its weakest figure."""
    needs: tuple[str, ...]
    """What to measure before the cut length is known or final."""

    @property
    def overall(self) -> float | None:
        """Over the ends of both nuts [m]; None where it is not known how far they reach over their seats."""
        over = [end.overhang if end is not None else None for end in self.chosen]
        if self.length is None or over[0] is None or over[1] is None:
            return None
        return self.length + over[0] + over[1]

    @property
    def chosen(self) -> tuple[HoseEnd | None, HoseEnd | None]:
        first, last = self.ends
        return first.end, last.end

    @property
    def free(self) -> float | None:
        """Length of hose between the collars [m]."""
        return None if self.cut is None else self.cut - sum(inside(end) for end in self.chosen)

    @property
    def angled(self) -> bool | None:
        """Are both ends angled? None: not known, because one is not chosen."""
        known = [end for end in self.chosen if end is not None]
        if any(end.angle < STRAIGHT_END for end in known):
            return False
        return True if len(known) == 2 else None

    @property
    def clock(self) -> float | None:
        """Angle between its two angled ends by its way in space [rad]; None where it has none or it is not known."""
        if not self.angled or self.route is None:
            return None
        first, last = (held.outlet for held in self.route.held)
        return None if first is None or last is None else clock_angle(self.route.line, (first, last))

    @property
    def provisional(self) -> bool:
        return self.cut is None or self.grade.provisional or bool(self.adapters_in_length or self.nuts_in_length)

    @property
    def adapters_in_length(self) -> tuple[Joint, ...]:
        """Joints whose adapter takes up a length that nobody measured, of a run known by its ports."""
        return tuple(j for j in self.joints if _unmeasured(j)) if self.run.length_is is None else ()

    @property
    def nuts_in_length(self) -> tuple[str, ...]:
        """Ends whose nut reaches nobody knows how far over its seat, of a run known by its overall length."""
        if self.run.length_is != "overall":
            return ()
        return tuple(mark for mark, end in zip("AB", self.chosen, strict=True) if end is None or end.overhang is None)

    @property
    def measure_first(self) -> tuple[bool, bool]:
        """Which ends to measure before cutting."""
        first, last = (end is not None and cutoff_grade(end).provisional for end in self.chosen)
        return first, last


def inside(end: HoseEnd | None) -> float:
    """Length of hose inside an end's collar [m], 0 where it is not stated."""
    return 0.0 if end is None else end.insertion or 0.0


def cutoff_grade(end: HoseEnd) -> Grade:
    """How sure an end's cut-off is."""
    return end.grade_of("cutoff")


def _unmeasured(found: Joint) -> bool:
    adapter = found.adapter
    return adapter is not None and (adapter.length is None or adapter.grade_of("length").provisional)


def assembly(plan: Plan, tag: str) -> Assembly:
    """The assembly of one run."""
    run, stock = plan.runs[tag], plan.catalog.stock(plan.runs[tag].stock)
    route, ends = _way(plan, tag)
    joints = [_joint(plan, port_of(run, which), made.end) for which, made in zip(BOTH, ends, strict=True)]
    bare = Assembly(
        tag,
        run,
        stock,
        ends,
        (joints[0], joints[1]),
        route,
        placed=plan.port(run.start).at is not None and plan.port(run.end).at is not None,
        bends=_bends(run, stock, route),
        chord=chord(plan, tag),
        cut=None,
        length=None,
        how="",
        grade=weakest(cutoff_grade(made.end) for made in ends if made.end is not None),
        needs=tuple(made.needs for made in ends if made.needs),
    )
    return _with_lengths(bare)


def _joint(plan: Plan, port: str, end: HoseEnd | None) -> Joint:
    thread, attaches = (None, "") if end is None else (end.thread, end.attaches)
    return joint(plan.catalog, port, plan.port(port), thread, attaches=attaches)


def _with_lengths(made: Assembly) -> Assembly:
    """The same with its lengths: by tape if there is one, else by its way."""
    run = made.run
    known = all(end is not None for end in made.chosen)
    cutoffs = sum(end.cutoff for end in made.chosen if end is not None)
    if run.length is not None:
        how = f"{run.length_is} length by tape"
        if run.length_is == "cut":
            length = run.length + cutoffs if known else None
            return replace(made, how=how, cut=run.length, length=length, grade=Grade.MEASURED)
        over = sum(end.overhang or 0.0 for end in made.chosen if end is not None)
        seats = run.length - (over if run.length_is == "overall" else 0.0)
        return replace(made, how=how, cut=seats - cutoffs if known else None, length=seats)
    if made.route is None:
        return replace(made, needs=(*made.needs, "length with length_is, or the points of the run"))
    cut = made.route.cut
    how = "points, bends at the radius said" if run.radius is not None else "points, bends as tight as the stock allows"
    if not made.route.line.bends:
        how = "points, straight"
    return replace(made, how=how, cut=cut if known else None, length=cut + cutoffs)


def _bends(run: RunTable, stock: Stock, route: Route | None) -> tuple[Bend, ...] | None:
    if route is not None:
        return route.line.bends
    if run.bends is None:
        return None
    nowhere = (0.0, 0.0, 0.0)
    radii = [bend.inside_radius + stock.outside / 2 for bend in run.bends]
    return tuple(Bend(b.turn, r, r, math.nan, nowhere) for b, r in zip(run.bends, radii, strict=True))


# ---------------------------------------------------------------- its way


def bench(plan: Plan, run: RunTable, stock: Stock) -> Bench:
    """What a run's hose may do."""
    straight = (plan.catalog.limit("run.straight").caution_below or 0.0) * stock.outside
    if run.bends:
        return Bench(min(b.inside_radius for b in run.bends) + stock.outside / 2, straight)
    return Bench(stock.to_centreline(run.radius if run.radius is not None else stock.bend_radius), straight)


def _way(plan: Plan, tag: str) -> tuple[Route | None, tuple[ChosenEnd, ChosenEnd]]:
    """How a run lies and with which ends, as far as its points and ports tell."""
    route = route_of(plan, tag)
    if route is None:
        return None, (without_path(plan, tag, "from"), without_path(plan, tag, "to"))
    chosen = []
    for which, held in zip(BOTH, route.held, strict=True):
        found, needs = candidates(plan, tag, which)
        if held.outlet is None and len(found) > 1:
            chosen.append(without_path(plan, tag, which))
        else:
            chosen.append(ChosenEnd(held.end, needs))
    return route, (chosen[0], chosen[1])


def route_of(plan: Plan, tag: str) -> Route | None:
    """How a run lies between its ports with the best of its ends; None where its points are not known."""
    run, stock = plan.runs[tag], plan.catalog.stock(plan.runs[tag].stock)
    ways = _seats_and_points(plan, run)
    if ways is None:
        return None
    seats, via = ways
    choices: list[list[HoseEnd | None]] = []
    for which, seat in zip(BOTH, seats, strict=True):
        found: list[HoseEnd | None] = list(candidates(plan, tag, which)[0])
        if seat.points is None and len(found) > 1:
            made = without_path(plan, tag, which).end
            found = [made] if made is not None else []
        choices.append(found or [None])
    way = laid(_past_adapters(plan, run, seats, choices), via, (choices[0], choices[1]), bench(plan, run, stock))
    return way if run.via is not None or _bends_as_said(run, way) else None


def _bends_as_said(run: RunTable, route: Route) -> bool:
    """Is a way that was found from the two ports alone bent as often and as far as was measured?"""
    said = [bend.turn for bend in run.bends or ()]
    turns = route.line.turns.tolist()
    return len(said) == len(turns) and all(abs(a - b) < AS_SAID for a, b in zip(said, turns, strict=True))


def _seats_and_points(plan: Plan, run: RunTable) -> tuple[tuple[Seat, Seat], list[np.ndarray]] | None:
    first, last = (plan.port(port_of(run, which)) for which in BOTH)
    ways = [None if port.points is None else np.array(port.points) for port in (first, last)]
    if run.via is not None and first.at is not None and last.at is not None:
        at = np.array(first.at), np.array(last.at)
        if not run.via and np.linalg.norm(at[1] - at[0]) < 1e-6:
            return None
        return (Seat(at[0], ways[0]), Seat(at[1], ways[1])), [np.array(point) for point in run.via]
    if run.span is None or run.bends is None or any(way is None for way in ways):
        return None
    start = np.zeros(3) if first.at is None else np.array(first.at)
    seats = Seat(start, ways[0]), Seat(start + np.array(run.span.vector), ways[1])
    meeting = where_axes_meet(*seats) if len(run.bends) == 1 else None
    return seats, [] if meeting is None else [meeting]


def _past_adapters(
    plan: Plan, run: RunTable, seats: tuple[Seat, Seat], choices: list[list[HoseEnd | None]]
) -> tuple[Seat, Seat]:
    """The seats that the adapters offer, an adapter's length before their ports."""
    moved = []
    for which, seat, ends in zip(BOTH, seats, choices, strict=True):
        moved.append(seat)
        if seat.points is None or ends[0] is None:
            continue
        port = port_of(run, which)
        adapter = _joint(plan, port, ends[0]).adapter
        if adapter is not None and adapter.length is not None:
            moved[-1] = Seat(seat.at + adapter.length * seat.points, seat.points)
    return moved[0], moved[1]


def assemblies(plan: Plan) -> list[Assembly]:
    """Every assembly of a plan, in its order."""
    return [assembly(plan, tag) for tag in plan.runs]


def which_end(made: Assembly, which: Which) -> ChosenEnd:
    """The chosen end at one side."""
    return made.ends[0] if which == "from" else made.ends[1]
