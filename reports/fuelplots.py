"""The plots of a fuel system: its pumps' curves, the pressure along its line, what it feeds over boost. No drawing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity, show
from reports.plots import Axis, Dot, Line, Plot
from reports.pumpplots import pump_plots
from solver.along import back, line_to
from solver.byboost import by_boost
from solver.demand import crank_power
from solver.fuels import between_pumps, burns_at, feeding, feeds_not, felt, regulators

if TYPE_CHECKING:
    import numpy.typing as npt

    from solver.along import Steps
    from solver.solution import Solution
    from solver.study import Study

    Array = npt.NDArray[np.float64]


def fuel_plots(study: Study, answer: Solution) -> tuple[Plot, ...]:
    """The plots of a fuel system that has an answer at every duty."""
    more = (_along(study, answer), _over_boost(study, answer))
    return (*pump_plots(study, answer), *(plot for plot in more if plot is not None))


def _along(study: Study, answer: Solution) -> Plot | None:
    """Pressure along the line to the rail that is fed worst, and back, at the duties that burn most and least."""
    circuit, system = answer.model.circuit, study.plan.system
    burn = answer.model.batch.taken.sum(axis=1)
    most, least = int(burn.argmax()), int(burn.argmin())
    fed, returned = _to_worst(answer, most)
    if not fed:
        return None
    x, y = Axis("along the line", "length", system), Axis("pressure", "pressure_drop", system)
    nodes, stations = _stations(study, (*fed, *returned))
    ambient = study.plan.ambient.pressures
    lines = []
    for row in dict.fromkeys((most, least)):
        gauge = np.array([answer.total(node)[row] - ambient[row] for node in nodes])
        lines.append(Line(answer.model.duties[row], np.stack([x.of(np.array(stations)), y.of(gauge)], axis=1)))
    names, named = [circuit.nodes[node].component.name for node in nodes], dict[str, int]()
    # What is passed twice is named again on its way back; the regulator, where that begins, is one place.
    twice = set(names[: len(fed)]) - {names[len(fed)]}
    for n, name in enumerate(names):
        named.setdefault(f"{name} back" if n > len(fed) and name in twice else name, n)
    dots = (Dot((float(lines[0].points[n, 0]), float(lines[0].points[n, 1])), name) for name, n in named.items())
    title = "From the tank to the rail and back" if returned else "From the tank to the rail"
    return Plot(title, x, y, tuple(lines), tuple(dots))


def _to_worst(answer: Solution, row: int) -> tuple[Steps, Steps]:
    """The way from the tank to the rail with the least pressure at a duty and on to its regulator, and what is behind.

    Without a return nothing is behind; both are empty where no pump feeds that rail.
    """
    circuit = answer.model.circuit
    felt_at = {node: float(felt(answer, node)[row]) for node in burns_at(circuit)}
    rail = min(felt_at, key=felt_at.__getitem__)
    closed = feeds_not(circuit)
    feeds = ((pump, circuit.shortest_way([pump.end], rail, closed)) for pump in feeding(circuit))
    pump, feed = min(((p, way) for p, way in feeds if way), key=lambda one: len(one[1]), default=(None, ()))
    if pump is None:
        return (), ()
    way: Steps = (*line_to(circuit, pump.start), (pump, True), *feed)
    for valve in regulators(circuit):
        if on := circuit.shortest_way([rail], valve.start, between_pumps(circuit)):
            return (*way, *on), ((valve, True), *back(line_to(circuit, valve.end)))
    return way, ()


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
    notes = [f"'needed' is an estimate: from {found.duty} on it goes in step with the manifold's absolute pressure"]
    notes += (
        [f"'injectors pass' is what they pass when driven {driven} of the time"] if found.passes is not None else []
    )
    return Plot(
        "What it feeds and what is needed, by boost",
        x,
        y,
        tuple(lines),
        tuple(dots),
        shaded=np.concatenate([between[0], between[1][::-1]]) if kept.sum() > 1 else None,
        notes=tuple(notes),
    )
