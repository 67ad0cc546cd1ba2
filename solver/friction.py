"""Friction in a round bore: one smooth factor through laminar, transitional and turbulent flow, straight or curved.

Churchill, Chem. Eng. 84(24), 1977, pp. 91-92, as the Darcy factor:
f = 8 [(8/Re)^12 + (A + B)^-1.5]^(1/12), A = [2.457 ln(1/((7/Re)^0.9 + 0.27 e/D))]^16, B = (37530/Re)^16.
So f/8 is the 12th-power mean of a laminar branch 8/Re and a turbulent one, which is t = A^(-1/8) where it is developed
and b = B^(-1/8) = (Re/37530)^2 where it sets in.

A bore bent to a circle of the diameter Dc costs more. Each branch is raised by the law that was measured for it:
- laminar by White, Proc. R. Soc. A 123, 1929: w = 1/(1 - (1 - (11.6/De)^0.45)^(1/0.45)), De = Re sqrt(D/Dc) > 11.6.
  Both w and its slope begin at De 11.6 without a step.
- its end by Schmidt, Chem. Ing. Tech. 39, 1967: Re = 2300 (1 + 8.6 (D/Dc)^0.45). The two branches of the straight bore
  cross at Re 2242; b is moved so that those of the curved one cross as much later.
- turbulent by Ito, J. Basic Eng. 81, 1959: f = f_straight + 0.029 sqrt(D/Dc), for 0.034 < Re (D/Dc)^2 < 300. To 3000
  it is up to 12 % over what he gives beyond, f_straight (Re (D/Dc)^2)^0.05.
The flow is taken as developed along the curve.

The drop rises strictly with the flow, for it is the mean of two that do: w never falls, b Re^2 rises as Re^4, and
t Re^2 as Re to the power of 2 - 1.8/|ln s| or more, with s = (7/Re)^0.9 + 0.27 e/D held under 0.3.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

SLOWEST = 1.0
"""Reynolds number under which f Re is 64 to the last digit."""
FASTEST = 1e15
"""… and over which f is held, so that no power of it is more than a float holds."""
ITO = 0.029
"""What sqrt(D/Dc) of a curve adds to the factor of turbulent flow."""
ROUGHEST = 0.3
"""What stands in Churchill's logarithm is less wherever the flow is turbulent at all."""
BLOCK = 8192
"""Elements that are worked on at a time, so that all between is in the cache: three times as fast as all at once."""


@dataclass(frozen=True, slots=True)
class _Wall:
    """What a bore's wall and curve make of the law; shape of the bores."""

    roughness: Array
    """Over the bore [-]."""
    log_curve: Array | None
    """ln(De / Re / 11.6), None where every bore is straight."""
    excess: Array | float
    """Ito's part of f/8."""
    onset: Array | float
    """Re at which the branch b is 1."""


def darcy_factor(reynolds: Array, relative_roughness: Array, curvature: Array | float = 0.0) -> Array:
    """Darcy friction factor [-] by Churchill (1977), curved by White, Schmidt and Ito.

    Args:
        reynolds: Reynolds number [-] > 0; any shape.
        relative_roughness: roughness over bore [-], 0 to 0.05; broadcast with it.
        curvature: bore over the diameter of the centreline's curve [-], 0 for straight; measured to 0.1 or thereabouts.

    Straight: within 0.8 % of 64/Re under Re 2000, above 4000 within a few per cent of Colebrook. Curved: from Re 20 000
    to 100 000 within a tenth of Mori and Nakayama (1967) and 5 % of Schmidt (1967).

    >>> float(np.round(darcy_factor(np.array([1000.0]), np.array([0.0])), 4)[0])
    0.064
    """
    product = _factor_times_reynolds(reynolds, _wall(relative_roughness, curvature))[0]
    return product / np.maximum(reynolds, 1e-300)


def _wall(relative_roughness: Array, curvature: Array | float) -> _Wall:
    curved = np.asarray(curvature, dtype=float)
    if not curved.any():
        return _Wall(relative_roughness, None, 0.0, 37530.0)
    log_curve = np.log(np.sqrt(np.maximum(curved, 1e-300)) / 11.6)
    later = 1.0 + 8.6 * curved**0.45
    laminar = _laminar(np.log(2300.0 * later), log_curve)[0]
    # Where 8 w/Re and (Re/onset)^2 cross, onset^2 = Re^3 / 8 w.
    return _Wall(relative_roughness, log_curve, ITO / 8.0 * np.sqrt(curved), 37530.0 * np.sqrt(later**3 / laminar))


def _laminar(log_reynolds: Array, log_curve: Array | None) -> tuple[Array | float, Array | float]:
    """White's factor on 64/Re, and its slope in logarithms."""
    if log_curve is None:
        return 1.0, 0.0
    v = np.exp(-0.45 * np.maximum(log_reynolds + log_curve, 0.0))
    x = 1.0 - v
    power = x ** (1.0 / 0.45 - 1.0)
    factor = 1.0 / (1.0 - x * power)
    return factor, factor * power * v


def _factor_times_reynolds(reynolds: Array, wall: _Wall) -> tuple[Array, Array]:
    """F Re, and its slope against Re in logarithms: both finite down to no flow, where f itself is not."""
    re = np.clip(reynolds, SLOWEST, FASTEST)
    log_re = np.log(re)
    w, w_slope = _laminar(log_re, wall.log_curve)
    s7 = np.exp(0.9 * (np.log(7.0) - log_re))
    s = s7 + 0.27 * wall.roughness
    log_s = np.log(np.minimum(s, ROUGHEST))
    one_over_t = np.square(2.457 * log_s)
    raised = 1.0 / (1.0 + wall.excess * one_over_t)
    t_slope = raised * 1.8 * s7 / (s * log_s)
    b = np.square(re / wall.onset)
    a_over_b = _eighth_power(b * raised * one_over_t)
    both = 1.0 + a_over_b
    turbulent = b / np.sqrt(np.sqrt(np.sqrt(both)))
    turbulent_slope = 2.0 - a_over_b / both * (2.0 - t_slope)
    ratio = _twelfth_power(re * turbulent / (8.0 * w))
    whole = 1.0 + ratio
    product = 64.0 * w * np.exp(np.log(whole) / 12.0)
    slope = w_slope + ratio / whole * (1.0 + turbulent_slope - w_slope)
    return product * np.maximum(reynolds / FASTEST, 1.0), slope


def _eighth_power(x: Array) -> Array:
    return np.square(np.square(np.square(x)))


def _twelfth_power(x: Array) -> Array:
    return np.square(np.square(x * x * x))


def friction_drop(
    flow: Array,
    *,
    length: Array,
    bore: Array,
    roughness: Array,
    density: Array,
    viscosity: Array,
    curvature: Array | float = 0.0,
) -> tuple[Array, Array]:
    """Darcy-Weisbach drop of a bore, straight or curved, and its slope against flow.

    Args:
        flow: volume flow [m3/s], its sign is its direction; shape (batch, pipes).
        length: along the bore [m], shape (pipes,).
        bore: [m], shape (pipes,).
        roughness: [m], shape (pipes,).
        density: [kg/m3], shape (batch, 1).
        viscosity: dynamic [Pa s], shape (batch, 1).
        curvature: bore over the diameter of the centreline's curve [-], 0 for straight; shape (pipes,).

    Returns:
        drop [Pa] with the sign of the flow, and its slope [Pa s/m3], which is positive at no flow too.

    >>> one = np.ones((1, 1))
    >>> drop, slope = friction_drop(one * 1e-7, length=one[0], bore=one[0] * 0.01, roughness=one[0] * 0,
    ...     density=one * 850, viscosity=one * 0.01)
    >>> bool(np.isclose(drop[0, 0], 128 * 0.01 * 1e-7 / (np.pi * 0.01**4)))
    True
    """
    wall = _wall(roughness / bore, curvature)
    per_flow, per_viscosity = 4.0 / (np.pi * bore), 2.0 * length / (np.pi * bore**4)
    drop, slope = np.empty_like(flow), np.empty_like(flow)
    rows = max(BLOCK // max(flow.shape[1], 1), 1)
    for first in range(0, len(flow), rows):
        some = slice(first, first + rows)
        reynolds = np.abs(flow[some]) * per_flow * (density[some] / viscosity[some])
        product, tilt = _factor_times_reynolds(reynolds, wall)
        # f (L/D) rho v^2/2 is (f Re) mu L v / (2 D^2).
        chord = product * per_viscosity * viscosity[some]
        drop[some], slope[some] = chord * flow[some], chord * (1.0 + tilt)
    return drop, slope
