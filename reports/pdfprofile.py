"""Draws a drain from the side, to scale: its bore, the oil in it, the levels at both of its ends."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from reportlab.graphics.shapes import Drawing, Polygon
from reportlab.lib.colors import black, white

from reports.hatching import hatched
from reports.labels import Room
from reports.pdfparts import BOLD, PLAIN, fitted, glyphs, size_to_fit
from reports.pdfviews import POINT, Pen, scale_for

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from catalogs.units import System
    from reports.drainprofile import Profile

    Array = npt.NDArray[np.float64]
    Said = tuple[list[tuple[float, float]], str, bool]
    """Places for words, the words, and are they loud?"""

LEFT, RIGHT, TOP, BOTTOM = 62.0, 92.0, 32.0, 30.0  # pt, around the bore, for levels and words, at most
ASIDE, ABOVE = (0.2, 0.3), 0.17
"""Of the drawing's width and height, at most."""
HEAD, LINE = 14.0, 9.5
SIZE, LOUD, SMALL = 7.5, 9.0, 7.0  # pt, of the type
WALL, LEVEL, THIN = 1.5, 1.0, 0.4  # pt
OIL = 1.9  # pt, between the lines that mean oil
OVER, UNDER = 0.5, 1.0
"""A level is drawn up to so much of the drain's own size over it and under it."""
LEAST_SIZE = 0.08
"""A drain counts as no smaller than this [m], for what is shown beyond it."""
ARROWS = 7.0  # pt: a height that is drawn lower has no arrows
DASHES = (6.0, 2.5)
OFF, STANDS = "off the drawing", "LOW, stands full"
BRIEF = 250.0
"""A drawing that is narrower [pt] has what it says of both ends over it, and names no more than levels and lows."""
LEGEND = (
    "Along the drain, square to effective gravity, against height; one scale both ways. Hatched: oil. Triangle: "
    "level of oil. Dashed: level of the flooding point. Bars across the bore: its two ends."
)


@dataclass(frozen=True)
class Frame:
    """What of the plane is shown, and how large."""

    scale: float
    """1 to so many."""
    left: float
    """What lies at the left of the room for the bore [m]."""
    low: float
    high: float
    """Lowest and highest of what is shown [m]."""
    room: tuple[float, float]
    """Left and bottom of that [pt]."""
    aside: tuple[float, float]
    """Kept free to the left and to the right of it [pt]."""

    def page(self, points: Array) -> Array:
        """Points [m] on the page [pt]."""
        return np.asarray((points - [self.left, self.low]) / (self.scale * POINT) + np.array(self.room))

    def level(self, height: float) -> float:
        """Where a height is drawn [pt], at the edge where it lies beyond."""
        return float(self.page(np.array([[0.0, min(max(height, self.low), self.high)]]))[0, 1])

    def beyond(self, height: float) -> bool:
        """Does a height lie off the drawing?"""
        return not self.low - 1e-9 <= height <= self.high + 1e-9


def profile_frame(seen: Profile, width: float, height: float) -> Frame:
    """The largest scale at which a drain fits a drawing of this size [pt]."""
    bore = np.concatenate([seen.crown, seen.invert])
    low, high = float(bore[:, 1].min()), max(float(bore[:, 1].max()), seen.floods_at)
    size = max(high - low, float(np.ptp(bore[:, 0])), LEAST_SIZE)
    levels = [level for level in (seen.surface, seen.sump) if level is not None]
    top = min(max([high, *levels]), high + OVER * size)
    floor = max(min([low, *levels]), low - UNDER * size)
    across, up = float(np.ptp(bore[:, 0])), top - floor
    left, right = (min(most, share * width) for most, share in zip((LEFT, RIGHT), ASIDE, strict=True))
    over, under = (6.0, HEAD) if width < BRIEF else (min(most, ABOVE * height) for most in (TOP, BOTTOM))
    room = width - left - right, height - _head(width) - over - under
    scale = scale_for(across, up, room)
    spare_x, spare_y = (size - wide / scale / POINT for size, wide in zip(room, (across, up), strict=True))
    return Frame(scale, float(bore[:, 0].min()), floor, top, (left + spare_x / 2, under + spare_y / 2), (left, right))


def profile_drawing(seen: Profile, system: System, width: float, height: float) -> Drawing:
    """A drain in one state.

    Args:
        seen: the content.
        system: of the scale bar.
        width: of the drawing [pt].
        height: of the drawing [pt].
    """
    glyphs()
    drawing = Drawing(width, height)
    pen, frame = Pen(drawing, 0.0, 0.0, Room(width, height)), profile_frame(seen, width, height)
    pen.frame(width, height)
    pen.words(5, height - HEAD + 3, fitted(seen.title, BOLD, LOUD, width - 10), LOUD, bold=True)
    pen.room.keep(0, height - _head(width), width, _head(width))
    pen.room.keep(0, 0, pen.bar(5, 5, frame.scale, system, width / 4), HEAD - 2)
    _bore(pen, frame, seen)
    said = [*_outlet(pen, frame, seen), *_end(pen, frame, seen)]
    loud = [text for _, text, bold in said if bold]
    for n, text in enumerate(loud if width < BRIEF else []):
        pen.words(5, height - HEAD - 8 - n * LINE, text, size_to_fit(text, BOLD, SIZE, width - 10), bold=True)
    for at, text, bold in said:
        if not (bold and width < BRIEF):
            _label(pen, at, text, LOUD if bold else SIZE, bold=bold)
    _notes(pen, frame, seen, brief=width < BRIEF)
    return drawing


def _head(width: float) -> float:
    """What the words over a drawing take [pt]: its title, and in a narrow one what it says of both ends."""
    return HEAD + (2 * LINE + 1 if width < BRIEF else 0.0)


def _notes(pen: Pen, frame: Frame, seen: Profile, *, brief: bool) -> None:
    """Lows, and in a drawing that has the room for them straights and the names of both ends."""
    for dip in seen.dips:
        at = frame.page(np.array([dip.at]))[0]
        pen.dot(at, 2.2, black)
        _label(pen, [_pair(at)], STANDS if brief else f"{STANDS}: {dip.text}", SIZE, bold=True)
    if brief:
        return
    for straight in seen.straights:
        _label(pen, [_pair(frame.page(np.array([straight.at]))[0])], straight.text, SIZE)
    for name, at in zip(seen.names, frame.page(seen.ends), strict=True):
        _label(pen, [_pair(at)], name, SMALL)


def _pair(at: Array) -> tuple[float, float]:
    return float(at[0]), float(at[1])


def _label(pen: Pen, at: Sequence[tuple[float, float]], text: str, size: float, *, bold: bool = False) -> None:
    pen.label(at, text, size_to_fit(text, BOLD if bold else PLAIN, size, pen.room.width - 8), bold=bold)


def _bore(pen: Pen, frame: Frame, seen: Profile) -> None:
    """The walls, and the oil between them."""
    bed, top = frame.page(seen.bed), frame.page(seen.oil)
    for line in hatched([np.concatenate([bed, top[::-1]])], OIL, 0.0):
        pen.polyline(line, THIN)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], seen.free.astype(int), [0]])))
    for start, end in edges.reshape(-1, 2):
        if end - start > 1:
            pen.polyline(top[start:end], LEVEL)
    for wall in (seen.crown, seen.invert):
        pen.polyline(frame.page(wall), WALL)
    middle = (frame.page(seen.crown) + frame.page(seen.invert)) / 2
    wide = float(np.linalg.norm(frame.page(seen.crown) - frame.page(seen.invert), axis=1).max())
    for x, y in middle:  # no words over the bore
        pen.room.keep(float(x) - wide / 2, float(y) - wide / 2, wide, wide)
    for n in (0, -1):
        across = frame.page(np.array([seen.invert[n], seen.crown[n]]))
        way = (across[1] - across[0]) / max(float(np.linalg.norm(across[1] - across[0])), 1e-9)
        pen.polyline(np.array([across[0] - 3 * way, across[1] + 3 * way]), 3.0)


def _outlet(pen: Pen, frame: Frame, seen: Profile) -> list[Said]:
    """The flooding point, the oil's level against it, and what is to be said of both."""
    x, _ = _pair(frame.page(seen.ends)[0])
    flood, left = frame.level(seen.floods_at), x - frame.aside[0] + 6
    line = np.array([[left, flood], [x + frame.aside[0] / 2, flood]])
    pen.polyline(line, LEVEL, dash=DASHES)
    pen.room.line(line, 2.0)
    said: list[Said] = [([((left + x) / 2, flood), (x + 20, flood)], "flooding point", False)]
    if seen.surface is None:
        return [*said, ([(x, flood)], "how high the oil stands is not known", True)]
    oil, up = frame.level(seen.surface), frame.beyond(seen.surface)
    _water(pen, (left + 7, oil), left, x - 3, up=up)
    _height(pen, (left + x) / 2, flood, oil)
    said = [([((left + x) / 2, oil), (left + 7, oil)], seen.says, True), *said]
    return [*said, ([(left + 7, oil + 8)], OFF, False)] if up else said


def _end(pen: Pen, frame: Frame, seen: Profile) -> list[Said]:
    """The oil in the sump against the drain's lower end."""
    x, middle = _pair(frame.page(seen.ends)[1])
    if seen.sump is None:
        return [([(x, middle)], seen.sump_says, False)]
    oil, off, far = frame.level(seen.sump), frame.beyond(seen.sump), frame.aside[1] - 8
    _water(pen, (x + 0.3 * far, oil), x - 8, x + far, up=off and seen.sump > frame.high)
    pen.polyline(np.array([[x + 3, middle], [x + 0.75 * far, middle]]), THIN)
    _height(pen, x + 0.6 * far, middle, oil)
    said: list[Said] = [
        ([(x + 0.6 * far, (middle + oil) / 2), (x + 0.7 * far, middle)], f"end {seen.over} the oil", True)
    ]
    said.append(([(x + 0.9 * far, oil), (x + 0.5 * far, oil)], seen.sump_says, False))
    return [*said, ([(x + 0.3 * far, oil)], OFF, False)] if off else said


def _water(pen: Pen, at: tuple[float, float], left: float, right: float, *, up: bool) -> None:
    """A level of oil: a line and the triangle of a level; an arrow where it lies off the drawing above."""
    x, y = at
    pen.polyline(np.array([[left, y], [right, y]]), LEVEL + 0.4)
    pen.room.line(np.array([[left, y], [right, y]]), 2.0)
    if up:
        pen.arrow(x, y, 14.0, up=True)
    else:
        corners = [x, y, x - 3.6, y + 6.2, x + 3.6, y + 6.2]
        pen.drawing.add(Polygon(corners, fillColor=white, strokeColor=black, strokeWidth=0.9))
    pen.room.keep(x - 4, y, 8, 14 if up else 6)


def _height(pen: Pen, x: float, a: float, b: float) -> None:
    """A dimension line between two heights [pt]."""
    low, high = min(a, b), max(a, b)
    pen.polyline(np.array([[x, low], [x, high]]), THIN)
    pen.room.line(np.array([[x, low], [x, high]]), 3.0)
    if high - low < ARROWS:
        return
    for tip, way in ((low, 1.0), (high, -1.0)):
        corners = [x, tip, x - 1.6, tip + 4.6 * way, x + 1.6, tip + 4.6 * way]
        pen.drawing.add(Polygon(corners, fillColor=black, strokeColor=None))
