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


CLOSE = 0.72
"""How alike two words are when the one may be a slip for the other: `petrol` and `ethanol` are not."""


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


def nearest(word: str, valid: Iterable[str], *, sized: bool = True) -> str | None:
    """The valid word most like `word`, or None when none is close.

    One that is a part of `word` is closest, `pump` to `fuel-pump`, or one that alone has `word` as a part. Sizes are
    never guessed: a word with other digits is not close, unless the words have no sizes, as units have none.
    """
    said, by_lower = word.strip().lower(), {w.lower(): w for w in valid}
    if said in by_lower:
        return by_lower[said]
    whole = [part for part in _parts(said) if part in by_lower]
    holders = [low for low in by_lower if said in _parts(low)]
    if whole or len(holders) == 1:
        return by_lower[(whole or holders)[0]]
    alike = [low for low in by_lower if not sized or _digits(low) in {"", _digits(said)}]
    swapped = [low for low in alike if sorted(low) == sorted(said)]
    begun = [low for low in alike if len(said) > 2 and low.startswith(said)]
    if swapped or len(begun) == 1:
        return by_lower[(swapped or begun)[0]]
    found = difflib.get_close_matches(said, alike, n=1, cutoff=CLOSE)
    return by_lower[found[0]] if found else None


def _parts(word: str) -> list[str]:
    return [part for part in re.split(r"[\s_.-]+", word) if len(part) > 2 and not part.isdigit()]


def _digits(word: str) -> str:
    return re.sub(r"\D", "", word)
