"""The density of petroleum liquids at any temperature from one, by API MPMS chapter 11.1 (ASTM D1250)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.expansion import expansions

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

BASE = 288.15  # K; 15 C, where the standard's coefficient stands


def coefficient(law: str, density: float) -> float:
    """The coefficient of expansion [1/K] at 15 C of a liquid with this density [kg/m3] there.

    >>> round(coefficient("petroleum-oil", 870.0) * 870.0, 4)  # kg/m3 for each K
    0.6278
    """
    rows = expansions(law)
    return next((row for row in rows if density < row.heaviest), rows[-1]).coefficient(density)


def expanded(law: str, density: float, base: float, temperature: Array) -> Array:
    """Density [kg/m3] at temperatures [K], any shape, of a liquid with one density [kg/m3] at a base temperature [K].

    API MPMS chapter 11.1 (1980), equation of the volume correction factor, without its correction for pressure.
    Where the base is not 15 C, the density there is first found which the law brings to the one that is stated.

    >>> round(float(expanded("petroleum-oil", 870.0, 288.15, np.array(373.15))), 1)
    815.8
    """
    at_15 = density
    for _ in range(40):  # each turn leaves a fifth of the error, or less, over the whole range of the law
        at_15 = density / float(_factor(coefficient(law, at_15), np.array(base)))
    return np.asarray(at_15 * _factor(coefficient(law, at_15), temperature))


def _factor(alpha: float, temperature: Array) -> Array:
    """The volume correction factor [-]."""
    grown = alpha * (temperature - BASE)
    return np.asarray(np.exp(-grown * (1.0 + 0.8 * grown)))
