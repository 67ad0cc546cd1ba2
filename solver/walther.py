"""ASTM D341: kinematic viscosity against temperature, as a straight line of log10 log10 Z against log10 T."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

FULL = 20.0  # mm2/s; from here on Z is the viscosity and 0.7 to the last figure of a float


def ordinate(viscosity: Array) -> Array:
    """log10 log10 Z [-] of kinematic viscosities [mm2/s] of 0.21 and more, any shape.

    Z = nu + 0.7 + exp(-1.47 - 1.84 nu - 0.51 nu^2), ASTM D341; from 2 mm2/s on the last term is under 4 parts in
    10 000 of the viscosity.

    >>> round(float(ordinate(np.array(95.0))), 4)
    0.2969
    """
    return np.asarray(np.log10(np.log10(viscosity + 0.7 + _small(viscosity))))


def viscosity_at(ordinate_: Array) -> Array:
    """Kinematic viscosity [mm2/s] at ordinates log10 log10 Z [-], any shape: the inverse of `ordinate`.

    The standard's own inverse is a fit, good to 3 parts in 10 000, so that a line through two viscosities would miss
    both. Newton's steps here give them back to the last figures: Z is convex and rises with the viscosity, so they
    close in from above without a turn.

    >>> float(viscosity_at(ordinate(np.array(0.5)))).__round__(9)
    0.5
    """
    with np.errstate(over="ignore"):  # a steep line through two points, carried far into the cold: infinitely thick
        plain = 10.0 ** (10.0**ordinate_) - 0.7
    goal = np.minimum(plain, FULL)
    found = goal
    for _ in range(8):
        small = _small(found)
        found = found - (found + small - goal) / (1.0 - (1.84 + 1.02 * found) * small)
    return np.where(plain < FULL, found, plain)


def _small(viscosity: Array) -> Array:
    return np.asarray(np.exp(-1.47 - 1.84 * viscosity - 0.51 * viscosity**2))
