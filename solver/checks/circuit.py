"""Does each circuit that pressure moves have an answer?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from lines.finding import Finding, Verdict, unchecked, words
from solver.solution import Unsolved

if TYPE_CHECKING:
    from solver.study import Study


def flow(study: Study) -> list[Finding]:
    """`circuit.flow`: flows and pressures were found at every duty, or why not."""
    found = []
    for name, answer in study.solutions.items():
        if isinstance(answer, Unsolved):
            reason = words("No flows in this circuit: {reason}.", reason=answer.error.reason)
            found.append(unchecked("circuit.flow", name, reason, answer.error.needs or ""))
        elif answer.reasons:
            reasons = "; ".join(f"{duty}: {why}" for duty, why in answer.reasons.items())
            found.append(unchecked("circuit.flow", name, words("No answer at {reasons}.", reasons=reasons), reasons))
        else:
            duties = ", ".join(answer.model.duties)
            text = "Flows and pressures found at {duties}."
            if answer.model.estimates:
                text += " Estimated: {estimates}."
            why = words(text, duties=duties, estimates="; ".join(answer.model.estimates))
            basis = answer.model.grade
            found.append(Finding(rule="circuit.flow", place=name, verdict=Verdict.PASS, why=why, basis=basis))
    return found
