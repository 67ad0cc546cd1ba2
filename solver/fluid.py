"""The fluid of a circuit at every duty, as far as it is known."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity, show
from solver.properties import beyond, density, dynamic_viscosity, frozen, outside, reach

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.fluids import Fluid, Property
    from lines.graph import Circuit
    from lines.plan import Plan

    Array = npt.NDArray[np.float64]


def fluid_of(plan: Plan, circuit: Circuit, fluid: Fluid) -> tuple[Array, Array, list[str]]:
    """Density [kg/m3] and viscosity [Pa s] at every duty, shape (duties,), and which of them were extrapolated.

    Raises:
        UnknownInputError: it is frozen, or its temperature is too far from what is known of it.
    """
    duties = list(plan.duties)
    temperature = np.array(plan.circuits[circuit.name].temperature.over(duties))
    solid = frozen(fluid, temperature)
    if solid.any():
        off = duties[int(solid.argmax())]
        raise UnknownInputError(
            f"{fluid.means} is frozen in {off}", needs=f"temperature of {circuit.name} in {off}, or another fluid"
        )
    tables = ((fluid.density, "density"), (fluid.viscosity, "viscosity"))
    for table, what in tables:
        _refuse_beyond(plan, circuit, fluid, (table, what), temperature)
    said = [f"{what} of {fluid.means} taken beyond its table" for t, what in tables if outside(t, temperature).any()]
    return density(fluid, temperature), dynamic_viscosity(fluid, temperature), said


def _refuse_beyond(
    plan: Plan, circuit: Circuit, fluid: Fluid, stated: tuple[Property, str], temperature: Array
) -> None:
    """Raises UnknownInputError where a property would be carried so far past what is known of it as to mean nothing."""
    table, what = stated
    far = beyond(table, temperature)
    if not far.any():
        return
    off = int(far.argmax())
    duty, limits = list(plan.duties)[off], reach(table)
    here, low, high = (
        show(Quantity(t, "temperature"), plan.system) for t in (temperature[off], limits.coldest, limits.hottest)
    )
    raise UnknownInputError(
        f"the {what} of {fluid.means} is not known at {here}, in {duty}: it can be told from {low} to {high}",
        needs=f"a measured {what} of {fluid.id} near {here}, or the temperature of {circuit.name} in {duty}",
    )
