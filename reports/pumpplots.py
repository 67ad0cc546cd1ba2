"""What the electric pumps of a fuel system give, and where they work: a plot of those that feed the rails together."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity, show
from reports.plots import Axis, Dot, Line, Plot
from solver.carrying import fuelling, given, system_curve
from solver.devices import Pump
from solver.fuels import burns_at, feeding, feeds_not, owner, pumps
from solver.pulsed import PulsedPump

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.units import System
    from lines.graph import Edge
    from solver.solution import Solution
    from solver.study import Study

    Array = npt.NDArray[np.float64]

POINTS = 60
"""Of a pump's curve."""
LEAST_SPAN = 0.05
"""Of what is asked of pumps, over their flow, to be drawn."""
ONE_PLACE = 0.01
"""What is burnt is no point of its own, where it is so near to what is given."""
ASKED = "'asked' is the pressure rise that the circuit takes at each flow"
AT_FULL = "'at full' is the curve of a pump that is not pulsed: pulsed it gives less, only what is taken"


def pump_plots(study: Study, answer: Solution) -> list[Plot]:
    """A plot for each pump of a fuel system, and one for those that feed the same rails side by side."""
    return [_curve(study, answer, group) for group in side_by_side(answer)]


def side_by_side(answer: Solution) -> list[list[Edge]]:
    """The pumps in the order of the plan, those together from which the same rails are reached."""
    circuit = answer.model.circuit
    parts, fed = circuit.parts_without(feeds_not(circuit)), feeding(circuit)
    groups: dict[str | int, list[Edge]] = {}
    for pump in pumps(circuit):
        joined = next(i for i, part in enumerate(parts) if pump.end in part)
        groups.setdefault(joined if pump in fed else pump.name, []).append(pump)
    return list(groups.values())


def _curve(study: Study, answer: Solution, group: list[Edge]) -> Plot:
    """The curve of pumps side by side at the voltages of every duty, and where they work at each."""
    model, system = answer.model, study.plan.system
    x, y = Axis("flow", "volume_flow", system), Axis("pressure rise", "pressure_drop", system)
    flow, rise = given(answer, group)
    lines: dict[str, Line] = {}
    for i in range(len(model.duties)):
        lines.setdefault(name := _driven(answer, group, i, system), Line(name, _together(answer, group, i, x, y)))
    works = [(x.at(a), y.at(b)) for a, b in zip(flow, rise, strict=True)]
    dots = [Dot(at, duty) for at, duty in zip(works, model.duties, strict=True)]
    burn = _burnt(answer, group)
    most = int(burn.argmax())
    if burn[most] > 0 and abs(flow[most] - burn[most]) > ONE_PLACE * burn[most]:
        dots.append(Dot((x.at(burn[most]), works[most][1]), f"{model.duties[most]} burns", filled=False))
    elif burn[most] > 0:
        dots[most] = Dot(works[most], f"{model.duties[most]}, all burnt")
    asked = _asked(answer, group, int(model.batch.taken.sum(axis=1).argmax()), x, y, system)
    notes = [ASKED] if asked else []
    notes += [AT_FULL] if any(isinstance(model.device(pump.name), PulsedPump) for pump in group) else []
    names = " and ".join(owner(pump).name for pump in group)
    title = f"What {names} give together"
    if len(group) == 1:
        title = f"What {names} gives, and where it works"
    return Plot(title, x, y, (*lines.values(), *asked), tuple(dots), notes=tuple(notes))


def _driven(answer: Solution, group: list[Edge], row: int, system: System) -> str:
    """How pumps are driven at a duty: their voltages."""
    volts = (owner(pump).figures["volts"].over(answer.model.duties)[row] for pump in group)
    said = " and ".join(dict.fromkeys(show(Quantity(float(volt), "voltage"), system) for volt in volts))
    pulsed = any(isinstance(answer.model.device(pump.name), PulsedPump) for pump in group)
    return f"at full, {said}" if pulsed else said


def _together(answer: Solution, group: list[Edge], row: int, x: Axis, y: Axis) -> Array:
    """The sum of what pumps give at each rise for which all of them have points, shape (n, 2), in the plan's units."""
    devices = [_device(answer, pump) for pump in group]
    first, last = (np.array([device.ends()[i][row] for device in devices]) for i in (0, 1))
    rise = np.linspace(first.max(), max(last.min(), first.max()), POINTS)
    return np.stack([x.of(np.sum([device.at(rise, row) for device in devices], axis=0)), y.of(rise)], axis=1)


def _device(answer: Solution, pump: Edge) -> Pump:
    device = answer.model.device(pump.name)
    assert isinstance(device, Pump)
    return device


def _burnt(answer: Solution, group: list[Edge]) -> Array:
    """What is burnt at the rails that pumps feed [m3/s], by duty; nothing where they feed none."""
    circuit = answer.model.circuit
    if group[0] not in feeding(circuit):
        return np.zeros(len(answer.model.duties))
    part = next(part for part in circuit.parts_without(feeds_not(circuit)) if group[0].end in part)
    nodes = sorted({answer.model.number[node] for node in burns_at(circuit) if node in part})
    return np.asarray(answer.model.batch.taken[:, nodes].sum(axis=1))


def _asked(answer: Solution, group: list[Edge], duty: int, x: Axis, y: Axis, system: System) -> list[Line]:
    """What the circuit asks of pumps at a duty; none where their flow is what is burnt, whatever they lift."""
    flow, rise = system_curve(fuelling(answer, system), group, duty)
    drawn = flow <= sum(_device(answer, pump).most().max() for pump in group)
    flow, rise = flow[drawn], rise[drawn]
    if not flow.size or np.ptp(flow) < LEAST_SPAN * flow.max():
        return []
    return [Line(f"asked at {answer.model.duties[duty]}", np.stack([x.of(flow), y.of(rise)], axis=1), thin=True)]
