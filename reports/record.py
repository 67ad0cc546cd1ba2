"""The test record: one line for each assembly, to be filled in and signed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reports.bench import Block

BLANKS = ("pressure held", "time held [s]", "leak: none / where", "hose batch", "date", "signed")


@dataclass(frozen=True, slots=True)
class Line:
    """One assembly to test."""

    tag: str
    line: str
    stock: str
    proof: str
    how: str
    basis: str
    note: int
    """Number of the note that says what is not sure of the pressure; 0: none."""


@dataclass(frozen=True)
class Record:
    """Every assembly to test, and the notes that their lines point at."""

    lines: list[Line]
    notes: list[str]


def record(blocks: list[Block]) -> Record:
    """A line for each assembly."""
    notes = list(dict.fromkeys(b.rating_basis for b in blocks if b.rating_basis))
    numbers = {note: number for number, note in enumerate(notes, 1)}
    lines = [
        Line(b.tag, b.line, b.stock, b.proof.text, b.proof_how, b.rating_basis, numbers.get(b.rating_basis, 0))
        for b in blocks
    ]
    return Record(lines, notes)
