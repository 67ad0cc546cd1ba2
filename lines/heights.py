"""Heights of every node of a circuit over the plan's zero, the vehicle level, from whatever was measured.

The ports of one component lie at one height unless the plan places them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalogs.errors import UnknownInputError
from lines import between

if TYPE_CHECKING:
    from lines.graph import Circuit, Edge, Node
    from lines.plan import Plan

CLOSES_WITHIN = 0.010
"""Tape measure: what heights that were found two ways may differ [m]."""


def node_heights(plan: Plan, circuit: Circuit) -> dict[str, float]:
    """Height [m] of each node.

    Raises:
        UnknownInputError: naming the runs whose rise is not known.
    """
    heights = _stated(plan, circuit)
    # Of a part in which none is stated only differences count.
    heights |= {min(part): 0.0 for part in circuit.parts() if not part & heights.keys()}
    rises = {name: _rise(plan, circuit, edge) for name, edge in circuit.edges.items()}
    grew = True
    while grew:
        grew = False
        for name, edge in circuit.edges.items():
            rise = rises[name]
            if rise is None or (edge.start in heights) == (edge.end in heights):
                continue
            grew = True
            if edge.start in heights:
                heights[edge.end] = heights[edge.start] + rise
            else:
                heights[edge.start] = heights[edge.end] - rise
    lost = [edge for edge in circuit.edges.values() if {edge.start, edge.end} - heights.keys()]
    if lost:
        runs = [edge.name for edge in lost if edge.run is not None]
        surfaces = [_surface(circuit, edge) for edge in lost if edge.run is None and _has_surface(circuit, edge)]
        needs = [f"rise of {' and '.join(runs)}, or `at` or `height` of their ports"] if runs else []
        needs += [f"heights of the {surface}" for surface in dict.fromkeys(surfaces)]
        names = ", ".join([*runs, *dict.fromkeys(surfaces)])
        raise UnknownInputError(f"the heights of {names} are not known", needs="; ".join(needs))
    return heights


def _has_surface(circuit: Circuit, edge: Edge) -> bool:
    ends = (circuit.nodes[edge.start], circuit.nodes[edge.end])
    return any(node.inner is not None and bool(node.inner.height) for node in ends)


def _surface(circuit: Circuit, edge: Edge) -> str:
    return f"surface in {circuit.nodes[edge.start].component.name}"


def disagreements(plan: Plan, circuit: Circuit) -> list[tuple[str, float, float]]:
    """Runs whose own rise differs from that of their ports: tag, its rise, the ports' [m]."""
    try:
        heights = node_heights(plan, circuit)
    except UnknownInputError:
        return []
    found = []
    for tag, run in circuit.runs.items():
        stated = run.rise if run.rise is not None else None if run.span is None else run.span.vector[2]
        ports = heights[run.end] - heights[run.start]
        if stated is not None and abs(stated - ports) > CLOSES_WITHIN:
            found.append((tag, stated, ports))
    return found


def _stated(plan: Plan, circuit: Circuit) -> dict[str, float]:
    return {name: z for name, node in circuit.nodes.items() if (z := _node_height(plan, node)) is not None}


def _node_height(plan: Plan, node: Node) -> float | None:
    if node.inner is None:
        return plan.port(node.name).z
    if not node.inner.height:
        return None
    levels = node.component.figures[node.inner.height]
    return None if levels is None else float(levels.low)


def _rise(plan: Plan, circuit: Circuit, edge: Edge) -> float | None:
    """A surface whose height nobody gave lies anywhere; other paths inside a component lie level."""
    if edge.run is not None:
        return between.rise(plan, edge.name)
    return None if _has_surface(circuit, edge) else 0.0
