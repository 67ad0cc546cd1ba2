"""The way of a drain from a turbocharger's outlet to where it ends: its runs and what joins them."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from lines.centreline import SAME_PLACE
from solver.drains.pieces import DrainLine, Fitting, of_run
from solver.resistances import of_path
from solver.stated import figure

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from lines.assembly import Assembly
    from lines.graph import Circuit, Edge
    from lines.plan import Plan

    Array = npt.NDArray[np.float64]


def drain_line(plan: Plan, circuit: Circuit, outlet: str, made: Mapping[str, Assembly]) -> DrainLine:
    """The way of a drain from an outlet down.

    Args:
        plan: the plan.
        circuit: the drain's.
        outlet: the port of a turbocharger.
        made: the assemblies of the plan.

    Raises:
        UnknownInputError: it leads nowhere, or through what gravity alone may not pass, or the way of a run, the place
            of a port or the bore of a tee is not known.
    """
    steps = circuit.way_down(outlet)
    if not steps:
        raise UnknownInputError(
            f"where the drain of {outlet.partition('.')[0]} leads is not known",
            needs=f"a run from {outlet} to the drain port of a sump, a scavenge pump or an open end",
        )
    between = _between_runs(circuit, outlet)
    parts: list[DrainLine] = []
    for i, (tag, forward) in enumerate(steps):
        run = of_run(plan, made[tag], made, forward=forward)
        if i:
            parts.append(_of_body(plan, between[i - 1], parts[-1], run))
        parts.append(run)
    return _joined(parts)


def _joined(parts: list[DrainLine]) -> DrainLine:
    """Runs and the bodies between them, the upper first, as one drain; a body belongs to the run after it."""
    runs = [part for part in parts if part.runs]
    number, pieces = 0, 0
    run, fittings = [], []
    for part in parts:
        run.append(np.full(len(part.bore), number))
        fittings += [replace(f, after=f.after + pieces, run=number) for f in part.fittings]
        number += len(part.runs)
        pieces += len(part.bore)
    return DrainLine(
        runs[0].outlet,
        runs[-1].inlet,
        tuple(tag for part in runs for tag in part.runs),
        tuple(forward for part in runs for forward in part.forward),
        np.concatenate([parts[0].points[:1], *(part.points[1:] for part in parts)]),
        np.concatenate(run),
        np.concatenate([part.bore for part in parts]),
        np.concatenate([part.roughness for part in parts]),
        tuple(fittings),
        np.concatenate([np.full(len(part.bore), not part.runs) for part in parts]),
    )


def _between_runs(circuit: Circuit, outlet: str) -> list[list[Edge]]:
    """The inner paths between each run of a drain and the next.

    Raises:
        UnknownInputError: one is no plain way that oil falls through by itself.
    """
    found: list[list[Edge]] = []
    edges = [edge for edge, _ in circuit.edges_down(outlet)]
    for edge in edges:
        if edge.run is not None:
            found.append([])
        elif found:
            found[-1].append(edge)
    drawn = edges[-1].run is not None  # a pump draws at its end, and what it draws through its suction tells
    for edge in itertools.chain.from_iterable(found[:-1]):
        if edge.law not in {"plain", "tee", "leg"} and not drawn:
            assert edge.component is not None
            name = edge.component.name
            raise UnknownInputError(
                f"how oil gets through {name} by gravity alone is not known ({edge.component.kind.means})",
                needs=f"a drain without {name}: hose, ends, unions and tees only, or a scavenge pump after it",
            )
    return found[:-1]


def _of_body(plan: Plan, edges: list[Edge], above: DrainLine, below: DrainLine) -> DrainLine:
    """What joins two runs: a union of the bore of what follows, or a tee of its own."""
    rough, bore, fittings = below.roughness[:1], below.bore[:1], []
    tees = [edge for edge in edges if edge.law in {"tee", "leg"}]
    for edge in tees:
        assert edge.component is not None
        bore = np.array([figure(edge.component, "bore")])
        fittings += [
            Fitting(0, f"{edge.component.name}, {part.name}", 0, part.viscous, part.inertial)
            for part in of_path(plan, edge, None).parts
        ]
    points = np.array([above.points[-1], below.points[0]])
    if np.linalg.norm(points[1] - points[0]) <= SAME_PLACE:  # its two ports at one place, as if it had no length
        points, bore, rough = points[:1], bore[:0], rough[:0]
        fittings = [replace(f, after=-1) for f in fittings]
    nothing = np.zeros(len(bore), dtype=np.int64)
    return DrainLine(above.inlet, below.outlet, (), (), points, nothing, bore, rough, tuple(fittings), nothing == 0)


def flooding_point(plan: Plan, line: DrainLine) -> Array:
    """The point of a turbocharger that its oil must not reach, shape (3,) [m]: by default the middle of its outlet.

    Raises:
        UnknownInputError: the height that the plan gives changes with the duty, or lies under the outlet.
    """
    component = plan.components[line.outlet.partition(".")[0]]
    x, y, z = line.points[0].tolist()
    if component.figures.get("floods_at") is None:
        return np.array([x, y, z])
    height = figure(component, "floods_at")
    if height < z - line.bore[0] / 2:
        raise UnknownInputError(
            f"floods_at of {component.name} lies under its own drain port",
            needs=f"floods_at in [components.{component.name}]: a height over the plan's zero, like that of its ports",
        )
    return np.array([x, y, height])
