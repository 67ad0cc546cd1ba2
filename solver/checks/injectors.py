"""The injectors of each rail: whether they pass what the engine burns, at every duty."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, Verdict, Words, unchecked, words
from solver.carrying import LOST, SAID
from solver.checks.even import Fed, groups
from solver.checks.filtersdue import worse
from solver.checks.judging import by_duty, judge, untold, verdict_of
from solver.checks.roles import without_answer
from solver.fuels import answers, felt, held_by, injector, manifold, owner, rails
from solver.injectors import injectors

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.records import Limit
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
                found.append(worse(study, solution, functools.partial(_duty_cycle, study, name)))
    return found


def _duty_cycle(study: Study, rail: str, solution: Solution, due: str) -> Finding:
    plan, duties, density = study.plan, solution.model.duties, solution.model.density
    try:
        outside = manifold(plan, duties)
        own = injectors(plan, plan.components[rail], density)
    except UnknownInputError as error:
        return untold(RULE, rail, error, "Whether its injectors pass the fuel cannot be told")
    driven = _Driven(plan.catalog.limit(RULE), rail, solution, outside, own, due)
    if not np.isfinite(driven.share).all():
        off = duties[int(np.isinf(driven.share).argmax())]
        why_not = words("At {duty} no pressure is left across its injectors.", duty=off)
        return unchecked(RULE, rail, why_not, f"what fuel.rail/{rail} asks for first")
    return driven.finding()


@dataclass(frozen=True)
class _Driven:
    """The injectors of one rail, by duty, at the one with the least pressure across it."""

    limit: Limit
    rail: str
    solution: Solution
    outside: Array
    """Pressure in the manifold [Pa absolute], by duty."""
    own: Injectors
    due: str
    """What is said of the filters behind the duty."""

    @property
    def nodes(self) -> list[str]:
        return rails(self.solution.model.circuit)[self.rail]

    @property
    def density(self) -> Array:
        return self.solution.model.density

    @functools.cached_property
    def each(self) -> Array:
        """Pressure across each [Pa], shape (injectors, duties)."""
        return np.array([felt(self.solution, node) for node in self.nodes]) - self.outside

    @property
    def across(self) -> Array:
        return np.asarray(self.each.min(axis=0))

    @property
    def burn(self) -> Array:
        """Of the whole rail [kg/s]."""
        model = self.solution.model
        at = [model.number[node] for node in self.nodes]
        return np.asarray(model.batch.taken[:, at].sum(axis=1) * self.density)

    @property
    def share(self) -> Array:
        """Of the time that they are driven [-]."""
        return self.own.duty_cycle(self.burn, self.across, self.density)

    def finding(self) -> Finding:
        stations = [injector(self.nodes, k) for k in self.each.argmin(axis=0)]
        cases = by_duty(self.solution.model.duties, self.share, "ratio", stations=stations)
        grades = [self.solution.model.grade, self.own.grade]
        return judge(self.limit, self.rail, cases, why=self._why, change=self._change, grades=grades)

    def _why(self, _verdict: Verdict, case: Case) -> Words:
        i, own = self.solution.model.duties.index(case.state.duty), self.own
        text = "At {duty}" + self.due + " each of its {count} injectors is driven {share} of the time: it has to pass "
        text += "{burn}, and held open it passes {open} with {across} across it"
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
            burn=Quantity(float(self.burn[i] / own.count), "mass_flow"),
            open=Quantity(float(own.passes(self.across, self.density)[i]), "mass_flow"),
            across=Quantity(float(self.across[i]), "pressure_drop"),
            **facts,
        )

    def _change(self, verdict: Verdict, case: Case) -> Words:
        circuit, i = self.solution.model.circuit, self.solution.model.duties.index(case.state.duty)
        most = self.limit.caution_above or 1.0
        for edge in held_by(circuit, self.nodes[0]):
            if self.solution.switch(edge.name)[i] == LOST[edge.law]:
                text = "{holder} {lost}, so that the rail lacks its pressure: see fuel.margin first."
                return words(text, holder=owner(edge).name, lost=SAID[edge.law])
        place, group = next(one for one in groups(circuit).items() if self.rail in one[1])
        best = Fed(self.solution, group, self.outside, self.due).across.max(axis=0)
        then = float(self.own.duty_cycle(self.burn, best, self.density)[i])
        if verdict_of(self.limit, then).rank <= verdict.rank:
            return _larger(self.own, i, (self.burn, self.across, self.density), most)
        facts: dict[str, Quantity | str] = {"place": place, "then": Quantity(then, "ratio")}
        text = "What fuel.even/{place} asks for: fed as the best-fed are, they are driven {then} of the time."
        if then <= most:
            return words(text, **facts)
        larger = _larger(self.own, i, (self.burn, best, self.density), most)
        return Words(text + " Besides: " + larger.text[:1].lower() + larger.text[1:], {**larger.parts, **facts})


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
    text = "Injectors that pass {rated:up} of this fuel or more each at {drop}, held open"
    if (box := own.rated(times)) is not None:
        text += " ({box:up} of the liquid they are tested with, {times:up} of what their box has)"
        facts |= {"box": box, "times": Quantity(times, "ratio")}
    text += ": then {most} of the time"
    if times**2 > MORE_PRESSURE:
        return words(text + ".", **facts)
    facts["more"] = Quantity(float(across[row]) * (MORE * times**2 - 1.0), "pressure_drop")
    return words(text + "; or {more:up} more base pressure, if fuel.margin then still passes.", **facts)
