"""The drain of each turbocharger of a plan: what runs in it at every duty, where it leads, what it must not reach."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.grades import Grade, weakest
from solver.components import absolute
from solver.crankcase import crankcase_pressure
from solver.drains.channel import LEAST
from solver.drains.foam import MOST_GAS, Foam, foam
from solver.drains.line import DrainLine, drain_line, flooding_point
from solver.drains.surface import STEEP, States, Surface, surface
from solver.fluid import fluid_of
from solver.solution import Solution
from solver.stated import needed
from solver.sump import oil_in

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from lines.assembly import Assembly
    from lines.graph import Circuit
    from lines.plan import Component, Plan
    from solver.solution import Unsolved
    from solver.sump import Oil

    Array = npt.NDArray[np.float64]
    Integers = npt.NDArray[np.int64]
    Answers = Mapping[str, Solution | Unsolved]

BEARINGS = "bearings"
"""The inner path of a turbocharger that its oil takes."""


ONE_PLACE = 1e-6
"""Heights that differ by less are one [m]."""


@dataclass(frozen=True)
class Drain:
    """One turbocharger's drain."""

    turbo: str
    line: DrainLine
    stock: str
    """Of its first run."""
    oil_flow: Array
    """Of this turbocharger alone, without gas, at every duty [m3/s]; nan where its feed has no answer."""
    known: tuple[int, ...]
    """The duties, by number, of which all that runs in it is known."""
    foams: tuple[Foam, ...]
    """What runs in each of its runs at every duty, from all turbochargers that drain through it."""
    temperature: Array
    """Of the oil at every duty [K]."""
    over: Array
    """Crankcase pressure less that of the bearing housing, at every duty [Pa]."""
    at_least: bool
    """Is that pressure more at some duty, nobody knows how much?"""
    floods: Array
    """The point that the oil must not reach, shape (3,) [m]."""
    sump: str
    """The name of the sump that it ends in; empty where it ends in the open or at a pump."""
    oil: Oil | None
    """What stands in that sump when full; None where it ends in none."""
    pump: Component | None
    """The scavenge pump that it ends at."""
    most_froude: float
    """Up to which the foam in a steep length is let off [-]."""
    said: tuple[str, ...]
    """What was estimated."""
    grade: Grade
    """Of its weakest figure."""

    def states(self, gravity: Array, duty: Integers) -> States:
        """Its states with a full sump.

        Args:
            gravity: effective, shape (n, 3) [m/s2].
            duty: number of the duty, shape (n,).
        """
        down = gravity / np.linalg.norm(gravity, axis=1, keepdims=True)
        oil = np.full(len(duty), -np.inf) if self.oil is None else self.oil.levels(down).heights
        return States(gravity, duty, oil, self.over[duty])

    @property
    def leans(self) -> bool:
        """Is the sump's oil known in every attitude, and not on level ground only?"""
        return self.oil is None or self.oil.body is not None

    def surface(self, states: States, points: Array | None = None) -> Surface:
        """The oil in it, in these states; through other points, shape (states, pieces + 1, 3) [m], where given."""
        return surface(self.line, self.foams, states, points)

    def clearance(self, states: States, points: Array | None = None, floods: Array | None = None) -> Array:
        """How far the oil stays under the point that it must not reach, along gravity [m]; shape (states,).

        Args:
            states: what it stands in.
            points: the drain through other points, shape (states, pieces + 1, 3) [m].
            floods: that point elsewhere, shape (states, 3) or (3,) [m].
        """
        return self._under(states, self.surface(states, points), floods)

    def _under(self, states: States, surface: Surface, floods: Array | None) -> Array:
        down = states.down
        point = self.floods if floods is None else floods
        found = -np.sum(np.broadcast_to(point, down.shape) * down, axis=1) - surface.surface[0][:, 0]
        # Where the outlet points straight down invert, crown and flooding point are one place, but for the last digit.
        return np.where(np.abs(found) < ONE_PLACE, 0.0, found)

    def to_spare(self, states: States, points: Array | None = None, floods: Array | None = None) -> Array:
        """As `clearance`, but less than 0 too where a steep length takes more than `most_froude`; shape (states,) [m].

        There by what the limit is passed, in bores.
        """
        found = self.surface(states, points)
        steep = np.where(found.fall >= STEEP, found.froude, 0.0)
        worst = steep.argmax(axis=1)
        over = steep.max(axis=1) / self.most_froude - 1.0
        clear = self._under(states, found, floods)
        return np.where(over > 0.0, np.minimum(clear, -over * self.line.bore[worst]), clear)


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
    others = _draining(circuit)
    said: list[str] = list(beyond)
    foams, known = [], np.ones(len(density), dtype=bool)
    for tag in line.runs:
        owners = [name for name, tags in others.items() if tag in tags]
        parts = [_foam(plan, plan.components[name], answers, density, viscosity) for name in owners]
        known &= np.all([np.isfinite(part.flow) for part in parts], axis=0)
        foams.append(_together(parts))
        said += [_said_of(plan.components[name]) for name in owners]
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
        temperature=np.array(table.temperature.over(list(plan.duties))),
        over=pressed.over,
        at_least=pressed.at_least,
        floods=flooding_point(plan, outlet),
        sump=ends_in.name if is_sump else "",
        oil=oil_in(ends_in, "full") if is_sump else None,
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
                raise UnknownInputError(
                    f"the oil that {name} is fed is not known", needs=f"what circuit.flow/{circuit.name} asks for"
                )
            if answer.solved.any():
                return answer.flow(edge)
    raise UnknownInputError(
        f"the oil that {name} is fed is not known",
        needs=f"its feed: a run from a gallery to {name}.feed, with its points",
    )


def _foam(plan: Plan, component: Component, answers: Answers, density: Array, viscosity: Array) -> Foam:
    needed(component, "foam")
    gas = np.array(component.figures["foam"].over(list(plan.duties)))
    if (gas >= 1.0).any():
        raise UnknownInputError(
            f"foam of {component.name} leaves no oil", needs=f"foam in [components.{component.name}]: under 100 %"
        )
    return foam(_oil(component, answers), density, viscosity, gas)


def _together(parts: list[Foam]) -> Foam:
    """Foams that run together: of each figure the mean by flow; none where one of them is not known."""
    flows = np.maximum(np.nan_to_num(np.stack([part.flow for part in parts])), LEAST)
    density, viscosity = (
        np.sum([getattr(p, of) * flow for p, flow in zip(parts, flows, strict=True)], axis=0) / flows.sum(axis=0)
        for of in ("density", "viscosity")
    )
    return Foam(flows.sum(axis=0), density, viscosity)


def _said_of(component: Component) -> str:
    gas = max(component.figures["foam"].values.values())
    name = component.name
    said = f"{name}: its oil leaves as foam, {100 * gas:.0f} % gas"
    if "foam" not in component.stated:
        said += ", which nobody measured"
    return said + (", past what its law of viscosity was measured for" if gas > MOST_GAS else "")


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
