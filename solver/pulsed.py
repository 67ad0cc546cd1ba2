"""A pump that its controller pulses so that a pressure is held: without a return it gives what is burnt, no more."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Self

import numpy as np

from solver.devices import FLATTEST, LEAK, STEEP, Pump, leaks

if TYPE_CHECKING:
    import numpy.typing as npt

    from solver.devices import Here

    Array = npt.NDArray[np.float64]
    States = npt.NDArray[np.int64]


@dataclass(frozen=True)
class PulsedPump(Pump):
    """A pump pulsed from nothing up to its full curve: shut, holding the pressure where it is felt, or at full.

    flow = max(0, min(flow while holding, flow of its curve)), which falls as the pressure where it is felt rises, and
    as its own rise does; nothing flows back. What it is pulsed to between has no curve and needs none: the flow is
    what is taken, the rise what the circuit asks for.
    """

    held: Array = field(kw_only=True)
    """Pressure that it holds, reference included [Pa absolute], shape (batch,)."""
    states: tuple[str, ...] = ("shut", "holding", "at full")

    def first(self, batch: int) -> States:
        return np.ones(batch, dtype=np.int64)

    def feels(self, state: States) -> npt.NDArray[np.bool_]:
        """Where it goes by the pressure that it feels, and not by that at its outlet."""
        return np.asarray(state == 1)

    def _lacks(self, here: Here, rows: npt.NDArray[np.int64]) -> Array:
        """By how many Pa the pressure that it feels is under what it holds."""
        return here.lift + self.held[rows] - here.felt

    def line(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> tuple[Array, Array, Array]:
        full_a, full_start, full_end = super().line(here, state, rows)
        hold = np.full_like(full_a, 1.0 / FLATTEST)
        shut = np.full_like(full_a, LEAK)
        pick = [state == 0, state == 1]
        a = np.select(pick, [np.zeros_like(full_a), (here.lift + self.held[rows]) * hold], full_a)
        y_start = np.select(pick, [shut, np.zeros_like(full_a)], full_start)
        return a, y_start, np.select(pick, [shut, hold], full_end)

    def _over_full(self, here: Here, rows: npt.NDArray[np.int64]) -> Array:
        """By how many Pa its curve is short of the flow."""
        flow, slope = self._flow(here.end - here.start, rows)
        return (flow - here.flow) / slope

    def wanted(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> tuple[States, Array]:
        lacks, over = self._lacks(here, rows), self._over_full(here, rows)
        opens = (state == 0) & (lacks > 1.0)
        shuts = (state > 0) & (here.flow < 0.0)
        fills = (state == 1) & ~shuts & (over > 1.0)
        returns = (state == 2) & ~shuts & (lacks < -1.0)
        wanted = np.select([opens | returns, shuts, fills], [1, 0, 2], state)
        miss = np.select([opens, shuts, fills, returns], [lacks, np.maximum(-lacks, 1e-9), over, -lacks], 0.0)
        return wanted, miss

    def miss(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> Array:
        lacks, over = self._lacks(here, rows), self._over_full(here, rows)
        back = STEEP * np.maximum(-here.flow, 0.0)
        holding = np.maximum.reduce([np.abs(lacks - FLATTEST * here.flow), over, back])
        at_full = np.maximum.reduce([np.abs(over), -lacks, back])
        return np.select([state == 0, state == 1], [np.maximum(lacks, leaks(here)), holding], at_full)

    def outside(self, here: Here, rows: npt.NDArray[np.int64]) -> npt.NDArray[np.bool_]:
        rise, (first, last) = here.end - here.start, self.ends()
        # Pulsed it gives less than its curve: under the least rise that this has a point for, what it gives there.
        beyond_first = (rise < first[rows] - 1.0) & (here.flow > self.most()[rows])
        return np.asarray((rise > last[rows] + 1.0) | beyond_first)

    def over(self, points: npt.NDArray[np.int64]) -> Self:
        return replace(super().over(points), held=self.held[points])
