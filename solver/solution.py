"""The steady solution of a circuit at every duty, with names; a duty without an answer has a reason instead."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import NoAnswerError
from catalogs.units import STANDARD_GRAVITY
from lines.assembly import assemblies
from lines.graph import Circuit, circuits
from solver.friction import darcy_factor, friction_drop
from solver.model import Model, first_guess, model
from solver.network import A_FLOW, State, edge_drops, here_at, solve

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from lines.assembly import Assembly
    from lines.plan import Plan

    Array = npt.NDArray[np.float64]

WORST_IMBALANCE = 1.0
"""An answer is shown only if every edge's pressures balance this well when recomputed [Pa]."""
WORST_SPILL = 1e-6
"""… and every node's flows, over the largest flow of the circuit or over `A_FLOW`."""


@dataclass(frozen=True)
class Solution:
    """What a circuit does. Arrays are by duty, shape (duties,)."""

    model: Model
    state: State
    reasons: dict[str, str]
    """Duties without an answer, and why."""

    @property
    def solved(self) -> npt.NDArray[np.bool_]:
        return np.array([duty not in self.reasons for duty in self.model.duties])

    def flow(self, edge: str) -> Array:
        """Volume flow of an edge [m3/s], nan where a duty has no answer."""
        return self._kept(self.state.flow[:, self.model.edges.index(edge)])

    def total(self, node: str) -> Array:
        """Total pressure at a node [Pa absolute]."""
        lift = self.model.batch.density * STANDARD_GRAVITY * self.model.heights[node]
        return self._kept(self.state.pressure[:, self.model.number[node]] - lift)

    def static(self, node: str, edge: str, bore: float) -> Array:
        """Static pressure at a node in the bore [m] of an edge that meets it [Pa absolute]."""
        velocity = self.flow(edge) / (np.pi * bore**2 / 4)
        return self.total(node) - self.model.batch.density * velocity**2 / 2

    def parts(self, edge: str) -> dict[str, Array]:
        """Each named part of an edge's drop [Pa], with the sign of its flow."""
        net, batch = self.model.network, self.model.batch
        i = self.model.edges.index(edge)
        named: dict[str, Array] = {}
        rho, mu = batch.density[:, None], batch.viscosity[:, None]
        own = net.pipes.edge == i
        pipes = friction_drop(
            self.state.flow[:, net.pipes.edge[own]],
            length=net.pipes.length[own],
            bore=net.pipes.bore[own],
            roughness=net.pipes.roughness[own],
            density=rho,
            viscosity=mu,
        )[0]
        losses = net.losses.drops(self.state.flow, rho, mu)[0][:, net.losses.edge == i]
        resistance = self.model.resistances[edge]
        for column, pipe in zip(pipes.T, resistance.pipes, strict=True):
            named[f"friction in {pipe.name}"] = self._kept(column)
        for column, part in zip(losses.T, resistance.parts, strict=True):
            named[part.name] = self._kept(column)
        return named

    def reynolds(self, edge: str, bore: float) -> Array:
        """Reynolds number in a bore [m] of an edge."""
        batch = self.model.batch
        return np.abs(self.flow(edge)) * 4 / (np.pi * bore) * batch.density / batch.viscosity

    def friction(self, edge: str, bore: float, roughness: float) -> Array:
        """Darcy friction factor in a bore [m] of an edge with a roughness [m]."""
        return darcy_factor(self.reynolds(edge, bore), np.array([roughness / bore]))

    def switch(self, edge: str) -> list[str]:
        """The state of a device at each duty."""
        i = list(self.model.network.devices).index(self.model.edges.index(edge))
        device = self.model.network.devices[self.model.edges.index(edge)]
        return [device.states[s] for s in self.state.switches[:, i]]

    def _kept(self, values: Array) -> Array:
        return np.where(self.solved, values, np.nan)


@dataclass(frozen=True)
class Unsolved:
    """A circuit that has no answer at any duty, and why."""

    circuit: Circuit
    error: NoAnswerError


def solve_circuit(plan: Plan, circuit: Circuit, made: Mapping[str, Assembly]) -> Solution:
    """Solve one circuit at every duty of its plan.

    Args:
        plan: the plan.
        circuit: one of its circuits.
        made: its assemblies by the tag of their run.

    Raises:
        NoAnswerError: the circuit as a whole has no answer.
    """
    found = model(plan, circuit, made)
    state = solve(found.network, found.batch, first_guess(found))
    reasons = {d: _reason(found, why) for d, why in zip(found.duties, state.failed, strict=True) if why}
    reasons |= {d: why for d, why in _checked(found, state).items() if d not in reasons}
    return Solution(found, state, reasons)


def solve_plan(plan: Plan, made: Mapping[str, Assembly] | None = None) -> dict[str, Solution | Unsolved]:
    """Every circuit of a plan that is moved by pressure; drains are not in it.

    Args:
        plan: the plan.
        made: its assemblies by the tag of their run, where they are already at hand.
    """
    made = made if made is not None else {a.tag: a for a in assemblies(plan)}
    answers: dict[str, Solution | Unsolved] = {}
    for name, circuit in circuits(plan).items():
        if circuit.gravity:
            continue
        try:
            answers[name] = solve_circuit(plan, circuit, made)
        except NoAnswerError as error:
            answers[name] = Unsolved(circuit, error)
    return answers


def _reason(found: Model, why: str) -> str:
    kind, _, edge = why.partition(":")
    if kind == "cycling":
        owner = found.circuit.edges[found.edges[int(edge)]].component
        return f"{owner.name if owner else 'a device'} cycles: no steady state holds"
    return f"the circuit {found.circuit.name} {why}"


def _checked(found: Model, state: State) -> dict[str, str]:
    """Recompute the balances of the answer by itself, and ask each device whether it is inside its data."""
    net, batch = found.network, found.batch
    rows = np.arange(len(found.duties))
    drop, _ = edge_drops(net, state.flow, batch.density, batch.viscosity)
    gap = state.pressure[:, net.start] - state.pressure[:, net.end] - drop
    plain = np.array([i not in net.devices for i in range(net.edges)])
    spill = -batch.taken.copy()
    np.subtract.at(spill.T, net.start, state.flow.T)
    np.add.at(spill.T, net.end, state.flow.T)
    bad = np.abs(gap[:, plain]).max(axis=1, initial=0.0) > WORST_IMBALANCE
    largest = np.maximum(np.abs(state.flow).max(axis=1), A_FLOW)
    bad |= np.abs(spill[:, ~net.fixed]).max(axis=1, initial=0.0) > WORST_SPILL * largest
    reasons = {found.duties[i]: f"the answer for {found.circuit.name} does not balance" for i in rows[bad]}
    for edge, device in net.devices.items():
        away = device.outside(here_at(net, batch, state, edge, rows), rows)
        owner = found.circuit.edges[found.edges[edge]].component
        name = owner.name if owner else "a device"
        reasons |= {
            found.duties[i]: f"{name} would work outside its curve; give more points of its data sheet"
            for i in rows[away]
        }
    return _below_vacuum(found, state) | reasons


def _below_vacuum(found: Model, state: State) -> dict[str, str]:
    """Duties at which a node's pressure would be below zero absolute: so much fluid does not flow."""
    names = list(found.number)
    lift = found.batch.density[:, None] * STANDARD_GRAVITY * np.array([found.heights[n] for n in names])
    total = state.pressure[:, [found.number[n] for n in names]] - lift
    lowest = [names[i] for i in total.argmin(axis=1)]
    return {
        duty: f"the pressure at {node} would have to be below a vacuum"
        for duty, node, below in zip(found.duties, lowest, total.min(axis=1) < 0, strict=True)
        if below
    }
