"""A run as a thing to make: its ends, its way, its lengths and how sure they are.

Three lengths, always named. Cut: the hose itself. Seat to seat: along the hose to the sealing face of a straight end
and to the level of the seat's centre of an angled end; it is the cut length and the cut-off of both ends. Overall: seat
to seat and what the nut of each end reaches over its seat.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from catalogs.grades import Grade, weakest
from lines.between import chord
from lines.centreline import Bend
from lines.clock import clock_angle
from lines.ends import BOTH, port_of
from lines.way import doubles_back, joint_at, past_adapters, seats_of, way_of

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from catalogs.records import HoseEnd, Stock
    from lines.ends import ChosenEnd
    from lines.joints import Joint
    from lines.plan import Plan, RunTable
    from lines.route import Route

    Array = npt.NDArray[np.float64]

TAPE = 0.006
"""What a tape along a run may read under the shortest way through its points before the two disagree [m]."""


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
    back: int | None
    """The number of the point at which its way doubles back; None where it does not."""

    @property
    def flowed(self) -> float | None:
        """What the fluid flows through: seat to seat, or the cut length where that is not known [m]."""
        return self.cut if self.length is None else self.length

    @property
    def overall(self) -> float | None:
        """Over the ends of both nuts [m]; None where it is not known how far they reach over their seats."""
        over = [overhang(end) for end in self.chosen]
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
        if any(end.straight for end in known):
            return False
        return True if len(known) == 2 else None

    @property
    def clock(self) -> float | None:
        """Angle between its two angled ends by its way in space [rad]; None where it has none or it is not known."""
        if not self.angled or self.route is None or self.astray:
            return None
        first, last = (held.aside for held in self.route.held)
        return None if first is None or last is None else clock_angle(self.route.line, (first, last))

    @property
    def provisional(self) -> bool:
        unsure = self.adapters_in_length or self.nuts_in_length or self.unaimed or self.does_not_fit or self.in_doubt
        return self.cut is None or self.grade.provisional or bool(unsure)

    @property
    def mouths(self) -> tuple[Array, Array] | None:
        """Where the hose comes out of its two collars, by its way; None where that is not known."""
        return None if self.route is None else (self.route.held[0].mouth, self.route.held[1].mouth)

    def mouths_of_straight_ends(self, plan: Plan) -> tuple[Array, Array] | None:
        """The same where two straight ends sit on ports whose places and directions are known."""
        seats = seats_of(plan, self.run)
        if seats is None or any(end is None or not end.straight for end in self.chosen):
            return None
        found = []
        for seat, end in zip(past_adapters(seats, self.joints), self.chosen, strict=True):
            if seat.points is None or end is None:
                return None
            found.append(seat.at + (end.cutoff + inside(end)) * seat.points)
        return found[0], found[1]

    @property
    def said_radius(self) -> float | None:
        """The radius that the plan says, or the tightest that was measured, as its stock defines a radius [m]."""
        if self.run.radius is not None:
            return self.run.radius
        measured = [self.stock.as_defined(b.inside_radius + self.stock.outside / 2) for b in self.run.bends or ()]
        return min(measured, default=None)

    @property
    def overlaps(self) -> bool:
        """Do its two ends take up more than there is between the ports?"""
        return self.free is not None and self.free <= 0

    @property
    def does_not_fit(self) -> bool:
        """Is its way one that it cannot take: no room for its bends, or bent tighter than its stock allows?"""
        tight = self.said_radius is not None and self.said_radius < self.stock.bend_radius - 1e-9
        return tight or self.astray or (self.route is not None and not self.route.fits)

    @property
    def astray(self) -> bool:
        """Is there no sense in its way: does it double back, come back to a point beside its own end, or find none?"""
        return self.back is not None or (self.route is not None and (any(self.route.folded) or not self.route.found))

    @property
    def in_doubt(self) -> bool:
        """Does a tape say less than the shortest way through the run's own points takes?"""
        if self.run.length is None or self.cut is None or self.route is None or self.astray:
            return False
        return self.cut < self.route.line.shortest - TAPE

    @property
    def unaimed(self) -> tuple[str, ...]:
        """Of a run by its ports, the ends that are angled or on an adapter and whose port points nobody knows where."""
        if self.route is None or self.run.length is not None:
            return ()
        sides = zip("AB", self.route.held, self.chosen, self.joints, strict=True)
        return tuple(
            mark
            for mark, held, end, found in sides
            if not held.aimed and ((end is not None and not end.straight) or found.adapter is not None)
        )

    @property
    def adapters_in_length(self) -> tuple[Joint, ...]:
        """Joints whose adapter takes up a length that nobody measured, of a run known by its ports."""
        return tuple(j for j in self.joints if _unmeasured(j)) if self.run.length_is is None else ()

    @property
    def nuts_in_length(self) -> tuple[str, ...]:
        """Ends whose nut reaches nobody knows how far over its seat, of a run known by its overall length."""
        if self.run.length_is != "overall":
            return ()
        return tuple(mark for mark, end in zip("AB", self.chosen, strict=True) if overhang(end) is None)

    @property
    def measure_first(self) -> tuple[bool, bool]:
        """Which ends to measure before cutting."""
        first, last = (end is not None and end.grade_of(*counted(self.run, end)).provisional for end in self.chosen)
        return first, last


def overhang(end: HoseEnd | None) -> float | None:
    """How far an end's nut reaches over its seat along the hose [m]: that of an angled end points across it."""
    if end is None:
        return None
    return end.overhang if end.straight else 0.0


def inside(end: HoseEnd | None) -> float:
    """Length of hose inside an end's collar [m], 0 where it is not stated."""
    return 0.0 if end is None else end.insertion or 0.0


def counted(run: RunTable, end: HoseEnd) -> tuple[str, ...]:
    """The figures of an end that the cut length of a run counts.

    A way between two ports depends on how far aside an elbow lies; a length by tape does not. An overall length counts
    how far the nut of a straight end reaches over its seat.
    """
    if run.length is None:
        return ("cutoff",) if end.straight else ("cutoff", "drop")
    overall = run.length_is == "overall" and end.straight and end.overhang is not None
    return ("cutoff", "overhang") if overall else ("cutoff",)


def _unmeasured(found: Joint) -> bool:
    adapter = found.adapter
    return adapter is not None and (adapter.length is None or adapter.grade_of("length").provisional)


def assembly(plan: Plan, tag: str) -> Assembly:
    """The assembly of one run."""
    run, stock = plan.runs[tag], plan.catalog.stock(plan.runs[tag].stock)
    route, ends = way_of(plan, tag)
    joints = [joint_at(plan, port_of(run, which), made.end) for which, made in zip(BOTH, ends, strict=True)]
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
        grade=weakest(made.end.grade_of(*counted(run, made.end)) for made in ends if made.end is not None),
        needs=tuple(made.needs for made in ends if made.needs),
        back=doubles_back(plan, run),
    )
    return _with_lengths(bare)


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
        over = sum(overhang(end) or 0.0 for end in made.chosen)
        seats = run.length - (over if run.length_is == "overall" else 0.0)
        return replace(made, how=how, cut=seats - cutoffs if known else None, length=seats)
    if made.route is None:
        return replace(made, needs=(*made.needs, "length with length_is, or the points of the run"))
    if made.back is not None:
        return replace(made, needs=(*made.needs, f"points {made.back} and {made.back + 1} of the run, in their order"))
    if any(made.route.folded):
        ports = [port_of(run, which) for which, folded in zip(BOTH, made.route.folded, strict=True) if folded]
        needs = f"the points of the run nearest to {' and '.join(ports)}: farther out, where the hose is free to bend"
        return replace(made, needs=(*made.needs, needs))
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


def assemblies(plan: Plan) -> list[Assembly]:
    """Every assembly of a plan, in its order."""
    return [assembly(plan, tag) for tag in plan.runs]
