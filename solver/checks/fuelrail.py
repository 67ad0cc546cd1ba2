"""The pressure that each rail's injectors have, against what holds it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, Verdict, Words, unchecked, words
from solver.carrying import LOST, SAID
from solver.checks.judging import by_duty, judge, room, untold
from solver.checks.roles import without_answer
from solver.fuels import answers, felt, held_by, injector, manifold, owner, rails

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.records import Limit
    from lines.graph import Edge
    from solver.solution import Solution
    from solver.study import Study

    Array = npt.NDArray[np.float64]

RULE = "fuel.rail"


def rail(study: Study) -> list[Finding]:
    """`fuel.rail`: pressure across each rail's injectors over the base pressure of what holds it, at every duty.

    Of a rail the injector counts that leaves the least room.
    """
    found = []
    for circuit, solution in answers(study):
        for name, nodes in rails(circuit).items():
            holders = held_by(circuit, nodes[0])
            if solution is None:
                found.append(without_answer(RULE, name, circuit))
            elif len(holders) == 1:
                found.append(_judged(study, solution, holders[0], name))
            else:
                found.append(_not_one(name, holders))
    return found


def _not_one(name: str, holders: list[Edge]) -> Finding:
    """The finding of a rail whose pressure not one thing holds."""
    text = "{n} things hold its pressure, {holders}: there is no one base pressure to hold it against."
    if not holders:
        text = "Nothing holds this rail: no regulator, no pulsed pump. Its pressure is not judged."
    each = " and ".join(owner(edge).name for edge in holders)
    needs = "the pressure at the rail as solve prints it, held against what the injectors are made for"
    return unchecked(RULE, name, words(text, n=str(len(holders)), holders=each), needs)


def _judged(study: Study, solution: Solution, valve: Edge, place: str) -> Finding:
    duties, component = solution.model.duties, owner(valve)
    try:
        outside = manifold(study.plan, duties)
    except UnknownInputError as error:
        return untold(RULE, place, error)
    key = "holds" if valve.law == "pump" else "set"
    base = np.array(component.figures[key].over(duties))
    if (base <= 0).any():
        why = words("{component} holds no pressure: its base pressure is zero.", component=component.name)
        return unchecked(RULE, place, why, f"{key} of {component.name}")
    return _Rail.of(study, solution, valve, place, outside, base).finding()


@dataclass(frozen=True)
class _Rail:
    """One rail, by duty, at the injector that leaves the least room."""

    limit: Limit
    solution: Solution
    valve: Edge
    """What holds its pressure."""
    place: str
    stations: list[str]
    here: Array
    """At that injector [Pa absolute]."""
    ambient: Array
    across: Array
    """Over the manifold [Pa]."""
    base: Array

    @classmethod
    def of(cls, study: Study, solution: Solution, valve: Edge, place: str, outside: Array, base: Array) -> _Rail:
        nodes, limit = rails(solution.model.circuit)[place], study.plan.catalog.limit(RULE)
        each, rows = np.array([felt(solution, node) for node in nodes]), range(len(base))
        over = (each - outside) / base - 1.0
        worst = [min(range(len(nodes)), key=lambda k: room(limit, float(over[k, i]))) for i in rows]
        here = each[worst, rows]
        stations = [injector(nodes, k) for k in worst]
        return cls(limit, solution, valve, place, stations, here, study.plan.ambient.pressures, here - outside, base)

    @property
    def duties(self) -> list[str]:
        return self.solution.model.duties

    @property
    def holder(self) -> str:
        return owner(self.valve).name

    def finding(self) -> Finding:
        cases = by_duty(self.duties, self.across / self.base - 1.0, "ratio", stations=self.stations)
        grades = [self.solution.model.grade]
        return judge(self.limit, self.place, cases, why=self._why, change=self._change, grades=grades)

    def _state(self, row: int) -> str:
        return self.solution.switch(self.valve.name)[row]

    def _why(self, _verdict: Verdict, case: Case) -> Words:
        i = self.duties.index(case.state.duty)
        text = "At {duty} the rail stands at {gauge}" + (" at {station}" if case.state.station else "")
        text += ": {across} across the injectors against a base of {base} ({holder} {state})."
        return words(
            text,
            duty=case.state.duty,
            station=case.state.station,
            gauge=Quantity(float(self.here[i] - self.ambient[i]), "pressure", "gauge"),
            across=Quantity(float(self.across[i]), "pressure_drop"),
            base=Quantity(float(self.base[i]), "pressure_drop"),
            holder=self.holder,
            state=self._state(i),
        )

    def _change(self, _verdict: Verdict, case: Case) -> Words:
        i = self.duties.index(case.state.duty)
        facts: dict[str, Quantity | str] = {"rail": self.place, "holder": self.holder, "lost": SAID[self.valve.law]}
        if self._state(i) == LOST[self.valve.law]:
            return words("{holder} {lost}: the pump cannot hold this pressure. See fuel.margin first.", **facts)
        if self._state(i) == "wide open":
            return words("The regulator is wide open: a larger return line, or a smaller pump, or a larger regulator.")
        if owner(self.valve).figures["reference"] != "manifold":
            return words("Refer {holder} to the manifold, so that the pressure across the injectors stays.", **facts)
        return self._low(facts) if case.value.value < 0 else self._high(i, facts)

    def _low(self, facts: dict[str, Quantity | str]) -> Words:
        if self.valve.law != "supply":
            return words("What leads to {rail} takes it: a wider feed, or one from both its ends.", **facts)
        text = "What leads from {holder} to {rail} takes it, or {holder} falls with the flow: a wider line, or a "
        return words(text + "regulator that falls less.", **facts)

    def _high(self, row: int, facts: dict[str, Quantity | str]) -> Words:
        if self.valve.law == "bypass":
            lost = float(self.here[row] - self.solution.total(self.valve.start)[row])
            if lost > (self.across[row] - self.base[row]) / 2:
                text = "{taken} of that is lost from {rail} on to {holder}: wider there, or {holder} nearer."
                return words(text, taken=Quantity(lost, "pressure_drop"), **facts)
            return words("A regulator that rises less with what comes back, or a smaller pump.")
        return words("Set {holder} lower, so that {rail} has its base.", **facts)
