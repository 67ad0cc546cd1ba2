"""How warm fuel comes to the rail: what the air around its runs and its pumps put into it on the way."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from catalogs.errors import UnknownInputError
from catalogs.grades import Grade
from catalogs.units import Quantity
from lines.finding import Words, words
from solver.along import largest
from solver.checks.judging import by_duty, judge, untold
from solver.checks.roles import without_answer
from solver.fuels import answers, owner, pumps, rails
from solver.properties import outside
from solver.suction import boiling
from solver.warmed import EMISSIVITY, draws, warmed, warmed_runs

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from lines.finding import Case, Finding, Verdict
    from solver.study import Study
    from solver.warmed import Warmed

    Array = npt.NDArray[np.float64]

RULE = "fuel.heat"
MOST_NAMED = 3
"""More than so many things that warm it nobody reads."""
LEAST_NAMED = 0.3
"""What warms it by less is printed as nothing [K]."""


def at_rail(study: Study) -> list[Finding]:
    """`fuel.heat`: pressure in each rail over that at which the fuel boils as warm as it comes there, by duty.

    Of circuits with a run that states the air around it.
    """
    found: list[Finding] = []
    for circuit, solution in answers(study):
        if not warmed_runs(circuit):
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
            number = solution.model.number
            found += [_at_rail(study, _Rail(name, along, number[node]), node) for node, name in names.items()]
    return found


@dataclass(frozen=True)
class _Rail:
    """The fuel that comes to one rail."""

    name: str
    along: Warmed
    node: int
    """Of the network."""

    @property
    def duties(self) -> list[str]:
        return self.along.answer.model.duties

    @property
    def comes(self) -> Array:
        """Its temperature there [K], by duty."""
        return self.along.nodes(self.along.start, pumps=True)[:, self.node]

    def by(self, row: int) -> list[tuple[str, float]]:
        """The runs and pumps on its way that warm it the most at one duty, with by how much [K]."""
        names, warmer = self.along.answer.model.edges, self.along.warmer(self.along.start, pumps=True)
        passed = {names[i].partition(":")[0]: warmer[:, i] for i in self.along.way_to(self.node, row)}
        return [(thing, warmer) for thing, warmer in largest(passed, row, MOST_NAMED) if warmer >= LEAST_NAMED]

    def said(self, row: int) -> Words:
        """How warm it comes at one duty, by what, and by how much warmer at the others."""
        rise = self.comes - self.along.start
        facts: dict[str, Quantity | str] = {
            "duty": self.duties[row],
            "start": Quantity(float(self.along.start[row]), "temperature"),
            "comes": Quantity(float(self.comes[row]), "temperature"),
            "rail": self.name,
        }
        parts, others = [], []
        for i, (thing, warmer) in enumerate(self.by(row)):
            facts |= {f"thing{i}": thing, f"more{i}": Quantity(warmer, "temperature_difference")}
            parts.append(f"{{more{i}}} by {{thing{i}}}")
        for i, duty in enumerate(self.duties):
            if i != row:
                facts |= {f"other{i}": duty, f"rise{i}": Quantity(float(rise[i]), "temperature_difference")}
                others.append(f"{{rise{i}}} at {{other{i}}}")
        text = "At {duty} fuel of {start} in the tank comes to {rail} at {comes}"
        text += f": {', '.join(parts)}." if parts else "."
        text += f" It comes warmer by {', '.join(others)}." if others else ""
        each = map(owner, pumps(self.along.answer.model.circuit))
        if unknown := [pump.name for pump in each if not draws(pump, self.duties)]:
            text += " What {pumps} takes is not known, and is not in it."
            facts["pumps"] = " and ".join(unknown)
        return Words(text, facts)


def _at_rail(study: Study, rail: _Rail, node: str) -> Finding:
    answer, plan = rail.along.answer, study.plan
    fluid = plan.catalog.fluid(plan.circuits[answer.model.circuit.name].fluid)
    comes, pressure = rail.comes, answer.total(node)
    try:
        vapour = boiling(plan, fluid, comes, rail.duties)
    except UnknownInputError as error:
        lost = untold(RULE, rail.name, error, "Whether it boils there cannot be told")
        said = rail.said(int((comes - rail.along.start).argmax()))
        return replace(lost, why=Words(f"{said.text} {lost.why.text}", {**said.parts, **lost.why.parts}))

    def why(_verdict: Verdict, case: Case) -> Words:
        row = rail.duties.index(case.state.duty)
        said = rail.said(row)
        text = said.text + " At {duty} it boils there under {vapour}, and {pressure} stand in it: {left} "
        facts: dict[str, Quantity | str] = {
            "pressure": Quantity(float(pressure[row]), "pressure", "absolute"),
            "vapour": Quantity(float(vapour[row]), "pressure", "absolute"),
            "left": Quantity(abs(case.value.value), "pressure_drop"),
        }
        return Words(text + ("are left." if case.value.value >= 0 else "are missing."), {**said.parts, **facts})

    def change(_verdict: Verdict, case: Case) -> Words:
        warm = warmed_runs(answer.model.circuit)
        runs = [thing for thing, _ in rail.by(rail.duties.index(case.state.duty)) if thing in warm]
        text = "{runs} out of the warm air, or sleeved and shielded; cooler fuel in the tank; or more fuel through the "
        text += "rail: a regulator behind it with a return to the tank."
        return words(text, runs=" and ".join(runs) or "The feed")

    cases = by_duty(rail.duties, pressure - vapour, "pressure_drop")
    assert fluid.vapour is not None
    grades = [answer.model.grade, fluid.vapour.grade, plan.catalog.limit(EMISSIVITY).grade]
    grades += [Grade.MEMORY] if outside(fluid.vapour, comes).any() else []
    return judge(plan.catalog.limit(RULE), rail.name, cases, why=why, change=change, grades=grades)
