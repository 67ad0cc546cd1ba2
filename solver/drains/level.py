"""The height of the oil on its way up a drain, in many states at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]
    Integers = npt.NDArray[np.int64]
    Booleans = npt.NDArray[np.bool_]

ONE_PLACE = 1e-6
"""Heights that differ by less are one [m]."""


@dataclass
class Level:
    """The surface on its way up, in every state; shape (states,) each."""

    carried: Array
    """Its height [m]."""
    still: Array
    """The same without pressure, and without what fittings raise in a stream that runs part full [m]."""
    sealed: Booleans
    """Has oil shut the bore anywhere so far?"""
    lifted: Integers
    """The piece over whose seal pressure lifts it; -1 where it lifts nothing."""

    @classmethod
    def at(cls, height: Array) -> Level:
        """At the drain's end."""
        count = len(height)
        return cls(height, height, np.zeros(count, dtype=bool), np.full(count, -1))

    def rise(self, carried: Array, still: Array) -> None:
        self.carried, self.still = self.carried + carried, self.still + still

    def at_least(self, height: Array, still: Array | None = None) -> None:
        """Raise it to a height [m], and what shuts a bore to that or to another."""
        self.lifted = np.where(height > self.carried, -1, self.lifted)
        self.carried = np.maximum(self.carried, height)
        self.still = np.maximum(self.still, height if still is None else still)

    def sink(self, invert: Array, within: Array) -> None:
        """Down to the invert what stands over it by no more than this [m]."""
        self.carried = np.where(self.carried - invert <= within, invert, self.carried)
        self.still = np.where(self.still - invert <= within, invert, self.still)

    def seal(self, shuts: Booleans, lift: Array, piece: int) -> None:
        """Lift what stands over a seal, if it has not been lifted so high."""
        lifted = self.still + lift
        higher = shuts & (lifted > self.carried + ONE_PLACE)
        self.carried = np.where(higher, lifted, self.carried)
        self.lifted = np.where(higher, piece, self.lifted)
        self.sealed = self.sealed | shuts
