"""The loss of a run worked out by hand, line by line, in the reader's units: content, nothing is drawn.

Every line is evaluated from the text that is printed. At the end of a sheet their sum stands against the pressures of
the solution, which the solver found by its own laws.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reports.tables import Table
from reports.workedsheet import Case, Worked, sheet
from solver.solution import Solution

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reports.tables import Cell
    from solver.study import Study

ASK = (
    "Unless asked for others, the packet works out of each circuit the run that loses the most, at the duty where it "
    "does. For others: linewright sheets PLAN -o DIR --worked RUN, as often as wanted, or --worked all; --duty D "
    "for that duty."
)
READ = (
    "Each line stands in symbols, then with the numbers put in. x is times, ^ to the power, e-7 times 10^-7. c is the "
    "one factor that the units need. Numbers stand to five figures and are carried on unrounded. [1] is a source of "
    "the list at the end."
)
NO_UNIT = "no unit"
A_DRAIN = "a drain: gravity moves it, and check judges its fall"


@dataclass(frozen=True, slots=True)
class NotWorked:
    """A run that has no numbers, and why."""

    tag: str
    duty: str
    why: str


@dataclass(frozen=True, slots=True)
class Calculations:
    """What was asked for."""

    sheets: tuple[Worked, ...]
    missing: tuple[NotWorked, ...]


def calculations(study: Study, tags: Sequence[str] | None = None, duty: str | None = None) -> Calculations:
    """The worked calculation of runs.

    Args:
        study: the plan and what follows from it.
        tags: the runs; None for one of each circuit that has an answer, the one that loses the most.
        duty: one of the plan; None for that at which each run loses the most.
    """
    wanted = _dearest(study, duty) if tags is None else dict.fromkeys(tags)
    found = [_worked(study, tag, duty) for tag in wanted]
    return Calculations(
        tuple(one for one in found if isinstance(one, Worked)),
        tuple(one for one in found if isinstance(one, NotWorked)),
    )


def _dearest(study: Study, duty: str | None) -> list[str]:
    """Of each circuit that has an answer the run that loses the most; of none in which nothing flows."""
    answers = [answer for answer in study.solutions.values() if isinstance(answer, Solution)]
    most = [max((_most(a, tag, duty)[0], tag) for tag in a.model.circuit.runs) for a in answers]
    return [tag for loss, tag in most if loss != 0]


def _most(answer: Solution, tag: str, duty: str | None) -> tuple[float, str]:
    """The most that a run loses [Pa], and at which duty; less than nothing where it has no answer."""
    loss = np.abs(np.sum(list(answer.parts(tag).values()), axis=0))
    duties = answer.model.duties if duty is None else [duty]
    costs = {d: -1.0 if d in answer.reasons else float(loss[answer.model.duties.index(d)]) for d in duties}
    worst = max(costs, key=lambda d: costs[d])
    return costs[worst], worst


def _worked(study: Study, tag: str, duty: str | None) -> Worked | NotWorked:
    answer = study.solution_of(tag)
    if answer is None:
        return NotWorked(tag, duty or "", A_DRAIN)
    if not isinstance(answer, Solution):
        return NotWorked(tag, duty or "", f"no answer: {answer.error.reason}. Needed: {answer.error.needs}")
    duty = _most(answer, tag, duty)[1]
    if duty in answer.reasons:
        return NotWorked(tag, duty, f"no answer: {answer.reasons[duty]}")
    return sheet(Case(study, answer, tag, duty))


def worked_table(worked: Calculations) -> Table:
    """Every line of every sheet, then the runs without numbers."""
    names = ["run", "duty", "step", "formula", "numbers", "result", "unit", "source", "factor", "share", "note"]
    rows: list[list[Cell]] = [
        [
            *(one.tag, one.duty, step.name, step.formula, step.numbers, step.result, step.unit or NO_UNIT),
            *(" / ".join(step.sources), step.factor, step.share, step.note),
        ]
        for one in worked.sheets
        for step in one.steps
    ]
    rows += [[one.tag, one.duty, "not worked", *[""] * 7, one.why] for one in worked.missing]
    return Table(names, rows)
