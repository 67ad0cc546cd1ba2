"""Where the parts of a circuit stand on a drawing: in layers along the flow, with few crossings.

Everything is in whole cells of a grid, x to the right and y down. A way that leads back against the flow leaves
and enters at the bottom of its boxes; every other leaves on the right and enters on the left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

Side = Literal["left", "right", "bottom"]

HEAD, ROW, FOOT = 4, 4, 2
"""Cells over the first row of ports of a box, from one row to the next, and for ports on the bottom."""
UNDER = 4
"""Cells between two boxes of a column."""
SWEEPS = 6


@dataclass(frozen=True, slots=True)
class Way:
    """A run as it is drawn: from the port that the fluid leaves to the one that it enters."""

    tag: str
    start: str
    end: str

    @property
    def owners(self) -> tuple[str, str]:
        """The two components."""
        return self.start.partition(".")[0], self.end.partition(".")[0]


@dataclass(frozen=True)
class Order:
    """What stands in which layer, from the top, and which ways lead back."""

    columns: tuple[tuple[str, ...], ...]
    ways: tuple[Way, ...]
    back: frozenset[str]
    """Tags of the ways that lead back."""

    def ports(self, name: str) -> dict[Side, list[str]]:
        """The ports of a component on each side, in an order that crosses few ways."""
        place = _places(self.columns)
        found: dict[Side, list[tuple[tuple[float, float], str]]] = {"left": [], "right": [], "bottom": []}
        for way in self.ways:
            for own, port, other in zip(way.owners, (way.start, way.end), reversed(way.owners), strict=True):
                if own == name:
                    side: Side = "bottom" if way.tag in self.back else "right" if port == way.start else "left"
                    column, row = place[other]
                    found[side].append(((-row, column) if side == "bottom" else (row, column), port))
        return {side: [port for _, port in sorted(ports)] for side, ports in found.items()}


@dataclass(frozen=True)
class Box:
    """A component on the grid, with its ports: x, y and side of each."""

    x: int
    y: int
    width: int
    height: int
    ports: Mapping[str, tuple[int, int, Side]]


def order(names: Sequence[str], ways: Sequence[Way], first: Iterable[str] = ()) -> Order:
    """Put the components of a circuit in layers: each as far from its sources as its longest way.

    Args:
        names: every component, in the plan's order.
        ways: the runs along the flow.
        first: components at which to begin where the flow goes round.
    """
    back = _leading_back(names, ways, first)
    forward = [way for way in ways if way.tag not in back]
    layer = _layers(names, forward)
    columns = [[name for name in names if layer[name] == n] for n in range(max(layer.values(), default=-1) + 1)]
    return Order(_few_crossings(columns, forward), tuple(ways), frozenset(back))


def _leading_back(names: Sequence[str], ways: Sequence[Way], first: Iterable[str]) -> set[str]:
    """Ways that close a round of the flow, walking from where it begins."""
    entered = {way.owners[1] for way in ways}
    begins = [name for name in names if name not in entered]
    back: set[str] = set()
    seen: set[str] = set()
    for name in dict.fromkeys([*begins, *first, *names]):
        if name not in seen:
            _walk(name, ways, seen, back)
    return back


def _walk(start: str, ways: Sequence[Way], seen: set[str], back: set[str]) -> None:
    """Depth first along the flow; a way to a component that is still being walked from leads back."""
    leaving = {name: [way for way in ways if way.owners[0] == name] for way in ways for name in way.owners}
    stack = [(start, iter(leaving.get(start, ())))]
    open_ = {start}
    seen.add(start)
    while stack:
        name, rest = stack[-1]
        way = next(rest, None)
        if way is None:
            open_.discard(name)
            stack.pop()
            continue
        end = way.owners[1]
        if end in open_:
            back.add(way.tag)
        elif end not in seen:
            seen.add(end)
            open_.add(end)
            stack.append((end, iter(leaving[end])))


def _layers(names: Sequence[str], forward: Sequence[Way]) -> dict[str, int]:
    layer = dict.fromkeys(names, 0)
    for _ in names:
        for way in forward:
            start, end = way.owners
            layer[end] = max(layer[end], layer[start] + 1)
    # What only feeds moves up to what it feeds.
    for name in names:
        fed = [layer[way.owners[1]] for way in forward if way.owners[0] == name]
        if fed and all(way.owners[1] != name for way in forward):
            layer[name] = min(fed) - 1
    return layer


def _places(columns: Sequence[Sequence[str]]) -> dict[str, tuple[int, float]]:
    """Column, and place in it from 0 at the top to 1 at the bottom."""
    return {name: (n, (row + 0.5) / len(column)) for n, column in enumerate(columns) for row, name in enumerate(column)}


def crossings(columns: Sequence[Sequence[str]], forward: Sequence[Way]) -> int:
    """How many pairs of ways change sides of each other over the same gap between two columns."""
    place = _places(columns)
    spans = [(*place[way.owners[0]], *place[way.owners[1]]) for way in forward]
    count = 0
    for i, (a, y, b, z) in enumerate(spans):
        for c, v, d, w in spans[:i]:
            count += max(a, c) < min(b, d) and (y - v) * (z - w) < 0
    return count


def _few_crossings(columns: list[list[str]], forward: Sequence[Way]) -> tuple[tuple[str, ...], ...]:
    """The best of some sweeps in which each column is sorted by the mean place of what it is joined to."""
    best = columns
    for sweep in range(SWEEPS):
        columns = _sorted_by_mean(columns, forward, upstream=sweep % 2 == 0)
        if crossings(columns, forward) < crossings(best, forward):
            best = columns
    return tuple(tuple(column) for column in best)


def _sorted_by_mean(columns: list[list[str]], forward: Sequence[Way], *, upstream: bool) -> list[list[str]]:
    found = [list(column) for column in columns]
    numbers = range(len(found)) if upstream else reversed(range(len(found)))
    for n in numbers:
        place = _places(found)
        own, other = (1, 0) if upstream else (0, 1)

        def mean(name: str, place: dict[str, tuple[int, float]] = place, own: int = own, other: int = other) -> float:
            joined = [place[way.owners[other]][1] for way in forward if way.owners[own] == name]
            return sum(joined) / len(joined) if joined else place[name][1]

        found[n].sort(key=mean)
    return found


def placed(flow: Order, widths: Mapping[str, int], gap: int, most: int) -> dict[str, Box]:
    """Place the boxes column by column, in as many bands under each other as the width asks for.

    Args:
        flow: the order of the components.
        widths: of each box, in cells.
        gap: least cells between two columns.
        most: cells that a band may be wide.
    """
    wide = [max(widths[name] for name in column) for column in flow.columns]
    gaps = [max(gap, 2 * _ways_over(flow, n, flow.back) + 3) for n in range(len(wide))]
    boxes: dict[str, Box] = {}
    top = 0
    for band in _bands(wide, gaps, most):
        x = 0
        for n in band:
            _column(flow, n, boxes, band=band, corner=(x, top), width=wide[n])
            x += wide[n] + gaps[n]
        top = max(box.y + box.height for box in boxes.values()) + UNDER + math.ceil(1.5 * _ways_over(flow, band[-1]))
    return boxes


def _ways_over(flow: Order, column: int, without: Collection[str] = ()) -> int:
    """How many ways pass the gap behind a column."""
    place = _places(flow.columns)
    spans = [sorted(place[name][0] for name in way.owners) for way in flow.ways if way.tag not in without]
    return sum(a <= column < b for a, b in spans)


def _bands(wide: Sequence[int], gaps: Sequence[int], most: int) -> list[range]:
    """Columns in bands, as even as may be, none wider than that unless one column alone is."""
    total = len(wide)
    for number in range(1, total + 1):
        share = math.ceil(total / number)
        bands = [range(n, min(n + share, total)) for n in range(0, total, share)]
        if all(sum(wide[n] + gaps[n] for n in band) - gaps[band[-1]] <= most for band in bands):
            return bands
    return [range(n, n + 1) for n in range(total)]


def _column(
    flow: Order, n: int, boxes: dict[str, Box], *, band: range, corner: tuple[int, int], width: int
) -> None:  # fmt: skip
    x, y = corner
    left = {name for column in flow.columns[band.start : n] for name in column}
    for name in flow.columns[n]:
        sides = flow.ports(name)
        box = _box(sides, (x, 0), width)
        wanted = [
            boxes[way.owners[0]].ports[way.start][1] - box.ports[way.end][1]
            for port in sides["left"]
            for way in flow.ways
            if way.end == port and way.owners[0] in left
        ]
        box = _box(sides, (x, max([y, *wanted[:1]])), width)
        boxes[name] = box
        y = box.y + box.height + UNDER + 2 * len(sides["bottom"])


def _box(sides: Mapping[Side, Sequence[str]], corner: tuple[int, int], width: int) -> Box:
    x, y = corner
    rows = max(len(sides["left"]), len(sides["right"]))
    height = HEAD + max(rows * ROW - 2, 0) + (FOOT if sides["bottom"] else 0)
    ends: dict[Side, int] = {"left": x, "right": x + width}
    ports: dict[str, tuple[int, int, Side]] = {
        port: (at, y + HEAD + n * ROW, side) for side, at in ends.items() for n, port in enumerate(sides[side])
    }
    below = sides["bottom"]
    share = width / max(len(below), 1)
    ports |= {port: (x + round((n + 0.5) * share), y + height, "bottom") for n, port in enumerate(below)}
    return Box(x, y, width, height, ports)
