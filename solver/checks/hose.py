"""What a run is as a piece of hose or tube: its length, the hose between its collars, its slack."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity
from lines.finding import NOTHING, Case, Finding, State, Verdict, Words, unchecked, words
from solver.checks.judging import judge

if TYPE_CHECKING:
    from lines.assembly import Assembly
    from solver.study import Study


def length(study: Study) -> list[Finding]:
    """`run.length`: is the cut length known, and how sure is it?"""
    return [_length(made) for made in study.assemblies.values()]


def _length(made: Assembly) -> Finding:
    if made.cut is None:
        why = words("The cut length is not known.")
        return unchecked("run.length", made.tag, why, "; ".join(made.needs))
    cut = Quantity(made.cut, "length")
    verdict, why, change = Verdict.PASS, words("Cut length {cut}.", cut=cut), NOTHING
    if made.overlaps:
        verdict = Verdict.FAIL
        free = Quantity(made.free or 0.0, "length")
        why = words(
            "Its two ends alone take up more than there is: {free} of hose is left between the collars.", free=free
        )
        change = words("Move a port, or take shorter ends, or a rigid adapter in place of the hose.")
    elif made.in_doubt:
        assert made.route is not None
        verdict = Verdict.CAUTION
        shortest = Quantity(made.route.line.shortest, "length")
        facts: dict[str, Quantity | str] = {"cut": cut, "shortest": shortest}
        why = words("Cut length {cut} by tape, but the shortest way through its points takes {shortest}.", **facts)
        change = words("Measure the run again, or its points: one of them is wrong.")
    elif made.provisional:
        verdict = Verdict.CAUTION
        because, todo = _provisional(made)
        why = words("Cut length {cut}, provisional: {because}.", cut=cut, because=" and ".join(because))
        change = words("{todo}.", todo=". ".join(todo))
    return Finding(
        rule="run.length", place=made.tag, verdict=verdict, why=why, change=change, value=cut, basis=made.grade
    )


def _provisional(made: Assembly) -> tuple[list[str], list[str]]:
    """Why a cut length is not final, and what makes it so."""
    because, todo = [], []
    if made.grade.provisional:
        because.append(f"the cut-off of its ends is {made.grade}")
        todo.append("Measure the ends on the bench first and put their cut-off in the shop's folder")
    if made.adapters_in_length:
        ports = " and ".join(joint.port for joint in made.adapters_in_length)
        because.append(f"the adapter at {ports} takes up some of it")
        todo.append(f"Screw the adapter in at {ports} and give its seat as the port's place (at) and thread")
    if made.unaimed:
        ends = " and ".join(made.unaimed)
        because.append(f"which way the port of end {ends} points is not known")
        todo.append(f"Say where the port of end {ends} points")
    if made.does_not_fit:
        because.append("it does not fit as it lies")
        todo.append("See run.radius first")
    if made.nuts_in_length:
        ends = " and ".join(made.nuts_in_length)
        because.append(f"how far the nut of end {ends} reaches over its seat is not known, and it was measured overall")
        todo.append("Measure from seat to seat, or put the overhang of the ends in the shop's folder")
    return because, todo


def free(study: Study) -> list[Finding]:
    """`run.free`: is there enough hose between the collars to be straight behind each?"""
    found = []
    for made in study.assemblies.values():
        if made.stock.rigid or made.free is None:
            continue
        outside = made.stock.outside
        case = Case(State(), Quantity(made.free / outside, "number"))
        least = study.plan.catalog.limit("run.free").caution_below or 0.0

        def why(verdict: Verdict, _case: Case, made: Assembly = made, least: float = least) -> Words:
            cut, need = Quantity(made.free or 0.0, "length"), Quantity(least * made.stock.outside, "length")
            if verdict is Verdict.PASS:
                return words("{cut} of hose between the collars: enough to be straight behind each collar.", cut=cut)
            return words(
                "{cut} of hose between the collars is too short to be straight behind both ({need}).",
                cut=cut,
                need=need,
            )

        def change(_verdict: Verdict, _case: Case) -> Words:
            return words("Turn the ends so that the hose may be longer, or join the ports with a rigid adapter.")

        limit = study.plan.catalog.limit("run.free")
        grades = [made.grade, made.stock.grade_of("outside")]
        found.append(judge(limit, made.tag, [case], why=why, change=change, grades=grades))
    return found


def slack(study: Study) -> list[Finding]:
    """`run.slack`: hose shortens under pressure, so it is never strung tight, in any position.

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
    free = made.free
    held = made.length - free
    cases = [Case(state, Quantity(free / max(least, 1e-6) - 1.0, "ratio")) for state, (least, _) in apart.items()]
    limit = study.plan.catalog.limit("run.slack")
    wanted = max(x for x in (limit.caution_below, limit.fail_below) if x is not None)

    def why(verdict: Verdict, case: Case) -> Words:
        where = f" at {case.state.position}" if case.state.position else ""
        if verdict is Verdict.PASS:
            return words("{slack} more hose than the straight distance" + where + ".", slack=case.value)
        if case.value.value > wanted:
            text = "{slack} more hose than the straight distance" + where + ": is a length in feet that was in inches?"
            return words(text, slack=case.value)
        text = "Only {slack} more hose than the straight distance" + where + ": it may shorten by 4 % under pressure."
        return words(text, slack=case.value)

    def change(_verdict: Verdict, case: Case) -> Words:
        if case.value.value > wanted:
            return words("Measure the run again before anything is cut.")
        need = Quantity(held + (1.0 + wanted) * apart[case.state][0], "length")
        return words("Make it {need:up} long between its seats, or lead it round a bend.", need=need)

    found = judge(limit, made.tag, cases, why=why, change=change, grades=[made.grade])
    if found.verdict is Verdict.FAIL:
        return found
    at_worst = [free / most - 1.0 for _, most in apart.values()]
    if min(at_worst) < (limit.fail_below or 0.0):
        text = (
            "Between {worst} and {best} more hose than the straight distance: it depends on which way its ports point."
        )
        why_open = words(text, worst=Quantity(min(at_worst), "ratio"), best=found.value or "")
        return unchecked(
            "run.slack", made.tag, why_open, f"where the ports of {made.tag} point, and their places or span"
        )
    return found


def _collars_apart(study: Study, made: Assembly) -> dict[State, tuple[float, float]]:
    """Least and most that the mouths of the two collars are apart in each position [m]; empty if it is not known.

    Where only the distance of the seats is known, what the ends hold lies along it at least, and across it at most.
    """
    held = (made.length or 0.0) - (made.free or 0.0)
    if made.run.chords:
        return {State(position=name): (chord - held, chord) for name, chord in made.run.chords.items()}
    mouths = made.mouths or made.mouths_of_straight_ends(study.plan)
    if mouths is not None:
        apart = float(np.linalg.norm(mouths[1] - mouths[0]))
        return {State(): (apart, apart)}
    return {} if made.chord is None else {State(): (made.chord - held, made.chord)}


def moves(study: Study) -> list[Finding]:
    """`run.moves`: a run on a moving body: beyond its chords nothing is judged."""
    plan = study.plan
    riding = [
        made
        for made in study.assemblies.values()
        if made.run.chords or any(plan.components[r.partition(".")[0]].on for r in (made.run.start, made.run.end))
    ]
    why = words("One of its ends moves. Its smallest bend, its twist and what it may touch on the way are not judged.")
    needs = "cycle the suspension by hand, lock to lock, with the hose on, and look"
    return [unchecked("run.moves", made.tag, why, needs) for made in riding]
