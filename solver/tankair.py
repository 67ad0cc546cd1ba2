"""The air over a tank's fuel while fuel is drawn: as much of it comes in through the vent as fuel leaves for good.

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
from solver.gas import MOST_DROP, solve_gas
from solver.model import first_guess, model
from solver.reasons import reasons
from solver.solution import Solution
from solver.suction import drawn_through

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
    """Fuel that leaves it and does not come back to it [m3/s], shape (duties,)."""
    under: Array
    """How far the air over its fuel lies under that outside [Pa], shape (duties,); nan where that is beyond."""
    beyond: npt.NDArray[np.bool_]
    """Where its vent takes more than a tenth of the pressure outside, and how much more cannot be told."""
    vent: Solution
    """Its vent with that air flowing in; at a duty that is beyond, only which part of it takes the most."""
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


def drawn_under(study: Study, circuit: Circuit, pump: Edge) -> dict[str, float]:
    """How far the air over what a pump draws from lies under that outside [Pa], by duty; empty where no vent takes any.

    Of a pump that others feed, without a tank between, that of the tank at the end: all of its line lies as much lower.

    Raises:
        UnknownInputError: nothing is before it, or what the vent of its tank takes cannot be told.
    """
    edge, onward = drawn_through(circuit, pump)[0]
    air = tank_air(study, circuit.nodes[edge.start if onward else edge.end].component)
    if air is None:
        return {}
    duties = list(study.plan.duties)
    if air.beyond.any():
        at = " and ".join(duties[i] for i in np.flatnonzero(air.beyond))
        raise UnknownInputError(
            f"the vent of {air.tank.name} takes more than a tenth of the pressure of the air at {at}, and how much "
            "more is not computed",
            needs=f"a larger vent: see fuel.vent.flow/{air.tank.name}",
        )
    return dict(zip(duties, np.maximum(air.under, 0.0).tolist(), strict=True))


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
    lacks = reasons(breathing, batch, state, plan.system)
    # Its flow is given: what it takes at one density, where that no longer serves, is less than what it does take.
    vent = Solution(breathing, batch, state, {})
    under = plan.ambient.pressures - vent.total(air)
    beyond = np.isin(found.duties, list(lacks)) & (under > MOST_DROP * plan.ambient.pressures)
    others = [duty for duty, far in zip(found.duties, beyond, strict=True) if duty in lacks and not far]
    if others:
        why = "; ".join(f"at {duty} {lacks[duty]}" for duty in others)
        raise UnknownInputError(why, needs="a larger vent, or its lengths and bores")
    return TankAir(tank, draws[air], np.where(beyond, np.nan, under), beyond, vent, way)


def _drawn(study: Study, tank: Component) -> Array:
    """What leaves a tank and does not come back to it, of all circuits of fuel [m3/s], by duty; not under 0.

    Surge tanks are taken neither to fill nor to empty: what one is short of its tanks give besides, and what runs over
    comes back to them, by the shares in which they are drawn from. What is pumped into another tank has left.

    Raises:
        UnknownInputError: one of them has no answer at every duty.
    """
    own, kept = np.zeros((2, len(study.plan.duties)))
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
        surge = np.sum([flow for kind, flow in net.values() if kind != TANK], axis=0)
        own += net[tank.name][1]
        kept += surge * np.maximum(net[tank.name][1], 0.0) / np.where(tanks > 0, tanks, 1.0)
    return np.maximum(np.maximum(own, 0.0) + kept, 0.0)
