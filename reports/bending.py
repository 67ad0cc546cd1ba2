"""The bend table of a rigid tube: straight, rotation and angle of each bend, and what they add up to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalogs.units import Quantity, number_in, show
from lines.supports import clamps
from reports.figures import BLANK, decimal, length_unit, taped
from reports.marks import ROTATION, Marks, bends_say, clamps_say

if TYPE_CHECKING:
    from catalogs.units import System
    from lines.assembly import Assembly
    from lines.centreline import Bend, Centreline
    from lines.plan import Plan

SPRING_BACK = "bend to: with the spring-back of your own bender"


def bend_table(plan: Plan, made: Assembly, system: System) -> Marks:
    """Length, rotation, angle of each bend of a tube, from its cut edge at end A.

    Lengths are differences of stations as printed: they add up to the developed length as printed.
    """
    line = made.route.line if made.route is not None else None
    rows = _rows(line, system) if line is not None else _places_unknown(made.bends or (), system)
    says = [bends_say(made)] if line is None or not line.bends else [SPRING_BACK]
    says += [f"from the cut edge at A; radius of the centreline; {ROTATION}"] if rows else []
    says += [_developed(line, system)] if line is not None else []
    says += [_clamped(plan, made, system), clamps_say(plan, made, system)]
    unit = length_unit(system)
    names = ("bend", f"begins at, {unit}", f"straight before, {unit}", "rotation", "angle", "bend to")
    return Marks("Bend table", (*names, f"radius, {unit}", f"arc, {unit}"), tuple(rows), tuple(filter(None, says)))


def _angle(size: float, system: System) -> str:
    return show(Quantity(size, "angle"), system, decimals=1).replace(".0 ", " ")


def printed_stations(line: Centreline, system: System) -> list[float]:
    """Where straights and arcs begin and end, from 0 to the developed length, as they are printed [in or mm]."""
    places = 2 if system == "us" else 1
    edges = [0.0, *(x for bend in line.bends for x in (bend.start, bend.end)), line.length]
    return [round(number_in(Quantity(x, "length"), system), places) for x in edges]


def _rows(line: Centreline, system: System) -> list[tuple[str, ...]]:
    stations, places = printed_stations(line, system), 2 if system == "us" else 1
    turns = ["", *(_angle(x, system) for x in line.rotations)]
    rows = []
    for i, (bend, turn) in enumerate(zip(line.bends, turns, strict=True)):
        before, start, end = stations[2 * i : 2 * i + 3]
        lengths = f"{start:.{places}f}", f"{start - before:.{places}f}", f"{end - start:.{places}f}"
        radius = _bare(bend.radius, system)
        rows.append((str(i + 1), *lengths[:2], turn, _angle(bend.turn, system), BLANK, radius, lengths[2]))
    last = f"{stations[-1] - stations[-2]:.{places}f}"
    return [*rows, ("end B", f"{stations[-1]:.{places}f}", last, "", "", "", "", "")] if rows else []


def _bare(length: float, system: System) -> str:
    return decimal(length, system).removesuffix(f" {length_unit(system)}")


def _places_unknown(bends: tuple[Bend, ...], system: System) -> list[tuple[str, ...]]:
    return [
        (str(n), BLANK, BLANK, BLANK, _angle(bend.turn, system), BLANK, _bare(bend.radius, system), "")
        for n, bend in enumerate(bends, 1)
    ]


def _developed(line: Centreline, system: System) -> str:
    stations, places = printed_stations(line, system), 2 if system == "us" else 1
    arcs = sum(stations[2 * i + 2] - stations[2 * i + 1] for i in range(len(line.bends)))
    if not line.bends:
        return ""
    whole, bent = stations[-1], f"{arcs:.{places}f}"
    straight = f"{whole - arcs:.{places}f}"
    return f"developed length {whole:.{places}f} = straights {straight} + arcs {bent} {length_unit(system)}"


def _clamped(plan: Plan, made: Assembly, system: System) -> str:
    places = [f"C{n} {taped(hold.station, system).text}" for n, hold in enumerate(clamps(plan, made), 1)]
    return f"clamps at {', '.join(places)}" if places else ""
