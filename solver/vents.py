"""The vents of tanks with the vehicle lying any way: does fuel reach their open end?

The tank is full and still, its liquid with its volume kept. It gets into a vent whose mouth it covers, and out of its
open end where no part of the way there lies over its surface, unless a valve is shut. What vapour or a warm day would
push out is not in it.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from solver.along import back
from solver.liquid import liquid_in
from solver.pool import level
from solver.profile import profile

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    import numpy.typing as npt

    from lines.assembly import Assembly
    from lines.graph import Circuit
    from lines.plan import Component, Plan
    from solver.along import Steps

    Array = npt.NDArray[np.float64]

LYING = {
    "upright": (0.0, 0.0, -1.0),
    "on its left side": (0.0, 1.0, 0.0),
    "on its right side": (0.0, -1.0, 0.0),
    "on its roof": (0.0, 0.0, 1.0),
    "on its nose": (1.0, 0.0, 0.0),
    "on its tail": (-1.0, 0.0, 0.0),
}
"""How the vehicle lies, and which way is down then, in vehicle axes."""
VALVE = "roll-over-valve"


@dataclass(frozen=True)
class Vent:
    """The way of air from over the fuel in a tank to the open end of its vent."""

    tank: Component
    port: str
    """Of the tank."""
    end: str
    """The open end."""
    points: Array
    """From its mouth in the tank to the open end, shape (n, 3) [m]."""
    places: tuple[str, ...]
    """Of each point the run that it is on; of the mouth the port."""
    valves: tuple[Component, ...]

    def over(self, down: Array) -> Array:
        """How far the highest part of the way lies over the fuel, shape (n,) [m]; below 0 where fuel runs out of it.

        Args:
            down: unit vectors along gravity, shape (n, 3).

        Raises:
            UnknownInputError: the tank's fuel cannot be told however it lies.
        """
        held = liquid_in(self.tank, "full")
        if held.body is None or held.volume is None:
            raise UnknownInputError(held.lacks, needs=held.needs)
        return np.asarray((-self.points @ down.T).max(axis=0) - level(held.body, held.volume, down))

    def highest(self, down: Array) -> str:
        """The place of the highest part of the way where down is that unit vector."""
        return self.places[int((-self.points @ down).argmax())]

    def shut(self, tilt: float) -> list[str]:
        """The valves that are shut when the vehicle is turned so far from upright [rad]."""
        return [v.name for v in self.valves if (at := v.figures.get("shuts_at")) and tilt >= min(at.values.values())]


def vents(
    plan: Plan, circuits: Mapping[str, Circuit], made: Mapping[str, Assembly], tank: Component
) -> list[Vent | UnknownInputError]:
    """The vents of a tank, one for each of its ports and each open end; of one whose way is not known why not."""
    found: list[Vent | UnknownInputError] = []
    for way in vent_ways(circuits, tank):
        try:
            found.append(_vent(plan, made, tank, way))
        except UnknownInputError as error:
            found.append(error)
    return found


def vent_ways(circuits: Mapping[str, Circuit], tank: Component) -> Iterator[Steps]:
    """The ways of air out of a tank, one for each of its ports and each open end, from the tank outward."""
    airs = {f"{tank.name}.{inner.gas}" for inner in tank.kind.nodes.values() if inner.gas}
    for circuit in circuits.values():
        ends = [n for n, node in circuit.nodes.items() if node.component.kind.id == "open" and node.inner is not None]
        for air in sorted(airs & circuit.nodes.keys()):
            mouths = [edge for edge in circuit.edges.values() if air in {edge.start, edge.end}]
            for mouth, end in itertools.product(mouths, ends):
                others = {edge.name for edge in mouths if edge is not mouth}
                if way := circuit.shortest_way([end], air, others):
                    yield back(way)


def _vent(plan: Plan, made: Mapping[str, Assembly], tank: Component, way: Steps) -> Vent:
    first, onward = way[0]
    port = first.end if onward else first.start
    table = plan.port(port)
    mouth = table.reaches or table.at
    if mouth is None:
        raise UnknownInputError(f"where {port} lies is not known", needs=f"`at` of {port}")
    points, places = [np.array([mouth])], [port]
    for edge, onward in way:
        if edge.run is None:
            continue
        line = profile(made[edge.name])
        if line is None:
            needs = f"the points of {edge.name} (via) and the places of its ports"
            raise UnknownInputError(f"where {edge.name} runs is not known", needs=needs)
        points.append(line.points if onward else line.points[::-1])
        places += [edge.name] * len(line.points)
    last, onward = way[-1]
    owners = {edge.component.name: edge.component for edge, _ in way if edge.component is not None}
    return Vent(
        tank,
        port,
        (last.end if onward else last.start).partition(".")[0],
        np.concatenate(points),
        tuple(places),
        tuple(owner for owner in owners.values() if owner.kind.id == VALVE),
    )
