"""Fluids as a data sheet states them, and published ones: `from oils import kelvin, nu, own, rho`."""

import numpy as np

from catalogs.fluids import Fluid
from solver.properties import density, kinematic_viscosity

SAID = {"source": "for the test", "grade": "published"}

# Unused engine oil, textbooks of heat transfer (Eckert and Drake 1972), from memory: kinematic viscosity [mm2/s] and
# density [kg/m3] by temperature [K].
ENGINE_OIL = {
    273: (4280, 899.1),
    290: (1120, 890.0),
    310: (288, 877.9),
    330: (96.6, 865.8),
    350: (41.7, 853.9),
    370: (22.0, 841.8),
    390: (13.3, 830.6),
    410: (8.52, 818.9),
    430: (5.83, 806.5),
}

# Volumes of hydrocarbons in a liter at 15 C.
GASOLINES = [
    {"Isopentane": 0.15, "n-Hexane": 0.15, "n-Heptane": 0.2, "n-Octane": 0.15, "Toluene": 0.2, "o-Xylene": 0.15},
    {"Isopentane": 0.2, "Isohexane": 0.2, "n-Octane": 0.2, "Toluene": 0.25, "o-Xylene": 0.15},
]


def kelvin(*, c=None, f=None):
    return np.array([c + 273.15 if f is None else (f + 459.67) / 1.8])


def own(viscosity, rho=("petroleum-oil", 15, 870), *, law="walther", family="oil"):
    """A fluid by its viscosities [mm2/s] by temperature [C] and one density [kg/m3]."""
    group, base, stated = rho
    return Fluid(
        id="ours",
        means="ours",
        family=family,
        flammable=True,
        density=SAID | {"law": group, "at": [f"{base!r} C"], "is": [f"{stated!r} kg/m3"]},
        viscosity=SAID
        | {"law": law, "at": [f"{c!r} C" for c in viscosity], "is": [f"{v!r} mm2/s" for v in viscosity.values()]},
        **SAID,
    )


def nu(fluid, celsius):
    return kinematic_viscosity(fluid, kelvin(c=celsius))[0] * 1e6


def rho(fluid, celsius):
    return density(fluid, kelvin(c=celsius))[0]
