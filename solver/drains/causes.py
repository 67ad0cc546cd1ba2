"""Why a drain floods in a state: what it would take away to stop it, and the dip that it may stand in.

Found by asking again without it: without pressure over the oil, without the sump's oil, with hardly any flow.
"""

from __future__ import annotations

import enum
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from solver.drains.drain import Drain
    from solver.drains.surface import States, Surface

    Array = npt.NDArray[np.float64]

HARDLY = 1e-4
"""Of its flow, what counts as hardly any."""
A_DIP = 1e-3
"""A low point less than this under what follows is none [m]."""


class Cause(enum.Enum):
    """What alone makes the difference; of several the first."""

    UPHILL = "it does not run downhill"
    DIP = "it stands full in a dip"
    PRESSURE = "crankcase pressure pushes up what seals it"
    OIL = "the sump's oil stands over its end"
    FLOW = "its bore is too small for the flow"
    TOGETHER = "several of these together"


class Seal(enum.Enum):
    """What leaves no way for gas."""

    END = "its end is under the oil"
    DIP = "a dip"
    FULL = "a length that runs full"


@dataclass(frozen=True)
class Dip:
    """A low point with a higher one downstream of it."""

    low: int
    """Number of the point of the line."""
    rim: int
    depth: float
    """Of the bore's axis there under that at the rim, along effective gravity [m]."""


def cause(drain: Drain, state: States) -> Cause:
    """What makes a drain flood in one state (of a size of 1)."""
    still = replace(drain, foams=tuple(replace(foam, flow=foam.flow * HARDLY) for foam in drain.foams))
    dry = replace(state, oil=np.full(len(state), -np.inf))
    calm = replace(state, over=np.zeros(len(state)))
    if still.clearance(replace(dry, over=np.zeros(len(state))))[0] < 0:
        return Cause.DIP if _is_dip(drain, state) else Cause.UPHILL
    for one, changed, state_ in (
        (Cause.PRESSURE, drain, calm),
        (Cause.OIL, drain, dry),
        (Cause.FLOW, still, state),
    ):
        if changed.clearance(state_)[0] >= 0:
            return one
    return Cause.TOGETHER


def _is_dip(drain: Drain, state: States) -> bool:
    """Does its end still lie under the flooding point, so that only a dip between holds the oil up?"""
    down = state.down[0]
    found = dip(drain, state)
    return found is not None and float(-(drain.line.points[-1] @ down)) < float(-(drain.floods @ down))


def dip(drain: Drain, state: States) -> Dip | None:
    """The deepest dip of a drain in one state: how far its axis lies under what follows."""
    # Of the bore's axis: at a corner the lowest line of the bore jumps without a low.
    heights = -drain.line.points @ state.down[0]
    after = np.maximum.accumulate(heights[::-1])[::-1]
    depth = after - heights
    low = int(depth.argmax())
    if depth[low] < A_DIP or low == 0:
        return None
    rim = low + int(heights[low:].argmax())
    return Dip(low, rim, float(depth[low]))


def seal(found: Surface, row: int) -> tuple[Seal, int] | None:
    """What seals a drain in a state and the piece at which it does; None where gas has a way.

    Of several the one over which pressure lifts what floods it, else the lowest.
    """
    if not found.sealed[row].any():
        return None
    last = found.sealed.shape[1] - 1
    piece = int(found.lifted[row] if found.lifted[row] >= 0 else np.flatnonzero(found.sealed[row])[-1])
    if found.covered[row] and piece == last:
        return Seal.END, piece
    full = found.normal[row, piece] >= 1.0 and found.fall[row, piece] > 0
    return (Seal.FULL if full else Seal.DIP), piece
