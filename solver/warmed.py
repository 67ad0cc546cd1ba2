"""How warm the fuel is along its circuit: what warm air around its runs and its pumps put into it, and where that goes.

Fuel leaves a tank as warm as its circuit is said to be. Along a run it comes nearer to the air around it, by the
outside area of the hose and the fuel that flows there; where streams meet they mix. What the engine burns takes its
share along, and what comes back warms the tank. The wall of a hose and the fuel's own film are left out, so that it
comes out as warm as it can be: in still air they would take off a tenth (thin fluoropolymer) to a quarter (rubber), and
more where fuel creeps. Air that is colder than the fuel is not counted.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from solver.bayair import transfer
from solver.fuels import owner, takes
from solver.properties import density, heat_capacity

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from lines.assembly import Assembly
    from lines.graph import Circuit
    from lines.plan import Component, Plan
    from solver.solution import Solution

    Array = npt.NDArray[np.float64]
    Integers = npt.NDArray[np.int64]

AIR = "air"
"""The gas around a hose: a fluid of the tables."""
EMISSIVITY = "fuel.heat.emissivity"
TRICKLE = 1e-12
"""Fuel of the tanks that comes to every node besides [kg/s]: where nothing else comes in it is as warm as they are."""


@dataclass(frozen=True)
class Warmed:
    """A circuit of fuel whose runs state the air around them. Arrays by duty, then by edge or node of its network."""

    answer: Solution
    start: Array
    """Temperature of the fuel in its tanks [K], shape (duties,)."""
    heat_capacity: Array
    """[J/(kg K)], shape (duties,)."""
    mass: Array
    """What flows in each edge, either way [kg/s], shape (duties, edges)."""
    air: Array
    """Temperature of the air around each edge [K], shape (duties, edges)."""
    reaches: Array
    """The share of its difference to that air that is gone at the end of each edge [-], shape (duties, edges)."""
    pumped: Array
    """What a pump makes of its current in the fuel there, and every other edge of what it takes of its pressure [W],
    shape (duties, edges).
    """

    @property
    def tail(self) -> Integers:
        """The node that the fuel in each edge comes from, shape (duties, edges)."""
        net = self.answer.model.network
        return np.where(self.answer.state.flow >= 0, net.start, net.end)

    @property
    def head(self) -> Integers:
        """The node that it goes to, shape (duties, edges)."""
        net = self.answer.model.network
        return np.where(self.answer.state.flow >= 0, net.end, net.start)

    def nodes(self, start: Array, *, pumps: bool) -> Array:
        """Temperature at each node [K], shape (duties, nodes).

        Args:
            start: of the fuel in the tanks [K], shape (duties,).
            pumps: with what the pumps put into it.
        """
        net, tail, head = self.answer.model.network, self.tail, self.head
        row, node = np.arange(len(start))[:, None], np.arange(net.nodes)
        matrix, right = np.zeros((len(start), net.nodes, net.nodes)), np.zeros((len(start), net.nodes))
        into = np.full_like(right, TRICKLE)
        np.add.at(into, (row, head), self.mass)
        np.add.at(matrix, (row, head, tail), -self.mass * (1.0 - self.reaches))
        np.add.at(right, (row, head), self._added(pumps=pumps))
        right += TRICKLE * start[:, None]
        matrix[:, net.fixed] = 0.0
        matrix[:, node, node] += np.where(net.fixed, 1.0, into)
        right = np.where(net.fixed, start[:, None], right)
        return np.asarray(np.linalg.solve(matrix, right[..., None])[..., 0])

    def warmer(self, start: Array, *, pumps: bool) -> Array:
        """By how much the fuel in each edge is warmer when it leaves it than when it enters [K], shape (duties, edges).

        Args:
            start: of the fuel in the tanks [K], shape (duties,).
            pumps: with what the pumps put into it.
        """
        enters = np.take_along_axis(self.nodes(start, pumps=pumps), self.tail, axis=1)
        moves = self.mass > 0
        added = self._added(pumps=pumps) / np.where(moves, self.mass, 1.0)
        return np.where(moves, added - self.reaches * enters, 0.0)

    def back(self, start: Array, *, pumps: bool) -> Array:
        """What the fuel that comes back brings into the tanks of what warmed it [W], shape (duties,).

        Args:
            start: of the fuel in the tanks [K], shape (duties,).
            pumps: with what the pumps put into it.
        """
        enters = np.take_along_axis(self.nodes(start, pumps=pumps), self.tail, axis=1)
        over = enters + self.warmer(start, pumps=pumps) - start[:, None]
        brought = self.mass * self.heat_capacity[:, None] * over
        return np.asarray(np.where(self.answer.model.network.fixed[self.head], brought, 0.0).sum(axis=1))

    def way_to(self, node: int, row: int) -> list[int]:
        """The edges that the most of what comes to a node at one duty has passed, from where it starts."""
        found: list[int] = []
        while not self.answer.model.network.fixed[node]:
            here = np.where(self.head[row] == node, self.mass[row], 0.0)
            here[found] = 0.0
            if not here.any():
                break
            found.insert(0, int(here.argmax()))
            node = int(self.tail[row, found[0]])
        return found

    def _added(self, *, pumps: bool) -> Array:
        """Mass flow times what an edge adds to what it leaves of the temperature at its start [kg K/s]."""
        added = self.mass * self.reaches * self.air
        return added + self.pumped / self.heat_capacity[:, None] if pumps else added


def warmed_runs(circuit: Circuit) -> list[str]:
    """The tags of the runs of a circuit that state the air around them."""
    return [tag for tag, run in circuit.runs.items() if run.air is not None]


def warmed(plan: Plan, answer: Solution, made: Mapping[str, Assembly]) -> Warmed:
    """A circuit of fuel, answered at every duty, with the air around its runs.

    Args:
        plan: the plan.
        answer: the solution of one of its circuits.
        made: its assemblies by the tag of their run.

    Raises:
        UnknownInputError: the fuel's heat capacity is not known, or the length of a run in warm air.
    """
    model, duties = answer.model, answer.model.duties
    table = plan.circuits[model.circuit.name]
    fluid, start = plan.catalog.fluid(table.fluid), np.array(table.temperature.over(duties))
    capacity = heat_capacity(fluid, start)
    mass = np.abs(answer.state.flow) * density(fluid, start)[:, None]
    air, reaches, pumped = np.zeros_like(mass), np.zeros_like(mass), np.zeros_like(mass)
    for i, name in enumerate(model.edges):
        edge = model.circuit.edges[name]
        pumped[:, i] = _pumped(answer, name) if edge.law == "pump" else _taken(answer, i)
        if edge.run is not None and edge.run.air is not None:
            air[:, i] = edge.run.air.over(duties)
            counts = (air[:, i] > start) & (mass[:, i] > 0)
            stream = np.where(counts, mass[:, i] * capacity, 1.0)
            gives = _gives(plan, made[name], start, air[:, i])
            reaches[:, i] = np.where(counts, -np.expm1(-gives / stream), 0.0)
    return Warmed(answer, start, capacity, mass, air, reaches, pumped)


def _gives(plan: Plan, made: Assembly, wall: Array, air: Array) -> Array:
    """What the air around a run gives for each kelvin that the fuel is colder [W/K], by duty."""
    run, length, duties = made.run, made.flowed, list(plan.duties)
    if length is None:
        needs = f"length of {made.tag} with length_is, or its points"
        raise UnknownInputError(f"how much of {made.tag} lies in warm air is not known", needs=needs)
    speed = np.zeros(len(duties)) if run.air_speed is None else np.array(run.air_speed.over(duties))
    outside = np.array(made.stock.outside)
    emissivity = plan.catalog.limit(EMISSIVITY).caution_above or 0.0
    each = transfer(plan.catalog.fluid(AIR), outside, wall, air, speed, plan.ambient.pressures, emissivity=emissivity)
    return np.asarray(each * np.pi * outside * length)


def _taken(answer: Solution, edge: int) -> Array:
    """What an edge that is no pump takes of the pressure of its flow, which becomes heat [W]."""
    net, state = answer.model.network, answer.state
    drop = state.pressure[:, net.start[edge]] - state.pressure[:, net.end[edge]]
    return np.asarray(np.maximum(drop * state.flow[:, edge], 0.0))


def draws(pump: Component, duties: list[str]) -> bool:
    """Is it known what a pump takes from the battery?"""
    try:
        takes(pump, duties)
    except UnknownInputError:
        return False
    return True


def _pumped(answer: Solution, name: str) -> Array:
    """What a pump's current leaves as heat where it runs, over what it lifts the pressure by [W]; 0 where not known."""
    edge, duties = answer.model.circuit.edges[name], answer.model.duties
    pump = owner(edge)
    if not draws(pump, duties):
        return np.zeros(len(duties))
    lifts = (answer.total(edge.end) - answer.total(edge.start)) * answer.flow(name)
    return np.asarray(np.maximum(takes(pump, duties) - lifts, 0.0))
