"""Is it an answer? Every balance of a solution worked out again from the laws themselves.

Nothing here uses a straight line, a step or a matrix of the way in which the answer was found.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from solver.network import at_tees, edge_drops, here_at
from solver.newton import A_FLOW

if TYPE_CHECKING:
    import numpy.typing as npt

    from solver.network import Batch, Network, State

    Array = npt.NDArray[np.float64]

WORST_PRESSURE = 1e-4
"""An answer is shown only if the pressures of every edge that resists balance this well [Pa] …"""
WORST_DEVICE = 2.0
"""… those of a device this well, for it may switch 1 Pa late …"""
WORST_FLOW = 1e-6
"""… and the flows of every node, over the largest flow of the circuit or over `A_FLOW`."""
WORST_KNOWN = 1e-9
"""A known pressure is kept this well, over itself."""


@dataclass(frozen=True)
class Balance:
    """How well an answer balances; every array has shape (batch,)."""

    pressure: Array
    """Largest difference between an edge's law and the pressures at its ends [Pa]."""
    edge: npt.NDArray[np.int64]
    """The edge that misses its own limit most."""
    flow: Array
    """Largest flow that a node gets and does not pass on [m3/s]."""
    holds: npt.NDArray[np.bool_]
    """Is every balance within its limit?"""


def balance(net: Network, batch: Batch, state: State) -> Balance:
    """Work out the balances of every edge and every node whose pressure is not known; known pressures are compared."""
    gap = _edges(net, batch, state)
    limit = np.full(net.edges, WORST_PRESSURE)
    limit[list(net.devices)] = WORST_DEVICE
    kept = -batch.taken.copy()
    np.subtract.at(kept.T, net.start, state.flow.T)
    np.add.at(kept.T, net.end, state.flow.T)
    kept[:, net.fixed] = 0.0
    spilt = np.abs(kept).max(axis=1, initial=0.0)
    largest = np.maximum(np.abs(state.flow).max(axis=1, initial=0.0), A_FLOW)
    known = np.abs(state.pressure - batch.known)[:, net.fixed] <= WORST_KNOWN * np.abs(batch.known[:, net.fixed])
    holds = (gap <= limit).all(axis=1) & (spilt <= WORST_FLOW * largest) & known.all(axis=1)
    return Balance(gap.max(axis=1, initial=0.0), (gap / limit).argmax(axis=1), spilt, holds)


def _edges(net: Network, batch: Batch, state: State) -> Array:
    """By how much the law of each edge misses the pressures at its ends [Pa], shape (batch, edges)."""
    across = state.pressure[:, net.start] - state.pressure[:, net.end]
    drop = edge_drops(net, state.flow, batch.density, batch.viscosity)[0]
    if net.tees.count:
        legs = net.tees.legs
        drop[:, legs] += net.tees.drops(state.flow[:, legs], at_tees(batch.density, legs))[0]
    gap = np.abs(across - drop)
    rows = np.arange(batch.size)
    for i, (edge, device) in enumerate(net.devices.items()):
        gap[:, edge] = device.miss(here_at(net, batch, state, edge, rows), state.switches[:, i], rows)
    return gap
