"""The drains of a plan: of each turbocharger what it sends down at every duty, and where that ends."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.grades import Grade, weakest
from solver.components import absolute
from solver.crankcase import crankcase_pressure
from solver.drains.channel import LEAST
from solver.drains.drain import Drain
from solver.drains.foam import MOST_GAS, Foam, foam
from solver.drains.line import drain_line, flooding_point
from solver.fluid import fluid_of
from solver.liquid import liquid_in
from solver.solution import Solution
from solver.stated import needed

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from lines.assembly import Assembly
    from lines.graph import Circuit
    from lines.plan import Component, Plan
    from solver.solution import Unsolved

    Array = npt.NDArray[np.float64]
    Answers = Mapping[str, Solution | Unsolved]

BEARINGS = "bearings"
"""The inner path of a turbocharger that its oil takes."""


@dataclass(frozen=True)
class Pressed:
    """The pressure at a drain's end over that of the bearing housing."""

    over: Array
    """At every duty [Pa]."""
    said: list[str]
    """What was taken for it."""
    grade: Grade
    at_least: bool = False


def drains(
    plan: Plan,
    circuits: Mapping[str, Circuit],
    made: Mapping[str, Assembly],
    answers: Answers,
) -> dict[str, Drain | UnknownInputError]:
    """The drain of every turbocharger that has one, or why it cannot be told.

    Args:
        plan: the plan.
        circuits: all of them.
        made: its assemblies.
        answers: the solutions of those that pressure moves.
    """
    found: dict[str, Drain | UnknownInputError] = {}
    for circuit in circuits.values():
        for outlet in circuit.gravity_ports("out"):
            turbo = outlet.partition(".")[0]
            try:
                found[turbo] = _drain(plan, circuit, outlet, made, answers)
            except UnknownInputError as error:
                found[turbo] = error
    return found


def _drain(
    plan: Plan,
    circuit: Circuit,
    outlet: str,
    made: Mapping[str, Assembly],
    answers: Answers,
) -> Drain:
    line = drain_line(plan, circuit, outlet, made)
    component = plan.components[outlet.partition(".")[0]]
    table = plan.circuits[circuit.name]
    density, viscosity, beyond = fluid_of(plan, circuit, plan.catalog.fluid(table.fluid))
    temperature = np.array(table.temperature.over(list(plan.duties)))
    others = _draining(circuit)
    said: list[str] = list(beyond)
    if component.figures.get("floods_at") is None:
        said.append(f"{component.name}: it floods at the middle of its outlet, as nobody says floods_at")
    foams, known = [], np.ones(len(density), dtype=bool)
    for tag in line.runs:
        owners = [name for name, tags in others.items() if tag in tags]
        parts = [_foam(plan, plan.components[n], answers, (density, viscosity), temperature) for n in owners]
        known &= np.all([np.isfinite(part.flow) for part, _ in parts], axis=0)
        foams.append(_together([part for part, _ in parts]))
        said += [text for _, texts in parts for text in texts]
    ends_in = plan.components[line.inlet.partition(".")[0]]
    is_sump = any(node.height for node in ends_in.kind.nodes.values())
    is_pump = any(path.law == "scavenge" for path in ends_in.kind.paths)
    pressed = _pressure_over(plan, component, ends_in, answers, is_sump=is_sump)
    stock = [made[tag].stock.grade_of("bore") for tag in line.runs]
    fluid = plan.catalog.fluid(table.fluid)
    return Drain(
        turbo=component.name,
        line=line,
        stock=made[line.runs[0]].stock.id,
        oil_flow=_oil(component, answers),
        known=tuple(np.flatnonzero(known).tolist()),
        foams=tuple(foams),
        temperature=temperature,
        cold=temperature < (plan.catalog.limit("drain.foam.warm").caution_below or 0.0),
        over=pressed.over,
        at_least=pressed.at_least,
        floods=flooding_point(plan, line),
        sump=ends_in.name if is_sump else "",
        oil=liquid_in(ends_in, "full") if is_sump else None,
        pump=ends_in if is_pump else None,
        most_froude=plan.catalog.limit("drain.vertical").fail_above or np.inf,
        said=tuple(dict.fromkeys([*said, *pressed.said])),
        grade=weakest([*stock, fluid.density.grade, fluid.viscosity.grade, pressed.grade, *_grades(component)]),
    )


def _draining(circuit: Circuit) -> dict[str, set[str]]:
    """The runs that each turbocharger's oil takes down."""
    return {
        outlet.partition(".")[0]: {tag for tag, _ in circuit.way_down(outlet)}
        for outlet in circuit.gravity_ports("out")
    }


def _oil(component: Component, answers: Answers) -> Array:
    """Oil through a turbocharger's bearings at every duty [m3/s], from the solution of its feed."""
    name = component.name
    edge = f"{name}: {BEARINGS}"
    for answer in answers.values():
        circuit = answer.model.circuit if isinstance(answer, Solution) else answer.circuit
        if edge in circuit.edges:
            if not isinstance(answer, Solution):
                raise UnknownInputError(f"the oil that {name} is fed is not known", needs=answer.needs)
            if answer.solved.any():
                return answer.flow(edge)
    raise UnknownInputError(
        f"the oil that {name} is fed is not known",
        needs=f"its feed: a run from a gallery to {name}.feed, with its points",
    )


def _foam(
    plan: Plan, component: Component, answers: Answers, oil: tuple[Array, Array], temperature: Array
) -> tuple[Foam, tuple[str, ...]]:
    """What leaves a turbocharger at every duty, and what was taken for it.

    Where nobody states its gas, the kind's own share is that of warm oil, which is churned at speed; cold oil is taken
    without any.
    """
    needed(component, "foam")
    name, gas = component.name, np.array(component.figures["foam"].over(list(plan.duties)))
    limit = plan.catalog.limit("drain.foam")
    most, warm = limit.fail_above or 1.0, plan.catalog.limit("drain.foam.warm").caution_below or 0.0
    if (gas > most).any():
        raise UnknownInputError(
            f"foam of {name} leaves hardly any oil", needs=f"foam in [components.{name}]: at most {100 * most:.0f} %"
        )
    said = [f"{name}: its foam is past what its law of viscosity was measured for"] if (gas > MOST_GAS).any() else []
    if "foam" not in component.stated:
        cold = temperature < warm
        said.append(f"{name}: its oil leaves as foam, {100 * gas.max():.0f} % gas, which nobody measured")
        if cold.any():
            gas = np.where(cold, 0.0, gas)
            said[-1] += ", cold oil without any"
    return foam(_oil(component, answers), *oil, gas), tuple(said)


def _together(parts: list[Foam]) -> Foam:
    """Foams that run together: of each figure the mean by flow; none where one of them is not known."""
    flows = np.maximum(np.nan_to_num(np.stack([part.flow for part in parts])), LEAST)
    density, viscosity, gas = (
        np.sum([getattr(p, of) * flow for p, flow in zip(parts, flows, strict=True)], axis=0) / flows.sum(axis=0)
        for of in ("density", "viscosity", "gas")
    )
    return Foam(flows.sum(axis=0), density, viscosity, gas)


def _grades(component: Component) -> list[Grade]:
    """The grades of a turbocharger's own figures that its drain rests on."""
    return [
        figure.grade
        for key in ("foam", "housing_pressure")
        if key not in component.stated and (figure := component.kind.figures[key]).grade is not None
    ]


def _pressure_over(
    plan: Plan,
    turbo: Component,
    ends_in: Component,
    answers: Answers,
    *,
    is_sump: bool,
) -> Pressed:
    """The pressure at a drain's end over that of the bearing housing."""
    needed(turbo, "housing_pressure")
    housing = absolute(plan, turbo.figures["housing_pressure"])
    if not is_sump:
        return Pressed(np.zeros_like(housing), [], Grade.MEASURED)
    if "crankcase" in ends_in.stated:
        return Pressed(absolute(plan, ends_in.figures["crankcase"]) - housing, [], Grade.MEASURED)
    computed = crankcase_pressure(answers)
    if computed is not None:
        said = "crankcase pressure as the breather's circuit gives it"
        said += ", at least" if computed.at_least else ""
        return Pressed(computed.pressure - housing, [said], computed.grade, at_least=computed.at_least)
    own = ends_in.kind.figures["crankcase"]
    said = f"{ends_in.name}: no crankcase pressure, as nobody measured it"
    return Pressed(absolute(plan, ends_in.figures["crankcase"]) - housing, [said], own.grade or Grade.MEASURED)
