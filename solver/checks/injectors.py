"""The injectors of each rail: whether they pass what the engine burns, at every duty."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, Verdict, Words, unchecked, words
from solver.carrying import LOST, SAID
from solver.checks.judging import by_duty, judge, untold
from solver.checks.roles import without_answer
from solver.fuels import answers, felt, held_by, injector, manifold, owner, rails
from solver.injectors import injectors

if TYPE_CHECKING:
    import numpy.typing as npt

    from solver.injectors import Injectors
    from solver.solution import Solution
    from solver.study import Study

    Array = npt.NDArray[np.float64]

RULE = "fuel.injector"
MORE = 1.01
"""So many times the pressure is said: a regulator's own slope takes some of what it is set to [-]."""
MORE_PRESSURE = 1.4
"""A base pressure of more than so many times is not offered [-]."""


def duty_cycle(study: Study) -> list[Finding]:
    """`fuel.injector`: duty cycle of the injectors of each rail, by the one with the least pressure across it."""
    found = []
    for circuit, solution in answers(study):
        for name in rails(circuit):
            if solution is None:
                found.append(without_answer(RULE, name, circuit))
            else:
                found.append(_duty_cycle(study, solution, name))
    return found


def _duty_cycle(study: Study, solution: Solution, rail: str) -> Finding:
    plan, duties, nodes = study.plan, solution.model.duties, rails(solution.model.circuit)[rail]
    density, each = solution.model.density, np.array([felt(solution, node) for node in nodes])
    stations = [injector(nodes, k) for k in each.argmin(axis=0)]
    try:
        across = each.min(axis=0) - manifold(plan, duties)
        own = injectors(plan, plan.components[rail], density)
    except UnknownInputError as error:
        return untold(RULE, rail, error, "Whether its injectors pass the fuel cannot be told")
    burn = solution.model.batch.taken[:, [solution.model.number[node] for node in nodes]].sum(axis=1) * density
    share = own.duty_cycle(burn, across, density)
    if not np.isfinite(share).all():
        off = duties[int(np.isinf(share).argmax())]
        why_not = words("At {duty} no pressure is left across its injectors.", duty=off)
        return unchecked(RULE, rail, why_not, f"what fuel.rail/{rail} asks for first")
    limit = plan.catalog.limit(RULE)
    most = limit.caution_above or 1.0

    def why(_verdict: Verdict, case: Case) -> Words:
        i = duties.index(case.state.duty)
        text = "At {duty} each of its {count} injectors is driven {share} of the time: it has to pass {burn}, and held "
        text += "open it passes {open} with {across} across it"
        text += ", the least of them, at {station}." if case.state.station else "."
        facts: dict[str, Quantity | str] = {}
        if own.dead_time is None:
            text += " Its dead time is not stated and not in that."
        else:
            text += " {dead} of that are its dead time."
            facts["dead"] = Quantity(float(own.dead_time[i] * own.rate[i]), "ratio")
        return words(
            text,
            duty=case.state.duty,
            station=case.state.station,
            count=str(own.count),
            share=case.value,
            burn=Quantity(float(burn[i] / own.count), "mass_flow"),
            open=Quantity(float(own.passes(across, density)[i]), "mass_flow"),
            across=Quantity(float(across[i]), "pressure_drop"),
            **facts,
        )

    holders = held_by(solution.model.circuit, nodes[0])

    def change(_verdict: Verdict, case: Case) -> Words:
        i = duties.index(case.state.duty)
        for edge in holders:
            if solution.switch(edge.name)[i] == LOST[edge.law]:
                text = "{holder} {lost}, so that the rail lacks its pressure: see fuel.margin first."
                return words(text, holder=owner(edge).name, lost=SAID[edge.law])
        return _larger(own, i, (burn, across, density), most)

    cases = by_duty(duties, share, "ratio", stations=stations)
    return judge(limit, rail, cases, why=why, change=change, grades=[solution.model.grade, own.grade])


def _larger(own: Injectors, row: int, here: tuple[Array, Array, Array], most: float) -> Words:
    """The injectors, or the pressure, with which they are driven no more than `most` of the time at one duty."""
    burn, across, density = here
    dead = 0.0 if own.dead_time is None else float(own.dead_time[row] * own.rate[row])
    if most <= dead:
        return words("Their dead time alone is as much: others, or less engine speed.")
    needs = float(burn[row] / own.count) / (most - dead)
    times = needs / float(own.passes(across, density)[row])
    rated = float(own.flow * np.sqrt(density[row])) * times
    facts: dict[str, Quantity | str] = {
        "rated": Quantity(rated, "mass_flow"),
        "drop": Quantity(own.drop, "pressure_drop"),
        "most": Quantity(most, "ratio"),
    }
    text = "Injectors that pass {rated:up} of this fuel or more each at {drop}, held open: then {most} of the time"
    if times**2 > MORE_PRESSURE:
        return words(text + ".", **facts)
    facts["more"] = Quantity(float(across[row]) * (MORE * times**2 - 1.0), "pressure_drop")
    return words(text + "; or {more:up} more base pressure, if fuel.margin then still passes.", **facts)
