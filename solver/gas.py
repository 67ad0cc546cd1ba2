"""A circuit of gas: each edge at its own mean density, as far as that holds.

The gas is counted by its volume at one atmosphere and the circuit's temperature, so that its volume balances at every
node. In an edge at a mean pressure p it takes atm/p times that volume, and drops are atm/p times as large.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.bounds import STANDARD_ATMOSPHERE
from solver.newton import solve

if TYPE_CHECKING:
    import numpy.typing as npt

    from solver.network import Batch, Network, State

    Array = npt.NDArray[np.float64]

MOST_DROP = 0.1
"""Largest drop along an edge, over the pressure before it, at which one density still serves: Crane TP-410, chapter 1,
from memory. With the mean of both ends it is the isothermal equation but for what speeds the gas up."""
MOST_TURNS = 30
SETTLED = 1e-8


def solve_gas(net: Network, batch: Batch, guess: Array) -> tuple[State, Batch]:
    """Solve a circuit of gas.

    Args:
        net: the network.
        batch: with density [kg/m3] and viscosity [Pa s] at one atmosphere.
        guess: first flow of each edge [m3/s], shape (edges,).

    Returns:
        the state, its flows in volumes at one atmosphere; and the batch with each edge at its own mean density. A
        point whose densities do not settle has failed with `no balance`.
    """
    at_one = batch
    state = solve(net, batch, guess)
    change = np.full(batch.size, np.inf)
    for _ in range(MOST_TURNS):
        before = batch.density
        volume = STANDARD_ATMOSPHERE / np.maximum(mean_pressure(net, state), 0.01 * STANDARD_ATMOSPHERE)
        batch = replace(at_one, density=at_one.density * volume, viscosity=at_one.viscosity * volume)
        state = solve(net, batch, state.flow)
        change = np.abs(batch.density / before - 1.0).max(axis=1)
        if (change < SETTLED).all():
            break
    for row in np.flatnonzero(change >= SETTLED):
        state.failed[row] = state.failed[row] or "no balance"
    return state, batch


def mean_pressure(net: Network, state: State) -> Array:
    """Mean absolute pressure of each edge [Pa], shape (batch, edges)."""
    return (state.pressure[:, net.start] + state.pressure[:, net.end]) / 2.0


def too_far(net: Network, state: State) -> npt.NDArray[np.bool_]:
    """Edges along which the pressure falls by too much for one density, shape (batch, edges)."""
    ends = np.stack([state.pressure[:, net.start], state.pressure[:, net.end]])
    return np.asarray(np.ptp(ends, axis=0) > MOST_DROP * ends.max(axis=0))
