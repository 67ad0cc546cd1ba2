"""What runs out of a tank where a joint of its lines is opened, the vehicle level, the tank full, still and vented.

Every line is taken to be full, so that it siphons over any hump, and only heights count. Fuel runs while it stands over
the opened joint, by what the springs of check valves on its way ask for, and over the mouth by which it leaves, where
air gets in. A bypass regulator and a relief valve are shut without pressure; a check valve lets nothing back. A pump
that stands is taken to let by, for what holds in it is not in its data, and so is a feed regulator, which opens where
the pressure behind it is gone. Into another tank and out of it again fuel comes only over the mouths there, for that
one's vent lets air in.

Left out: what stands in the lines themselves, and how fast it runs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import STANDARD_GRAVITY
from lines.heights import node_heights
from solver.along import line_to
from solver.fluid import fluid_of
from solver.fuels import pumps
from solver.stated import asked_for

if TYPE_CHECKING:
    from collections.abc import Container, Mapping

    import numpy.typing as npt

    from lines.graph import Circuit, Edge
    from lines.plan import Component, Plan

    Array = npt.NDArray[np.float64]

SHUTS = {"bypass"}
"""Laws of what is shut, either way, where there is no pressure."""
SHUT_BY_HAND = "valve"
"""The kind of a shut-off valve."""
VALVES = {SHUT_BY_HAND, "check-valve"}
"""Kinds of what keeps fuel in a line."""


@dataclass(frozen=True)
class Outlet:
    """A port of a tank, and every joint of its circuit that may be opened. Arrays are by joint, shape (joints,)."""

    tank: Component
    port: str
    mouth: float
    """Height at which air gets into it [m]."""
    drawn: bool
    """Does a pump draw by it?"""
    joints: tuple[str, ...]
    """The ports that runs are on."""
    heights: Array
    """Of the joints [m]."""
    stops: Array
    """Height of the fuel in the tank at which nothing more runs out by the port [m]; inf where nothing can."""
    shut: Array
    """The same with every shut-off valve shut."""


def outlets(plan: Plan, circuit: Circuit, tank: Component) -> list[Outlet]:
    """The ports of a tank that lines are on.

    Raises:
        UnknownInputError: the height of a part of the circuit is not known.
    """
    heights = node_heights(plan, circuit)
    mouths = {e.end: _mouth(plan, e.end, heights) for e in circuit.edges.values() if e.law == "mouth"}
    springs = _springs(plan, circuit)
    own = {e.end: e.name for e in circuit.edges.values() if e.law == "mouth" and e.component is tank}
    by_hand = {e.name for e in circuit.edges.values() if _is_valve(e) and e.law != "check"}
    open_, shut = (_wanted(circuit, heights, mouths, springs, {*own.values()} | more) for more in (set(), by_hand))
    drawn = {way[0][0].end for pump in pumps(circuit) if (way := line_to(circuit, pump.start))}
    joints = _joints(circuit)
    return [
        Outlet(
            tank,
            port,
            mouths[port],
            port in drawn,
            joints,
            np.array([heights[joint] for joint in joints]),
            *(np.maximum(wanted[port], mouths[port]) for wanted in (open_, shut)),
        )
        for port in own
    ]


def before_a_valve(circuit: Circuit, port: str) -> str | None:
    """The run from a port straight to a valve, which that valve cannot keep in; None where there is none."""
    tag = circuit.run_on(port)
    run = circuit.runs[tag]
    other = run.end if run.start == port else run.start
    return tag if circuit.nodes[other].component.kind.id in VALVES else None


def valves_on(circuit: Circuit, port: str) -> list[Component]:
    """The first valves on every way from a port of a tank, once each."""
    between = {e.name for e in circuit.edges.values() if _is_valve(e) or e.law in SHUTS or e.law == "mouth"}
    near = next(part for part in circuit.parts_without(between) if port in part)
    found = (e.component for e in circuit.edges.values() if _is_valve(e) and near & {e.start, e.end})
    return list({owner.name: owner for owner in found if owner is not None}.values())


def _is_valve(edge: Edge) -> bool:
    return edge.component is not None and edge.component.kind.id in VALVES


def heaviest(plan: Plan, circuit: Circuit) -> float:
    """The largest density of a circuit's fluid over all duties [kg/m3].

    Raises:
        UnknownInputError: it is too far from what is known of it.
    """
    return float(fluid_of(plan, circuit, plan.catalog.fluid(plan.circuits[circuit.name].fluid))[0].max())


def _joints(circuit: Circuit) -> tuple[str, ...]:
    return tuple(dict.fromkeys(port for run in circuit.runs.values() for port in (run.start, run.end)))


def _mouth(plan: Plan, port: str, heights: Mapping[str, float]) -> float:
    reaches = plan.port(port).reaches
    return heights[port] if reaches is None else reaches[2]


def _springs(plan: Plan, circuit: Circuit) -> dict[str, float]:
    """The height of fuel that opens each check valve [m], in its coldest and heaviest.

    Raises:
        UnknownInputError: a check valve does not say what opens it, or the fuel is too far from what is known of it.
    """
    checks = [e for e in circuit.edges.values() if e.law == "check"]
    if not checks:
        return {}
    weight = heaviest(plan, circuit) * STANDARD_GRAVITY
    return {edge.name: _crack(edge) / weight for edge in checks}


def _crack(edge: Edge) -> float:
    component = edge.component
    assert component is not None
    crack = component.figures.get("crack")
    if crack is None:
        needs = asked_for(component, "crack")
        raise UnknownInputError(f"what opens {component.name} is not known", needs=needs)
    return float(min(crack.values.values()))


def _wanted(
    circuit: Circuit,
    heights: Mapping[str, float],
    mouths: Mapping[str, float],
    springs: Mapping[str, float],
    closed: Container[str],
) -> dict[str, Array]:
    """How high fuel that comes to each node has to stand so that it runs out of each opened joint, shape (joints,) [m].

    From the joints outward, each edge against the way that fuel comes by it, until nothing gets lower: what an edge
    asks for never falls as what is wanted behind it rises, so that the least is found.
    """
    joints = _joints(circuit)
    wanted = {name: np.full(len(joints), np.inf) for name in circuit.nodes}
    for i, joint in enumerate(joints):
        wanted[joint][i] = heights[joint]
    grew = True
    while grew:
        grew = False
        for edge in circuit.edges.values():
            if edge.name in closed or edge.law in SHUTS:
                continue
            for start, end in _passed(edge):
                least = np.maximum(wanted[end], mouths[edge.end]) if edge.law == "mouth" else wanted[end]
                least = np.minimum(wanted[start], least + springs.get(edge.name, 0.0))
                if (least < wanted[start]).any():
                    wanted[start], grew = least, True
    return wanted


def _passed(edge: Edge) -> list[tuple[str, str]]:
    """The ways in which fuel can pass an edge without pressure: from which node to which."""
    onward, back = (edge.start, edge.end), (edge.end, edge.start)
    return [onward] if edge.law == "check" else [onward, back]
