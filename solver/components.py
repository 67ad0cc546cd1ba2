"""What switches or drives in a circuit: the device that a component is, at every duty."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from catalogs.errors import UnknownInputError, UnsolvedKindError
from catalogs.grades import Grade
from solver.devices import Check, Pump, Regulator
from solver.oilparts import controlled_pump, thermostat
from solver.points import fitted, points_estimates
from solver.pulsed import PulsedPump
from solver.stated import asked_for, asked_in, figure, needed

if TYPE_CHECKING:
    import numpy.typing as npt
    from scipy.interpolate import PchipInterpolator

    from catalogs.records import PumpCurve
    from lines.graph import Edge
    from lines.plan import Component, Plan
    from lines.states import ByDuty
    from solver.devices import Device

    Array = npt.NDArray[np.float64]

NOT_ITS_FLOWS = "nothing: its lengths, joints and ratings are checked, only not its flows"


def device(plan: Plan, edge: Edge, circuit: str) -> tuple[Device, tuple[str, ...], Grade]:
    """The device in an inner path of a circuit, what was estimated for it, and the grade of its weakest figure.

    Raises:
        UnsolvedKindError: this version has no law for it.
        UnknownInputError: a figure that its law needs is missing.
    """
    component, path = edge.component, edge.path
    assert component is not None
    assert path is not None
    if path.law == "pump" or (path.law == "engine_pump" and "curve" in component.kind.figures):
        return _pump(plan, component, driven=path.law == "engine_pump")
    if path.law == "engine_pump" and "relief" in component.kind.figures:
        return controlled_pump(plan, component)
    if path.law == "check":
        needed(component, "crack", "points")
        crack = figure(component, "crack")
        law, miss = fitted(plan.catalog, component.figures["points"], owner=component.name, spring=crack)
        return Check(np.full(len(plan.duties), crack), law), points_estimates(component, miss), Grade.MEASURED
    if path.law in {"bypass", "supply"}:
        return _regulator(plan, component, behind=path.law == "supply")
    # A thermostat with a bleed hole lets by more than a leak when it is shut.
    if path.law == "thermostat" and "bleed" not in component.kind.figures:
        return thermostat(plan, component, path, plan.circuits[circuit].temperature.over(list(plan.duties)))
    raise UnsolvedKindError(
        f"{component.name} is of kind {component.kind.id}, whose flow is not computed by this version",
        needs=NOT_ITS_FLOWS,
    )


def absolute(plan: Plan, pressures: ByDuty[Any]) -> Array:
    """Pressures over ambient or absolute, as stated, at every duty [Pa absolute]."""
    duties = list(plan.duties)
    return np.array([p.absolute(plan.ambient.pressure[d]) for d, p in zip(duties, pressures.over(duties), strict=True)])


def _regulator(plan: Plan, component: Component, *, behind: bool) -> tuple[Device, tuple[str, ...], Grade]:
    duties = list(plan.duties)
    needed(component, "set", "reference", "points", "slope")
    law, miss = fitted(plan.catalog, component.figures["points"], owner=component.name)
    held = _reference(plan, component) + np.array(component.figures["set"].over(duties))
    slope = np.array(component.figures["slope"].over(duties))
    if (slope < 0).any():
        raise UnknownInputError(
            f"slope of {component.name} is below zero", needs=f"{asked_for(component, 'slope')}, and 0 or more"
        )
    own = component.kind.figures["slope"].grade
    grade = Grade.MEASURED if "slope" in component.stated or own is None else own
    return Regulator(held, slope, law, behind=behind), points_estimates(component, miss), grade


def _reference(plan: Plan, component: Component) -> Array:
    """What the pressure that a component holds is over, at every duty [Pa absolute]."""
    if component.figures["reference"] != "manifold":
        return plan.ambient.pressures
    unknown = [d for d, table in plan.duties.items() if table.boost is None]
    if unknown:
        needs = asked_in(unknown, "boost", "boost", f"{component.name} feels it")
        raise UnknownInputError(f"the boost in {' and '.join(unknown)} is not known", needs=needs)
    return np.array([b.absolute(plan.ambient.pressure[d]) for d, t in plan.duties.items() if (b := t.boost)])


def _pump(plan: Plan, component: Component, *, driven: bool) -> tuple[Device, tuple[str, ...], Grade]:
    needed(component, "curve", "ratio" if driven else "volts")
    curve = plan.catalog.curve(component.figures["curve"])
    if curve.by_speed != driven:
        there = "speeds" if curve.by_speed else "voltages"
        raise UnknownInputError(
            f"the curve {curve.id} of {component.name} stands at {there}", needs=asked_for(component, "curve")
        )
    at = np.array(sorted({p.at for p in curve.points}))
    driving = _speeds(plan, component) if driven else np.array(component.figures["volts"].over(list(plan.duties)))
    if (driving <= 0).any():
        off = list(plan.duties)[int(driving.argmin())]
        what = "speed" if driven else "voltage"
        volts = f"{asked_for(component, 'volts')}, over 0 in {off}"
        needs = asked_in([off], "engine_speed", "speed", f"over 0: it drives {component.name}") if driven else volts
        raise UnknownInputError(f"{component.name} has no {what} in {off}", needs=needs)
    weights = between(at, driving)
    # A curve by speed follows the affinity laws everywhere; by voltage only where there is no curve to go to.
    inside = (at[0] <= driving) & (driving <= at[-1])
    speed = driving[:, None] / at if driven else np.where(inside[:, None], 1.0, driving[:, None] / at)
    laws, said = tuple(_curve(curve, float(a)) for a in at), _scaled(component, at, driving, driven=driven)
    if component.figures.get("holds") is None:
        return Pump(laws, weights, speed), said, curve.grade
    needed(component, "reference")
    held = _reference(plan, component) + np.array(component.figures["holds"].over(list(plan.duties)))
    return PulsedPump(laws, weights, speed, held=held), said, curve.grade


def _curve(curve: PumpCurve, at: float) -> PchipInterpolator:
    """Flow [m3/s] against rise [Pa], through the points at one voltage or speed."""
    from scipy.interpolate import PchipInterpolator

    rows = sorted((p.rise, p.flow) for p in curve.points if p.at == at)
    return PchipInterpolator([r for r, _ in rows], [q for _, q in rows])


def between(at: Array, wanted: Array) -> Array:
    """Weights [-] of curves at rising places, shape (wanted, at): of the two beside each wanted place, or of the end.

    >>> between(np.array([12.0, 13.5]), np.array([12.5, 11.0])).round(3).tolist()
    [[0.667, 0.333], [1.0, 0.0]]
    """
    return np.stack([np.interp(wanted, at, one) for one in np.eye(len(at))], axis=1)


def _speeds(plan: Plan, component: Component) -> Array:
    """Speed of a pump that the engine drives [rad/s]."""
    unknown = [d for d, table in plan.duties.items() if table.engine_speed is None]
    if unknown:
        needs = asked_in(unknown, "engine_speed", "speed", f"it drives {component.name}")
        raise UnknownInputError(f"the engine's speed in {' and '.join(unknown)} is not known", needs=needs)
    engine = np.array([table.engine_speed for table in plan.duties.values()], dtype=np.float64)
    ratio = np.array(component.figures["ratio"].over(list(plan.duties)), dtype=np.float64)
    return np.asarray(engine * ratio)


def _scaled(component: Component, at: Array, driving: Array, *, driven: bool) -> tuple[str, ...]:
    said = []
    for value in driving[(driving < at[0]) | (driving > at[-1])]:
        nearest = at[int(np.argmin(np.abs(at - value)))]
        here, there = (f"{x * 30 / np.pi:.0f} rpm" if driven else f"{x:.1f} V" for x in (value, nearest))
        said.append(f"{component.name}: {here} is outside its curves, scaled from {there} by the affinity laws")
    return tuple(dict.fromkeys(said))
