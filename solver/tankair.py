"""The air over a tank's fuel while fuel is drawn: as much of it comes in through the vent as fuel is burnt.

Its vent is a circuit of air, which is solved with that flow. Vapour of the fuel that takes the room of some air is not
in it. A pressure that the plan states for the tank is taken as measured, and goes before it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.bounds import STANDARD_ATMOSPHERE
from catalogs.errors import NoAnswerError, UnknownInputError
from solver.along import losses
from solver.fuels import fuel_circuits
from solver.gas import solve_gas
from solver.model import first_guess, model
from solver.reasons import reasons
from solver.solution import Solution
from solver.suction import drawn_by

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.graph import Circuit, Edge
    from lines.plan import Component
    from solver.along import Steps
    from solver.study import Study

    Array = npt.NDArray[np.float64]


TANK = "tank"
"""The kind that runs empty; a surge tank is kept full."""


@dataclass(frozen=True)
class TankAir:
    """The air that a tank breathes in at every duty."""

    tank: Component
    draws: Array
    """Fuel that leaves it for good [m3/s], shape (duties,)."""
    under: Array
    """How far the air over its fuel lies under that outside [Pa], shape (duties,)."""
    vent: Solution
    """Its vent with that air flowing in."""
    way: Steps
    """From the nearest opening to the air over its fuel."""

    def losses(self) -> dict[str, Array]:
        """What each thing on the way takes [Pa], by duty."""
        return losses(self.vent, self.way)


def tank_air(study: Study, tank: Component) -> TankAir | None:
    """The air over a tank's fuel; None where no vent of it is in the plan, or its pressure is stated.

    Raises:
        UnknownInputError: what flows in its vent, or how that resists, is not known.
    """
    if "pressure" in tank.stated:
        return None
    for circuit in study.circuits.values():
        if any(_over(circuit, node) is tank for node in circuit.nodes):
            return _breathed(study, circuit, tank)
    return None


def drawn_under(study: Study, pump: Edge) -> dict[str, float]:
    """How far the air over what a pump draws from lies under that outside [Pa], by duty; empty where it is not told."""
    for circuit in fuel_circuits(study):
        if pump.name in circuit.edges:
            try:
                edge, onward = drawn_by(circuit, pump)[0]
                air = tank_air(study, circuit.nodes[edge.start if onward else edge.end].component)
            except UnknownInputError:
                return {}
            return {} if air is None else dict(zip(study.plan.duties, np.maximum(air.under, 0.0).tolist(), strict=True))
    return {}


def _over(circuit: Circuit, node: str) -> Component | None:
    """The tank over whose liquid a node of a circuit of gas is the air; None of another node."""
    found = circuit.nodes[node]
    airs = {f"{found.component.name}.{inner.gas}" for inner in found.component.kind.nodes.values() if inner.gas}
    return found.component if node in airs else None


def _breathed(study: Study, circuit: Circuit, tank: Component) -> TankAir | None:
    plan = study.plan
    air = next(node for node in circuit.nodes if _over(circuit, node) is tank)
    joined = next(part for part in circuit.parts() if air in part)
    airs = {node: over for node in sorted(joined) if (over := _over(circuit, node)) and "pressure" not in over.stated}
    known = [name for name in joined if (inner := circuit.nodes[name].inner) is not None and inner.pressure]
    way = circuit.shortest_way(sorted(set(known) - airs.keys()), air, ())
    if not way:
        return None
    draws = {node: _drawn(study, over) for node, over in airs.items()}
    try:
        found = model(plan, circuit, study.assemblies)
    except NoAnswerError as error:
        raise UnknownInputError(error.reason, needs=error.needs) from error
    fixed, pressures, taken = found.network.fixed.copy(), found.batch.known.copy(), found.batch.taken.copy()
    for node, flow in draws.items():
        i = found.number[node]
        fixed[i], pressures[:, i] = False, 0.0
        taken[:, i] += flow * plan.ambient.pressures / STANDARD_ATMOSPHERE
    breathing = replace(found, network=replace(found.network, fixed=fixed))
    state, batch = solve_gas(breathing.network, replace(found.batch, known=pressures, taken=taken), first_guess(found))
    vent = Solution(breathing, batch, state, reasons(breathing, batch, state, plan.system))
    if vent.reasons:
        why = "; ".join(f"at {duty} {reason}" for duty, reason in vent.reasons.items())
        raise UnknownInputError(why, needs="a larger vent, or its lengths and bores")
    return TankAir(tank, draws[air], plan.ambient.pressures - vent.total(air), vent, way)


def _drawn(study: Study, tank: Component) -> Array:
    """What leaves a tank for good, of all circuits of fuel [m3/s], by duty.

    Surge tanks are taken neither to fill nor to empty: of each circuit the tanks give what is burnt, by the shares in
    which they are drawn from.

    Raises:
        UnknownInputError: one of them has no answer at every duty.
    """
    total = np.zeros(len(study.plan.duties))
    for circuit in fuel_circuits(study):
        held = {n: node.component for n, node in circuit.nodes.items() if node.inner is not None and node.inner.height}
        if tank.kind.id != TANK or tank not in held.values():
            continue
        answer = study.solutions.get(circuit.name)
        if not isinstance(answer, Solution) or not answer.solved.all():
            reason = f"what is drawn from {tank.name} is not known: circuit {circuit.name} has no answer"
            raise UnknownInputError(reason, needs=f"what circuit.flow/{circuit.name} asks for")
        leaves = answer.state.flow @ answer.model.network.out.T
        net = {over.name: (over.kind.id, leaves[:, answer.model.number[n]]) for n, over in held.items()}
        tanks = np.sum([np.maximum(flow, 0.0) for kind, flow in net.values() if kind == TANK], axis=0)
        share = np.maximum(net[tank.name][1], 0.0) / np.where(tanks > 0, tanks, 1.0)
        total += share * np.sum([flow for _, flow in net.values()], axis=0)
    return total
