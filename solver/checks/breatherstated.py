"""The crankcase pressure that a plan states of a sump, against its limit and against what the plan's breather gives."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, Verdict, Words, unchecked, words
from solver.blowby import is_estimated, sources
from solver.checks.breathercures import LESS_SUCTION
from solver.checks.judging import by_duty, judge
from solver.components import absolute
from solver.crankcase import Crankcase, breathers, crankcase_pressure

if TYPE_CHECKING:
    from lines.plan import Component, Plan
    from solver.study import Study


def measured(study: Study) -> list[Finding]:
    """`breather.pressure` of each sump whose plan states the crankcase pressure itself.

    And `breather.measured`: how far that is from what the plan's own breather gives.
    """
    sumps = [c for c in study.plan.components.values() if c.kind.id == "sump" and "crankcase" in c.stated]
    try:
        computed = crankcase_pressure(study.solutions)
    except UnknownInputError:
        computed = None
    found = [_measured(study.plan, sump, computed) for sump in sumps]
    return found if computed is None else found + [_compared(study, sump, computed) for sump in sumps]


def _measured(plan: Plan, sump: Component, computed: Crankcase | None) -> Finding:
    over = absolute(plan, sump.figures["crankcase"]) - plan.ambient.pressures
    cases = by_duty(plan.duties, over, "gas_drop")

    def why(_verdict: Verdict, case: Case) -> Words:
        side = "under" if case.value.value < 0 else "over"
        text = "At {duty} the crankcase stands {off} {side} the air outside, as the plan says."
        off = Quantity(abs(case.value.value), "gas_drop")
        return words(text, duty=case.state.duty, off=off, side=side)

    def change(_verdict: Verdict, case: Case) -> Words:
        if case.value.value < 0:
            return LESS_SUCTION
        text = "Wider breather lines or more of them: a crankcase in the plan tells which, and by how much."
        if computed is not None:
            text = (
                "Wider breather lines or more of them, once breather.measured/{sump} has told which pressure is right."
            )
        return words(text, sump=sump.name)

    return judge(plan.catalog.limit("breather.pressure"), sump.name, cases, why=why, change=change)


def _compared(study: Study, sump: Component, computed: Crankcase) -> Finding:
    """How far the pressure that the plan states is from that of its breather; where that is at least, under it."""
    plan, duties = study.plan, list(study.plan.duties)
    outside = plan.ambient.pressures
    stated = absolute(plan, sump.figures["crankcase"]) - outside
    given = computed.pressure - outside
    told = [i for i, duty in enumerate(duties) if duty not in computed.more_at or stated[i] < given[i]]
    if not told:
        why_not = words("The plan states a pressure over the least that its breather can give: both may be right.")
        return unchecked("breather.measured", sump.name, why_not, "what breather.pressure of the crankcase asks for")
    gaps = np.abs(stated - given)
    cases = by_duty([duties[i] for i in told], gaps[told], "gas_drop")

    def why(verdict: Verdict, case: Case) -> Words:
        row = duties.index(case.state.duty)
        text = "At {duty} the plan states {stated} against the air outside in {sump}, and its breather gives "
        text += "{least}{given}"
        text += ": that is one pressure." if verdict is Verdict.PASS else ": one of the two is wrong."
        return words(
            text,
            duty=case.state.duty,
            sump=sump.name,
            stated=Quantity(float(stated[row]), "gas_drop"),
            least="at least " if case.state.duty in computed.more_at else "",
            given=Quantity(float(given[row]), "gas_drop"),
        )

    def change(_verdict: Verdict, case: Case) -> Words:
        row = duties.index(case.state.duty)
        text = "Measure it again at {duty}, with a gauge on the dipstick tube. If it is as stated, "
        text += "more blows by than counted, or a line is narrower, clogged or kinked"
        if stated[row] < given[row]:
            text = text.replace("more blows", "less blows").replace(
                "a line is narrower, clogged or kinked", "there is another way out of the crankcase"
            )
        guessed = [
            circuit.nodes[node].component.name
            for circuit in breathers(study)
            for node in sources(circuit)
            if is_estimated(circuit.nodes[node].component)
        ]
        if guessed:
            text += "; blow_by of {guessed} is only estimated"
        text += ". Else take crankcase out of {sump}, whose drains go by it."
        return words(text, duty=case.state.duty, guessed=" and ".join(guessed), sump=sump.name)

    limit = plan.catalog.limit("breather.measured")
    return judge(limit, sump.name, cases, why=why, change=change, grades=[computed.grade])
