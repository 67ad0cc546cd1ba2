"""Crankcase breathing: the pressure that blow-by leaves in the crankcase, bores by convention, the catch tank."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from solver.blowby import BLOW_BY, blow_by, is_estimated, sources
from solver.bores import port_bore
from solver.checks.breathercures import LESS_SUCTION, as_worn, less_pressure
from solver.checks.judging import by_duty, judge, verdict_of
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
    solution, more_at = found
    duties = solution.model.duties
    over = solution.total(node) - study.plan.ambient.pressures
    cases = by_duty(duties, over, "gas_drop")
    limit = study.plan.catalog.limit("breather.pressure")
    enough = limit.most or 0.0
    vague = [case for case in cases if case.state.duty in more_at and case.value.value <= enough]
    sure = [case for case in cases if case not in vague]
    if vague and all(verdict_of(limit, case.value.value) is Verdict.PASS for case in sure):
        return _vague(crankcase.name, vague[0])
    flows = blow_by(study.plan, circuit, crankcase)

    def why_pressure(_verdict: Verdict, case: Case) -> Words:
        text = "At {duty} {flow} of blow-by leave the crankcase {least}{off} {side} the air outside. {ends}"
        if is_estimated(crankcase):
            text = text.replace("of blow-by leave", "of blow-by, estimated for an engine that is {wear}, leave")
        worn = as_worn(study, circuit.name, node) if is_estimated(crankcase) and case.value.value >= 0 else None
        if worn is not None:
            text += f" Once worn, it would come to {worn.least}{{worn}}"
            text += ", over the limit." if worn.over > enough else "."
        return words(
            text,
            duty=case.state.duty,
            flow=Quantity(float(flows[duties.index(case.state.duty)]), "gas_flow"),
            least="at least " if case.state.duty in more_at else "",
            off=Quantity(abs(case.value.value), "gas_drop"),
            side="under" if case.value.value < 0 else "over",
            ends=_where_it_ends(circuit),
            wear=str(crankcase.figures["wear"]),
            worn=Quantity(0.0 if worn is None else worn.over, "gas_drop"),
        )

    def change(_verdict: Verdict, case: Case) -> Words:
        if case.value.value < 0:
            return LESS_SUCTION
        return less_pressure(study, solution, node, duties.index(case.state.duty), enough)

    return judge(limit, crankcase.name, sure, why=why_pressure, change=change, grades=[solution.model.grade])


def _vague(crankcase: str, case: Case) -> Finding:
    """The finding where what was found would pass, but is only the least that it can be."""
    why = words(
        "At {duty} it stands {off} {side} the air outside, or higher; how much is not known: the gas of its breather "
        "falls by too much for one density.",
        duty=case.state.duty,
        off=Quantity(abs(case.value.value), "gas_drop"),
        side="under" if case.value.value < 0 else "over",
    )
    return unchecked("breather.pressure", crankcase, why, "a gauge on the dipstick tube at this duty, or a wider line")


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
        for part in circuit.parts():
            owners = [circuit.nodes[name].component for name in circuit.nodes if name in part]
            cans = {owner.name: owner for owner in owners if owner.kind.holds == "gas"}
            engines = [circuit.nodes[node].component for node in sources(circuit) if node in part]
            found += [_tank(study.plan, can, engines) for can in cans.values() if engines]
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
    volume = min(can.figures["volume"].values.values())
    swept = sum(max(engine.figures["displacement"].values.values()) for engine in engines)
    bound = plan.catalog.limit("breather.tank.engine")
    small = verdict_of(bound, swept) is Verdict.PASS
    limit = plan.catalog.limit("breather.tank.small" if small else "breather.tank")
    asked = Quantity(limit.caution_below or 0.0, "oil_volume")

    def why_tank(verdict: Verdict, _case: Case) -> Words:
        text = (
            "It holds {volume}; for {engine} of {swept} rules of classes ask for {asked}, where its level can be seen."
        )
        if verdict is Verdict.PASS:
            text = "It holds {volume}; rules of classes ask for {asked} for {engine} of {swept}. See your own class's."
        return words(
            text,
            volume=Quantity(volume, "oil_volume"),
            engine="an engine" if len(engines) == 1 else f"{len(engines)} engines together",
            swept=Quantity(swept, "displacement"),
            asked=asked,
        )

    def change(_verdict: Verdict, _case: Case) -> Words:
        return words("A can of {asked:up} or more, or leave it where your class does not ask for it.", asked=asked)

    cases = [Case(State(), Quantity(volume, "oil_volume"))]
    return replace(judge(limit, can.name, cases, why=why_tank, change=change), rule="breather.tank")
