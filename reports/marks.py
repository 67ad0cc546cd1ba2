"""Marks to put on a hose or tube before it is fitted: its bends and its clamps, from end A."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from catalogs.units import Quantity, System, show
from lines.bodies import moves
from lines.supports import clamps, rule_for
from reports.figures import BLANK, decimal, length_unit, taped, with_basis

if TYPE_CHECKING:
    from lines.assembly import Assembly
    from lines.centreline import Bend
    from lines.plan import Plan
    from lines.supports import Hold


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark: what is there, and where, from end A's seat and from the cut edge there."""

    what: Literal["bend", "clamp"]
    number: int
    station: float
    """From the cut edge at end A [m]; nan where it was not measured."""
    turn: str
    """Of a bend."""
    radius: str
    """Of a bend, as the stock defines a radius."""
    rotation: str
    """Of a bend: how far its plane turns from that of the bend before, seen from end A, counter-clockwise."""
    from_seat: str
    from_edge: str
    note: str

    @property
    def label(self) -> str:
        """What it is called on the drawing."""
        return f"C{self.number}" if self.what == "clamp" else str(self.number)

    @property
    def said(self) -> str:
        """In one line."""
        place = f" at {self.from_seat} from seat A" if self.from_seat else ""
        return f"{self.what} {self.label}{place}" + (f", {self.turn}" if self.turn else "")


@dataclass(frozen=True, slots=True)
class Marks:
    """A table of marks as it is printed: names of its columns, its rows, and what is said under it."""

    title: str
    names: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    says: tuple[str, ...]


def mark_table(plan: Plan, made: Assembly, system: System) -> Marks:
    """Bends and clamps of a hose, from end A on."""
    found = marks(plan, made, system)
    unit = length_unit(system)
    places = f"from cut edge A, {unit}", f"from seat A, {unit}"
    names = ("mark", *places, "turn", f"{made.stock.radius_to} radius, {unit}", "rotation")
    rows = tuple(_row(mark, f" {unit}") for mark in found)
    says = [bends_say(made)] if not any(m.what == "bend" for m in found) or made.route is None else []
    says += ["places are of the middle of each bend" if made.route is not None and made.bends else ""]
    says += [f"* {PLANE}"] if any(m.note for m in found) else []
    says += [ROTATION] if any(m.rotation for m in found) else []
    return Marks("Marks", names, rows, tuple(filter(None, [*says, clamps_say(plan, made, system)])))


def _row(mark: Mark, unit: str) -> tuple[str, ...]:
    """A mark as a row of its table, whose head has the unit."""
    name = f"{mark.what} {mark.label}" + (" *" if mark.note else "")
    places = ((text or BLANK).removesuffix(unit) for text in (mark.from_edge, mark.from_seat))
    return (name, *places, mark.turn, mark.radius.removesuffix(unit), mark.rotation)


def bends_say(made: Assembly) -> str:
    """What the bends are known by, or why there are none."""
    if made.bends is None:
        return "bends not measured"
    if not made.bends:
        return "no bends: it runs straight"
    return "bends by the points of the plan" if made.route is not None else "bends as measured, their places not known"


def clamps_say(plan: Plan, made: Assembly, system: System) -> str:
    """How far apart the clamps may be, and who says so."""
    if moves(plan, made.run):
        return "clamps: none, it is held at its ends only, for it moves"
    rule = rule_for(plan, made)
    if rule is None:
        return "clamps: no row of the supports table speaks of it"
    apart = f"clamps at most {show(Quantity(rule.spacing, 'length'), system)} apart"
    return f"{with_basis(apart, rule.grade)}: {rule.source}"


PLANE = "the plane of bending changes here"
ROTATION = "rotation: from the bend before, seen from end A, counter-clockwise +"


def marks(plan: Plan, made: Assembly, system: System) -> list[Mark]:
    """The marks of an assembly in the plan's units, from end A on; empty texts where a place is not known."""
    bends = made.bends or ()
    turns = [""] * len(bends)
    if made.route is not None:
        turns = ["", *(_angle(x, system) for x in made.route.line.rotations)]
    found = [_bend(made, n, bend, turn, system) for n, (bend, turn) in enumerate(zip(bends, turns, strict=False), 1)]
    found += [_clamp(made, n, hold, system) for n, hold in enumerate(clamps(plan, made), 1)]
    return sorted(found, key=lambda mark: math.inf if math.isnan(mark.station) else mark.station)


def _angle(size: float, system: System) -> str:
    return show(Quantity(size, "angle"), system, decimals=0)


def _bend(made: Assembly, number: int, bend: Bend, rotation: str, system: System) -> Mark:
    seat, edge = _places(made, bend.middle, system)
    radius = decimal(made.stock.as_defined(bend.radius), system)
    return Mark("bend", number, bend.middle, _angle(bend.turn, system), radius, rotation, seat, edge, note="")


def _clamp(made: Assembly, number: int, hold: Hold, system: System) -> Mark:
    seat, edge = _places(made, hold.station, system)
    note = PLANE if hold.plane_changes else ""
    return Mark("clamp", number, hold.station, "", "", "", seat, edge, note)


def _places(made: Assembly, station: float, system: System) -> tuple[str, str]:
    """From end A's seat, and from the cut edge there."""
    end, known = made.chosen[0], not math.isnan(station)
    seat = taped(station + end.cutoff, system).text if known and end is not None else ""
    return seat, taped(station, system).text if known and station > 0 else ""
