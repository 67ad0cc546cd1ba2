"""One turbocharger's drain: what runs in it at every duty, where it leads, and how high the oil stands in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from solver.drains.level import ONE_PLACE
from solver.drains.surface import STEEP, States, Surface, surface

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.grades import Grade
    from lines.plan import Component
    from solver.drains.foam import Foam
    from solver.drains.pieces import DrainLine
    from solver.liquid import Liquid

    Array = npt.NDArray[np.float64]
    Booleans = npt.NDArray[np.bool_]
    Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Drain:
    """One turbocharger's drain."""

    turbo: str
    line: DrainLine
    stock: str
    """Of its first run."""
    oil_flow: Array
    """Of this turbocharger alone, without gas, at every duty [m3/s]; nan where its feed has no answer."""
    known: tuple[int, ...]
    """The duties, by number, of which all that runs in it is known."""
    foams: tuple[Foam, ...]
    """What runs in each of its runs at every duty, from all turbochargers that drain through it."""
    temperature: Array
    """Of the oil at every duty [K]."""
    cold: Booleans
    """At which duties it is cold, shape (duties,)."""
    over: Array
    """Crankcase pressure less that of the bearing housing, at every duty [Pa]."""
    at_least: bool
    """Is that pressure more at some duty, nobody knows how much?"""
    floods: Array
    """The point that the oil must not reach, shape (3,) [m]."""
    sump: str
    """The name of the sump that it ends in; empty where it ends in the open or at a pump."""
    oil: Liquid | None
    """What stands in that sump when full; None where it ends in none."""
    pump: Component | None
    """The scavenge pump that it ends at."""
    most_froude: float
    """Up to which the foam in a steep length is let off [-]."""
    said: tuple[str, ...]
    """What was estimated."""
    grade: Grade
    """Of its weakest figure."""

    def states(self, gravity: Array, duty: Integers) -> States:
        """Its states with a full sump.

        Args:
            gravity: effective, shape (n, 3) [m/s2].
            duty: number of the duty, shape (n,).
        """
        down = gravity / np.linalg.norm(gravity, axis=1, keepdims=True)
        oil = np.full(len(duty), -np.inf) if self.oil is None else self.oil.levels(down).heights
        return States(gravity, duty, oil, self.over[duty])

    @property
    def floods_by_default(self) -> bool:
        """Is the point that must not flood the middle of its outlet, as nobody says where the housing floods?"""
        return bool(np.allclose(self.floods, self.line.points[0]))

    @property
    def leans(self) -> bool:
        """Is the sump's oil known in every attitude, and not on level ground only?"""
        return self.oil is None or self.oil.body is not None

    def surface(self, states: States, points: Array | None = None) -> Surface:
        """The oil in it, in these states; through other points, shape (states, pieces + 1, 3) [m], where given."""
        return surface(self.line, self.foams, states, points)

    def clearance(self, states: States, points: Array | None = None, floods: Array | None = None) -> Array:
        """How far the oil stays under the point that it must not reach, along gravity [m]; shape (states,).

        Args:
            states: what it stands in.
            points: the drain through other points, shape (states, pieces + 1, 3) [m].
            floods: that point elsewhere, shape (states, 3) or (3,) [m].
        """
        return self._under(states, self.surface(states, points), floods)

    def _under(self, states: States, surface: Surface, floods: Array | None) -> Array:
        down = states.down
        point = self.floods if floods is None else floods
        found = -np.sum(np.broadcast_to(point, down.shape) * down, axis=1) - surface.surface[0][:, 0]
        # Where the outlet points straight down invert, crown and flooding point are one place, but for the last digit.
        return np.where(np.abs(found) < ONE_PLACE, 0.0, found)

    def to_spare(self, states: States, points: Array | None = None, floods: Array | None = None) -> Array:
        """As `clearance`, but less than 0 too where a steep length takes more than `most_froude`; shape (states,) [m].

        There by what the limit is passed, in bores.
        """
        found = self.surface(states, points)
        steep = np.where(found.fall >= STEEP, found.froude, 0.0)
        worst = steep.argmax(axis=1)
        over = steep.max(axis=1) / self.most_froude - 1.0
        clear = self._under(states, found, floods)
        return np.where(over > 0.0, np.minimum(clear, -over * self.line.bore[worst]), clear)
