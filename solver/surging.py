"""A surge tank: its ways in and out, what comes in and is drawn, what it holds over its mouths."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from solver.along import line_ends, line_to
from solver.fuels import pumps
from solver.liquid import liquid_in
from solver.newton import solve
from solver.pool import volume_under
from solver.reasons import reasons
from solver.solution import Solution

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.graph import Circuit, Edge
    from lines.plan import Component
    from solver.study import Study

    Array = npt.NDArray[np.float64]

KIND = "surge-tank"


@dataclass(frozen=True)
class Mouths:
    """The ways in and out of a surge tank."""

    drawn: list[Edge]
    """What pumps draw by."""
    over: list[Edge]
    """What leads to another tank."""
    fed: list[Edge]
    """All others."""


def mouths_of(circuit: Circuit, tank: Component) -> Mouths:
    """The ways in and out of a surge tank of a circuit."""
    mouths = [e for e in circuit.edges.values() if e.component is tank and e.law == "mouth"]
    by_pump = {way[0][0].name for pump in pumps(circuit) if (way := line_to(circuit, pump.start))}
    drawn = [mouth for mouth in mouths if mouth.name in by_pump]
    closed = line_ends(circuit) | {m.name for m in mouths}
    others = [
        name
        for name, node in circuit.nodes.items()
        if node.component is not tank and node.inner is not None and node.inner.height
    ]
    over = [m for m in mouths if m not in drawn and circuit.shortest_way(others, m.end, closed)]
    return Mouths(drawn, over, [m for m in mouths if m not in drawn and m not in over])


def kept_full(study: Study, solution: Solution, surface: str) -> Solution | None:
    """The circuit with a surge tank kept full: its pressure is what its lines leave it; None where it has no answer."""
    model = solution.model
    fixed = model.network.fixed.copy()
    fixed[model.number[surface]] = False
    changed = replace(model, network=replace(model.network, fixed=fixed))
    state = solve(changed.network, solution.batch, solution.state.flow)
    told = reasons(changed, solution.batch, state, study.plan.system)
    answer = Solution(changed, solution.batch, state, told)
    return answer if answer.solved.all() else None


def through(solution: Solution, mouths: Mouths) -> tuple[Array, Array]:
    """What comes in otherwise than by the overflow, and what pumps draw [m3/s], by duty."""
    fed, drawn = (np.sum([solution.flow(edge.name) for edge in edges], axis=0) for edges in (mouths.fed, mouths.drawn))
    return np.asarray(-fed), np.asarray(drawn)


def returned(solution: Solution, mouths: Mouths) -> Array:
    """What comes into it otherwise than from a lift pump [m3/s], by duty: back from a regulator."""
    circuit = solution.model.circuit
    lifts = {pump.end for pump in pumps(circuit)}
    closed = line_ends(circuit)
    back = [e for e in mouths.fed if not circuit.shortest_way(lifts, e.end, closed | {m.name for m in mouths.fed})]
    none = np.zeros(len(solution.model.duties))
    return np.asarray(-np.sum([none, *(solution.flow(edge.name) for edge in back)], axis=0))


def lifted(solution: Solution, mouths: Mouths) -> Array:
    """What comes into it from lift pumps [m3/s], by duty.

    Against the open air over its low level: with every filter due what stands behind the main pump does not count, for
    the tank's surface parts the two.
    """
    return np.asarray(through(solution, mouths)[0] - returned(solution, mouths))


def held_over(study: Study, tank: Component, port: str) -> float:
    """What a full tank holds over the mouth of a port, the least over all attitudes [m3].

    Raises:
        UnknownInputError: its box, its full mark or the place of the mouth is not known.
    """
    full = liquid_in(tank, "full")
    if full.volume is None or full.body is None:
        raise UnknownInputError(full.lacks, needs=full.needs)
    table = study.plan.port(port)
    at = table.reaches or table.at
    if at is None:
        raise UnknownInputError(f"where {port} lies is not known", needs=f"`at` of {port}")
    down = np.stack([attitude.down for attitude in study.plan.attitudes.values()])
    under = volume_under(full.body, -down @ np.array(at), down)
    return max(full.volume - float(under.max()), 0.0)
