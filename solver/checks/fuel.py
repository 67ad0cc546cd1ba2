"""Fuel supply: what the pump delivers at the rail's pressure against what the engine burns; what the rail holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, Verdict, Words, unchecked, words
from solver.checks.judging import by_duty, judge, untold
from solver.checks.roles import without_answer
from solver.components import between
from solver.devices import Pump, Regulator
from solver.fuels import answers, feeding, manifold, rails, regulators
from solver.solution import Solution

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.graph import Edge
    from solver.study import Study

    Array = npt.NDArray[np.float64]


VOLT = 0.1
"""In which a voltage is looked for [V]."""


def margin(study: Study) -> list[Finding]:
    """`fuel.margin`: fuel left over for the regulator's return, over the fuel burnt.

    In a return system the pump always delivers what its curve gives at the pressure that the regulator holds, so
    what comes back is what is left over. A regulator that has shut has nothing left to hold with.
    """
    found = []
    for circuit, solution in answers(study):
        if solution is None:
            found.append(without_answer("fuel.margin", circuit.name, circuit))
            continue
        burn = solution.model.batch.taken.sum(axis=1)
        valves = regulators(solution.model.circuit)
        if not valves:
            why = words("No bypass regulator lets fuel go back here; without a return what is left over is not judged.")
            needs = "the pump's flow and rise as solve prints them, held against its data sheet at the rail's pressure"
            found.append(unchecked("fuel.margin", circuit.name, why, needs))
            continue
        returned = np.sum([np.maximum(solution.flow(e.name), 0.0) for e in valves], axis=0)
        if not (burn > 0).any():
            continue
        left = returned / np.where(burn > 0, burn, np.nan)
        held = np.any([[s != "shut" for s in solution.switch(e.name)] for e in valves], axis=0)
        left = np.where(held, left, -1e-6)
        burning = np.flatnonzero(burn > 0)
        cases = by_duty([solution.model.duties[i] for i in burning], left[burning], "ratio")
        supply = _Supply(study, solution, burn, returned)
        limit, grades = study.plan.catalog.limit("fuel.margin"), [solution.model.grade]
        found.append(judge(limit, circuit.name, cases, why=supply.why, change=supply.change, grades=grades))
    return found


@dataclass(frozen=True)
class _Supply:
    """What the pumps that feed the rails give against what the engine burns, by duty."""

    study: Study
    solution: Solution
    burn: Array
    returned: Array

    @property
    def pumps(self) -> list[Edge]:
        """Those from which a rail is reached without another."""
        return feeding(self.solution.model.circuit)

    def rise(self, pump: Edge) -> Array:
        """What a pump has to lift so that the regulator holds its base [Pa], by duty; its lines as they flow now."""
        lifts = self.solution.total(pump.end) - self.solution.total(pump.start)
        valves = regulators(self.solution.model.circuit)
        model = self.solution.model
        held = [model.device(valve.name) for valve in valves]
        lacks = [
            device.held - self.solution.total(valve.start)
            for device, valve in zip(held, valves, strict=True)
            if isinstance(device, Regulator)
        ]
        return np.asarray(lifts + np.maximum(np.max(lacks, axis=0), 0.0))

    def gives(self, row: int) -> float | None:
        """Flow of the pumps at that rise [m3/s]; None where their curves do not go so far."""
        total = 0.0
        for pump in self.pumps:
            device = self.solution.model.device(pump.name)
            assert isinstance(device, Pump)
            rise, (first, last) = float(self.rise(pump)[row]), device.ends()
            if not first[row] <= rise <= last[row]:
                return None
            total += float(device.at(np.array([rise]), row)[0])
        return total

    def volts(self, row: int, wanted: float) -> float | None:
        """The least voltage of the one pump's curves with which it gives a flow [m3/s] at that rise [V]; else None."""
        if len(self.pumps) != 1:
            return None
        (pump,) = self.pumps
        device = self.solution.model.device(pump.name)
        assert isinstance(device, Pump)
        assert pump.component is not None
        rise = float(self.rise(pump)[row])
        if any(not curve.x[0] <= rise <= curve.x[-1] for curve in device.curves):
            return None
        curve = self.study.plan.catalog.curve(pump.component.figures["curve"])
        at = np.array(sorted({point.at for point in curve.points}))
        tried = np.arange(at[0], at[-1] + VOLT / 2, VOLT)
        flows = between(at, tried) @ np.array([float(one(rise)) for one in device.curves])
        enough = tried[flows >= wanted]
        return float(enough[0]) if enough.size else None

    def why(self, verdict: Verdict, case: Case) -> Words:
        i = self.solution.model.duties.index(case.state.duty)
        need = Quantity(float(self.burn[i]), "volume_flow")
        if verdict is not Verdict.FAIL:
            has = Quantity(float(self.burn[i] + self.returned[i]), "volume_flow")
            text = "At {duty} the engine burns {need}; the pump gives {has} at that pressure and voltage, {left} over."
            return words(text, duty=case.state.duty, need=need, has=has, left=case.value)
        text = "At {duty} the engine burns {need} and the pump cannot hold the pressure: the regulator has shut."
        gives = self.gives(i)
        if gives is None or not self.pumps:
            return words(text, duty=case.state.duty, need=need)
        rise = Quantity(float(self.rise(self.pumps[0])[i]), "pressure_drop")
        text += " At the {rise} that it would have to lift {pumps} gives {gives}, whatever it gives at less."
        names = " and ".join(pump.start.partition(".")[0] for pump in self.pumps)
        gives_ = Quantity(gives, "volume_flow")
        return words(text, duty=case.state.duty, need=need, rise=rise, gives=gives_, pumps=names)

    def change(self, _verdict: Verdict, case: Case) -> Words:
        i = self.solution.model.duties.index(case.state.duty)
        limit = self.study.plan.catalog.limit("fuel.margin")
        wanted = float(self.burn[i]) * (1.0 + (limit.least or 0.0))
        if not self.pumps:
            return words("A larger pump, or more volts at its plug.")
        facts: dict[str, Quantity | str] = {
            "wanted": Quantity(wanted, "volume_flow"),
            "rise": Quantity(float(self.rise(self.pumps[0])[i]), "pressure_drop"),
            "then": "then look at fuel.return and fuel.suction again",
        }
        text = (
            "A pump, or pumps side by side, that give {wanted:up} at {rise:up} by their curve at the voltage of their "
        )
        text += "plug"
        if (volts := self.volts(i, wanted)) is not None:
            facts["volts"] = Quantity(volts, "voltage")
            text += "; this one does with {volts} at its plug, measured under load"
        return words(text + ": {then}.", **facts)


def rail(study: Study) -> list[Finding]:
    """`fuel.rail`: pressure across the injectors over the regulator's base pressure, at every duty."""
    found = []
    for circuit, solution in answers(study):
        here = rails(circuit)
        if solution is None:
            found += [without_answer("fuel.rail", node.component.name, circuit) for node in here.values()]
            continue
        valves = regulators(solution.model.circuit)
        if len(valves) == 1 and valves[0].component is not None:
            found += [_rail(study, solution, valves[0], name) for name in here]
        else:
            needs = "the pressure at the rail as solve prints it, held against what the injectors are made for"
            text = "With {n} bypass regulators there is no one base pressure to hold it against."
            if not valves:
                text = "No bypass regulator holds this rail: without a return its pressure is not judged."
            why = words(text, n=str(len(valves)))
            found += [unchecked("fuel.rail", node.component.name, why, needs) for node in here.values()]
    return found


def _rail(study: Study, solution: Solution, valve: Edge, node: str) -> Finding:
    plan, duties = study.plan, solution.model.duties
    component = valve.component
    assert component is not None
    place = node.partition(".")[0]
    try:
        outside = manifold(plan, duties)
    except UnknownInputError as error:
        return untold("fuel.rail", place, error)
    # In the rail's bore the fuel all but stands: total pressure is what the injectors feel.
    across = solution.total(node) - outside
    base = np.array(component.figures["set"].over(duties))
    if (base <= 0).any():
        why = words("{component} holds no pressure: its base pressure is zero.", component=component.name)
        return unchecked("fuel.rail", place, why, f"set of {component.name}")
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
        if states[case.state.duty] == "wide open":
            return words("The regulator is wide open: a larger return line, or a smaller pump, or a larger regulator.")
        if states[case.state.duty] == "shut":
            return words("The regulator has shut: the pump cannot hold this pressure. More pump, or more volts.")
        if component.figures["reference"] != "manifold":
            return words("Refer the regulator to the manifold, so that the pressure across the injectors stays.")
        if case.value.value < 0:
            return words("What leads to {rail} takes it: a wider feed, or one from both its ends.", rail=place)
        return words("A regulator that rises less with what comes back, or a smaller pump.")

    limit = plan.catalog.limit("fuel.rail")
    return judge(limit, place, cases, why=why_rail, change=change, grades=[solution.model.grade])
