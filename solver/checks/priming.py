"""How long a fuel pump takes to fill its empty lines, and whether fuel comes to its inlet by itself."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, Verdict, Words, unchecked, words
from solver.checks.judging import by_duty, judge, untold
from solver.checks.roles import without_answer
from solver.fuels import fuel_circuits, owner, pumps
from solver.priming import Filling, far_ends, held
from solver.solution import Solution
from solver.stated import asked_for, figure

if TYPE_CHECKING:
    from lines.graph import Circuit, Edge
    from solver.study import Study

RULE = "fuel.prime"


def fills(study: Study) -> list[Finding]:
    """`fuel.prime`: the longest that each fuel pump takes to fill the empty lines behind it, at every duty's volts."""
    return [_fills(study, circuit, pump) for circuit in fuel_circuits(study) for pump in pumps(circuit)]


def _fills(study: Study, circuit: Circuit, pump: Edge) -> Finding:
    place, answer = owner(pump).name, study.solutions.get(circuit.name)
    if not isinstance(answer, Solution):  # its flows need none: a pump may fill lines that it is too weak for
        return without_answer(RULE, place, circuit)
    filling = Filling(answer, study.assemblies, pump, study.plan.ambient.pressures)
    try:
        lift, size, times = filling.lift(), held(answer, filling.edges), filling.times()
    except UnknownInputError as error:
        return untold(RULE, place, error, "How soon it fills its lines cannot be told")
    cases = by_duty(answer.model.duties, times.tolist(), "time")
    limit, key = (study.plan.catalog.limit(rule) for rule in (RULE, f"{RULE}.key"))
    turn = key.caution_above or 0.0
    facts: dict[str, Quantity | str] = {
        "ends": " and ".join(far_ends(circuit, pump.end)),
        "size": Quantity(size, "line_volume"),
        "turn": Quantity(turn, "time"),
    }

    def why(_verdict: Verdict, case: Case) -> Words:
        text = "Its empty lines to {ends} take {size}, which it fills in {time} "
        text += "or so" if filling.comes_together else "at most"
        text += " at the {volts} of {duty}, a joint loosened there for the air"
        text += f": {math.ceil(case.value.value / turn)} times key on of {{turn}}." if case.value.value > turn else "."
        volts = Quantity(float(owner(pump).figures["volts"].at(case.state.duty)), "voltage")
        return words(text, time=case.value, volts=volts, duty=case.state.duty, **facts)

    def change(_verdict: Verdict, _case: Case) -> Words:
        return words("For the first start run it by its relay, and watch it, until fuel is at {ends}.", **facts)

    judged = judge(limit, place, cases, why=why, change=change, grades=[answer.model.grade, key.grade])
    dry = _dry(pump, lift) if lift is not None and lift > 0 else None
    return judged if dry is None or judged.verdict.rank < dry.verdict.rank else dry


def _dry(pump: Edge, lift: float) -> Finding | None:
    """What is found of a pump that lies over the low fuel by so much [m]; None where it lifts that dry by its data."""
    component = owner(pump)
    by = Quantity(lift, "length")
    if component.figures.get("dry_lift") is None:
        text = "Its inlet line comes {by} over the low fuel: whether it lifts fuel into it dry is not stated, and many "
        return unchecked(RULE, component.name, words(text + "pumps do not.", by=by), asked_for(component, "dry_lift"))
    has = figure(component, "dry_lift")
    if has >= lift:
        return None
    return Finding(
        rule=RULE,
        place=component.name,
        verdict=Verdict.CAUTION,
        why=words(
            "Its inlet line comes {by} over the low fuel, and dry it lifts {has}: it does not draw the first fuel.",
            by=by,
            has=Quantity(has, "length"),
        ),
        change=words(
            "{more:up} lower, or its inlet line filled by hand before it runs.", more=Quantity(lift - has, "length")
        ),
    )
