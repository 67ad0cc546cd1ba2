"""The vent of each fuel tank with the vehicle lying any way: does fuel run out of it?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from solver.checks.judging import judge, untold
from solver.checks.suction import fuel_circuits
from solver.vents import LYING, vents

if TYPE_CHECKING:
    from lines.plan import Component
    from solver.study import Study
    from solver.vents import Vent

RULE = "fuel.vent"
ALIKE = 1e-3
"""Ways of lying that differ by less are alike [m]."""
_SIDES = {
    "on its left side": "right",
    "on its right side": "left",
    "on its roof": "bottom",
    "on its nose": "rear",
    "on its tail": "front",
    "upright": "top",
}
"""The side of the tank that is uppermost as the vehicle lies."""


def runs_out(study: Study) -> list[Finding]:
    """`fuel.vent`: how far some part of each vent lies over the fuel of its tank, however the vehicle lies."""
    owners = {
        edge.component.name: edge.component
        for circuit in fuel_circuits(study)
        for edge in circuit.edges.values()
        if edge.component is not None and edge.component.kind.id == "tank"
    }
    return [found for tank in owners.values() for found in _of_tank(study, tank)]


def _of_tank(study: Study, tank: Component) -> list[Finding]:
    try:
        found = vents(study.plan, study.circuits, study.assemblies, tank)
        if found:
            return [_judged(study, vent) for vent in found]
    except UnknownInputError as error:
        return [untold(RULE, tank.name, error, "Whether fuel runs out of its vent cannot be told")]
    why = words("No vent of {tank} is in the plan: whether fuel runs out of it cannot be told.", tank=tank.name)
    needs = f"a circuit of air from a port of {tank.name}, through a roll-over-valve, to a component of kind open"
    return [unchecked(RULE, tank.name, why, needs)]


def _judged(study: Study, vent: Vent) -> Finding:
    limit = study.plan.catalog.limit(RULE)
    names, down = list(LYING), np.array(list(LYING.values()))
    over = vent.over(down)
    tilts = np.arccos(np.clip(-down[:, 2], -1.0, 1.0))
    shut = {name: valves for name, tilt in zip(names, tilts, strict=True) if (valves := vent.shut(float(tilt)))}
    cases = [
        Case(State(attitude=name), Quantity(float(height), "length"))
        for name, height in zip(names, over, strict=True)
        if name not in shut
    ]
    by_itself = [name for name, height in zip(names, over, strict=True) if height >= (limit.fail_below or 0.0)]

    def why(verdict: Verdict, case: Case) -> Words:
        i = names.index(case.state.attitude)
        facts: dict[str, Quantity | str] = {
            "lying": case.state.attitude,
            "tank": vent.tank.name,
            "end": vent.end,
            "place": vent.highest(down[i]),
            "height": Quantity(abs(case.value.value), "length"),
        }
        if verdict is Verdict.FAIL:
            text = (
                "With the vehicle {lying} all of the vent lies under the fuel of a full {tank}, its highest part, at "
            )
            text += "{place}, by {height}: fuel runs out of {end}"
            text += " (its valve is not shut there)." if vent.valves else "."
            if others := [
                c.state.attitude for c in cases if c is not case and c.value.value < (limit.fail_below or 0.0)
            ]:
                facts["others"] = " and ".join(others)
                text += " So it does {others}."
        else:
            text = (
                "Some part of the vent is over the fuel however the vehicle lies; the least with it {lying}, {height} "
            )
            text += "at {place}."
        if shut:
            facts |= {"valves": " and ".join(dict.fromkeys(v for vs in shut.values() for v in vs))}
            facts |= {"ways": ", ".join(shut)}
            text += " {valves} shuts it with the vehicle {ways}."
            open_ways = [name for name in shut if name not in by_itself]
            text += f" Without it fuel would run out {' and '.join(open_ways)}." if open_ways else ""
        if not vent.valves:
            text += " It has no valve that shuts."
        return words(text, **facts)

    def change(_verdict: Verdict, case: Case) -> Words:
        wanted = max(x for x in (limit.caution_below, limit.fail_below, 0.0) if x is not None)
        return words(
            "Lead the vent round by the {side} of the tank, {more:up} farther that way than it goes now, so that a "
            "part of it is over the fuel; or a roll-over valve at the tank that is shut with the vehicle {lying} (a "
            "ball that falls shut only upside down is not).",
            side=_SIDES[case.state.attitude],
            more=Quantity(wanted - case.value.value, "length"),
            lying=case.state.attitude,
        )

    unknown = [v.name for v in vent.valves if v.figures.get("shuts_at") is None]
    judged = judge(limit, vent.port, cases, why=why, change=change, alike=ALIKE)
    if unknown and judged.verdict is not Verdict.PASS:
        why_not = words("At which tilt {valves} is shut is not stated.", valves=" and ".join(unknown))
        return unchecked(RULE, vent.port, why_not, f"shuts_at in [components.{unknown[0]}]: an angle, like 60 deg")
    return judged
