"""Fluid properties against temperature, from the tables and equations of the fluids catalog."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.fluids import Property, ReidVapour

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.fluids import Fluid

    Array = npt.NDArray[np.float64]

KELVIN_TO_RANKINE = 1.8
PSI = 6894.757293168361  # Pa; the unit of AP-42's equation


def density(fluid: Fluid, temperature: Array) -> Array:
    """Density [kg/m3] at temperatures [K], any shape.

    Outside the table the end segment goes on straight; `outside` says where.

    >>> from catalogs.catalog import Catalog
    >>> round(float(density(Catalog().fluid("water"), np.array([293.15]))[0]), 1)
    998.2
    """
    return _between(fluid.density, np.array(fluid.density.values), temperature)


def kinematic_viscosity(fluid: Fluid, temperature: Array) -> Array:
    """Kinematic viscosity [m2/s] at temperatures [K], any shape.

    The law `walther` is ASTM D341 in its form for 2 mm2/s and more:
    log10 log10(nu + 0.7) straight in log10 T, nu in mm2/s.

    >>> from catalogs.catalog import Catalog
    >>> round(float(kinematic_viscosity(Catalog().fluid("10w-40"), np.array([373.15]))[0]) * 1e6, 2)
    14.2
    """
    table = fluid.viscosity
    values = np.array([v.value for v in table.values])
    found = _between(table, values, temperature)
    if table.values[0].dimension == "dynamic_viscosity":
        return found / density(fluid, temperature)
    return found


def dynamic_viscosity(fluid: Fluid, temperature: Array) -> Array:
    """Dynamic viscosity [Pa s] at temperatures [K], any shape.

    >>> from catalogs.catalog import Catalog
    >>> round(float(dynamic_viscosity(Catalog().fluid("water"), np.array([293.15]))[0]) * 1e3, 3)
    1.002
    """
    table = fluid.viscosity
    if table.values[0].dimension == "dynamic_viscosity":
        return _between(table, np.array([v.value for v in table.values]), temperature)
    return kinematic_viscosity(fluid, temperature) * density(fluid, temperature)


def vapour_pressure(fluid: Fluid, temperature: Array) -> Array:
    """True vapour pressure [Pa absolute] at temperatures [K], any shape.

    A gasoline's follows from its Reid vapour pressure by EPA AP-42 section 7.1: P = exp(A - B/T), P in psia and
    T in degrees Rankine, with A and B by its figure 7.1-15. Not valid for blends with ethanol.

    Raises:
        UnknownInputError: the fluid's tables do not state it.

    >>> from catalogs.catalog import Catalog
    >>> round(float(vapour_pressure(Catalog().fluid("water"), np.array([373.15]))[0]) / 1e3, 1)
    101.4
    """
    if fluid.vapour is None:
        raise UnknownInputError(f"no vapour pressure of {fluid.means} is known", needs=f"vapour pressure of {fluid.id}")
    if isinstance(fluid.vapour, ReidVapour):
        root, log = fluid.vapour.slope**0.5, np.log(fluid.vapour.reid / PSI)
        a = 15.64 - 1.854 * root - (0.8742 - 0.3280 * root) * log
        b = 8742.0 - 1042.0 * root - (1049.0 - 179.4 * root) * log
        return np.asarray(np.exp(a - b / (temperature * KELVIN_TO_RANKINE)) * PSI)
    return _between(fluid.vapour, np.array(fluid.vapour.values), temperature)


def outside(table: Property, temperature: Array) -> npt.NDArray[np.bool_]:
    """Where temperatures [K] lie outside the table, so that its values are extrapolated."""
    return np.asarray((temperature < table.at[0] - 1e-9) | (temperature > table.at[-1] + 1e-9))


def _between(table: Property, values: Array, temperature: Array) -> Array:
    x, at = np.asarray(temperature, dtype=float), np.array(table.at)
    if table.law == "walther":
        y = np.log10(np.log10(values * 1e6 + 0.7))
        found = _straight(np.log10(x), np.log10(at), y)
        return np.asarray((10.0 ** (10.0**found) - 0.7) * 1e-6)
    if table.law == "log":
        return np.asarray(np.exp(_straight(x, at, np.log(values))))
    return _straight(x, at, values)


def _straight(x: Array, at: Array, values: Array) -> Array:
    """Straight between the points, and straight on past the last two."""
    if len(at) == 1:
        return np.full_like(x, values[0])
    i = np.clip(np.searchsorted(at, x) - 1, 0, len(at) - 2)
    return np.asarray(values[i] + (x - at[i]) * (values[i + 1] - values[i]) / (at[i + 1] - at[i]))
