"""The scavenge pump of a drain: the foam that it has to take, the suction that this takes, the lines that it moves.

Under suction foam fills the bore, and its gas grows: with a share s of oil where it leaves the turbocharger at the
pressure p0, it has grown at p to e = s + (1 - s) p0/p of its volume, its density falls to 1/e, and its viscosity, which
goes with 1/s (`solver.drains.foam`), rises to e. G(p) is what the whole line would lose with all of its foam at p.
Along it dp = -G(p) ds/L, so that the pressure at its end is where the integral of dp/G from p0 down comes to 1.

A pump that stands over the outlet lifts the foam besides, as heavy as it leaves; that of one under it is not counted,
for it is little. Left out: the gas that dissolves, and what seals let into the housing as the pump draws on it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity
from lines.finding import Words, words
from solver.components import absolute
from solver.drains.foam import Foam
from solver.friction import friction_drop

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from lines.graph import Circuit, Edge, Node
    from lines.plan import Component, Plan
    from solver.drains.drain import Drain
    from solver.drains.pieces import DrainLine, Fitting

    Array = npt.NDArray[np.float64]
    Booleans = npt.NDArray[np.bool_]

LAW = "scavenge"
STEPS = 400
"""Pressures at which the loss of a line is worked out."""
WIDER = np.arange(1.0, 4.01, 0.05)
"""How many times wider a line is tried [-]."""
LEAST = 1e3
"""No pump draws foam at a pressure under this [Pa absolute]."""
NO_FLOW = 1e-12
"""Foam under this is none [m3/s]."""

# ---------------------------------------------------------------- what it moves


def pump_ports(component: Component) -> tuple[str, str] | None:
    """The inlet and the outlet of a scavenge pump; None of any other component."""
    path = next((path for path in component.kind.paths if path.law == LAW), None)
    return None if path is None else (f"{component.name}.{path.start}", f"{component.name}.{path.end}")


def scavenged(circuit: Circuit) -> set[str]:
    """The runs of a circuit that a scavenge pump moves the oil of: those to its inlet and those from its outlet."""
    ports = {ref for node in circuit.nodes.values() for ref in pump_ports(node.component) or ()}
    return {tag for port in ports for tag in runs_on(circuit, port)}


def runs_on(circuit: Circuit, port: str) -> list[str]:
    """The runs that a port of a pump is joined to, as far as the next end; none where it is not in the circuit."""
    return [edge.name for edge in _about(circuit, port) if edge.run is not None]


@dataclass(frozen=True)
class Return:
    """Where a scavenge pump's oil goes."""

    circuit: Circuit
    ends: tuple[str, ...]
    """The ports through which it leaves the line; empty where it leads nowhere."""
    guarded: bool
    """Is there a check valve in it?"""


def way_back(circuits: Sequence[Circuit], pump: Component) -> Return | None:
    """The way from the outlet of a scavenge pump; None where no run is on it."""
    ports = pump_ports(pump)
    for circuit in circuits:
        if ports is None or not any(ports[1] in {run.start, run.end} for run in circuit.runs.values()):
            continue
        edges = _about(circuit, ports[1])
        ends = [a for e in edges for a, b in ((e.start, e.end), (e.end, e.start)) if ends_a_way(circuit.nodes[b])]
        return Return(circuit, tuple(ends), any(e.path is not None and e.path.law == "check" for e in edges))
    return None


def ends_a_way(node: Node) -> bool:
    """Is it a free surface, the open air, or another place at which a line ends?"""
    return node.inner is not None and bool(node.inner.pressure or node.inner.height or node.inner.gives)


def _about(circuit: Circuit, port: str) -> list[Edge]:
    """The edges that a port of a pump is joined to; not through the pump, and not past an end."""
    seen, todo = {port}, [port]
    found: dict[str, Edge] = {}
    while todo:
        node = todo.pop()
        for edge in circuit.edges.values():
            if node not in {edge.start, edge.end} or (edge.path is not None and edge.path.law == LAW):
                continue
            found[edge.name] = edge
            other = edge.end if node == edge.start else edge.start
            if other not in seen and not ends_a_way(circuit.nodes[other]):
                todo.append(other)
            seen.add(other)
    return list(found.values())


# ---------------------------------------------------------------- what it has to do


@dataclass(frozen=True)
class Inlet:
    """What a pump at the end of a drain has at its inlet, shape (attitudes, duties) each."""

    vacuum: Array
    """By how much the pressure there lies under that outside, the pump taking all that comes [Pa]; inf where it would
    have to lie deeper than was looked for, nan where the oil is not known."""
    flow: Array
    """The foam at that pressure [m3/s]; at the deepest where it would have to lie deeper."""

    def with_other(self, other: Inlet) -> Inlet:
        """The worse of two, of drains that end at one pump."""
        return Inlet(np.maximum(self.vacuum, other.vacuum), np.maximum(self.flow, other.flow))


def at_inlet(plan: Plan, drain: Drain, deepest: float | Array, also: Sequence[Fitting] = ()) -> Inlet:
    """What a pump at the end of a drain has at its inlet, in every attitude at every duty.

    Args:
        plan: the plan.
        drain: the drain.
        deepest: vacuum down to which it is looked for [Pa], for every duty or shape (duties,).
        also: what is lost in the components between its runs, beside the fittings of its line.
    """
    line = replace(drain.line, fittings=(*drain.line.fittings, *also))
    outside = plan.ambient.pressures
    start = absolute(plan, plan.components[drain.turbo].figures["housing_pressure"])
    lowest = np.clip(outside - deepest, LEAST, start * (1.0 - 1e-6))
    oil = oil_shares(drain)
    arrives, short = pressure_at_end(line, drain.foams, oil, start, lowest)
    gravity = np.array([attitude.gravity for attitude in plan.attitudes.values()])
    lift = np.maximum(-gravity @ (line.points[-1] - line.points[0]), 0.0)
    there = arrives - lift[:, None] * drain.foams[-1].density
    short = short | (there < lowest)
    vacuum = np.where(short, np.inf, np.maximum(outside - there, 0.0))
    vacuum = np.where(np.isnan(arrives), np.nan, vacuum)
    flow = drain.foams[-1].flow * grown(oil[-1], start / np.maximum(there, lowest))
    return Inlet(vacuum, flow)


def oil_shares(drain: Drain) -> list[Array]:
    """The share of oil in the foam of each run where it leaves [-], shape (duties,) each.

    In the first run is this turbocharger's alone, so that its flow tells the share of oil, and that the oil's density.
    """
    first = drain.foams[0]
    share = np.where(first.flow > NO_FLOW, drain.oil_flow / np.maximum(first.flow, NO_FLOW), 1.0)
    return [np.minimum(foam.density * share / first.density, 1.0) for foam in drain.foams]


def grown(oil: Array, ratio: Array) -> Array:
    """Volume of foam over that where it left [-].

    Args:
        oil: its share of oil where it left [-].
        ratio: the pressure where it left over that where it is now [-].

    >>> float(np.round(grown(np.array(0.5), np.array(1 / 0.7)), 3))
    1.214
    """
    return np.asarray(oil + (1.0 - oil) * ratio)


def pressure_at_end(
    line: DrainLine, foams: Sequence[Foam], oil: Sequence[Array], start: Array, lowest: Array
) -> tuple[Array, Booleans]:
    """Pressure at the end of a line that is drawn on.

    Args:
        line: the line.
        foams: what comes into each of its runs at every duty, at the pressure `start`.
        oil: its share of oil there [-], shape (duties,) each.
        start: the pressure at which it leaves, shape (duties,) [Pa absolute].
        lowest: down to which it is looked for, under `start`, shape (duties,) [Pa absolute].

    Returns:
        pressure [Pa absolute], shape (duties,), nan where the flow is; and where it would lie under the lowest, which
        is then given.
    """
    pressure = np.linspace(start, lowest, STEPS)
    per_pascal = 1.0 / np.maximum(loss(line, foams, oil, start / pressure), 1e-9)
    step = (start - lowest) / (STEPS - 1)
    along = np.concatenate(
        [np.zeros((1, len(start))), np.cumsum((per_pascal[1:] + per_pascal[:-1]) / 2 * step, axis=0)]
    )
    short = along[-1] < 1.0
    after = np.clip((along < 1.0).sum(axis=0), 1, STEPS - 1)
    duty = np.arange(len(start))
    low, high = along[after - 1, duty], along[after, duty]
    part = np.clip((1.0 - low) / (high - low), 0.0, 1.0)
    return pressure[after - 1, duty] - part * step, short


def loss(line: DrainLine, foams: Sequence[Foam], oil: Sequence[Array], ratio: Array) -> Array:
    """What a line loses that its foam fills, all of it grown alike.

    Args:
        line: the line.
        foams: what comes into each of its runs at every duty.
        oil: its share of oil there [-], shape (duties,) each.
        ratio: the pressure where it left over that where it is now [-], shape (n, duties).

    Returns:
        shape (n, duties) [Pa].
    """
    total = np.zeros(ratio.shape)
    for i, (foam, share) in enumerate(zip(foams, oil, strict=True)):
        by = grown(share, ratio).reshape(-1, 1)
        flow, density, viscosity, oil_in_it = (
            np.broadcast_to(x, ratio.shape).reshape(-1, 1) for x in (foam.flow, foam.density, foam.viscosity, share)
        )
        here = Foam(flow * by, density / by, viscosity * by, 1.0 - oil_in_it / by)
        total += _of_run(line, i, here).reshape(ratio.shape)
    return total


def _of_run(line: DrainLine, i: int, foam: Foam) -> Array:
    """The loss of one run of a line full of foam, shape (n, 1)."""
    mine = line.run == i
    kinds, which = np.unique(np.stack([line.bore[mine], line.roughness[mine]]), axis=1, return_inverse=True)
    length = np.array([line.lengths[mine][which.ravel() == k].sum() for k in range(kinds.shape[1])])
    drop, _ = friction_drop(
        np.broadcast_to(foam.flow, (len(foam.flow), len(length))),
        length=length,
        bore=kinds[0],
        roughness=kinds[1],
        density=foam.density,
        viscosity=foam.viscosity,
    )
    viscous = sum(f.viscous for f in line.fittings if f.run == i)
    inertial = sum(f.inertial for f in line.fittings if f.run == i)
    fittings = viscous * foam.viscosity * foam.flow + inertial * foam.density * foam.flow**2
    return np.asarray(drop.sum(axis=1, keepdims=True) + fittings)


def wide_enough(plan: Plan, drain: Drain, vacuum: float | Array, also: Sequence[Fitting] = ()) -> float | None:
    """How many times as wide a drain has to be for a vacuum [Pa] to draw its foam [-]; None where no bore will do."""
    counts = allowed(plan) & (np.nan_to_num(drain.foams[-1].flow) > NO_FLOW)
    for times in WIDER.tolist():
        own = [fitting.wider(times) for fitting in also]
        taken = at_inlet(plan, replace(drain, line=drain.line.wider(times)), vacuum, own).vacuum
        if not (counts & np.isinf(taken)).any():
            return float(times)
    return None


def allowed(plan: Plan) -> Booleans:
    """Which duties each attitude goes with, shape (attitudes, duties)."""
    return np.array([[a.duties is None or duty in a.duties for duty in plan.duties] for a in plan.attitudes.values()])


# ---------------------------------------------------------------- what to fit


def sized(plan: Plan, drain: Drain) -> Words:
    """The scavenge pump that a drain would need at its end, as a part of a sentence: flow of foam, and vacuum.

    Of its runs alone, without what tees and screens between them take. Empty where the oil is known at no duty.
    """
    catalog = plan.catalog
    margin = catalog.limit("drain.scavenge").caution_below or 0.0
    spare = catalog.limit("drain.suction").caution_below or 0.0
    deepest = catalog.limit("drain.suction.deepest").caution_above or 0.0
    inlet = at_inlet(plan, drain, deepest - spare)
    counts = allowed(plan) & (np.nan_to_num(inlet.flow) > NO_FLOW)
    drawn = counts & np.isfinite(inlet.vacuum)
    duties, bore = list(plan.duties), float(drain.line.bore.min())
    facts: dict[str, Quantity | str] = {"bore": Quantity(bore, "bore")}
    if not counts.any():
        return Words("")
    too_thick = [duty for d, duty in enumerate(duties) if (counts & ~drawn)[:, d].any()]
    text = "a scavenge pump"
    if drawn.any():
        most = np.where(drawn, inlet.flow, 0.0)
        facts["flow"] = Quantity(float(most.max()) * (1.0 + margin), "oil_flow")
        facts["duty"] = duties[int(most.max(axis=0).argmax())]
        facts["vacuum"] = Quantity(float(inlet.vacuum[drawn].max()) + spare, "pressure_drop")
        text += ": at least {flow} of foam ({duty}) at {vacuum} of vacuum, which this line takes"
    if too_thick:
        facts |= {"thick": " and ".join(too_thick), "deepest": Quantity(deepest, "pressure_drop")}
        text += "; at {thick} not even {deepest} draws the foam through {bore}"
        times = wide_enough(plan, drain, deepest - spare)
        if times is not None:
            facts["wide"] = Quantity(bore * times, "bore")
            text += ": {wide} bore or more"
    return words(text, **facts)
