"""Where the ends of a run stand in each position of the suspension."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from lines.centreline import turned

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.plan import Plan, RunTable

    Array = npt.NDArray[np.float64]


def bodies_of(plan: Plan, run: RunTable) -> tuple[str, str]:
    """The bodies that the two ends of a run stand on; empty for the vehicle itself."""
    start, end = (plan.components[ref.partition(".")[0]].on for ref in (run.start, run.end))
    return start, end


def moves(plan: Plan, run: RunTable) -> bool:
    """Do its ends move against each other? A line along one axle moves with it."""
    start, end = bodies_of(plan, run)
    return bool(run.chords) or start != end


def positions(plan: Plan, run: RunTable) -> list[str]:
    """The names of the positions in which its ends stand somewhere."""
    return list(dict.fromkeys(name for body in bodies_of(plan, run) for name in plan.bodies.get(body, {})))


def carried_to(plan: Plan, body: str, position: str, point: Array) -> Array | None:
    """Where a point of a body comes to in a position [m]; None where the plan does not say.

    Args:
        plan: the plan.
        body: a body of it, or empty for the vehicle itself, which stands still.
        position: the name of a position.
        point: as measured, shape (3,) [m].
    """
    if not body:
        return point
    table = plan.bodies[body].get(position)
    if table is None or (table.turn and (table.about is None or table.through is None)):
        return None
    if table.turn and table.about is not None and table.through is not None:
        pivot = np.array(table.through)
        point = pivot + turned(point - pivot, np.array(table.about), table.turn)
    return np.asarray(point + np.array(table.move))
