"""A valve that something else than the pressures of its circuit sets: a thermostat, by the temperature of a duty."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Self

import numpy as np

from solver.devices import FLATTEST, LEAK, leaks

if TYPE_CHECKING:
    import numpy.typing as npt

    from solver.devices import Bore, Here, States

    Array = npt.NDArray[np.float64]

SHUTS = 1e-6
"""A way open by no more than this is shut [-]: what it lets by is of the size of the leak."""


@dataclass(frozen=True)
class Throttle:
    """A valve of which a known share of the free area is open at each batch point.

    flow = share x flow wide open at these pressures + leak. So the inertial drop goes with 1/share^2, the laminar with
    1/share, and the law rises without a step both with the pressures and with the share.
    """

    share: Array
    """Open [-], 0 to 1, shape (batch,)."""
    bore: Bore
    """Wide open."""
    states: tuple[str, ...] = ("shut", "part open", "open")

    def first(self, batch: int) -> States:
        return np.zeros(batch, dtype=np.int64)

    def _wide(self, here: Here, rows: npt.NDArray[np.int64]) -> tuple[Array, Array]:
        """Its share at each row, zero where it is shut, and what it would pass wide open [m3/s]."""
        share = np.where(self.share[rows] > SHUTS, self.share[rows], 0.0)
        own = here.flow - LEAK * (here.start - here.end)
        return share, np.where(share > 0, own / np.where(share > 0, share, 1.0), 0.0)

    def line(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> tuple[Array, Array, Array]:
        share, wide = self._wide(here, rows)
        drop, slope = self.bore.drop(wide, here.density, here.viscosity)
        y = share / np.maximum(slope, FLATTEST)
        return share * wide - drop * y, y + LEAK, y + LEAK

    def wanted(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> tuple[States, Array]:
        """Its state is a name for its share: no pressure asks for another."""
        share = self.share[rows]
        return np.where(share > SHUTS, 1, 0) + np.where(share >= 1.0, 1, 0), np.zeros_like(here.flow)

    def miss(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> Array:
        share, wide = self._wide(here, rows)
        drop = self.bore.drop(wide, here.density, here.viscosity)[0]
        return np.where(share > 0, np.abs(here.start - here.end - drop), leaks(here))

    def outside(self, here: Here, rows: npt.NDArray[np.int64]) -> npt.NDArray[np.bool_]:
        return np.zeros(len(rows), dtype=bool)

    def over(self, points: npt.NDArray[np.int64]) -> Self:
        return replace(self, share=self.share[points])
