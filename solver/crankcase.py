"""The pressure in a crankcase, from the answer of its breather."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from solver.blowby import sources
from solver.gas import too_far
from solver.solution import Solution

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    import numpy.typing as npt

    from lines.graph import Circuit
    from solver.solution import Unsolved
    from solver.study import Study

    Array = npt.NDArray[np.float64]


def breathers(study: Study) -> list[Circuit]:
    """The circuits that a crankcase breathes through."""
    return [circuit for circuit in study.circuits.values() if sources(circuit)]


def crankcase_pressure(answers: Mapping[str, Solution | Unsolved]) -> Array | None:
    """Pressure in a plan's one crankcase [Pa absolute], shape (duties,).

    None where none of its circuits has a crankcase, more than one has, or its breather has no answer at some duty.

    Args:
        answers: of the plan's circuits, as `solve_plan` gives them.
    """
    found = [
        (name, answer)
        for answer in answers.values()
        for name in sources(answer.model.circuit if isinstance(answer, Solution) else answer.circuit)
    ]
    if len(found) != 1:
        return None
    name, answer = found[0]
    return answer.total(name) if isinstance(answer, Solution) and answer.solved.all() else None


def as_far_as_found(answer: Solution) -> tuple[Solution, list[str]] | None:
    """The answer with what was found at duties at which a gas falls by too much for one density, and these duties.

    There the gas speeds up, which takes more than is counted: the pressure before it is at least what was found. None
    where some duty has no answer for another reason.
    """
    if not answer.reasons:
        return answer, []
    far = [bool(row.any()) for row in too_far(answer.model.network, answer.state)]
    rows = [answer.model.duties.index(duty) for duty in answer.reasons]
    if not answer.model.gas or any(answer.state.failed[i] or not far[i] for i in rows):
        return None
    return replace(answer, reasons={}), list(answer.reasons)
