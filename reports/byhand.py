"""What the rulebooks that a plan names ask for beyond what its figures decide: to be checked by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reports.figures import with_basis
from solver.checks.classrules import FIRST, asked

if TYPE_CHECKING:
    from lines.plan import Plan

HEAD = f"Also asked for, check by hand. {FIRST}"


def by_hand(plan: Plan) -> tuple[str, ...]:
    """A line for each clause of the plan's rulebooks that its figures cannot decide."""
    return tuple(with_basis(f"{row.named}: {row.means}", row.grade) for row in asked(plan, ""))
