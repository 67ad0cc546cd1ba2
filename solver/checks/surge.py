"""Surge tanks: whether what comes in keeps them full at every duty, and how long they last when it does not."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, Verdict, Words, unchecked, words
from solver.along import line_ends, line_to
from solver.checks.judging import by_duty, judge
from solver.checks.roles import without_answer
from solver.fuels import fuel_circuits, pumps
from solver.liquid import liquid_in
from solver.newton import solve
from solver.pool import volume_under
from solver.reasons import reasons
from solver.solution import Solution, solve_circuit
from solver.stated import figure

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.graph import Circuit, Edge
    from lines.plan import Component
    from solver.study import Study

    Array = npt.NDArray[np.float64]

RULE = "fuel.surge"
KIND = "surge-tank"
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


@dataclass(frozen=True)
class Mouths:
    """The ways in and out of a surge tank."""

    drawn: list[Edge]
    """What pumps draw by."""
    over: list[Edge]
    """What leads to another tank."""
    fed: list[Edge]
    """All others."""


def mouths_of(circuit: Circuit, tank: Component) -> Mouths:
    """The ways in and out of a surge tank of a circuit."""
    mouths = [e for e in circuit.edges.values() if e.component is tank and e.law == "mouth"]
    by_pump = {way[0][0].name for pump in pumps(circuit) if (way := line_to(circuit, pump.start))}
    drawn = [mouth for mouth in mouths if mouth.name in by_pump]
    closed = line_ends(circuit) | {m.name for m in mouths}
    others = [
        name
        for name, node in circuit.nodes.items()
        if node.component is not tank and node.inner is not None and node.inner.height
    ]
    over = [m for m in mouths if m not in drawn and circuit.shortest_way(others, m.end, closed)]
    return Mouths(drawn, over, [m for m in mouths if m not in drawn and m not in over])


def _full(study: Study, solution: Solution, surface: str) -> Solution | None:
    """The circuit with a surge tank kept full: its pressure is what its lines leave it; None where it has no answer."""
    model = solution.model
    fixed = model.network.fixed.copy()
    fixed[model.number[surface]] = False
    changed = replace(model, network=replace(model.network, fixed=fixed))
    state = solve(changed.network, solution.batch, solution.state.flow)
    told = reasons(changed, solution.batch, state, study.plan.system)
    answer = Solution(changed, solution.batch, state, told)
    return answer if answer.solved.all() else None


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
    found = _Balance.of(study, solution, tank, mouths)
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
    judged = [judge(limit, tank.name, cases, why=found.why, change=found.change, grades=grades)]
    if found.gauge is not None:
        under = by_duty(duties, found.gauge, "pressure_drop")
        most = study.plan.catalog.limit(f"{RULE}.pressure")
        pressed = judge(most, tank.name, under, why=found.why_pressed, change=found.change_pressed, grades=grades)
        judged.append(replace(pressed, rule=RULE))
    return min(judged, key=lambda one: one.verdict.rank)


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
    def of(cls, study: Study, solution: Solution, tank: Component, mouths: Mouths) -> _Balance:
        fed, drawn = _through(solution, mouths)
        less = np.maximum(_lifted(solution, mouths) - _lifted_due(study, solution, mouths), 0.0)
        less = np.where(less > UNTOLD * drawn, less, 0.0)
        full = _full(study, solution, mouths.drawn[0].start) if (fed - less >= drawn).all() else None
        if full is not None:
            fed, drawn = _through(full, mouths)
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
        lacks = -self.over[i] if self.over[i] < 0 else self.drawn[i] - _returned(self.solution, self.mouths)[i]
        lasts, more = _lasts(self.study, self.tank, self.mouths, float(lacks)) if lacks > 0 else ("", {})
        facts |= more
        if verdict is Verdict.FAIL:
            text += ": {over} are missing, and it runs empty. From full " + lasts
            return words(text, **facts)
        text += "; {over} run over"
        if self.gauge is not None:
            facts["pressure"] = Quantity(float(self.gauge.max()), "pressure", "gauge")
            text += ". It comes under {pressure} at most"
        text += f". Without its lift pump {lasts}" if lasts else "."
        return words(text, **facts)

    def change(self, _verdict: Verdict, case: Case) -> Words:
        i, limit = self.solution.model.duties.index(case.state.duty), self.study.plan.catalog.limit(RULE)
        least = limit.least or 0.0
        return words(
            "{more:up} more from the lift pump at {duty}: more volts, a larger pump, a wider line to {tank}; or less "
            "main pump.",
            more=Quantity(least * float(self.drawn[i]) - float(self.over[i]), "volume_flow"),
            duty=case.state.duty,
            tank=self.tank.name,
        )


def _through(solution: Solution, mouths: Mouths) -> tuple[Array, Array]:
    """What comes in otherwise than by the overflow, and what pumps draw [m3/s], by duty."""
    fed, drawn = (np.sum([solution.flow(edge.name) for edge in edges], axis=0) for edges in (mouths.fed, mouths.drawn))
    return np.asarray(-fed), np.asarray(drawn)


def _returned(solution: Solution, mouths: Mouths) -> Array:
    """What comes into it otherwise than from a lift pump [m3/s], by duty: back from a regulator."""
    circuit = solution.model.circuit
    lifts = {pump.end for pump in pumps(circuit)}
    closed = line_ends(circuit)
    back = [e for e in mouths.fed if not circuit.shortest_way(lifts, e.end, closed | {m.name for m in mouths.fed})]
    none = np.zeros(len(solution.model.duties))
    return np.asarray(-np.sum([none, *(solution.flow(edge.name) for edge in back)], axis=0))


def _lifted(solution: Solution, mouths: Mouths) -> Array:
    """What comes into it from lift pumps [m3/s], by duty."""
    return np.asarray(_through(solution, mouths)[0] - _returned(solution, mouths))


def _lifted_due(study: Study, clean: Solution, mouths: Mouths) -> Array:
    """The same with every filter due, against the open air over its low level; as clean where that has no answer.

    What stands behind the main pump does not count: the tank's surface parts the two.
    """
    due = solve_circuit(study.plan, clean.model.circuit, study.assemblies, loaded=True)
    return np.where(due.solved, np.nan_to_num(_lifted(due, mouths)), _lifted(clean, mouths))


def _lasts(study: Study, tank: Component, mouths: Mouths, by: float) -> tuple[str, dict[str, Quantity | str]]:
    """How long it takes from full until a mouth is bare, by a flow over 0 [m3/s], or what would tell it."""
    try:
        held = min(_over(study, tank, mouth.end) for mouth in mouths.drawn)
    except UnknownInputError as error:
        if tank.figures.get("volume") is None:
            text = "how long it lasts cannot be told: {unknown}. To measure: {measure}."
            return text, {"unknown": error.reason, "measure": error.needs or ""}
        most = Quantity(figure(tank, "volume") / by, "time")
        return "it lasts {lasts} at most, to the last of its volume: {unknown}.", {
            "lasts": most,
            "unknown": error.reason,
        }
    return "it lasts {lasts}.", {"lasts": Quantity(held / by, "time")}


def _over(study: Study, tank: Component, port: str) -> float:
    """What a full tank holds over the mouth of a port, the least over all attitudes [m3].

    Raises:
        UnknownInputError: its box, its full mark or the place of the mouth is not known.
    """
    full = liquid_in(tank, "full")
    if full.volume is None or full.body is None:
        raise UnknownInputError(full.lacks, needs=full.needs)
    table = study.plan.port(port)
    at = table.reaches or table.at
    if at is None:
        raise UnknownInputError(f"where {port} lies is not known", needs=f"`at` of {port}")
    down = np.stack([attitude.down for attitude in study.plan.attitudes.values()])
    under = volume_under(full.body, -down @ np.array(at), down)
    return max(full.volume - float(under.max()), 0.0)
