"""What each run of an oil loop does: suction, pressure or return; and what it sees when a pump stands at its relief."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from lines.finding import unchecked, words
from solver.oilparts import ROUND
from solver.solution import Solution

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    import numpy.typing as npt

    from lines.finding import Finding
    from lines.graph import Circuit, Edge, Node
    from solver.study import Study

    Array = npt.NDArray[np.float64]

Role = Literal["suction", "pressure", "return"]

OILS = {"oil", "atf"}
"""Families of fluids whose loops these checks look at."""
PUMPS = {"pump", "engine_pump"}
MOVERS = {"steering-pump", "oil-pump", "gearbox", "cooler"}
"""Kinds one of which makes a circuit of oil a loop."""
CONSUMERS = {"cooler", "steering-box", "turbocharger"}
"""Kinds behind which a line is no longer the pressure line of its pump."""


def loops(study: Study) -> list[Circuit]:
    """The circuits of oil with a pump, a gearbox or a cooler in them, drains left out."""
    return [
        circuit
        for name, circuit in study.circuits.items()
        if not circuit.gravity
        and study.plan.catalog.fluid(study.plan.circuits[name].fluid).family in OILS
        and any(node.component.kind.id in MOVERS for node in circuit.nodes.values())
    ]


def answer(study: Study, circuit: Circuit) -> Solution | None:
    """The solution of a circuit that has one at every duty."""
    found = study.solutions.get(circuit.name)
    return found if isinstance(found, Solution) and found.solved.all() else None


def without_answer(rule: str, place: str, circuit: Circuit) -> Finding:
    """The finding of a rule at a place whose circuit has no answer to judge."""
    why = words("Circuit {circuit} has no answer at every duty.", circuit=circuit.name)
    return unchecked(rule, place, why, f"what circuit.flow/{circuit.name} asks for")


def pumps(circuit: Circuit) -> list[Edge]:
    """The pumps of a circuit, electric ones and those of the engine."""
    return [edge for edge in circuit.edges.values() if is_pump(edge)]


def is_pump(edge: Edge) -> bool:
    """Is it the inner path of a pump, an electric one or one of the engine?"""
    return edge.path is not None and edge.path.law in PUMPS


def each(
    study: Study,
    rule: str,
    parts: Callable[[Circuit], Iterable[Edge]],
    judged: Callable[[Study, Solution, Edge, str], Finding],
) -> list[Finding]:
    """The finding of a rule at some components of every loop, by their inner path and their name."""
    found = []
    for circuit in loops(study):
        solution = answer(study, circuit)
        for edge in parts(circuit):
            assert edge.component is not None
            name = edge.component.name
            found.append(
                without_answer(rule, name, circuit) if solution is None else judged(study, solution, edge, name)
            )
    return found


def about(circuit: Circuit, starts: Iterable[str], stops: Callable[[Edge], bool]) -> list[Edge]:
    """The edges that are reached from some nodes, either way; not by those that stop, nor past a known pressure."""
    seen, todo = set(starts), list(starts)
    found: dict[str, Edge] = {}
    while todo:
        node = todo.pop()
        for edge in circuit.edges.values():
            if node not in {edge.start, edge.end} or edge.name in found or stops(edge):
                continue
            found[edge.name] = edge
            other = edge.end if node == edge.start else edge.start
            if other not in seen and not _known(circuit.nodes[other]):
                todo.append(other)
            seen.add(other)
    return list(found.values())


def _known(node: Node) -> bool:
    return node.inner is not None and bool(node.inner.pressure)


def _consumes(edge: Edge) -> bool:
    """Does the pressure of a pump end here: in a pump, a consumer, a valve that lets oil back, or a by-pass?"""
    if edge.path is None or edge.component is None:
        return False
    lets_back = edge.path.law == "bypass" or edge.path.name == ROUND
    return is_pump(edge) or lets_back or edge.component.kind.id in CONSUMERS


def suction_of(circuit: Circuit, pump: Edge) -> list[Edge]:
    """The edges between a pump's inlet and what it draws from."""
    return about(circuit, [pump.start], _consumes)


def roles(circuit: Circuit) -> dict[str, Role]:
    """What each run of a loop does, by its tag.

    A pump draws by suction from the next surface, cooler or box; from its outlet, and from where a gearbox gives its
    oil, to the next of these it is pressure; what is left and ends at an open surface is return. All else is pressure.
    """
    drawn = {e.name for pump in pumps(circuit) for e in suction_of(circuit, pump)}
    given = [name for name, node in circuit.nodes.items() if node.inner is not None and node.inner.gives]
    outlets = [pump.end for pump in pumps(circuit)] + given
    pressed = {e.name for e in about(circuit, outlets, lambda e: _consumes(e) or e.name in drawn)} if outlets else set()
    open_ends = [name for name, node in circuit.nodes.items() if _open(node)]
    back = {e.name for e in about(circuit, open_ends, lambda e: is_pump(e) or e.name in drawn or e.name in pressed)}
    return {
        tag: "suction" if tag in drawn else "return" if tag in back and tag not in pressed else "pressure"
        for tag in circuit.runs
    }


def _open(node: Node) -> bool:
    """Is it a surface or an end in the open air?"""
    return node.inner is not None and (node.inner.pressure == "ambient" or bool(node.inner.height))


def at_relief(found: Solution, tag: str) -> Array | None:
    """Pressure in a run while a pump with a relief pressure stands at it, as at full lock [Pa absolute] by duty.

    Nothing flows then, so that the whole pressure line has it. None where no such pump presses into the run.
    """
    circuit = found.model.circuit
    for pump in pumps(circuit):
        relief = pump.component.figures.get("relief") if pump.component is not None else None
        if relief is not None and any(e.name == tag for e in about(circuit, [pump.end], _consumes)):
            return np.asarray(found.total(pump.start) + np.array(relief.over(found.model.duties)))
    return None
