"""The loss of a tee by how its flow divides or comes together.

Three legs of one bore: a and b in line, and a branch square to them. The leg that carries the whole flow is the
common one; the total pressure of the others differs from its by K rho v^2 / 2, v in the common leg, K by the share x of
the whole flow. K may be below zero: a fast stream draws a slow one along.

Four of the six patterns are Crane's, TP-410 (2009), chapter 2, as the library `fluids` has them. Where the branch is
the common leg, K is the parabola of x through three points: with half the flow each way the figure of the losses
table; with all of it from one side, what the neighbouring pattern says, in which the idle leg has just come to rest.
With that, and with a resting branch at the static pressure of the way past it, no pattern begins with a step.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt
    from scipy.interpolate import PPoly

    Array = npt.NDArray[np.float64]
    Integers = npt.NDArray[np.int64]

A, B, BRANCH = 0, 1, 2
OTHERS = ((B, BRANCH), (A, BRANCH), (A, B))
SHARES = 101
"""Points at which Crane's equations are taken; between them the curves are smooth and keep their sense."""


@dataclass(frozen=True)
class Tees:
    """Tees by number. Their legs are edges that start at a port and end in the centre."""

    legs: Integers
    """Edges a, b and branch; shape (tees, 3)."""
    bore: Array
    """[m], shape (tees,)."""
    merging: float
    """K of either straight leg where both send half into the branch."""
    parting: float
    """K of either straight leg where the branch sends half into both."""

    @classmethod
    def none(cls) -> Tees:
        return cls(np.zeros((0, 3), dtype=np.int64), np.zeros(0), 0.0, 0.0)

    @property
    def count(self) -> int:
        return len(self.legs)

    def drops(self, flow: Array, density: Array) -> tuple[Array, Array]:
        """Drops from each port to the centre, which has the mean of the three total pressures.

        Args:
            flow: into the tee by each leg [m3/s], shape (batch, tees, 3).
            density: [kg/m3], shape (batch, 1 or tees, 1).

        Returns:
            drops [Pa], shape (batch, tees, 3), and how each changes with each flow [Pa s/m3], shape
            (batch, tees, 3, 3).
        """
        drop, slope = np.zeros(flow.shape), np.zeros((*flow.shape, 3))
        head = np.broadcast_to(density / (2.0 * (np.pi * self.bore[:, None] ** 2 / 4.0) ** 2), (*flow.shape[:2], 1))
        common = np.abs(flow).argmax(axis=2)
        divides = np.take_along_axis(flow, common[..., None], axis=2)[..., 0] > 0
        for leg in (A, B, BRANCH):
            for dividing in (True, False):
                for tee in range(self.count):
                    row = np.flatnonzero((common[:, tee] == leg) & (divides[:, tee] == dividing))
                    if row.size:
                        sign = -1.0 if dividing else 1.0
                        own = flow[row, tee]
                        self._pattern(tee, leg, sign, own, head[row, tee, 0], (row, drop, slope))
        # Against the mean of the three: against that of the common leg the centre would leap as another becomes it.
        return drop - drop.mean(axis=2, keepdims=True), slope - slope.mean(axis=2, keepdims=True)

    def _pattern(
        self, tee: int, leg: int, sign: float, flow: Array, head: Array, into: tuple[Integers, Array, Array]
    ) -> None:
        """One pattern at one tee: the drops of the two legs that are not common, with their slopes."""
        row, drop, slope = into
        others = OTHERS[leg]
        parts = [np.maximum(sign * flow[:, j], 0.0) for j in others]
        whole = parts[0] + parts[1]
        # Whichever leg is common, the share is that of the branch; where the branch is, that of leg a.
        which = 0 if leg == BRANCH else 1
        share = parts[which] / np.where(whole > 0, whole, 1.0)
        curves = coefficients(self.merging, self.parting)[leg == BRANCH, sign < 0]
        k, bend = curves(share), curves(share, 1)
        for n, j in enumerate(others):
            drop[row, tee, j] = sign * head * k[:, n] * whole**2
            for m, other in enumerate(others):
                toward = (1.0 - share) if m == which else -share
                rate = head * whole * (2.0 * k[:, n] + bend[:, n] * toward)
                slope[row, tee, j, other] = np.where(sign * flow[:, other] > 0, rate, 0.0)


@functools.cache
def coefficients(merging: float, parting: float) -> dict[tuple[bool, bool], PPoly]:
    """K [-] of the two legs that are not common, by the share, for each (branch is common, divides).

    The share is that of the branch, and the legs are the other straight one and the branch; where the branch is
    common it is that of leg a, and the legs are a and b.

    >>> curves = coefficients(1.25, 1.075)
    >>> curves[False, False](380 / 1515).round(4).tolist()
    [0.3259, -0.0402]
    """
    from fluids import fittings
    from scipy.interpolate import PchipInterpolator

    x = np.linspace(0.0, 1.0, SHARES)

    def crane(law: str) -> Array:
        # Two equal bores, of which only the ratio counts.
        found = getattr(fittings, law)
        return np.array([found(0.01, 0.01, 1.0 - q, q) for q in x])

    run_in, branch_in = crane("K_run_converging_Crane"), crane("K_branch_converging_Crane")
    run_out, branch_out = crane("K_run_diverging_Crane"), crane("K_branch_diverging_Crane")
    branch_in[0] = -branch_out[0]

    def from_branch(half: float, all_of_it: float, none_of_it: float) -> Array:
        bow = 4.0 * half - 3.0 * none_of_it - all_of_it
        own = none_of_it + bow * x + (all_of_it - none_of_it - bow) * x**2
        return np.stack([own, own[::-1]], axis=1)

    return {
        (False, False): PchipInterpolator(x, np.stack([run_in, branch_in], axis=1)),
        (False, True): PchipInterpolator(x, np.stack([run_out, branch_out], axis=1)),
        (True, False): PchipInterpolator(x, from_branch(merging, branch_out[-1], branch_out[-1] - run_out[-1])),
        (True, True): PchipInterpolator(x, from_branch(parting, branch_in[-1], branch_in[-1] - run_in[-1])),
    }
