"""Draws how far the vehicle may lean as one drain goes, as seen from above."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from reportlab.graphics.shapes import Circle, Drawing, Group, String
from reportlab.lib.colors import black, white

from reports.hatching import hatched
from reports.labels import Room
from reports.leaning import RIM
from reports.pdfparts import BOLD, drawable, glyphs
from reports.pdfviews import Pen

if TYPE_CHECKING:
    import numpy.typing as npt

    from reports.leaning import Mark, Polar

    Array = npt.NDArray[np.float64]

AROUND = 15.0  # pt, for the words at the rim
HATCH = 5.0  # pt
THIN, RIM_WIDE, LIMIT, COLD = 0.35, 0.8, 2.4, 1.5  # pt
DASHES = (5.0, 2.5)
SIZE, TINY, LOUD = 8.5, 6.5, 9.0  # pt, of the type
DOT, RING = 3.4, 6.0  # pt
LABELS = math.radians(40)
"""Where the rings are named: from forward to the right."""
LEGEND = (
    "Seen from above, forward up. Distance from the middle: tilt. White inside the thick line: the drain works with "
    "warm oil; hatched: it floods. Dashed: limit with cold oil. Marks are the plan's attitudes by number, each judged "
    "at its own duties and acceleration: filled where the drain works, crossed where it floods, open where nobody can "
    "tell; a ring around one that is transient."
)


def envelope_drawing(found: Polar, size: float) -> Drawing:
    """The envelope in a square of this size [pt]."""
    glyphs()
    drawing = Drawing(size, size)
    middle, reach = size / 2, size / 2 - AROUND
    pen = Pen(drawing, 0.0, 0.0, Room(size, size))

    def page(points: Array) -> Array:
        return np.asarray(points * (reach / found.rim) + middle)

    for line in hatched([page(ring) for ring in found.fails], HATCH):
        pen.polyline(line, THIN)
    _rings(pen, found, middle, reach)
    for line in found.limit:
        pen.polyline(page(line), LIMIT)
    for line in found.cold:
        pen.polyline(page(line), COLD, dash=DASHES)
    pen.room.lines([page(line) for line in (*found.limit, *found.cold)], LIMIT)
    for mark in found.marks:
        _mark(pen, page(np.array(mark.at)), mark)
    _ring_names(pen, found, middle, reach)
    for mark in found.marks:
        x, y = (float(n) for n in page(np.array(mark.at)))
        pen.label([(x, y)], str(mark.number), LOUD, bold=True)
    _rim_words(drawing, size)
    return drawing


def _rings(pen: Pen, found: Polar, middle: float, reach: float) -> None:
    for tilt, _ in found.rings:
        rim = tilt >= found.rim - 1e-9
        circle = Circle(middle, middle, reach * tilt / found.rim, fillColor=None, strokeColor=black)
        circle.strokeWidth = RIM_WIDE if rim else THIN
        pen.drawing.add(circle)
    for way in (np.array([1.0, 0.0]), np.array([0.0, 1.0])):
        pen.polyline(np.array([middle - reach * way, middle + reach * way]), THIN)


def _ring_names(pen: Pen, found: Polar, middle: float, reach: float) -> None:
    """Near their rings, where no mark stands."""
    for tilt, text in found.rings:
        far = reach * tilt / found.rim - 6.0
        at = [
            (middle + far * math.sin(way), middle + far * math.cos(way))
            for way in (LABELS, -LABELS, math.pi - LABELS, math.pi + LABELS)
        ]
        pen.label(at, text, TINY)


def _mark(pen: Pen, at: Array, mark: Mark) -> None:
    if not mark.sustained:
        pen.dot(at, RING, white)
    if mark.works is False:
        pen.dot(at, DOT + 0.8, white, wide=0.0)
        for way in (np.array([1.0, 1.0]), np.array([1.0, -1.0])):
            pen.polyline(np.array([at - DOT * way, at + DOT * way]), 1.8)
    else:
        pen.dot(at, DOT, black if mark.works else white)
    pen.room.keep(float(at[0]) - RING, float(at[1]) - RING, 2 * RING, 2 * RING)


def _rim_words(drawing: Drawing, size: float) -> None:
    middle = size / 2
    turns = {"up": 0.0, "left": 90.0, "down": 0.0, "right": -90.0}
    places = {"up": (middle, size - 9), "left": (9, middle), "down": (middle, 3), "right": (size - 9, middle)}
    for side, text in RIM.items():
        c, s = math.cos(math.radians(turns[side])), math.sin(math.radians(turns[side]))
        word = String(0, 0, drawable(text), fontName=BOLD, fontSize=SIZE, textAnchor="middle")
        drawing.add(Group(word, transform=(c, s, -s, c, *places[side])))
