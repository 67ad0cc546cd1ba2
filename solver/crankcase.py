"""The pressure in a crankcase, from the answer of its breather."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.grades import Grade, weakest
from solver.blowby import sources
from solver.gas import too_far
from solver.solution import Solution

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from lines.graph import Circuit
    from solver.solution import Unsolved
    from solver.study import Study

    Array = npt.NDArray[np.float64]


def breathers(study: Study) -> list[Circuit]:
    """The circuits that a crankcase breathes through."""
    return [circuit for circuit in study.circuits.values() if sources(circuit)]


@dataclass(frozen=True)
class Crankcase:
    """The pressure in a plan's crankcase, the highest where it has several."""

    pressure: Array
    """At every duty [Pa absolute]."""
    more_at: frozenset[str]
    """The duties at which it is more, as the gas of its breather falls by too much for one density."""
    grade: Grade
    """Of the weakest figure of its breather."""

    @property
    def at_least(self) -> bool:
        """Is it more at some duty?"""
        return bool(self.more_at)


def crankcase_pressure(answers: Mapping[str, Solution | Unsolved]) -> Crankcase | None:
    """The pressure in a plan's crankcase; None where no circuit of it has one.

    Args:
        answers: of the plan's circuits, as `solve_plan` gives them.

    Raises:
        UnknownInputError: the breather of one has no answer.
    """
    found = []
    for answer in answers.values():
        circuit = answer.model.circuit if isinstance(answer, Solution) else answer.circuit
        for name in sources(circuit):
            known = as_far_as_found(answer) if isinstance(answer, Solution) else None
            if known is None:
                raise UnknownInputError(
                    f"the pressure in {name.partition('.')[0]} is not known",
                    needs=f"what circuit.flow/{circuit.name} asks for, or crankcase of the sump, measured",
                )
            solution, more_at = known
            found.append(Crankcase(solution.total(name), frozenset(more_at), solution.model.grade))
    if not found:
        return None
    return Crankcase(
        np.max([one.pressure for one in found], axis=0),
        frozenset[str]().union(*(one.more_at for one in found)),
        weakest(one.grade for one in found),
    )


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
