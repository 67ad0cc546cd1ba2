"""The way on which a liquid comes to a place, and how long an empty line takes to fill up to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import STANDARD_GRAVITY
from solver.devices import MOST_LEAK, Pump
from solver.restrictor import leaving_at
from solver.stated import figure

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from catalogs.units import System
    from lines.plan import Component
    from solver.solution import Solution

    Array = npt.NDArray[np.float64]

NOTHING = 1e-12
"""A flow into a place under this is none [m3/s]: a drop or two in a day."""


@dataclass(frozen=True, slots=True)
class Way:
    """The way on which most of the liquid comes to a place at one duty."""

    edges: tuple[str, ...]
    """From where its pressure is known to the place; ways without loss are not in it. None where nothing comes."""
    nodes: tuple[int, ...]
    """The network's numbers of its nodes, one more than edges."""

    def sources(self, answer: Solution) -> list[Component]:
        """The pumps at whose outlet it begins, or else the components that know the pressure from which it comes."""
        found, number = answer.model, answer.model.number
        pumps = [i for i in _pumps(answer) if found.network.end[i] == self.nodes[0]]
        owners = [found.circuit.edges[found.edges[i]].component for i in pumps] or [
            node.component
            for name, node in found.circuit.nodes.items()
            if node.inner is not None and node.inner.pressure and number[name] == self.nodes[0]
        ]
        return [owner for owner in owners if owner is not None]

    def behind_its_pump(self, answer: Solution) -> Way:
        """Its part behind the last pump on it; all of it where there is none."""
        pumps = [answer.model.edges[i] for i in _pumps(answer)]
        first = max((k for k, name in enumerate(self.edges, 1) if name in pumps), default=0)
        return Way(self.edges[first:], self.nodes[first:])


def way_to(answer: Solution, place: str, duty: int) -> Way:
    """The way on which most of the liquid comes to a node at a duty, by its number."""
    net, flow = answer.model.network, answer.state.flow[duty]
    nodes, edges = [answer.model.number[place]], list[str]()
    while not net.fixed[nodes[-1]]:
        here = nodes[-1]
        into = np.where(net.end == here, flow, 0.0) - np.where(net.start == here, flow, 0.0)
        i = int(into.argmax())
        other = int(net.start[i] if net.end[i] == here else net.end[i])
        if into[i] <= NOTHING or other in nodes:
            return Way((), (nodes[0],))
        edges.append(answer.model.edges[i])
        nodes.append(other)
    return Way(tuple(edges[::-1]), tuple(nodes[::-1]))


def longest_filling(answer: Solution, way: Way, duty: int, flow: Mapping[str, float]) -> float:
    """The longest that an empty line takes until liquid is at the end of a way, its source under pressure [s].

    Let the source have the pressure of the answer from the first moment, or its pump run at its speed, and every line
    behind it be empty. Compare a moment of the filling, its front in one edge of the way, with the circuit full and at
    rest in its flows but open at the far end of that edge, and open there as high as the highest point that the way has
    come over. At every front the pressure is that of the air outside, where the full circuit has no less. So no
    pressure is higher than in that (resistances rise with flow, a pump gives no less against less): no more leaves by
    the ends that are reached already, no less comes in. What fills in each second is therefore at least what flows in
    the full circuit to all the ends not yet reached, and among them is all that lies behind the edge: at least its flow
    there. With the branches that fill meanwhile counted at the worst time,

        time <= sum over the way of (volume / flow) + volume of all branches / least of these flows.

    Where lines form loops, or a second source feeds into them, what lies behind an edge may be reached another way,
    and all is counted at the least flow. The answer itself, with its bearings at the end of the way, flows less still:
    its own flows give a bound too, and one that is far too long where cold oil creeps through the bearings.

    It is a bound for liquid without inertia (which takes some hundredths of a second), and into air that leaves freely
    and is not trapped. What a run rises over its own ends is in it only where its way is known.

    Args:
        answer: the circuit's answer.
        way: to the place, from a known pressure or the outlet of a pump.
        duty: the number of the duty.
        flow: of each edge of the way, with the circuit open at its far end or farther on [m3/s].

    Raises:
        UnknownInputError: what a component in the circuit holds is not known, or next to nothing flows.
    """
    stuck = next((name for name in way.edges if not flow[name] > MOST_LEAK), None)
    if stuck is not None:
        raise UnknownInputError(f"next to nothing flows through {stuck}", needs=f"what opens the way through {stuck}")
    beside, loops = _beside(answer, way, duty)
    least = min(flow[name] for name in way.edges)
    along = sum(volume(answer, name) / (least if loops else flow[name]) for name in way.edges)
    return along + sum(volume(answer, answer.model.edges[i]) for i in beside) / least


def fronts(answer: Solution, way: Way, tops: Mapping[str, float]) -> dict[str, float]:
    """How high a liquid has had to come when it is through each edge of a way [m].

    Args:
        answer: the circuit's answer.
        way: to the place.
        tops: the highest point of each run of which it is known [m], as the heights of the model.
    """
    found, top = dict[str, float](), -np.inf
    for name in way.edges:
        edge = answer.model.circuit.edges[name]
        ends = (answer.model.heights[edge.start], answer.model.heights[edge.end])
        found[name] = top = max(top, *ends, tops.get(name, -np.inf))
    return found


def open_flows(
    answer: Solution, way: Way, outside: Array, tops: Mapping[str, float], system: System
) -> list[dict[str, float]]:
    """By duty, the flow of each edge of a way with the circuit open at its far end, as high as the way has come [m3/s].

    Not over nothing where that is higher than the liquid is lifted.

    Args:
        answer: the circuit's answer.
        way: to the place.
        outside: pressure of the air where it is open, by duty [Pa absolute].
        tops: the highest point of each run of which it is known [m], as the heights of the model.
        system: in which units reasons are worded.
    """
    net, flows = answer.model.network, np.zeros((len(outside), len(way.edges)))
    for i, (name, height) in enumerate(fronts(answer, way, tops).items()):
        node = way.nodes[i + 1]
        opened = leaving_at(answer, node, outside, height, system)
        along = 1.0 if net.start[answer.model.edges.index(name)] == way.nodes[i] else -1.0
        # An answer that has no less pressure there flows less than that which is open, so it is a bound too.
        leaving = outside + answer.model.density * STANDARD_GRAVITY * height
        own = np.where(answer.state.pressure[:, node] >= leaving, answer.flow(name), 0.0)
        flows[:, i] = along * np.where(opened.solved, opened.flow(name), own)
    return [dict(zip(way.edges, row, strict=True)) for row in flows.tolist()]


def volume(answer: Solution, edge: str) -> float:
    """The liquid that an edge holds [m3]: of a run that in its bores, of a component what it says.

    A body with a surface is no line: what it holds does not have to fill.

    Raises:
        UnknownInputError: it is a component of some size that does not say it.
    """
    found = answer.model.circuit.edges[edge]
    inner = (answer.model.circuit.nodes[node].inner for node in (found.start, found.end))
    if any(node is not None and node.height for node in inner):
        return 0.0
    component = found.component
    if component is not None and "volume" in component.kind.figures:
        if component.figures.get("volume") is None:
            raise UnknownInputError(
                f"what {component.name} holds is not known", needs=f"volume in [components.{component.name}]"
            )
        return figure(component, "volume")
    return sum(np.pi * pipe.bore**2 / 4 * pipe.length for pipe in answer.model.resistances[edge].pipes)


def _pumps(answer: Solution) -> list[int]:
    """The numbers of the edges that are pumps."""
    return [i for i, device in answer.model.network.devices.items() if isinstance(device, Pump)]


def _beside(answer: Solution, way: Way, duty: int) -> tuple[set[int], bool]:
    """The edges that fill beside a way, and whether an end can be reached on more than one way.

    A pump stands full from its pickup on: nothing ahead of it fills.
    """
    net, flow, pumps = answer.model.network, answer.state.flow[duty], _pumps(answer)
    bounds = net.fixed.copy()
    bounds[net.start[pumps]] = True
    on = {answer.model.edges.index(name) for name in way.edges}
    beside, reached, fed = set[int](), set(way.nodes), False
    todo = [node for node in way.nodes if not bounds[node]]
    while todo:
        node = todo.pop()
        here = set(np.flatnonzero((net.start == node) | (net.end == node)).tolist()) - on - beside
        fed |= any(i in pumps and node != way.nodes[0] for i in here)
        here -= set(pumps)
        beside |= here
        for i in here:
            inward = net.end[i] == node
            other = int(net.start[i] if inward else net.end[i])
            fed |= bool(bounds[other] and (flow[i] > 0) == inward)
            if other not in reached:
                reached.add(other)
                todo += [] if bounds[other] else [other]
    # A tree has one edge less than nodes.
    return beside, fed or len(on) + len(beside) >= len(reached)
