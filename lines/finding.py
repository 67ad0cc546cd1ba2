"""The record of a finding: one check's verdict at one place. Data until reports draw it."""

from __future__ import annotations

import enum
import math
import string
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from catalogs import units
from catalogs.grades import Grade
from catalogs.units import Quantity, System

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping


class Verdict(enum.StrEnum):
    """From the worst to the best. Unchecked is never a pass."""

    FAIL = "fail"
    CAUTION = "caution"
    UNCHECKED = "unchecked"
    PASS = "pass"  # noqa: S105 - a verdict

    @property
    def rank(self) -> int:
        """0 of the worst: what nobody knows comes before what passes."""
        return list(Verdict).index(self)


@dataclass(frozen=True, slots=True)
class Words:
    """A sentence with quantities in it, which are put in the reader's units when it is said."""

    text: str
    parts: Mapping[str, Quantity | str] = field(default_factory=dict)

    def say(self, system: System) -> str:
        return _Sayer(system).vformat(self.text, (), self.parts)

    def __bool__(self) -> bool:
        return bool(self.text)


_ROUNDINGS: dict[str, Callable[[float], int]] = {"": round, "up": math.ceil, "down": math.floor}


class _Sayer(string.Formatter):
    """`{size}` is shown as reports show it; `{size:up}` and `{size:down}` never less and never more than it is."""

    def __init__(self, system: System) -> None:
        self.system = system

    def format_field(self, value: object, spec: str) -> str:
        if not isinstance(value, Quantity):
            return str(value)
        return units.show(value, self.system, rounding=_ROUNDINGS[spec])


def words(text: str, **parts: Quantity | str) -> Words:
    """`words("falls {fall} at {place}", fall=..., place=...)`."""
    return Words(text, parts)


NOTHING = Words("")


@dataclass(frozen=True, slots=True)
class State:
    """Where among the states something happened; empty where a check does not range over them."""

    duty: str = ""
    attitude: str = ""
    position: str = ""
    station: str = ""

    def __str__(self) -> str:
        return ", ".join(part for part in (self.duty, self.attitude, self.position, self.station) if part)


@dataclass(frozen=True, slots=True)
class Case:
    """The value in one state."""

    state: State
    value: Quantity


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One rule at one place, over all its states."""

    rule: str
    place: str
    verdict: Verdict
    why: Words
    value: Quantity | None = None
    low: Quantity | None = None
    high: Quantity | None = None
    worst: State = State()
    cases: tuple[Case, ...] = ()
    basis: Grade | None = Grade.MEASURED
    """The weakest grade that the verdict rests on; None where there is no verdict."""
    source: str = ""
    change: Words = NOTHING
    needs: str = ""
    known_as: str = ""
    """The place's name in earlier revisions, if it was another."""

    @property
    def id(self) -> str:
        """Stable between revisions of a plan."""
        return f"{self.rule}/{self.known_as or self.place}"

    @property
    def margin(self) -> Quantity | None:
        """How far the value is inside its nearer limit; negative outside."""
        if self.value is None:
            return None
        room = [self.value.value - self.low.value] if self.low is not None else []
        room += [self.high.value - self.value.value] if self.high is not None else []
        # A margin is a difference: a gauge pressure's has no reference, a temperature's no zero.
        dimension = {"pressure": "pressure_drop", "temperature": "temperature_difference"}.get(
            self.value.dimension, self.value.dimension
        )
        return Quantity(min(room), dimension) if room else None


def unchecked(rule: str, place: str, why: Words, needs: str) -> Finding:
    """The finding of a check that lacks an input."""
    return Finding(rule=rule, place=place, verdict=Verdict.UNCHECKED, why=why, needs=needs, basis=None)


def counts(findings: list[Finding]) -> dict[str, int]:
    """How many findings have each verdict."""
    return {verdict.value: sum(f.verdict is verdict for f in findings) for verdict in Verdict}
