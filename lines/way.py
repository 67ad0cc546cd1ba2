"""The way of a run through space, as far as its ports and points tell: which ends it takes, and how it lies."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from lines.centreline import SAME_PLACE, angle_between
from lines.ends import BOTH, ChosenEnd, candidates, port_of, without_path
from lines.held import Bench, Seat
from lines.joints import Joint, family_at, joint
from lines.route import Route, laid, where_axes_meet

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from catalogs.records import HoseEnd, Stock
    from lines.plan import Plan, RunTable

    Array = npt.NDArray[np.float64]

BACK, A_STEP = math.radians(150), 0.02
"""A turn over this between two stretches longer than that is no bend: the way doubles back."""
AS_SAID = math.radians(20)
"""A measured turn and that of a way found from the two ports differ by less, or they are two ways."""


def joint_at(plan: Plan, port: str, end: HoseEnd | None) -> Joint:
    """The joint of a port of a plan and an end."""
    thread, attaches = (None, "") if end is None else (end.thread, end.attaches)
    family = family_at(plan, port)
    return joint(plan.catalog, port, plan.port(port), thread, attaches=attaches, family=family)


def bench(plan: Plan, run: RunTable, stock: Stock) -> Bench:
    """What a run's hose may do."""
    straight = (plan.catalog.limit("run.straight").caution_below or 0.0) * stock.outside
    if run.bends:
        return Bench(min(b.inside_radius for b in run.bends) + stock.outside / 2, straight)
    return Bench(stock.to_centreline(run.radius if run.radius is not None else stock.bend_radius), straight)


def way_of(plan: Plan, tag: str) -> tuple[Route | None, tuple[ChosenEnd, ChosenEnd]]:
    """How a run lies and with which ends, as far as its points and ports tell."""
    route = route_of(plan, tag)
    if route is None:
        return None, (without_path(plan, tag, "from"), without_path(plan, tag, "to"))
    chosen = []
    for which, held in zip(BOTH, route.held, strict=True):
        found, needs = candidates(plan, tag, which)
        if held.outlet is None and len(found) > 1:
            chosen.append(without_path(plan, tag, which))
        else:
            chosen.append(ChosenEnd(held.end, needs))
    return route, (chosen[0], chosen[1])


def route_of(plan: Plan, tag: str) -> Route | None:
    """How a run lies between its ports with the best of its ends; None where its points are not known."""
    run, stock = plan.runs[tag], plan.catalog.stock(plan.runs[tag].stock)
    ways = _seats_and_points(plan, run)
    if ways is None:
        return None
    seats, via = ways
    choices: list[list[HoseEnd | None]] = []
    for which, seat in zip(BOTH, seats, strict=True):
        found: list[HoseEnd | None] = list(candidates(plan, tag, which)[0])
        if seat.points is None and len(found) > 1:
            made = without_path(plan, tag, which).end
            found = [made] if made is not None else []
        choices.append(found or [None])
    joints = [joint_at(plan, port_of(run, which), ends[0]) for which, ends in zip(BOTH, choices, strict=True)]
    way = laid(past_adapters(seats, joints), via, (choices[0], choices[1]), bench(plan, run, stock))
    return way if run.via is not None or _bends_as_said(run, way) else None


def _bends_as_said(run: RunTable, route: Route) -> bool:
    """Is a way that was found from the two ports alone bent as often and as far as was measured?"""
    said = [bend.turn for bend in run.bends or ()]
    turns = route.line.turns.tolist()
    return len(said) == len(turns) and all(abs(a - b) < AS_SAID for a, b in zip(said, turns, strict=True))


def doubles_back(plan: Plan, run: RunTable) -> int | None:
    """The number of the point of a run at which its way turns back on itself; None where it does not."""
    seats = seats_of(plan, run)
    if seats is None or not run.via:
        return None
    stops = [seats[0].at, *(np.array(point) for point in run.via), seats[1].at]
    for n, (a, b, c) in enumerate(zip(stops, stops[1:], stops[2:], strict=False), 1):
        if angle_between(b - a, c - b) > BACK and min(np.linalg.norm(b - a), np.linalg.norm(c - b)) > A_STEP:
            return n
    return None


def _seats_and_points(plan: Plan, run: RunTable) -> tuple[tuple[Seat, Seat], list[Array]] | None:
    """The seats of a run and the points between; None where it is not known by points or by a span with bends."""
    seats = seats_of(plan, run)
    if seats is None:
        return None
    if run.via is not None:
        nowhere = not run.via and np.linalg.norm(seats[1].at - seats[0].at) < SAME_PLACE
        return None if nowhere else (seats, [np.array(point) for point in run.via])
    if run.span is None or run.bends is None or any(seat.points is None for seat in seats):
        return None
    meeting = where_axes_meet(*seats) if len(run.bends) == 1 else None
    return seats, [] if meeting is None else [meeting]


def seats_of(plan: Plan, run: RunTable) -> tuple[Seat, Seat] | None:
    """Both ports with the ways that they point; by a span the second from the first."""
    ports = [plan.port(port_of(run, which)) for which in BOTH]
    ways = [None if port.points is None else np.array(port.points) for port in ports]
    first, last = (port.at for port in ports)
    if first is not None and last is not None:
        return Seat(np.array(first), ways[0]), Seat(np.array(last), ways[1])
    if run.span is None:
        return None
    start = np.zeros(3) if first is None else np.array(first)
    return Seat(start, ways[0]), Seat(start + np.array(run.span.vector), ways[1])


def past_adapters(seats: tuple[Seat, Seat], joints: Sequence[Joint]) -> tuple[Seat, Seat]:
    """The seats that the adapters offer, an adapter's length before their ports."""
    first, last = (_past(seat, found) for seat, found in zip(seats, joints, strict=True))
    return first, last


def _past(seat: Seat, found: Joint) -> Seat:
    length = found.adapter.length if found.adapter is not None else None
    if seat.points is None or length is None:
        return seat
    return Seat(np.asarray(seat.at + length * seat.points), seat.points)
