"""The findings as rows: the worst first; unchecked as loud as a caution; what is the same told once; passes by rule."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from catalogs.grades import weakest
from catalogs.units import Quantity, show
from lines.finding import Verdict
from reports.figures import basis

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Mapping, Sequence

    from catalogs.grades import Grade
    from catalogs.units import System
    from lines.finding import Finding
    from lines.plan import RunTable


@dataclass(frozen=True, slots=True)
class Row:
    """One finding in words."""

    verdict: Verdict
    id: str
    rule: str
    place: str
    why: str
    change: str
    needs: str
    value: str
    limit: str
    worst: str
    basis: str
    """In words, and only where it is not sure."""
    grade: str
    """The same in one word."""
    source: str


@dataclass(frozen=True, slots=True)
class Told:
    """What is said once: a finding, or several of one rule that differ in nothing but their places."""

    row: Row
    places: tuple[str, ...]

    @property
    def head(self) -> str:
        return f"{self.row.rule}/{', '.join(self.places)}"


def verdict_rows(found: Iterable[Finding], system: System) -> list[Row]:
    """Every finding, fails first, then cautions, unchecked and passes, each by id."""
    return [_row(f, system) for f in sorted(found, key=lambda f: (f.verdict.rank, f.id))]


def _row(finding: Finding, system: System) -> Row:
    return Row(
        verdict=finding.verdict,
        id=finding.id,
        rule=finding.rule,
        place=finding.place,
        why=finding.why.say(system),
        change=finding.change.say(system),
        needs=finding.needs,
        value=_shown(finding.value, finding, system) if finding.value is not None else "",
        limit=_limit(finding, system),
        worst=str(finding.worst),
        basis=basis(finding.basis),
        grade=_grade(finding.basis),
        source=finding.source,
    )


def _grade(grade: Grade | None) -> str:
    return grade.value if grade is not None and grade.provisional else ""


COUNTED = {"run.free": "outside diameters"}
"""What the plain numbers of a rule count."""


def _shown(value: Quantity, finding: Finding, system: System) -> str:
    return " ".join(filter(None, [show(value, system), COUNTED.get(finding.rule, "")]))


def _limit(finding: Finding, system: System) -> str:
    sides = [f"at least {show(finding.low, system)}"] if finding.low is not None else []
    sides += [f"at most {show(finding.high, system)}"] if finding.high is not None else []
    return ", ".join(sides)


MOST_NAMED = 6
"""Places that a sentence names itself; of more it says `each of them`."""
EACH = "each of them"


def told(rows: Iterable[Row], runs: Mapping[str, RunTable]) -> list[Told]:
    """What does not pass, in the order of its rows; rows of one sentence apart from the place are told once.

    Args:
        rows: the findings.
        runs: of the plan, for the names of a place: its run and its ports.
    """
    groups: dict[Row, list[Row]] = {}
    for row in rows:
        if row.verdict is not Verdict.PASS:
            bare = _placeless(row, _names(row.place, runs), lambda n: f"\0{n}")
            groups.setdefault(replace(bare, why=MEASURE.sub("\1", bare.why), value=""), []).append(row)
    return [one for group in groups.values() for one in _in_one(group, runs)]


MEASURE = re.compile(r"(?<![\w.-])-?\d+(?:\.\d+)?(?:[ /]\d+(?:/\d+)?)? (?:%|[A-Za-z]+)")
"""A number with its unit in a sentence."""


def _in_one(group: list[Row], runs: Mapping[str, RunTable]) -> list[Told]:
    """Rows of one sentence, apart from places and numbers: told once where they differ in one number at most."""
    numbers = [MEASURE.findall(row.why) for row in group]
    differ = [n for n, found in enumerate(zip(*numbers, strict=True)) if len(set(found)) > 1]
    if not differ:
        return [_told_once(group, runs)]
    if len(differ) > 1:
        by_number: dict[tuple[str, ...], list[Row]] = {}
        for row, found in zip(group, numbers, strict=True):
            by_number.setdefault(tuple(found), []).append(row)
        return [_told_once(part, runs) for part in by_number.values()]
    each: dict[str, list[str]] = {}
    for row, found in zip(group, numbers, strict=True):
        each.setdefault(found[differ[0]], []).append(row.place)
    listed = ", ".join(f"{number} ({', '.join(places)})" for number, places in each.items())
    one = _told_once(group, runs)
    place = list(MEASURE.finditer(one.row.why))[differ[0]]
    why = one.row.why[: place.start()] + listed + one.row.why[place.end() :]
    return [replace(one, row=replace(one.row, why=why, value="", worst=""))]


def _names(place: str, runs: Mapping[str, RunTable]) -> tuple[str, ...]:
    """What a sentence may call a place: a run's end by its port, a run by its tag, else as it is."""
    tag, _, which = place.partition(".")
    run = runs.get(tag)
    port = {"from": run.start, "to": run.end}.get(which) if run is not None else None
    return (place, *([port] if port else []), *([tag] if tag != place else []))


def _placeless(row: Row, names: Sequence[str], instead: Callable[[int], str]) -> Row:
    """A row with something else in place of the names of its place."""
    pattern = re.compile("|".join(rf"(?<![\w.]){re.escape(name)}(?![\w])" for name in names))

    def put(text: str) -> str:
        return pattern.sub(lambda found: instead(names.index(found[0])), text)

    return replace(row, id="", place="", why=put(row.why), change=put(row.change), needs=put(row.needs))


def _told_once(group: list[Row], runs: Mapping[str, RunTable]) -> Told:
    first, places = group[0], tuple(row.place for row in group)
    if len(group) == 1:
        return Told(first, places)
    each = [_names(place, runs) for place in places]

    def listed(n: int) -> str:
        words = list(dict.fromkeys(names[n] for names in each))
        return EACH if len(words) > MOST_NAMED else ", ".join(words)

    said = _placeless(first, each[0], listed)
    return Told(replace(said, id=f"{first.rule}/{', '.join(places)}"), places)


@dataclass(frozen=True, slots=True)
class Passed:
    """What passes, in one line: a rule with all its passes, or one pass that says what no other does."""

    head: str
    says: str
    grade: str
    """Of the least sure, where it is not sure."""


def passes(found: Iterable[Finding], system: System, circuits: Collection[str]) -> list[Passed]:
    """The passes by rule: how many, and the one with the least room. What speaks of a whole circuit is told in full.

    Args:
        found: findings.
        system: the units to say it in.
        circuits: the names of the plan's circuits.
    """
    groups: dict[str, list[Finding]] = {}
    for finding in sorted(found, key=lambda f: f.id):
        if finding.verdict is Verdict.PASS:
            groups.setdefault(finding.rule, []).append(finding)
    return [line for group in groups.values() for line in _passed(group, system, circuits)]


def _passed(group: list[Finding], system: System, circuits: Collection[str]) -> list[Passed]:
    if len(group) == 1 or all(f.place in circuits for f in group):
        return [Passed(f.id, f.why.say(system), _grade(f.basis)) for f in group]
    least = weakest(f.basis for f in group if f.basis is not None)
    says = ", ".join(filter(None, [f"{len(group)} pass", _tightest(group, system)]))
    return [Passed(group[0].rule, says, _grade(least))]


def _tightest(group: list[Finding], system: System) -> str:
    """The margin that is nearest to its limit, as a share of the limit where that means something, and its place.

    What stands on its limit itself, as a bend does that is laid as tight as its hose allows, has no margin to tell.
    """
    judged = [(f, f.value, f.margin, _share(f)) for f in group if not _on_its_limit(f)]
    on = len(group) - len(judged)
    says = f"{on} at the limit itself" if on else ""
    known = [
        (f, value, margin, share) for f, value, margin, share in judged if value is not None and margin is not None
    ]
    if not known:
        return says
    by_share = all(share is not None for _, _, _, share in known)
    nearest, value, margin, share = min(known, key=lambda k: (k[3] or 0.0) if by_share else k[2].value)
    size = Quantity(share, "ratio") if by_share and share is not None else margin
    size = replace(size, value=max(size.value, 0.0))
    shown = show(size, system) if by_share else _shown(size, nearest, system)
    tightest = f"tightest margin {shown} at {nearest.place}"
    told = f"{tightest} ({show(value, system)}, {_limit(nearest, system)})"
    return ", ".join(filter(None, [says, told]))


def _on_its_limit(finding: Finding) -> bool:
    value, margin = finding.value, finding.margin
    return value is not None and margin is not None and abs(margin.value) <= 1e-6 * abs(value.value)


SCALES = {"length", "bore", "pressure", "pressure_drop", "volume_flow", "mass_flow", "velocity", "power", "oil_volume"}
"""Dimensions of which a share means something: their zero is none of it, and they are no share themselves."""


def _share(finding: Finding) -> float | None:
    """The margin over the limit that it is to [-]; None where a share of that means nothing."""
    value, margin = finding.value, finding.margin
    if value is None or margin is None or value.dimension not in SCALES:
        return None
    limits = [side.value for side in (finding.low, finding.high) if side is not None]
    near = min(limits, key=lambda limit: abs(limit - value.value))
    return margin.value / near if near > 0 else None
