"""Even flow by gravity in a round bore that it does not fill.

Depth is over the bore, from its lowest line. The law of resistance is that of a full bore at the hydraulic diameter,
four times area over wetted perimeter. In laminar flow that is within 0.2 % of the segment's own solution up to a depth
of 0.6, 1 % at 0.7, 5 % at 0.85.

Above the flow that just fills the bore there are two depths for one flow, since a bore carries most somewhat short of
full. The lower one is taken; at or above that flow the bore counts as full.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import STANDARD_GRAVITY
from solver.friction import darcy_factor

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    Array = npt.NDArray[np.float64]
    Law = Callable[[Array, Array], Array]
    """The slope that a velocity [m/s] at a hydraulic radius [m] needs: sine of the angle under level [-]."""

HALVINGS = 50
DEEPEST = 0.85
"""Depth [-] at which every law carries more than the full bore, and up to which all rise."""
FASTEST = 1e3
"""More than any liquid runs down a hose by its own weight [m/s]."""


def segment(depth: Array) -> tuple[Array, Array]:
    """Area and hydraulic radius of the flow, each over that of the full bore [-], at depths [-]; any shape.

    >>> area, radius = segment(np.array([0.5]))
    >>> float(area[0]), float(radius[0])
    (0.5, 1.0)
    """
    angle = 2.0 * np.arccos(np.clip(1.0 - 2.0 * depth, -1.0, 1.0))
    area = (angle - np.sin(angle)) / (2.0 * np.pi)
    return area, 2.0 * np.pi * area / np.maximum(angle, 1e-12)


def by_darcy(*, roughness: float, density: Array, viscosity: Array) -> Law:
    """The law of Darcy and Weisbach, with the one friction factor of this solver.

    Args:
        roughness: of the wall [m].
        density: [kg/m3]; of the flow's shape or one number.
        viscosity: dynamic [Pa s], likewise.
    """

    def slope(velocity: Array, radius: Array) -> Array:
        wide = 4.0 * radius
        factor = darcy_factor(velocity * wide * density / viscosity, roughness / wide)
        return np.asarray(factor / wide * velocity**2 / (2.0 * STANDARD_GRAVITY))

    return slope


def by_manning(n: float) -> Law:
    """Manning's law, that of sewers and not of oil: v = R^(2/3) S^(1/2) / n, n in [s/m^(1/3)]."""
    return lambda velocity, radius: (n * velocity) ** 2 / radius ** (4.0 / 3.0)


def normal_depth(flow: Array, bore: Array, slope: Array, law: Law) -> Array:
    """The depth at which a flow runs evenly [-], the lower of two; 1 where it fills the bore. Any shape.

    Args:
        flow: volume flow [m3/s], over 0.
        bore: [m]; of the same shape or one number.
        slope: sine of the angle under level [-]; likewise. Where it does not fall the bore counts as full.
        law: of resistance.
    """
    low, high = np.zeros_like(flow), np.full_like(flow, DEEPEST)
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        shallow = _needed(flow, middle, bore, law) > slope
        low, high = np.where(shallow, middle, low), np.where(shallow, high, middle)
    full = _needed(flow, np.ones_like(flow), bore, law) >= slope
    return np.where(full, 1.0, (low + high) / 2.0)


def flow_at(depth: Array, bore: Array, slope: Array, law: Law) -> Array:
    """Volume flow [m3/s] that runs evenly at depths [-] over 0 in bores [m] at slopes [-]; any shape."""
    area, radius = segment(depth)
    low, high = np.zeros(np.broadcast_shapes(depth.shape, np.shape(slope))), np.full(1, FASTEST)
    high = np.broadcast_to(high, low.shape)
    for _ in range(HALVINGS + 10):
        middle = (low + high) / 2.0
        slow = law(middle, radius * bore / 4.0) < slope
        low, high = np.where(slow, middle, low), np.where(slow, high, middle)
    return np.asarray(area * np.pi * bore**2 / 4.0 * (low + high) / 2.0)


def _needed(flow: Array, depth: Array, bore: Array, law: Law) -> Array:
    """The slope that a flow needs at a depth [-]."""
    area, radius = segment(depth)
    return law(flow / (np.maximum(area, 1e-15) * np.pi * bore**2 / 4.0), np.maximum(radius, 1e-9) * bore / 4.0)
