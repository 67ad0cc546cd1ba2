"""The findings as rows: the worst first; unchecked as loud as a caution; passes in few words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from catalogs.units import show
from lines.finding import Verdict
from reports.figures import basis

if TYPE_CHECKING:
    from collections.abc import Iterable

    from catalogs.units import System
    from lines.finding import Finding

ORDER = tuple(Verdict)


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
    """Only where it is not sure."""
    source: str


@dataclass(frozen=True, slots=True)
class Passed:
    """What passes one rule on one basis: places, and why, those of one reason together."""

    rule: str
    basis: str
    reasons: tuple[tuple[str, str], ...]


def verdict_rows(found: Iterable[Finding], system: System) -> list[Row]:
    """Every finding, fails first, then cautions, unchecked and passes, each by id."""
    return [_row(f, system) for f in sorted(found, key=lambda f: (ORDER.index(f.verdict), f.id))]


def _row(finding: Finding, system: System) -> Row:
    return Row(
        verdict=finding.verdict,
        id=finding.id,
        rule=finding.rule,
        place=finding.place,
        why=finding.why.say(system),
        change=finding.change.say(system),
        needs=finding.needs,
        value=show(finding.value, system) if finding.value is not None else "",
        limit=_limit(finding, system),
        worst=str(finding.worst),
        basis=basis(finding.basis),
        source=finding.source,
    )


def _limit(finding: Finding, system: System) -> str:
    sides = [f"at least {show(finding.low, system)}"] if finding.low is not None else []
    sides += [f"at most {show(finding.high, system)}"] if finding.high is not None else []
    return ", ".join(sides)


def passed(rows: Iterable[Row]) -> list[Passed]:
    """The passes in few words."""
    groups: dict[tuple[str, str], dict[str, list[str]]] = {}
    for row in rows:
        if row.verdict is Verdict.PASS:
            groups.setdefault((row.rule, row.basis), {}).setdefault(row.why, []).append(row.place)
    return [
        Passed(rule, basis_, tuple((", ".join(places), why) for why, places in reasons.items()))
        for (rule, basis_), reasons in groups.items()
    ]
