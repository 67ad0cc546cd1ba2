"""What a run comes near to: zones, and what brings them nearer."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from lines.zones import gaps
from solver.checks.judging import judge

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.assembly import Assembly
    from lines.held import Held
    from lines.route import Route
    from lines.zones import ZoneTable
    from solver.study import Study

    Array = npt.NDArray[np.float64]

STEP = 0.001
"""Points on a line that are held against a zone lie no further apart [m]; a gap is right to half of it."""


def clearance(study: Study) -> list[Finding]:
    """`run.clearance`: the gap from each run to the zones, less what brings them nearer."""
    zones = study.plan.zones
    return [f for made in study.assemblies.values() if zones and (f := _clearance(study, made)) is not None]


def _clearance(study: Study, made: Assembly) -> Finding | None:
    zones = {name: zone for name, zone in study.plan.zones.items() if made.tag not in zone.apart_from}
    if not zones:
        return None
    if made.route is None or not made.placed or made.astray:
        why = words("Where it runs is not known: what it comes near to cannot be told.")
        return unchecked("run.clearance", made.tag, why, f"the points of {made.tag} (via)")
    along = _along(made, made.route)
    found = [_to_zone(study, made, name, zone, along) for name, zone in zones.items()]
    worst = min(found, key=lambda f: (f.verdict.rank, f.margin.value if f.margin else 0.0))
    cases = tuple(case for finding in found for case in finding.cases)
    return Finding(
        rule="run.clearance",
        place=made.tag,
        verdict=worst.verdict,
        why=worst.why,
        change=worst.change,
        value=worst.value,
        low=worst.low,
        worst=worst.worst,
        cases=cases,
        basis=worst.basis,
        source=worst.source,
    )


@dataclass(frozen=True)
class _Along:
    """Points along a run from seat to seat, how far along each is [m], and how far its outside is from it [m]."""

    points: Array
    stations: Array
    outside: Array


def _along(made: Assembly, route: Route) -> _Along:
    """The hose, and at both ends the metal, which is at least as thick as its nut."""
    hose = route.line.sampled(STEP)
    first, last = (_metal(held) for held in route.held)
    points = np.concatenate([first, hose, last[::-1]])
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    half = made.stock.outside / 2
    nuts = [max(half, (joint.end_thread.hex or 0.0) / 2 if joint.end_thread else 0.0) for joint in made.joints]
    parts = zip((nuts[0], half, nuts[1]), (len(first), len(hose), len(last)), strict=True)
    outside = np.concatenate([np.full(n, size) for size, n in parts])
    return _Along(points, np.concatenate([[0.0], np.cumsum(steps)]), outside)


def _metal(held: Held) -> Array:
    """Points from a seat to the cut edge of its hose; only the seat where the hose goes over a spigot."""
    if held.end is not None and held.end.cutoff < 0:
        return held.seat[None, :]
    corners = [*held.metal, held.edge]
    return np.concatenate([np.linspace(a, b, max(math.ceil(float(np.linalg.norm(b - a)) / STEP), 1) + 1)
                           for a, b in pairwise(corners)])  # fmt: skip


def _to_zone(study: Study, made: Assembly, name: str, zone: ZoneTable, along: _Along) -> Finding:
    limit = study.plan.catalog.limit(f"run.clearance.{zone.nature}")
    if zone.keep is not None:
        limit = limit.model_copy(
            update={"fail_below": zone.keep, "caution_below": None, "source": "the plan's own gap"}
        )
    apart = gaps(zone, along.points) - along.outside
    i = int(apart.argmin())
    left = Quantity(float(apart[i]) - zone.nearer, "length")
    facts: dict[str, Quantity | str] = {
        "zone": name,
        "measured": Quantity(float(apart[i]), "length"),
        "nearer": Quantity(zone.nearer, "length"),
        "left": left,
        "at": Quantity(float(along.stations[i]), "length"),
    }
    wants = limit.least or 0.0
    facts["wants"] = Quantity(wants, "length")

    def why(verdict: Verdict, _case: Case) -> Words:
        if float(apart[i]) < 0:
            return words("It runs through {zone}, {at} from seat A.", **facts)
        text = "Nearest to {zone}, {at} from seat A: {measured}"
        text += ", less {nearer} that it grows, shakes and rolls nearer: {left} left" if zone.nearer else ""
        text += "." if verdict is Verdict.PASS else "; {wants} wanted."
        if verdict is Verdict.FAIL and zone.nature == "hot":
            text += " Soaked after shut-down it is hotter there than on the road."
        return words(text, **facts)

    def change(_verdict: Verdict, case: Case) -> Words:
        more = Quantity(wants - case.value.value, "length")
        text = "Move it {more:up} away"
        if zone.nature == "hot":
            text += "" if made.stock.rigid else "; or hard line there"
            text += "; or a shield on the chassis with an air gap; or, last of all, a sleeve"
        return words(text + ".", more=more)

    case = Case(State(station=name), left)
    return judge(limit, made.tag, [case], why=why, change=change)
