"""Two statements of a plan that contradict each other are an error that gives both numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from catalogs.errors import Fault
from catalogs.units import Quantity, show, show_tape
from lines.between import chord
from lines.ends import BOTH, candidates, port_of
from lines.graph import circuits
from lines.heights import CLOSES_WITHIN, disagreements
from lines.way import joint_at

if TYPE_CHECKING:
    from collections.abc import Callable

    from lines.plan import Plan

AN_ADAPTER = 0.1
"""An adapter of which no length is known is no longer than this [m]."""
PORT_DEPTH = 0.002
"""A seat-to-seat length may be this much under the straight distance before tape and points disagree [m]."""


def contradictions(plan: Plan, place: Callable[[tuple[int | str, ...]], dict[str, Any]]) -> list[Fault]:
    """Every pair of statements that cannot both be true."""
    faults = [
        Fault(
            message=f"a rise of {_tape(plan, stated)} contradicts its ports, {_tape(plan, ports)} apart in height",
            **place(("runs", tag, "span" if plan.runs[tag].rise is None else "rise")),
        )
        for circuit in circuits(plan).values()
        for tag, stated, ports in disagreements(plan, circuit)
    ]
    for tag, run in plan.runs.items():
        a, b = plan.port(run.start).at, plan.port(run.end).at
        between = float(np.linalg.norm(np.subtract(b, a))) if a is not None and b is not None else None
        if run.via is not None and between is None:
            key = run.end if a is not None else run.start
            message = f"via needs the place of {key}"
            faults.append(
                Fault(
                    message=message,
                    expected=f'at = "x, y, z {_unit(plan)}" on that port',
                    **place(("runs", tag, "via")),
                )
            )
        if run.span is not None and between is not None:
            spanned = float(np.linalg.norm(run.span.vector))
            if abs(spanned - between) > CLOSES_WITHIN:
                message = (
                    f"a span of {_tape(plan, spanned)} contradicts the ports, which are {_tape(plan, between)} apart"
                )
                faults.append(Fault(message=message, **place(("runs", tag, "span"))))
        if run.length is not None and run.length_is != "cut":
            faults += _too_short(plan, tag, between, place)
    return faults + _split_paths(plan, place) + _tubes(plan, place)


def _too_short(
    plan: Plan, tag: str, between: float | None, place: Callable[[tuple[int | str, ...]], dict[str, Any]]
) -> list[Fault]:
    run = plan.runs[tag]
    assert run.length is not None
    apart = chord(plan, tag) if between is None else between
    least = None if apart is None else apart - _in_metal(plan, tag)
    if least is None or run.length >= least - PORT_DEPTH:
        return []
    message = f"a length of {_tape(plan, run.length)} cannot reach between ports {_tape(plan, apart or 0.0)} apart"
    return [Fault(message=message, **place(("runs", tag, "length")))]


def _in_metal(plan: Plan, tag: str) -> float:
    """The most that elbows and adapters take up of the distance between the ports and not of the hose's length [m]."""
    taken = 0.0
    for which in BOTH:
        ends = candidates(plan, tag, which)[0]
        port = port_of(plan.runs[tag], which)
        taken += max((end.drop for end in ends), default=0.0)
        found = joint_at(plan, port, ends[0] if ends else None)
        if found.adapter is not None:
            taken += found.adapter.length or AN_ADAPTER
    return taken


def _tubes(plan: Plan, place: Callable[[tuple[int | str, ...]], dict[str, Any]]) -> list[Fault]:
    """A tube inside reaches somewhere only where there is a liquid with a surface."""
    return [
        Fault(
            message=f"{name} is of kind {component.kind.id}, in which no tube ends",
            expected="reaches on a port of a tank, a surge tank or a sump",
            **place(("components", name, "ports", port, "reaches")),
        )
        for name, component in plan.components.items()
        for port, table in component.ports.items()
        if table.reaches is not None and not any(node.height for node in component.kind.nodes.values())
    ]


def _split_paths(plan: Plan, place: Callable[[tuple[int | str, ...]], dict[str, Any]]) -> list[Fault]:
    """One inner path of a component carries one fluid."""
    owner: dict[str, str] = {}
    faults = []
    for name, circuit in circuits(plan).items():
        for edge in circuit.edges.values():
            if edge.run is not None or edge.component is None:
                continue
            for node in (edge.start, edge.end):
                other = owner.setdefault(node, name)
                if other != name:
                    message = f"one path inside it carries two circuits, {other} and {name}"
                    expected = f"one name for both: all runs that meet in {edge.component.name} in one circuit"
                    there = place(("components", edge.component.name))
                    faults.append(Fault(message=message, expected=expected, **there))
    return list(dict.fromkeys(faults))


def _unit(plan: Plan) -> str:
    """In which a tape of the plan's shop reads."""
    return "in" if plan.system == "us" else "mm"


def _tape(plan: Plan, length: float) -> str:
    if plan.system == "us":
        return show_tape(length, "us")
    return show(Quantity(length, "length"), "metric")
