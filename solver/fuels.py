"""What is in a circuit of fuel: its pumps, its rails, the regulators that hold their pressure, and what these feel."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import NoAnswerError, UnknownInputError
from lines.states import OTHERWISE
from solver.along import line_ends
from solver.leaning import leaning
from solver.solution import Solution, solve_circuit
from solver.stated import asked_for, figure

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy.typing as npt

    from lines.graph import Circuit, Edge
    from lines.plan import Component, Plan
    from solver.leaning import Leaning
    from solver.study import Study

    Array = npt.NDArray[np.float64]

FUELS = {"gasoline", "ethanol-blend", "ethanol-high", "alcohol", "diesel"}
"""Families of fluids that are burnt."""


def fuel_circuits(study: Study) -> Iterator[Circuit]:
    """The circuits of a fuel."""
    for name, circuit in study.circuits.items():
        if study.plan.catalog.fluid(study.plan.circuits[name].fluid).family in FUELS:
            yield circuit


def pumps(circuit: Circuit) -> list[Edge]:
    """The electric pumps of a circuit, by their inner path."""
    return [edge for edge in circuit.edges.values() if edge.law == "pump" and edge.component is not None]


def fuel_tanks(study: Study) -> list[Component]:
    """The tanks of circuits with a pump, once each; surge tanks are none."""
    found = {
        edge.component.name: edge.component
        for circuit in fuel_circuits(study)
        if pumps(circuit)
        for edge in circuit.edges.values()
        if edge.component is not None and edge.component.kind.id == "tank"
    }
    return list(found.values())


def tanks(circuit: Circuit) -> list[Component]:
    """The tanks of a circuit, once each."""
    found = {
        edge.component.name: edge.component
        for edge in circuit.edges.values()
        if edge.component is not None and edge.law == "mouth" and edge.component.kind.holds
    }
    return list(found.values())


def owner(edge: Edge) -> Component:
    """The component that an inner path is in."""
    assert edge.component is not None
    return edge.component


def takes(pump: Component, duties: list[str]) -> Array:
    """What an electric pump takes from the battery at every duty [W].

    Raises:
        UnknownInputError: its current or voltage is not stated, or the one current of a pump that is pulsed.
    """
    lacking = [key for key in ("amps", "volts") if pump.figures.get(key) is None]
    if lacking:
        needs = " and ".join(asked_for(pump, key) for key in lacking)
        raise UnknownInputError(f"what {pump.name} takes is not known", needs=needs)
    if pump.figures.get("holds") is not None and OTHERWISE in pump.figures["amps"].values and len(duties) > 1:
        each = ", ".join(f'{duty} = "..."' for duty in duties)
        needs = f"amps in [components.{pump.name}] at each duty, as measured at its plug: {{ {each} }}"
        raise UnknownInputError(f"what {pump.name} takes while it is pulsed is not known", needs=needs)
    amps, volts = (np.array(pump.figures[key].over(duties)) for key in ("amps", "volts"))
    return np.asarray(amps * volts)


def due_and_clean(study: Study, circuit: Circuit) -> list[Leaning]:
    """A circuit in every attitude, with every filter due and with all of them clean.

    What a pump draws counts with both: a filter that is due before it takes more, and behind it lessens its flow.

    Raises:
        NoAnswerError: one of them has no answer at every duty.
        UnknownInputError: it can be told in no attitude.
    """
    each = [solve_circuit(study.plan, circuit, study.assemblies, loaded=loaded) for loaded in (True, False)]
    if not all(answer.solved.all() for answer in each):
        raise NoAnswerError(f"circuit {circuit.name} has no answer at every duty")
    return [leaning(study.plan, answer) for answer in each]


def rails(circuit: Circuit) -> dict[str, list[str]]:
    """The rails of a circuit by their names, each with the nodes at which its fluid is burnt, from its inlet on."""
    found: dict[str, list[str]] = {}
    for name, node in circuit.nodes.items():
        if node.inner is not None and node.inner.draw == "burn":
            found.setdefault(node.component.name, []).append(name)
    return found


def burns_at(circuit: Circuit) -> list[str]:
    """The nodes of all its rails, in the order of `rails`."""
    return [name for nodes in rails(circuit).values() for name in nodes]


def felt(answer: Solution, node: str) -> Array:
    """What an injector feels where it draws from its rail's bore: static pressure there [Pa absolute], by duty.

    A tap in the wall feels static pressure. What flows on past a small draw keeps its total pressure, so that static
    pressure rises as the flow falls: Bernoulli along what flows on; and so says the momentum in the bore, where what is
    drawn leaves with the mean of the speeds before and after it,

        p2 - p1 = rho (v1^2 - v2^2) - rho (v1 - v2) (v1 + v2) / 2 = rho (v1^2 - v2^2) / 2.

    At the tap the bore has that mean speed; where the flow comes from both sides, or ends, it counts with its sign, or
    as none. What the draw disturbs of the flow past it, some tenths of the velocity head that is given up there, is
    left out. Textbooks of fluid mechanics, dividing manifolds; the size of what is left out from memory.
    """
    circuit = answer.model.circuit
    passages = [e for e in circuit.edges.values() if e.law == "passage" and node in {e.start, e.end}]
    through = np.sum([answer.flow(edge.name) for edge in passages], axis=0) / 2.0
    speed = through / (np.pi * figure(circuit.nodes[node].component, "bore") ** 2 / 4)
    return np.asarray(answer.total(node) - answer.model.density * speed**2 / 2)


def injector(nodes: list[str], which: int) -> str:
    """One of the nodes of a rail in words; empty where the rail has only one."""
    return f"injector {which + 1} from its inlet" if len(nodes) > 1 else ""


def answers(study: Study) -> list[tuple[Circuit, Solution | None]]:
    """The circuits in which something burns the fluid, each with its answer if it has one at every duty."""
    found = []
    for answer in study.solutions.values():
        solved = isinstance(answer, Solution) and answer.solved.all()
        circuit = answer.model.circuit if isinstance(answer, Solution) else answer.circuit
        if rails(circuit):
            found.append((circuit, answer if isinstance(answer, Solution) and solved else None))
    return found


def regulators(circuit: Circuit) -> list[Edge]:
    """The valves of a circuit's bypass regulators; a relief valve is none."""
    return [
        edge
        for edge in circuit.edges.values()
        if edge.law == "bypass" and edge.component is not None and edge.component.kind.id == "regulator"
    ]


def held_by(circuit: Circuit, rail: str) -> list[Edge]:
    """What holds the pressure at a rail's node: bypass regulators, feed regulators, pulsed pumps, by their inner path.

    That is what borders on its part of the circuit; a regulator that feeds it stands for what lies before.
    """
    part = next(part for part in circuit.parts_without(between_pumps(circuit)) if rail in part)
    return [
        edge
        for edge in circuit.edges.values()
        if (edge in regulators(circuit) and edge.start in part)
        or (edge.law == "supply" and edge.end in part)
        or (edge.law == "pump" and owner(edge).figures.get("holds") is not None and edge.end in part)
    ]


def feeding(circuit: Circuit) -> list[Edge]:
    """The pumps from which a rail is reached, also through a feed regulator: not through another pump or a tank."""
    ends, closed = burns_at(circuit), feeds_not(circuit)
    return [
        pump
        for pump in circuit.edges.values()
        if pump.law == "pump" and any(circuit.shortest_way([pump.end], node, closed) for node in ends)
    ]


def main_pump(circuit: Circuit) -> Edge:
    """The pump that feeds the rails of a circuit with pumps, the first where there are several."""
    return (feeding(circuit) or pumps(circuit))[0]


def between_pumps(circuit: Circuit) -> set[str]:
    """The names of the edges that a pressure does not pass: pumps, valves that hold one, tanks."""
    return line_ends(circuit) | {name for name, edge in circuit.edges.items() if edge.law == "mouth"}


def feeds_not(circuit: Circuit) -> set[str]:
    """The names of the edges that no feed passes: pumps, ways back, tanks."""
    return {name for name in between_pumps(circuit) if circuit.edges[name].law != "supply"}


def manifold(plan: Plan, duties: list[str]) -> Array:
    """Pressure in the manifold [Pa absolute], by duty.

    Raises:
        UnknownInputError: a duty states no boost.
    """
    unknown = [d for d in duties if plan.duties[d].boost is None]
    if unknown:
        reason = f"the pressure in the manifold is not known in {', '.join(unknown)}"
        raise UnknownInputError(reason, needs=f"boost in {' and '.join(unknown)}")
    return np.array([b.absolute(plan.ambient.pressure[d]) for d in duties if (b := plan.duties[d].boost)])
