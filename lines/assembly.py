"""A run as a thing to make: its ends, its lengths and how sure they are.

Lengths are measured along the hose to the sealing face of a straight end and to the centre line of an angled
end's outlet. Cut length = that length - the cut-off of both ends.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.grades import Grade, weakest
from lines.ends import ChosenEnd, chosen_end
from lines.shape import Corner, Shape, shape

if TYPE_CHECKING:
    from catalogs.records import Adapter, Stock, Thread
    from lines.plan import Plan, RunTable


@dataclass(frozen=True)
class Joint:
    """What meets at one end of a run."""

    port: str
    port_thread: Thread | None
    end_thread: Thread | None
    adapter: Adapter | None
    fits: bool | None
    """None: not known, because the port's thread or the end is not."""


@dataclass(frozen=True)
class Assembly:
    """One hose or tube assembly."""

    tag: str
    run: RunTable
    stock: Stock
    shape: Shape
    ends: tuple[ChosenEnd, ChosenEnd]
    joints: tuple[Joint, Joint]
    length: float | None
    """Between the sealing places of both ends [m]."""
    cut: float | None
    """Length of hose to cut [m]."""
    grade: Grade
    """Of the cut length: its weakest figure."""
    needs: tuple[str, ...]
    """What to measure before the cut length is known or final."""

    @property
    def provisional(self) -> bool:
        return self.cut is None or self.grade.provisional or bool(self.adapters_in_length)

    @property
    def adapters_in_length(self) -> tuple[Joint, ...]:
        """Joints whose adapter takes up some of a length that was found from the ports, not from the seats."""
        return tuple(j for j in self.joints if j.adapter is not None) if self.run.length_is is None else ()

    @property
    def measure_first(self) -> tuple[bool, bool]:
        """Which ends to measure before cutting."""
        first, second = (e.end is not None and e.end.grade_of("cutoff").provisional for e in self.ends)
        return first, second


def assembly(plan: Plan, tag: str) -> Assembly:
    """The assembly of one run."""
    run = plan.runs[tag]
    stock = plan.catalog.stock(run.stock)
    ends = chosen_end(plan, tag, "from"), chosen_end(plan, tag, "to")
    joints = _joint(plan, run.start, ends[0]), _joint(plan, run.end, ends[1])
    form = shape(plan, tag)
    needs = [end.needs for end in ends if end.needs]
    if form.length is None:
        needs.append("length with length_is, or the points of the run")
    cutoffs = [end.end.cutoff for end in ends if end.end is not None]
    known = form.length is not None and len(cutoffs) == 2
    grade = weakest(end.end.grade_of("cutoff") for end in ends if end.end is not None)
    length, cut = form.length, form.length
    if run.length_is == "cut":
        length = run.length + sum(cutoffs) if run.length is not None and known else None
        grade = Grade.MEASURED
    elif form.length is not None and known:
        cut = form.length - sum(cutoffs)
    else:
        cut = None
    return Assembly(tag, run, stock, form, ends, joints, length, cut, grade, tuple(needs))


def bend_radii(made: Assembly) -> tuple[Corner, ...] | None:
    """Each bend with the largest centreline radius that fits, two hose diameters kept straight behind each collar.

    None where the bends were not measured. A measured bend (no points) keeps the radius that was measured.
    """
    corners, points = made.shape.corners, made.shape.points
    if corners is None or points is None or not corners:
        return corners
    whole = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
    kept = [2 * made.stock.outside + (end.end.cutoff if end.end is not None else 0.0) for end in made.ends]
    found = list(corners)
    # To the first bend and from the last, not to the first and last point: a clamp on a straight is no bend.
    for i, straight, keep in ((0, corners[0].station, kept[0]), (-1, whole - corners[-1].station, kept[1])):
        room = max(straight - keep, 0.0) / math.tan(min(found[i].turn, math.radians(179)) / 2)
        found[i] = replace(found[i], radius=min(found[i].radius, room))
    return tuple(found)


def assemblies(plan: Plan) -> list[Assembly]:
    """Every assembly of a plan, in its order."""
    return [assembly(plan, tag) for tag in plan.runs]


def _joint(plan: Plan, port: str, chosen: ChosenEnd) -> Joint:
    table, catalog = plan.port(port), plan.catalog
    port_thread = catalog.thread(table.thread) if table.thread else None
    end_thread = catalog.thread(chosen.end.thread) if chosen.end is not None else None
    if port_thread is None or end_thread is None:
        return Joint(port, port_thread, end_thread, None, None)
    if port_thread.id == end_thread.id:
        return Joint(port, port_thread, end_thread, None, fits=True)
    adapters = catalog.adapters_to(port_thread.id, end_thread.id)
    return Joint(port, port_thread, end_thread, adapters[0] if adapters else None, fits=bool(adapters))
