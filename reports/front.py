"""The front of the packet: what it is of, what to beware of, what it holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from catalogs.units import Quantity, System, printed_unit, show
from lines.finding import Verdict, counts
from reports.cutting import WORDS, states
from reports.figures import with_basis

if TYPE_CHECKING:
    from catalogs.records import Caution
    from lines.finding import Finding
    from lines.plan import Plan
    from solver.study import Study


MOST_FAILS = 12


@dataclass(frozen=True, slots=True)
class Front:
    """The front page."""

    title: str
    revision: str
    file: str
    units: str
    zero: str
    ambient: tuple[str, ...]
    note: str
    counts: dict[str, int]
    fails: tuple[str, ...]
    cuts: tuple[str, ...]
    """Cut lengths that are not final: what they are, and which."""
    cautions: tuple[str, ...]


def front(study: Study, found: list[Finding]) -> Front:
    """The front page of a study and its findings."""
    plan = study.plan
    return Front(
        title=plan.head.title,
        revision=plan.head.revision,
        file=plan.file,
        units=units_line(plan.system),
        zero=plan.head.zero,
        ambient=tuple(ambient(plan)),
        note=plan.head.note,
        counts=counts(found),
        fails=_fails(found),
        cuts=tuple(f"{WORDS[state]}: {', '.join(tags)}" for state, tags in states(study.assemblies.values()).items()),
        cautions=tuple(with_basis(caution.text, caution.grade) for caution in cautions(study)),
    )


def _fails(found: list[Finding]) -> tuple[str, ...]:
    ids = [f.id for f in found if f.verdict is Verdict.FAIL]
    more = len(ids) - MOST_FAILS
    return (*ids[:MOST_FAILS], *([f"and {more} more"] if more > 0 else []))


def units_line(system: System) -> str:
    """Which units the sheets are in."""
    name = {"us": "US shop units", "metric": "metric units"}[system]
    return f"{name}: {', '.join(printed_unit(d, system) for d in ('length', 'pressure', 'temperature'))}"


def ambient(plan: Plan) -> list[str]:
    """Air temperature and pressure, once where every duty has the same."""
    air, system = plan.ambient, plan.system
    lines: dict[str, list[str]] = {}
    for duty in plan.duties:
        temperature = show(Quantity(air.temperature[duty], "temperature"), system)
        pressure = show(Quantity(air.pressure[duty], "pressure", "absolute"), system)
        lines.setdefault(f"{temperature}, {pressure}", []).append(duty)
    if len(lines) == 1:
        return list(lines)
    return [f"{text} at {', '.join(duties)}" for text, duties in lines.items()]


def cautions(study: Study) -> list[Caution]:
    """The cautions of the fluids in use and of the proof test, local rules and licensed practice first."""
    plan = study.plan
    used = {plan.catalog.fluid(plan.circuits[run.circuit].fluid).family for run in plan.runs.values()}
    found = [c for c in plan.catalog.cautions() if ({"all", "test"} | used) & set(c.applies)]
    return sorted(found, key=lambda c: c.id != "first")
