"""The cut length of an assembly: final, or in which way it is not; and how it is found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from lines.assembly import counted
from reports.figures import Figure, blank_length, decimal, difference, length_unit, less, measured, short, taped
from reports.lengths import Named, between, lengths, part_of, way_on

if TYPE_CHECKING:
    from collections.abc import Iterable

    from catalogs.records import HoseEnd
    from catalogs.units import System
    from lines.assembly import Assembly

State = Literal["final", "provisional", "in doubt", "unknown", "does not fit", "impossible"]
"""From the surest on. With the last three there is nothing to cut yet."""

WORDS: dict[State, str] = {
    "final": "",
    "provisional": "PROVISIONAL",
    "in doubt": "IN DOUBT",
    "unknown": "NOT KNOWN",
    "does not fit": "DOES NOT FIT",
    "impossible": "DO NOT CUT",
}
CUTTABLE: tuple[State, ...] = ("final", "provisional", "in doubt")


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
    lengths: tuple[Named, ...]
    """Every length by its name, with its formula."""
    between: str
    """How much shorter it may be where its bends are wider; empty where that is not known."""
    measure: tuple[str, ...]
    """What to measure first, one line each, and how the cut length is then found."""

    @property
    def word(self) -> str:
        """What to print beside the length."""
        return WORDS[self.state]


def cut_state(made: Assembly) -> State:
    """How sure the cut length is."""
    if made.cut is None:
        return "unknown"
    if made.cut <= 0 or made.overlaps:
        return "impossible"
    if made.does_not_fit:
        return "does not fit"
    if made.in_doubt:
        return "in doubt"
    return "provisional" if made.provisional else "final"


def states(made: Iterable[Assembly]) -> dict[State, list[str]]:
    """The tags of the assemblies in each state but final, the worst first."""
    found = [(cut_state(one), one.tag) for one in made]
    tags: dict[State, list[str]] = {state: [tag for s, tag in found if s == state] for state in reversed(WORDS)}
    return {state: named for state, named in tags.items() if named and state != "final"}


def cut_of(made: Assembly, system: System) -> Cut:
    """The cut length of an assembly, in the plan's units."""
    state = cut_state(made)
    cuttable = state in CUTTABLE
    return Cut(
        state=state,
        tape=taped(made.cut, system) if made.cut is not None and cuttable else None,
        exact=measured(made.cut, system) if made.cut is not None and cuttable else None,
        length=measured(made.length, system) if made.length is not None else None,
        known_by=made.how,
        formula=_formula(made, system),
        lengths=lengths(made, system),
        between=between(made, system),
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


def _measure(made: Assembly, state: State, system: System) -> list[str]:
    if state == "final":
        return []
    if state == "impossible":
        return [f"The two ends alone are longer than the place between the ports: {_formula(made, system)}."]
    lines = [f"Needed: {needs}." for needs in made.needs]
    lines += _way_first(made) + _length_first(made, state, system)
    if made.does_not_fit or made.in_doubt:
        return lines
    for mark, chosen, first in zip("AB", made.ends, made.measure_first, strict=True):
        if chosen.end is None:
            lines.append(f"Choose end {mark} and measure its cut-off: {blank_length(system)}")
        elif first:
            lines.append(f"MEASURE END {mark} FIRST: {_asked(made, chosen.end, system)}")
    if _way_depends(made):
        return [
            *lines,
            "then put it in the shop's folder and print this again: where the hose runs depends on the drop",
        ]
    return [*lines, f"then cut  {_open_formula(made, system)} = {blank_length(system)}"]


def _way_depends(made: Assembly) -> bool:
    """Does the length itself change with what is to be measured on an angled end?"""
    sides = zip(made.chosen, made.measure_first, strict=True)
    return made.run.length is None and any(first and end is not None and not end.straight for end, first in sides)


def _way_first(made: Assembly) -> list[str]:
    lines = []
    if made.does_not_fit:
        lines.append("DOES NOT FIT as it lies: see run.radius in the findings before anything is cut.")
    if made.in_doubt:
        lines.append("IN DOUBT: the tape says less than any way through its points: see run.length in the findings.")
    if made.unaimed:
        ends = " and ".join(made.unaimed)
        lines.append(f"PORT OF END {ends}: say which way it points; the length changes with it.")
    return lines


def _length_first(made: Assembly, state: State, system: System) -> list[str]:
    """What to do before the length between the seats is known."""
    blank, lines = blank_length(system), []
    if made.adapters_in_length:
        marks = [mark for mark, joint in zip("AB", made.joints, strict=True) if joint in made.adapters_in_length]
        ends = " and ".join(marks)
        lines.append(f"ADAPTER AT {ends} FIRST: screw it in; length between the seats then: {blank}")
    elif state == "unknown" and made.length is None:
        lines.append(f"Length between the seats: {blank}")
    if made.nuts_in_length:
        asked = ", ".join(f"{mark} {blank}" for mark in made.nuts_in_length)
        lines.append(f"MEASURE THE NUTS FIRST, how far each reaches over its seat: {asked}; less both: length {blank}")
    return lines


def _asked(made: Assembly, end: HoseEnd, system: System) -> str:
    """What to measure on an end, each with room for it, and the figures of the table."""
    names = {"collar": "cut-off", "spigot": "how far the hose goes over its spigot", "flare": "what its flare takes"}
    names_of = {"cutoff": names[way_on(end)], "drop": "drop", "overhang": "nut over its seat"}
    asked = {field: names_of[field] for field in counted(made.run, end)}
    blanks = ", ".join(f"{name} {blank_length(system)}" for name in asked.values())
    figures = [decimal(abs(getattr(end, field)), system) for field in asked]
    table = " and ".join([*(text.partition(" ")[0] for text in figures[:-1]), figures[-1]])
    return f"{blanks}  (table: {table}, {short(end.grade_of(*asked))})"


def _open_formula(made: Assembly, system: System) -> str:
    """The formula with room for what is not known."""
    unit = length_unit(system)
    known = made.length is not None and not made.adapters_in_length and not made.nuts_in_length
    text = decimal(made.length or 0.0, system) if known else "length"
    text = text.removesuffix(f" {unit}")
    for mark, end, first in zip("AB", made.chosen, made.measure_first, strict=True):
        if end is None or first:
            sign = "-" if end is None or way_on(end) == "collar" else "+"
            text += f" {sign} {part_of(end, mark)}"
        else:
            text += less(decimal(end.cutoff, system).removesuffix(f" {unit}"))
    return text
