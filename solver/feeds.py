"""The oil feeds of the turbochargers of a plan, and what a gauge at their inlets reads."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from solver.arrival import Way, way_to
from solver.devices import Pump
from solver.profile import profile
from solver.restrictor import Seat
from solver.solution import Solution

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.graph import Circuit, Edge
    from lines.plan import Component
    from solver.solution import Unsolved
    from solver.study import Study

    Array = npt.NDArray[np.float64]


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
        return self.circuit.run_on(self.inlet)

    @property
    def duties(self) -> list[str]:
        return list(self.study.plan.duties)

    @property
    def ambient(self) -> Array:
        return self.study.plan.ambient.pressures

    def reads(self, answer: Solution) -> Array:
        """What a gauge at the inlet reads, by duty [Pa over ambient]: the static pressure in the bore there.

        That is what the trade's figures are measured as, behind a restrictor. The total pressure, which is what
        drives the oil through the bearings, is the velocity head in that bore higher.
        """
        return answer.static_at(self.inlet) - self.ambient

    def sources(self, answer: Solution) -> dict[str, Array]:
        """What its oil may come from and what it has there, by duty [Pa over ambient].

        Those are the places whose pressure the plan states and the outlets of pumps. No surface drives oil, nor does
        the pressure inside a bearing housing.
        """
        stated = [
            name
            for name, node in self.circuit.nodes.items()
            if node.inner is not None
            and node.inner.pressure not in {"", "ambient"}
            and not node.inner.height
            and "bearing" not in node.component.kind.figures
        ]
        edges, devices = answer.model.edges, answer.model.network.devices
        pumps = [self.circuit.edges[edges[i]].end for i, device in devices.items() if isinstance(device, Pump)]
        return {name: answer.total(name) - self.ambient for name in stated + pumps}

    def running(self, answer: Solution) -> list[int]:
        """The numbers of the duties in which the engine turns.

        That is what its speed says; where that is not stated, oil that has more pressure than of an engine that stands.
        """
        stands = self.study.plan.catalog.limit("oil.feed.stands").caution_below or 0.0
        highest = np.max([np.zeros(len(self.duties)), *self.sources(answer).values()], axis=0)
        speeds = [table.engine_speed for table in self.study.plan.duties.values()]
        return [i for i, speed in enumerate(speeds) if (highest[i] >= stands if speed is None else speed > 0)]

    def taken_to_stand(self, running: list[int]) -> list[str]:
        """The duties whose engine is only taken to stand, by its oil pressure."""
        tables = self.study.plan.duties.items()
        return [d for i, (d, table) in enumerate(tables) if i not in running and table.engine_speed is None]

    def tops(self, answer: Solution) -> dict[str, float]:
        """The highest point of each run whose way in the vehicle is known [m], as the heights of the answer."""
        found = dict[str, float]()
        for tag in self.circuit.runs:
            made = self.study.assemblies[tag]
            line = profile(made)
            if line is not None and made.placed:
                heights = line.points[:, 2]
                found[tag] = answer.model.heights[made.run.start] + float(heights.max() - heights[0])
        return found

    def warm(self) -> list[int]:
        """The numbers of the duties in which the oil is warm."""
        from_ = self.study.plan.catalog.limit("oil.feed.warm").caution_below or 0.0
        temperature = self.study.plan.circuits[self.circuit.name].temperature.over(self.duties)
        return [i for i, t in enumerate(temperature) if t >= from_]

    def way(self, answer: Solution, place: str, duty: int) -> Way:
        """The way on which oil comes to a node of its circuit at a duty, by its number.

        None where what comes is only what a bearing housing presses back.
        """
        found = way_to(answer, place, duty)
        pressed_back = any(_has_bearings(self.circuit.edges[name]) for name in found.edges)
        return Way((), (answer.model.number[place],)) if pressed_back else found

    def seat(self, way: Way) -> Seat:
        """Where a hole for this turbocharger sits: in the nearest restrictor on its way, or else at its inlet."""
        assert self.answer is not None
        bores = self.answer.model.bores
        for name in reversed(way.edges):
            edge = self.circuit.edges[name]
            if edge.law == "orifice":
                return Seat(name, min(bores[edge.start], bores[edge.end]), instead=True)
        return Seat(self.run, min(self.study.assemblies[self.run].stock.bore, bores[self.inlet]))


def feeds(study: Study) -> list[Feed]:
    """The oil feed of every turbocharger whose inlet has a run."""
    return [
        Feed(study, circuit, edge, _whole(study.solutions.get(name)))
        for name, circuit in study.circuits.items()
        for edge in circuit.edges.values()
        if edge.law == "points" and _has_bearings(edge)
    ]


def _has_bearings(edge: Edge) -> bool:
    return edge.component is not None and "bearing" in edge.component.kind.figures


def _whole(answer: Solution | Unsolved | None) -> Solution | None:
    """An answer at every duty, of a liquid."""
    whole = isinstance(answer, Solution) and answer.solved.all() and not answer.model.gas
    return answer if isinstance(answer, Solution) and whole else None
