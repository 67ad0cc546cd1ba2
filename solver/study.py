"""A plan with everything that follows from it, computed once for all checks and reports."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lines.assembly import Assembly, assemblies
from lines.graph import Circuit, circuits
from solver.drains.drain import Drain
from solver.drains.drainage import drains
from solver.solution import Solution, Unsolved, solve_plan

if TYPE_CHECKING:
    from catalogs.errors import UnknownInputError
    from lines.plan import Plan


@dataclass(frozen=True)
class Study:
    """A plan, its assemblies, its circuits, their solutions and its drains."""

    plan: Plan
    assemblies: dict[str, Assembly]
    circuits: dict[str, Circuit]
    solutions: dict[str, Solution | Unsolved]
    drains: dict[str, Drain | UnknownInputError]
    """Of each turbocharger by its name; why it cannot be told where something is not known."""

    def solution_of(self, run: str) -> Solution | Unsolved | None:
        """The solution of a run's circuit; None for a drain."""
        return self.solutions.get(self.plan.runs[run].circuit)


def study(plan: Plan) -> Study:
    """Compute what follows from a plan."""
    made = {a.tag: a for a in assemblies(plan)}
    joined, answers = circuits(plan), solve_plan(plan, made)
    return Study(plan, made, joined, answers, drains(plan, joined, made, answers))
