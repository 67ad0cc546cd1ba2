"""The steady solution of a circuit at every duty, with names; a duty without an answer has a reason instead."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import NoAnswerError
from lines.assembly import assemblies
from lines.graph import Circuit, circuits
from solver.balance import balance
from solver.estimates import with_estimates
from solver.friction import darcy_factor
from solver.gas import solve_gas
from solver.model import Model, first_guess, model
from solver.network import Batch, State, at_tees, by_edge
from solver.newton import solve
from solver.reasons import reasons

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from lines.assembly import Assembly
    from lines.plan import Plan

    Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Solution:
    """What a circuit does. Arrays are by duty, shape (duties,); nan where a duty has no answer.

    A flow is a volume flow of the fluid as it is there: of a gas at the mean pressure of its edge.
    """

    model: Model
    batch: Batch
    state: State
    reasons: dict[str, str]
    """Duties without an answer, and why."""

    @property
    def solved(self) -> npt.NDArray[np.bool_]:
        return np.array([duty not in self.reasons for duty in self.model.duties])

    def flow(self, edge: str) -> Array:
        """Volume flow of an edge [m3/s]."""
        i = self._edge(edge)
        volume = by_edge(self.batch.density, i)[:, 0] / self.model.density
        return self._kept(self.state.flow[:, i] * volume)

    def density(self, edge: str) -> Array:
        """Density of the fluid in an edge [kg/m3]."""
        return self.model.density**2 / by_edge(self.batch.density, self._edge(edge))[:, 0]

    def total(self, node: str) -> Array:
        """Total pressure at a node [Pa absolute]."""
        return self._kept(self.state.pressure[:, self.model.number[node]] - self.model.lift[node])

    def static(self, node: str, edge: str, bore: float) -> Array:
        """Static pressure at a node in the bore [m] of an edge that meets it [Pa absolute]."""
        return self.total(node) - self.density(edge) * self.velocity(edge, bore) ** 2 / 2

    def static_at(self, port: str) -> Array:
        """Static pressure in the bore of a port with a run on it, as a gauge there feels it [Pa absolute]."""
        return self.static(port, self.model.circuit.run_on(port), self.model.bores[port])

    def velocity(self, edge: str, bore: float) -> Array:
        """Mean velocity in a bore [m] of an edge [m/s]."""
        return self.flow(edge) / (np.pi * bore**2 / 4)

    def parts(self, edge: str) -> dict[str, Array]:
        """Each named part of an edge's drop [Pa], with the sign of its flow."""
        net, i = self.model.network, self._edge(edge)
        rho, mu = self.batch.density, self.batch.viscosity
        pipes = net.pipes.drops(self.state.flow, rho, mu)[0][:, net.pipes.edge == i]
        losses = net.losses.drops(self.state.flow, rho, mu)[0][:, net.losses.edge == i]
        resistance = self.model.resistances[edge]
        named = {
            f"friction in {pipe.name}": self._kept(column)
            for column, pipe in zip(pipes.T, resistance.pipes, strict=True)
        }
        named |= {part.name: self._kept(column) for column, part in zip(losses.T, resistance.parts, strict=True)}
        tee, leg = np.nonzero(net.tees.legs == i)
        if tee.size:
            legs = net.tees.legs
            drops = net.tees.drops(self.state.flow[:, legs], at_tees(rho, legs))[0]
            named["how the flow divides"] = self._kept(drops[:, tee[0], leg[0]])
        return named

    def things(self, run: str) -> dict[str, Array]:
        """The drop of a run by what a person would change [Pa]: its hose, its bends, each end with its adapter."""
        found: dict[str, Array] = {}
        for name, drop in self.parts(run).items():
            thing = _thing(name)
            found[thing] = found.get(thing, 0.0) + drop
        return found

    def climb(self, run: str) -> Array:
        """What a run's rise takes of its total pressure [Pa]."""
        edge = self.model.circuit.edges[run]
        return self._kept(self.model.lift[edge.end] - self.model.lift[edge.start])

    def reynolds(self, edge: str, bore: float) -> Array:
        """Reynolds number in a bore [m] of an edge."""
        i = self._edge(edge)
        ratio = by_edge(self.batch.density, i)[:, 0] / by_edge(self.batch.viscosity, i)[:, 0]
        return self._kept(np.abs(self.state.flow[:, i]) * 4 / (np.pi * bore) * ratio)

    def friction(self, edge: str, bore: float, roughness: float) -> Array:
        """Darcy friction factor in a straight bore [m] of an edge with a roughness [m]."""
        return darcy_factor(self.reynolds(edge, bore), np.array([roughness / bore]))

    def switch(self, edge: str) -> list[str]:
        """The state of a device at each duty."""
        i = list(self.model.network.devices).index(self._edge(edge))
        device = self.model.device(edge)
        return [device.states[s] for s in self.state.switches[:, i]]

    def imbalance(self) -> tuple[Array, Array]:
        """What the answer misses, worked out again: pressure of the worst edge [Pa], flow of the worst node [m3/s]."""
        found = balance(self.model.network, self.batch, self.state)
        return self._kept(found.pressure), self._kept(found.flow)

    def _edge(self, name: str) -> int:
        return self.model.edges.index(name)

    def _kept(self, values: Array) -> Array:
        return np.where(self.solved, values, np.nan)


def _thing(part: str) -> str:
    """What a named part of a run's drop belongs to."""
    _, at, port = part.rpartition(" at ")
    if at:
        return f"end at {port}"
    return "bends" if part.removeprefix("friction in ").startswith("bend ") else part.removeprefix("friction in ")


@dataclass(frozen=True)
class Unsolved:
    """A circuit that has no answer at any duty, and why."""

    circuit: Circuit
    error: NoAnswerError

    @property
    def needs(self) -> str:
        """The figure that would give it an answer, by its key; how that is written the circuit's own finding says."""
        key = re.search(r"\w+ in \[[^\]]+\]", self.error.needs or "")
        rule = f"circuit.flow/{self.circuit.name}"
        return f"{key[0]}, as {rule} shows" if key else f"what {rule} asks for"


def solve_circuit(plan: Plan, circuit: Circuit, made: Mapping[str, Assembly], *, loaded: bool = False) -> Solution:
    """Solve one circuit at every duty of its plan.

    Args:
        plan: the plan.
        circuit: one of its circuits.
        made: its assemblies by the tag of their run.
        loaded: with every filter as it is when it is due, not clean.

    Raises:
        NoAnswerError: the circuit as a whole has no answer.
    """
    found = model(plan, circuit, made, loaded=loaded)
    guess = first_guess(found)
    if found.gas:
        state, batch = solve_gas(found.network, found.batch, guess)
    else:
        state, batch = solve(found.network, found.batch, guess), found.batch
    return Solution(with_estimates(plan, found, batch, state), batch, state, reasons(found, batch, state, plan.system))


def solve_plan(
    plan: Plan, made: Mapping[str, Assembly] | None = None, *, loaded: bool = False
) -> dict[str, Solution | Unsolved]:
    """Every circuit of a plan that is moved by pressure; drains are not in it.

    Args:
        plan: the plan.
        made: its assemblies by the tag of their run, where they are already at hand.
        loaded: with every filter as it is when it is due, not clean.
    """
    made = made if made is not None else {a.tag: a for a in assemblies(plan)}
    answers: dict[str, Solution | Unsolved] = {}
    for name, circuit in circuits(plan).items():
        if circuit.gravity:
            continue
        try:
            answers[name] = solve_circuit(plan, circuit, made, loaded=loaded)
        except NoAnswerError as error:
            answers[name] = Unsolved(circuit, error)
    return answers
