"""What a person sees of a fuel system: a page's content for each circuit of fuel with a pump and a rail. No drawing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs import units
from catalogs.errors import UnknownInputError
from catalogs.units import Quantity, show
from lines.finding import Verdict
from solver.along import back, line_to
from solver.devices import Pump
from solver.fuels import between_pumps, feeding, feeds_not, fuel_circuits, manifold, owner, pumps, rails, regulators
from solver.solution import Solution

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.units import System
    from lines.finding import Finding
    from lines.graph import Circuit, Edge
    from solver.along import Steps
    from solver.study import Study

    Array = npt.NDArray[np.float64]

RULES = "fuel."
"""The rules that judge fuel begin so."""
POINTS = 60
"""Of a pump's curve."""
OF_IT = "of it "
"""How a part of a sum's row begins."""
LOUD = (Verdict.FAIL, Verdict.CAUTION, Verdict.UNCHECKED)


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

    @property
    def label(self) -> str:
        return f"{self.name}, {units.printed_unit(self.dimension, self.system)}"


@dataclass(frozen=True)
class Line:
    """A line of a plot, shape (n, 2), in the plan's units."""

    name: str
    points: Array


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


@dataclass(frozen=True)
class FuelPage:
    """One fuel system."""

    circuit: str
    verdict: Verdict
    told: tuple[tuple[str, str], ...]
    """What does not pass: rule with its place and verdict, and what to do."""
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    """Every duty."""
    plots: tuple[Plot, ...]
    sums: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    """Of each pump the sum at its inlet in its worst state, by the parts of its finding."""
    system: System


def fuel_pages(study: Study, found: list[Finding]) -> list[FuelPage]:
    """The pages of the fuel systems of a study that have an answer, in the order of the plan."""
    pages = []
    for circuit in fuel_circuits(study):
        answer = study.solutions.get(circuit.name)
        if isinstance(answer, Solution) and answer.solved.all() and pumps(circuit) and rails(circuit):
            pages.append(_page(study, circuit, answer, found))
    return pages


def _page(study: Study, circuit: Circuit, answer: Solution, found: list[Finding]) -> FuelPage:
    plan = study.plan
    places = {ref.partition(".")[0] for ref in circuit.nodes}
    own = [
        f
        for f in found
        if f.rule.startswith(RULES) and (f.place == circuit.name or f.place.partition(".")[0] in places)
    ]
    loud = sorted((f for f in own if f.verdict in LOUD), key=lambda f: f.verdict.rank)
    told = tuple((f"{f.verdict.upper()} {f.id}", _asks(f, plan.system)) for f in loud)
    heads, rows = _rows(study, answer, own)
    plots = [_curve(study, answer, pump) for pump in pumps(circuit)]
    along = _along(study, answer)
    return FuelPage(
        circuit=circuit.name,
        verdict=min((f.verdict for f in own), key=lambda v: v.rank, default=Verdict.UNCHECKED),
        told=told,
        heads=heads,
        rows=rows,
        plots=(*plots, *([along] if along is not None else [])),
        sums=tuple((f.place, _sum(f, plan.system)) for f in own if f.rule == "fuel.suction" and "over" in f.why.parts),
        system=plan.system,
    )


def _asks(found: Finding, system: System) -> str:
    """What a finding asks for, of a fail after why; where it asks for nothing, why it is told."""
    asks = found.change.say(system) or found.needs
    return f"{found.why.say(system)} {asks}" if found.verdict is Verdict.FAIL or not asks else asks


def _main(circuit: Circuit) -> Edge:
    """The pump that feeds the rails, the first where there are several."""
    return (feeding(circuit) or pumps(circuit))[0]


# ---------------------------------------------------------------- the table


def _rows(study: Study, answer: Solution, own: list[Finding]) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """What every duty asks and has."""
    plan, duties, circuit = study.plan, answer.model.duties, answer.model.circuit
    main, ambient = _main(circuit), plan.ambient.pressures
    burn = answer.model.batch.taken[:, [answer.model.number[n] for n in rails(circuit)]].sum(axis=1)
    node = next(iter(rails(circuit)))
    gauge = answer.total(node) - ambient
    try:
        across = answer.total(node) - manifold(plan, duties)
    except UnknownInputError:
        across = np.full(len(duties), np.nan)
    rise = answer.total(main.end) - answer.total(main.start)
    volts = owner(main).figures["volts"].over(duties)
    driven, margin = (_worst(own, rule, duties) for rule in ("fuel.injector", "fuel.suction"))

    def text(value: float, dimension: str, reference: str | None = None) -> str:
        known = Quantity(float(value), dimension, reference)  # type: ignore[arg-type]
        return show(known, plan.system) if np.isfinite(value) else ""

    heads = (
        "duty",
        "engine burns",
        f"{owner(main).name} gives",
        "at",
        "rail",
        "injectors have",
        "driven",
        "over boiling",
    )
    rows = []
    for i, duty in enumerate(duties):
        rows.append(
            (
                duty,
                text(burn[i], "volume_flow"),
                text(answer.flow(main.name)[i], "volume_flow"),
                f"{text(rise[i], 'pressure_drop')}, {text(volts[i], 'voltage')}",
                text(gauge[i], "pressure", "gauge"),
                text(across[i], "pressure_drop"),
                text(driven[i], "ratio"),
                text(margin[i], "pressure_drop"),
            )
        )
    return heads, tuple(rows)


def _worst(own: list[Finding], rule: str, duties: list[str]) -> list[float]:
    """The value of a rule that leaves the least room at each duty, over its places and attitudes; nan where none is."""
    of_rule = [f for f in own if f.rule == rule and f.cases]
    most = max if any(f.high is not None and f.low is None for f in of_rule) else min
    values = ([c.value.value for f in of_rule for c in f.cases if c.state.duty == duty] for duty in duties)
    return [most(found) if found else np.nan for found in values]


def _sum(found: Finding, system: System) -> tuple[tuple[str, str], ...]:
    """The parts of the sum at a pump's inlet, as its finding tells them."""
    parts = found.why.parts

    def said(key: str) -> str:
        value = parts[key]
        return show(value, system) if isinstance(value, Quantity) else value

    lift = said("height") == "the fuel over its inlet adds"
    rows = [
        ("worst", f"{said('attitude')}, {said('duty')}"),
        (f"over the fuel in {said('source')}", said("over")),
        ("the fuel over its inlet" if lift else "the lift up to its inlet", ("+ " if lift else "- ") + said("column")),
        ("what is lost on the way", "- " + said("lost")),
        *((f"{OF_IT}{said(f'thing{i}')}", said(f"lost{i}")) for i in range(9) if f"thing{i}" in parts),
        ("at its inlet", said("here")),
        (f"boils at {said('temperature')} under", "- " + said("vapour")),
        ("the pump asks for over that", "- " + said("need")),
        (said("which"), said("margin")),
    ]
    return tuple(rows)


# ---------------------------------------------------------------- the plots


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
    if pump.name == _main(model.circuit).name:
        most = int(burn.argmax())
        at = float(x.of(burn[most : most + 1])[0]), float(works[most, 1])
        dots.append(Dot(at, f"{model.duties[most]} burns", filled=False))
    return Plot(f"What {component.name} gives, and where it works", x, y, tuple(lines.values()), tuple(dots))


def _along(study: Study, answer: Solution) -> Plot | None:
    """Pressure from the tank to the rail and back, at the duty that burns most and at that which burns least."""
    circuit, system = answer.model.circuit, study.plan.system
    main, rail = _main(circuit), next(iter(rails(circuit)))
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
