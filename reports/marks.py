"""Where the bends lie along a hose: marks to put on it before it is fitted."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from catalogs.units import Quantity, System, show
from reports.figures import decimal, taped

if TYPE_CHECKING:
    from lines.assembly import Assembly


@dataclass(frozen=True, slots=True)
class Mark:
    """One bend: its number from end A, its turn, its middle from end A's seat and from the hose's cut edge there."""

    number: int
    turn: str
    radius: str
    """Its inside radius, where that was measured."""
    from_seat: str
    from_edge: str


def middles(made: Assembly) -> list[float]:
    """The middle of each bend along the centreline from the start [m]; nan where only its turn was measured.

    Each bend is an arc of the radius that the length was reckoned with. It is shorter by 2 r tan(turn/2) - r turn
    than the corner that it rounds.
    """
    found, saved = [], 0.0
    for corner in made.shape.corners or ():
        radius = min(corner.radius, made.stock.centreline_radius)
        half = radius * (math.tan(min(corner.turn, math.radians(179.0)) / 2) - corner.turn / 2)
        found.append(corner.station - saved - half)
        saved += 2 * half
    return found


def marks(made: Assembly, system: System) -> list[Mark]:
    """The mark of each bend, in the plan's units; empty texts where its place is not known."""
    end = made.ends[0].end
    found = []
    for number, (corner, middle) in enumerate(zip(made.shape.corners or (), middles(made), strict=True), 1):
        known = not math.isnan(middle)
        edge = middle - end.cutoff if known and end is not None else math.nan
        found.append(
            Mark(
                number,
                show(Quantity(corner.turn, "angle"), system, decimals=0),
                decimal(corner.radius - made.stock.outside / 2, system) if made.shape.points is None else "",
                taped(middle, system).text if known else "",
                taped(edge, system).text if edge > 0 else "",
            )
        )
    return found
