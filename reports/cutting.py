"""The cut length of an assembly: final, provisional, not known, or not possible; and how it is found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from catalogs.grades import Grade
from reports.figures import Figure, blank_length, decimal, difference, length_unit, measured, taped

if TYPE_CHECKING:
    from catalogs.units import System
    from lines.assembly import Assembly

State = Literal["final", "provisional", "unknown", "impossible"]


@dataclass(frozen=True, slots=True)
class Cut:
    """The length of hose to cut."""

    state: State
    tape: Figure | None
    """As the tape reads it; None where there is nothing to cut yet."""
    exact: Figure | None
    length: Figure | None
    """Between the seats of both ends."""
    known_by: str
    formula: str
    """With the numbers put in; empty where one is missing."""
    measure: tuple[str, ...]
    """What to measure first, one line each, and how the cut length is then found."""

    @property
    def word(self) -> str:
        """What to print beside the length."""
        return {"final": "", "provisional": "PROVISIONAL", "unknown": "NOT KNOWN", "impossible": "DO NOT CUT"}[
            self.state
        ]


def cut_state(made: Assembly) -> State:
    """How sure the cut length is."""
    if made.cut is None:
        return "unknown"
    if made.cut <= 0:
        return "impossible"
    return "provisional" if made.provisional else "final"


def cut_of(made: Assembly, system: System) -> Cut:
    """The cut length of an assembly, in the plan's units."""
    state = cut_state(made)
    cuttable = made.cut is not None and state in {"final", "provisional"}
    return Cut(
        state=state,
        tape=taped(made.cut, system) if made.cut is not None and cuttable else None,
        exact=measured(made.cut, system) if made.cut is not None and cuttable else None,
        length=measured(made.length, system) if made.length is not None else None,
        known_by=made.shape.how,
        formula=_formula(made, system),
        measure=tuple(_measure(made, state, system)),
    )


def _cutoffs(made: Assembly) -> tuple[float, float] | None:
    first, second = (chosen.end.cutoff if chosen.end is not None else None for chosen in made.ends)
    return None if first is None or second is None else (first, second)


def _formula(made: Assembly, system: System) -> str:
    cutoffs = _cutoffs(made)
    if made.length is None or made.cut is None or cutoffs is None:
        return ""
    return difference(made.length, cutoffs, made.cut, system)


_SHORT = {Grade.MEMORY: "from memory", Grade.ILLUSTRATIVE: "illustrative"}


def _measure(made: Assembly, state: State, system: System) -> list[str]:
    if state == "final":
        return []
    if state == "impossible":
        return [f"The two ends alone are longer than the place between the ports: {_formula(made, system)}."]
    lines = [f"Needed: {needs}." for needs in made.needs]
    if made.adapters_in_length:
        marks = [mark for mark, joint in zip("AB", made.joints, strict=True) if joint in made.adapters_in_length]
        ends = " and ".join(marks)
        lines.append(f"ADAPTER AT {ends} FIRST: screw it in; length between the seats then: {blank_length(system)}")
    elif state == "unknown" and made.shape.length is None:
        lines.append(f"Length between the seats: {blank_length(system)}")
    for mark, chosen, first in zip("AB", made.ends, made.measure_first, strict=True):
        if chosen.end is None:
            lines.append(f"Choose end {mark} and measure its cut-off: {blank_length(system)}")
        elif first:
            table, grade = decimal(chosen.end.cutoff, system), chosen.end.grade_of("cutoff")
            lines.append(f"MEASURE END {mark} FIRST: cut-off {blank_length(system)}  (table: {table}, {_SHORT[grade]})")
    return [*lines, f"then cut  {_open_formula(made, system)} = {blank_length(system)}"]


def _open_formula(made: Assembly, system: System) -> str:
    """The formula with room for what is not known."""
    unit = length_unit(system)
    known = made.shape.length is not None and not made.adapters_in_length
    length = decimal(made.shape.length or 0.0, system) if known else "length"
    parts = [length.removesuffix(f" {unit}")]
    for mark, chosen, first in zip("AB", made.ends, made.measure_first, strict=True):
        sure = chosen.end is not None and not first
        cutoff = chosen.end.cutoff if chosen.end is not None else 0.0
        parts.append(decimal(cutoff, system).removesuffix(f" {unit}") if sure else f"cut-off {mark}")
    return " - ".join(parts)
