"""What each edge of a circuit is made of: named straight bores and losses.

Every part keeps its name, so that a person sees what costs the most.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.grades import Grade
from solver.devices import Bore
from solver.friction import darcy_factor
from solver.properties import density, dynamic_viscosity

if TYPE_CHECKING:
    from catalogs.catalog import Catalog
    from catalogs.records import Loss
    from lines.assembly import Assembly
    from lines.ends import ChosenEnd
    from lines.graph import Edge
    from lines.plan import Component, Plan, PointsTable


@dataclass(frozen=True, slots=True)
class Pipe:
    """A straight bore."""

    name: str
    length: float
    bore: float
    roughness: float


@dataclass(frozen=True, slots=True)
class Part:
    """drop = viscous mu q + inertial rho q|q|, with its own inertial coefficient for flow the other way."""

    name: str
    viscous: float
    inertial: float
    inertial_back: float


@dataclass(frozen=True)
class Resistance:
    """The parts of one edge, what they rest on, and what was estimated."""

    pipes: tuple[Pipe, ...] = ()
    parts: tuple[Part, ...] = ()
    grades: tuple[Grade, ...] = ()
    estimates: tuple[str, ...] = ()


def coefficient(name: str, bore: float, k: float, k1: float = 0.0, *, back: float | None = None) -> Part:
    """A loss K + K1/Re on the velocity head in a bore [m] as a part.

    With v = q/A: K rho v|v|/2 is inertial, (K1/Re) rho v|v|/2 = K1 mu v / (2 D) is viscous.

    >>> part = coefficient("elbow", 0.01, 2.0)
    >>> round(part.inertial * 800 * (1e-4)**2)
    1297
    """
    area = math.pi * bore**2 / 4
    each = 1.0 / (2.0 * area**2)
    return Part(name, k1 / (2.0 * bore * area), k * each, (k if back is None else back) * each)


def contraction(name: str, wide: float, narrow: float) -> Part:
    """A sharp change of bore from `wide` to `narrow` in the direction of flow [m], and its widening the other way.

    Narrowing by Rennels (2012), K on the narrow bore; widening by Borda and Carnot, (1 - beta^2)^2. At low
    Reynolds numbers narrowing adds 160/Re (1 - beta^4) on the wide bore's Re (Hooper, Chem. Eng., Nov 1988).

    >>> contraction("none", 0.01, 0.01).inertial
    0.0
    """
    if narrow >= wide:
        return Part(name, 0.0, 0.0, 0.0)
    from fluids.fittings import contraction_sharp, diffuser_sharp

    beta = narrow / wide
    narrowing = float(contraction_sharp(Di1=wide, Di2=narrow))
    widening = float(diffuser_sharp(Di1=narrow, Di2=wide))
    return coefficient(name, narrow, narrowing, 160.0 * (1.0 - beta**4) / beta, back=widening)


def turned(part: Part) -> Part:
    """The same part met from its other side."""
    return Part(part.name, part.viscous, part.inertial_back, part.inertial)


def both_ways(part: Part) -> Part:
    """A part and then the same from its other side: a neck in a bore."""
    there_and_back = part.inertial + part.inertial_back
    return Part(part.name, 2 * part.viscous, there_and_back, there_and_back)


def bend(name: str, bore: float, radius: float, turn: float, roughness: float) -> Part:
    """What a bend of a hose costs beyond its length of straight bore.

    Rennels (2012) eq. 15.1 less its friction along the arc; at low Reynolds numbers 800/Re for a quarter turn
    (Silverberg and Darby 1999) less 64/Re of that arc, never below none.

    Args:
        name: its name.
        bore: [m].
        radius: of the centreline [m].
        turn: [rad].
        roughness: [m].

    >>> bend("gentle", 0.01, 0.2, 1.57, 1e-6).viscous
    0.0
    """
    ratio = max(radius / bore, 0.5)
    f = float(darcy_factor(np.array([1e5]), np.array([roughness / bore]))[0])
    half = math.sin(min(turn, math.pi) / 2)
    k = (0.1 + 2.4 * f) * half + 6.6 * f * (math.sqrt(half) + half) / ratio ** (4.0 * turn / math.pi)
    k1 = max(0.0, 800.0 * turn / (math.pi / 2) - 64.0 * turn * ratio)
    return coefficient(name, bore, k, k1)


def from_loss(name: str, loss: Loss, bore: float, share: float = 1.0) -> Part:
    """A row of the losses table on a bore [m].

    >>> from catalogs.catalog import Catalog
    >>> from_loss("tee", Catalog().loss("tee-run"), 0.0127).viscous > 0
    True
    """
    return coefficient(name, bore, share * loss.turbulent(bore), share * loss.k1)


def fitted(catalog: Catalog, points: PointsTable) -> tuple[Bore, float]:
    """The law drop = a mu q + b rho q^2 nearest to a component's own points, and how far off it is at worst.

    Both coefficients are at least zero (non-negative least squares, each point weighed by its own drop), so the
    law is monotone and carries over to another fluid or temperature. One point alone is taken as inertial.

    Returns:
        the law, and the largest relative miss at a point [-].
    """
    from scipy.optimize import nnls

    fluid, at = catalog.fluid(points.fluid), np.array([points.temperature])
    rho, mu = float(density(fluid, at)[0]), float(dynamic_viscosity(fluid, at)[0])
    q = np.array([f.value / rho if f.dimension == "mass_flow" else f.value for f in points.flow])
    drop = np.maximum(np.array(points.drop), 1e-6)
    columns = np.stack([mu * q, rho * q**2], axis=1) / drop[:, None]
    if len(q) == 1:
        return Bore(0.0, 1.0 / float(columns[0, 1])), 0.0
    scale = columns.max(axis=0)
    found, _ = nnls(columns / scale, np.ones_like(drop))
    a, b = (float(x) for x in found / scale)
    return Bore(a, b), float(np.abs(columns @ np.array([a, b]) - 1.0).max())


def of_run(plan: Plan, made: Assembly) -> Resistance:
    """The parts of a run: its friction, its bends, and at each end the change to the end's bore and its elbow.

    Raises:
        UnknownInputError: the length is not known.
    """
    stock, tag = made.stock, made.tag
    length = made.length if made.length is not None else made.cut
    if length is None:
        raise UnknownInputError(
            f"the length of {tag} is not known", needs=f"length of {tag} with length_is, or its points"
        )
    estimates: list[str] = []
    parts: list[Part] = []
    grades = [stock.grade_of("bore", "roughness")]
    for which, chosen in zip(("from", "to"), made.ends, strict=True):
        port = made.run.start if which == "from" else made.run.end
        if chosen.end is None:
            estimates.append(f"{tag}: no end chosen at {port}, so its loss is left out")
            continue
        grades.append(chosen.end.grade_of("bore", "angle"))
        adapter = made.joints[0 if which == "from" else 1].adapter
        grades += [adapter.grade_of("bore")] if adapter is not None and adapter.bore < chosen.end.bore else []
        parts += _end_parts(plan, made, chosen, port, at_start=which == "from")
    if made.bends is None:
        estimates.append(f"{tag}: its bends were not measured, so their loss is left out")
    parts += [
        bend(f"bend {i}", stock.bore, arc.radius, arc.turn, stock.roughness)
        for i, arc in enumerate(made.bends or (), 1)
    ]
    return Resistance(
        (Pipe("hose", length, stock.bore, stock.roughness),), tuple(parts), tuple(grades), tuple(estimates)
    )


def _end_parts(plan: Plan, made: Assembly, chosen: ChosenEnd, port: str, *, at_start: bool) -> list[Part]:
    end, stock = chosen.end, made.stock
    assert end is not None
    change = contraction(f"bore of the end at {port}", stock.bore, end.bore)
    parts = [turned(change) if at_start else change]
    if not end.straight:
        row = (
            "elbow-45"
            if end.angle < math.radians(67.5)
            else "elbow-90"
            if end.angle < math.radians(135)
            else "elbow-180"
        )
        parts.append(from_loss(f"elbow of the end at {port}", plan.catalog.loss(row), end.bore))
    adapter = made.joints[0 if at_start else 1].adapter
    if adapter is not None and adapter.bore < end.bore:
        # Into its bore and out of it again: a component's port is taken to be as wide as the end.
        into = contraction(f"adapter at {port}", end.bore, adapter.bore)
        parts.append(both_ways(into))
    return parts


def of_path(plan: Plan, edge: Edge, mouth_bore: float | None) -> Resistance:
    """The parts of a component's inner path that resists.

    Args:
        plan: the plan.
        edge: an inner path with one of the laws mouth, passage, points, loss, leg or orifice.
        mouth_bore: bore that joins a large space here [m]; for the law `mouth`.

    Raises:
        UnknownInputError: a figure that the law needs is missing.
    """
    component, path = edge.component, edge.path
    assert component is not None
    assert path is not None
    figures = component.figures
    if path.law == "mouth":
        if mouth_bore is None:
            raise UnknownInputError(f"the bore at {edge.end} is not known", needs=f"the hose end at {edge.end}")
        leaving, entering = plan.catalog.loss("mouth-in"), plan.catalog.loss("mouth-out")
        part = coefficient(f"mouth of {component.name}", mouth_bore, leaving.k, leaving.k1, back=entering.k)
        return Resistance(parts=(part,), grades=(leaving.grade, entering.grade))
    if path.law == "passage":
        bore, length, rough = (_figure(component, key) for key in ("bore", "length", "roughness"))
        return Resistance(
            pipes=(Pipe(path.name, length / 2, bore, rough),),
            grades=(_default_grade(component, "roughness"),),
        )
    if path.law == "leg":
        loss = plan.catalog.loss(path.loss)
        share = 0.5 if path.loss == "tee-run" else 1.0
        return Resistance(parts=(from_loss(path.name, loss, _figure(component, "bore"), share),), grades=(loss.grade,))
    if path.law == "orifice":
        return _orifice(component)
    return _points_or_coefficient(plan, component, figures)


def _figure(component: Component, key: str) -> float:
    """A figure that does not change with the duty."""
    value = component.figures.get(key)
    if value is None:
        raise UnknownInputError(f"{key} of {component.name} is not known", needs=f"{key} of {component.name}")
    values = list(value.values.values())
    if len(values) != 1:
        raise UnknownInputError(f"{key} of {component.name} changes with the duty", needs="one value of it")
    number = float(values[0])
    if number < 0 or (number == 0 and key in {"bore", "cd"}):
        raise UnknownInputError(f"{key} of {component.name} cannot be {number:g}", needs=f"{key} of {component.name}")
    return number


def _default_grade(component: Component, key: str) -> Grade:
    """The grade of a figure: the kind's default has its own; what the plan states is measured."""
    figure = component.kind.figures[key]
    value = component.figures[key]
    if figure.grade is None or value is None:
        return Grade.MEASURED
    return figure.grade if key not in component.stated else Grade.MEASURED


def _orifice(component: Component) -> Resistance:
    """A hole with a length: Poiseuille along it, and rho q^2 / (2 Cd^2 A^2) through it."""
    bore, length, cd = (_figure(component, key) for key in ("bore", "length", "cd"))
    area = math.pi * bore**2 / 4
    inertial = 1.0 / (2.0 * (cd * area) ** 2)
    part = Part("hole", 128.0 * length / (math.pi * bore**4), inertial, inertial)
    return Resistance(parts=(part,), grades=(_default_grade(component, "cd"),))


def _points_or_coefficient(plan: Plan, component: Component, figures: dict[str, Any]) -> Resistance:
    if figures.get("points") is not None:
        law, miss = fitted(plan.catalog, figures["points"])
        part = Part("by its points", law.viscous, law.inertial, law.inertial)
        return Resistance(parts=(part,), estimates=points_estimates(component, miss))
    if figures.get("k") is None:
        name = component.name
        raise UnknownInputError(f"how {name} resists is not known", needs=f"points of {name}, or its k and bore")
    return Resistance(parts=(coefficient("by its coefficient", _figure(component, "bore"), _figure(component, "k")),))


def points_estimates(component: Component, miss: float) -> tuple[str, ...]:
    """What has to be said about a law fitted through a component's points that it misses by up to `miss` [-]."""
    if len(component.figures["points"].flow) == 1:
        return (f"{component.name}: one point only, taken to rise with the square of the flow",)
    if miss > 0.1:
        return (f"{component.name}: its points miss the law drawn through them by up to {miss:.0%}",)
    return ()
