"""Lines between the boxes of a drawing: along a grid, square corners, none over another, few crossings and bends."""

from __future__ import annotations

import heapq
import itertools
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from reports.layout import Box, Side, Way

Cell = tuple[int, int]
STEPS: tuple[Cell, ...] = ((1, 0), (0, 1), (-1, 0), (0, -1))
"""A pose is a cell and the step by which a line came into it: four times the cell's number, and the step's."""
OUT: Mapping[Side, int] = {"right": 0, "bottom": 1, "left": 2}
"""Which of the steps leads out of a box on each side."""
BEND, CROSSING, AT_A_BOX = 4, 9, 2
NEAR = ((1, 4), (2, 1))
"""What a bend, a crossing, a cell beside a box and one so far from another line cost, in cells of length."""
EDGE = max(away for away, _ in NEAR)
HASTE = 1.1
"""What is left is guessed so much too dear: a line may cost so much more than it must, and is found far sooner."""
STUB = 2
"""Cells before a port that belong to it alone."""
ROOM, LANES = 4, 10
"""Cells around all boxes, and how many lines may have their two more there."""


class _Field:
    """What stands on the grid so far, and what a cell costs a line along x and one along y; 0 where none may pass.

    Cells are counted column by column. Around the grid lie more cells, where nothing passes.
    """

    def __init__(self, low: Cell, high: Cell) -> None:
        self.low, self.high = low, high
        self.first, self.rows = (low[0] - EDGE, low[1] - EDGE), high[1] - low[1] + 1 + 2 * EDGE
        self.number = (high[0] - low[0] + 1 + 2 * EDGE) * self.rows
        self.moves = tuple(dx * self.rows + dy for dx, dy in STEPS)
        self.turns = tuple(
            tuple((step, self.moves[step], BEND * bool(turn)) for turn in (0, 1, 3) for step in [(way + turn) % 4])
            for way in range(4)
        )
        """From each way straight on, to one side, to the other: the step, how far that is, and what the bend costs."""
        self.price = [0] * self.number, [0] * self.number
        for cell in _cells(low, high):
            self.price[0][self.at(cell)] = self.price[1][self.at(cell)] = 1
        self.stubs: dict[int, str] = {}
        self.held = bytearray(self.number), bytearray(self.number)
        """Cells that hold a line along x, and along y; a corner is in both."""

    def at(self, cell: Cell) -> int:
        """The number of a cell."""
        return (cell[0] - self.first[0]) * self.rows + cell[1] - self.first[1]

    def cell(self, at: int) -> Cell:
        """The cell of a number."""
        x, y = divmod(at, self.rows)
        return x + self.first[0], y + self.first[1]

    def box(self, box: Box, owners: Mapping[str, str]) -> None:
        """Put a box on the grid; each of its ports keeps the cells before it for its own line."""
        for price in self.price:
            for cell in _cells((box.x, box.y), (box.x + box.width, box.y + box.height)):
                price[self.at(cell)] = 0
            for cell in _cells((box.x - 1, box.y - 1), (box.x + box.width + 1, box.y + box.height + 1)):
                _more(price, self.at(cell), AT_A_BOX)
        for port, (x, y, side) in box.ports.items():
            dx, dy = STEPS[OUT[side]]
            for n in range(1, STUB + 1):
                self.stubs[self.at((x + n * dx, y + n * dy))] = owners[port]

    def open_to(self, tag: str) -> list[tuple[int, int, int]]:
        """Shut the cells before the ports of all other lines; what they cost, to open them again."""
        shut = [(at, self.price[0][at], self.price[1][at]) for at, owner in self.stubs.items() if owner != tag]
        for at, *_ in shut:
            self.price[0][at] = self.price[1][at] = 0
        return shut

    def reopen(self, shut: list[tuple[int, int, int]]) -> None:
        """Undo `open_to`."""
        for at, along, down in shut:
            self.price[0][at], self.price[1][at] = along, down

    def line(self, cells: Sequence[Cell]) -> None:
        """Put a line on the grid: no other may lie over it, and what crosses it or runs close to it costs more."""
        for a, b in itertools.pairwise(cells):
            along = int(a[0] == b[0])
            beside = self.moves[1 - along]
            for at in {self.at(a), self.at(b)}:
                if not self.held[along][at]:
                    self.held[along][at] = 1
                    self.price[along][at] = 0
                    _more(self.price[1 - along], at, CROSSING)
                    for away, more in NEAR:
                        for side in (-away, away):
                            _more(self.price[along], at + side * beside, more)


def _more(price: list[int], at: int, more: int) -> None:
    if price[at]:
        price[at] += more


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
        shut = ground.open_to(way.tag)
        cells = _route(ground, ports[way.start], ports[way.end])
        ground.reopen(shut)
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


def _route(ground: _Field, start: tuple[int, int, Side], end: tuple[int, int, Side]) -> list[Cell] | None:
    """A cheap way over the grid (A*), the cells of both ports with it; None where there is none."""
    first, (last, into) = _before(ground, start), _before(ground, end)
    goal = last * 4 + (into + 2) % 4
    guess = _guesses(ground, last, goal % 4)
    cost, came = {first[0] * 4 + first[1]: 0}, {first[0] * 4 + first[1]: -1}
    heap = [(0, first[0] * 4 + first[1])]
    done = bytearray(4 * ground.number)
    while heap:
        _, here = heapq.heappop(heap)
        if here == goal:
            return [start[:2], *_back(ground, came, here), end[:2]]
        if done[here]:
            continue
        done[here] = 1
        so_far = cost[here]
        for there, more in _onward(ground, here):
            total = so_far + more
            if total < cost.get(there, total + 1):
                cost[there], came[there] = total, here
                heapq.heappush(heap, (total + guess[there], there))
    return None


def _guesses(ground: _Field, last: int, arrives: int) -> list[int]:
    """About what is left from each pose to the end: its cells, and the bends of an empty grid."""
    across, down = np.divmod(np.arange(ground.number), ground.rows)
    left = np.stack([last // ground.rows - across, last % ground.rows - down], axis=1)
    far, ahead = np.abs(left).sum(axis=1), left @ np.array(STEPS[arrives])
    found = np.empty((ground.number, 4), dtype=np.int64)
    for step in range(4):
        if step % 2 != arrives % 2:
            bends = np.where((left @ np.array(STEPS[step]) >= 0) & (ahead > 0), 1, 3)
        else:
            bends = np.where((far == ahead) & (step == arrives), 0, 2)
        found[:, step] = far + BEND * bends
    guesses: list[int] = (found.ravel() * HASTE).astype(np.int64).tolist()
    return guesses


def _before(ground: _Field, port: tuple[int, int, Side]) -> tuple[int, int]:
    """The cell before a port, and the step that leads there from it."""
    x, y, side = port
    return ground.at((x, y)) + ground.moves[OUT[side]], OUT[side]


def _onward(ground: _Field, here: int) -> list[tuple[int, int]]:
    """The poses to which a line may go on from one, and what each step costs."""
    at, way = here >> 2, here & 3
    # Where it crosses another line it goes straight on.
    ways = ground.turns[way][:1] if ground.held[1 - way % 2][at] else ground.turns[way]
    return [
        ((at + move) * 4 + step, price + bend)
        for step, move, bend in ways
        if (price := ground.price[step & 1][at + move])
    ]


def _back(ground: _Field, came: Mapping[int, int], here: int) -> list[Cell]:
    cells = []
    while here >= 0:
        cells.append(ground.cell(here // 4))
        here = came[here]
    return cells[::-1]


def _corners(cells: Sequence[Cell]) -> tuple[Cell, ...]:
    inner = [
        here
        for before, here, after in zip(cells, cells[1:], cells[2:], strict=False)
        if (before[0] == here[0]) != (here[0] == after[0])
    ]
    return (cells[0], *inner, cells[-1])
