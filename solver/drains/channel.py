"""A bore that foam runs down, part full: depth against the pull along it, at every duty at once.

Along a bore that falls at an angle s, effective gravity g pulls by g sin s and presses on the bed by g cos s. Even flow
of a depth needs the pull f v^2 / (2 Dh), with the hydraulic diameter Dh (`solver.partfull`); flow is critical where
v^2 = (g cos s) A / T, A being its area and T the width of its surface. Both are explicit in the depth, so that each is
worked out once for many depths and looked up from there.

Even flow has two depths for one flow above that which just fills the bore; the lower is taken, and at or above that
flow the bore is full.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import STANDARD_GRAVITY
from solver.partfull import DEEPEST, by_darcy, segment

if TYPE_CHECKING:
    import numpy.typing as npt

    from solver.drains.foam import Foam

    Array = npt.NDArray[np.float64]
    Integers = npt.NDArray[np.int64]

LEAST = 1e-9
"""A flow under this counts as this: less than a drop in a minute [m3/s]."""
DEPTHS = np.concatenate([np.geomspace(1e-4, 0.1, 320), np.linspace(0.1, DEEPEST, 320)[1:]])
"""Depths over the bore at which even flow is tabled [-]."""
FILLING = np.concatenate([1.0 - np.geomspace(1.0 - DEEPEST, 1e-6, 160)[1:], [1.0]])
"""From there on to the full bore, whose wetted part grows without bound toward the crown."""
APART = 1e3
"""Logarithms of one duty's table and of the next differ by more than any physical ones."""


@dataclass(frozen=True)
class Channel:
    """A bore with the foam of every duty in it."""

    bore: float
    """[m]"""
    roughness: float
    """[m]"""
    foam: Foam

    @cached_property
    def flow(self) -> Array:
        """Volume flow at every duty [m3/s], never none."""
        return np.maximum(self.foam.flow, LEAST)

    @cached_property
    def area(self) -> float:
        """Of the full bore [m2]."""
        return float(np.pi * self.bore**2 / 4.0)

    def pull(self, depths: Array) -> Array:
        """What draws the foam along at even flow of a depth [m/s2].

        Args:
            depths: over the bore [-], shape (n,).

        Returns:
            shape (duties, n).
        """
        share, radius = segment(depths)
        velocity = self.flow[:, None] / (share * self.area)
        law = by_darcy(
            roughness=self.roughness, density=self.foam.density[:, None], viscosity=self.foam.viscosity[:, None]
        )
        return np.asarray(STANDARD_GRAVITY * law(velocity, np.broadcast_to(radius * self.bore / 4.0, velocity.shape)))

    def normal(self, pull: Array, duty: Integers) -> Array:
        """Depth of even flow over the bore [-], 1 where the bore is full.

        Args:
            pull: g sin s [m/s2], any shape; 0 or less where the bore does not fall.
            duty: number of the duty of each, of the same shape.
        """
        log_pull = np.log(np.maximum(pull, 1e-12))
        found = np.interp(APART * duty - log_pull, self._even_flow, np.tile(DEPTHS, len(self.flow)))
        return np.where(pull > self._just_full[duty], found, 1.0)

    def critical(self, press: Array, duty: Integers) -> Array:
        """Critical depth over the bore [-], short of 1 where the bore is all but full.

        Args:
            press: g cos s [m/s2], over 0, any shape.
            duty: number of the duty of each, of the same shape.
        """
        ratio = self.flow[duty] ** 2 / (np.maximum(press, 1e-9) * self.bore**5)
        return np.asarray(np.interp(np.log(ratio), *_critical_table()))

    def pool(self, press: Array, duty: Integers) -> Array:
        """How high a still pool stands over the invert of a place of critical flow that it runs off by, over bore [-].

        The depth there and the head of its velocity, A/2T; where the bore would be all but full, no more than the full
        bore and the head of the velocity in that.

        Args:
            press: g cos s [m/s2], over 0, any shape.
            duty: number of the duty of each, of the same shape.
        """
        depth = self.critical(press, duty)
        full = self.energy(np.ones_like(depth), press, duty)
        return np.minimum(depth + np.pi / 16.0 * self.share(depth) / np.sqrt(depth * (1.0 - depth)), full)

    def energy(self, depth: Array, press: Array, duty: Integers) -> Array:
        """Head over the invert of a stream of a depth, with that of its velocity, over bore [-].

        Args:
            depth: over the bore [-], any shape.
            press: g cos s [m/s2], over 0, of the same shape.
            duty: number of the duty of each, of the same shape.
        """
        speed = self.flow[duty] / (self.share(depth) * self.area)
        return np.asarray(depth + speed**2 / (2.0 * np.maximum(press, 1e-9) * self.bore))

    def slope_at(self, depth: Array, duty: Integers) -> Array:
        """What friction draws at a depth over the bore [m/s2]: that of the full bore at a depth of 1."""
        wanted = np.clip(depth, DEPTHS[0], 1.0) + 2.0 * duty
        return np.asarray(np.exp(np.interp(wanted, self._places, self._log_pull.ravel())))

    def share(self, depth: Array) -> Array:
        """Area of the flow over that of the bore [-] at depths over the bore [-]."""
        return np.asarray(segment(np.clip(depth, DEPTHS[0], 1.0))[0])

    def froude(self, gravity: Array, duty: Integers) -> Array:
        """Q / (A sqrt(g D)) [-]: by it a plumb length is judged, in which no depth can be told."""
        return np.asarray(self.flow[duty] / (self.area * np.sqrt(gravity * self.bore)))

    @cached_property
    def _log_pull(self) -> Array:
        """Shape (duties, depths)."""
        return np.log(self.pull(np.concatenate([DEPTHS, FILLING])))

    @cached_property
    def _places(self) -> Array:
        depths = np.concatenate([DEPTHS, FILLING])
        return np.concatenate([depths + 2.0 * i for i in range(len(self.flow))])

    @cached_property
    def _even_flow(self) -> Array:
        """Rising with the depth and from duty to duty, shape (duties * depths,)."""
        rows = -self._log_pull[:, : len(DEPTHS)] + APART * np.arange(len(self.flow))[:, None]
        return rows.ravel()

    @cached_property
    def _just_full(self) -> Array:
        return np.asarray(np.exp(self._log_pull[:, -1]))


def _critical_table() -> tuple[Array, Array]:
    """ln(q^2 / (g cos s D^5)) of critical flow, and its depth over the bore."""
    # Close where the surface closes, in which the pool before it grows fast.
    rest = [np.linspace(0.1, 0.9, 300)[1:], 1.0 - np.geomspace(0.1, 1e-4, 160)[1:]]
    depth = np.concatenate([np.geomspace(1e-4, 0.1, 160), *rest])
    area = segment(depth)[0] * np.pi / 4.0
    width = 2.0 * np.sqrt(depth * (1.0 - depth))
    return np.log(area**3 / width), depth
