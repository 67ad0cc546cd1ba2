"""The oil feeds of the turbochargers of a plan, and what a gauge at their inlets reads."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from solver.restrictor import Seat
from solver.solution import Solution

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.graph import Circuit, Edge
    from lines.plan import Component
    from solver.arrival import Way
    from solver.solution import Unsolved
    from solver.study import Study

    Array = npt.NDArray[np.float64]

STANDS = 1e3
"""An engine whose oil has no more than this over ambient anywhere stands [Pa]."""


@dataclass(frozen=True)
class Feed:
    """The oil feed of one turbocharger."""

    study: Study
    circuit: Circuit
    bearings: Edge
    """Its oil path, from its inlet into its bearing housing."""
    answer: Solution | None
    """None where its circuit has none at every duty, or is no liquid."""

    @property
    def turbo(self) -> Component:
        assert self.bearings.component is not None
        return self.bearings.component

    @property
    def inlet(self) -> str:
        return self.bearings.start

    @property
    def run(self) -> str:
        """The run on its inlet."""
        return next(tag for tag, run in self.circuit.runs.items() if self.inlet in {run.start, run.end})

    @property
    def duties(self) -> list[str]:
        return list(self.study.plan.duties)

    @property
    def ambient(self) -> Array:
        return np.array(list(self.study.plan.ambient.pressure.values()))

    def reads(self, answer: Solution) -> Array:
        """What a gauge at the inlet reads, by duty [Pa over ambient]: the static pressure in the bore there.

        That is what the trade's figures are measured as, behind a restrictor. The total pressure, which is what
        drives the oil through the bearings, is the velocity head in that bore higher.
        """
        return answer.static_at(self.inlet) - self.ambient

    def running(self, answer: Solution) -> list[int]:
        """The numbers of the duties in which the engine turns and so has oil pressure."""
        speeds = [table.engine_speed for table in self.study.plan.duties.values()]
        known = [name for name, node in self.circuit.nodes.items() if node.inner is not None and node.inner.pressure]
        highest = np.max([answer.total(name) - self.ambient for name in known], axis=0)
        driven = bool(answer.model.network.devices)
        return [i for i, speed in enumerate(speeds) if speed != 0 and (highest[i] > STANDS or driven)]

    def warm(self) -> list[int]:
        """The numbers of the duties in which the oil is warm."""
        from_ = self.study.plan.catalog.limit("oil.feed.warm").caution_below
        temperature = self.study.plan.circuits[self.circuit.name].temperature.over(self.duties)
        return [i for i, t in enumerate(temperature) if from_ is None or t >= from_]

    def seat(self, way: Way) -> Seat:
        """Where a hole for this turbocharger sits: in the nearest restrictor on its way, or else at its inlet."""
        assert self.answer is not None
        bores = self.answer.model.bores
        for name in reversed(way.edges):
            edge = self.circuit.edges[name]
            if edge.path is not None and edge.path.law == "orifice":
                return Seat(name, min(bores[edge.start], bores[edge.end]), instead=True)
        return Seat(self.run, min(self.study.assemblies[self.run].stock.bore, bores[self.inlet]))


def feeds(study: Study) -> list[Feed]:
    """The oil feed of every turbocharger whose inlet has a run."""
    return [
        Feed(study, circuit, edge, _whole(study.solutions.get(name)))
        for name, circuit in study.circuits.items()
        for edge in circuit.edges.values()
        if edge.path is not None and edge.path.law == "points" and _has_bearings(edge)
    ]


def _has_bearings(edge: Edge) -> bool:
    return edge.component is not None and "bearing" in edge.component.kind.figures


def _whole(answer: Solution | Unsolved | None) -> Solution | None:
    """An answer at every duty, of a liquid."""
    whole = isinstance(answer, Solution) and answer.solved.all() and not answer.model.gas
    return answer if isinstance(answer, Solution) and whole else None
