"""Turning a turbocharger's housing about its shaft, so that its outlet points elsewhere: the drain laid again."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from lines.centreline import turned
from solver.drains.relaid import laid_again, with_port

if TYPE_CHECKING:
    import numpy.typing as npt

    from solver.drains.drain import Drain
    from solver.study import Study

    Array = npt.NDArray[np.float64]

FARTHEST = 45
STEP = 5
"""Degrees that a housing is turned by to either side, and in which it is looked for."""


ENDS = (("front", "rear"), ("left", "right"), ("upper", "lower"))
"""What the two ends of a shaft are called that lies along x, y or z."""


def as_seen(shaft: Array, turn: float) -> tuple[str, str]:
    """The end of a shaft from which a turn [rad] is seen, and which way it goes: one toward you is right-handed."""
    axis = int(np.abs(shaft).argmax())
    toward = turn if shaft[axis] > 0 else -turn
    return ENDS[axis][0], "counter-clockwise" if toward > 0 else "clockwise"


def with_housing_turned(study: Study, drain: Drain) -> list[tuple[float, Drain]]:
    """A drain with its turbocharger's housing turned about the shaft by more and more, to both sides.

    Its outlet is taken to stay where it is and only to point elsewhere. Nothing where the way of the shaft or of the
    outlet is not known, or where they are one.

    Returns:
        the angle [rad], by the right hand about the way that the plan gives the shaft, and the drain.
    """
    plan = study.plan
    component = plan.components[drain.turbo]
    port = component.port(drain.line.outlet.partition(".")[2])
    shaft = component.figures.get("shaft")
    if shaft is None or port.points is None:
        return []
    found = []
    for degrees in sorted((s * d for d in range(STEP, FARTHEST + 1, STEP) for s in (1, -1)), key=abs):
        angle = float(np.radians(degrees))
        x, y, z = turned(np.array(port.points), np.array(shaft), angle).tolist()
        other = laid_again(study, drain, with_port(plan, drain.line.outlet, points=(x, y, z)))
        if other is not None:
            found.append((angle, other))
    return found
