"""Ports that no run is on: a hole, or a line that was forgotten."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalogs.grades import Grade
from lines.finding import Finding, Verdict, words

if TYPE_CHECKING:
    from lines.plan import Component
    from solver.study import Study


def open_ports(study: Study) -> list[Finding]:
    """`port.open`: of each component, the ports that the plan places or that its flow needs, and that have no run."""
    plan = study.plan
    used = {ref for run in plan.runs.values() for ref in (run.start, run.end)}
    found = []
    for component in plan.components.values():
        here = {ref.partition(".")[2] for ref in used if ref.partition(".")[0] == component.name}
        if not here and (component.kind.ports or component.kind.free_ports):
            found.append(_finding(component, "No run reaches it.", "Name the runs that join it, or leave it out."))
        elif lacking := _lacking(component, here):
            names = " and ".join(f"{component.name}.{port}" for port in lacking)
            text = f"No run is on {names}: a hole, or a line that was forgotten."
            change = "Name its run. Only if nothing breathes, drains or returns by it, plug it and leave it out."
            found.append(_finding(component, text, change))
    return found


def _lacking(component: Component, here: set[str]) -> list[str]:
    """Ports without a run: those that the plan places, and those that the flow inside comes to from a port in use.

    Some ports may be closed: a second outlet, a bleed. Some are a place inside, which a plan may say: a pickup's mouth.
    """
    kind, reached, before = component.kind, set(here), 0
    while len(reached) != before:
        before = len(reached)
        for path in kind.paths:
            ends = {path.start, path.end}
            if ends & reached:
                reached |= ends
    needed = sorted(port for port in reached & kind.ports.keys() if not kind.ports[port].may_close)
    placed = [port for port in component.ports if port not in kind.ports or not kind.ports[port].inside]
    return [port for port in dict.fromkeys([*placed, *needed]) if port not in here]


def _finding(component: Component, why: str, change: str) -> Finding:
    return Finding(
        rule="port.open",
        place=component.name,
        verdict=Verdict.CAUTION,
        why=words("{why}", why=why),
        change=words("{change}", change=change),
        basis=Grade.MEASURED,
    )
