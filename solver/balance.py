"""Is it an answer? Every balance of a solution worked out again from the laws themselves.

Nothing here uses a straight line, a step or a matrix of the way in which the answer was found.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from solver.network import by_edge, edge_drops, here_at
from solver.newton import A_FLOW

if TYPE_CHECKING:
    import numpy.typing as npt

    from solver.network import Batch, Network, State

    Array = npt.NDArray[np.float64]

WORST_PRESSURE = 2.0
"""An answer is shown only if the pressures of every edge balance this well [Pa]; a device may be 1 Pa late."""
WORST_FLOW = 1e-6
"""… and the flows of every node, over the largest flow of the circuit or over `A_FLOW`."""


@dataclass(frozen=True)
class Balance:
    """How well an answer balances; every array has shape (batch,)."""

    pressure: Array
    """Largest difference between an edge's law and the pressures at its ends [Pa]."""
    edge: npt.NDArray[np.int64]
    """The edge with that difference."""
    flow: Array
    """Largest flow that a node gets and does not pass on [m3/s]."""
    largest: Array
    """Largest flow of the circuit, or `A_FLOW` [m3/s]."""

    @property
    def holds(self) -> npt.NDArray[np.bool_]:
        return (self.pressure <= WORST_PRESSURE) & (self.flow <= WORST_FLOW * self.largest)


def balance(net: Network, batch: Batch, state: State) -> Balance:
    """Work out the balances of every edge and every node whose pressure is not known; known pressures are compared."""
    gap = _edges(net, batch, state)
    known = np.where(net.fixed, np.abs(state.pressure - batch.known), 0.0).max(axis=1, initial=0.0)
    kept = -batch.taken.copy()
    np.subtract.at(kept.T, net.start, state.flow.T)
    np.add.at(kept.T, net.end, state.flow.T)
    kept[:, net.fixed] = 0.0
    return Balance(
        np.maximum(gap.max(axis=1, initial=0.0), known),
        gap.argmax(axis=1),
        np.abs(kept).max(axis=1, initial=0.0),
        np.maximum(np.abs(state.flow).max(axis=1, initial=0.0), A_FLOW),
    )


def _edges(net: Network, batch: Batch, state: State) -> Array:
    """By how much the law of each edge misses the pressures at its ends [Pa], shape (batch, edges)."""
    across = state.pressure[:, net.start] - state.pressure[:, net.end]
    drop = edge_drops(net, state.flow, batch.density, batch.viscosity)[0]
    if net.tees.count:
        legs = net.tees.legs
        drop[:, legs] += net.tees.drops(state.flow[:, legs], by_edge(batch.density, legs[:, 0])[..., None])[0]
    gap = np.abs(across - drop)
    rows = np.arange(batch.size)
    for i, (edge, device) in enumerate(net.devices.items()):
        gap[:, edge] = device.miss(here_at(net, batch, state, edge, rows), state.switches[:, i], rows)
    return gap
