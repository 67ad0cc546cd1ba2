"""What a fuel system feeds over boost, beside what the engine would ask for: how far the boost can be turned up.

What is fed is solved at each boost. What is asked for is an estimate: with more boost the engine breathes in step with
the absolute pressure in its manifold and burns in step with what it breathes, its mixture, speed and charge air as at
the duty from which it is counted.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from solver.carrying import carried, fuelling
from solver.fuels import burns_at, feeding, felt, held_by, manifold, rails
from solver.injectors import injectors

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.plan import Plan
    from solver.solution import Solution

    Array = npt.NDArray[np.float64]

POINTS = 25
BEYOND = 1.6
"""Up to so many times the boost of the duty …"""
AT_LEAST = 50e3
"""… and so much more at least [Pa]."""


@dataclass(frozen=True)
class ByBoost:
    """A fuel system at one duty, over boost; arrays of shape (points,)."""

    duty: str
    """That which burns most under boost."""
    boost: Array
    """Over ambient [Pa]."""
    feeds: Array
    """The most that may be burnt while the pressure of the rails is held [m3/s]; nan where it is not."""
    passes: Array | None
    """What the injectors then pass in the most of the time that they are to be driven [m3/s]; None where that is not
    known.
    """
    needs: Array
    """What the engine would burn [m3/s]."""
    planned: tuple[float, float]
    """Boost [Pa over ambient] and burn [m3/s] of the duty."""

    @property
    def has(self) -> Array:
        """The lesser of what is fed and what is passed [m3/s]."""
        return self.feeds if self.passes is None else np.minimum(self.feeds, self.passes)

    @property
    def runs_out(self) -> float | None:
        """The boost at which the engine needs what it has [Pa over ambient]; None where that is not reached here.

        Where what it has is no longer known before that, as past the last point of a pump's curve, the last boost at
        which it is.
        """
        spare = self.has - self.needs
        short = np.flatnonzero((spare[:-1] >= 0) & ~(spare[1:] >= 0))
        if not short.size:
            return None
        i = int(short[0])
        if np.isnan(spare[i + 1]):
            return float(self.boost[i])
        share = float(spare[i] / (spare[i] - spare[i + 1]))
        return float(self.boost[i] + share * (self.boost[i + 1] - self.boost[i]))


def by_boost(plan: Plan, answer: Solution) -> ByBoost | None:
    """A fuel system over boost, from none up to past that of the plan.

    Args:
        plan: the plan.
        answer: its circuit of fuel, with an answer at every duty.

    Returns:
        None where no duty burns under boost, or nothing holds the pressure of a rail.
    """
    circuit, duties = answer.model.circuit, answer.model.duties
    if not feeding(circuit) or not all(held_by(circuit, node) for node in burns_at(circuit)):
        return None
    burn = answer.model.batch.taken.sum(axis=1)
    try:
        over = manifold(plan, duties) - plan.ambient.pressures
    except UnknownInputError:
        return None
    boosted = np.flatnonzero((over > 0) & (burn > 0))
    if not boosted.size:
        return None
    row = int(boosted[burn[boosted].argmax()])
    planned, ambient = float(over[row]), float(plan.ambient.pressures[row])
    boost = np.linspace(0.0, max(BEYOND * planned, planned + AT_LEAST), POINTS)
    here = fuelling(answer, plan.system).rows(np.full(POINTS, row)).boosted(boost - planned)
    feeds = carried(here)
    fed = here.burning(np.nan_to_num(feeds))
    return ByBoost(
        duty=duties[row],
        boost=boost,
        feeds=feeds,
        passes=_passed(plan, answer, fed, ambient + boost, row),
        needs=burn[row] * (ambient + boost) / (ambient + planned),
        planned=(planned, float(burn[row])),
    )


def _passed(plan: Plan, answer: Solution, fed: Solution, outside: Array, row: int) -> Array | None:
    """What the injectors pass of what is burnt [m3/s], at the pressures of an answer; None where it is not known."""
    most = plan.catalog.limit("fuel.injector").caution_above or 1.0
    circuit, density = answer.model.circuit, answer.model.density
    burn, found = fed.model.batch.taken.sum(axis=1), []
    for name, nodes in rails(circuit).items():
        try:
            own = injectors(plan, plan.components[name], density)
        except UnknownInputError:
            return None
        dead = 0.0 if own.dead_time is None else float(own.dead_time[row] * own.rate[row])
        least = np.min([felt(fed, node) for node in nodes], axis=0)
        opened = own.passes(least - outside, fed.model.density) / fed.model.density
        taken = sum(answer.model.batch.taken[row, answer.model.number[node]] for node in nodes)
        share = taken / answer.model.batch.taken[row].sum()
        found.append(own.count * opened * max(most - dead, 0.0) / share)
    return np.asarray(np.where(burn > 0, np.min(found, axis=0), np.nan))
