"""The JSON of `check`, `solve` and of errors. No times of day, no NaN; sorted, so that two runs compare."""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, Any

from catalogs import units
from catalogs.units import Quantity
from lines.finding import counts
from reports.gases import as_shown
from solver.fuels import burns_at, felt

if TYPE_CHECKING:
    from collections.abc import Iterable

    import numpy as np
    import numpy.typing as npt

    from catalogs.errors import Fault
    from catalogs.units import System
    from lines.finding import Finding, State
    from lines.plan import Plan
    from solver.solution import Solution

    Array = npt.NDArray[np.float64]

DIGITS = 6


def dump(document: dict[str, Any]) -> str:
    """A document as text."""
    return json.dumps(document, indent=2, sort_keys=False, allow_nan=False, ensure_ascii=False)


def quantity(value: Quantity | None, system: System) -> dict[str, Any] | None:
    """A quantity in the plan's unit."""
    if value is None or not math.isfinite(value.value):
        return None
    number = units.number_in(value, system)
    shown: dict[str, Any] = {"value": _short(number), "unit": units.printed_unit(value.dimension, system)}
    if value.reference is not None:
        shown["reference"] = value.reference
    return shown


def _short(number: float) -> float:
    return float(f"{number:.{DIGITS}g}") + 0.0


def _state(state: State) -> dict[str, str | None]:
    return {
        "duty": state.duty or None,
        "attitude": state.attitude or None,
        "position": state.position or None,
        "station": state.station or None,
    }


def finding(found: Finding, system: System) -> dict[str, Any]:
    """One finding."""
    return {
        "id": found.id,
        "rule": found.rule,
        "place": found.place,
        "verdict": found.verdict.value,
        "value": quantity(found.value, system),
        "limit": {"low": quantity(found.low, system), "high": quantity(found.high, system)},
        "margin": quantity(found.margin, system),
        "worst": _state(found.worst),
        "cases": [{**_state(case.state), "value": quantity(case.value, system)} for case in found.cases],
        "basis": found.basis.value if found.basis is not None else None,
        "source": found.source or None,
        "why": found.why.say(system),
        "change": found.change.say(system) or None,
        "needs": found.needs or None,
    }


def check_document(plan: Plan, found: list[Finding]) -> dict[str, Any]:
    """What `check --json` prints."""
    return {
        "schema": 1,
        "plan": plan.head.title,
        "revision": plan.head.revision,
        "counts": counts(found),
        "findings": [finding(f, plan.system) for f in found],
    }


def error_document(faults: Iterable[Fault]) -> dict[str, Any]:
    """What `--json` prints where there is no answer."""
    keys = ("file", "line", "table", "key", "message", "expected", "nearest")
    return {"schema": 1, "errors": [{key: getattr(fault, key) for key in keys} for fault in faults]}


def solve_document(
    plan: Plan, answers: dict[str, Solution], duties: list[str], unbuilt: dict[str, str]
) -> dict[str, Any]:
    """What `solve --json` prints; `unbuilt` are circuits whose physics is not there yet, and why."""
    circuits = {name: {duty: _duty(plan, answer, duty) for duty in duties} for name, answer in answers.items()}
    head = {"schema": 1, "plan": plan.head.title, "revision": plan.head.revision}
    return head | {"circuits": circuits, "not_computed": unbuilt}


def _duty(plan: Plan, answer: Solution, duty: str) -> dict[str, Any]:
    row = answer.model.duties.index(duty)
    ambient = plan.ambient.pressure[duty]

    def show(value: float, dimension: str) -> dict[str, Any] | None:
        gauge = dimension == "pressure"
        number = value - ambient if gauge else value
        return quantity(Quantity(number, as_shown(answer, dimension), "gauge" if gauge else None), plan.system)

    static = _static(answer, row)
    nodes = {
        name: {"total": show(float(answer.total(name)[row]), "pressure"), "static": _maybe(static.get(name), show)}
        for name in sorted(answer.model.number)
    }
    runs = {tag: _run(plan, answer, tag, row, show) for tag in answer.model.circuit.runs}
    components: dict[str, dict[str, Any]] = {}
    for name in answer.model.edges:
        edge = answer.model.circuit.edges[name]
        if edge.component is not None:
            drop = float(answer.total(edge.start)[row] - answer.total(edge.end)[row])
            path: dict[str, Any] = {
                "flow": show(float(answer.flow(name)[row]), "volume_flow"),
                "drop": show(drop, "pressure_drop"),
            }
            if answer.model.edges.index(name) in answer.model.network.devices:
                path["state"] = answer.switch(name)[row]
            components.setdefault(edge.component.name, {})[name.partition(": ")[2]] = path
    pressure, flow = (float(values[row]) for values in answer.imbalance())
    imbalance = {"pressure": show(pressure, "pressure_drop"), "flow": show(flow, "volume_flow")}
    return {"nodes": nodes, "runs": runs, "components": dict(sorted(components.items())), "imbalance": imbalance}


def _static(answer: Solution, row: int) -> dict[str, float]:
    """Static pressure in the bore of each port that has a hose on it, and at each injector [Pa absolute]."""
    ports = {port: float(answer.static_at(port)[row]) for port in answer.model.bores}
    return ports | {node: float(felt(answer, node)[row]) for node in burns_at(answer.model.circuit)}


def _maybe(value: float | None, show: Any) -> dict[str, Any] | None:
    return None if value is None else show(value, "pressure")


def _run(plan: Plan, answer: Solution, tag: str, row: int, show: Any) -> dict[str, Any]:
    run = answer.model.circuit.runs[tag]
    stock = plan.catalog.stock(run.stock)
    return {
        "from": run.start,
        "to": run.end,
        "flow": show(float(answer.flow(tag)[row]), "volume_flow"),
        "velocity": show(float(answer.velocity(tag, stock.bore)[row]), "velocity"),
        "reynolds": _short(float(answer.reynolds(tag, stock.bore)[row])),
        "friction": _short(float(answer.friction(tag, stock.bore, stock.roughness)[row])),
        "loss": show(float(sum(v[row] for v in answer.parts(tag).values())), "pressure_drop"),
        "climb": show(float(answer.climb(tag)[row]), "pressure_drop"),
        "things": {name: show(float(v[row]), "pressure_drop") for name, v in answer.things(tag).items()},
        "losses": {name: show(float(v[row]), "pressure_drop") for name, v in answer.parts(tag).items()},
    }
