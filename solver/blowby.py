"""Blow-by: what leaks past an engine's rings into its crankcase, stated or estimated from the air that it takes.

A four-stroke engine of displacement V at n revolutions a second takes eta V n / 2 of air, as it is in the manifold, and
of that a share blows by. At the pressure outside and the temperature of the circuit that is

    q = share eta V n / 2 * p_manifold / p_outside * T_circuit / T_manifold

The air in the manifold is taken to be as cold as that outside, as behind a perfect cooler: warmer air weighs less, so
that this is the most. Shares by wear stand in the limits table under `breather.share`: 0.5 to 2 % of the gas blows by
even where an engine seals well, under 1 % in an unworn one (an encyclopedia's article on blow-by), and up to 5 % in one
that is boosted and worn (common practice, no source). It is the range of full load: at idle the share is larger and
the flow small.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import NoAnswerError, UnknownInputError
from catalogs.units import Quantity, show
from solver.stated import asked_for, asked_in, figure

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.grades import Grade
    from lines.graph import Circuit
    from lines.plan import Component, Plan

    Array = npt.NDArray[np.float64]

BLOW_BY = "blow_by"
"""The figure that gives the flow into a crankcase."""


def air_taken(displacement: float, speed: Array, efficiency: float | Array = 1.0) -> Array:
    """Air that a four-stroke engine takes, as it is in its manifold [m3/s].

    Args:
        displacement: of all cylinders [m3].
        speed: of the engine [rad/s].
        efficiency: volumetric, by the density in the manifold [-].

    6.0 L at 6000 rpm fill 50 times a second:

    >>> round(float(air_taken(0.006, np.array(6000 * np.pi / 30))), 6)
    0.3
    """
    return np.asarray(efficiency * displacement * speed / (4.0 * np.pi))


def blow_by(plan: Plan, circuit: Circuit, crankcase: Component) -> Array:
    """Blow-by of a crankcase at the pressure outside and the temperature of its circuit [m3/s], shape (duties,).

    As stated, else estimated.

    Raises:
        NoAnswerError: its circuit carries a liquid.
        UnknownInputError: it is not stated, and neither is what the estimate needs; or a boost cannot be.
    """
    _refuse_liquid(plan, circuit, crankcase)
    duties = list(plan.duties)
    stated = crankcase.figures.get(BLOW_BY)
    if stated is not None:
        return np.array(stated.over(duties), dtype=np.float64)
    _refuse_unknown(plan, crankcase)
    tables = plan.duties.values()
    speed = np.array([table.engine_speed for table in tables], dtype=np.float64)
    outside = plan.ambient.pressures
    manifold = np.array([b.absolute(p) for t, p in zip(tables, outside, strict=True) if (b := t.boost) is not None])
    _refuse_beyond_vacuum(plan, crankcase, manifold)
    efficiency = np.array(crankcase.figures["volumetric_efficiency"].over(duties), dtype=np.float64)
    taken = air_taken(figure(crankcase, "displacement"), speed, efficiency) * manifold / outside
    warmed = np.array(plan.circuits[circuit.name].temperature.over(duties)) / np.array(
        list(plan.ambient.temperature.values())
    )
    return np.asarray(share(plan, crankcase)[0] * taken * warmed)


def share(plan: Plan, crankcase: Component) -> tuple[float, Grade]:
    """The share of its air that blows by in an engine of this wear [-], and how sure it is.

    Raises:
        UnknownInputError: a shop's row of the limits table does not give it.
    """
    row = plan.catalog.limit(f"breather.share.{crankcase.figures['wear']}")
    if row.caution_above is None:
        raise UnknownInputError(f"the limit {row.id} gives no share", needs=f"caution_above of {row.id}")
    return row.caution_above, row.grade_of("caution_above")


def _refuse_unknown(plan: Plan, crankcase: Component) -> None:
    """Raises UnknownInputError with everything that the estimate lacks."""
    name = crankcase.name
    needs = [] if crankcase.figures.get("displacement") is not None else [asked_for(crankcase, "displacement")]
    why = f"the blow-by of {name} follows from it"
    for key, dimension, said in (("engine_speed", "speed", why), ("boost", "boost", f"{why}; 0 where it has none")):
        unknown = [duty for duty, table in plan.duties.items() if getattr(table, key) is None]
        needs += [asked_in(unknown, key, dimension, said)] if unknown else []
    if needs:
        measured = f"or, better, the measured {asked_for(crankcase, BLOW_BY)}"
        raise UnknownInputError(
            f"the blow-by of {name} is not stated, and what it could be estimated from is not known",
            needs="; ".join([*needs, measured]),
        )


def _refuse_liquid(plan: Plan, circuit: Circuit, crankcase: Component) -> None:
    """Raises NoAnswerError where blow-by would be a liquid."""
    fluid = plan.catalog.fluid(plan.circuits[circuit.name].fluid)
    if fluid.family != "gas":
        raise NoAnswerError(
            f"circuit {circuit.name} carries {fluid.means}, and what blows by into {crankcase.name} is a gas",
            needs=f'fluid = "air" in [circuits.{circuit.name}]; what drains of oil in a circuit of its own',
        )


def _refuse_beyond_vacuum(plan: Plan, crankcase: Component, manifold: Array) -> None:
    """Raises UnknownInputError where a boost is under a vacuum at the altitude of its duty.

    Args:
        plan: the plan.
        crankcase: of the engine.
        manifold: pressure in its manifold at every duty [Pa absolute].
    """
    off = [duty for duty, pressure in zip(plan.duties, manifold, strict=True) if pressure <= 0]
    if not off:
        return
    boost, altitude = plan.duties[off[0]].boost, plan.head.ambient.altitude.at(off[0])
    assert boost is not None
    here, height = (show(quantity, plan.system) for quantity in (boost, Quantity(altitude, "altitude")))
    raise UnknownInputError(
        f"boost of {here} in {off[0]} cannot be: that is more than all of the air at {height}",
        needs=asked_in(off, "boost", "boost", f"the blow-by of {crankcase.name} follows from it, over the air there"),
    )


def sources(circuit: Circuit) -> list[str]:
    """The nodes of a circuit at which blow-by comes in."""
    return [name for name, n in circuit.nodes.items() if n.inner is not None and n.inner.gives == BLOW_BY]


def is_estimated(crankcase: Component) -> bool:
    """Is its blow-by not stated, but estimated?"""
    return crankcase.figures.get(BLOW_BY) is None


def estimated(plan: Plan, circuit: Circuit) -> tuple[list[str], list[Grade]]:
    """What is said of blow-by that is estimated, and the grades of what it is estimated from."""
    said: list[str] = []
    grades: list[Grade] = []
    for crankcase in (circuit.nodes[name].component for name in sources(circuit)):
        if not is_estimated(crankcase):
            continue
        part, grade = share(plan, crankcase)
        told, wear = show(Quantity(part, "ratio"), plan.system), crankcase.figures["wear"]
        said.append(
            f"{crankcase.name}: its blow-by was not measured, and counts as {told} of what the engine takes in, as of "
            f"one that is {wear}, with its manifold as cold as outside"
        )
        figures = crankcase.kind.figures
        defaults = (figures[key].grade for key in ("wear", "volumetric_efficiency") if key not in crankcase.stated)
        grades += [grade, *(default for default in defaults if default is not None)]
    return said, grades
