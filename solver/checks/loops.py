"""Oil loops: how fast the oil flows in each line, and what a pump has at its inlet."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import STANDARD_GRAVITY, Quantity
from lines.finding import NOTHING, Case, Finding, State, Verdict, Words, words
from lines.resize import next_stock
from solver.checks.judging import by_duty, judge
from solver.checks.roles import Role, answer, at_relief, each, loops, pumps, roles, suction_of
from solver.friction import friction_drop
from solver.profile import profile

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.records import Limit, Stock
    from lines.graph import Edge
    from lines.plan import Component
    from solver.solution import Solution
    from solver.study import Study

    Array = npt.NDArray[np.float64]

DOWN = np.array([[0.0, 0.0, -1.0]])
"""The way that oil falls, the vehicle level, shape (1, 3)."""

# ---------------------------------------------------------------- velocity


def velocity(study: Study) -> list[Finding]:
    """`loop.velocity`: mean velocity in each run of an oil loop, by what the run does.

    Of a loop without an answer it says nothing: `circuit.flow` has said what is missing, and the same at every run of
    it would hide what else is wrong.
    """
    found = []
    for circuit in loops(study):
        solution = answer(study, circuit)
        if solution is not None:
            found += [_velocity(study, solution, tag, role) for tag, role in roles(circuit).items()]
    return found


def _velocity(study: Study, solution: Solution, tag: str, role: Role) -> Finding:
    stock, duties = study.assemblies[tag].stock, solution.model.duties
    limit = _limit(study, solution, tag, role)
    flow = np.abs(solution.flow(tag))
    cases = by_duty(duties, np.abs(solution.velocity(tag, stock.bore)), "velocity")
    most = limit.caution_above or np.inf

    def why(_verdict: Verdict, case: Case) -> Words:
        return words(
            "A {role} line: {flow} at {duty} flows at {speed} in {stock}.",
            role=role,
            flow=Quantity(float(flow[duties.index(case.state.duty)]), "oil_flow"),
            duty=case.state.duty,
            speed=case.value,
            stock=stock.id,
        )

    def change(_verdict: Verdict, _case: Case) -> Words:
        least = float(np.sqrt(4 * flow.max() / (np.pi * most)))
        wider = next_stock(study.plan.catalog, stock, least)
        speed = Quantity(float(flow.max() / (np.pi * (wider.bore if wider else least) ** 2 / 4)), "velocity")
        if wider is None:
            return words("A bore of {bore:up} or more.", bore=Quantity(least, "bore"))
        return words("{stock}: {speed} at the same flow.", stock=wider.id, speed=speed)

    found = judge(limit, tag, cases, why=why, change=change, grades=[solution.model.grade, stock.grade_of("bore")])
    return replace(found, rule="loop.velocity")


def _limit(study: Study, solution: Solution, tag: str, role: Role) -> Limit:
    """The row of limits for what a run does; a pressure line counts as one of high pressure by what it sees."""
    catalog = study.plan.catalog
    if role != "pressure":
        return catalog.limit(f"loop.velocity.{role}")
    run, ambient = solution.model.circuit.runs[tag], study.plan.ambient.pressures
    seen = [solution.total(run.start), solution.total(run.end), at_relief(solution, tag)]
    highest = max(float((pressure - ambient).max()) for pressure in seen if pressure is not None)
    from_here = catalog.limit("loop.velocity.high.from").caution_above or np.inf
    return catalog.limit("loop.velocity.high" if highest > from_here else "loop.velocity.pressure")


# ---------------------------------------------------------------- suction


def suction(study: Study) -> list[Finding]:
    """`loop.suction`: how far a gauge at a pump's inlet stands below the open air, and what takes most of it.

    Warm oil is held against what a pump stands in service, cold oil against what it stands at a cold start. Where no
    duty is warm, what would be too much in service is a caution.
    """
    return each(study, "loop.suction", pumps, _suction)


def _suction(study: Study, solution: Solution, pump: Edge, name: str) -> Finding:
    duties, ambient = solution.model.duties, study.plan.ambient.pressures
    drawn = suction_of(solution.model.circuit, pump)
    below = ambient - solution.static_at(pump.start)
    cases = by_duty(duties, below, "pressure_drop")
    taken = _taken(solution, pump, drawn)
    warmth = study.plan.circuits[solution.model.circuit.name].temperature.over(duties)

    def why(_verdict: Verdict, case: Case) -> Words:
        row = duties.index(case.state.duty)
        what, drop = max(taken.items(), key=lambda item: item[1][row])
        if case.value.value <= 0:
            return words("Never below the open air at its inlet; nearest at {duty}.", duty=case.state.duty)
        return words(
            "{below} below the open air at its inlet at {duty}, with the oil at {temperature}. Most of it goes in "
            "{what}: {most}.",
            below=case.value,
            duty=case.state.duty,
            temperature=Quantity(warmth[row], "temperature"),
            what=what,
            most=Quantity(float(drop[row]), "pressure_drop"),
        )

    def change(_verdict: Verdict, case: Case) -> Words:
        return _wider(study, solution, drawn, duties.index(case.state.duty), case.value.value)

    catalog = study.plan.catalog
    from_here = catalog.limit("loop.suction.warm").caution_below or 0.0
    warm = [case for case, degrees in zip(cases, warmth, strict=True) if degrees >= from_here]
    cold = [case for case in cases if case not in warm]
    service, start = catalog.limit("loop.suction"), catalog.limit("loop.suction.cold")
    if not warm:
        start = start.model_copy(update={"caution_above": service.fail_above})
    found = [
        judge(limit, name, some, why=why, change=change, grades=[solution.model.grade])
        for limit, some in ((service, warm), (start, cold))
        if some
    ]
    return replace(min(found, key=_standing), rule="loop.suction", cases=tuple(cases))


def _standing(finding: Finding) -> tuple[int, float]:
    """The worse a finding, the lower: by its verdict, then by its margin over its limit [-]."""
    assert finding.margin is not None
    assert finding.high is not None
    return finding.verdict.rank, finding.margin.value / finding.high.value


def _taken(solution: Solution, pump: Edge, drawn: list[Edge]) -> dict[str, Array]:
    """What each thing between a pump and what it draws from takes of the pressure at its inlet [Pa], by duty."""
    model = solution.model
    taken: dict[str, Array] = {}
    for edge in drawn:
        if edge.run is not None:
            way = np.sign(solution.flow(edge.name))
            taken |= {f"the {thing} of {edge.name}": way * drop for thing, drop in solution.things(edge.name).items()}
        elif edge.component is not None and edge.name in model.edges:
            lost = np.abs(solution.total(edge.start) - solution.total(edge.end))
            taken[edge.component.name] = taken.get(edge.component.name, 0.0) + lost
    below = [name for e in drawn for name in (e.start, e.end) if (n := model.circuit.nodes[name].inner) and n.height]
    if below:
        climb = model.heights[pump.start] - model.heights[below[0]]
        taken[f"the climb from {below[0].partition('.')[0]}"] = model.density * STANDARD_GRAVITY * climb
    return taken


def _wider(study: Study, solution: Solution, drawn: list[Edge], row: int, below: float) -> Words:
    """What the next wider hose would leave, its flow and its ends as they are."""
    runs = [e.name for e in drawn if e.run is not None]
    if not runs:
        return NOTHING
    tag = max(runs, key=lambda t: abs(sum(float(part[row]) for part in solution.parts(t).values())))
    stock = study.assemblies[tag].stock
    wider = next_stock(study.plan.catalog, stock)
    shorter = "A shorter and straighter suction line, the reservoir higher, or thinner oil."
    if wider is None:
        return words("A wider hose for {tag} than {stock}. " + shorter, tag=tag, stock=stock.id)
    saved = _friction(solution, tag, row, stock, stock) - _friction(solution, tag, row, stock, wider)
    return words(
        "{wider} for {tag} would leave {left}, with the same ends and bends. " + shorter,
        wider=wider.id,
        tag=tag,
        left=Quantity(below - saved, "pressure_drop"),
    )


def _friction(solution: Solution, tag: str, row: int, now: Stock, then: Stock) -> float:
    """Friction along a run's hose at one duty [Pa], in the bore and roughness of another stock."""
    pipes = [p for p in solution.model.resistances[tag].pipes if p.bore == now.bore]
    if not pipes:
        return 0.0
    wider = then.bore / now.bore
    drop, _ = friction_drop(
        np.full((1, len(pipes)), abs(float(solution.flow(tag)[row]))),
        length=np.array([p.length for p in pipes]),
        bore=np.full(len(pipes), then.bore),
        roughness=np.full(len(pipes), then.roughness),
        density=solution.density(tag)[[row], None],
        viscosity=solution.batch.viscosity[[row]],
        curvature=np.array([p.curvature * wider for p in pipes]),
    )
    return float(drop.sum())


# ---------------------------------------------------------------- the way back


def back(study: Study) -> list[Finding]:
    """`loop.return`: how far a line falls on its way into an open reservoir, which should rise all the way to it.

    Only where the run's way is known; a top on the way holds air, which comes in gulps.
    """
    found = []
    for circuit in loops(study):
        does = roles(circuit)
        for tag, run in circuit.runs.items():
            owners = [_open_tank(circuit.nodes[ref].component) for ref in (run.start, run.end)]
            if does[tag] == "return" and any(owners) and (finding := _back(study, tag, into_end=owners[1])) is not None:
                found.append(finding)
    return found


def _open_tank(component: Component) -> bool:
    """Is it a reservoir, whose surface is always in the open air?"""
    return any(node.height and node.pressure == "ambient" for node in component.kind.nodes.values())


def _back(study: Study, tag: str, *, into_end: bool) -> Finding | None:
    made = study.assemblies[tag]
    way = profile(made)
    if way is None:
        return None
    heights = way.heights(DOWN)[0]
    heights = heights if into_end else heights[::-1]
    fallen = float((np.maximum.accumulate(heights) - heights).max())

    def why(verdict: Verdict, case: Case) -> Words:
        if verdict is Verdict.PASS:
            return words("It falls {fall} at most on its way to the reservoir.", fall=case.value)
        return words("On its way to the reservoir it falls {fall}: air stands at the top before that.", fall=case.value)

    def change(_verdict: Verdict, _case: Case) -> Words:
        return words("Lead it so that it rises gently all the way, into the reservoir's port.")

    return judge(
        study.plan.catalog.limit("loop.return"),
        tag,
        [Case(State(), Quantity(fallen, "length"))],
        why=why,
        change=change,
    )
