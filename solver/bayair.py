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


def transfer(
    gas: Fluid, outside: Array, wall: Array, air: Array, speed: Array, pressure: Array, *, emissivity: float
) -> Array:
    """Heat that each square metre and kelvin gives to a hose [W/(m2 K)]; the arrays go together.

    The larger of what still air gives a level cylinder (Churchill and Chu, Int. J. Heat and Mass Transfer 18 (1975)
    1049) and a stream across it (Churchill and Bernstein, J. Heat Transfer 99 (1977) 300), all at the mean of wall and
    air, and radiation from surroundings that are as warm as the air.

    Args:
        gas: air.
        outside: diameter of the hose [m].
        wall: temperature of its outside [K].
        air: that of the air [K].
        speed: of the air across it [m/s].
        pressure: of the air [Pa absolute].
        emissivity: of its outside [-].
    """
    from ht.conv_external import Nu_cylinder_Churchill_Bernstein
    from ht.conv_free_immersed import Nu_horizontal_cylinder_Churchill_Chu

    film = (wall + air) / 2
    rho = density(gas, film) * pressure / STANDARD_ATMOSPHERE
    mu, k = dynamic_viscosity(gas, film), conductivity(gas, film)
    prandtl = mu * heat_capacity(gas, film) / k
    grashof = STANDARD_GRAVITY / film * np.abs(air - wall) * outside**3 * (rho / mu) ** 2
    still = np.vectorize(Nu_horizontal_cylinder_Churchill_Chu)(prandtl, grashof)
    blown = np.vectorize(Nu_cylinder_Churchill_Bernstein)(rho * speed * outside / mu, prandtl)
    radiated = emissivity * STEFAN_BOLTZMANN * (wall**2 + air**2) * (wall + air)
    return np.asarray(np.maximum(still, blown) * k / outside + radiated)
