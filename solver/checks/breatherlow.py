"""How far the lows of a breather line have to come up, laid again until nothing stands in it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity
from lines.assembly import assembly
from lines.finding import Words, words
from solver.profile import Profile, pools, profile

if TYPE_CHECKING:
    import numpy.typing as npt

    from solver.study import Study

    Array = npt.NDArray[np.float64]

MOST = 40
"""Times that the points are raised by what still stands at them."""
HIGHEST = 1.0
"""No point is raised by more [m]: another way is meant."""
ENOUGH = 0.002
"""A low this shallow is gone [m]."""


def raised(study: Study, tag: str, attitude: str, down: Array, barriers: tuple[Array, Array]) -> Words:
    """The words for how far the points of a run in its lows have to come up.

    Args:
        study: the study.
        tag: the run.
        attitude: in which its low is deepest.
        down: unit vectors of effective gravity in the attitudes that last, shape (attitudes, 3).
        barriers: what oil has to pass beyond its start and beyond its end [m], shape (attitudes,) each.
    """
    run, line, lifts = study.plan.runs[tag], profile(study.assemblies[tag]), _lifts(study, tag, down, barriers)
    if line is None or lifts is None:
        return words(
            "Lead it so that in {attitude} it falls all the way to an end, or from one crest to both; or turn the end "
            "or the port in which the low lies.",
            attitude=attitude,
        )
    facts: dict[str, Quantity | str] = {"port": run.start}
    told = []
    for n, lift in enumerate(lifts.tolist()):
        if lift > 0:
            told.append(f"the point {{at{n}}} from {{port}} by {{lift{n}:up}}")
            station = line.stations[_nearest(line, np.array(run.via or ())[n])]
            facts |= {f"at{n}": Quantity(float(station), "length"), f"lift{n}": Quantity(lift, "length")}
    said = " and ".join(told)
    return words(f"Raise {said}: then oil runs to an end of it in every attitude that lasts.", **facts)


def _lifts(study: Study, tag: str, down: Array, barriers: tuple[Array, Array]) -> Array | None:
    """How far each point of a run has to come up, the vehicle level, for no low to be left [m], shape (points,).

    Each comes up by what stands at it, a low in which no point lies with the point that is nearest. None where that
    never helps.
    """
    via = np.array(study.plan.runs[tag].via or ())
    lifts = np.zeros(len(via))
    # Lifted by a height, a point comes up by that times the cosine of the attitude's tilt.
    cosine = np.maximum(-down[:, 2], 0.1)
    for _ in range(MOST if len(via) else 0):
        lifted = via + lifts[:, None] * np.array([0.0, 0.0, 1.0])
        line = _laid(study, tag, lifted)
        if line is None or lifts.max() > HIGHEST:
            return None
        wet = (pools(line.heights(down), *barriers) / cosine[:, None]).max(axis=0)
        low = int(wet.argmax())
        if wet[low] < ENOUGH:
            return lifts
        at = np.array([_nearest(line, point) for point in lifted])
        more = wet[at]
        nearest = int(np.abs(line.stations[at] - line.stations[low]).argmin())
        more[nearest] = max(more[nearest], wet[low])
        lifts += more
    return None


def _nearest(line: Profile, point: Array) -> int:
    return int(np.linalg.norm(line.points - point, axis=1).argmin())


def _laid(study: Study, tag: str, via: Array) -> Profile | None:
    """The line of a run through other points; None where its hose, which fits as it is, would not fit there."""
    run = study.plan.runs[tag].model_copy(update={"via": tuple(map(tuple, via.tolist()))})
    made = assembly(replace(study.plan, runs=study.plan.runs | {tag: run}), tag)
    worse = made.does_not_fit and not study.assemblies[tag].does_not_fit
    return None if worse else profile(made)
