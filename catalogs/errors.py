"""Every error that linewright raises on purpose.

    LinewrightError
    ├── QuantityError        a text that is no quantity of the dimension asked for
    ├── InputError           faults in a person's files, all of them together
    │   ├── TableError       in a table of ours or of a shop
    │   └── PlanError        in a plan
    ├── NoAnswerError        the plan reads well, but a circuit has no solution
    │   ├── NoReferenceError     a connected part without a known pressure
    │   ├── UnsolvedKindError    a kind of component whose law is not built
    │   └── UnknownInputError    a figure that nobody measured
    └── OutputError          a file that cannot be written

Facts are attributes; the wording of a fault stands in `Fault.__str__` and nowhere else.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


class LinewrightError(Exception):
    """The root of the tree."""


class QuantityError(LinewrightError, ValueError):
    """A text that is no quantity of the dimension that its field asks for."""

    def __init__(self, text: str, reason: str, *, expected: str, nearest: str | None = None) -> None:
        self.text, self.reason, self.expected, self.nearest = text, reason, expected, nearest
        super().__init__(text, reason)

    def __str__(self) -> str:
        return self.reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong in one place of a file that a person wrote."""

    message: str
    file: str
    line: int | None = None
    table: str | None = None
    key: str | None = None
    expected: str | None = None
    nearest: str | None = None

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}, line {self.line}"
        if self.table:
            place += f", [{self.table}]"
        if self.key:
            place += f" {self.key}"
        text = f"{place}: {self.message}"
        if self.expected:
            text += f"; expected {self.expected}"
        if self.nearest:
            text += f'; did you mean "{self.nearest}"?'
        return text


class InputError(LinewrightError, ValueError):
    """All faults found in what a person wrote."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(sorted(faults, key=lambda f: (f.file, f.line or 0, f.key or "")))
        super().__init__(self.faults)

    def __str__(self) -> str:
        return "\n".join(str(fault) for fault in self.faults)


class TableError(InputError):
    """Faults in a table of hose, fluids, limits …, ours or a shop's."""


class PlanError(InputError):
    """Faults in a plan."""


class NoAnswerError(LinewrightError, RuntimeError):
    """A circuit that has no solution. `needs` says what would give it one."""

    def __init__(self, reason: str, *, needs: str | None = None) -> None:
        self.reason, self.needs = reason, needs
        super().__init__(reason)


class NoReferenceError(NoAnswerError):
    """A connected part of a circuit in which no pressure is known."""


class UnsolvedKindError(NoAnswerError):
    """A component whose law of flow is not built."""


class UnknownInputError(NoAnswerError):
    """A figure that the circuit's physics needs and nobody gave."""


class OutputError(LinewrightError, OSError):
    """A file that cannot be written."""


def nearest(word: str, valid: Iterable[str]) -> str | None:
    """The valid word most like `word`, or None when none is close.

    A valid word that is one of the parts of a longer one is closest: `fuel-pump` means `pump`.
    """
    by_lower = {w.lower(): w for w in valid}
    parts = [part for part in re.split(r"[\s_.-]+", word.lower()) if len(part) > 2]
    whole = [by_lower[part] for part in parts if part in by_lower]
    if word.lower() not in by_lower and whole:
        return whole[0]
    found = difflib.get_close_matches(word.lower(), by_lower, n=1, cutoff=0.55)
    return by_lower[found[0]] if found else None
