"""The way back of a return-style fuel system: the lowest pressure that it lets a regulator hold."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.grades import Grade
from catalogs.units import Quantity
from lines.finding import Case, Finding, Verdict, Words, unchecked, words
from lines.resize import next_sizes
from solver.along import back, largest, line_to, losses
from solver.checks.judging import by_duty, judge, sentence, untold
from solver.checks.roles import without_answer
from solver.devices import Check, Pump, Regulator
from solver.fuels import answers, feeding, manifold, regulators
from solver.newton import solve
from solver.reasons import reasons
from solver.solution import Solution
from solver.wider import widened

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.graph import Edge
    from solver.along import Steps
    from solver.model import Model
    from solver.network import State
    from solver.study import Study

    Array = npt.NDArray[np.float64]

RULE = "fuel.return"
MOST_NAMED = 3
"""More than so many things that take pressure nobody reads."""
SIZES = 3
"""How many sizes of hose more are tried."""


def lowest(study: Study) -> list[Finding]:
    """`fuel.return`: base pressure of each bypass regulator over the lowest that its return can hold, at every duty.

    The lowest is what stands before the regulator with its valve held wide open: all that the pump then gives and the
    engine does not burn goes back.
    """
    found = []
    for circuit, _ in answers(study):
        # Also where no flows were found as it is: a return that chokes is a reason for that.
        answer = study.solutions[circuit.name]
        for valve in regulators(circuit):
            assert valve.component is not None
            if isinstance(answer, Solution):
                found.append(_lowest(study, answer, valve))
            else:
                found.append(without_answer(RULE, valve.component.name, circuit))
    return found


@dataclass(frozen=True)
class _Open:
    """A circuit with a regulator held wide open."""

    valve: Edge
    answer: Solution
    outside: Array
    """What its spring chamber feels [Pa absolute], by duty."""
    carried_on: bool
    """Does a pump work off its curve?"""

    @property
    def holds(self) -> Array:
        """The lowest base pressure that it can hold [Pa], by duty."""
        return self.answer.total(self.valve.start) - self.outside

    @property
    def returned(self) -> Array:
        """What goes back [m3/s], by duty."""
        return self.answer.flow(self.valve.name)

    @property
    def way(self) -> Steps:
        """From its valve's outlet back to a tank."""
        return back(line_to(self.answer.model.circuit, self.valve.end))

    def _air(self, tank: str) -> str:
        """What the air over the end of its return adds, in words that follow a pressure."""
        assert self.valve.component is not None
        over = "manifold" if self.valve.component.figures["reference"] == "manifold" else "open air"
        return f"by which the {over} is under the air in {tank}"

    def takes(self) -> dict[str, Array]:
        """What `holds` is the sum of [Pa]: the valve and each thing on its way, the climb, and the air at its end."""
        answer, way = self.answer, self.way
        found = losses(answer, ((self.valve, True), *way))
        if way:
            edge, onward = way[-1]
            end = edge.end if onward else edge.start
            tank, lift = end.partition(".")[0], answer.model.lift
            found[f"the climb back to {tank}"] = lift[end] - lift[self.valve.start]
            found[self._air(tank)] = answer.total(end) - self.outside
        return found


def _held_open(study: Study, solution: Solution, valve: Edge, outside: Array) -> _Open | None:
    """The circuit with this valve held wide open; None where that has no answer.

    Its pump may then work at less pressure than its curve begins with, or against a return that chokes at more than it
    ends with: it is carried on straight there.
    """
    model, device = solution.model, solution.model.device(valve.name)
    assert isinstance(device, Regulator)
    wide = {model.edges.index(valve.name): Check(np.zeros(solution.batch.size), device.bore)}
    changed = replace(model, network=replace(model.network, devices=dict(model.network.devices) | wide))
    state = solve(changed.network, solution.batch, np.nan_to_num(solution.state.flow))
    told = reasons(changed, solution.batch, state, study.plan.system)
    off = _off_its_curve(changed, state)
    if any(state.failed) or not all(off[model.duties.index(duty)] for duty in told):
        return None
    return _Open(valve, Solution(changed, solution.batch, state, {}), outside, bool(off.any()))


def _off_its_curve(model: Model, state: State) -> npt.NDArray[np.bool_]:
    """The duties at which a pump lifts less than its curve begins with or more than it ends with, shape (duties,)."""
    found = np.zeros(len(model.duties), dtype=bool)
    for i, device in model.network.devices.items():
        if isinstance(device, Pump):
            rise = state.pressure[:, model.network.end[i]] - state.pressure[:, model.network.start[i]]
            first, last = device.ends()
            found |= (rise < first) | (rise > last)
    return found


def _lowest(study: Study, solution: Solution, valve: Edge) -> Finding:
    plan, duties, component = study.plan, solution.model.duties, valve.component
    assert component is not None
    name = component.name
    try:
        outside = manifold(plan, duties) if component.figures["reference"] == "manifold" else plan.ambient.pressures
    except UnknownInputError as error:
        return untold(RULE, name, error)
    open_ = _held_open(study, solution, valve, outside)
    if open_ is None:
        text = "With {name} held wide open no flows were found: what its return lets it hold is not known."
        return unchecked(RULE, name, words(text, name=name), "points of the pump's curve at less pressure, down to 0")
    base = np.array(component.figures["set"].over(duties))
    limit = plan.catalog.limit(RULE)

    def why(verdict: Verdict, case: Case) -> Words:
        i = duties.index(case.state.duty)
        most = largest(open_.takes(), i, MOST_NAMED)
        facts: dict[str, Quantity | str] = {
            "duty": case.state.duty,
            "name": name,
            "back": Quantity(float(open_.returned[i]), "volume_flow"),
            "lowest": Quantity(float(open_.holds[i]), "pressure_drop"),
            "base": Quantity(float(base[i]), "pressure_drop"),
            "left": Quantity(abs(case.value.value), "pressure_drop"),
        }
        for k, (thing, lost) in enumerate(most):
            facts |= {f"thing{k}": thing, f"lost{k}": Quantity(lost, "pressure_drop")}
        named = ", ".join(f"{{lost{k}}} {{thing{k}}}" for k in range(len(most)))
        carried = " The pump's curve is carried on straight for it." if open_.carried_on else ""
        if verdict is Verdict.PASS:
            text = "At {duty}, with up to {back} that come back, {name} can hold {lowest} and more; its base is {base}."
            return words(text + carried, **facts)
        text = "At {duty} up to {back} come back, with which {name} can hold no less than {lowest} over what it feels "
        text += f"(most of it {named}); its base is {{base}}"
        if verdict is Verdict.FAIL:
            text += ": it stands wide open, and the return decides the pressure of the rail."
        else:
            text += ", {left} over that."
        return words(text + carried, **facts)

    def change(_verdict: Verdict, _case: Case) -> Words:
        return _wider_back(study, open_, base, limit.least or 0.0)

    cases = by_duty(duties, base - open_.holds, "pressure_drop")
    grades = [solution.model.grade, *([Grade.MEMORY] if open_.carried_on else [])]
    return judge(limit, name, cases, why=why, change=change, grades=grades)


def _wider_back(study: Study, open_: _Open, base: Array, wanted: float) -> Words:
    """Wider returns that are enough, or what else there is."""
    several = ", one of its pumps off" if len(feeding(open_.answer.model.circuit)) > 1 else ""
    else_ = f"less pump at idle (fewer volts{several}), or a larger regulator"
    name, runs = open_.answer.model.circuit.name, [e.name for e, _ in open_.way if e.run is not None]
    sizes = {tag: next_sizes(study.plan.catalog, study.assemblies[tag].stock, SIZES) for tag in runs}
    best = None
    for size in range(SIZES):
        stocks = {tag: found[size] for tag, found in sizes.items() if len(found) > size}
        wider = widened(study, name, stocks) if stocks else None
        if wider is None:
            continue
        valve = wider.answer.model.circuit.edges[open_.valve.name]
        held = _held_open(study, wider.answer, valve, open_.outside)
        if held is None:
            continue
        least = float(np.min(base - held.holds))
        then = Quantity(float(np.max(held.holds)), "pressure_drop")
        facts: dict[str, Quantity | str] = {"wider": wider.said, "then": then}
        if least >= wanted:
            return words("{wider}: then it can hold {then} and up; or " + else_ + ".", **facts)
        best = facts
    if best is not None:
        return words(sentence(else_) + ". {wider} would not be enough: down to {then} only.", **best)
    return words(sentence(else_) + "; no wider hose of its kind lies there.")
