"""What the lines of a pump hold, and how long it takes to fill those behind it when they are empty.

The liquid's front goes along a line as the pump drives it, against the air outside: a joint is loosened at the line's
far end, or whatever else lets the air go. At each place of the front the flow is that at which the pump's rise is what
lifts the liquid there, as high as it has come on its way, and what friction and fittings take in the part that is full;
the time is the integral of the volume over that flow. Lines that part fill at once. They take no longer than one after
the other, each with the others shut, for a pump gives no less against less; that is what is added up, and it is exact
for a line that does not part.

A pump's curve is carried no farther than its data: against less than its first point it gives no less than there. So
the time is the longest. Left out: what the air takes on its way out, the liquid's inertia, what the pump itself holds.
Where lines come together again each is taken to fill from its nearer end; then it is an estimate.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import STANDARD_GRAVITY
from solver.arrival import volume
from solver.devices import Check, Pump
from solver.fuels import between_pumps
from solver.network import at_tees
from solver.profile import profile
from solver.suction import drawn_by

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from lines.assembly import Assembly
    from lines.graph import Circuit, Edge
    from solver.along import Steps
    from solver.solution import Solution

    Array = npt.NDArray[np.float64]
    Integers = npt.NDArray[np.int64]

PLACES, WEIGHTS = np.polynomial.legendre.leggauss(4)
PLACES, WEIGHTS = (PLACES + 1) / 2, WEIGHTS / 2
"""Of the front in each edge, from where it enters to where it leaves, and what each counts for."""
OUTSIDE_DATA = 1.0
"""By how much a rise may pass a pump's last point: rounding [Pa]."""


def line_at(circuit: Circuit, node: str) -> list[Edge]:
    """The edges of the line that a node is on, as far as pumps, tanks and valves that hold a pressure."""
    closed = between_pumps(circuit)
    part = next(part for part in circuit.parts_without(closed) if node in part)
    return [edge for edge in circuit.edges.values() if edge.name not in closed and edge.start in part]


def far_ends(circuit: Circuit, node: str) -> list[str]:
    """The components at which the line of a node ends, but for its own: pumps, tanks, valves, rails with no outlet."""
    edges, closed = line_at(circuit, node), between_pumps(circuit)
    ends = [end for edge in edges for end in (edge.start, edge.end)]
    found = [e.component for e in circuit.edges.values() if e.name in closed and {e.start, e.end} & {node, *ends}]
    inner = ((end, circuit.nodes[end]) for end in ends)
    found += [at.component for end, at in inner if at.inner is not None and at.inner.draw and ends.count(end) == 1]
    own = node.partition(".")[0]
    return list(dict.fromkeys(one.name for one in found if one is not None and one.name != own))


def held(answer: Solution, edges: list[Edge]) -> float:
    """What edges hold [m3]: runs in their bores, components what they say.

    Raises:
        UnknownInputError: what a component of some size holds is not known.
    """
    return sum(volume(answer, edge.name) for edge in edges if edge.name in answer.model.edges)


@dataclass(frozen=True)
class Filling:
    """The lines behind one pump, empty, with the line before it full. Arrays are by duty, shape (duties,)."""

    answer: Solution
    """Of its circuit."""
    made: Mapping[str, Assembly]
    """All assemblies by the tag of their run."""
    pump: Edge
    outside: Array
    """Pressure of the air [Pa absolute]."""

    @cached_property
    def edges(self) -> list[Edge]:
        """What fills."""
        return [e for e in line_at(self.answer.model.circuit, self.pump.end) if e.name in self.answer.model.edges]

    @property
    def comes_together(self) -> bool:
        """Do lines behind it part and come together again?"""
        edges = line_at(self.answer.model.circuit, self.pump.end)
        return len(edges) >= len({self.pump.end} | {node for edge in edges for node in (edge.start, edge.end)})

    @property
    def before(self) -> Steps:
        """The way from what it draws from to its inlet.

        Raises:
            UnknownInputError: there is none.
        """
        return drawn_by(self.answer.model.circuit, self.pump)

    def lift(self) -> float | None:
        """How far the highest of its inlet's line lies over the surface that it draws from [m]; below 0 under it.

        None where it draws from no surface.
        """
        edge, onward = self.before[0]
        source = edge.start if onward else edge.end
        inner = self.answer.model.circuit.nodes[source].inner
        if inner is None or not inner.height:
            return None
        heights = self.answer.model.heights
        tops = [self._heights(step).max() for step in self.before if step[0].run is not None]
        return float(max([heights[self.pump.start], *tops]) - heights[source])

    def times(self) -> Array:
        """The longest that the lines behind it take to fill [s].

        Raises:
            UnknownInputError: what something holds is not known, or the pump does not lift so high by its data.
        """
        volumes = np.array([volume(self.answer, edge.name) for edge in self.edges])
        some = [(edge, size) for edge, size in zip(self.edges, volumes.tolist(), strict=True) if size > 0]
        fronts = _Fronts.of(self, [edge for edge, _ in some])
        each = np.concatenate([size * WEIGHTS for _, size in some]) if some else np.zeros(0)
        return np.asarray((each / fronts.flows()).sum(axis=1))

    def ways(self) -> dict[str, Steps]:
        """The way from its outlet to each edge behind it and through that, by the edge's name."""
        found: dict[str, Steps] = {}
        reached: dict[str, Steps] = {self.pump.end: ()}
        todo = [self.pump.end]
        for node in todo:
            for edge in line_at(self.answer.model.circuit, self.pump.end):
                if edge.name in found or node not in {edge.start, edge.end}:
                    continue
                onward = edge.start == node
                found[edge.name] = (*reached[node], (edge, onward))
                other = edge.end if onward else edge.start
                if other not in reached:
                    reached[other] = found[edge.name]
                    todo.append(other)
        return found

    def _heights(self, step: tuple[Edge, bool]) -> Array:
        """Of places along an edge as it is passed [m]: of a run whose way in the vehicle is known, else of its ends."""
        edge, onward = step
        ends = np.array([self.answer.model.heights[node] for node in (edge.start, edge.end)])
        if edge.run is not None and self.made[edge.name].placed and (line := profile(self.made[edge.name])) is not None:
            ends = ends[0] + line.points[:, 2] - line.points[0, 2]
        return ends if onward else ends[::-1]

    def risen(self, way: Steps) -> Array:
        """How high the liquid has had to come at each of the places in the last edge of a way [m]."""
        top = self.answer.model.heights[self.pump.end]
        for step in way[:-1]:
            top = max(top, float(self._heights(step).max()))
        last = np.maximum.accumulate(np.maximum(self._heights(way[-1]), top))
        return np.interp(PLACES, np.linspace(0.0, 1.0, len(last)), last)


@dataclass(frozen=True)
class _Fronts:
    """The places of the front in the edges that fill, one after the other."""

    filling: Filling
    sign: Array
    """Which way the flow passes each edge, 0 where it does not, shape (places, edges)."""
    full: Array
    """Which share of each edge is full, likewise."""
    height: Array
    """To which the liquid has come [m], shape (places,)."""

    @classmethod
    def of(cls, filling: Filling, some: list[Edge]) -> _Fronts:
        number = {name: i for i, name in enumerate(filling.answer.model.edges)}
        ways, before = filling.ways(), filling.before
        sign, full = (np.zeros((len(some), len(PLACES), len(number))) for _ in range(2))
        for i, edge in enumerate(some):
            for step, onward in (*before, *ways[edge.name]):
                if step.name in number:
                    sign[i, :, number[step.name]] = 1.0 if onward else -1.0
                    full[i, :, number[step.name]] = 1.0
            full[i, :, number[edge.name]] = PLACES
        heights = [filling.risen(ways[edge.name]) for edge in some]
        places = len(some) * len(PLACES)
        return cls(
            filling,
            sign.reshape(places, -1),
            full.reshape(places, -1),
            np.concatenate(heights) if heights else np.zeros(0),
        )

    def flows(self) -> Array:
        """The least flow at every duty with the front at each place [m3/s], shape (duties, places).

        Raises:
            UnknownInputError: the pump does not lift so high by its data.
        """
        from scipy.optimize import elementwise

        model, pump = self.filling.answer.model, self._pump
        first, last = pump.ends()
        duty, place = (grid.ravel() for grid in np.indices((len(model.duties), len(self.height))))
        most = pump.at(first, np.arange(len(first)))

        def spare(flow: Array, row: Array) -> Array:
            """What the pump gives over a flow, for the rows that are not yet found, by their numbers."""
            i = row.astype(np.int64)
            rise = self._rise(flow, duty[i], place[i])
            return pump.at(np.maximum(rise, first[duty[i]]), duty[i]) - flow

        rows = np.arange(len(duty))
        still = self._rise(np.zeros(len(duty)), duty, place)
        self._lifts(still, last[duty], duty)
        flow = np.asarray(elementwise.find_root(spare, (np.zeros(len(duty)), 1.001 * most[duty]), args=(rows,)).x)
        self._lifts(self._rise(flow, duty, place), last[duty], duty)
        return flow.reshape(len(model.duties), -1)

    @property
    def _pump(self) -> Pump:
        device = self.filling.answer.model.device(self.filling.pump.name)
        assert isinstance(device, Pump)
        return device

    def _rise(self, flow: Array, duty: Integers, place: Integers) -> Array:
        """What the pump has to raise its liquid by [Pa] at flows [m3/s], each at a duty with the front at a place."""
        answer = self.filling.answer
        model, net = answer.model, answer.model.network
        sign, full = self.sign[place], self.full[place]
        through = sign * flow[:, None]
        density, viscosity = (table[duty] for table in (model.density[:, None], answer.batch.viscosity))
        pipes = net.pipes.drops(through, density, viscosity)[0] * sign[:, net.pipes.edge] * full[:, net.pipes.edge]
        losses = net.losses.drops(through, density, viscosity)[0] * sign[:, net.losses.edge]
        tees = net.tees.drops(through[:, net.tees.legs], at_tees(density, net.tees.legs))[0] * sign[:, net.tees.legs]
        taken = pipes.sum(axis=1) + losses.sum(axis=1) + tees.sum(axis=(1, 2))
        for i, device in net.devices.items():
            if isinstance(device, Check):
                own = device.crack[duty] + device.bore.drop(flow, density[:, 0], viscosity[:, 0])[0]
                taken += np.where(sign[:, i] != 0, own, 0.0)
        edge, onward = self.filling.before[0]
        source = model.number[edge.start if onward else edge.end]
        lifted = density[:, 0] * STANDARD_GRAVITY * self.height[place]
        return np.asarray(taken + lifted + self.filling.outside[duty] - answer.batch.known[duty, source])

    def _lifts(self, rise: Array, last: Array, duty: Integers) -> None:
        """Raises UnknownInputError where a rise [Pa] is over the last that the pump's curve has."""
        over = rise > last + OUTSIDE_DATA
        if over.any():
            name = self.filling.pump.name.partition(":")[0]
            at = self.filling.answer.model.duties[int(duty[int(over.argmax())])]
            raise UnknownInputError(
                f"to fill its lines {name} has to raise the liquid by more than its curve has at {at}",
                needs=f"the curve of {name} up to where it gives nothing, or more volts at {at}",
            )
