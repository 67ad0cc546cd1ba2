"""From values and a limit to a verdict: the one way in which checks judge."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.grades import Grade, weakest
from catalogs.units import Quantity
from lines.finding import NOTHING, Case, Finding, State, Verdict, Words, unchecked, words

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable

    from catalogs.errors import UnknownInputError
    from catalogs.records import Limit
    from catalogs.units import Reference


def verdict_of(limit: Limit, value: float) -> Verdict:
    """The verdict of one value [SI], in the limit's dimension."""
    below, above = limit.fail_below, limit.fail_above
    if (below is not None and value < below) or (above is not None and value > above):
        return Verdict.FAIL
    below, above = limit.caution_below, limit.caution_above
    if (below is not None and value < below) or (above is not None and value > above):
        return Verdict.CAUTION
    return Verdict.PASS


def room(limit: Limit, value: float) -> float:
    """How far a value [SI] is inside the nearest side of its limit [SI]."""
    sides = [value - limit.least] if limit.least is not None else []
    sides += [limit.most - value] if limit.most is not None else []
    return min(sides)


def by_duty(
    duties: Iterable[str],
    values: Iterable[float],
    dimension: str,
    reference: Reference | None = None,
    stations: Iterable[str] = (),
) -> list[Case]:
    """The case of each duty, of one value for each [SI]; at a station each, where there are stations."""
    named = list(duties)
    at = list(stations) or [""] * len(named)
    return [
        Case(State(duty=duty, station=station), Quantity(float(value), dimension, reference))
        for duty, value, station in zip(named, values, at, strict=True)
    ]


def by_attitude(attitudes: Iterable[str], values: Iterable[float], dimension: str) -> list[Case]:
    """The case of each attitude, of one value for each [SI]."""
    return [
        Case(State(attitude=attitude), Quantity(float(value), dimension))
        for attitude, value in zip(attitudes, values, strict=True)
    ]


def untold(rule: str, place: str, error: UnknownInputError, what: str = "") -> Finding:
    """The finding of a check whose input is not known: what cannot be told without it, and why, as the error has it.

    >>> from catalogs.errors import UnknownInputError
    >>> unknown = UnknownInputError("where it runs is not known", needs="its points")
    >>> untold("drain.fall", "drain", unknown).why.say("us")
    'Where it runs is not known.'
    >>> untold("drain.fall", "drain", unknown, "How far it falls cannot be told").why.say("us")
    'How far it falls cannot be told: where it runs is not known.'
    """
    text, reason = (f"{what}: {{reason}}.", error.reason) if what else ("{reason}.", sentence(error.reason))
    return unchecked(rule, place, words(text, reason=reason), error.needs or "")


def sentence(text: str) -> str:
    """A text as a sentence begins."""
    return text[:1].upper() + text[1:]


def listed(names: Iterable[str]) -> str:
    """`a, b and c`."""
    *firsts, last = names
    return f"{', '.join(firsts)} and {last}" if firsts else last


def judge(
    limit: Limit,
    place: str,
    cases: list[Case],
    *,
    why: Callable[[Verdict, Case], Words],
    change: Callable[[Verdict, Case], Words] = lambda _v, _c: NOTHING,
    grades: Iterable[Grade] = (),
    transient: Collection[str] = (),
    alike: float = 0.0,
) -> Finding:
    """The finding of one rule at one place: the worst verdict over its cases, at the case with the least room.

    Args:
        limit: the limit; its id is the rule.
        place: what is judged.
        cases: value by state, at least one.
        why: the words for the worst case.
        change: what to do about it.
        grades: of what the values rest on.
        transient: attitudes in which a fail only cautions.
        alike: cases whose room differs by no more [SI] are alike, and the first of them counts.
    """

    def verdict(case: Case) -> Verdict:
        found = verdict_of(limit, case.value.value)
        return Verdict.CAUTION if found is Verdict.FAIL and case.state.attitude in transient else found

    found = min((verdict(c) for c in cases), key=lambda v: v.rank)
    rooms = [room(limit, c.value.value) if verdict(c) is found else np.inf for c in cases]
    worst = next(c for c, left in zip(cases, rooms, strict=True) if left <= min(rooms) + alike)
    low = limit.caution_below if found is not Verdict.FAIL or limit.fail_below is None else limit.fail_below
    high = limit.caution_above if found is not Verdict.FAIL or limit.fail_above is None else limit.fail_above
    low = limit.fail_below if low is None else low
    high = limit.fail_above if high is None else high
    return Finding(
        rule=limit.id,
        place=place,
        verdict=found,
        why=why(found, worst),
        change=change(found, worst) if found is not Verdict.PASS else NOTHING,
        value=worst.value,
        low=None if low is None else Quantity(low, limit.dimension),
        high=None if high is None else Quantity(high, limit.dimension),
        worst=worst.state,
        cases=tuple(cases),
        basis=weakest([*grades, limit.grade]),
        source=limit.source,
    )
