"""What the air around a hose gives to it: by its own rise along the hose or a stream across it, and by radiation."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.bounds import STANDARD_ATMOSPHERE
from catalogs.units import STANDARD_GRAVITY
from solver.properties import conductivity, density, dynamic_viscosity, heat_capacity

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.fluids import Fluid

    Array = npt.NDArray[np.float64]

STEFAN_BOLTZMANN = 5.670374419e-8  # W/(m2 K4)


def still(rayleigh: Array, prandtl: Array) -> Array:
    """Nusselt number of a level cylinder in still air [-], both at the mean of wall and air.

    S. W. Churchill and H. H. S. Chu, Int. J. Heat and Mass Transfer 18 (1975) 1049.

    >>> round(float(still(np.array([5.073e6]), np.array([0.69]))[0]), 1)
    23.1
    """
    by = (1.0 + (0.559 / prandtl) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    return np.asarray((0.60 + 0.387 * rayleigh ** (1.0 / 6.0) / by) ** 2)


def blown(reynolds: Array, prandtl: Array) -> Array:
    """Nusselt number of a cylinder in a stream across it [-], both at the mean of wall and air.

    S. W. Churchill and M. Bernstein, J. Heat Transfer 99 (1977) 300.

    >>> round(float(blown(np.array([6071.0]), np.array([0.7]))[0]), 1)
    40.6
    """
    by = (1.0 + (0.4 / prandtl) ** (2.0 / 3.0)) ** 0.25
    steep = (1.0 + (reynolds / 282000.0) ** 0.625) ** 0.8
    return np.asarray(0.3 + 0.62 * reynolds**0.5 * prandtl ** (1.0 / 3.0) / by * steep)


def transfer(
    gas: Fluid, outside: Array, wall: Array, air: Array, speed: Array, pressure: Array, *, emissivity: float
) -> Array:
    """Heat that each square metre and kelvin gives to a hose [W/(m2 K)]; the arrays go together.

    The larger of what still air and its stream give, and radiation from surroundings that are as warm as the air.

    Args:
        gas: air.
        outside: diameter of the hose [m].
        wall: temperature of its outside [K].
        air: that of the air [K].
        speed: of the air across it [m/s].
        pressure: of the air [Pa absolute].
        emissivity: of its outside [-].
    """
    film = (wall + air) / 2
    rho = density(gas, film) * pressure / STANDARD_ATMOSPHERE
    mu, k = dynamic_viscosity(gas, film), conductivity(gas, film)
    prandtl = mu * heat_capacity(gas, film) / k
    grashof = STANDARD_GRAVITY / film * np.abs(air - wall) * outside**3 * (rho / mu) ** 2
    nusselt = np.maximum(still(grashof * prandtl, prandtl), blown(rho * speed * outside / mu, prandtl))
    radiated = emissivity * STEFAN_BOLTZMANN * (wall**2 + air**2) * (wall + air)
    return np.asarray(nusselt * k / outside + radiated)
