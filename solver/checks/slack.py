"""Hose shortens under pressure, so it is never strung tight, in any position."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity
from lines.bodies import bodies_of, carried_to, moves, positions
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from solver.checks.judging import judge

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.records import Limit
    from lines.assembly import Assembly
    from solver.study import Study

    Array = npt.NDArray[np.float64]


NOTHING_SHORT = 1e-3
"""A hose that is shorter than its place by less lies straight in it [-]."""
STUB = 4.0
"""Under so many outside diameters of hose nothing can be led aside."""


@dataclass(frozen=True)
class _Reach:
    """How far a hose has to reach."""

    made: Assembly
    free: float
    """Hose between the collars [m]."""
    held: float
    """Length from seat to seat that the ends hold [m]."""
    apart: dict[State, tuple[float, float]]
    """Least and most that the mouths of the two collars are apart in each position [m]."""
    wanted: float
    """Slack that is wanted [-]."""
    shrinks: Quantity | None
    """By how much of its length it may shorten under pressure; None where the tables do not say."""

    def why(self, verdict: Verdict, case: Case) -> Words:
        where = f" at {case.state.position}" if case.state.position else ""
        slack = case.value.value
        if slack < -NOTHING_SHORT:
            short = Quantity(self.apart[case.state][0] - self.free, "length")
            return words("{short} too short to reach" + where + ".", short=short)
        text = "{slack} more hose than the straight distance" + where
        if verdict is Verdict.PASS:
            return words(text + ".", slack=case.value)
        if slack > self.wanted:
            return words(text + ": is a length in feet that was in inches?", slack=case.value)
        if self.shrinks is None:
            return words("Only " + text + ".", slack=case.value)
        text = "Only " + text + ": it may shorten by {shrinks} under pressure."
        return words(text, slack=case.value, shrinks=self.shrinks)

    def change(self, _verdict: Verdict, case: Case) -> Words:
        if case.value.value > self.wanted:
            return words("Measure the run again before anything is cut.")
        straight = self.apart[case.state][0]
        if straight < STUB * self.made.stock.outside:
            return words("Put the ports farther apart, or join them with a rigid adapter.")
        need = Quantity(self.held + (1.0 + self.wanted) * straight, "length")
        if self.made.run.length is not None:
            return words("Make it {need:up} from seat to seat, or lead it round a bend.", need=need)
        # Two equal straights that meet aside of the line of their far ends.
        aside = Quantity(straight * math.sqrt((1.0 + self.wanted) ** 2 - 1.0) / 2, "length")
        text = "Lead its middle {aside:up} out of the straight line: {need:up} from seat to seat."
        return words(text, aside=aside, need=need)


def slack(study: Study) -> list[Finding]:
    """`run.slack`: hose free between its collars over their straight distance.

    A drain has no pressure in it and may lie straight.
    """
    drains = {tag for circuit in study.circuits.values() if circuit.gravity for tag in circuit.runs}
    return [
        _slack(study, made)
        for tag, made in study.assemblies.items()
        if not made.stock.rigid and tag not in drains and not made.overlaps
    ]


def _slack(study: Study, made: Assembly) -> Finding:
    if made.length is None or made.free is None:
        return unchecked("run.slack", made.tag, words("The length is not known."), "; ".join(made.needs))
    apart = _collars_apart(study, made)
    if not apart:
        unknown = words("How far its ends are apart in a straight line is not known, so its slack is not.")
        needs = f"the straight distance between the seats of {made.tag}: span, or `at` of both ports, or chords"
        return unchecked("run.slack", made.tag, unknown, needs)
    limit = study.plan.catalog.limit("run.slack")
    wanted = limit.least or 0.0
    if made.run.length is None:
        # Its points give it as long as it is: nobody mistook feet for inches.
        limit = limit.model_copy(update={"caution_above": None})
    reach = _Reach(made, made.free, made.length - made.free, apart, wanted, _shrinks(study, made))
    cases = [Case(state, Quantity(made.free / max(least, 1e-6) - 1.0, "ratio")) for state, (least, _) in apart.items()]
    found = judge(limit, made.tag, cases, why=reach.why, change=reach.change, grades=[made.grade])
    return found if found.verdict is Verdict.FAIL else _at_worst(limit, reach, found)


def _shrinks(study: Study, made: Assembly) -> Quantity | None:
    rows = study.plan.catalog.tolerances("pressurised-length", max(made.cut or 0.0, 0.0))
    return Quantity(-rows[0].low.value, rows[0].low.dimension) if rows else None


def _at_worst(limit: Limit, reach: _Reach, found: Finding) -> Finding:
    """The finding, unless it only holds where both ports look at each other and nobody knows whether they do."""
    worst = min(reach.free / most - 1.0 for _, most in reach.apart.values())
    if worst >= (limit.fail_below or 0.0):
        return found
    text = "Between {worst} and {best} more hose than the straight distance: it depends on which way its ports point."
    why = words(text, worst=Quantity(worst, "ratio"), best=found.value or "")
    return unchecked("run.slack", found.place, why, f"which way the ports of {found.place} point, and where they are")


def _collars_apart(study: Study, made: Assembly) -> dict[State, tuple[float, float]]:
    """Least and most that the mouths of the two collars are apart in each position [m]; empty if it is not known.

    Where only the distance of the seats is known, what the ends hold lies along it at least, and across it at most.
    """
    held = (made.length or 0.0) - (made.free or 0.0)
    if made.run.chords:
        return {State(position=name): (chord - held, chord) for name, chord in made.run.chords.items()}
    mouths = made.mouths or made.mouths_of_straight_ends(study.plan)
    if mouths is not None:
        return {state: (apart, apart) for state, apart in _in_positions(study, made, mouths).items()}
    return {} if made.chord is None else {State(): (made.chord - held, made.chord)}


def _in_positions(study: Study, made: Assembly, mouths: tuple[Array, Array]) -> dict[State, float]:
    """How far the two mouths are apart as measured, and in each position that moves one against the other [m]."""
    found = {State(): float(np.linalg.norm(mouths[1] - mouths[0]))}
    if not moves(study.plan, made.run):
        return found
    bodies = bodies_of(study.plan, made.run)
    for name in positions(study.plan, made.run):
        first, last = (carried_to(study.plan, body, name, mouth) for body, mouth in zip(bodies, mouths, strict=True))
        if first is not None and last is not None:
            found[State(position=name)] = float(np.linalg.norm(last - first))
    return found
