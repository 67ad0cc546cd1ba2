"""What the lines of a pump hold, and how long it takes to fill those behind it when they are empty.

The liquid's front goes along a line as the pump drives it, against the air outside: a joint is loosened at the line's
far end, or whatever else lets the air go. At each place of the front the flow is that at which the pump's rise is what
lifts the liquid there, as high as it has come on its way, and what friction and fittings take in the part that is full;
the time is the integral of the volume over that flow. Lines that part fill at once. They take no longer than one after
the other, each with the others shut, for a pump gives no less against less; that is what is added up, and it is exact
for a line that does not part.

A pump's curve is carried no farther than its data: against less than its first point it gives no less than there. Pumps
before it run too, and no more comes than each gives at its first point; what they raise besides is not counted. So the
time is the longest. Check valves let nothing back into another pump's branch. A feed regulator is wide open while the
line behind it fills, and no more comes than leaves the pressure behind it at what it holds. Left out: what the air
takes on its way out, the liquid's inertia, what the pump itself holds.
Where lines come together again each is taken to fill from its nearer end; then it is an estimate.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from solver.arrival import volume
from solver.fronts import PLACES, WEIGHTS, Fronts
from solver.fuels import between_pumps
from solver.profile import profile
from solver.suction import drawn_by, drawn_through

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from lines.assembly import Assembly
    from lines.graph import Circuit, Edge
    from solver.along import Steps
    from solver.solution import Solution

    Array = npt.NDArray[np.float64]

ONE_WAY = {"check", "supply"}
"""Laws of what lets by only onward."""


def line_at(circuit: Circuit, node: str) -> list[Edge]:
    """The edges of the line that a node is on, as far as pumps, tanks and valves that shut without a pressure before.

    Behind a pump or a valve also through a feed regulator, which is open while nothing presses behind it; and not back
    through a check valve, nor on through one before a pump.
    """
    closed = ends_of_lines(circuit)
    before = any(circuit.edges[name].start == node for name in closed)
    found: dict[str, Edge] = {}
    reached = [node]
    for at in reached:
        for edge in circuit.edges.values():
            if edge.name in closed or at not in {edge.start, edge.end}:
                continue
            if edge.law in ONE_WAY and (edge.end if before else edge.start) != at:
                continue
            found[edge.name] = edge
            reached += [end for end in (edge.start, edge.end) if end not in reached]
    return [edge for edge in circuit.edges.values() if edge.name in found]


def ends_of_lines(circuit: Circuit) -> set[str]:
    """The names of the edges at which an empty line ends: pumps, tanks, valves that open by a pressure before them."""
    return {name for name in between_pumps(circuit) if circuit.edges[name].law != "supply"}


def far_ends(circuit: Circuit, node: str) -> list[str]:
    """The components at which the line of a node ends, but for its own.

    Pumps, tanks, valves, check valves of other branches, rails with no outlet.
    """
    edges = line_at(circuit, node)
    names = {edge.name for edge in edges}
    shut = {edge.name for edge in circuit.edges.values() if edge.law in ONE_WAY and edge.name not in names}
    closed = ends_of_lines(circuit) | shut
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
        """The way from a tank or another known pressure to its inlet, through the pumps before it.

        Raises:
            UnknownInputError: there is none.
        """
        return drawn_through(self.answer.model.circuit, self.pump)

    def lift(self) -> float | None:
        """How far the highest of its inlet's line lies over the surface that it draws from [m]; below 0 under it.

        None where it draws from no surface.
        """
        way = drawn_by(self.answer.model.circuit, self.pump)
        edge, onward = way[0]
        source = edge.start if onward else edge.end
        inner = self.answer.model.circuit.nodes[source].inner
        if inner is None or not inner.height:
            return None
        heights = self.answer.model.heights
        tops = [self._heights(step).max() for step in way if step[0].run is not None]
        return float(max([heights[self.pump.start], *tops]) - heights[source])

    def times(self) -> Array:
        """The longest that the lines behind it take to fill [s].

        Raises:
            UnknownInputError: what something holds is not known, or the pump does not lift so high by its data.
        """
        volumes = np.array([volume(self.answer, edge.name) for edge in self.edges])
        some = [(edge, size) for edge, size in zip(self.edges, volumes.tolist(), strict=True) if size > 0]
        fronts = Fronts.of(self, [edge for edge, _ in some])
        each = np.concatenate([size * WEIGHTS for _, size in some]) if some else np.zeros(0)
        return np.asarray((each / fronts.flows()).sum(axis=1))

    def ways(self) -> dict[str, Steps]:
        """The way from its outlet to each edge behind it and through that, by the edge's name."""
        found: dict[str, Steps] = {}
        reached: dict[str, Steps] = {self.pump.end: ()}
        todo = [self.pump.end]
        edges = line_at(self.answer.model.circuit, self.pump.end)
        for node in todo:
            for edge in edges:
                if edge.name in found or node not in {edge.start, edge.end}:
                    continue
                onward = edge.start == node
                if edge.law in ONE_WAY and not onward:
                    continue
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
