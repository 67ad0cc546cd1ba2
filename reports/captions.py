"""Where the words of a line go on a drawing: beside it, clear of boxes, of other lines and of other words."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

Point = tuple[float, float]

GAP = 1.5  # pt, between a line and its words
STEP = 6.0  # pt, between two places that are tried
OVER_WORDS, OVER_LINE = 1000.0, 60.0
"""What it costs to lie over a box or other words, and over another line; a point off the middle costs 1 per pt."""
SECOND, THIRD = 4.0, 12.0
"""What it costs to have both lines of words on one side, and to stand beside a line that runs down the page."""


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle [pt], y down."""

    x: float
    y: float
    width: float
    height: float

    def over(self, other: Area) -> bool:
        return (
            self.x < other.x + other.width
            and other.x < self.x + self.width
            and self.y < other.y + other.height
            and other.y < self.y + self.height
        )


@dataclass(frozen=True, slots=True)
class Caption:
    """Where the two lines of words of one line of the drawing stand."""

    first: Area
    second: Area


def captions(
    lines: Mapping[str, Sequence[Point]], sizes: Mapping[str, tuple[float, float, float]], boxes: Sequence[Area]
) -> dict[str, Caption]:
    """A place for the words of every line, the shortest lines first, for they have the least choice.

    Args:
        lines: corners of each [pt].
        sizes: widths of both lines of words, and the height of one [pt].
        boxes: where no words may stand.
    """
    legs = {tag: [_leg(a, b) for a, b in itertools.pairwise(points)] for tag, points in lines.items()}
    found: dict[str, Caption] = {}
    for tag in sorted(lines, key=lambda tag: _longest(lines[tag])):
        taken = [*boxes, *(area for caption in found.values() for area in (caption.first, caption.second))]
        found[tag] = _best(_places(lines[tag], sizes[tag]), taken, [leg for own in legs.values() for leg in own])
    return {tag: found[tag] for tag in lines}


def _best(places: Iterable[tuple[float, Caption]], taken: Sequence[Area], legs: Sequence[Area]) -> Caption:
    """The place that costs least; no more are looked at than may still be better."""
    best, least = None, math.inf
    for cost, caption in sorted(places, key=lambda place: place[0]):
        if cost >= least:
            break
        areas = (caption.first, caption.second)
        words = sum(area.over(other) for area in areas for other in taken)
        crossed = sum(area.over(leg) for area in areas for leg in legs)
        total = cost + OVER_WORDS * words + OVER_LINE * crossed
        if total < least:
            best, least = caption, total
    assert best is not None
    return best


def _leg(a: Point, b: Point) -> Area:
    return Area(min(a[0], b[0]) - 0.5, min(a[1], b[1]) - 0.5, abs(a[0] - b[0]) + 1.0, abs(a[1] - b[1]) + 1.0)


def _longest(points: Sequence[Point]) -> float:
    return max(abs(a[0] - b[0]) for a, b in itertools.pairwise(points))


def _places(points: Sequence[Point], size: tuple[float, float, float]) -> Iterator[tuple[float, Caption]]:
    """Every place that is tried, each with how far it is from the best one."""
    for a, b in itertools.pairwise(points):
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        long = abs(a[0] - b[0]) + abs(a[1] - b[1])
        level = a[1] == b[1]
        short = max((max(size[:2]) if level else 2 * size[2]) - long, 0.0)
        for n in range(int(long / 2 / STEP) + 1):
            for off in {-n * STEP, n * STEP}:
                x, y = (middle[0] + off, middle[1]) if level else (middle[0], middle[1] + off)
                for more, caption in _beside((x, y), size, level=level):
                    yield 3 * short + abs(off) + more, caption


def _beside(at: Point, size: tuple[float, float, float], *, level: bool) -> Iterator[tuple[float, Caption]]:
    (x, y), (first, second, high) = at, size
    if not level:
        for left, right in ((x + 2 * GAP, x + 2 * GAP), (x - 2 * GAP - first, x - 2 * GAP - second)):
            yield THIRD, Caption(Area(left, y - high, first, high), Area(right, y, second, high))
        return
    a, b = x - first / 2, x - second / 2
    above, below = y - GAP - high, y + GAP
    yield 0.0, Caption(Area(a, above, first, high), Area(b, below, second, high))
    yield SECOND, Caption(Area(a, above - high, first, high), Area(b, above, second, high))
    yield SECOND, Caption(Area(a, below, first, high), Area(b, below + high, second, high))
