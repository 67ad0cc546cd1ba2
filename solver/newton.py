"""The steady solution of a network for a whole batch at once.

Newton's method on all edges and nodes together, the global gradient form of Todini and Pilati (1988): each edge is a
straight line of the pressures that it feels, so that one linear system in the node pressures gives the next point,
which always satisfies every mass balance. A device keeps its state while the steps converge; then every device is
asked for its state again.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from solver.network import Batch, Network, State, gains, here_at, lines, summed, summing

if TYPE_CHECKING:
    import numpy.typing as npt
    from scipy import sparse

    Array = npt.NDArray[np.float64]
    Integers = npt.NDArray[np.int64]

MOST_STEPS = 60
MOST_FULL_STEPS = 15
"""From this step on only the share of a step is taken that brings a point nearest to an answer."""
SHARES = (1.0, 0.5, 0.25, 0.1, 0.03)
MOST_SWITCHES = 40
MOST_STARTS = 8
CLOSE = 1e-6
"""An edge's pressure balance closes when it is this near [Pa]: at the least slope that there is, 1e-7 m3/s."""
ROUNDING = 1e-12
"""… or this near over the largest pressure of the circuit, which is what a float of that size can tell."""
LAST_DIGITS = 1e-15
"""What a float cannot tell, over itself."""
BALANCED = 1e-8
"""A node's mass balance closes when it is this near, over the largest flow about or over `A_FLOW`."""
A_FLOW = 1e-4
"""A flow like those in a vehicle [m3/s]: what a circuit without flow is measured by."""
BLOCK = 2000
"""Points that are solved together, so that what lies between is in the cache and memory stays small."""
MOST_DENSE = 80
"""Nodes up to which a full matrix is quicker than a sparse one."""


def solve(net: Network, batch: Batch, guess: Array) -> State:
    """Solve every batch point, switching devices until their states agree with their pressures.

    Each pass solves all points whose states changed. A point whose pattern of states comes back changes only its
    worst violator; after a stated number of passes it is reported as cycling, by the device's edge.

    Args:
        net: the network; each connected part has a fixed node.
        batch: fluid, known pressures and draws.
        guess: first flow of each edge [m3/s], shape (edges,) or (batch, edges).

    Returns:
        the state, in which `failed` is empty where there is an answer, else `no balance` or `cycling:` and the edge.
    """
    size = batch.size
    # Pressures over the mean of the known ones, so that rounding goes by what they differ by.
    level = batch.known[:, net.fixed].mean(axis=1, keepdims=True)
    batch = replace(batch, known=np.where(net.fixed, batch.known - level, 0.0), lift=batch.lift - level)
    state = State(
        np.zeros((size, net.edges)),
        np.zeros((size, net.nodes)),
        np.zeros((size, len(net.devices)), dtype=np.int64),
        [""] * size,
    )
    system, dice = System(net), np.random.default_rng(0)
    start, todo = np.broadcast_to(guess, (size, net.edges)), np.arange(size)
    for _ in range(MOST_STARTS):
        _start(net, batch, state, todo, start[todo])
        for block in np.split(todo, range(BLOCK, todo.size, BLOCK)):
            _switch(system, batch, state, block)
        todo = np.array([i for i, why in enumerate(state.failed) if why], dtype=np.int64)
        if not todo.size:
            break
        # Where hoses lead from a tee back into it, its law may send the steps astray: from elsewhere they arrive.
        start = np.broadcast_to(A_FLOW * dice.standard_normal(net.edges), (size, net.edges))
    state.pressure += level
    return state


def _start(net: Network, batch: Batch, state: State, rows: Integers, flow: Array) -> None:
    """Put these rows where the steps begin."""
    state.flow[rows] = flow
    known = batch.known[rows]
    state.pressure[rows] = np.where(net.fixed, known, known[:, net.fixed].mean(axis=1, keepdims=True))
    for n, device in enumerate(net.devices.values()):
        state.switches[rows, n] = device.first(len(rows))
    for row in rows:
        state.failed[row] = ""


def _switch(system: System, batch: Batch, state: State, todo: Integers) -> None:
    """Settle these rows and switch their devices until each has the state that it asks for."""
    net, devices = system.net, list(system.net.devices)
    codes: list[Integers] = []
    weights = 1_000_003 ** np.arange(len(devices), dtype=np.int64)  # any odd number: a code for each pattern
    for _ in range(MOST_SWITCHES):
        _settle(system, batch.rows(todo), state, todo)
        codes.append(state.switches @ weights)
        wanted, miss = _wanted(net, batch.rows(todo), state, todo)
        changes = (wanted != state.switches[todo]).any(axis=1) if devices else np.zeros(len(todo), dtype=bool)
        todo, wanted, miss = todo[changes], wanted[changes], miss[changes]
        if not len(todo):
            return
        for row in todo:  # steps that lead nowhere may be those of a device in a state that it does not keep
            state.failed[row] = ""
        seen = np.any([(wanted @ weights) == code[todo] for code in codes], axis=0)
        only = np.zeros_like(wanted, dtype=bool)
        only[np.arange(len(todo)), miss.argmax(axis=1)] = True
        state.switches[todo] = np.where(seen[:, None] & ~only, state.switches[todo], wanted)
    for row, worst in zip(todo, miss.argmax(axis=1), strict=True):
        state.failed[row] = f"cycling:{devices[int(worst)]}"


def _wanted(net: Network, batch: Batch, state: State, rows: Integers) -> tuple[Integers, Array]:
    wanted, miss = state.switches[rows].copy(), np.zeros((len(rows), len(net.devices)))
    for i, (edge, device) in enumerate(net.devices.items()):
        wanted[:, i], miss[:, i] = device.wanted(here_at(net, batch, state, edge, rows), wanted[:, i], rows)
    return wanted, miss


def spill(net: Network, batch: Batch, flow: Array) -> Array:
    """What leaves each node and is not brought to it [m3/s]; shape (batch, nodes)."""
    return summed(net.out, flow) + batch.taken


def _settle(system: System, batch: Batch, state: State, rows: Integers) -> None:
    """Newton steps for these rows, all with their device states held."""
    net = system.net
    free = ~net.fixed
    active = np.arange(len(rows))
    for step in range(MOST_STEPS):
        part, here = (batch, rows) if len(active) == len(rows) else (batch.rows(active), rows[active])
        found, gain, miss = lines(net, part, state, here)
        off = np.abs(spill(net, part, state.flow[here])[:, free]).max(axis=1, initial=0.0)
        apart = np.abs(state.pressure[here]).max(axis=1)
        close = CLOSE + ROUNDING * apart
        largest = np.maximum(np.abs(state.flow[here]).max(axis=1), A_FLOW)
        balanced = off < BALANCED * largest + LAST_DIGITS * apart * np.abs(gain).max(axis=1)
        going = ~((miss.max(axis=1, initial=0.0) < close) & balanced) if step else np.ones(len(active), dtype=bool)
        if not going.any():
            return
        active, here = active[going], here[going]
        part = part if going.all() else part.rows(np.flatnonzero(going))
        found, gain = found[going], gain[going]
        change = system.solve(gain, -spill(net, part, found))
        lost = ~np.isfinite(change).all(axis=1)
        if lost.any():
            for row in here[lost]:
                state.failed[row] = "no balance"
            active, here = active[~lost], here[~lost]
            part, change, found, gain = part.rows(np.flatnonzero(~lost)), change[~lost], found[~lost], gain[~lost]
        more = found + system.through(gain * change[:, system.node]) - state.flow[here]
        if step < MOST_FULL_STEPS:
            state.flow[here] += more
            state.pressure[here] += change
        else:
            _shortened(net, part, state, here, (more, change))
    for row in rows[active]:
        state.failed[row] = "no balance"


def _shortened(net: Network, batch: Batch, state: State, rows: Integers, step: tuple[Array, Array]) -> None:
    """Take of each row's step in flow and pressure the share that leaves the least imbalance.

    A point that swings between two sides of a corner of a law then settles.
    """
    flow, pressure = state.flow[rows], state.pressure[rows]
    least, best = np.full(len(rows), np.inf), np.full(len(rows), SHARES[-1])
    for share in SHARES:
        state.flow[rows], state.pressure[rows] = flow + share * step[0], pressure + share * step[1]
        off = (lines(net, batch, state, rows)[2] ** 2).sum(axis=1)
        best, least = np.where(off < least, share, best), np.minimum(off, least)
    state.flow[rows], state.pressure[rows] = flow + best[:, None] * step[0], pressure + best[:, None] * step[1]


@dataclass(frozen=True)
class System:
    """The linear system in the pressures of the free nodes, whose pattern is the same at every step."""

    net: Network

    @functools.cached_property
    def edge(self) -> Integers:
        return gains(self.net)[0]

    @functools.cached_property
    def node(self) -> Integers:
        return gains(self.net)[1]

    @functools.cached_property
    def gains_of(self) -> sparse.csr_array:
        """Sums gains into their edges; shape (edges, gains)."""
        return summing(self.edge, np.arange(self.edge.size), (self.net.edges, self.edge.size))

    def through(self, by_gain: Array) -> Array:
        """Sums what each gain gives into its edge; shape (batch, edges)."""
        return summed(self.gains_of, by_gain)

    @functools.cached_property
    def free(self) -> Integers:
        return np.flatnonzero(~self.net.fixed)

    @functools.cached_property
    def _entries(self) -> tuple[Integers, Integers, sparse.csr_array]:
        """Rows and columns of the matrix's entries, by columns, and what sums gains into them."""
        net = self.net
        number = np.full(net.nodes, -1)
        number[self.free] = np.arange(self.free.size)
        rows = number[np.concatenate([net.start[self.edge], net.end[self.edge]])]
        columns = np.tile(number[self.node], 2)
        signs = np.repeat([1.0, -1.0], self.edge.size)
        inside = np.flatnonzero((rows >= 0) & (columns >= 0))
        places, entry = np.unique(columns[inside] * self.free.size + rows[inside], return_inverse=True)
        from scipy import sparse

        sums = sparse.csr_array(
            (signs[inside], (entry, np.tile(np.arange(self.edge.size), 2)[inside])),
            shape=(places.size, self.edge.size),
        )
        return places % self.free.size, places // self.free.size, sums

    def solve(self, gain: Array, right: Array) -> Array:
        """Change of every node's pressure [Pa] that brings what is missing at the free nodes; shape (batch, nodes).

        Args:
            gain: of each edge by each pressure that it feels, shape (batch, gains).
            right: flow missing at each node [m3/s], shape (batch, nodes).
        """
        rows, columns, sums = self._entries
        values = summed(sums, gain)
        change = np.zeros(right.shape)
        if self.free.size > MOST_DENSE:
            change[:, self.free] = self._sparse(values, rows, columns, right[:, self.free])
        elif self.free.size:
            matrix = np.zeros((len(values), self.free.size, self.free.size))
            matrix[:, rows, columns] = values
            change[:, self.free] = _dense(matrix, right[:, self.free])
        return change

    def _sparse(self, values: Array, rows: Integers, columns: Integers, right: Array) -> Array:
        from scipy import sparse
        from scipy.sparse.linalg import splu

        size = self.free.size
        ends = np.searchsorted(columns, np.arange(size + 1))
        found = np.full(right.shape, np.nan)
        for i, row in enumerate(values):
            try:
                factors = splu(sparse.csc_array((row, rows, ends), shape=(size, size)), permc_spec="MMD_AT_PLUS_A")
            except RuntimeError:  # exactly singular: this point has no answer, the others do
                continue
            found[i] = factors.solve(right[i])
        return found


def _dense(matrix: Array, right: Array) -> Array:
    try:
        return np.asarray(np.linalg.solve(matrix, right[..., None])[..., 0])
    except np.linalg.LinAlgError:
        # One point of the batch is singular: it has no answer, the others do.
        regular = np.linalg.slogdet(matrix)[0] != 0
        found = np.full(right.shape, np.nan)
        found[regular] = np.linalg.solve(matrix[regular], right[regular][..., None])[..., 0]
        return found
