"""The schematic of each circuit as content: its boxes, and its lines along the flow with what is written on them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from reports.figures import dash_size
from reports.layout import Order, Way, order
from solver.solution import Solution

if TYPE_CHECKING:
    from collections.abc import Sequence

    from lines.graph import Circuit
    from solver.study import Study

NO_FLOW = 1e-8
"""Less [m3/s] is what leaks through something that is shut."""
CROSS = "Lines that cross are not joined."


@dataclass(frozen=True, slots=True)
class Part:
    """A component."""

    name: str
    kind: str


@dataclass(frozen=True, slots=True)
class Line:
    """What is written on a run."""

    tag: str
    name: str
    size: str


@dataclass(frozen=True)
class Sketch:
    """One circuit to draw."""

    circuit: str
    fluid: str
    arrows: str
    """What the arrows are by."""
    parts: dict[str, Part]
    lines: dict[str, Line]
    first: tuple[str, ...]
    """Components at which the flow begins where it goes round."""
    order: Order

    def only(self, ways: Sequence[Way]) -> Sketch:
        """The sketch of some of the runs, with what they join."""
        owners = {name for way in ways for name in way.owners}
        names = [name for name in self.parts if name in owners]
        tags = {way.tag for way in ways}
        return replace(
            self,
            parts={name: self.parts[name] for name in names},
            lines={tag: line for tag, line in self.lines.items() if tag in tags},
            order=order(names, ways, self.first),
        )

    def halves(self) -> tuple[Sketch, Sketch]:
        """The half of the runs that comes first along the flow, and the other."""
        layer = {name: n for n, column in enumerate(self.order.columns) for name in column}
        ways = sorted(self.order.ways, key=lambda way: layer[way.owners[0]])
        middle = len(ways) // 2
        return self.only(ways[:middle]), self.only(ways[middle:])


def sketches(study: Study) -> list[Sketch]:
    """A schematic of each circuit that has runs."""
    return [_sketch(study, circuit) for circuit in study.circuits.values()]


def _sketch(study: Study, circuit: Circuit) -> Sketch:
    plan = study.plan
    forward, by = directions(study, circuit)
    ways = [
        Way(tag, run.start, run.end) if forward.get(tag, True) else Way(tag, run.end, run.start)
        for tag, run in circuit.runs.items()
    ]
    first = tuple(_beginnings(circuit))
    owners = {name for way in ways for name in way.owners}
    names = [name for name in plan.components if name in owners]
    return Sketch(
        circuit=circuit.name,
        fluid=plan.catalog.fluid(plan.circuits[circuit.name].fluid).means,
        arrows=by,
        parts={name: Part(name, plan.components[name].kind.id.replace("-", " ")) for name in names},
        lines={
            tag: Line(tag, run.line, dash_size(plan.catalog.stock(run.stock).dash)) for tag, run in circuit.runs.items()
        },
        first=first,
        order=order(names, ways, first),
    )


def directions(study: Study, circuit: Circuit) -> tuple[dict[str, bool], str]:
    """Of each run whose flow is known: does it flow from `from` to `to`? And in words what that is by."""
    if circuit.gravity:
        return circuit.drains_forward(), "Arrows: the way it drains."
    answer = study.solutions.get(circuit.name)
    forward, duties = _flows(answer) if isinstance(answer, Solution) else ({}, [])
    open_ = [tag for tag in circuit.runs if tag not in forward]
    says = [f"Arrows: the flow at {', '.join(duties)}."] if forward else []
    if open_ and forward:
        says += [f"No flow is known in {', '.join(open_)}: from and to as in the plan."]
    return forward, " ".join(says) or "Arrows: from and to as in the plan; no flow is known."


def _flows(answer: Solution) -> tuple[dict[str, bool], list[str]]:
    """The way of each run at the first duty at which it flows, and those duties."""
    forward: dict[str, bool] = {}
    duties: list[str] = []
    for tag in answer.model.circuit.runs:
        for duty, flow in zip(answer.model.duties, answer.flow(tag), strict=True):
            if abs(flow) > NO_FLOW:
                forward[tag] = bool(flow > 0)
                duties += [duty] if duty not in duties else []
                break
    return forward, duties


def _beginnings(circuit: Circuit) -> list[str]:
    """Where to begin when the flow goes round: a body of liquid or a known pressure, then what pumps."""
    known = [node.component.name for node in circuit.nodes.values() if node.inner is not None and node.inner.pressure]
    pumps = [
        edge.component.name for edge in circuit.edges.values() if edge.component is not None and "pump" in edge.law
    ]
    return [*known, *pumps]
