"""Crankcase breathing: the pressure that blow-by leaves in the crankcase, bores by convention, the catch tank."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from solver.blowby import BLOW_BY, blow_by, is_estimated, sources
from solver.bores import port_bore
from solver.checks.breathercures import as_worn, enlarged, losses, second_line
from solver.checks.judging import judge, verdict_of
from solver.components import absolute
from solver.crankcase import as_far_as_found, breathers
from solver.solution import Solution

if TYPE_CHECKING:
    from lines.graph import Circuit
    from lines.plan import Component, Plan
    from solver.study import Study

# ---------------------------------------------------------------- pressure


def pressure(study: Study) -> list[Finding]:
    """`breather.pressure`: the pressure in each crankcase over the air outside, at every duty."""
    return [_pressure(study, circuit, node) for circuit in breathers(study) for node in sources(circuit)]


def _pressure(study: Study, circuit: Circuit, node: str) -> Finding:
    crankcase, answer = circuit.nodes[node].component, study.solutions[circuit.name]
    found = as_far_as_found(answer) if isinstance(answer, Solution) else None
    if found is None:
        why = words("Its pressure is not known: circuit {circuit} has no answer at every duty.", circuit=circuit.name)
        needs = f"what circuit.flow/{circuit.name} asks for, or a gauge on the dipstick tube at full load"
        return unchecked("breather.pressure", crankcase.name, why, needs)
    solution, at_least = found
    duties = solution.model.duties
    over = solution.total(node) - np.array(list(study.plan.ambient.pressure.values()))
    cases = [Case(State(duty=d), Quantity(float(x), "gas_drop")) for d, x in zip(duties, over, strict=True)]
    limit = study.plan.catalog.limit("breather.pressure")
    enough = next((x for x in (limit.caution_above, limit.fail_above) if x is not None), 0.0)
    flows = blow_by(study.plan, circuit, crankcase)

    def why_pressure(_verdict: Verdict, case: Case) -> Words:
        text = "At {duty} {flow} of blow-by leave the crankcase {least}{off} {side} the air outside. {ends}"
        if is_estimated(crankcase):
            text = text.replace("of blow-by leave", "of blow-by, estimated for an engine that is {wear}, leave")
        worn = as_worn(study, circuit.name, node) if is_estimated(crankcase) and case.value.value >= 0 else None
        if worn is not None:
            text += " Once worn, it would come to {worn}."
            text = text.replace("{worn}.", "{worn}, over the limit.") if worn > enough else text
        return words(
            text,
            duty=case.state.duty,
            flow=Quantity(float(flows[duties.index(case.state.duty)]), "gas_flow"),
            least="at least " if case.state.duty in at_least else "",
            off=Quantity(abs(case.value.value), "gas_drop"),
            side="under" if case.value.value < 0 else "over",
            ends=_where_it_ends(circuit),
            wear=str(crankcase.figures["wear"]),
            worn=Quantity(worn or 0.0, "gas_drop"),
        )

    def change(_verdict: Verdict, case: Case) -> Words:
        if case.value.value < 0:
            return words("Less suction on it: a smaller bore to what draws on it, or a valve that lets air in.")
        return _less_pressure(study, solution, node, duties.index(case.state.duty), enough)

    return judge(limit, crankcase.name, cases, why=why_pressure, change=change, grades=[solution.model.grade])


def measured(study: Study) -> list[Finding]:
    """`breather.pressure` of each sump whose plan states the crankcase pressure itself."""
    sumps = (c for c in study.plan.components.values() if c.kind.id == "sump" and "crankcase" in c.stated)
    return [_measured(study.plan, sump) for sump in sumps]


def _measured(plan: Plan, sump: Component) -> Finding:
    over = absolute(plan, sump.figures["crankcase"]) - np.array(list(plan.ambient.pressure.values()))
    cases = [Case(State(duty=d), Quantity(float(x), "gas_drop")) for d, x in zip(plan.duties, over, strict=True)]

    def why(_verdict: Verdict, case: Case) -> Words:
        side = "under" if case.value.value < 0 else "over"
        text = "At {duty} the crankcase stands {off} {side} the air outside, as the plan says."
        off = Quantity(abs(case.value.value), "gas_drop")
        return words(text, duty=case.state.duty, off=off, side=side)

    def change(_verdict: Verdict, _case: Case) -> Words:
        return words("Wider breather lines or more of them: a crankcase in the plan tells which, and by how much.")

    return judge(plan.catalog.limit("breather.pressure"), sump.name, cases, why=why, change=change)


def _less_pressure(study: Study, solution: Solution, node: str, row: int, enough: float) -> Words:
    """Where the most of it is lost, and what a wider line or a second one would leave."""
    name, most = solution.model.circuit.name, losses(solution, row)[0]
    text, facts = "The most of it, {lost}, is lost in {thing}.", {"thing": most.thing}
    drops = {"lost": Quantity(most.drop, "gas_drop")}
    if not most.bored:
        text += " Take a larger one, or two."
    by_size = enlarged(study, name, node, enough)
    if by_size is not None:
        text += " With {size}, the ports to match, it would be {wider}" + _still(by_size.over, enough)
        facts["size"], drops["wider"] = by_size.what, Quantity(by_size.over, "gas_drop")
    beside = second_line(study, name, node, most.run) if most.run else None
    if beside is not None:
        text += " With {second} it would be {beside}" + _still(beside.over, enough)
        facts["second"], drops["beside"] = beside.what, Quantity(beside.over, "gas_drop")
    return words(text, **facts, **drops)


def _still(over: float, enough: float) -> str:
    return "." if over <= enough else ", still too much."


def _where_it_ends(circuit: Circuit) -> str:
    """Is it open or closed?"""
    outside = [
        n.component.name for n in circuit.nodes.values() if n.inner is not None and n.inner.pressure == "ambient"
    ]
    if not outside:
        return "It is closed: no end of it is open to the air."
    ends = " and ".join(dict.fromkeys(outside))
    return f"It is open to the air at {ends}; road law asks for a closed system (common practice)."


# ---------------------------------------------------------------- bores by convention


def bore(study: Study) -> list[Finding]:
    """`breather.bore`: of each breather line its bore, and the openings that it is on, against one convention."""
    runs = [(circuit, tag) for circuit in breathers(study) for tag in circuit.runs]
    return [_bore(study, *run, widths) for run in runs if (widths := _widths(study, *run))]


def _widths(study: Study, circuit: Circuit, tag: str) -> dict[str, tuple[float, float]]:
    """What the convention speaks of on a run: its bore, and the bore that is asked for [m]."""
    plan, made = study.plan, study.assemblies[tag]
    owners = [circuit.nodes[ref].component for ref in (made.run.start, made.run.end)]
    out = [_is_crankcase(owner) for owner in owners]
    line, opening = (plan.catalog.limit(f"breather.bore.{key}").caution_below for key in ("line", "opening"))
    widths = {}
    if any(out) and line:
        widths["hose"] = made.stock.bore, line
    for side, owner in enumerate(owners):
        # Of a can the outlet counts, and what comes from the engine goes in.
        if opening and (out[side] or (owner.kind.holds == "gas" and not any(out))):
            width, stated = port_bore(plan, made, side, study.assemblies)
            unsure = "" if stated == "as the plan says" else " (not stated: that of what goes on it)"
            widths[f"opening at {made.joints[side].port}{unsure}"] = width, opening
    return widths


def _is_crankcase(component: Component) -> bool:
    return any(node.gives == BLOW_BY for node in component.kind.nodes.values())


def _bore(study: Study, circuit: Circuit, tag: str, widths: dict[str, tuple[float, float]]) -> Finding:
    plan, stock = study.plan, study.assemblies[tag].stock
    dash = plan.catalog.limit("breather.bore.dash")
    by_dash = verdict_of(dash, stock.dash) is Verdict.PASS
    cases = [
        Case(State(station=where), Quantity(max(width / asked, float(by_dash and where == "hose")), "ratio"))
        for where, (width, asked) in widths.items()
    ]
    speed = _fastest(study, circuit, tag)

    def why(verdict: Verdict, case: Case) -> Words:
        width, asked = widths[case.state.station]
        text = "Its {where} is {width} wide; one turbocharger maker asks for {asked}, whatever the engine."
        if verdict is Verdict.PASS:
            text = "Its {where} is {width} wide, which is what one turbocharger maker asks for, whatever the engine."
        facts: dict[str, Quantity | str] = {}
        if speed is not None:
            text += " In the hose the gas goes {speed} at {duty}."
            facts["duty"], facts["speed"] = speed
        facts |= {"width": Quantity(width, "bore"), "asked": Quantity(asked, "bore")}
        return words(text, where=case.state.station, **facts)

    def change(_verdict: Verdict, case: Case) -> Words:
        asked = Quantity(widths[case.state.station][1], "bore")
        text = "Bring it to {asked}"
        if case.state.station == "hose":
            text = f"Take -{dash.caution_below or 0:.0f} hose, or a bore of {{asked}}"
        elif "not stated" in case.state.station:
            text = "Measure it, write it as bore of that port and bring it to {asked}"
        return words(
            text + ", or leave it where breather.pressure passes: that is computed, this a convention.", asked=asked
        )

    limit = plan.catalog.limit("breather.bore")
    return judge(limit, tag, cases, why=why, change=change, grades=[stock.grade_of("bore")])


def _fastest(study: Study, circuit: Circuit, tag: str) -> tuple[str, Quantity] | None:
    """The duty at which the gas goes fastest through the hose of a run, and how fast; None where it is not known."""
    answer = study.solutions[circuit.name]
    if not isinstance(answer, Solution) or not answer.solved.any():
        return None
    speeds = np.nan_to_num(np.abs(answer.velocity(tag, study.assemblies[tag].stock.bore)))
    row = int(speeds.argmax())
    return answer.model.duties[row], Quantity(float(speeds[row]), "velocity")


# ---------------------------------------------------------------- the catch tank


def tank(study: Study) -> list[Finding]:
    """`breather.tank`: the volume of each catch tank against what rules of classes ask for."""
    found = []
    for circuit in breathers(study):
        cans = {n.component.name: n.component for n in circuit.nodes.values() if n.component.kind.holds == "gas"}
        engines = [circuit.nodes[node].component for node in sources(circuit)]
        found += [_tank(study.plan, can, engines) for can in cans.values()]
    return found


def _tank(plan: Plan, can: Component, engines: list[Component]) -> Finding:
    lacking = [
        f"{key} in [components.{component.name}]"
        for component, key in [(can, "volume"), *((engine, "displacement") for engine in engines)]
        if component.figures[key] is None
    ]
    if lacking:
        why = words("Whether it is as large as rules of classes ask for cannot be told.")
        return unchecked("breather.tank", can.name, why, " and ".join(lacking))
    volume, swept = min(can.figures["volume"].values.values()), max(engines[0].figures["displacement"].values.values())
    bound = plan.catalog.limit("breather.tank.engine")
    small = verdict_of(bound, swept) is Verdict.PASS
    limit = plan.catalog.limit("breather.tank.small" if small else "breather.tank")
    asked = Quantity(limit.caution_below or 0.0, "volume")

    def why_tank(verdict: Verdict, _case: Case) -> Words:
        text = (
            "It holds {volume}; for an engine of {swept} rules of classes ask for {asked}, where its level can be seen."
        )
        if verdict is Verdict.PASS:
            text = "It holds {volume}; rules of classes ask for {asked} for an engine of {swept}. See your own class's."
        return words(text, volume=Quantity(volume, "volume"), swept=Quantity(swept, "volume"), asked=asked)

    def change(_verdict: Verdict, _case: Case) -> Words:
        return words("A can of {asked} or more, or leave it where your class does not ask for it.", asked=asked)

    cases = [Case(State(), Quantity(volume, "volume"))]
    return replace(judge(limit, can.name, cases, why=why_tank, change=change), rule="breather.tank")
