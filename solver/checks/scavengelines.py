"""The lines of scavenge pumps: what their hoses stand, how wide they are, and where they send the oil."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.grades import Grade
from catalogs.units import Quantity
from lines.finding import NOTHING, Case, Finding, State, Verdict, Words, unchecked, words
from lines.states import LEVEL
from solver.checks.judging import by_attitude, judge
from solver.checks.rating import stands_suction
from solver.checks.scavenge import each, pumps
from solver.drains.scavenging import pump_ports, runs_on, way_back
from solver.liquid import liquid_in
from solver.stated import asked_for

if TYPE_CHECKING:
    from lines.plan import Component, Plan
    from solver.drains.scavenging import Return
    from solver.study import Study


def hoses(study: Study) -> list[Finding]:
    """`run.suction` of the runs to a scavenge pump: whether they keep their shape at all the vacuum that it makes."""
    found, duties = [], list(study.plan.duties)
    for pump in pumps(study):
        inlet, _ = _ports(pump)
        for tag in dict.fromkeys(tag for c in study.circuits.values() for tag in runs_on(c, inlet)):
            made = study.assemblies[tag]
            if made.stock.rigid:
                continue
            if pump.figures.get("vacuum") is None:
                why = words("{pump} draws on it; how deep is not known.", pump=pump.name)
                found.append(unchecked("run.suction", tag, why, asked_for(pump, "vacuum")))
                continue
            made_by = np.array(pump.figures["vacuum"].over(duties), dtype=np.float64)
            found.append(stands_suction(made, duties, -made_by, Grade.MEASURED))
    return found


def size(study: Study) -> list[Finding]:
    """`drain.scavenge.size`: is the line to each scavenge pump at least as wide as the line from it?"""
    found = []
    for pump in pumps(study):
        inlet, outlet = (_hose_at(study, port) for port in _ports(pump))
        if inlet is not None and outlet is not None:
            found.append(_size(study, pump, inlet, outlet))
    return found


def _ports(pump: Component) -> tuple[str, str]:
    """The inlet and the outlet of a scavenge pump."""
    ports = pump_ports(pump)
    assert ports is not None
    return ports


def _hose_at(study: Study, port: str) -> float | None:
    """The bore of the hose on a port [m]."""
    tag = next((circuit.run_on(port) for circuit in study.circuits.values() if port in circuit.nodes), None)
    return None if tag is None else study.assemblies[tag].stock.bore


def _size(study: Study, pump: Component, inlet: float, outlet: float) -> Finding:
    facts: dict[str, Quantity | str] = {"inlet": Quantity(inlet, "bore"), "outlet": Quantity(outlet, "bore")}

    def why(verdict: Verdict, _case: Case) -> Words:
        text = "Its line in is {inlet} wide, its line out {outlet}."
        return words(text if verdict is Verdict.PASS else text + " Foam is drawn harder than it is pushed.", **facts)

    def change(_verdict: Verdict, _case: Case) -> Words:
        return words(
            "A line to it of {outlet:up} bore or more: what resists ahead of a pump costs it its flow.", **facts
        )

    case = Case(State(), Quantity(inlet / outlet, "ratio"))
    return judge(study.plan.catalog.limit("drain.scavenge.size"), pump.name, [case], why=why, change=change)


def returns(study: Study) -> list[Finding]:
    """`drain.scavenge.return`: does each scavenge pump's return end over the oil, and keep it from running back?"""
    return each(study, "drain.scavenge.return", _return)


def _return(study: Study, pump: Component) -> Finding:
    back = way_back(list(study.circuits.values()), pump)
    if back is None or not back.ends:
        raise UnknownInputError(
            f"where {pump.name} sends the oil is not known", needs=f"runs from {_ports(pump)[1]} to a port of the sump"
        )
    boxes = [study.plan.components[port.partition(".")[0]] for port in back.ends]
    if all(_is_open(box) for box in boxes):
        return _overboard(pump, back.ends[0])
    ends = [port for port, box in zip(back.ends, boxes, strict=True) if _holds_oil(box)]
    if len(ends) != 1:
        where = ", ".join(back.ends)
        raise UnknownInputError(
            f"the return ends at {where}, and no oil is known there", needs="a sump or tank as its end"
        )
    return _over_oil(study, pump, back, ends[0])


def _holds_oil(component: Component) -> bool:
    return any(node.height for node in component.kind.nodes.values())


def _is_open(component: Component) -> bool:
    return any(node.pressure == "ambient" and not node.height for node in component.kind.nodes.values())


def _overboard(pump: Component, end: str) -> Finding:
    return Finding(
        rule="drain.scavenge.return",
        place=pump.name,
        verdict=Verdict.FAIL,
        why=words(
            "It pumps the oil out into the open at {end}: the engine runs dry, and hot parts are oiled.", end=end
        ),
        change=words("Lead its return to the sump, over the oil."),
        basis=Grade.MEASURED,
    )


def _over_oil(study: Study, pump: Component, back: Return, end: str) -> Finding:
    plan, box = study.plan, study.plan.components[end.partition(".")[0]]
    named = {"level": LEVEL} if "corner" not in box.kind.figures else plan.attitudes
    port, down = plan.port(end), np.stack([attitude.down for attitude in named.values()])
    if port.z is None or (port.at is None and len(named) > 1):
        raise UnknownInputError(
            f"where {end} lies is not known", needs=f"`at` of ports.{end.partition('.')[2]} of {box.name}"
        )
    oil = liquid_in(box, "full").levels(down)
    if np.isnan(oil.heights).any():
        raise UnknownInputError(oil.why, needs=oil.needs)
    at = np.array(port.at if port.at is not None else (0.0, 0.0, port.z))
    over = -down @ at - oil.heights
    cases = by_attitude(named, over, "length")

    def why(verdict: Verdict, case: Case) -> Words:
        facts: dict[str, Quantity | str] = {
            "end": end,
            "attitude": case.state.attitude,
            "height": Quantity(abs(case.value.value), "length"),
        }
        if verdict is Verdict.PASS:
            return words("Its return ends at {end}, {height} over the oil in {attitude}.", **facts)
        text = "Its return ends at {end}, {height} under the oil in {attitude}: parked, oil runs back through the pump."
        return words(text, **facts)

    # Higher by h the end lies higher along gravity by h of its share that is vertical.
    higher = float(np.max(-over / np.maximum(-down[:, 2], 1e-3)))

    def change(_verdict: Verdict, _case: Case) -> Words:
        return words(
            "A check valve behind the pump that opens at next to none; or end it {height:up} higher, over the oil in "
            "every attitude, and not higher than the pump.",
            height=Quantity(higher, "length"),
        )

    found = judge(plan.catalog.limit("drain.scavenge.return"), pump.name, cases, why=why, change=change)
    if back.guarded:
        why_guarded = words("A check valve keeps the oil of the return from running back while parked.")
        return replace(found, verdict=Verdict.PASS, why=why_guarded, change=NOTHING)
    return _if_it_runs_back(plan, pump, port.z, found)


def _if_it_runs_back(plan: Plan, pump: Component, end: float, found: Finding) -> Finding:
    """A pass is a caution where the pump stands under the end of its return, which then empties back through it."""
    if found.verdict is not Verdict.PASS:
        return found
    _, port = _ports(pump)
    outlet = plan.port(port).z
    if outlet is None:
        why = words("Its return ends over the oil, but how high the pump stands is not known.")
        return unchecked(found.rule, found.place, why, f"`at` or height of {port}")
    if outlet >= end:
        return found
    why = words(
        "Its return ends over the oil but {rise} higher than the pump: parked, what stands in the line runs back.",
        rise=Quantity(end - outlet, "length"),
    )
    change = words("A check valve behind the pump that opens at next to nothing, or the pump over the return's end.")
    return replace(found, verdict=Verdict.CAUTION, why=why, change=change)
