"""Fuel supply: what the pump delivers at the rail's pressure against what the engine burns; what the rail holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import NOTHING, Case, Finding, Verdict, Words, unchecked, words
from solver.checks.judging import by_duty, judge, untold
from solver.checks.roles import without_answer
from solver.solution import Solution

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.graph import Circuit, Edge, Node
    from lines.plan import Plan
    from solver.study import Study

    Array = npt.NDArray[np.float64]


def rails(circuit: Circuit) -> dict[str, Node]:
    """The nodes of a circuit at which its fluid is burnt."""
    return {name: n for name, n in circuit.nodes.items() if n.inner is not None and n.inner.draw == "burn"}


def answers(study: Study) -> list[tuple[Circuit, Solution | None]]:
    """The circuits in which something burns the fluid, each with its answer if it has one at every duty."""
    found = []
    for answer in study.solutions.values():
        solved = isinstance(answer, Solution) and answer.solved.all()
        circuit = answer.model.circuit if isinstance(answer, Solution) else answer.circuit
        if rails(circuit):
            found.append((circuit, answer if isinstance(answer, Solution) and solved else None))
    return found


def _edges(solution: Solution, law: str) -> list[Edge]:
    return [e for e in solution.model.circuit.edges.values() if e.law == law]


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
        valves = _edges(solution, "bypass")
        if not valves:
            why = words("No bypass regulator lets fuel go back here; without a return what is left over is not judged.")
            needs = "the pump's flow and rise as solve prints them, held against its data sheet at the rail's pressure"
            found.append(unchecked("fuel.margin", circuit.name, why, needs))
            continue
        returned = np.sum([np.maximum(solution.flow(e.name), 0.0) for e in valves], axis=0)
        if not (burn > 0).any():
            continue
        left = returned / np.where(burn > 0, burn, np.nan)
        held = np.all([[s != "shut" for s in solution.switch(e.name)] for e in valves], axis=0)
        left = np.where(held, left, -1e-6)
        burning = np.flatnonzero(burn > 0)
        cases = by_duty([solution.model.duties[i] for i in burning], left[burning], "ratio")
        found.append(_margin(study, solution, cases, burn, returned))
    return found


def _margin(study: Study, solution: Solution, cases: list[Case], burn: Array, returned: Array) -> Finding:
    duties = solution.model.duties

    def why(verdict: Verdict, case: Case) -> Words:
        i = duties.index(case.state.duty)
        need, has = (
            Quantity(float(burn[i]), "volume_flow"),
            Quantity(float(burn[i] + returned[i]), "volume_flow"),
        )
        if verdict is Verdict.FAIL:
            text = "At {duty} the engine burns {need} and the pump cannot hold the pressure: the regulator has shut."
            return words(text, duty=case.state.duty, need=need)
        text = "At {duty} the engine burns {need}; the pump gives {has} at that pressure and voltage, {left} over."
        return words(text, duty=case.state.duty, need=need, has=has, left=case.value)

    def change(_verdict: Verdict, _case: Case) -> Words:
        return words(
            "Bring up the voltage at the pump's plug (measure it under load), or take a larger pump or a second one; "
            "then check the return line again."
        )

    limit = study.plan.catalog.limit("fuel.margin")
    place = solution.model.circuit.name
    return judge(limit, place, cases, why=why, change=change, grades=[solution.model.grade])


def rail(study: Study) -> list[Finding]:
    """`fuel.rail`: pressure across the injectors over the regulator's base pressure, at every duty."""
    found = []
    for circuit, solution in answers(study):
        here = rails(circuit)
        if solution is None:
            found += [without_answer("fuel.rail", node.component.name, circuit) for node in here.values()]
            continue
        valves = _edges(solution, "bypass")
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


def manifold(plan: Plan, duties: list[str]) -> Array:
    """Pressure in the manifold [Pa absolute], by duty.

    Raises:
        UnknownInputError: a duty states no boost.
    """
    unknown = [d for d in duties if plan.duties[d].boost is None]
    if unknown:
        reason = f"the pressure in the manifold is not known in {', '.join(unknown)}"
        raise UnknownInputError(reason, needs=f"boost in {' and '.join(unknown)}")
    return np.array([b.absolute(plan.ambient.pressure[d]) for d in duties if (b := plan.duties[d].boost)])


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
        return NOTHING

    limit = plan.catalog.limit("fuel.rail")
    return judge(limit, place, cases, why=why_rail, change=change, grades=[solution.model.grade])
