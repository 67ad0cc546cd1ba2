"""The ends of a run against its way, and the angle between two angled ones."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from catalogs.grades import Grade, weakest
from catalogs.units import Quantity
from lines.cures import other_ends
from lines.ends import BOTH, port_of
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from solver.checks.judging import judge, verdict_of

if TYPE_CHECKING:
    from catalogs.records import HoseEnd, Limit
    from lines.assembly import Assembly
    from solver.study import Study

BESIDE = 0.03
"""A line that passes a measured point by no more is not told [m]."""


# ---------------------------------------------------------------- ends


def ends(study: Study) -> list[Finding]:
    """`run.ends`: how far the hose itself has to bend behind an end to find its way."""
    found = []
    for made in study.assemblies.values():
        for i, (mark, which, chosen) in enumerate(zip("AB", BOTH, made.ends, strict=True)):
            place, port = f"{made.tag}.{which}", port_of(made.run, which)
            if chosen.end is None:
                why = words("No hose end was chosen at {port}.", port=port)
                found.append(unchecked("run.ends", place, why, chosen.needs))
            elif mark in made.unaimed:
                why = words("Which way {port} points is not known, so where its end puts the hose is not.", port=port)
                found.append(unchecked("run.ends", place, why, f"points of {port}"))
            elif made.route is not None and made.route.held[i].aimed and not made.stock.rigid and not made.astray:
                beside = made.route.held[i].missed
                found.append(
                    _beside(place, chosen.end, port, beside)
                    if beside > BESIDE
                    else _end(study, made, place, chosen.end, made.route.taken_up(i))
                )
    return found


def _beside(place: str, end: HoseEnd, port: str, missed: float) -> Finding:
    """An elbow that stands for a measured point which lies farther from the port than it."""
    facts: dict[str, Quantity | str] = {"end": end.id, "port": port, "missed": Quantity(missed, "length")}
    why = words(
        "{end} at {port} turns {missed} beside the point that was measured there: the line lies that much off.", **facts
    )
    change = words("See whether it may lie there; or turn the port, or measure the way with the end in place.")
    return Finding(rule="run.ends", place=place, verdict=Verdict.CAUTION, why=why, change=change,
                   value=facts["missed"], basis=end.grade_of("angle", "drop"))  # type: ignore[arg-type]  # fmt: skip


def _end(study: Study, made: Assembly, place: str, end: HoseEnd, left: float) -> Finding:
    others = [e for e in study.plan.catalog.ends_of(made.stock.id) if e.thread == end.thread and e.id != end.id]

    def why(verdict: Verdict, case: Case) -> Words:
        facts: dict[str, Quantity | str] = {"end": end.id, "left": case.value}
        if case.value.value < math.radians(0.5):
            return words("The hose leaves {end} along its way.", **facts)
        if verdict is Verdict.PASS:
            return words("Behind {end} the hose bends {left} to find its way.", **facts)
        return words("Behind {end} the hose has to bend {left} to find its way.", **facts)

    def change(_verdict: Verdict, _case: Case) -> Words:
        better = other_ends(study.plan, made.tag)
        i = 0 if place.endswith(BOTH[0]) else 1
        if better is not None and better[i].id != end.id:
            return words("Take {ends}, which fit, or turn the port.", ends=" and ".join(e.id for e in better))
        if not made.run.via:
            return words("Turn the port.")
        return words("Turn the port, or move the first point of the run into its line.")

    limit = study.plan.catalog.limit("run.ends")
    case = Case(State(), Quantity(left, "angle"))
    if not others:
        # A stock with one form of end only: the bend behind it is the only way, and its radius is judged.
        text = "Behind {end}, the only end of this hose for that seat, it bends {left}."
        said = words(text, end=end.id, left=case.value)
        return Finding(rule="run.ends", place=place, verdict=Verdict.PASS, why=said, value=case.value,
                       basis=end.grade_of("angle"), source=limit.source)  # fmt: skip
    return judge(limit, place, [case], why=why, change=change, grades=[end.grade_of("angle")])


# ---------------------------------------------------------------- clock angle


def clock(study: Study) -> list[Finding]:
    """`run.clock`: the angle between two angled ends by the run's way, held against a measured one."""
    return [_clock(study, made) for made in study.assemblies.values() if made.angled]


def _clock(study: Study, made: Assembly) -> Finding:
    given, found = made.run.clock, made.clock
    if given is None and found is None:
        why = words("Both ends are angled and the angle between them is not known.")
        needs = f"clock of {made.tag}: fit both ends finger tight on the vehicle and mark them"
        return unchecked("run.clock", made.tag, why, needs)
    if found is not None and given is not None and not made.run.via:
        found = None  # by two ports alone the elbows are only taken to look at each other
    if given is None or found is None:
        known = Quantity(found if given is None else given, "angle")  # type: ignore[arg-type]
        why = words("Clock angle {clock}, " + ("by its points." if given is None else "as measured."), clock=known)
        grade = _clock_grade(made) if given is None else Grade.MEASURED
        return Finding(rule="run.clock", place=made.tag, verdict=Verdict.PASS, why=why, value=known, basis=grade)
    limit = _clock_limit(study, made)
    apart = _apart(given, found)
    facts: dict[str, Quantity | str] = {
        "given": Quantity(given, "angle"),
        "found": Quantity(found, "angle"),
        "apart": Quantity(apart, "angle"),
    }
    mirrored = verdict_of(limit, _apart(2 * math.pi - given, found)) is Verdict.PASS

    def why_clock(verdict: Verdict, _case: Case) -> Words:
        if verdict is Verdict.PASS:
            return words("Measured {given}, by its points {found}.", **facts)
        text = "Measured {given}, but by its points {found}: {apart} apart."
        return words(text + (" It was counted clockwise." if mirrored else ""), **facts)

    def change_clock(_verdict: Verdict, _case: Case) -> Words:
        if mirrored:
            return words("Say clock = {found}: looking along the hose, counter-clockwise from the near end.", **facts)
        return words("Set both ends finger tight on the vehicle again, and measure the points nearest to them again.")

    case = Case(State(), Quantity(apart, "angle"))
    return judge(limit, made.tag, [case], why=why_clock, change=change_clock, grades=[_clock_grade(made)])


def _clock_limit(study: Study, made: Assembly) -> Limit:
    """The limit of the two angles: a caution from the tolerance of the bench for such a length on."""
    limit = study.plan.catalog.limit("run.clock")
    rows = study.plan.catalog.tolerances("clock-angle", made.length or 0.0)
    return limit.model_copy(update={"caution_above": rows[0].high.value, "source": rows[0].source}) if rows else limit


def _apart(a: float, b: float) -> float:
    """Two angles apart [rad], 0 to pi."""
    return abs((a - b + math.pi) % (2 * math.pi) - math.pi)


def _clock_grade(made: Assembly) -> Grade:
    return weakest(end.grade_of("angle") for end in made.chosen if end is not None)
