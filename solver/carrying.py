"""What a fuel system carries: the most that may be burnt while what holds the pressure of its rails still holds it.

With a return the regulator lets go what is not burnt, and holds until nothing is left to let go. Without one a feed
regulator holds until it stands wide open, a pulsed pump until it runs at full. Flow by flow the circuit is solved
again, all of them at once, so that pump, lines, filters and heights have their part in it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from solver.devices import Pump, Regulator
from solver.fuels import burns_at, feeding, held_by, rails
from solver.newton import solve
from solver.pulsed import PulsedPump
from solver.reasons import reasons
from solver.solution import Solution

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    import numpy.typing as npt

    from catalogs.units import System
    from lines.graph import Edge
    from solver.devices import Device
    from solver.model import Model

    Array = npt.NDArray[np.float64]
    Bools = npt.NDArray[np.bool_]

POINTS, ROUNDS = 32, 3
"""So many places are tried at once, and between the two about the last that holds again: to 1 in 30,000."""
LOST = {"bypass": "shut", "supply": "wide open", "pump": "at full"}
"""The state in which what holds a rail's pressure no longer does, by its law …"""
SAID = {"bypass": "has shut", "supply": "stands wide open", "pump": "runs at full"}
"""… and in words."""
SIZES = np.linspace(0.2, 1.6, 29)
"""Of pumps beside the one that is there, for what the circuit asks of it [-]."""
LEAST = 1e-12
"""Of a pump's flow, for its part in a mean [m3/s]."""
LARGEST = 8.0
"""A pump of more than so many times the flow is not looked for."""


def holds(answer: Solution) -> Bools:
    """Where the pressure of every rail is held, by the answer's rows; nowhere without an answer."""
    circuit, found = answer.model.circuit, answer.solved
    devices = list(answer.model.network.devices)
    for nodes in rails(circuit).values():
        each = []
        for edge in held_by(circuit, nodes[0]):
            device = answer.model.device(edge.name)
            state = answer.state.switches[:, devices.index(answer.model.edges.index(edge.name))]
            each.append(state != device.states.index(LOST[edge.law]))
        found &= np.any(each, axis=0) if each else False
    return found


@dataclass(frozen=True)
class Fuelling:
    """A fuel system in some states."""

    model: Model
    """By row."""
    flow: Array
    """Where the steps begin [m3/s], shape (rows, edges)."""
    system: System
    """In whose units a reason is told."""

    @property
    def burn(self) -> Array:
        """What is burnt [m3/s], by row."""
        return np.asarray(self.model.batch.taken[:, self._at].sum(axis=1))

    @property
    def _at(self) -> list[int]:
        return sorted({self.model.number[node] for node in burns_at(self.model.circuit)})

    def boosted(self, by: Array) -> Fuelling:
        """The same with so much more pressure in the manifold [Pa], by row: what is over it holds so much more."""

        def raised(i: int, device: Device) -> Device:
            edge = self.model.circuit.edges[self.model.edges[i]]
            over_it = edge.component is not None and edge.component.figures.get("reference") == "manifold"
            if over_it and isinstance(device, Regulator | PulsedPump):
                return replace(device, held=device.held + by)
            return device

        return self._with({i: raised(i, device) for i, device in self.model.network.devices.items()})

    def larger(self, by: Array, pumps: Iterable[Edge] = ()) -> Fuelling:
        """The same with the flow of some pumps so many times as large at each rise, by row; of those that feed a rail
        where none are named.
        """
        return self._pumping(pumps, lambda pump: replace(pump, weights=pump.weights * by[:, None]))

    def driven(self, weights: Array) -> Fuelling:
        """The same with its feeding pumps driven so: weights of their curves, shape (rows, curves)."""
        return self._pumping((), lambda pump: replace(pump, weights=weights, speed=np.ones_like(weights)))

    def _pumping(self, pumps: Iterable[Edge], changed: Callable[[Pump], Pump]) -> Fuelling:
        these = {self.model.edges.index(edge.name) for edge in tuple(pumps) or feeding(self.model.circuit)}
        devices = self.model.network.devices.items()
        return self._with({i: changed(d) if i in these and isinstance(d, Pump) else d for i, d in devices})

    def _with(self, devices: dict[int, Device]) -> Fuelling:
        return replace(self, model=replace(self.model, network=replace(self.model.network, devices=devices)))

    def rows(self, rows: npt.NDArray[np.int64]) -> Fuelling:
        """These rows of it, any of them as often as wanted."""
        return replace(self, model=self.model.over(rows), flow=self.flow[rows])

    def burning(self, burn: Array) -> Solution:
        """Its answer where so much is burnt at its rails together [m3/s], by row, shared among them as it is."""
        at, own, batch = self._at, self.burn, self.model.batch
        taken = batch.taken.copy()
        taken[:, at] *= np.divide(burn, own, out=np.zeros_like(own), where=own > 0)[:, None]
        model = replace(self.model, batch=replace(batch, taken=taken))
        state = solve(model.network, model.batch, self.flow)
        return Solution(model, model.batch, state, reasons(model, model.batch, state, self.system))

    @property
    def most_pumped(self) -> Array:
        """What the pumps that feed the rails give where their curves begin [m3/s], by row."""
        pumps = (self.model.device(edge.name) for edge in feeding(self.model.circuit))
        return np.asarray(np.sum([pump.most() for pump in pumps if isinstance(pump, Pump)], axis=0))


def fuelling(answer: Solution, system: System) -> Fuelling:
    """The fuel system of an answer, at every duty.

    Args:
        answer: of a circuit in which each rail has what holds its pressure and a pump that feeds it.
        system: in whose units a reason is told.
    """
    return Fuelling(answer.model, np.nan_to_num(answer.state.flow), system)


def carried(here: Fuelling) -> Array:
    """The most that may be burnt while the pressure of the rails is held [m3/s], by row, each of which burns something.

    nan where it is not held even with nothing burnt.
    """

    def held(burn: Array) -> Bools:
        return holds(here.rows(_each(burn)).burning(burn.ravel())).reshape(burn.shape)

    return _last(held, np.zeros(len(here.flow)), here.most_pumped)


def enlarged(here: Fuelling, burn: Array) -> Array:
    """How many times as much the pumps would have to give at each rise for so much to be burnt [-], by row.

    Under 1 where a smaller one would do; nan where no larger one of that curve does.
    """

    def too_small(inverse: Array) -> Bools:
        rows = _each(inverse)
        return holds(here.rows(rows).larger(1.0 / inverse.ravel()).burning(burn[rows])).reshape(inverse.shape)

    # The largest inverse that still holds.
    low, high = np.full(len(burn), 1.0 / LARGEST), np.full(len(burn), LARGEST)
    return 1.0 / _last(too_small, low, high)


def system_curve(here: Fuelling, pumps: Sequence[Edge], row: int) -> tuple[Array, Array]:
    """What the circuit asks of pumps side by side in one state: their flows together [m3/s] and the rise at each [Pa],
    shape (n,) both; of rises that differ the mean by flow.

    Solved with pumps of the same curves, all of them smaller and larger together; where these have no answer there is
    no point.
    """
    there = here.rows(np.full(SIZES.size, row)).larger(SIZES, pumps)
    answer = there.burning(there.burn)
    flows, rises = given(answer, pumps)
    return flows[answer.solved], rises[answer.solved]


def given(answer: Solution, pumps: Sequence[Edge]) -> tuple[Array, Array]:
    """What pumps side by side give together [m3/s], and the mean of their rises by flow [Pa], by the answer's rows."""
    flows = np.array([answer.flow(pump.name) for pump in pumps])
    rises = np.array([answer.total(pump.end) - answer.total(pump.start) for pump in pumps])
    return flows.sum(axis=0), np.average(rises, axis=0, weights=np.maximum(flows, LEAST))


def _each(tried: Array) -> npt.NDArray[np.int64]:
    """The row of each of some places, shape (rows, places)."""
    return np.repeat(np.arange(len(tried)), tried.shape[1])


def _last(good: Callable[[Array], Bools], low: Array, high: Array) -> Array:
    """The last place between two at which something is good, by row; nan where it is good nowhere."""
    nowhere = np.zeros(len(low), dtype=bool)
    for _ in range(ROUNDS):
        tried = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, POINTS + 1)
        fits = good(tried)
        last = np.where(fits.any(axis=1), POINTS - fits[:, ::-1].argmax(axis=1), 0)
        nowhere |= ~fits.any(axis=1)
        low, high = (np.take_along_axis(tried, i[:, None], axis=1)[:, 0] for i in (last, np.minimum(last + 1, POINTS)))
    return np.where(nowhere, np.nan, low)
