"""Fuel supply: the most that the pump feeds at the rail's pressure against what the engine burns."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity
from lines.finding import Case, Finding, Verdict, Words, unchecked, words
from solver.carrying import LOST, SAID, carried, enlarged, fuelling, holds
from solver.checks.judging import by_duty, judge
from solver.checks.roles import without_answer
from solver.components import between
from solver.fuels import answers, feeding, held_by, owner, rails, regulators
from solver.solution import Solution, solve_circuit

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.graph import Circuit
    from solver.carrying import Fuelling
    from solver.solution import Unsolved
    from solver.study import Study

    Array = npt.NDArray[np.float64]


RULE = "fuel.margin"
TOLD = 0.999
"""Filters that are due are told of where less than so many times is carried with them."""
VOLT = 0.1
"""In which a voltage is looked for [V]."""


def margin(study: Study) -> list[Finding]:
    """`fuel.margin`: the most that may be burnt while the pressure of the rails is held, over what is burnt, less 1.

    Also where what is burnt has no answer: a pump of which more is asked than its curve has is a reason for that.
    """
    found = [_margin(study, study.solutions[circuit.name]) for circuit, _ in answers(study)]
    return [finding for finding in found if finding is not None]


def _margin(study: Study, answer: Solution | Unsolved) -> Finding | None:
    """The finding of a circuit; None where nothing is burnt in it."""
    if not isinstance(answer, Solution):
        return without_answer(RULE, answer.circuit.name, answer.circuit)
    circuit, burn = answer.model.circuit, fuelling(answer, study.plan.system).burn
    if not (burn > 0).any():
        return None
    needs = "the pump's flow and rise as solve prints them, held against its data sheet at the rail's pressure"
    loose = [name for name, nodes in rails(circuit).items() if not held_by(circuit, nodes[0])]
    if loose or not feeding(circuit):
        text = "Nothing holds the pressure of {rail}: no regulator, no pulsed pump. What is left over is not judged."
        if not loose:
            text = "No pump with a curve feeds the rails: what is left over is not judged."
        return unchecked(RULE, circuit.name, words(text, rail=" and ".join(loose)), needs)
    due = solve_circuit(study.plan, circuit, study.assemblies, loaded=True)
    rows = np.flatnonzero(burn > 0)
    each = [fuelling(one, study.plan.system).rows(rows) for one in (due, answer)]
    supply = _Supply(study, [answer.model.duties[i] for i in rows], each)
    lost = [duty for duty, most in zip(supply.duties, supply.carried, strict=True) if np.isnan(most)]
    if any(duty in answer.reasons for duty in lost):
        return without_answer(RULE, circuit.name, circuit)
    return supply.finding()


@dataclass(frozen=True)
class _Supply:
    """What the pumps that feed the rails can do against what the engine burns, by the duties that burn."""

    study: Study
    duties: list[str]
    each: list[Fuelling]
    """With the filters due, and with them clean."""

    @property
    def circuit(self) -> Circuit:
        return self.each[0].model.circuit

    @property
    def burn(self) -> Array:
        return self.each[0].burn

    @functools.cached_property
    def carries(self) -> Array:
        """The most that may be burnt with each [m3/s], shape (each, duties)."""
        return np.stack([carried(one) for one in self.each])

    @property
    def carried(self) -> Array:
        """The least of them [m3/s]; nan where the pressure is not held even with nothing burnt."""
        return np.asarray(self.carries.min(axis=0))

    def here(self, row: int) -> Fuelling:
        """One duty of them, with the filters with which less is carried."""
        return self.each[int(np.nan_to_num(self.carries[:, row]).argmin())].rows(np.array([row]))

    @property
    def pumps(self) -> str:
        """Those that feed the rails, in words."""
        return " and ".join(owner(edge).name for edge in feeding(self.circuit))

    @property
    def holders(self) -> str:
        """What holds the pressure, in words."""
        each = (owner(edge).name for nodes in rails(self.circuit).values() for edge in held_by(self.circuit, nodes[0]))
        return " and ".join(dict.fromkeys(each))

    def finding(self) -> Finding:
        cases = by_duty(self.duties, np.nan_to_num(self.carried) / self.burn - 1.0, "ratio")
        limit, grades = self.study.plan.catalog.limit(RULE), [self.each[0].model.grade]
        return judge(limit, self.circuit.name, cases, why=self.why, change=self.change, grades=grades)

    def why(self, verdict: Verdict, case: Case) -> Words:
        i = self.duties.index(case.state.duty)
        facts: dict[str, Quantity | str] = {
            "duty": case.state.duty,
            "need": Quantity(float(self.burn[i]), "volume_flow"),
            "has": Quantity(float(np.nan_to_num(self.carried[i])), "volume_flow"),
            "clean": Quantity(float(np.nan_to_num(self.carries[-1, i])), "volume_flow"),
            "pumps": self.pumps,
            "holders": self.holders,
            "left": case.value,
        }
        due = " with the filters due ({clean} with them clean)" if self._due_counts(i) else ""
        at = "At {duty}" + self._conditions(i, facts)
        if verdict is not Verdict.FAIL:
            text = at + " the engine burns {need}; {pumps} can feed {has}" + due + " at {rise} while {holders} holds: "
            return words(text + "{left} more.", **facts)
        text = at + " the engine burns {need} and {pumps} cannot hold the pressure" + self._lost(i) + "."
        if np.isnan(self.carried[i]):
            return words(text + " It would not be held with nothing burnt either.", **facts)
        text += " At the {rise} that it would have to lift {pumps} gives {has}" + due + ", whatever it gives at less."
        return words(text, **facts)

    def _conditions(self, row: int, facts: dict[str, Quantity | str]) -> str:
        """The boost and the voltage that it rests on, in brackets; they and what is lifted are put into facts."""
        duty, plan = self.duties[row], self.study.plan
        said = []
        if (boost := plan.duties[duty].boost) is not None:
            over = boost.absolute(plan.ambient.pressure[duty]) - plan.ambient.pressure[duty]
            facts["boost"] = Quantity(over, "pressure", "gauge")
            said.append("{boost} in the manifold")
        volts = {float(owner(edge).figures["volts"].at(duty)) for edge in feeding(self.circuit)}
        if len(volts) == 1:
            facts["volts"] = Quantity(volts.pop(), "voltage")
            said.append("{volts}")
        if not np.isnan(self.carried[row]):
            facts["rise"] = self._lift(self.here(row).burning(self.carried[row : row + 1]))
        return f" ({', '.join(said)})" if said else ""

    def _due_counts(self, row: int) -> bool:
        """Is less carried with the filters due, by more than is looked for?"""
        due, clean = self.carries[:, row]
        return bool(due < TOLD * clean)

    def _lift(self, answer: Solution) -> Quantity:
        """What the first of the pumps lifts in an answer of one row."""
        pump = feeding(self.circuit)[0]
        return Quantity(float(answer.total(pump.end)[0] - answer.total(pump.start)[0]), "pressure_drop")

    def _lost(self, row: int) -> str:
        """What no longer holds, in words."""
        here = self.here(row)
        answer = here.burning(here.burn)
        if not answer.solved.all():
            return ": so much has no answer"
        for nodes in rails(self.circuit).values():
            each = held_by(self.circuit, nodes[0])
            if all(answer.switch(edge.name)[0] == LOST[edge.law] for edge in each):
                return f": {owner(each[0]).name} {SAID[each[0].law]}"
        return ""

    def change(self, _verdict: Verdict, case: Case) -> Words:
        i = self.duties.index(case.state.duty)
        limit, here = self.study.plan.catalog.limit(RULE), self.here(i)
        wanted = here.burn * (1.0 + (limit.least or 0.0))
        facts: dict[str, Quantity | str] = {"wanted": Quantity(float(wanted[0]), "volume_flow")}
        times = enlarged(here, wanted)
        if np.isnan(times[0]):
            text = (
                "No pump of such a curve gives {wanted:up} at the pressure that it would take: one for more pressure, "
            )
            return words(text + "or wider lines between it and what it feeds.", **facts)
        facts["rise"] = self._lift(here.larger(times).burning(wanted))
        back = "fuel.return and " if regulators(self.circuit) else ""
        facts["then"] = f"then look at {back}fuel.suction again"
        text = "A pump, or pumps side by side, that give {wanted:up} at {rise:up} by their curve at the voltage of "
        text += "their plug"
        if (volts := self._volts(here, float(wanted[0]))) is not None:
            facts["volts"] = Quantity(volts, "voltage")
            text += "; this one does with {volts} at its plug, measured under load"
        return words(text + ": {then}.", **facts)

    def _volts(self, here: Fuelling, wanted: float) -> float | None:
        """The least voltage of the one pump's curves with which so much may be burnt [V]; None where none is enough."""
        if len(feeding(self.circuit)) != 1:
            return None
        curve = self.study.plan.catalog.curve(owner(feeding(self.circuit)[0]).figures["curve"])
        at = np.array(sorted({point.at for point in curve.points}))
        tried = np.arange(at[0], at[-1] + VOLT / 2, VOLT)
        there = here.rows(np.zeros(len(tried), dtype=np.int64)).driven(between(at, tried))
        enough = tried[holds(there.burning(np.full(len(tried), wanted)))]
        return float(enough[0]) if enough.size else None
