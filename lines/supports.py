"""Where a line is held: at each change of the plane in which it bends, and no further apart than its rule asks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from lines.assembly import inside
from lines.bodies import moves

if TYPE_CHECKING:
    from catalogs.records import Support
    from lines.assembly import Assembly
    from lines.plan import Plan

BESIDE = 0.010
"""A clamp stands this far beside a bend at least [m]."""
ONE_PLANE = math.radians(15)
"""Planes of bending that differ by less are one."""


@dataclass(frozen=True, slots=True)
class Hold:
    """A clamp on a line."""

    station: float
    """From the cut edge at end A [m]."""
    plane_changes: bool
    """Is it there because the line leaves its plane?"""


def rule_for(plan: Plan, made: Assembly) -> Support | None:
    """The shortest spacing that the tables ask for such a line; None where no row speaks of it, and where it moves."""
    if moves(plan, made.run):
        return None
    family = plan.catalog.fluid(plan.circuits[made.run.circuit].fluid).family
    of, material = "tube" if made.stock.rigid else "hose", made.stock.liner
    rows = [
        row
        for row in plan.catalog.supports()
        if row.of == of
        and row.material in {"", material}
        and row.fluid in {"", family}
        and row.above < made.stock.outside
        and (row.up_to is None or made.stock.outside <= row.up_to)
    ]
    plain = [row for row in rows if not row.fluid]
    named = [row for row in plain if row.material] or plain
    return min([*named, *(row for row in rows if row.fluid)], key=lambda row: row.spacing, default=None)


def plane_changes(made: Assembly) -> tuple[float, ...]:
    """Stations from the cut edge at end A where the line leaves the plane in which it bent [m]: between two bends."""
    if made.route is None:
        return ()
    line = made.route.line
    return tuple(
        (one.end + other.start) / 2
        for (one, other), turn in zip(pairwise(line.bends), line.rotations, strict=True)
        if min(abs(turn), math.pi - abs(turn)) > ONE_PLANE
    )


def clamps(plan: Plan, made: Assembly) -> tuple[Hold, ...]:
    """Where to hold a line; none where its length or its rule is not known."""
    rule = rule_for(plan, made)
    if made.cut is None or made.free is None or made.free <= 0 or rule is None:
        return ()
    first = inside(made.chosen[0])
    last = made.cut - inside(made.chosen[1])
    changes = [station for station in plane_changes(made) if first < station < last]
    found = [Hold(station, plane_changes=True) for station in changes]
    for start, end in pairwise([first, *changes, last]):
        between = math.ceil((end - start) / rule.spacing - 1e-9) + 1
        found += [Hold(float(s), plane_changes=False) for s in np.linspace(start, end, between)[1:-1]]
    return _off_bends(made, sorted(found, key=lambda hold: hold.station), (first, last), rule.spacing)


def _off_bends(made: Assembly, holds: list[Hold], ends: tuple[float, float], spacing: float) -> tuple[Hold, ...]:
    """The same holds, each that lies on a bend moved to the nearer straight beside it where its rule lets it."""
    stations = [hold.station for hold in holds]
    for i, station in enumerate(stations):
        before = stations[i - 1] if i else ends[0]
        after = stations[i + 1] if i + 1 < len(stations) else ends[1]
        beside = [
            place
            for bend in made.bends or ()
            if bend.start - BESIDE < station < bend.end + BESIDE
            for place in (bend.start - BESIDE, bend.end + BESIDE)
            if before < place < after and place - before <= spacing and after - place <= spacing
        ]
        stations[i] = min(beside, key=lambda place: abs(place - station), default=station)
    return tuple(Hold(s, plane_changes=hold.plane_changes) for s, hold in zip(stations, holds, strict=True))
