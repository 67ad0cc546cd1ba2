"""The way on which a liquid comes to a place, and how long an empty line takes to fill up to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from solver.restrictor import leaving_at
from solver.stated import figure

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.units import System
    from lines.plan import Component
    from solver.solution import Solution

    Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Way:
    """The way on which most of the liquid comes to a place at one duty."""

    edges: tuple[str, ...]
    """From where its pressure is known to the place; ways without loss are not in it."""
    nodes: tuple[int, ...]
    """The network's numbers of its nodes, one more than edges."""

    def sources(self, answer: Solution) -> list[Component]:
        """The components that know the pressure from which it comes."""
        found, number = answer.model, answer.model.number
        return [
            node.component
            for name, node in found.circuit.nodes.items()
            if node.inner is not None and node.inner.pressure and number[name] == self.nodes[0]
        ]


def way_to(answer: Solution, place: str, duty: int) -> Way:
    """The way on which most of the liquid comes to a node at a duty, by its number."""
    net, flow = answer.model.network, answer.state.flow[duty]
    nodes, edges = [answer.model.number[place]], list[str]()
    while not net.fixed[nodes[-1]]:
        here = nodes[-1]
        into = np.where(net.end == here, flow, 0.0) - np.where(net.start == here, flow, 0.0)
        i = int(into.argmax())
        other = int(net.start[i] if net.end[i] == here else net.end[i])
        if into[i] <= 0 or other in nodes:
            break
        edges.append(answer.model.edges[i])
        nodes.append(other)
    return Way(tuple(edges[::-1]), tuple(nodes[::-1]))


def longest_filling(answer: Solution, way: Way, duty: int, flow: dict[str, float]) -> float:
    """The longest that an empty line takes until liquid is at the end of a way, its source under pressure [s].

    Let the source have the pressure of the answer from the first moment, and every line behind it be empty. Compare a
    moment of the filling, its front in one edge of the way, with the circuit full and at rest in its flows but open at
    the far end of that edge. At every front the pressure is that of the air outside, where the full circuit has no
    less. So no pressure is higher than in that (resistances rise with flow): no more leaves by the ends that are
    reached already, no less comes in. What fills in each second is therefore at least what flows in the full circuit to
    all the ends not yet reached, and among them is all that lies behind the edge: at least its flow there. With the
    branches that fill meanwhile counted at the worst time,

        time <= sum over the way of (volume / flow) + volume of all branches / least of these flows.

    Where lines form loops, or a second source feeds into them, what lies behind an edge may be reached another way,
    and all is counted at the least flow. The answer itself, with its bearings at the end of the way, flows less still:
    its own flows give a bound too, and one that is far too long where cold oil creeps through the bearings.

    It is a bound for liquid without inertia (which takes some hundredths of a second), into air that leaves freely
    and is not trapped, and with no rise on the way that is higher than its end.

    Args:
        answer: the circuit's answer.
        way: to the place.
        duty: the number of the duty.
        flow: of each edge of the way, with the circuit open at its far end or farther on [m3/s].

    Raises:
        UnknownInputError: what a component in the circuit holds is not known.
    """
    beside, loops = _beside(answer, way, duty)
    least = min(flow[name] for name in way.edges)
    along = sum(volume(answer, name) / (least if loops else flow[name]) for name in way.edges)
    return along + sum(volume(answer, answer.model.edges[i]) for i in beside) / least


def open_flows(answer: Solution, way: Way, outside: Array, system: System) -> list[dict[str, float]]:
    """By duty, the flow of each edge of a way with the circuit open at its far end [m3/s].

    Args:
        answer: the circuit's answer.
        way: to the place.
        outside: pressure of the air where it is open, by duty [Pa absolute].
        system: in which units reasons are worded.
    """
    flows = np.zeros((len(outside), len(way.edges)))
    for i, (name, node) in enumerate(zip(way.edges, way.nodes[1:], strict=True)):
        opened = leaving_at(answer, node, outside, system)
        flows[:, i] = np.abs(np.where(opened.solved, opened.flow(name), answer.flow(name)))
    return [dict(zip(way.edges, row, strict=True)) for row in flows.tolist()]


def volume(answer: Solution, edge: str) -> float:
    """The liquid that an edge holds [m3]: of a run that in its bores, of a component what it says.

    Raises:
        UnknownInputError: it is a component of some size that does not say it.
    """
    component = answer.model.circuit.edges[edge].component
    if component is not None and "volume" in component.kind.figures:
        if component.figures.get("volume") is None:
            raise UnknownInputError(
                f"what {component.name} holds is not known", needs=f"volume in [components.{component.name}]"
            )
        return figure(component, "volume")
    return sum(np.pi * pipe.bore**2 / 4 * pipe.length for pipe in answer.model.resistances[edge].pipes)


def _beside(answer: Solution, way: Way, duty: int) -> tuple[set[int], bool]:
    """The edges that fill beside a way, and whether an end can be reached on more than one way."""
    net, flow = answer.model.network, answer.state.flow[duty]
    on = {answer.model.edges.index(name) for name in way.edges}
    beside, reached, todo, fed = set[int](), set(way.nodes), list(way.nodes[1:]), False
    while todo:
        node = todo.pop()
        here = set(np.flatnonzero((net.start == node) | (net.end == node)).tolist()) - on - beside
        beside |= here
        for i in here:
            inward = net.end[i] == node
            other = int(net.start[i] if inward else net.end[i])
            fed |= bool(net.fixed[other] and (flow[i] > 0) == inward)
            if other not in reached:
                reached.add(other)
                todo += [] if net.fixed[other] else [other]
    # A tree has one edge less than nodes.
    return beside, fed or len(on) + len(beside) >= len(reached)
