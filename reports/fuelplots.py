"""The plots of a fuel system: its pumps' curves, the pressure along its line, what it feeds over boost. No drawing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs import units
from catalogs.units import Quantity, show
from solver.along import back, line_to
from solver.byboost import by_boost
from solver.carrying import fuelling, system_curve
from solver.demand import crank_power
from solver.devices import Pump
from solver.fuels import between_pumps, feeds_not, main_pump, owner, pumps, rails, regulators

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.units import System
    from lines.graph import Edge
    from solver.along import Steps
    from solver.solution import Solution
    from solver.study import Study

    Array = npt.NDArray[np.float64]

POINTS = 60
"""Of a pump's curve."""
LEAST_SPAN = 0.05
"""Of what is asked of a pump, over its flow, to be drawn."""


@dataclass(frozen=True)
class Axis:
    """What is along one side of a plot, in the plan's units."""

    name: str
    dimension: str
    system: System

    def of(self, values: Array) -> Array:
        """Values [SI] in the unit that is printed."""
        unit = units.unit(self.dimension, units.printed_unit(self.dimension, self.system))
        return np.array([unit.from_si(float(v)) for v in np.ravel(values)]).reshape(np.shape(values))

    def at(self, value: float) -> float:
        """A value [SI] in the unit that is printed."""
        return float(self.of(np.array(value)))

    @property
    def label(self) -> str:
        return f"{self.name}, {units.printed_unit(self.dimension, self.system)}"


@dataclass(frozen=True)
class Line:
    """A line of a plot, shape (n, 2), in the plan's units."""

    name: str
    points: Array
    thin: bool = False


@dataclass(frozen=True)
class Dot:
    """A point of a plot, with what it is."""

    at: tuple[float, float]
    text: str
    filled: bool = True


@dataclass(frozen=True)
class Plot:
    """A plot: lines, points and its two axes."""

    title: str
    x: Axis
    y: Axis
    lines: tuple[Line, ...]
    dots: tuple[Dot, ...]
    shaded: Array | None = None
    """The outline of what is hatched, shape (n, 2)."""
    note: str = ""


def fuel_plots(study: Study, answer: Solution) -> tuple[Plot, ...]:
    """The plots of a fuel system that has an answer at every duty."""
    found = [_curve(study, answer, pump) for pump in pumps(answer.model.circuit)]
    more = (_along(study, answer), _over_boost(study, answer))
    return (*found, *(plot for plot in more if plot is not None))


def _curve(study: Study, answer: Solution, pump: Edge) -> Plot:
    """A pump's curve at the voltage of every duty, and where it works at each."""
    model, system, component = answer.model, study.plan.system, owner(pump)
    device = model.device(pump.name)
    assert isinstance(device, Pump)
    x, y = Axis("flow", "volume_flow", system), Axis("pressure rise", "pressure_drop", system)
    volts = component.figures["volts"].over(model.duties)
    first, last = device.ends()
    lines: dict[str, Line] = {}
    for i, volt in enumerate(volts):
        name = show(Quantity(float(volt), "voltage"), system)
        rise = np.linspace(first[i], last[i], POINTS)
        flow = device.at(rise, i)
        lines.setdefault(name, Line(name, np.stack([x.of(flow), y.of(rise)], axis=1)))
    rises = answer.total(pump.end) - answer.total(pump.start)
    works = np.stack([x.of(answer.flow(pump.name)), y.of(rises)], axis=1)
    dots = [Dot((float(a), float(b)), duty) for (a, b), duty in zip(works, model.duties, strict=True)]
    burn = model.batch.taken.sum(axis=1)
    most = int(burn.argmax())
    if pump.name == main_pump(model.circuit).name:
        at = float(x.of(burn[most : most + 1])[0]), float(works[most, 1])
        dots.append(Dot(at, f"{model.duties[most]} burns", filled=False))
    asked = [_asked(answer, pump, most, x, y, system)] if burn[most] > 0 else []
    drawn = (*lines.values(), *(line for line in asked if line is not None))
    return Plot(f"What {component.name} gives, and where it works", x, y, drawn, tuple(dots))


def _asked(answer: Solution, pump: Edge, duty: int, x: Axis, y: Axis, system: System) -> Line | None:
    """What the circuit asks of a pump at a duty; None where its flow is what is burnt, whatever it lifts."""
    device = answer.model.device(pump.name)
    assert isinstance(device, Pump)
    flow, rise = system_curve(fuelling(answer, system), pump, duty)
    drawn = flow <= device.most().max()
    flow, rise = flow[drawn], rise[drawn]
    if not flow.size or np.ptp(flow) < LEAST_SPAN * flow.max():
        return None
    return Line(f"asked at {answer.model.duties[duty]}", np.stack([x.of(flow), y.of(rise)], axis=1), thin=True)


def _along(study: Study, answer: Solution) -> Plot | None:
    """Pressure from the tank to the rail and back, at the duty that burns most and at that which burns least."""
    circuit, system = answer.model.circuit, study.plan.system
    main, nodes = main_pump(circuit), next(iter(rails(circuit).values()))
    rail = nodes[len(nodes) // 2]
    valves = regulators(circuit)
    feed = circuit.shortest_way([main.end], rail, feeds_not(circuit))
    way: Steps = (*line_to(circuit, main.start), (main, True), *feed)
    if valves:
        on = circuit.shortest_way([rail], valves[0].start, between_pumps(circuit))
        way = (*way, *on, (valves[0], True), *back(line_to(circuit, valves[0].end)))
    if not feed:
        return None
    x, y = Axis("along the line", "length", system), Axis("pressure", "pressure_drop", system)
    burn = answer.model.batch.taken.sum(axis=1)
    nodes, stations = _stations(study, way)
    ambient = study.plan.ambient.pressures
    lines: list[Line] = []
    dots: list[Dot] = []
    for row in dict.fromkeys((int(burn.argmax()), int(burn.argmin()))):
        gauge = np.array([answer.total(node)[row] - ambient[row] for node in nodes])
        points = np.stack([x.of(np.array(stations)), y.of(gauge)], axis=1)
        lines.append(Line(answer.model.duties[row], points))
        if not dots:
            named: dict[str, int] = {}
            for n, node in enumerate(nodes):
                named.setdefault(node.partition(".")[0] + ("" if n < len(nodes) - 2 else " back"), n)
            dots = [Dot((float(points[n, 0]), float(points[n, 1])), name) for name, n in named.items()]
    return Plot("From the tank to the rail and back", x, y, tuple(lines), tuple(dots))


def _stations(study: Study, way: Steps) -> tuple[list[str], list[float]]:
    """The nodes of a way that was solved, and how far along it each lies [m], by the lengths that the fuel flows."""
    first, onward = way[0]
    nodes, stations = [first.start if onward else first.end], [0.0]
    for edge, forward in way:
        nodes.append(edge.end if forward else edge.start)
        flowed = 0.0 if edge.run is None else study.assemblies[edge.name].flowed
        assert flowed is not None
        stations.append(stations[-1] + flowed)
    return nodes, stations


def _over_boost(study: Study, answer: Solution) -> Plot | None:
    """What the system feeds over boost and what the engine asks for, as power where the plan states power."""
    plan, found = study.plan, by_boost(study.plan, answer)
    if found is None:
        return None
    duty, dimension, each = plan.duties[found.duty], "volume_flow", 1.0
    power = crank_power(found.duty, duty)
    if power is not None:
        dimension, each = "power", power / found.planned[1]
    x, y = Axis("boost", "pressure_drop", plan.system), Axis("crank power" if power else "fuel", dimension, plan.system)

    def line(name: str, flow: Array) -> Line:
        return Line(name, np.stack([x.of(found.boost), y.of(flow * each)], axis=1)[np.isfinite(flow)])

    least = 1.0 + (plan.catalog.limit("fuel.margin").least or 0.0)
    lines = [line("needed", found.needs), line("pump feeds", found.feeds)]
    lines += [line(f"pump less {show(Quantity(least - 1.0, 'ratio'), plan.system)}", found.feeds / least)]
    lines += [line("injectors pass", found.passes)] if found.passes is not None else []
    at, burn = found.planned
    dots = [Dot((x.at(at), y.at(burn * each)), found.duty)]
    if (ends := found.runs_out) is not None:
        asked = float(np.interp(ends, found.boost, found.needs))
        text = f"no more at {show(Quantity(ends, 'pressure_drop'), plan.system)}"
        dots.append(Dot((x.at(ends), y.at(asked * each)), text, filled=False))
    driven = show(Quantity(plan.catalog.limit("fuel.injector").caution_above or 1.0, "ratio"), plan.system)
    kept = np.isfinite(found.has) & (found.has >= found.needs)
    between = [np.stack([x.of(found.boost), y.of(flow * each)], axis=1)[kept] for flow in (found.needs, found.has)]
    if ends is not None:
        between[0] = np.concatenate([between[0], np.array([dots[-1].at])])
    return Plot(
        "What it feeds and what is needed, by boost",
        x,
        y,
        tuple(lines),
        tuple(dots),
        shaded=np.concatenate([between[0], between[1][::-1]]) if kept.sum() > 1 else None,
        note="by boost: what is needed is an estimate, in step with the absolute pressure in the manifold, from "
        f"{found.duty} on; injectors pass: driven {driven} of the time",
    )
