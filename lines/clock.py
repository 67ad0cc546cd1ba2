"""The angle between two angled ends of a hose.

Look along the hose with the near end's outlet at 6 o'clock: the angle is counter-clockwise to the far end's outlet
(MIL-DTL-83796/5 fig. 3). Standing at the other end gives the same angle; only counting the other way round does not.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.centreline import Centreline

    Array = npt.NDArray[np.float64]


def clock_angle(line: Centreline, outlets: tuple[Array, Array]) -> float | None:
    """The clock angle of a hose that lies without twist [rad], 0 to 2 pi; None if an outlet points along the hose.

    Args:
        line: the hose's centreline from end A to end B.
        outlets: from the hose's axis toward the seat of each end, shape (3,) each.
    """
    first, last = line.tangents[0], line.tangents[-1]
    near, far = _across(outlets[0], first), _across(outlets[1], last)
    if near is None or far is None:
        return None
    near = line.carried(near)
    toward_viewer = -last
    angle = math.atan2(float(np.dot(toward_viewer, np.cross(near, far))), float(np.dot(near, far)))
    return angle % (2 * math.pi)


def _across(outlet: Array, tangent: Array) -> Array | None:
    """The part of an outlet's direction that is square to the hose, as a unit vector."""
    across = outlet - np.dot(outlet, tangent) * tangent
    size = float(np.linalg.norm(across))
    return None if size < 1e-6 else np.asarray(across / size)
