"""Lines between the boxes of a drawing: along a grid, square corners, none over another, few crossings and bends."""

from __future__ import annotations

import heapq
import itertools
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from reports.layout import Box, Side, Way

Cell = tuple[int, int]
Pose = tuple[int, int, int]
"""A cell, and the step by which a line came into it."""

STEPS: tuple[Cell, ...] = ((1, 0), (0, 1), (-1, 0), (0, -1))
OUT: Mapping[Side, int] = {"right": 0, "bottom": 1, "left": 2}
"""Which of the steps leads out of a box on each side."""
BEND, CROSSING, AT_A_BOX = 4, 9, 2
NEAR = ((1, 4), (2, 1))
"""What a bend, a crossing, a cell beside a box and one so far from another line cost, in cells of length."""
STUB = 2
"""Cells before a port that belong to it alone."""
ROOM, LANES = 4, 10
"""Cells around all boxes, and how many lines may have their two more there."""


class _Field:
    """What stands on the grid so far, and what a cell costs a line along x and one along y."""

    def __init__(self, low: Cell, high: Cell) -> None:
        self.low, self.high = low, high
        cells = list(_cells(low, high))
        self.price: tuple[dict[Cell, int], dict[Cell, int]] = (dict.fromkeys(cells, 1), dict.fromkeys(cells, 1))
        self.stubs: dict[Cell, str] = {}
        self.held: tuple[set[Cell], set[Cell]] = (set(), set())
        """Cells that hold a line along x, and along y; a corner is in both."""

    def box(self, box: Box, owners: Mapping[str, str]) -> None:
        """Put a box on the grid; each of its ports keeps the cells before it for its own line."""
        for along in (0, 1):
            for cell in _cells((box.x, box.y), (box.x + box.width, box.y + box.height)):
                self.price[along].pop(cell, None)
            for cell in _cells((box.x - 1, box.y - 1), (box.x + box.width + 1, box.y + box.height + 1)):
                self._more(along, cell, AT_A_BOX)
        for port, (x, y, side) in box.ports.items():
            dx, dy = STEPS[OUT[side]]
            self.stubs |= {(x + n * dx, y + n * dy): owners[port] for n in range(1, STUB + 1)}

    def line(self, cells: Sequence[Cell]) -> None:
        """Put a line on the grid: no other may lie over it, and what crosses it or runs close to it costs more."""
        for a, b in itertools.pairwise(cells):
            along = int(a[0] == b[0])
            for cell in {a, b} - self.held[along]:
                self.held[along].add(cell)
                self.price[along].pop(cell, None)
                self._more(1 - along, cell, CROSSING)
                for away, more in NEAR:
                    for side in (-away, away):
                        self._more(along, (cell[0] + side * along, cell[1] + side * (1 - along)), more)

    def _more(self, along: int, cell: Cell, more: int) -> None:
        if cell in self.price[along]:
            self.price[along][cell] += more


def _cells(low: Cell, high: Cell) -> Iterator[Cell]:
    return itertools.product(range(low[0], high[0] + 1), range(low[1], high[1] + 1))


def wired(ways: Sequence[Way], boxes: Mapping[str, Box]) -> dict[str, tuple[Cell, ...]] | None:
    """The corners of each line, from the port that the fluid leaves to the one that it enters.

    None where the boxes stand too close for a line to pass.
    """
    ground = _field(ways, boxes)
    ports = {port: at for box in boxes.values() for port, at in box.ports.items()}

    def distance(way: Way) -> int:
        (x, y, _), (z, w, _) = ports[way.start], ports[way.end]
        return abs(x - z) + abs(y - w)

    found = {}
    for way in sorted(ways, key=distance):
        cells = _route(ground, way.tag, ports[way.start], ports[way.end])
        if cells is None:
            return None
        ground.line(cells)
        found[way.tag] = _corners(cells)
    return {way.tag: found[way.tag] for way in ways}


def _field(ways: Sequence[Way], boxes: Mapping[str, Box]) -> _Field:
    room = ROOM + 2 * min(len(ways), LANES)
    all_ = boxes.values()
    ground = _Field(
        (min(b.x for b in all_) - room, min(b.y for b in all_) - room),
        (max(b.x + b.width for b in all_) + room, max(b.y + b.height for b in all_) + room),
    )
    owners = {port: way.tag for way in ways for port in (way.start, way.end)}
    for box in all_:
        ground.box(box, owners)
    return ground


def _route(ground: _Field, tag: str, start: tuple[int, int, Side], end: tuple[int, int, Side]) -> list[Cell] | None:
    """The cheapest way over the grid (A*), the cells of both ports with it; None where there is none."""
    first, (x, y, into) = _before(start), _before(end)
    last: Pose = (x, y, (into + 2) % 4)
    cost, came = {first: 0}, {first: first}
    heap: list[tuple[int, Pose]] = [(0, first)]
    done = set()
    while heap:
        _, here = heapq.heappop(heap)
        if here == last:
            return [start[:2], *_back(came, here), end[:2]]
        if here in done:
            continue
        done.add(here)
        for there, more in _onward(ground, tag, here):
            total = cost[here] + more
            if total < cost.get(there, total + 1):
                cost[there], came[there] = total, here
                across, down = abs(there[0] - x), abs(there[1] - y)
                heapq.heappush(heap, (total + across + down + BEND * bool(across and down), there))
    return None


def _before(port: tuple[int, int, Side]) -> Pose:
    """The cell before a port, and the step that leads there from it."""
    x, y, side = port
    dx, dy = STEPS[OUT[side]]
    return x + dx, y + dy, OUT[side]


def _onward(ground: _Field, tag: str, here: Pose) -> Iterable[tuple[Pose, int]]:
    x, y, way = here
    crossing = (x, y) in ground.held[1 - way % 2]
    for turn in (0, 1, 3):
        # Where it crosses another line it goes straight on.
        if turn and crossing:
            continue
        step = (way + turn) % 4
        cell = (x + STEPS[step][0], y + STEPS[step][1])
        price = ground.price[step % 2].get(cell)
        if price is not None and ground.stubs.get(cell, tag) == tag:
            yield (*cell, step), price + BEND * bool(turn)


def _back(came: Mapping[Pose, Pose], here: Pose) -> list[Cell]:
    cells = [here[:2]]
    while came[here] != here:
        here = came[here]
        cells.append(here[:2])
    return cells[::-1]


def _corners(cells: Sequence[Cell]) -> tuple[Cell, ...]:
    inner = [
        here
        for before, here, after in zip(cells, cells[1:], cells[2:], strict=False)
        if (before[0] == here[0]) != (here[0] == after[0])
    ]
    return (cells[0], *inner, cells[-1])
