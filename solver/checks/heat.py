"""How warm fuel comes to the rail: what the air around its runs and its pumps put into it on the way."""

from __future__ import annotations

import functools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.grades import Grade
from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from solver.along import largest
from solver.checks.judging import judge, sentence, untold
from solver.checks.roles import without_answer
from solver.fuels import answers, owner, pumps, rails, regulators
from solver.properties import beyond, outside, reach, vapour_pressure
from solver.warmed import EMISSIVITY, draws, warmed, warmed_runs

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.fluids import Fluid
    from lines.graph import Circuit
    from solver.study import Study
    from solver.warmed import Warmed

    Array = npt.NDArray[np.float64]

RULE = "fuel.heat"
MOST_NAMED = 3
"""More than so many things that warm it nobody reads."""
LEAST_NAMED = 0.3
"""What warms it by less is printed as nothing [K]."""
MOST_TOLD = 100.0
"""By how much warmer it comes is told up to so much [K]: before that it boils, or its pump gives off heat itself."""


def at_rail(study: Study) -> list[Finding]:
    """`fuel.heat`: pressure in each rail over that at which the fuel boils as warm as it comes there, by duty.

    And by how much warmer its pumps make it, where that is the worse. Of circuits with a run that states the air around
    it, or with a pump of which it is known what it takes; at duties at which something is burnt.
    """
    found: list[Finding] = []
    for circuit, solution in answers(study):
        duties = list(study.plan.duties)
        if not warmed_runs(circuit) and not any(draws(owner(pump), duties) for pump in pumps(circuit)):
            continue
        names = {nodes[len(nodes) // 2]: name for name, nodes in rails(circuit).items()}
        if solution is None:
            found += [without_answer(RULE, name, circuit) for name in names.values()]
            continue
        try:
            along = warmed(study.plan, solution, study.assemblies)
        except UnknownInputError as error:
            found += [untold(RULE, name, error, "How warm its fuel is cannot be told") for name in names.values()]
        else:
            number, burnt = solution.model.number, solution.model.batch.taken
            each = (_Rail(study, name, along, number[node], solution.total(node)) for node, name in names.items())
            found += [rail.finding() for rail in each if burnt[:, rail.node].any()]
    return found


@dataclass(frozen=True)
class _Rail:
    """The fuel that comes to one rail. Arrays by duty."""

    study: Study
    name: str
    along: Warmed
    node: int
    """Of the network."""
    pressure: Array
    """[Pa absolute]"""

    @property
    def duties(self) -> list[str]:
        return self.along.answer.model.duties

    @property
    def circuit(self) -> Circuit:
        return self.along.answer.model.circuit

    @functools.cached_property
    def comes(self) -> Array:
        """Its temperature there [K]."""
        return self.along.nodes(self.along.start, pumps=True)[:, self.node]

    @property
    def rises(self) -> Array:
        """By how much warmer it comes than it is in the tank [K]."""
        return np.asarray(self.comes - self.along.start)

    @property
    def burning(self) -> list[int]:
        """The duties at which something is burnt there, by number."""
        return [int(i) for i in np.flatnonzero(self.along.answer.model.batch.taken[:, self.node] > 0)]

    def finding(self) -> Finding:
        """The worst of how much warmer it comes, whether it boils, and what of that cannot be told."""
        fluid = self.study.plan.catalog.fluid(self.study.plan.circuits[self.circuit.name].fluid)
        found = [self._warmer()]
        if fluid.vapour is None:
            found.append(self._untold(fluid))
        else:
            far = beyond(fluid.vapour, self.comes)
            told, lost = ([i for i in self.burning if far[i] == over] for over in (False, True))
            found += [self._boils(fluid, told)] if told else []
            found += [self._too_hot(fluid, max(lost, key=lambda i: self.comes[i]))] if lost else []
        # Whether it boils says more than by how much warmer it comes, where both pass.
        return min(found[::-1], key=lambda one: one.verdict.rank)

    # ------------------------------------------------------------ by how much warmer

    def _warmer(self) -> Finding:
        pumped = self.comes - self.along.nodes(self.along.start, pumps=False)[:, self.node]
        cases = [self._case(i, float(pumped[i]), "temperature_difference") for i in self.burning]
        judged = judge(
            self.study.plan.catalog.limit(f"{RULE}.rise"),
            self.name,
            cases,
            why=lambda _verdict, case: self._said(self.duties.index(case.state.duty)),
            change=lambda _verdict, case: self._change(self.duties.index(case.state.duty)),
            grades=[self.along.answer.model.grade, self.study.plan.catalog.limit(EMISSIVITY).grade],
        )
        return replace(judged, rule=RULE)

    def _case(self, row: int, value: float, dimension: str) -> Case:
        return Case(State(duty=self.duties[row]), Quantity(value, dimension))

    def by(self, row: int) -> list[tuple[str, float]]:
        """The runs and pumps on its way that warm it the most at one duty, with by how much [K]."""
        return [(thing, more) for thing, more in largest(self._passed(row), row, MOST_NAMED) if more >= LEAST_NAMED]

    def _passed(self, row: int) -> dict[str, Array]:
        names, warmer = self.along.answer.model.edges, self.along.warmer(self.along.start, pumps=True)
        passed: dict[str, Array] = {}
        for i in self.along.way_to(self.node, row):
            name = names[i].partition(":")[0]
            passed[name] = passed.get(name, 0.0) + warmer[:, i]
        return passed

    def _said(self, row: int) -> Words:
        """How warm it comes at one duty, by what, and by how much warmer at the others."""
        facts: dict[str, Quantity | str] = {
            "duty": self.duties[row],
            "start": Quantity(float(self.along.start[row]), "temperature"),
            "comes": Quantity(float(self.comes[row]), "temperature"),
            "rail": self.name,
            "most": Quantity(MOST_TOLD, "temperature_difference"),
        }
        text = "At {duty} fuel of {start} in the tank comes to {rail} "
        if self.rises[row] > MOST_TOLD:
            text += "more than {most} warmer: the pumps run on while little is burnt, and their heat has no other way."
        else:
            text += "at {comes}" + self._parts(row, facts)
        others = []
        for i in (i for i in self.burning if i != row and self.rises[i] <= MOST_TOLD):
            facts |= {f"other{i}": self.duties[i], f"rise{i}": self._warmer_by(float(self.rises[i]))}
            others.append(f"{{rise{i}}} at {{other{i}}}")
        text += f" It comes warmer by {', '.join(others)}." if others else ""
        each = map(owner, pumps(self.circuit))
        if unknown := [pump.name for pump in each if not draws(pump, self.duties)]:
            text += " What {pumps} takes is not known, and is not in it."
            facts["pumps"] = " and ".join(unknown)
        return Words(text, facts)

    def _parts(self, row: int, facts: dict[str, Quantity | str]) -> str:
        """What warms it the most, and what it gives off again."""
        parts = []
        for i, (thing, more) in enumerate(self.by(row)):
            facts |= {f"thing{i}": thing, f"more{i}": self._warmer_by(more)}
            parts.append(f"{{more{i}}} by {{thing{i}}}")
        given = -sum(min(float(part[row]), 0.0) for part in self._passed(row).values())
        if given >= LEAST_NAMED:
            facts["given"] = self._warmer_by(given)
            parts.append("less {given} that it gives off again on the way")
        return f": {', '.join(parts)}." if parts else "."

    @staticmethod
    def _warmer_by(kelvins: float) -> Quantity:
        return Quantity(kelvins, "temperature_difference")

    def _change(self, row: int) -> Words:
        return words(sentence("; or ".join(self._ways(row))) + ".")

    def _ways(self, row: int) -> list[str]:
        """What would bring it cooler, as parts of a sentence."""
        warm = [thing for thing, _ in self.by(row) if thing in warmed_runs(self.circuit)]
        ways = [f"{' and '.join(warm)} out of the warm air, or sleeved and shielded"] if warm else []
        if not regulators(self.circuit):
            ways.append("a bypass regulator with a return to the tank")
            if not any(owner(pump).figures.get("holds") is not None for pump in pumps(self.circuit)):
                ways.append("a pump that its controller pulses to what is burnt")
        return [*ways, "cooler fuel in the tank"]

    # ------------------------------------------------------------ does it boil

    def _boils(self, fluid: Fluid, rows: list[int]) -> Finding:
        assert fluid.vapour is not None
        vapour, plan = vapour_pressure(fluid, self.comes), self.study.plan

        def why(_verdict: Verdict, case: Case) -> Words:
            row = self.duties.index(case.state.duty)
            said = self._said(row)
            facts: dict[str, Quantity | str] = {
                "pressure": Quantity(float(self.pressure[row]), "pressure", "absolute"),
                "vapour": Quantity(float(vapour[row]), "pressure", "absolute"),
                "left": Quantity(abs(case.value.value), "pressure_drop"),
            }
            text = said.text + " At {duty} it boils there under {vapour}, and {pressure} stand in it: {left} "
            return Words(text + ("are left." if case.value.value >= 0 else "are missing."), {**said.parts, **facts})

        grades = [self.along.answer.model.grade, fluid.vapour.grade, plan.catalog.limit(EMISSIVITY).grade]
        grades += [Grade.MEMORY] if outside(fluid.vapour, self.comes[rows]).any() else []
        return judge(
            plan.catalog.limit(RULE),
            self.name,
            [self._case(i, float(self.pressure[i] - vapour[i]), "pressure_drop") for i in rows],
            why=why,
            change=lambda _verdict, case: self._change(self.duties.index(case.state.duty)),
            grades=grades,
        )

    def _untold(self, fluid: Fluid) -> Finding:
        """That of a fuel whose vapour pressure is in no table."""
        said = self._said(max(self.burning, key=lambda i: self.rises[i]))
        text = said.text + " Whether it boils there cannot be told: at what pressure {fluid} boils is in no table."
        needs = f"its vapour pressure in the shop's fluids, [{fluid.id}]: {fluid.vapour_asked}"
        return unchecked(RULE, self.name, Words(text, {**said.parts, "fluid": fluid.means}), needs)

    def _too_hot(self, fluid: Fluid, row: int) -> Finding:
        """That of fuel that comes hotter than its vapour pressure is known."""
        assert fluid.vapour is not None
        said, hottest = self._said(row), reach(fluid.vapour).hottest
        vapour = float(vapour_pressure(fluid, np.array([hottest]))[0])
        facts: dict[str, Quantity | str] = {
            "hottest": Quantity(hottest, "temperature"),
            "vapour": Quantity(vapour, "pressure", "absolute"),
            "pressure": Quantity(float(self.pressure[row]), "pressure", "absolute"),
        }
        text = (
            said.text
            + " At what pressure it boils is known up to {hottest}: {vapour} there, where {pressure} stand in "
        )
        needs = "; or ".join(["the temperature of the rail", *self._ways(row)])
        return unchecked(RULE, self.name, Words(text + "the rail.", {**said.parts, **facts}), needs)
