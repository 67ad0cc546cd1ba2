"""Steady flow in a network of resistances and devices, for a whole batch at once.

Newton's method on all edges and nodes together, the global gradient form of Todini and Pilati (1988): each edge
is a straight line q = a + y_t P_t - y_h P_h about the present point, so that one linear system in the node
pressures gives the next point, which always satisfies every mass balance. Unknowns are piezometric total
pressures P = p + rho g z, so that height enters only where a device feels a pressure.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from solver.devices import FLATTEST, Device, Here
from solver.friction import friction_drop

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    Array = npt.NDArray[np.float64]
    Integers = npt.NDArray[np.int64]

MOST_STEPS = 60
MOST_SWITCHES = 40
CLOSE = 1e-3
"""An edge's pressure balance closes when it is this near [Pa]."""
BALANCED = 1e-9
"""A node's mass balance closes when it is this near, over the largest flow about or over `A_FLOW`."""
A_FLOW = 1e-4
"""A flow like those in a vehicle [m3/s]: what a circuit without flow is measured by."""


@dataclass(frozen=True)
class Pipes:
    """Straight bores that belong to edges; every array has shape (pipes,)."""

    edge: Integers
    length: Array
    bore: Array
    roughness: Array


@dataclass(frozen=True)
class Losses:
    """drop = viscous mu q + inertial rho q|q|, with one inertial coefficient each way; shape (losses,)."""

    edge: Integers
    viscous: Array
    inertial: Array
    inertial_back: Array

    def drops(self, flow: Array, density: Array, viscosity: Array) -> tuple[Array, Array]:
        """Drop [Pa] and slope [Pa s/m3] of each loss at its edge's flow; shape (batch, losses)."""
        q = flow[:, self.edge]
        inertial = np.where(q >= 0, self.inertial, self.inertial_back) * density
        linear = self.viscous * viscosity
        return linear * q + inertial * q * np.abs(q), linear + 2.0 * inertial * np.abs(q)


@dataclass(frozen=True)
class Network:
    """Nodes and edges by number."""

    nodes: int
    start: Integers
    end: Integers
    fixed: npt.NDArray[np.bool_]
    """Which nodes have a known pressure; shape (nodes,)."""
    pipes: Pipes
    losses: Losses
    devices: Mapping[int, Device] = field(default_factory=dict)
    """By edge."""

    @property
    def edges(self) -> int:
        return len(self.start)

    @functools.cached_property
    def leaving(self) -> Array:
        """One where an edge starts at a node; shape (edges, nodes)."""
        return np.asarray(self.start[:, None] == np.arange(self.nodes), dtype=float)

    @functools.cached_property
    def entering(self) -> Array:
        """One where an edge ends at a node; shape (edges, nodes)."""
        return np.asarray(self.end[:, None] == np.arange(self.nodes), dtype=float)


@dataclass(frozen=True)
class Batch:
    """What the network is solved for; every array's first axis is the batch."""

    density: Array
    """[kg/m3], shape (batch,)."""
    viscosity: Array
    """[Pa s], shape (batch,)."""
    known: Array
    """P of the fixed nodes [Pa], zero elsewhere; shape (batch, nodes)."""
    taken: Array
    """Flow taken at each node [m3/s]; shape (batch, nodes)."""
    lift: Array
    """rho g z where each edge starts [Pa]; shape (batch, edges)."""

    def rows(self, rows: Integers) -> Batch:
        return Batch(*(a[rows] for a in (self.density, self.viscosity, self.known, self.taken, self.lift)))


@dataclass
class State:
    """A point of the solution; `failed` holds a reason where there is none."""

    flow: Array
    """[m3/s], shape (batch, edges)."""
    pressure: Array
    """P [Pa], shape (batch, nodes)."""
    switches: Integers
    """State of each device, shape (batch, devices)."""
    residual: Array
    """Largest pressure imbalance of an edge [Pa], shape (batch,)."""
    failed: list[str]


def edge_drops(net: Network, flow: Array, density: Array, viscosity: Array) -> tuple[Array, Array]:
    """Drop [Pa] of what resists in each edge, and its slope [Pa s/m3]; shape (batch, edges).

    Args:
        net: the network.
        flow: [m3/s], shape (batch, edges).
        density: [kg/m3], shape (batch,).
        viscosity: dynamic [Pa s], shape (batch,).
    """
    rho, mu = density[:, None], viscosity[:, None]
    drop, slope = np.zeros_like(flow), np.zeros_like(flow)
    pipes, losses = net.pipes, net.losses
    parts = [
        (
            pipes.edge,
            friction_drop(
                flow[:, pipes.edge],
                length=pipes.length,
                bore=pipes.bore,
                roughness=pipes.roughness,
                density=rho,
                viscosity=mu,
            ),
        ),
        (losses.edge, losses.drops(flow, rho, mu)),
    ]
    for edge, (part, part_slope) in parts:
        np.add.at(drop.T, edge, part.T)
        np.add.at(slope.T, edge, part_slope.T)
    return drop, slope


def solve(net: Network, batch: Batch, guess: Array) -> State:
    """Solve every batch point, switching devices until their states agree with their pressures.

    Each pass solves all points whose states changed. A point whose pattern of states comes back changes only its
    worst violator; after a stated number of passes it is reported as cycling, by the device's edge.

    Args:
        net: the network; each connected part has a fixed node.
        batch: fluid, known pressures and draws.
        guess: first flow of each edge [m3/s], shape (edges,).
    """
    size, devices = len(batch.density), list(net.devices.items())
    state = State(
        np.tile(guess, (size, 1)),
        np.where(net.fixed, batch.known, batch.known[:, net.fixed].mean(axis=1, keepdims=True)),
        np.stack([d.first(size) for _, d in devices], axis=1) if devices else np.zeros((size, 0), dtype=np.int64),
        np.full(size, np.inf),
        [""] * size,
    )
    todo = np.arange(size)
    codes: list[Integers] = []
    weights = 4 ** np.arange(len(devices), dtype=np.int64)
    for _ in range(MOST_SWITCHES):
        _newton(net, batch.rows(todo), state, todo)
        todo = todo[[not state.failed[i] for i in todo]]
        codes.append(state.switches @ weights)
        wanted, miss = _wanted(net, batch, state, todo)
        changes = (wanted != state.switches[todo]).any(axis=1) if devices else np.zeros(len(todo), dtype=bool)
        todo, wanted, miss = todo[changes], wanted[changes], miss[changes]
        if not len(todo):
            break
        seen = np.any([(wanted @ weights) == code[todo] for code in codes], axis=0)
        only = np.zeros_like(wanted, dtype=bool)
        only[np.arange(len(todo)), miss.argmax(axis=1)] = True
        wanted = np.where(seen[:, None] & ~only, state.switches[todo], wanted)
        state.switches[todo] = wanted
    for row in todo:
        worst = devices[int(miss[list(todo).index(row)].argmax())][0]
        state.failed[row] = f"cycling:{worst}"
    return state


def here_at(net: Network, batch: Batch, state: State, edge: int, rows: Integers) -> Here:
    """The present point of one edge for some rows of the batch."""
    start, end = net.start[edge], net.end[edge]
    return Here(
        state.flow[rows, edge],
        state.pressure[rows, start],
        state.pressure[rows, end],
        batch.density[rows],
        batch.viscosity[rows],
        batch.lift[rows, edge],
    )


def _wanted(net: Network, batch: Batch, state: State, rows: Integers) -> tuple[Integers, Array]:
    wanted, miss = state.switches[rows].copy(), np.zeros((len(rows), len(net.devices)))
    for i, (edge, device) in enumerate(net.devices.items()):
        wanted[:, i], miss[:, i] = device.wanted(here_at(net, batch, state, edge, rows), wanted[:, i], rows)
    return wanted, miss


def _newton(net: Network, batch: Batch, state: State, rows: Integers) -> None:
    """Newton steps for these rows, all with their device states held."""
    free = ~net.fixed
    active = np.arange(len(rows))
    for step in range(MOST_STEPS):
        part, here = batch.rows(active), rows[active]
        a, y_start, y_end = _lines(net, part, state, here)
        at_start, at_end = state.pressure[here][:, net.start], state.pressure[here][:, net.end]
        miss = state.flow[here] - (a + y_start * at_start - y_end * at_end)
        imbalance = np.abs(miss) / np.maximum(np.maximum(y_start, y_end), 1e-300)
        balance = state.flow[here] @ (net.leaving - net.entering) + part.taken
        off = np.abs(balance[:, free]).max(axis=1, initial=0.0)
        state.residual[here] = imbalance.max(axis=1, initial=0.0)
        balanced = off < BALANCED * np.maximum(np.abs(state.flow[here]).max(axis=1), A_FLOW)
        done = (state.residual[here] < CLOSE) & balanced & (step > 0)
        active, keep = active[~done], ~done
        if not len(active):
            return
        _step(net, state, rows[active], batch.rows(active), (a[keep], y_start[keep], y_end[keep]), step)
    for row in rows[active]:
        state.failed[row] = "did not converge"


def _step(
    net: Network,
    state: State,
    rows: Integers,
    batch: Batch,
    line: tuple[Array, Array, Array],
    step: int,
) -> None:
    a, y_start, y_end = line
    free = ~net.fixed
    out = net.leaving - net.entering
    matrix = out.T @ (y_start[:, :, None] * net.leaving - y_end[:, :, None] * net.entering)
    right = -(a @ out) - batch.taken - np.einsum("bnm,bm->bn", matrix[:, :, net.fixed], batch.known[:, net.fixed])
    pressure = batch.known.copy()
    pressure[:, free] = np.linalg.solve(matrix[:, free][:, :, free], right[:, free, None])[..., 0]
    flow = a + y_start * pressure[:, net.start] - y_end * pressure[:, net.end]
    # Half steps late on: a point that swings between two sides of a corner then settles.
    part = 1.0 if step < 20 else 0.5
    state.flow[rows] += part * (flow - state.flow[rows])
    state.pressure[rows] += part * (pressure - state.pressure[rows])


def _lines(net: Network, batch: Batch, state: State, rows: Integers) -> tuple[Array, Array, Array]:
    flow = state.flow[rows]
    drop, slope = edge_drops(net, flow, batch.density, batch.viscosity)
    y = 1.0 / np.maximum(slope, FLATTEST)
    a, y_start, y_end = flow - drop * y, y, y.copy()
    for i, (edge, device) in enumerate(net.devices.items()):
        here = Here(
            flow[:, edge],
            state.pressure[rows, net.start[edge]],
            state.pressure[rows, net.end[edge]],
            batch.density,
            batch.viscosity,
            batch.lift[:, edge],
        )
        a[:, edge], y_start[:, edge], y_end[:, edge] = device.line(here, state.switches[rows, i], rows)
    return a, y_start, y_end
