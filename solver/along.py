"""What each thing on a way through a circuit takes of its pressure."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from lines.graph import Circuit, Edge
    from solver.solution import Solution

    Array = npt.NDArray[np.float64]
    Steps = tuple[tuple[Edge, bool], ...]
    """Edges one after the other, each with whether it is passed from its start to its end."""

CLOSED = {"pump", "engine_pump", "bypass", "supply"}
"""Laws of what a line ends at, from either side."""


def line_ends(circuit: Circuit) -> set[str]:
    """The names of the edges that a line ends at."""
    return {name for name, edge in circuit.edges.items() if edge.law in CLOSED}


def line_to(circuit: Circuit, node: str) -> Steps:
    """The shortest way from a known pressure to a node, through nothing that ends a line; empty where there is none."""
    known = [name for name, inner in circuit.nodes.items() if inner.inner is not None and inner.inner.pressure]
    return circuit.shortest_way(known, node, line_ends(circuit))


def back(way: Steps) -> Steps:
    """A way the other way round."""
    return tuple((edge, not onward) for edge, onward in way[::-1])


def losses(answer: Solution, way: Steps) -> dict[str, Array]:
    """What hoses, bends and ends of runs and what components take on a way [Pa], by their names; by the answer's rows.

    Over the height: what is left at the end of the way is what was at its beginning less these and less the climb.
    """
    number, pressure = answer.model.number, answer.state.pressure
    found: dict[str, Array] = {}
    for edge, onward in way:
        sign = 1.0 if onward else -1.0
        if edge.run is not None:
            named = {f"the {thing} of {edge.name}": drop for thing, drop in answer.things(edge.name).items()}
        else:
            named = {edge.name.partition(":")[0]: pressure[:, number[edge.start]] - pressure[:, number[edge.end]]}
        for name, drop in named.items():
            found[name] = found.get(name, 0.0) + sign * drop
    return found


def largest(taken: dict[str, Array], row: int, most: int) -> list[tuple[str, float]]:
    """The things that take the most in one row, with how much [Pa]; not those that take nothing."""
    here = {thing: float(drop[row]) for thing, drop in taken.items()}
    return [(thing, here[thing]) for thing in sorted(here, key=lambda t: -here[t])[:most] if here[thing] > 0]
