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
CORE = "core"
"""The way through a cooler, whatever its kind."""
BOXES = {"steering-box"}
"""Kinds that stop the flow at full lock. No law tells: a kind that is missing here sees too much pressure behind it."""


def loops(study: Study) -> list[Circuit]:
    """The circuits of oil with a pump, something that gives its oil (a gearbox) or a cooler, drains left out."""
    return [
        circuit
        for name, circuit in study.circuits.items()
        if not circuit.gravity
        and study.plan.catalog.fluid(study.plan.circuits[name].fluid).family in OILS
        and (pumps(circuit) or coolers(circuit) or _givers(circuit))
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
    return edge.law in PUMPS


def coolers(circuit: Circuit) -> list[Edge]:
    """The ways through the coolers of a circuit."""
    return [edge for edge in circuit.edges.values() if is_cooler(edge)]


def is_cooler(edge: Edge) -> bool:
    """Is it the way through a cooler?"""
    return edge.path is not None and edge.path.name == CORE


def _givers(circuit: Circuit) -> list[str]:
    return [name for name, node in circuit.nodes.items() if node.inner is not None and node.inner.gives]


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


def about(circuit: Circuit, starts: Iterable[str], stops: Callable[[Edge], bool], wall: str = "") -> list[Edge]:
    """The edges reached from some nodes, either way; by none that stops, nor past a known pressure or a wall's node."""
    todo = list(starts)
    seen = {*todo, wall}
    found: dict[str, Edge] = {}
    while todo:
        node = todo.pop()
        for edge in circuit.edges.values():
            if node not in {edge.start, edge.end} or edge.name in found or stops(edge):
                continue
            found[edge.name] = edge
            other = edge.end if node == edge.start else edge.start
            if other not in seen and not known(circuit.nodes[other]):
                todo.append(other)
            seen.add(other)
    return list(found.values())


def known(node: Node) -> bool:
    """Is it a place of known pressure?"""
    return node.inner is not None and bool(node.inner.pressure)


def _ends(edge: Edge) -> bool:
    """Does the pressure of a pump end here whatever flows: in a pump, a box, or a valve that lets oil back?"""
    if edge.component is None:
        return False
    return is_pump(edge) or edge.law == "bypass" or edge.component.kind.id in BOXES


def _consumes(edge: Edge) -> bool:
    """Does it end here where nothing behind can shut: in a cooler and the way round it too?"""
    return _ends(edge) or is_cooler(edge) or (edge.path is not None and edge.path.name == ROUND)


def _pressed_from(circuit: Circuit, outlet: str) -> list[Edge]:
    """The pressure line from an outlet: past a cooler only where a box lies behind it."""
    whole = about(circuit, [outlet], _ends)
    reached = {outlet, *(name for edge in whole for name in (edge.start, edge.end))}
    boxes = [e for e in circuit.edges.values() if e.component is not None and e.component.kind.id in BOXES]
    behind = any(reached & {box.start, box.end} for box in boxes)
    return whole if behind else about(circuit, [outlet], _consumes)


def suction_of(circuit: Circuit, pump: Edge) -> list[Edge]:
    """The edges between a pump's inlet and what it draws from."""
    return about(circuit, [pump.start], _consumes)


def roles(circuit: Circuit) -> dict[str, Role]:
    """What each run of a loop does, by its tag.

    A pump draws by suction from the next surface, cooler or box. From its outlet, and from where a gearbox gives its
    oil, it is pressure up to the steering box, or where there is none to the next cooler or surface; what is left and
    ends at an open surface is return. All else is pressure.
    """
    drawn = {e.name for pump in pumps(circuit) for e in suction_of(circuit, pump)}
    outlets = [pump.end for pump in pumps(circuit)] + _givers(circuit)
    pressed = {e.name for outlet in outlets for e in _pressed_from(circuit, outlet)} - drawn
    open_ends = [name for name, node in circuit.nodes.items() if _open(node)]
    back = {e.name for e in about(circuit, open_ends, lambda e: is_pump(e) or e.name in drawn or e.name in pressed)}
    return {
        tag: "suction" if tag in drawn else "return" if tag in back and tag not in pressed else "pressure"
        for tag in circuit.runs
    }


def _open(node: Node) -> bool:
    """Is it a surface or an end in the open air?"""
    return node.inner is not None and (node.inner.pressure == "ambient" or bool(node.inner.height))


def at_relief(found: Solution, edge: str) -> Array | None:
    """Pressure in an edge while a pump with a relief pressure stands at it, as at full lock [Pa absolute] by duty.

    Nothing flows then, so that everything from the pump to the steering box has it, a cooler before the box too. Where
    no box shuts the line it is taken for all of it, up to a surface. None where no such pump presses into the edge.
    """
    circuit, seen = found.model.circuit, []
    for pump in pumps(circuit):
        relief = pump.component.figures.get("relief") if pump.component is not None else None
        if relief is not None and any(e.name == edge for e in about(circuit, [pump.end], _ends)):
            seen.append(found.total(pump.start) + np.array(relief.over(found.model.duties)))
    return np.asarray(np.max(seen, axis=0)) if seen else None
