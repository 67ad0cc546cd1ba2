"""Friction in a round bore: one smooth factor through laminar, transitional and turbulent flow.

Churchill, Chem. Eng. 84(24), 1977, pp. 91-92, as the Darcy factor:
f = 8 [(8/Re)^12 + (A + B)^-1.5]^(1/12), A = [2.457 ln(1/((7/Re)^0.9 + 0.27 e/D))]^16, B = (37530/Re)^16.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

SMALLEST = 1e-4
"""Reynolds number under which f Re has long been 64; keeps the powers inside what a float holds."""


def darcy_factor(reynolds: Array, relative_roughness: Array) -> Array:
    """Darcy friction factor [-] by Churchill (1977).

    Args:
        reynolds: Reynolds number [-] > 0; any shape.
        relative_roughness: roughness over bore [-], 0 to 0.05; broadcast with it.

    Within 0.8 % of 64/Re under Re 2000. Above 4000 within a few per cent of Colebrook.

    >>> float(np.round(darcy_factor(np.array([1000.0]), np.array([0.0])), 4)[0])
    0.064
    """
    return _factor_times_reynolds(reynolds, relative_roughness)[0] / np.maximum(reynolds, SMALLEST)


def _factor_times_reynolds(reynolds: Array, relative_roughness: Array) -> tuple[Array, Array]:
    """F Re and its slope against Re: both finite down to no flow, where f itself is not."""
    re = np.maximum(reynolds, SMALLEST)
    s7 = (7.0 / re) ** 0.9
    s = s7 + 0.27 * relative_roughness
    log = -np.log(s)
    a, b = (2.457 * log) ** 16, (37530.0 / re) ** 16
    slope_a = 16.0 * 2.457**16 * log**15 * (0.9 * s7 / (re * s))
    slope_b = -16.0 * b / re
    u = re**12 / (a + b) ** 1.5
    slope_u = u * (12.0 / re - 1.5 * (slope_a + slope_b) / (a + b))
    whole = 8.0**12 + u
    return 8.0 * whole ** (1 / 12), (8.0 / 12.0) * whole ** (-11 / 12) * slope_u


def friction_drop(
    flow: Array, *, length: Array, bore: Array, roughness: Array, density: Array, viscosity: Array
) -> tuple[Array, Array]:
    """Darcy-Weisbach drop of a straight bore and its slope against flow.

    Args:
        flow: volume flow [m3/s], its sign is its direction; shape (batch, pipes).
        length: [m], shape (pipes,).
        bore: [m], shape (pipes,).
        roughness: [m], shape (pipes,).
        density: [kg/m3], shape (batch, 1).
        viscosity: dynamic [Pa s], shape (batch, 1).

    Returns:
        drop [Pa] with the sign of the flow, and its slope [Pa s/m3], which is positive at no flow too.

    >>> one = np.ones((1, 1))
    >>> drop, slope = friction_drop(one * 1e-7, length=one[0], bore=one[0] * 0.01, roughness=one[0] * 0,
    ...     density=one * 850, viscosity=one * 0.01)
    >>> bool(np.isclose(drop[0, 0], 128 * 0.01 * 1e-7 / (np.pi * 0.01**4)))
    True
    """
    area = np.pi * bore**2 / 4.0
    velocity = np.abs(flow) / area
    reynolds = velocity * bore * density / viscosity
    product, slope = _factor_times_reynolds(reynolds, roughness / bore)
    scale = viscosity * length / (2.0 * bore**2)
    drop = scale * product * velocity
    return np.sign(flow) * drop, scale * (product + reynolds * slope) / area
