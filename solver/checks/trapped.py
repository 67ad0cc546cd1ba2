"""Fuel that is shut in when the engine stands hot: between what shuts both ways, with nothing that lets it go."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Finding, Verdict, Words, words
from solver.checks.judging import listed
from solver.fuels import fuel_circuits, pumps
from solver.properties import bulk_modulus, density

if TYPE_CHECKING:
    from lines.graph import Circuit, Edge
    from solver.study import Study

RULE = "fuel.trapped"
SHUTS = {"pump", "engine_pump", "check", "bypass", "supply"}
"""Laws of what shuts when the engine stands; shut-off valves of kind `valve` may be shut too."""
SOURCE = "hot soak between two closed valves: common practice, no source"
WARMER = {"us": 10 / 1.8, "metric": 5.0}
"""By how much it is warmed, round in the units of the shop [K]."""


def shut_in(study: Study) -> list[Finding]:
    """`fuel.trapped`: of each part of a fuel circuit that everything around it shuts, whether something lets it go.

    A bypass regulator lets go over its set pressure, a check valve forward; a pump that stands, a feed regulator and
    injectors do not.
    """
    return [found for circuit in fuel_circuits(study) if pumps(circuit) for found in _of_circuit(study, circuit)]


def _shuts(edge: Edge) -> bool:
    return edge.law in SHUTS or (edge.component is not None and edge.component.kind.id == "valve")


def _of_circuit(study: Study, circuit: Circuit) -> list[Finding]:
    parts = circuit.parts_without({name for name, edge in circuit.edges.items() if _shuts(edge)})
    open_ = [_is_open(circuit, part) for part in parts]
    grew = True
    while grew:
        grew = False
        for i, part in enumerate(parts):
            if not open_[i] and any(open_[j] for j in _lets_go(circuit, part, parts)):
                open_[i] = grew = True
    found = []
    for part, free in zip(parts, open_, strict=True):
        runs = sorted(tag for tag, run in circuit.runs.items() if run.start in part)
        if runs:
            found.append(_finding(study, circuit, part, runs, free=free))
    return found


def _is_open(circuit: Circuit, part: set[str]) -> bool:
    """Is there a free surface, or another known pressure, in it?"""
    return any((inner := circuit.nodes[name].inner) is not None and bool(inner.pressure) for name in part)


def _lets_go(circuit: Circuit, part: set[str], parts: list[set[str]]) -> list[int]:
    """The parts into which a pressure in one lets go."""
    outs = {e.end for e in circuit.edges.values() if e.law in {"bypass", "check"} and e.start in part}
    return [j for j, other in enumerate(parts) if other & outs]


def _finding(study: Study, circuit: Circuit, part: set[str], runs: list[str], *, free: bool) -> Finding:
    place = runs[0]
    if free:
        text = "What stands in {runs} when the engine is off can go: to a tank, or over a regulator or a check valve."
        why = words(text, runs=listed(runs))
        return Finding(rule=RULE, place=place, verdict=Verdict.PASS, why=why)
    around = sorted(
        {
            edge.component.name
            for edge in circuit.edges.values()
            if _shuts(edge) and edge.component is not None and part & {edge.start, edge.end}
        }
    )
    text = "When the engine stands hot the fuel in {runs} is shut in by {around} and what it feeds, and expands"
    more = _warmed(study, circuit)
    text += ": {rise} for {warmer} more in lines that do not give." if more else "."
    change = words(
        "A way for it to go: a relief valve or a small bleed from it back to the tank, or a pump and valves that let "
        "it back. Keep it away from heat, and let the pressure off before a joint is opened."
    )
    why = Words(text, {"runs": listed(runs), "around": ", ".join(around)} | more)
    return Finding(rule=RULE, place=place, verdict=Verdict.CAUTION, why=why, change=change, source=SOURCE)


def _warmed(study: Study, circuit: Circuit) -> dict[str, Quantity | str]:
    """What warming adds in lines that do not give, from the hottest of its duties: expansion times bulk modulus.

    Empty where the fluid's bulk modulus is not known.
    """
    table = study.plan.circuits[circuit.name]
    fluid = study.plan.catalog.fluid(table.fluid)
    hottest, by = max(table.temperature.over(list(study.plan.duties))), WARMER[study.plan.system]
    try:
        cold, hot = density(fluid, np.array([hottest, hottest + by])).tolist()
        modulus = float(bulk_modulus(fluid, np.array([hottest]))[0])
    except UnknownInputError:
        return {}
    return {
        "rise": Quantity(modulus * (cold / hot - 1.0), "pressure_drop"),
        "warmer": Quantity(by, "temperature_difference"),
    }
