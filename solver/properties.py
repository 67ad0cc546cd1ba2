"""Fluid properties against temperature, from the tables and equations of the fluids catalog.

Every function goes on past the end of its table. `reach` says how far each law is taken; `outside` marks what is
extrapolated and `beyond` what is too far off to be used at all.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.expansion import expansions
from catalogs.fluids import D341_LEAST, Property, ReidVapour, ViscosityProperty
from solver.petroleum import expanded
from solver.walther import ordinate, viscosity_at

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.fluids import Fluid

    Array = npt.NDArray[np.float64]
    Mask = npt.NDArray[np.bool_]

KELVIN_TO_RANKINE = 1.8
PSI = 6894.757293168361  # Pa; the unit of AP-42's equation
FREEZING = 273.15  # K; under 0 C wax and a multigrade oil's polymers thicken it
COLD = 233.15  # K; -40 C, where the trade's oils set
MM2 = 1e-6  # m2/s

FAR = 30.0  # K past where points, a standard's range or a nomograph end
FAR_ALONE = 5.0  # K from the one viscosity that is known
D341_COLDER, D341_HOTTER = 20.0, 50.0  # K past the points of ASTM D341 where its line is still plain
D341_FAR = 50.0  # K past that
AP_42_RANGE = ((0.0 + 459.67) / 1.8, (140.0 + 459.67) / 1.8)  # K; the axis of its nomograph, 0 to 140 F
SLACK = 1e-9  # K; a temperature in F on the end of a table in C is inside


def density(fluid: Fluid, temperature: Array) -> Array:
    """Density [kg/m3] at temperatures [K], any shape.

    The laws `petroleum-fuel` and `petroleum-oil` are API MPMS chapter 11.1 from one density.

    >>> from catalogs.catalog import Catalog
    >>> round(float(density(Catalog().fluid("water"), np.array([293.15]))[0]), 1)
    998.2
    """
    table = fluid.density
    if expansions(table.law):
        return expanded(table.law, table.values[0], table.at[0], np.asarray(temperature, dtype=float))
    return _between(table, temperature)


def kinematic_viscosity(fluid: Fluid, temperature: Array) -> Array:
    """Kinematic viscosity [m2/s] at temperatures [K], any shape.

    The law `walther` is ASTM D341, complete down to 0.21 mm2/s.

    >>> from catalogs.catalog import Catalog
    >>> round(float(kinematic_viscosity(Catalog().fluid("10w-40"), np.array([373.15]))[0]) * 1e6, 2)
    14.2
    """
    found = _between(fluid.viscosity, temperature)
    return found / density(fluid, temperature) if _is_dynamic(fluid.viscosity) else found


def dynamic_viscosity(fluid: Fluid, temperature: Array) -> Array:
    """Dynamic viscosity [Pa s] at temperatures [K], any shape.

    >>> from catalogs.catalog import Catalog
    >>> round(float(dynamic_viscosity(Catalog().fluid("water"), np.array([293.15]))[0]) * 1e3, 3)
    1.002
    """
    found = _between(fluid.viscosity, temperature)
    return found if _is_dynamic(fluid.viscosity) else found * density(fluid, temperature)


def vapour_pressure(fluid: Fluid, temperature: Array) -> Array:
    """True vapour pressure [Pa absolute] at temperatures [K], any shape.

    A gasoline's follows from its Reid vapour pressure by EPA AP-42 section 7.1: P = exp(A - B/T), P in psia and
    T in degrees Rankine, with A and B by its figure 7.1-15. Not valid for blends with ethanol.

    Raises:
        UnknownInputError: the fluid's tables do not state it; it says what to enter.

    >>> from catalogs.catalog import Catalog
    >>> round(float(vapour_pressure(Catalog().fluid("water"), np.array([373.15]))[0]) / 1e3, 1)
    101.4
    """
    if fluid.vapour is None:
        raise UnknownInputError(
            f"no vapour pressure of {fluid.means} is known",
            needs=f"vapour pressure of {fluid.id} against temperature, in the shop's fluids.toml: {fluid.vapour_asked}",
        )
    if isinstance(fluid.vapour, ReidVapour):
        root, log = fluid.vapour.slope**0.5, np.log(fluid.vapour.reid / PSI)
        a = 15.64 - 1.854 * root - (0.8742 - 0.3280 * root) * log
        b = 8742.0 - 1042.0 * root - (1049.0 - 179.4 * root) * log
        return np.asarray(np.exp(a - b / (np.asarray(temperature) * KELVIN_TO_RANKINE)) * PSI)
    return _between(fluid.vapour, temperature)


def heat_capacity(fluid: Fluid, temperature: Array) -> Array:
    """Heat capacity [J/(kg K)] at temperatures [K], any shape.

    Raises:
        UnknownInputError: the fluid's tables do not state it.

    >>> from catalogs.catalog import Catalog
    >>> round(float(heat_capacity(Catalog().fluid("water"), np.array([293.15]))[0]))
    4184
    """
    return _between(_stated(fluid, fluid.heat_capacity, "heat capacity"), temperature)


def conductivity(fluid: Fluid, temperature: Array) -> Array:
    """Thermal conductivity [W/(m K)] at temperatures [K], any shape.

    Raises:
        UnknownInputError: the fluid's tables do not state it.

    >>> from catalogs.catalog import Catalog
    >>> round(float(conductivity(Catalog().fluid("water"), np.array([293.15]))[0]), 3)
    0.598
    """
    return _between(_stated(fluid, fluid.conductivity, "thermal conductivity"), temperature)


def bulk_modulus(fluid: Fluid, temperature: Array) -> Array:
    """Isothermal bulk modulus [Pa] at temperatures [K], any shape, without air in the liquid.

    Raises:
        UnknownInputError: the fluid's tables do not state it.

    >>> from catalogs.catalog import Catalog
    >>> round(float(bulk_modulus(Catalog().fluid("water"), np.array([293.15]))[0]) / 1e9, 2)
    2.18
    """
    return _between(_stated(fluid, fluid.modulus, "bulk modulus"), temperature)


class Reach(NamedTuple):
    """Temperatures [K] between which a property is taken: plain from `low` to `high`, marked out to the others."""

    coldest: float
    low: float
    high: float
    hottest: float


def reach(table: Property | ReidVapour) -> Reach:
    """How far the law of a table is trusted [K]; the one place that says it.

    Points, by the laws `line` and `log`: plain between them, marked for 30 K more. So far from a table of the reference
    library's water, alcohols and hydrocarbons the end segment, straight on, is within 1 % in density, 3 % in heat
    capacity and conductivity, 13 % in viscosity and 11 % in vapour pressure. The error grows with the square of the
    distance and not with the length of the table, so a long table earns no more. One value alone has no slope: a
    density is then 4 % off at most, but an oil thins by 3 to 8 % a kelvin, so a viscosity alone goes 5 K, no farther.

    ASTM D341, `walther`: plain to 50 K over the hottest point and 20 K under the coldest, but not under 0 C: within 4 %
    for the library's hydrocarbons, 8 % for an engine oil of the textbooks. Marked for 50 K more, but not under -40 C:
    there a multigrade oil is within a factor of two of the limits that SAE J300 sets to its grade, no nearer. And never
    farther by one of these steps than the points are apart.

    Petroleum by one density: plain where the standard gives it, -50 to 150 C, marked for 30 K more.

    AP-42: plain where its nomograph has an axis, 0 to 140 F, marked for 30 K more.
    """
    if isinstance(table, ViscosityProperty) and table.law == "walther":
        return _reach_of_d341(table.at[0], table.at[-1])
    if isinstance(table, ReidVapour):
        low, high = AP_42_RANGE
    elif rows := expansions(table.law):
        low, high = rows[0].coldest, rows[0].hottest
    else:
        low, high = table.at[0], table.at[-1]
    alone = isinstance(table, ViscosityProperty) and len(table.at) == 1
    far = FAR_ALONE if alone else FAR
    return Reach(low - far, low, high, high + far)


def _reach_of_d341(first: float, last: float) -> Reach:
    apart = last - first
    low = min(first, max(FREEZING, first - min(D341_COLDER, apart)))
    high = last + min(D341_HOTTER, apart)
    far = min(D341_FAR, apart)
    return Reach(min(first, max(COLD, low - far)), low, high, high + far)


def outside(table: Property | ReidVapour, temperature: Array) -> Mask:
    """Where temperatures [K] are past those for which its law is plain, so that values are extrapolated."""
    taken = reach(table)
    return ~_within(temperature, taken.low, taken.high)


def beyond(table: Property | ReidVapour, temperature: Array) -> Mask:
    """Where temperatures [K] are so far from what is known that no value can be given, marked or not.

    Past the outer limits of `reach` nobody can say how wrong a value is: a density carried straight on comes to
    nothing, a viscosity by ASTM D341 falls under the 0.21 mm2/s where the standard ends, and of an oil so cold that it
    sets the line through two warm points knows nothing. What is needed there is a point measured nearer.
    """
    taken = reach(table)
    far = ~_within(temperature, taken.coldest, taken.hottest)
    if isinstance(table, ViscosityProperty) and table.law == "walther":
        return far | (_between(table, temperature) < D341_LEAST * (1 - SLACK))
    return far


def frozen(fluid: Fluid, temperature: Array) -> Mask:
    """Where temperatures [K] are under the fluid's freezing point; nowhere where none is stated."""
    return np.asarray(temperature < (fluid.freezes or 0.0) - SLACK)


def _within(temperature: Array, low: float, high: float) -> Mask:
    return np.asarray((temperature >= low - SLACK) & (temperature <= high + SLACK))


def _stated(fluid: Fluid, table: Property | None, what: str) -> Property:
    if table is None:
        raise UnknownInputError(f"no {what} of {fluid.means} is known", needs=f"{what} of {fluid.id}")
    return table


def _is_dynamic(table: ViscosityProperty) -> bool:
    return table.values[0].dimension == "dynamic_viscosity"


def _between(table: Property, temperature: Array) -> Array:
    """The values of a table at temperatures [K] by its law, in the SI unit of the property."""
    x, at = np.asarray(temperature, dtype=float), np.array(table.at)
    values = np.array([getattr(v, "value", v) for v in table.values])
    if table.law == "walther":
        return viscosity_at(_straight(np.log10(x), np.log10(at), ordinate(values / MM2))) * MM2
    if table.law == "log":
        return np.asarray(np.exp(_straight(-1.0 / x, -1.0 / at, np.log(values))))
    return _straight(x, at, values)


def _straight(x: Array, at: Array, values: Array) -> Array:
    """Straight between the points, and straight on past the last two; one value alone is the same everywhere."""
    if len(at) == 1:
        return np.where(np.isnan(x), np.nan, values[0])
    i = np.clip(np.searchsorted(at, x, side="right") - 1, 0, len(at) - 2)
    return np.asarray(values[i] + (x - at[i]) * (values[i + 1] - values[i]) / (at[i + 1] - at[i]))
