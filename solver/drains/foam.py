"""The oil that leaves a turbocharger, churned with gas.

With a share a of gas in it, a flow q of oil becomes q / (1 - a), its density rho (1 - a), and its viscosity
mu / (1 - a): that of a suspension of bubbles that stay round (Llewellin and Manga, J. Volcanol. Geotherm. Res. 143,
2005, their equation for low capillary numbers; from memory), which they hold up to half of gas. Bubbles that the flow
draws out make it thinner, mu (1 - a)^(5/3): round ones are taken, which drain the slower.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

MOST_GAS = 0.5
"""Share of gas up to which the law of its viscosity was held against measurements [-]."""


@dataclass(frozen=True)
class Foam:
    """A foam at every duty, shape (duties,) each."""

    flow: Array
    """Volume flow [m3/s]."""
    density: Array
    """[kg/m3]"""
    viscosity: Array
    """Dynamic [Pa s]."""
    gas: Array
    """Share of gas in its volume [-]."""


def foam(flow: Array, density: Array, viscosity: Array, gas: Array) -> Foam:
    """The foam of an oil.

    Args:
        flow: of the oil alone [m3/s].
        density: of the oil [kg/m3].
        viscosity: of the oil [Pa s].
        gas: share of gas in the volume of the foam [-], 0 or more, under 1.

    >>> import numpy as np
    >>> half = foam(np.array([2e-5]), np.array([850.0]), np.array([0.010]), np.array([0.5]))
    >>> half.flow.tolist(), half.density.tolist(), half.viscosity.tolist()
    ([4e-05], [425.0], [0.02])
    """
    oil = 1.0 - gas
    return Foam(flow / oil, density * oil, viscosity / oil, gas)
