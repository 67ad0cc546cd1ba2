"""Fuel supply: what the pump delivers at the rail's pressure against what the engine burns; what the rail holds."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, Verdict, Words, unchecked, words
from solver.carrying import LOST, carried, enlarged, fuelling, holds
from solver.checks.judging import by_duty, judge, untold
from solver.checks.roles import without_answer
from solver.components import between
from solver.fuels import answers, feeding, held_by, manifold, owner, rails, regulators

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.graph import Circuit, Edge
    from solver.carrying import Fuelling
    from solver.solution import Solution
    from solver.study import Study

    Array = npt.NDArray[np.float64]


VOLT = 0.1
"""In which a voltage is looked for [V]."""
SAID = {"bypass": "has shut", "supply": "stands wide open", "pump": "runs at full"}
"""How what holds a pressure no longer does, by its law."""


def margin(study: Study) -> list[Finding]:
    """`fuel.margin`: the most that may be burnt while the pressure of the rails is held, over what is burnt, less 1."""
    return [_margin(study, circuit, solution) for circuit, solution in answers(study) if _burns(solution)]


def _burns(solution: Solution | None) -> bool:
    return solution is None or bool((solution.model.batch.taken > 0).any())


def _margin(study: Study, circuit: Circuit, solution: Solution | None) -> Finding:
    if solution is None:
        return without_answer("fuel.margin", circuit.name, circuit)
    needs = "the pump's flow and rise as solve prints them, held against its data sheet at the rail's pressure"
    loose = sorted({node.component.name for name, node in rails(circuit).items() if not held_by(circuit, name)})
    if loose or not feeding(circuit):
        text = "Nothing holds the pressure of {rail}: no regulator, no pulsed pump. What is left over is not judged."
        if not loose:
            text = "No pump with a curve feeds the rails: what is left over is not judged."
        return unchecked("fuel.margin", circuit.name, words(text, rail=" and ".join(loose)), needs)
    here = fuelling(solution, study.plan.system)
    return _Supply(study, here.rows(np.flatnonzero(here.burn > 0)), solution).finding()


@dataclass(frozen=True)
class _Supply:
    """What the pumps that feed the rails can do against what the engine burns, by the duties that burn."""

    study: Study
    here: Fuelling
    solution: Solution

    @property
    def duties(self) -> list[str]:
        burn = self.solution.model.batch.taken.sum(axis=1)
        return [duty for duty, burnt in zip(self.solution.model.duties, burn, strict=True) if burnt > 0]

    @property
    def circuit(self) -> Circuit:
        return self.here.model.circuit

    @functools.cached_property
    def carried(self) -> Array:
        """The most that may be burnt [m3/s]; 0 where the pressure is not held even with nothing burnt."""
        return np.nan_to_num(carried(self.here))

    @property
    def pumps(self) -> str:
        """Those that feed the rails, in words."""
        return " and ".join(owner(edge).name for edge in feeding(self.circuit))

    @property
    def holders(self) -> str:
        """What holds the pressure, in words."""
        each = (owner(edge).name for node in rails(self.circuit) for edge in held_by(self.circuit, node))
        return " and ".join(dict.fromkeys(each))

    def finding(self) -> Finding:
        limit = self.study.plan.catalog.limit("fuel.margin")
        cases = by_duty(self.duties, self.carried / self.here.burn - 1.0, "ratio")
        grades = [self.solution.model.grade]
        return judge(limit, self.circuit.name, cases, why=self.why, change=self.change, grades=grades)

    def lift(self, answer: Solution, row: int) -> Quantity:
        """What the first of the pumps lifts [Pa]."""
        pump = feeding(self.circuit)[0]
        rise = float(answer.total(pump.end)[row] - answer.total(pump.start)[row])
        return Quantity(rise, "pressure_drop")

    def why(self, verdict: Verdict, case: Case) -> Words:
        i = self.duties.index(case.state.duty)
        most = self.carried[i]
        facts: dict[str, Quantity | str] = {
            "duty": case.state.duty,
            "need": Quantity(float(self.here.burn[i]), "volume_flow"),
            "has": Quantity(float(most), "volume_flow"),
            "pumps": self.pumps,
            "holders": self.holders,
            "left": case.value,
        }
        if verdict is not Verdict.FAIL:
            text = (
                "At {duty} the engine burns {need}; {pumps} can feed {has} at the pressure that {holders} holds and at "
            )
            return words(text + "that voltage, {left} more.", **facts)
        text = "At {duty} the engine burns {need} and {pumps} cannot hold the pressure: " + self._lost(i) + "."
        if most <= 0:
            return words(text + " It would not be held with nothing burnt either.", **facts)
        facts["rise"] = self.lift(self.here.burning(np.where(self.carried > 0, self.carried, self.here.burn)), i)
        text += " At the {rise} that it would have to lift {pumps} gives {has}, whatever it gives at less."
        return words(text, **facts)

    def _lost(self, row: int) -> str:
        """What no longer holds, in words."""
        number = self.solution.model.duties.index(self.duties[row])
        for node in rails(self.circuit):
            each = held_by(self.circuit, node)
            if all(self.solution.switch(edge.name)[number] == LOST[edge.law] for edge in each):
                return f"{owner(each[0]).name} {SAID[each[0].law]}"
        return "the rail falls"

    def change(self, _verdict: Verdict, case: Case) -> Words:
        i = self.duties.index(case.state.duty)
        limit = self.study.plan.catalog.limit("fuel.margin")
        wanted = self.here.burn * (1.0 + (limit.least or 0.0))
        facts: dict[str, Quantity | str] = {"wanted": Quantity(float(wanted[i]), "volume_flow")}
        times = enlarged(self.here, wanted)
        if np.isnan(times[i]):
            return words(
                "No pump of such a curve gives {wanted:up} at the pressure that it would take: one for more pressure, "
                "or wider lines between it and what it feeds.",
                **facts,
            )
        facts["rise"] = self.lift(self.here.larger(np.nan_to_num(times, nan=1.0)).burning(wanted), i)
        facts["then"] = "then look at fuel.suction again"
        if regulators(self.circuit):
            facts["then"] = "then look at fuel.return and fuel.suction again"
        text = "A pump, or pumps side by side, that give {wanted:up} at {rise:up} by their curve at the voltage of "
        text += "their plug"
        if (volts := self.volts(i, wanted[i])) is not None:
            facts["volts"] = Quantity(volts, "voltage")
            text += "; this one does with {volts} at its plug, measured under load"
        return words(text + ": {then}.", **facts)

    def volts(self, row: int, wanted: float) -> float | None:
        """The least voltage of the one pump's curves with which so much may be burnt [V]; None where none is enough."""
        if len(feeding(self.circuit)) != 1:
            return None
        curve = self.study.plan.catalog.curve(owner(feeding(self.circuit)[0]).figures["curve"])
        at = np.array(sorted({point.at for point in curve.points}))
        tried = np.arange(at[0], at[-1] + VOLT / 2, VOLT)
        there = self.here.rows(np.full(len(tried), row)).driven(between(at, tried))
        enough = tried[holds(there.burning(np.full(len(tried), wanted)))]
        return float(enough[0]) if enough.size else None


def rail(study: Study) -> list[Finding]:
    """`fuel.rail`: pressure across the injectors over the base pressure of what holds it, at every duty."""
    found = []
    for circuit, solution in answers(study):
        for name, node in rails(circuit).items():
            if solution is None:
                found.append(without_answer("fuel.rail", node.component.name, circuit))
                continue
            holders = held_by(circuit, name)
            if len(holders) == 1:
                found.append(_rail(study, solution, holders[0], name))
                continue
            needs = "the pressure at the rail as solve prints it, held against what the injectors are made for"
            text = (
                "With {n} things that hold its pressure, {holders}, there is no one base pressure to hold it against."
            )
            if not holders:
                text = "Nothing holds this rail: no regulator, no pulsed pump. Its pressure is not judged."
            each = " and ".join(owner(edge).name for edge in holders)
            why = words(text, n=str(len(holders)), holders=each)
            found.append(unchecked("fuel.rail", node.component.name, why, needs))
    return found


def _rail(study: Study, solution: Solution, valve: Edge, node: str) -> Finding:
    plan, duties, component = study.plan, solution.model.duties, owner(valve)
    place = node.partition(".")[0]
    try:
        outside = manifold(plan, duties)
    except UnknownInputError as error:
        return untold("fuel.rail", place, error)
    # In the rail's bore the fuel all but stands: total pressure is what the injectors feel.
    across = solution.total(node) - outside
    key = "holds" if valve.law == "pump" else "set"
    base = np.array(component.figures[key].over(duties))
    if (base <= 0).any():
        why = words("{component} holds no pressure: its base pressure is zero.", component=component.name)
        return unchecked("fuel.rail", place, why, f"{key} of {component.name}")
    cases = by_duty(duties, across / base - 1.0, "ratio")
    states = dict(zip(duties, solution.switch(valve.name), strict=True))
    gauge = solution.total(node) - np.array([plan.ambient.pressure[d] for d in duties])

    def why_rail(_verdict: Verdict, case: Case) -> Words:
        i = duties.index(case.state.duty)
        return words(
            "At {duty} the rail stands at {gauge}: {across} across the injectors against a base of {base} "
            "({component} {state}).",
            duty=case.state.duty,
            gauge=Quantity(float(gauge[i]), "pressure", "gauge"),
            across=Quantity(float(across[i]), "pressure_drop"),
            base=Quantity(float(base[i]), "pressure_drop"),
            component=component.name,
            state=states[case.state.duty],
        )

    def change(_verdict: Verdict, case: Case) -> Words:
        state, low = states[case.state.duty], case.value.value < 0
        if state == LOST[valve.law]:
            text = "{name} {lost}: the pump cannot hold this pressure. See fuel.margin first."
            return words(text, name=component.name, lost=SAID[valve.law])
        if state == "wide open":
            return words("The regulator is wide open: a larger return line, or a smaller pump, or a larger regulator.")
        if component.figures["reference"] != "manifold":
            text = "Refer {name} to the manifold, so that the pressure across the injectors stays."
            return words(text, name=component.name)
        if low:
            text = "What leads to {rail} takes it: a wider feed, or one from both its ends."
            if valve.law == "supply":
                text = "What leads from {name} to {rail} takes it, or {name} falls with the flow: a wider line, or a "
                text += "regulator that falls less."
            return words(text, rail=place, name=component.name)
        return words("A regulator that rises less with what comes back, or a smaller pump.")

    limit = plan.catalog.limit("fuel.rail")
    return judge(limit, place, cases, why=why_rail, change=change, grades=[solution.model.grade])
