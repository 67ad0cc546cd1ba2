"""A network of edges and nodes in numbers, a batch of what it is solved for, and the drops of its edges.

Unknowns are piezometric total pressures P = p + rho g z, so that height enters only where a device feels a
pressure. An edge has a flow from its start to its end; in it any number of straight bores and losses follow each
other, or it is a device, or one leg of a tee. The first axis of every array of a batch is the batch.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from solver.devices import Here
from solver.friction import friction_drop
from solver.pulsed import PulsedPump
from solver.tees import Tees

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt
    from scipy import sparse

    from solver.devices import Device

    Array = npt.NDArray[np.float64]
    Integers = npt.NDArray[np.int64]


FLATTEST = 10.0
"""Least slope of a drop that an edge is stepped with [Pa s/m3]: what a short, wide hose of gas resists at a trickle."""


@dataclass(frozen=True)
class Pipes:
    """Bores that belong to edges; every array has shape (pipes,)."""

    edge: Integers
    length: Array
    bore: Array
    roughness: Array
    curvature: Array
    """Bore over the diameter of its curve; 0 where it is straight."""

    def drops(self, flow: Array, density: Array, viscosity: Array) -> tuple[Array, Array]:
        """Drop [Pa] and slope [Pa s/m3] of each at its edge's flow; shape (batch, pipes)."""
        return friction_drop(
            flow[:, self.edge],
            length=self.length,
            bore=self.bore,
            roughness=self.roughness,
            density=by_edge(density, self.edge),
            viscosity=by_edge(viscosity, self.edge),
            curvature=self.curvature,
        )


@dataclass(frozen=True)
class Losses:
    """drop = viscous mu q + inertial rho q|q|, with one inertial coefficient each way; shape (losses,)."""

    edge: Integers
    viscous: Array
    inertial: Array
    inertial_back: Array

    def drops(self, flow: Array, density: Array, viscosity: Array) -> tuple[Array, Array]:
        """Drop [Pa] and slope [Pa s/m3] of each at its edge's flow; shape (batch, losses)."""
        q = flow[:, self.edge]
        inertial = np.where(q >= 0, self.inertial, self.inertial_back) * by_edge(density, self.edge)
        linear = self.viscous * by_edge(viscosity, self.edge)
        steep = inertial * np.abs(q)
        return (linear + steep) * q, linear + 2.0 * steep


def by_edge(figure: Array, edges: Integers | int) -> Array:
    """A figure of the fluid [SI] of shape (batch, 1) or (batch, edges), at some edges."""
    return figure if figure.shape[1] == 1 else figure[:, np.atleast_1d(edges)]


def at_tees(figure: Array, legs: Integers) -> Array:
    """A figure of the fluid [SI] likewise, at tees, the mean of their legs; shape (batch, 1 or tees, 1)."""
    return figure[..., None] if figure.shape[1] == 1 else figure[:, legs].mean(axis=2)[..., None]


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
    tees: Tees = field(default_factory=Tees.none)
    felt: Mapping[int, int] = field(default_factory=dict)
    """The node whose pressure a pulsed pump holds, by its edge, where that is not its own outlet."""

    @property
    def edges(self) -> int:
        return len(self.start)

    @functools.cached_property
    def out(self) -> sparse.csr_array:
        """One where an edge leaves a node, less one where it enters; shape (nodes, edges)."""
        rows = np.arange(self.edges)
        return summing(np.concatenate([self.start, self.end]), np.tile(rows, 2), (self.nodes, self.edges), rows.size)

    @functools.cached_property
    def pipes_of(self) -> sparse.csr_array:
        """Sums pipes into their edges; shape (edges, pipes)."""
        edge = self.pipes.edge
        return summing(edge, np.arange(edge.size), (self.edges, edge.size))

    @functools.cached_property
    def lumped(self) -> Losses:
        """The losses of each edge as one, for what is alike adds up; shape (edges,)."""
        own = self.losses
        parts = (own.viscous, own.inertial, own.inertial_back)
        sums = [np.bincount(own.edge, part, self.edges).astype(np.float64) for part in parts]
        return Losses(np.arange(self.edges), sums[0], sums[1], sums[2])


def summing(rows: Integers, columns: Integers, shape: tuple[int, int], turned: int | None = None) -> sparse.csr_array:
    """A matrix of ones, and of minus ones from the entry `turned` on."""
    from scipy import sparse

    ones = np.ones(rows.size)
    ones[rows.size if turned is None else turned :] = -1.0
    return sparse.csr_array((ones, (rows, columns)), shape=shape)


def summed(by: sparse.csr_array, values: Array) -> Array:
    """Sums [of whatever unit] along the second axis, by a matrix of what goes into which; shape (batch, sums)."""
    return np.asarray((by @ values.T).T)


@dataclass(frozen=True)
class Batch:
    """What the network is solved for; every array's first axis is the batch.

    Density and viscosity are those of the flow as it is counted. A gas is counted by its volume at one density for
    the whole circuit: where it takes n times that volume, both are n times as large here, for a drop then is.
    """

    density: Array
    """[kg/m3], shape (batch, 1) or (batch, edges)."""
    viscosity: Array
    """[Pa s], shape (batch, 1) or (batch, edges)."""
    known: Array
    """P of the fixed nodes [Pa], zero elsewhere; shape (batch, nodes)."""
    taken: Array
    """Flow taken at each node [m3/s]; shape (batch, nodes)."""
    lift: Array
    """rho g z where a device in the edge feels a pressure [Pa]; shape (batch, edges)."""

    @property
    def size(self) -> int:
        return len(self.known)

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
    failed: list[str]


def edge_drops(net: Network, flow: Array, density: Array, viscosity: Array) -> tuple[Array, Array]:
    """Drop [Pa] of bores and losses in each edge, and its slope [Pa s/m3]; shape (batch, edges).

    Args:
        net: the network.
        flow: [m3/s], shape (batch, edges).
        density: [kg/m3], shape (batch, 1) or (batch, edges).
        viscosity: dynamic [Pa s], likewise.
    """
    pipe, pipe_slope = net.pipes.drops(flow, density, viscosity)
    drop, slope = net.lumped.drops(flow, density, viscosity)
    return drop + summed(net.pipes_of, pipe), slope + summed(net.pipes_of, pipe_slope)


def here_at(net: Network, batch: Batch, state: State, edge: int, rows: Integers) -> Here:
    """The present point of one edge; `batch` has these rows of the state."""
    return Here(
        state.flow[rows, edge],
        state.pressure[rows, net.start[edge]],
        state.pressure[rows, net.end[edge]],
        by_edge(batch.density, edge)[:, 0],
        by_edge(batch.viscosity, edge)[:, 0],
        batch.lift[:, edge],
        state.pressure[rows, net.felt.get(edge, net.end[edge])],
    )


def lines(net: Network, batch: Batch, state: State, rows: Integers) -> tuple[Array, Array, Array]:
    """Each edge as a straight line of the pressures that it feels, about the present point.

    Returns:
        the flow of that line at the present pressures [m3/s], shape (batch, edges); how it changes with each
        pressure that it feels [m3/s per Pa], shape (batch, gains), in the order of `gains`; and by how many Pa the
        present flow misses it, shape (batch, edges).
    """
    flow, pressure = state.flow[rows], state.pressure[rows]
    across = pressure[:, net.start] - pressure[:, net.end]
    drop, slope = edge_drops(net, flow, batch.density, batch.viscosity)
    y_start = 1.0 / np.maximum(slope, FLATTEST)
    y_end = y_start.copy()
    found = flow + (across - drop) * y_start
    elsewhere = np.zeros((len(rows), len(net.felt)))
    for i, (edge, device) in enumerate(net.devices.items()):
        here = here_at(net, batch, state, edge, rows)
        a, y_start[:, edge], y_end[:, edge] = device.line(here, state.switches[rows, i], rows)
        found[:, edge] = a + y_start[:, edge] * here.start - y_end[:, edge] * here.end
        if edge in net.felt and isinstance(device, PulsedPump):
            by_felt = device.feels(state.switches[rows, i])
            found[:, edge] += np.where(by_felt, y_end[:, edge] * (here.end - here.felt), 0.0)
            elsewhere[:, list(net.felt).index(edge)] = np.where(by_felt, y_end[:, edge], 0.0)
    miss = np.abs(flow - found) / np.maximum(np.maximum(y_start, y_end), 1e-300)
    y_end[:, list(net.felt)] -= elsewhere
    if not net.tees.count:
        return found, np.concatenate([y_start, -y_end, -elsewhere], axis=1), miss
    legs = net.tees.legs
    tee_drop, tee_slope = net.tees.drops(flow[:, legs], at_tees(batch.density, legs))
    own = np.maximum(slope[:, legs], FLATTEST)
    inverse = np.linalg.inv(tee_slope + own[..., None] * np.eye(3))
    short = (across - drop)[:, legs] - tee_drop
    found[:, legs] = flow[:, legs] + (inverse @ short[..., None])[..., 0]
    miss[:, legs] = np.abs(short)
    y_start[:, legs], y_end[:, legs] = 0.0, 0.0
    ports, centre = inverse.reshape(len(rows), -1), -inverse.sum(axis=3).reshape(len(rows), -1)
    return found, np.concatenate([y_start, -y_end, -elsewhere, ports, centre], axis=1), miss


def gains(net: Network) -> tuple[Integers, Integers]:
    """Edge and node of each gain of `lines`.

    An edge feels its ends, a pulsed pump also the node whose pressure it holds, a leg of a tee the other two ports.
    """
    legs = net.tees.legs
    edge = np.arange(net.edges)
    ports = np.repeat(net.start[legs][:, None, :], 3, axis=1)
    pumps, felt = (np.array(list(x), dtype=np.int64) for x in (net.felt.keys(), net.felt.values()))
    edges = [edge, edge, pumps, np.repeat(legs[:, :, None], 3, axis=2).ravel(), legs.ravel()]
    return np.concatenate(edges), np.concatenate([net.start, net.end, felt, ports.ravel(), net.end[legs].ravel()])
