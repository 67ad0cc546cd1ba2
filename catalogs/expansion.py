"""The thermal expansion of petroleum liquids: the constants of API MPMS chapter 11.1."""

from __future__ import annotations

import functools
import tomllib
from importlib import resources

from catalogs.fields import Density, Number, Temperature
from catalogs.records import Family, Record


class Expansion(Record):
    """The coefficient of expansion at 15 C for a range of densities there: k0/rho^2 + k1/rho + k2 [1/K]."""

    law: str
    families: tuple[Family, ...]
    lightest: Density
    heaviest: Density
    k0: Number = 0.0
    k1: Number = 0.0
    k2: Number = 0.0
    coldest: Temperature
    hottest: Temperature

    def coefficient(self, density: float) -> float:
        """The coefficient [1/K] at 15 C of a liquid with this density [kg/m3] there."""
        return self.k0 / density**2 + self.k1 / density + self.k2


@functools.cache
def expansions(law: str | None = None) -> tuple[Expansion, ...]:
    """The rows of one law, or all of them, the lightest liquids first; none where no row has such a law."""
    text = resources.files("catalogs").joinpath("data/expansion.toml").read_text(encoding="utf-8")
    rows = [Expansion.model_validate(row | {"id": key}) for key, row in tomllib.loads(text).items()]
    return tuple(sorted((row for row in rows if law in {None, row.law}), key=lambda row: row.lightest))
