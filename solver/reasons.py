"""Why a point has no answer, in words that name the place."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity, show
from solver.balance import WORST_DEVICE, balance
from solver.devices import Pump
from solver.gas import too_far
from solver.network import here_at
from solver.newton import spill

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    import numpy.typing as npt

    from catalogs.units import System
    from solver.devices import Here
    from solver.model import Model
    from solver.network import Batch, State

    Array = npt.NDArray[np.float64]
    Rows = npt.NDArray[np.bool_]
    Reason = str | Callable[[int], str]
    """The reason, or what words it for a row."""

NOTHING = 1e-12
"""A draw under this is none [m3/s]."""


def reasons(found: Model, batch: Batch, state: State, system: System) -> dict[str, str]:
    """Duties without an answer, and why; the first reason that is true of a duty, the deepest first.

    Args:
        found: the model.
        batch: what it was solved for.
        state: what was found.
        system: in whose units figures are told.
    """
    told: dict[str, str] = {}
    for rows, text in _all(found, batch, state, system):
        for i in np.flatnonzero(rows):
            told.setdefault(found.duties[i], text(int(i)) if callable(text) else text)
    return told


def _all(found: Model, batch: Batch, state: State, system: System) -> Iterator[tuple[Rows, Reason]]:
    """Points, and the reason of each by its row."""
    net = found.network
    cut = [_cut_off(found, batch, state, i) for i in range(batch.size)]
    yield np.array([bool(c) for c in cut]), lambda i: cut[i]
    cycling = np.array([why.startswith("cycling") for why in state.failed], dtype=bool)
    edges = [int(why.partition(":")[2]) if why.startswith("cycling") else -1 for why in state.failed]
    yield cycling, lambda i: f"{_owner(found, edges[i])} cycles: no steady state holds"
    yield from _sourceless(found, batch, state)
    if found.gas:
        far = too_far(net, state)
        yield (
            np.asarray(far.any(axis=1)),
            lambda i: (
                f"the gas falls by more than a tenth of its pressure in {found.edges[far[i].argmax()]}, "
                "where one density no longer serves"
            ),
        )
    lost = np.array([bool(why) for why in state.failed], dtype=bool)
    kept = balance(net, batch, state)
    worst = [found.edges[edge] for edge in kept.edge]
    yield lost, lambda i: f"no steady flow was found; it balances least at {worst[i]}"
    rows = np.arange(batch.size)
    for edge, device in net.devices.items():
        here = here_at(net, batch, state, edge, rows)
        yield device.outside(here, rows), functools.partial(_off_its_curve, found, edge, here, system)
        forced = device.miss(here, state.switches[:, list(net.devices).index(edge)], rows) > WORST_DEVICE
        yield forced, f"{_owner(found, edge)} would have to let by what it does not: see what drives or stops its flow"
    yield from _below_vacuum(found, state)
    yield ~kept.holds, lambda i: f"its answer does not balance at {worst[i]}"


def _off_its_curve(found: Model, edge: int, here: Here, system: System, row: int) -> str:
    """What a pump would have to do where its data sheet has no points."""
    pump = found.network.devices[edge]
    assert isinstance(pump, Pump)
    lift = float(here.end[row] - here.start[row])
    low, high = (float(end[row]) for end in pump.ends())
    first, last = (show(Quantity(x, "pressure_drop"), system) for x in (low, high))
    owner = _owner(found, edge)
    if here.flow[row] < 0:
        return f"the flow goes backwards through {owner}, whose curve ends at {last}: too weak, or the wrong way round"
    if lift > high:
        return (
            f"{owner} would have to lift more than {last}, where its curve ends: more than it can, or points up to its "
            "shut-off are missing, or something stops its flow"
        )
    most = show(Quantity(float(pump.most()[row]), "volume_flow"), system)
    return (
        f"{owner} would have to give more than {most}, where its curve begins at {first}: more than it can, or points "
        "at less pressure are missing"
    )


def _owner(found: Model, edge: int) -> str:
    component = found.circuit.edges[found.edges[edge]].component
    return component.name if component else found.edges[edge]


def _cut_off(found: Model, batch: Batch, state: State, row: int) -> str:
    """What is drawn, or put in, in a part that shut devices cut off from every known pressure."""
    net = found.network
    shut = [
        edge for n, (edge, device) in enumerate(net.devices.items()) if device.states[state.switches[row, n]] == "shut"
    ]
    if not shut:
        return ""
    part = _parts(net.nodes, np.delete(net.start, shut), np.delete(net.end, shut))
    taken = np.bincount(part, batch.taken[row], minlength=net.nodes)
    supplied = np.bincount(part, net.fixed, minlength=net.nodes) > 0
    for lone in np.flatnonzero(~supplied & (np.abs(taken) > NOTHING)):
        doors = [e for e in shut if lone in {part[net.start[e]], part[net.end[e]]}]
        owners = list(dict.fromkeys(_owner(found, e) for e in doors))
        stand = " and ".join(owners) + (" is" if len(owners) == 1 else " are")
        nodes = np.flatnonzero((part == lone) & (np.abs(batch.taken[row]) > NOTHING))
        where = " and ".join(dict.fromkeys(_place(found, int(n)) for n in nodes))
        if taken[lone] > 0:
            return (
                f"nothing supplies {where}: {stand} shut between it and every known pressure; "
                "see which way the arrow on a valve points"
            )
        return f"what comes in at {where} has no way out: {stand} shut; see which way the arrow on a valve points"
    return ""


def _parts(nodes: int, start: npt.NDArray[np.int64], end: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Number of the connected part of each node."""
    from scipy import sparse

    joined = sparse.csr_array((np.ones(start.size), (start, end)), shape=(nodes, nodes))
    return np.asarray(sparse.csgraph.connected_components(joined, directed=False)[1], dtype=np.int64)


def _place(found: Model, node: int) -> str:
    """The component at a node; where several meet, one that draws or feeds there first."""
    names = [name for name, number in found.number.items() if number == node]
    inner = [name for name in names if found.circuit.nodes[name].inner is not None]
    return (inner or names)[0].partition(".")[0]


def _sourceless(found: Model, batch: Batch, state: State) -> Iterator[tuple[Rows, Reason]]:
    """Draws that only the reference of a closed loop would supply."""
    if found.reference is None:
        return
    left = spill(found.network, batch, state.flow)[:, found.reference]
    draws = np.flatnonzero((np.abs(batch.taken) > NOTHING).any(axis=0))
    where = " and ".join(dict.fromkeys(_place(found, int(n)) for n in draws))
    yield (
        np.asarray(np.abs(left) > 1e-9 + 1e-6 * np.abs(state.flow).max(axis=1)),
        f"what is drawn or comes in at {where} has no source: the reference of {found.circuit.name} is only a pressure",
    )


def _below_vacuum(found: Model, state: State) -> Iterator[tuple[Rows, Reason]]:
    """Points at which a pressure would be below zero absolute: so much fluid does not flow."""
    names = list(found.number)
    total = state.pressure[:, [found.number[n] for n in names]] - np.stack([found.lift[n] for n in names], axis=1)
    total = np.where(np.isnan(total), np.inf, total)
    lowest = [names[i] for i in total.argmin(axis=1)]
    driven = any(isinstance(device, Pump) for device in found.network.devices.values())
    pumps = "a pump the wrong way round or too weak, " if driven else ""
    yield (
        total.min(axis=1) < 0,
        lambda i: (
            f"the pressure at {lowest[i]} would have to be below a vacuum: it lies too high, or so much does not come "
            f"through ({pumps}too large a draw, too small a hose)"
        ),
    )
