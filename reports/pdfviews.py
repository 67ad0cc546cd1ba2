"""Draws the two small views of a run under each other, to one scale, in two outlines as it is wide."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from reportlab.graphics.shapes import Circle, Drawing, Polygon, PolyLine, Rect, String
from reportlab.lib.colors import black, white
from reportlab.pdfbase import pdfmetrics

from reports.labels import Room
from reports.pdfparts import BOLD, PLAIN, drawable, fitted, glyphs
from reports.views import SEEN, projected

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from catalogs.units import System
    from reports.labels import Label
    from reports.views import RunShape, Spot, View

    Array = npt.NDArray[np.float64]

INCH = 0.0254
POINT = INCH / 72
SCALES = (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 35, 40, 45, 50, 60, 80, 100, 150, 200, 300, 500, 1000)
"""1 to so many."""
BARS: dict[str, tuple[float, ...]] = {
    "us": (0.5, 1, 2, 3, 6, 12, 24, 36, 48, 60, 120, 240, 480, 1200),
    "metric": (10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000),
}
"""Lengths of a scale bar [in or mm]."""
GAP = 4.0
CAPTION = 10.0
FOOT, NOTES = 15.0, 22.0  # pt, under the views of a vehicle and of a run
ACROSS, DOWN = 16.0, 10.0  # pt, kept free for labels beside and above a run
SPARE = 10.0
ARROW = 64.0  # pt, that the arrow at the top of a frame takes with its word
SMALL, TINY = 7.0, 6.5
NARROWEST = 2.6  # pt: a hose that is drawn narrower is one thick line
PORT_ROOM = 105.0
NUMBERED = 24
"""Marks of a run that are numbered in its views, where their number finds room."""
ASCENT, DESCENT = 0.76, 0.22
"""Of the fonts, over their size."""


def scale_for(wide: float, high: float, room: tuple[float, float]) -> float:
    """The largest scale, as 1 to so many, at which a size [m] fits a room [pt]."""
    least = max(wide / room[0], high / room[1]) / POINT
    return next((n for n in SCALES if n >= least * (1 - 1e-9)), math.ceil(least))


def bar_of(scale: float, system: System, most: float) -> tuple[float, str]:
    """The longest scale bar [pt] up to a length [pt], and its text."""
    unit, size = ("in", INCH) if system == "us" else ("mm", 0.001)
    fits = [n for n in BARS[system] if n * size / scale / POINT <= most] or [BARS[system][0]]
    return fits[-1] * size / scale / POINT, f"{fits[-1]:g} {unit}"


class Pen:
    """Draws on one frame of a drawing, its left lower corner at a place of the drawing [pt]."""

    def __init__(
        self, drawing: Drawing, x: float, y: float, room: Room, *, leader: Sequence[float] | None = None
    ) -> None:
        glyphs()
        self.drawing, self.x, self.y, self.room, self.leader = drawing, x, y, room, leader

    def polyline(self, points: Array, wide: float, *, dash: Sequence[float] | None = None, colour: Any = black) -> None:
        flat = [float(n) for x, y in points for n in (self.x + x, self.y + y)]
        shape = PolyLine(flat, strokeColor=colour, strokeWidth=wide, strokeDashArray=dash)
        shape.strokeLineJoin, shape.strokeLineCap = 1, 0 if dash else 1
        self.drawing.add(shape)

    def dot(self, at: Array, radius: float, fill: Any, wide: float = 0.8) -> None:
        x, y = float(self.x + at[0]), float(self.y + at[1])
        self.drawing.add(Circle(x, y, radius, fillColor=fill, strokeColor=black, strokeWidth=wide))

    def words(self, x: float, y: float, text: str, size: float, *, bold: bool = False, anchor: str = "start") -> None:
        font = BOLD if bold else PLAIN
        text = drawable(text)
        self.drawing.add(String(self.x + x, self.y + y, text, fontName=font, fontSize=size, textAnchor=anchor))

    def label(
        self,
        at: Sequence[tuple[float, float]],
        text: str,
        size: float,
        *,
        bold: bool = False,
        only_clear: bool = False,
        near: bool = False,
        radius: float = 0.0,
    ) -> Label:
        """Puts a label near the first of these places where there is room, on white; as `Room.place` has it."""
        wide = pdfmetrics.stringWidth(drawable(text), BOLD if bold else PLAIN, size)
        found = self.room.place(at, wide, size * (ASCENT + DESCENT), only_clear=only_clear, near=near, radius=radius)
        if only_clear and not found.clear:
            return found
        if found.leader is not None:
            a, b, c, d = found.leader
            self.polyline(np.array([[a, b], [c, d]]), 0.35, dash=self.leader)
        paper = Rect(self.x + found.x - 0.5, self.y + found.y, wide + 1, size * (ASCENT + DESCENT))
        paper.fillColor, paper.strokeColor = white, None
        self.drawing.add(paper)
        self.words(found.x, found.y + size * DESCENT, text, size, bold=bold)
        return found

    def frame(self, width: float, height: float) -> None:
        self.drawing.add(Rect(self.x, self.y, width, height, fillColor=None, strokeColor=black, strokeWidth=0.5))

    def arrow(self, x: float, y: float, long: float, *, up: bool = False) -> None:
        """An arrow [pt] to the right, or up."""
        way = np.array([0.0, 1.0]) if up else np.array([1.0, 0.0])
        start, side = np.array([x, y]), np.array([way[1], way[0]])
        tip = start + long * way
        self.polyline(np.array([start, tip - 2 * way]), 0.8)
        corners = [tip, tip - 4.5 * way + 1.7 * side, tip - 4.5 * way - 1.7 * side]
        flat = [float(n) for p in corners for n in (self.x + p[0], self.y + p[1])]
        self.drawing.add(Polygon(flat, fillColor=black, strokeColor=None))

    def bar(self, x: float, y: float, scale: float, system: System, most: float) -> float:
        """A scale bar with its text; how far it reaches [pt]."""
        long, text = bar_of(scale, system, most)
        half = long / 2
        for n, fill in enumerate((black, white)):
            self.drawing.add(
                Rect(self.x + x + n * half, self.y + y, half, 3.2, fillColor=fill, strokeColor=black, strokeWidth=0.5)
            )
        said = f"{text}; scale 1:{scale:g}"
        self.words(x + long + 5, y - 1, said, SMALL)
        return x + long + 5 + float(pdfmetrics.stringWidth(drawable(said), PLAIN, SMALL))


# ---------------------------------------------------------------- one run


@dataclass(frozen=True, slots=True)
class Stand:
    """How the views of a run stand: their scale, and left lower corner and size of each frame [pt]."""

    scale: float
    """1 to so many."""
    frames: dict[View, tuple[float, float, float, float]]
    height: float


def run_views(shape: RunShape, system: System, width: float, height: float) -> Drawing:
    """Two views of a run, to the largest scale at which both fit with their labels.

    Args:
        shape: the content.
        system: of the scale bar.
        width: of the drawing [pt].
        height: that it may have; it takes no more than it needs [pt].
    """
    glyphs()
    stand = run_stand(shape, width, height)
    drawing = Drawing(width, stand.height + NOTES)
    for view, (x, y, wide, high) in stand.frames.items():
        pen = Pen(drawing, x, y + NOTES, Room(wide, high))
        caption(pen, view, (wide, high))
        _run(pen, shape, view, stand.scale)
    foot = Pen(drawing, 0, 0, Room(width, NOTES))
    foot.bar(2, NOTES - 9, stand.scale, system, width / 3)
    foot.words(2, 2, fitted(f"If printed at 100 %. {shape.says}", PLAIN, SMALL, width), SMALL)
    return drawing


def run_stand(shape: RunShape, width: float, height: float) -> Stand:
    """The first of its two views over the second, or beside it where that makes them larger."""
    first, second = shape.views
    spans = [np.ptp(projected(shape.everything, view), axis=0) + shape.outside for view in shape.views]
    (wide, high), (wide_2, high_2) = spans
    broad = float(max(wide, wide_2))
    across, down, tall = 2 * ACROSS, CAPTION + 2 * DOWN, height - NOTES
    under = scale_for(broad, float(high + high_2), (width - across, tall - GAP - 2 * down))
    beside = scale_for(broad, float(max(high, high_2)), ((width - GAP) / 2 - across, tall - down))
    if beside < under:
        half = (width - GAP) / 2
        room = min(float(max(high, high_2)) / beside / POINT + down + SPARE, tall)
        return Stand(beside, {first: (0, 0, half, room), second: (half + GAP, 0, half, room)}, room)
    more = min((tall - GAP - 2 * down - float(high + high_2) / under / POINT) / 2, SPARE)
    over, low = (float(size) / under / POINT + down + more for size in (high, high_2))
    return Stand(under, {first: (0, low + GAP, width, over), second: (0, 0, width, low)}, over + GAP + low)


def caption(pen: Pen, view: View, size: tuple[float, float]) -> None:
    """The frame of a view, its name, and which way is forward."""
    pen.frame(*size)
    top = size[1] - CAPTION
    short, _, _ = SEEN[view].partition(",")
    name = SEEN[view] if pdfmetrics.stringWidth(SEEN[view], BOLD, TINY) < size[0] - ARROW else short
    pen.words(4, top + 2.5, name, TINY, bold=True)
    right, forward = size[0] - 4, "forward" if view != "front" else "left"
    pen.words(right - 20, top + 2.5, forward, TINY, anchor="end")
    pen.arrow(right - 17, top + 4.8, 17)
    pen.room.keep(0, top, size[0], CAPTION)


def _run(pen: Pen, shape: RunShape, view: View, scale: float) -> None:
    flat = projected(shape.everything, view)
    middle = (flat.min(axis=0) + flat.max(axis=0)) / 2
    centre = np.array([pen.room.width, pen.room.height - CAPTION]) / 2

    def page(points: Array) -> Array:
        return np.asarray((projected(points, view) - middle) / (scale * POINT) + centre)

    hose, wide = page(shape.hose), shape.outside / scale / POINT
    _hose(pen, hose, wide)
    for metal in shape.metal:
        pen.polyline(page(metal), 2.4 if wide >= NARROWEST else max(wide, 1.2) + 1.2)
        pen.room.line(page(metal), max(wide, 3.0) + 1.5)
    for spot in shape.spots:
        _spot(pen, page(spot.at[None])[0], page(np.array([spot.at, spot.at + spot.along])), spot, wide)
    for mark, seat, port in zip("AB", shape.seats, shape.ports, strict=True):
        at = page(seat[None])[0]
        pen.dot(at, 1.7, black)
        _named(pen, (float(at[0]), float(at[1])), mark, port)
    for spot in shape.spots[:NUMBERED]:
        x, y = page(spot.at[None])[0]
        pen.label([(float(x), float(y))], spot.label, TINY, only_clear=True)


def _named(pen: Pen, at: tuple[float, float], mark: str, port: str) -> None:
    """An end by its letter and port, or its letter alone where there is no room for both."""
    text = fitted(f"{mark}: {port}", BOLD, TINY, PORT_ROOM)
    if not pen.label([at], text, TINY, bold=True, only_clear=True).clear:
        pen.label([at], mark, SMALL, bold=True)


def _hose(pen: Pen, line: Array, wide: float) -> None:
    """Two outlines, or one thick line where it is too narrow for two."""
    pen.polyline(line, max(wide, 1.2))
    if wide >= NARROWEST:
        pen.polyline(line, wide - 1.4, colour=white)
    pen.room.line(line, max(wide, 2.0) + 1.0)


def _spot(pen: Pen, at: Array, way: Array, spot: Spot, wide: float) -> None:
    """A bend is a point, a clamp a bar across the hose."""
    if spot.what == "bend":
        pen.dot(at, 1.5, black if wide >= NARROWEST else white)
        pen.room.line(at[None], 3.0)
        return
    run = way[1] - way[0]
    size = float(np.linalg.norm(run))
    across = np.array([-run[1], run[0]]) / size if size > 1e-9 else np.array([1.0, 0.0])
    half = wide / 2 + 3.0
    tick = np.array([at - half * across, at + half * across])
    pen.polyline(tick, 1.3)
    pen.room.line(tick, 1.5)
