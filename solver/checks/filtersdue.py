"""What is judged at a rail with its filters clean, and with them due where that is worse."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lines.finding import Verdict, unchecked, words
from solver.solution import solve_circuit

if TYPE_CHECKING:
    from collections.abc import Callable

    from lines.finding import Finding
    from solver.solution import Solution
    from solver.study import Study

TOLD = 1e-3
"""Filters that are due are told of where they leave so much less room [-]."""
DUE = " with the filters due"
"""What is said behind the duty where they are."""


def worse(study: Study, clean: Solution, judged: Callable[[Solution, str], Finding]) -> Finding:
    """A finding about a ratio with the filters clean, or with them due where those leave less room.

    Unchecked where it passes clean and has no answer with them due.

    Args:
        study: a plan and what follows from it.
        clean: a circuit's answer at every duty, its filters clean.
        judged: the finding of an answer; behind its duty is said whether the filters are due.
    """
    found, circuit = judged(clean, ""), clean.model.circuit
    if not any(edge.component and "loaded" in edge.component.figures for edge in circuit.edges.values()):
        return found
    answer = solve_circuit(study.plan, circuit, study.assemblies, loaded=True)
    if answer.solved.all():
        due = judged(answer, DUE)
        return due if _less_room(due, found) else found
    return untold_due(found, answer)


def untold_due(found: Finding, due: Solution) -> Finding:
    """A finding with the filters clean as unchecked, where a circuit has no answer at some duty with them due."""
    if due.solved.all() or found.verdict in {Verdict.FAIL, Verdict.UNCHECKED}:
        return found
    circuit, (duty, reason) = due.model.circuit, next(iter(due.reasons.items()))
    text = "At {duty}" + DUE + " circuit {circuit} has no answer ({reason}); with them clean: {value}."
    why = words(text, duty=duty, circuit=circuit.name, reason=reason, value=found.value or "")
    return unchecked(found.rule, found.place, why, f"what fuel.margin/{circuit.name} asks for")


def _less_room(due: Finding, clean: Finding) -> bool:
    """Does a finding leave less room than another, by more than is worth a word?"""
    if due.verdict is not clean.verdict:
        return due.verdict.rank < clean.verdict.rank
    if due.margin is None or clean.margin is None:
        return False
    return due.margin.value < clean.margin.value - TOLD
