"""The pressure that each rail's injectors have, against what holds it."""

from __future__ import annotations

import functools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, Verdict, Words, unchecked, words
from solver.along import largest, line_ends
from solver.carrying import LOST, SAID
from solver.checks.even import taken
from solver.checks.filtersdue import worse
from solver.checks.judging import by_duty, judge, room, untold
from solver.checks.roles import without_answer
from solver.devices import Regulator
from solver.fuels import answers, felt, held_by, injector, manifold, owner, rails
from solver.model import feels_at
from solver.stated import asked_for

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.records import Limit
    from lines.graph import Edge
    from solver.along import Steps
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
                judged = functools.partial(_judged, study, holders[0], name)
                found.append(worse(study, solution, judged))
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


def _judged(study: Study, valve: Edge, place: str, solution: Solution, due: str) -> Finding:
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
    return _Rail(study, solution, valve, place, outside, base, due).finding()


@dataclass(frozen=True)
class _Rail:
    """One rail, by duty, at the injector that leaves the least room."""

    study: Study
    solution: Solution
    valve: Edge
    """What holds its pressure."""
    place: str
    outside: Array
    """Pressure in the manifold [Pa absolute], by duty."""
    base: Array
    due: str
    """What is said of its filters behind the duty."""
    level: bool = False
    """Is what a slope makes that nobody states left out?"""

    @functools.cached_property
    def each(self) -> Array:
        """Over the manifold [Pa], shape (injectors, duties)."""
        found = np.array([felt(self.solution, node) for node in self.nodes]) - self.outside
        return found - self.by_slope if self.level else found

    @functools.cached_property
    def which(self) -> list[int]:
        """The injector that counts, by duty."""
        over = self.each / self.base - 1.0
        return [min(range(len(self.nodes)), key=lambda k: room(self.limit, float(one[k]))) for one in over.T]

    @property
    def across(self) -> Array:
        """At that injector, over the manifold [Pa]."""
        return np.asarray(self.each[self.which, range(len(self.base))])

    @functools.cached_property
    def sloped(self) -> Array:
        """What the slope of the regulator that holds makes at its flow [Pa], by duty."""
        device = self.solution.model.device(self.valve.name)
        if not isinstance(device, Regulator):
            return np.zeros(len(self.base))
        sign = -1.0 if device.behind else 1.0
        made = sign * device.slope * self.solution.flow(self.valve.name)
        return np.where([state == "holding" for state in self.solution.switch(self.valve.name)], made, 0.0)

    @property
    def by_slope(self) -> Array:
        """The same where nobody states the slope; 0 where the plan does."""
        return np.zeros(len(self.base)) if "slope" in owner(self.valve).stated else self.sloped

    @property
    def limit(self) -> Limit:
        return self.study.plan.catalog.limit(RULE)

    @property
    def nodes(self) -> list[str]:
        return rails(self.solution.model.circuit)[self.place]

    @property
    def duties(self) -> list[str]:
        return self.solution.model.duties

    @property
    def holder(self) -> str:
        return owner(self.valve).name

    def finding(self) -> Finding:
        """What can be told without a slope that nobody states, where that slope makes it worse."""
        found = self.judged()
        level = replace(self, level=True).judged() if self.by_slope.any() else found
        if level.verdict.rank <= found.verdict.rank:
            return found
        if level.verdict is not Verdict.PASS:
            return level
        needs = asked_for(owner(self.valve), "slope")
        needs += "; or the pressure of the rail by a gauge, at idle and at full load"
        return unchecked(RULE, self.place, found.why, needs)

    def judged(self) -> Finding:
        """By its values as they are."""
        stations = [injector(self.nodes, k) for k in self.which]
        cases = by_duty(self.duties, self.across / self.base - 1.0, "ratio", stations=stations)
        grades = [self.solution.model.grade]
        return judge(self.limit, self.place, cases, why=self._why, change=self._change, grades=grades)

    def _state(self, row: int) -> str:
        return self.solution.switch(self.valve.name)[row]

    def _why(self, _verdict: Verdict, case: Case) -> Words:
        i = self.duties.index(case.state.duty)
        text = "At {duty}" + self.due + " the rail stands at {gauge}" + (" at {station}" if case.state.station else "")
        text += ": {across} across the injectors against a base of {base} ({holder} {state})."
        across, ambient = float(self.across[i]), float(self.study.plan.ambient.pressures[i])
        facts: dict[str, Quantity | str] = {}
        if self.by_slope[i]:
            slope = float(self._slope(i))
            text += " The slope of {holder} is not stated: taken as {slope}, "
            text += "it is not in that." if self.level else "that is {part} of the {off} between the two."
            facts |= {"slope": Quantity(slope, "pressure_per_flow")}
            facts |= {"part": Quantity(abs(float(self.by_slope[i])), "pressure_drop")}
            facts |= {"off": Quantity(abs(across - float(self.base[i])), "pressure_drop")}
        return words(
            text,
            duty=case.state.duty,
            station=case.state.station,
            gauge=Quantity(across + float(self.outside[i]) - ambient, "pressure", "gauge"),
            across=Quantity(across, "pressure_drop"),
            base=Quantity(float(self.base[i]), "pressure_drop"),
            holder=self.holder,
            state=self._state(i),
            **facts,
        )

    def _slope(self, row: int) -> float:
        device = self.solution.model.device(self.valve.name)
        return float(device.slope[row]) if isinstance(device, Regulator) else 0.0

    def _change(self, _verdict: Verdict, case: Case) -> Words:
        i = self.duties.index(case.state.duty)
        facts: dict[str, Quantity | str] = {"rail": self.place, "holder": self.holder, "says": SAID[self.valve.law]}
        if self._state(i) == LOST[self.valve.law]:
            return words("{holder} {says}: the pump cannot hold this pressure. See fuel.margin first.", **facts)
        if self._state(i) == "wide open":
            return words("The regulator is wide open: a larger return line, or a smaller pump, or a larger regulator.")
        if owner(self.valve).figures["reference"] != "manifold":
            return words("Refer {holder} to the manifold, so that the pressure across the injectors stays.", **facts)
        return self._low(i, facts) if case.value.value < 0 else self._high(i, facts)

    def _low(self, row: int, facts: dict[str, Quantity | str]) -> Words:
        way, lift = self._way(row), self.solution.model.lift
        climb, slope = f"the climb to {self.place}", f"the slope of {self.holder}"
        takes = taken(self.solution, way)
        ends = [feels_at(self.valve, self.solution.model.device(self.valve.name)), self.nodes[self.which[row]]]
        takes[climb] = np.full(len(self.base), lift[ends[1]] - lift[ends[0]])
        takes[slope] = np.zeros(len(self.base)) if self.level else -self.sloped
        most = largest(takes, row, 1)
        if not most:
            return words("Set {holder} higher, so that {rail} has its base.", **facts)
        thing, lost = most[0]
        cures = {climb: f"set {self.holder} higher by so much", slope: "one that falls less, or set higher"}
        text = (
            "The most between {holder} and {rail} takes {thing}, {lost}: " + cures.get(thing, self._cure(thing)) + "."
        )
        return words(text, thing=thing, lost=Quantity(lost, "pressure_drop"), **facts)

    def _cure(self, thing: str) -> str:
        component = self.study.plan.components.get(thing)
        if component is None or "loaded" not in component.figures:
            return "wider there"
        return "a larger one, or changed sooner" if self.due else "a larger one"

    def _way(self, row: int) -> Steps:
        """From where its pressure is held to the injector that counts."""
        circuit, device = self.solution.model.circuit, self.solution.model.device(self.valve.name)
        held = feels_at(self.valve, device)
        return circuit.shortest_way([held], self.nodes[self.which[row]], line_ends(circuit))

    def _high(self, row: int, facts: dict[str, Quantity | str]) -> Words:
        if self.valve.law == "bypass":
            here = felt(self.solution, self.nodes[self.which[row]])[row]
            lost = float(here - self.solution.total(self.valve.start)[row])
            if lost > (self.across[row] - self.base[row]) / 2:
                text = "{taken} of that is lost from {rail} on to {holder}: wider there, or {holder} nearer."
                return words(text, taken=Quantity(lost, "pressure_drop"), **facts)
            return words("A regulator that rises less with what comes back, or a smaller pump.")
        return words("Set {holder} lower, so that {rail} has its base.", **facts)
