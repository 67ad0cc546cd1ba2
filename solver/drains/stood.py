"""A drain in every attitude of its plan, at every duty that the attitude goes with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lines.finding import State
from solver.drains.surface import TOUCHES

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.plan import Plan
    from solver.drains.drain import Drain
    from solver.drains.surface import States, Surface

    Array = npt.NDArray[np.float64]
    Booleans = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Stood:
    """A drain in the states of its plan, one row for each."""

    drain: Drain
    names: tuple[State, ...]
    """Attitude and duty of each row."""
    lasts: Booleans
    """Is the attitude a sustained one? Shape (rows,)."""
    states: States
    surface: Surface
    clearance: Array
    """How far the oil stays under the flooding point, shape (rows,) [m]; nan where the sump's oil cannot be told."""

    @property
    def told(self) -> Booleans:
        """Which rows can be told, shape (rows,)."""
        return np.isfinite(self.clearance)

    @property
    def standing(self) -> Array:
        """How far what fills the bore stays under the flooding point, shape (rows,) [m].

        The `clearance` where it is flooded; inf where nothing fills it, so that oil only runs past.
        """
        found, down = self.surface, self.states.down
        # Both ends of each piece, in the order in which the oil passes them.
        level, crown = (np.stack(ends, axis=2).reshape(len(down), -1) for ends in (found.surface, found.crown))
        full = level > crown + TOUCHES
        first = np.take_along_axis(level, full.argmax(axis=1)[:, None], axis=1)[:, 0]
        under = np.where(full.any(axis=1), -down @ self.drain.floods - first, np.inf)
        return np.where(self.clearance < 0, self.clearance, under)

    @property
    def outlet(self) -> Array:
        """How far the axis of the drain's end lies over the sump's oil, shape (rows,) [m]; inf where there is none."""
        ends = (self.surface.invert[1][:, -1] + self.surface.crown[1][:, -1]) / 2
        return np.asarray(ends - self.states.oil)

    @property
    def transient(self) -> set[str]:
        """The attitudes that do not last."""
        return {name.attitude for name, lasts in zip(self.names, self.lasts, strict=True) if not lasts}


def stood(plan: Plan, drain: Drain) -> Stood:
    """A drain in every attitude of its plan.

    Args:
        plan: the plan.
        drain: one of its drains, of which at least one duty is known.
    """
    duties = list(plan.duties)
    rows = [
        (attitude, i)
        for attitude in plan.attitudes.values()
        for i in drain.known
        if attitude.duties is None or duties[i] in attitude.duties
    ]
    states = drain.states(np.array([a.gravity for a, _ in rows]), np.array([i for _, i in rows]))
    return Stood(
        drain,
        tuple(State(duty=duties[i], attitude=a.name) for a, i in rows),
        np.array([a.sustained for a, _ in rows]),
        states,
        drain.surface(states),
        drain.clearance(states),
    )
