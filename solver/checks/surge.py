"""Surge tanks: whether what comes in keeps them full at every duty, and how long they last when it does not."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, Verdict, Words, unchecked, words
from solver.along import line_ends
from solver.carrying import fuelling
from solver.checks.filtersdue import untold_due
from solver.checks.judging import by_duty, judge
from solver.checks.roles import without_answer
from solver.fuels import fuel_circuits, pumps
from solver.solution import Solution, solve_circuit
from solver.stated import figure
from solver.surging import KIND, Mouths, held_over, kept_full, lifted, mouths_of, returned, through

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.plan import Component
    from solver.study import Study

    Array = npt.NDArray[np.float64]

RULE = "fuel.surge"
LARGER = np.geomspace(1.0, 8.0, 60)
"""Of lift pumps of the same curve, over the one that is there, that are tried [-]."""
UNTOLD = 1e-3
"""What filters that are due take of what comes in is not told under so much of what is drawn [-]."""


def fills(study: Study) -> list[Finding]:
    """`fuel.surge`: what runs over of each surge tank over what its pumps draw, at every duty.

    What comes in is that against the open air over its low level. One that fuel keeps full is a place where lines meet:
    what its pumps do not draw leaves by its overflow, under the pressure that this takes.
    """
    found = []
    for circuit in fuel_circuits(study):
        answer = study.solutions.get(circuit.name)
        solved = answer if isinstance(answer, Solution) and answer.solved.all() else None
        owners = {e.component.name: e.component for e in circuit.edges.values() if e.component is not None}
        for tank in (c for c in owners.values() if c.kind.id == KIND):
            if solved is None:
                found.append(without_answer(RULE, tank.name, circuit))
            else:
                found.append(_fills(study, solved, tank))
    return found


def _fills(study: Study, solution: Solution, tank: Component) -> Finding:
    mouths = mouths_of(solution.model.circuit, tank)
    if not mouths.drawn or not mouths.fed:
        lacks = "no pump draws from it" if not mouths.drawn else "nothing fills it"
        why_not = words("Whether {tank} stays full cannot be told: " + lacks + ".", tank=tank.name)
        return unchecked(RULE, tank.name, why_not, "runs from a lift pump to it and from it to the main pump")
    if not mouths.over:
        why_not = words("{tank} has no overflow: what comes in too much, and its air, has no way out.", tank=tank.name)
        return Finding(
            rule=RULE,
            place=tank.name,
            verdict=Verdict.FAIL,
            why=why_not,
            change=words("A run from the highest port of {tank} back to the main tank.", tank=tank.name),
        )
    return _judged(study, solution, tank, mouths)


def _judged(study: Study, solution: Solution, tank: Component, mouths: Mouths) -> Finding:
    duties, limit = solution.model.duties, study.plan.catalog.limit(RULE)
    due = solve_circuit(study.plan, solution.model.circuit, study.assemblies, loaded=True)
    found = _Balance.of(study, solution, due, tank, mouths)
    if found.full is None and (found.over >= 0).all():
        lines = " and ".join(solution.model.circuit.run_on(mouth.end) for mouth in mouths.over)
        text = (
            "What comes into {tank} beyond what is drawn does not get out by {lines}: no flows were found with it full."
        )
        why_not = words(text, tank=tank.name, lines=lines)
        return unchecked(RULE, tank.name, why_not, "a wider overflow, or the lift pump's curve up to its shut-off")
    running = np.flatnonzero(found.drawn > 0)
    if not running.size:
        return unchecked(RULE, tank.name, words("At no duty does a pump draw from it."), "a duty with its pump running")
    share = found.over / np.where(found.drawn > 0, found.drawn, np.nan)
    cases = by_duty([duties[i] for i in running], share[running], "ratio")
    grades = [solution.model.grade]
    judged = [found.outlasted(judge(limit, tank.name, cases, why=found.why, change=found.change, grades=grades))]
    if found.gauge is not None:
        under = by_duty(duties, found.gauge, "pressure_drop")
        most = study.plan.catalog.limit(f"{RULE}.pressure")
        pressed = judge(most, tank.name, under, why=found.why_pressed, change=found.change_pressed, grades=grades)
        judged.append(replace(pressed, rule=RULE))
    return untold_due(min(judged, key=lambda one: one.verdict.rank), due)


@dataclass(frozen=True)
class _Balance:
    """What comes into a surge tank, is drawn from it and runs over, by duty [m3/s]."""

    study: Study
    solution: Solution
    tank: Component
    mouths: Mouths
    full: Solution | None
    """With it full; None where it does not stay so at every duty, or where that has no answer."""
    fed: Array
    drawn: Array
    over: Array
    less: Array
    """By how much less its lift pumps bring with their filters due than with them clean; not in `fed`."""

    @classmethod
    def of(cls, study: Study, solution: Solution, due: Solution, tank: Component, mouths: Mouths) -> _Balance:
        fed, drawn = through(solution, mouths)
        less = np.where(due.solved, np.maximum(lifted(solution, mouths) - lifted(due, mouths), 0.0), 0.0)
        less = np.where(less > UNTOLD * drawn, less, 0.0)
        full = kept_full(study, solution, mouths.drawn[0].start) if (fed - less >= drawn).all() else None
        if full is not None:
            fed, drawn = through(full, mouths)
        return cls(study, solution, tank, mouths, full, fed, drawn, fed - less - drawn, less)

    @property
    def gauge(self) -> Array | None:
        """The pressure in it, full, over the open air [Pa], by duty."""
        if self.full is None:
            return None
        return self.full.total(self.mouths.drawn[0].start) - self.study.plan.ambient.pressures

    def why_pressed(self, _verdict: Verdict, case: Case) -> Words:
        text, facts = self._balanced(self.solution.model.duties.index(case.state.duty))
        text += "; what runs over brings it under {pressure}, which its overflow {lines} takes. What returns to it "
        text += (
            "comes in against that: fuel.return, fuel.rail and fuel.margin take it for open, and are off by as much."
        )
        return words(text, **facts, pressure=case.value, lines=self._overflow)

    def change_pressed(self, _verdict: Verdict, _case: Case) -> Words:
        return words("A wider or shorter {lines}, or less from the lift pump.", lines=self._overflow)

    @property
    def _overflow(self) -> str:
        return " and ".join(self.solution.model.circuit.run_on(mouth.end) for mouth in self.mouths.over)

    def _balanced(self, i: int) -> tuple[str, dict[str, Quantity | str]]:
        """What comes in and is drawn at a duty, as the start of what is said."""
        facts: dict[str, Quantity | str] = {
            "duty": self.solution.model.duties[i],
            "tank": self.tank.name,
            "fed": Quantity(float(self.fed[i]), "volume_flow"),
            "drawn": Quantity(float(self.drawn[i]), "volume_flow"),
            "over": Quantity(abs(float(self.over[i])), "volume_flow"),
            "less": Quantity(float(self.less[i]), "volume_flow"),
        }
        due = ", {less} less with the filters before it due," if self.less[i] > 0 else ""
        return "At {duty} {fed} come into {tank}" + due + " and its pumps draw {drawn}", facts

    def why(self, verdict: Verdict, case: Case) -> Words:
        i = self.solution.model.duties.index(case.state.duty)
        text, facts = self._balanced(i)
        lacks = -self.over[i] if self.over[i] < 0 else self.drawn[i] - returned(self.solution, self.mouths)[i]
        lasts, more = _lasts(self.study, self.tank, self.mouths, float(lacks)) if lacks > 0 else ("", {})
        facts |= more
        if verdict is Verdict.FAIL:
            text += ": {over} are missing, and it runs empty. From full " + lasts
            return words(text, **facts)
        text += "; {over} run over"
        if self.gauge is not None:
            facts["pressure"] = Quantity(float(self.gauge.max()), "pressure", "gauge")
            text += ", and its pressure comes to {pressure} at most"
        text += f". Without its lift pump {lasts}" if lasts else "."
        return words(text, **facts)

    def outlasted(self, judged: Finding) -> Finding:
        """The same as a caution where, full, it outlasts every duty at which it runs empty."""
        if judged.verdict is not Verdict.FAIL:
            return judged
        ends = [self.study.plan.duties[duty].lasts for duty in self.solution.model.duties]
        empties = np.flatnonzero(self.over < 0)
        try:
            held = min(held_over(self.study, self.tank, mouth.end) for mouth in self.mouths.drawn)
        except UnknownInputError:
            return judged
        if any((end := ends[i]) is None or held / -float(self.over[i]) < end for i in empties):
            return judged
        end = ends[self.solution.model.duties.index(judged.worst.duty)]
        assert end is not None
        text = judged.why.text + " That outlasts {duty}, of {end}: full at its start it gets through."
        return replace(
            judged, verdict=Verdict.CAUTION, why=Words(text, {**judged.why.parts, "end": Quantity(end, "time")})
        )

    def change(self, _verdict: Verdict, case: Case) -> Words:
        i, limit = self.solution.model.duties.index(case.state.duty), self.study.plan.catalog.limit(RULE)
        more = (limit.least or 0.0) * float(self.drawn[i]) - float(self.over[i])
        wanted = float(lifted(self.solution, self.mouths)[i]) + more
        facts: dict[str, Quantity | str] = {
            "more": Quantity(more, "volume_flow"),
            "wanted": Quantity(wanted, "volume_flow"),
            "spare": Quantity(limit.least or 0.0, "ratio"),
            "duty": case.state.duty,
        }
        text = "A lift pump that brings {wanted:up} at {duty}"
        if (rise := self._rise(i, wanted)) is not None:
            facts["rise"] = Quantity(rise, "pressure_drop")
            text += " at {rise:up} by its curve at the voltage of its plug"
        return words(text + ", {more:up} more than now, so that {spare} run over; or less main pump.", **facts)

    def _rise(self, row: int, wanted: float) -> float | None:
        """What lift pumps lift when they bring so much [Pa]; None where no larger one of their curve does."""
        circuit = self.solution.model.circuit
        closed = line_ends(circuit) | {mouth.name for mouth in self.mouths.fed}
        lifts = [
            p for p in pumps(circuit) if any(circuit.shortest_way([p.end], m.end, closed) for m in self.mouths.fed)
        ]
        if not lifts:
            return None
        there = fuelling(self.solution, self.study.plan.system).rows(np.full(LARGER.size, row)).larger(LARGER, lifts)
        answer = there.burning(there.burn)
        brought = np.sum([answer.flow(pump.name) for pump in lifts], axis=0)
        enough = np.flatnonzero(answer.solved & (np.nan_to_num(brought) >= wanted))
        if not enough.size:
            return None
        first = int(enough[0])
        return float(answer.total(lifts[0].end)[first] - answer.total(lifts[0].start)[first])


def _lasts(study: Study, tank: Component, mouths: Mouths, by: float) -> tuple[str, dict[str, Quantity | str]]:
    """How long it takes from full until a mouth is bare, by a flow over 0 [m3/s], or what would tell it."""
    try:
        held = min(held_over(study, tank, mouth.end) for mouth in mouths.drawn)
    except UnknownInputError as error:
        if tank.figures.get("volume") is None:
            text = "how long it lasts cannot be told: {unknown}. To measure: {measure}."
            return text, {"unknown": error.reason, "measure": error.needs or ""}
        most = Quantity(figure(tank, "volume") / by, "time")
        return "it lasts {lasts} at most, to the last of its volume: {unknown}.", {
            "lasts": most,
            "unknown": error.reason,
        }
    where = " in the attitude that leaves the least over its mouth" if len(study.plan.attitudes) > 1 else ""
    return f"it lasts {{lasts}}{where}.", {"lasts": Quantity(held / by, "time")}
