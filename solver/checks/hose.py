"""What a run is as a piece of hose or tube: its length, the hose between its collars."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalogs.units import Quantity
from lines import bodies
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
        over = Quantity(-(made.free or 0.0), "length")
        why = words("Its two ends alone take up more than there is: the collars overlap by {over}.", over=over)
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


def moves(study: Study) -> list[Finding]:
    """`run.moves`: of a run between bodies that move against each other only how far its ends are apart is judged."""
    moving = [made for made in study.assemblies.values() if bodies.moves(study.plan, made.run)]
    text = "One of its ends moves. Its smallest bend, its twist and what it may touch on the way are not judged."
    needs = "cycle the suspension by hand, lock to lock, with the line on, and look"
    return [unchecked("run.moves", made.tag, words(text), needs) for made in moving]
