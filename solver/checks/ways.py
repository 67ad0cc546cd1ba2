"""The ways round a cooler, and how much of the oil that comes to them has passed a cooler when it leaves them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from solver.checks.roles import about, is_cooler, is_pump, known

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.graph import Circuit, Edge
    from solver.solution import Solution

    Array = npt.NDArray[np.float64]

REGULAR = 1e-9
"""Of its flow, by which a node outweighs what flows into it [-]: still oil then makes no singular matrix."""


@dataclass(frozen=True)
class Ways:
    """A cooler and the ways round it. Arrays are by duty, shape (duties,)."""

    round_it: bool
    """Is there a way from its inlet to its outlet through no cooler?"""
    through: Array
    """Share of the oil that comes to them which goes through a cooler [-]."""
    of_all: Array
    """Its own flow over the largest in its circuit [-]."""


def ways(solution: Solution, core: Edge) -> Ways:
    """How much goes through a cooler, and how much round it.

    Args:
        solution: of its circuit.
        core: the way through it.

    Returns:
        shares [-]. What goes through another cooler beside it, or before or behind it on these ways, counts as through.
    """
    circuit, model = solution.model.circuit, solution.model
    beside = edges_beside(circuit, core)
    names = {edge.name for edge in beside}
    around = about(circuit, [core.start], lambda edge: edge.name not in names or is_cooler(edge))
    # What costs nothing has no flow of its own: its two ends are one node of the network.
    own = [edge for edge in beside if edge.name in model.edges]
    ends = np.array([[model.number[edge.start], model.number[edge.end]] for edge in own])
    flows = np.stack([solution.flow(edge.name) for edge in own], axis=1)
    most = np.max([np.abs(solution.flow(name)) for name in model.edges], axis=0)
    return Ways(
        round_it=any(core.end in {edge.start, edge.end} for edge in around),
        through=cooled(ends, np.array([is_cooler(edge) for edge in own]), flows),
        of_all=np.abs(solution.flow(core.name)) / np.where(most > 0, most, 1.0),
    )


def edges_beside(circuit: Circuit, core: Edge) -> list[Edge]:
    """A cooler's way and every edge on a way from its inlet to its outlet, by no pump and no place of known pressure.

    An edge is on one where no single node parts it from the cooler.
    """

    def stops(edge: Edge) -> bool:
        return is_pump(edge) or known(circuit.nodes[edge.start]) or known(circuit.nodes[edge.end])

    found = {edge.name: edge for edge in about(circuit, [core.start, core.end], stops)}
    for wall in circuit.nodes:
        joined = {edge.name for edge in about(circuit, {core.start, core.end} - {wall}, stops, wall)}
        found = {name: edge for name, edge in found.items() if name in joined}
    return list(found.values())


def cooled(ends: npt.NDArray[np.int64], cools: npt.NDArray[np.bool_], flows: Array) -> Array:
    """Share of the oil leaving some edges that has passed a cooler on them [-], shape (duties,).

    Oil comes to them uncooled, leaves a cooler cooled, and mixes wherever ways meet: at each node what flows in by its
    share is what flows out by that of the node. Where nothing comes to them, 0.

    Args:
        ends: nodes at which each edge starts and ends, shape (edges, 2).
        cools: is it a cooler, shape (edges,)?
        flows: from its start to its end [m3/s], shape (duties, edges).

    >>> ways = np.array([[0, 1], [0, 2], [1, 2]])  # a cooler from 0 to 1, a way round it from 0 to 2, and its hose
    >>> cooled(ways, np.array([True, False, False]), np.array([[3.0, 1.0, 3.0], [0.0, 4.0, 0.0]])).round(6).tolist()
    [0.75, 0.0]
    """
    names, place = np.unique(ends, return_inverse=True)
    start, end = np.eye(len(names))[place.reshape(ends.shape)].transpose(1, 0, 2)
    moved = np.concatenate([np.maximum(flows, 0.0), np.maximum(-flows, 0.0)], axis=1)
    up, down = np.concatenate([start, end]), np.concatenate([end, start])
    into, out = moved @ down, moved @ up
    cooling = np.tile(cools, 2)
    fresh = (moved * cooling) @ down
    mixed = np.einsum("de,ej,ei->dji", moved * ~cooling, down, up)
    passes = np.maximum(into, out) * (1.0 + REGULAR)
    matrix = np.where(passes > 0, passes, 1.0)[:, :, None] * np.eye(len(names)) - mixed
    share = np.linalg.solve(matrix, fresh[:, :, None])[:, :, 0]
    leaves = np.maximum(into - out, 0.0)
    total = leaves.sum(axis=1)
    return np.asarray((leaves * share).sum(axis=1) / np.where(total > 0, total, 1.0))
