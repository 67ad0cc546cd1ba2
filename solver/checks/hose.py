"""What a run is as a piece of hose or tube: its length, its slack, its bends, its clock angle."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from catalogs.grades import Grade
from catalogs.units import Quantity
from lines.assembly import Assembly, bend_radii
from lines.ends import Which, port_turn
from lines.finding import NOTHING, Case, Finding, State, Verdict, Words, unchecked, words
from solver.checks.judging import judge

if TYPE_CHECKING:
    from catalogs.records import HoseEnd
    from solver.study import Study


BOTH: tuple[Which, Which] = ("from", "to")


def length(study: Study) -> list[Finding]:
    """`run.length`: is the cut length known, and how sure is it?"""
    return [_length(made) for made in study.assemblies.values()]


def _length(made: Assembly) -> Finding:
    if made.cut is None:
        why = words("The cut length is not known.")
        return unchecked("run.length", made.tag, why, "; ".join(made.needs))
    cut = Quantity(made.cut, "length")
    verdict, why, change = Verdict.PASS, words("Cut length {cut}.", cut=cut), NOTHING
    if made.cut <= 0:
        verdict = Verdict.FAIL
        why = words("Its two ends alone are longer than the place between the ports: {cut} of hose is left.", cut=cut)
        change = words("Move a port, or take shorter ends, or a rigid adapter in place of the hose.")
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
    return because, todo


def free(study: Study) -> list[Finding]:
    """`run.free`: is there enough hose between the collars to be straight behind each?"""
    found = []
    for made in study.assemblies.values():
        if made.stock.rigid or made.cut is None or made.cut <= 0:
            continue
        outside = made.stock.outside
        case = Case(State(), Quantity(made.cut / outside, "number"))
        least = study.plan.catalog.limit("run.free").caution_below or 0.0

        def why(verdict: Verdict, _case: Case, made: Assembly = made, least: float = least) -> Words:
            cut, need = Quantity(made.cut or 0.0, "length"), Quantity(least * made.stock.outside, "length")
            if verdict is Verdict.PASS:
                return words("{cut} of hose between the ends: enough to be straight behind each collar.", cut=cut)
            return words(
                "{cut} of hose between the ends is too short to be straight behind both ({need}).",
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
    return [_slack(study, made) for tag, made in study.assemblies.items() if not made.stock.rigid and tag not in drains]


def _slack(study: Study, made: Assembly) -> Finding:
    chords = {State(position=name): chord for name, chord in made.run.chords.items()}
    if not chords and made.shape.chord is not None:
        chords = {State(): made.shape.chord}
    if made.length is None or made.cut is None:
        return unchecked("run.slack", made.tag, words("The length is not known."), "; ".join(made.needs))
    if not chords:
        unknown = words("How far its ends are apart in a straight line is not known, so its slack is not.")
        needs = f"the straight distance between the seats of {made.tag}: span, or `at` of both ports, or chords"
        return unchecked("run.slack", made.tag, unknown, needs)
    collars = made.length - made.cut
    cases = [
        Case(state, Quantity(made.cut / max(chord - collars, 1e-6) - 1.0, "ratio")) for state, chord in chords.items()
    ]
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
        chord = chords[case.state]
        need = Quantity(collars + (1.0 + wanted) * (chord - collars), "length")
        return words("Make it {need:up} long between its seats, or lead it round a bend.", need=need)

    return judge(limit, made.tag, cases, why=why, change=change, grades=[made.grade])


def radius(study: Study) -> list[Finding]:
    """`run.radius`: the tightest bend against the stock's least radius, as the stock defines it."""
    return [_radius(made) for made in study.assemblies.values()]


def _radius(made: Assembly) -> Finding:
    corners, stock = bend_radii(made), made.stock
    least = Quantity(stock.bend_radius, "length")
    facts: dict[str, Quantity | str] = {"stock": stock.id, "least": least}
    if corners is None:
        why = words("Its bends were not measured; {stock} must not be bent tighter than {least}.", **facts)
        needs = f"bends of {made.tag}: the turn and inside radius of each, or the points of the run (via)"
        return unchecked("run.radius", made.tag, why, needs)
    why, change, verdict, value, worst = (
        words("It runs straight: nothing is bent."),
        NOTHING,
        Verdict.PASS,
        None,
        State(),
    )
    if corners:
        tightest = min(corners, key=lambda c: c.radius)
        inside = stock.radius_to == "inside"
        value = Quantity(max(tightest.radius - (stock.outside / 2 if inside else 0.0), 0.0), "length")
        verdict = Verdict.PASS if value.value >= stock.bend_radius - 1e-9 else Verdict.FAIL
        worst = State(station=f"bend {corners.index(tightest) + 1}")
        facts |= {"bend": worst.station, "value": value, "turn": Quantity(tightest.turn, "angle")}
        facts["to"] = "on its inside" if inside else "to its centre line"
        why, change = _radius_words(verdict, measured=made.shape.points is None, facts=facts)
    return Finding(
        rule="run.radius",
        place=made.tag,
        verdict=verdict,
        why=why,
        change=change,
        value=value,
        low=least,
        worst=worst,
        basis=stock.grade_of("bend_radius", "outside"),
        source=stock.origin("bend_radius").source,
    )


def _radius_words(verdict: Verdict, *, measured: bool, facts: dict[str, Quantity | str]) -> tuple[Words, Words]:
    has = "is {value}" if measured else "has room for {value}"
    if verdict is Verdict.PASS:
        return words(
            f"Tightest is {{bend}} ({{turn}}): it {has} {{to}}; {{stock}} asks for {{least}}.", **facts
        ), NOTHING
    kept = "" if measured else ", two hose diameters kept straight behind each collar"
    text = f"At {{bend}} ({{turn}}) the hose {has} {{to}}{kept}; {{stock}} must not be bent tighter than {{least}}."
    change = words("An angled end in place of that bend, or more room for it, or a stock that bends tighter.")
    return words(text, **facts), change


def ends(study: Study) -> list[Finding]:
    """`run.ends`: do the angles of the ends fit the way from port to path?"""
    found = []
    for made in study.assemblies.values():
        for which, chosen in zip(BOTH, made.ends, strict=True):
            turn = port_turn(study.plan, made.tag, which)
            place, port = f"{made.tag}.{which}", made.run.start if which == "from" else made.run.end
            if chosen.end is None:
                found.append(
                    unchecked("run.ends", place, words("No hose end was chosen at {port}.", port=port), chosen.needs)
                )
            elif turn is not None:
                found.append(_end(study, place, port, chosen.end, turn))
    return found


def _end(study: Study, place: str, port: str, end: HoseEnd, turn: float) -> Finding:
    def why(verdict: Verdict, case: Case) -> Words:
        facts: dict[str, Quantity | str] = {
            "port": port,
            "turn": Quantity(turn, "angle"),
            "end": end.id,
            "left": case.value,
        }
        if verdict is Verdict.PASS:
            return words("At {port} the run needs an end of {turn}; {end} is off by {left}.", **facts)
        text = (
            "At {port} the run needs an end of {turn}; {end} is off by {left}, which the hose would bend in its collar."
        )
        return words(text, **facts)

    def change(_verdict: Verdict, _case: Case) -> Words:
        return words(
            "Lead the first piece of the run along the end's axis, turn the port, or take an end of another angle."
        )

    case = Case(State(), Quantity(abs(turn - end.angle), "angle"))
    limit = study.plan.catalog.limit("run.ends")
    return judge(limit, place, [case], why=why, change=change, grades=[end.grade_of("angle")])


def clock(study: Study) -> list[Finding]:
    """`run.clock`: two angled ends need a clock angle; a measured one is printed as given."""
    found = []
    for made in study.assemblies.values():
        bent = [e.end is not None and e.end.angle > math.radians(1) for e in made.ends]
        if not all(bent):
            continue
        if made.run.clock is None:
            why = words("Both ends are angled and the angle between them is not known.")
            needs = f"clock of {made.tag}: fit both ends finger tight on the vehicle and mark them"
            found.append(unchecked("run.clock", made.tag, why, needs))
        else:
            why = words("Clock angle {clock}, as measured.", clock=Quantity(made.run.clock, "angle"))
            found.append(Finding(rule="run.clock", place=made.tag, verdict=Verdict.PASS, why=why, basis=Grade.MEASURED))
    return found


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
