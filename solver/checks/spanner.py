"""Is there room for a spanner between two nuts that stand side by side on a component?"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, words
from solver.checks.judging import judge

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.catalog import Catalog
    from catalogs.grades import Grade
    from catalogs.records import HoseEnd
    from lines.joints import Joint
    from solver.study import Study

    Vector = npt.NDArray[np.float64]

OVER_CORNERS = 2 / math.sqrt(3)
"""Of a hexagon, over its width across flats."""


@dataclass(frozen=True, slots=True)
class Nut:
    """The nut on a port: where it is, which way it points, how wide it is."""

    port: str
    at: Vector
    points: Vector
    flats: float
    grade: Grade

    @property
    def corners(self) -> float:
        """Half its width across corners [m]."""
        return self.flats * OVER_CORNERS / 2


@dataclass(frozen=True, slots=True)
class Pair:
    """Two nuts side by side."""

    apart: float
    """Distance between their axes [m]."""
    needs: float
    """What the wider spanner needs [m]."""
    touch: float
    """The distance at which their corners touch [m]."""
    nuts: tuple[Nut, Nut]

    @property
    def name(self) -> str:
        return " and ".join(nut.port.partition(".")[2] for nut in self.nuts)


def room(study: Study) -> list[Finding]:
    """`joint.room`: at each component, whether a spanner has room on each nut beside the next one."""
    nuts: dict[str, list[Nut]] = {}
    for made in study.assemblies.values():
        for chosen, joint in zip(made.ends, made.joints, strict=True):
            if (nut := _nut(study, chosen.end, joint)) is not None:
                nuts.setdefault(joint.port.partition(".")[0], []).append(nut)
    catalog = study.plan.catalog
    pairs = {
        name: [p for two in itertools.combinations(own, 2) if (p := _pair(catalog, *two))] for name, own in nuts.items()
    }
    return [_room(catalog, name, own) for name, own in pairs.items() if own]


def _nut(study: Study, end: HoseEnd | None, joint: Joint) -> Nut | None:
    port = study.plan.port(joint.port)
    records = [record for record in (end, joint.end_thread, joint.port_thread) if record is not None and record.hex]
    if port.at is None or port.points is None or not records:
        return None
    flats = records[0].hex or 0.0
    return Nut(joint.port, np.array(port.at), np.array(port.points), flats, records[0].grade_of("hex"))


def _limit(catalog: Catalog, key: str) -> float:
    limit = catalog.limit(key)
    stated = (limit.fail_below, limit.caution_below, limit.caution_above, limit.fail_above)
    return next(x for x in stated if x is not None)


def _pair(catalog: Catalog, one: Nut, other: Nut) -> Pair | None:
    turn = math.acos(float(np.clip(one.points @ other.points, -1.0, 1.0)))
    if turn > _limit(catalog, "joint.room.parallel"):
        return None
    axis = one.points + other.points
    axis = axis / np.linalg.norm(axis)
    between = other.at - one.at
    apart = float(np.linalg.norm(between - (between @ axis) * axis))
    heads = [_limit(catalog, "joint.room.head") * n.flats + _limit(catalog, "joint.room.jaws") for n in (one, other)]
    needs = max(one.corners + heads[1] / 2, other.corners + heads[0] / 2)
    return Pair(apart, needs, one.corners + other.corners, (one, other))


def _room(catalog: Catalog, name: str, pairs: list[Pair]) -> Finding:
    by_name = {pair.name: pair for pair in pairs}
    cases = [Case(State(station=pair.name), Quantity(pair.apart - pair.needs, "length")) for pair in pairs]

    def facts(case: Case) -> dict[str, Quantity | str]:
        pair = by_name[case.state.station]
        says: dict[str, Quantity | str] = {"ports": pair.name}
        return says | {k: Quantity(getattr(pair, k), "length") for k in ("apart", "needs")}

    def why(verdict: Verdict, case: Case) -> Words:
        if verdict is Verdict.PASS:
            return words("Closest are {ports}: {apart} from axis to axis, a spanner needs {needs}.", **facts(case))
        if by_name[case.state.station].apart < by_name[case.state.station].touch:
            return words(
                "{ports} are {apart} from axis to axis: their nuts touch. A spanner needs {needs}.", **facts(case)
            )
        return words("{ports} are {apart} from axis to axis: an open spanner needs {needs}.", **facts(case))

    def change(_verdict: Verdict, case: Case) -> Words:
        text = "Set {ports} {needs:up} apart, or turn one away, or bring one nut out on an adapter."
        return words(text, **facts(case))

    grades = [nut.grade for pair in pairs for nut in pair.nuts]
    grades += [catalog.limit(key).grade for key in ("joint.room.head", "joint.room.jaws", "joint.room.parallel")]
    found = judge(catalog.limit("joint.room"), name, cases, why=why, change=change, grades=grades)
    worst = by_name[found.worst.station]
    return replace(
        found,
        verdict=Verdict.FAIL if worst.apart < worst.touch else found.verdict,
        value=Quantity(worst.apart, "length"),
        low=Quantity(worst.needs, "length"),
        source=catalog.limit("joint.room.head").source,
    )
