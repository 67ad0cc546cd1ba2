"""Draws the schematic of a circuit: black boxes with words, square lines with arrows. It fits its sheet or is split."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from reportlab.graphics.shapes import Drawing, Line, Polygon, Rect, String
from reportlab.lib.colors import black, white
from reportlab.pdfbase import pdfmetrics
from reportlab.platypus import KeepTogether

from reports.captions import Area, Caption, captions
from reports.layout import placed
from reports.pdfparts import BOLD, PLAIN, drawable, fitted, glyphs, para
from reports.schematic import CROSS
from reports.wiring import wired

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from reports.captions import Point
    from reports.layout import Box
    from reports.schematic import Sketch

CELL = 6.0  # pt
TEXT, LEAST = 8.0, 7.0  # pt: of every word, and the smallest that it is scaled down to
HIGH = 9.0  # pt, a line of words
WIDEST_BOX, WIDEST_WORDS = 20, 17  # cells
ENOUGH = 0.95
"""A scale at which no narrower bands are tried."""
FIRST, MORE = 2, 4
"""Cells beside the longest words between two columns, and how many more at each try where lines find no room."""
SPACE = 5.0  # pt, between a tag and its size
HEADROOM = 46.0  # pt, for the title and the notes


@dataclass(frozen=True)
class Laid:
    """A sketch laid out [pt], y down."""

    boxes: Mapping[str, Box]
    lines: Mapping[str, Sequence[Point]]
    words: Mapping[str, Caption]
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Sheet:
    """A page's worth of a sketch, laid out, with the scale at which it fits."""

    sketch: Sketch
    title: str
    laid: Laid
    scale: float
    elsewhere: tuple[str, ...] = ()
    """Components that stand on another sheet of the circuit too."""


def sheets_of(sketch: Sketch, width: float, height: float) -> list[Sheet]:
    """The schematic of one circuit: whole on one page where its words then keep their size, else on several.

    Args:
        sketch: the circuit.
        width: of what a page holds [pt].
        height: of what a page holds [pt].
    """
    found = _fitting(sketch, width, height - HEADROOM)
    sheets = []
    for number, sheet in enumerate(found, 1):
        others = {name for other in found if other is not sheet for name in other.sketch.parts}
        of = f", sheet {number} of {len(found)}" if len(found) > 1 else ""
        elsewhere = tuple(name for name in sheet.sketch.parts if name in others)
        sheets.append(replace(sheet, title=f"{sheet.title}{of}", elsewhere=elsewhere))
    return sheets


def schematic_story(sheets: Sequence[Sheet], width: float) -> list[Any]:
    """The schematics as a page takes them, each kept whole.

    Args:
        sheets: of all circuits.
        width: of what a page holds [pt].
    """
    story: list[Any] = []
    for sheet in sheets:
        also = [f"Also on another sheet: {', '.join(sheet.elsewhere)}."] if sheet.elsewhere else []
        says = " ".join([f"{sheet.sketch.fluid}.", sheet.sketch.arrows, CROSS, *also])
        head = [
            para(fitted(sheet.title, BOLD, 12, width), 12, bold=True, before=14, after=1),
            para(fitted(says, PLAIN, TEXT, 2 * width), TEXT, after=6),
        ]
        story.append(KeepTogether([*head, _drawing(sheet)]))
    return story


def _fitting(sketch: Sketch, width: float, height: float) -> list[Sheet]:
    """The sketch, its runs halved along the flow until each part fits a page."""
    best: Sheet | None = None
    for most in _widths(width):
        laid = _laid(sketch, most, height * TEXT / LEAST, best.laid.boxes if best else {})
        scale = min(1.0, width / laid.width, height / laid.height) if laid else 0.0
        if laid and (best is None or scale > best.scale):
            best = Sheet(sketch, f"Schematic: {sketch.circuit}", laid, scale)
        if scale >= ENOUGH:
            break
    if best is not None and (best.scale >= LEAST / TEXT or len(sketch.lines) == 1):
        return [best]
    return [sheet for half in sketch.halves() for sheet in _fitting(half, width, height)]


def _widths(width: float) -> list[int]:
    """Cells that a band of columns may be wide: as wide as the smallest words allow, then less."""
    most = width / CELL * TEXT / LEAST
    return [int(most * share) for share in (1.0, 0.9, 0.8)]


def _wide(text: str, font: str = PLAIN) -> float:
    glyphs()
    return float(pdfmetrics.stringWidth(drawable(text), font, TEXT))


def _laid(sketch: Sketch, most: int, highest: float, before: Mapping[str, Box]) -> Laid | None:
    """The sketch laid out in bands of so many cells.

    None where its boxes alone are higher [pt] than they may be, or stand as they stood before.
    """
    standing = _standing(sketch, most, highest, before)
    if standing is None:
        return None
    boxes, cells = standing
    lines = {tag: [(x * CELL, y * CELL) for x, y in corners] for tag, corners in cells.items()}
    areas = [Area(b.x * CELL, b.y * CELL, b.width * CELL, b.height * CELL) for b in boxes.values()]
    words = captions(lines, {tag: _room(sketch, tag) for tag in lines}, areas)
    all_ = [*areas, *(area for word in words.values() for area in (word.first, word.second))]
    xs = [x for line in lines.values() for x, _ in line] + [x for a in all_ for x in (a.x, a.x + a.width)]
    ys = [y for line in lines.values() for _, y in line] + [y for a in all_ for y in (a.y, a.y + a.height)]
    return Laid(boxes, lines, words, min(xs) - 2, min(ys) - 2, max(xs) - min(xs) + 4, max(ys) - min(ys) + 4)


def _standing(
    sketch: Sketch, most: int, highest: float, before: Mapping[str, Box]
) -> tuple[Mapping[str, Box], Mapping[str, Sequence[tuple[int, int]]]] | None:
    widths = {name: _box_width(sketch, name) for name in sketch.parts}
    words = max(math.ceil(max(_room(sketch, tag)[:2]) / CELL) for tag in sketch.lines)
    for n in itertools.count():
        boxes = placed(sketch.order, widths, words + FIRST + n * MORE, most)
        if len(sketch.lines) > 1 and max(box.y + box.height for box in boxes.values()) * CELL > highest:
            return None
        if boxes == before:
            return None
        lines = wired(sketch.order.ways, boxes)
        if lines is not None:
            return boxes, lines
    raise AssertionError


def _box_width(sketch: Sketch, name: str) -> int:
    sides = {
        side: [_wide(port.partition(".")[2]) for port in ports] for side, ports in sketch.order.ports(name).items()
    }
    rows = itertools.zip_longest(sides["left"], sides["right"], fillvalue=0.0)
    widest = [
        _wide(sketch.parts[name].name, BOLD),
        _wide(sketch.parts[name].kind),
        *(a + b + 6 * bool(a and b) for a, b in rows),
        (max(sides["bottom"], default=0.0) + 4) * len(sides["bottom"]),
    ]
    least = 6 + 2 * len(sides["bottom"])
    return max(least, min(math.ceil((max(widest) + 8) / CELL), max(WIDEST_BOX, 5 * len(sides["bottom"]))))


def _texts(sketch: Sketch, tag: str) -> tuple[str, str, str]:
    """The tag, its size, and its line's name, as much of them as there is room for."""
    line = sketch.lines[tag]
    size = line.size
    room = WIDEST_WORDS * CELL
    return fitted(line.tag, BOLD, TEXT, room - SPACE - _wide(size)), size, fitted(line.name, PLAIN, TEXT, room)


def _room(sketch: Sketch, tag: str) -> tuple[float, float, float]:
    own, size, name = _texts(sketch, tag)
    return _wide(own, BOLD) + SPACE + _wide(size), _wide(name), HIGH


def _drawing(sheet: Sheet) -> Drawing:
    sketch, laid = sheet.sketch, sheet.laid
    pen = _Pen(laid, sheet.scale)
    for name, box in laid.boxes.items():
        pen.box(sketch.parts[name].name, sketch.parts[name].kind, box)
    for points in laid.lines.values():
        pen.line(points)
    for tag, word in laid.words.items():
        own, size, name = _texts(sketch, tag)
        pen.words(word, own, size, name)
    return pen.drawing


class _Pen:
    """Draws what is laid out in points with y down on a drawing of the page's size with y up."""

    def __init__(self, laid: Laid, scale: float) -> None:
        self.laid, self.scale = laid, scale
        self.drawing = Drawing(laid.width * scale, laid.height * scale)

    def at(self, x: float, y: float) -> tuple[float, float]:
        return (x - self.laid.x) * self.scale, (self.laid.y + self.laid.height - y) * self.scale

    def text(self, x: float, y: float, text: str, *, bold: bool = False, anchor: str = "start") -> None:
        left, base = self.at(x, y)
        font = BOLD if bold else PLAIN
        self.drawing.add(
            String(left, base, drawable(text), fontName=font, fontSize=TEXT * self.scale, textAnchor=anchor)
        )

    def clear(self, area: Area) -> None:
        x, y = self.at(area.x, area.y + area.height)
        wide, high = area.width * self.scale, area.height * self.scale
        self.drawing.add(Rect(x, y, wide, high, fillColor=white, strokeColor=None))

    def box(self, name: str, kind: str, box: Box) -> None:
        x, y, wide, high = (n * CELL for n in (box.x, box.y, box.width, box.height))
        left, base = self.at(x, y + high)
        size = (wide * self.scale, high * self.scale)
        self.drawing.add(Rect(left, base, *size, fillColor=white, strokeColor=black, strokeWidth=1.2))
        middle, room = x + wide / 2, wide - 4
        self.text(middle, y + 9, fitted(name, BOLD, TEXT, room), bold=True, anchor="middle")
        self.text(middle, y + 18, fitted(kind, PLAIN, TEXT, room), anchor="middle")
        for port, (px, py, side) in box.ports.items():
            own = fitted(port.partition(".")[2], PLAIN, TEXT, room)
            if side == "bottom":
                self.text(px * CELL, py * CELL - 3, own, anchor="middle")
            else:
                inward, anchor = (3, "start") if side == "left" else (-3, "end")
                self.text(px * CELL + inward, py * CELL + 3, own, anchor=anchor)

    def line(self, points: Sequence[Point]) -> None:
        for a, b in itertools.pairwise(points):
            self.drawing.add(Line(*self.at(*a), *self.at(*b), strokeColor=black, strokeWidth=1.0, strokeLineCap=1))
        (x, y), (z, w) = points[-2:]
        long = math.hypot(z - x, w - y)
        dx, dy = (z - x) / long, (w - y) / long
        corners = [
            (z, w),
            (z - 7 * dx - 2.6 * dy, w - 7 * dy + 2.6 * dx),
            (z - 7 * dx + 2.6 * dy, w - 7 * dy - 2.6 * dx),
        ]
        flat = [n for corner in corners for n in self.at(*corner)]
        self.drawing.add(Polygon(flat, fillColor=black, strokeColor=None))

    def words(self, word: Caption, tag: str, size: str, name: str) -> None:
        for area in (word.first, word.second):
            self.clear(area)
        base = word.first.y + HIGH - 2
        self.text(word.first.x, base, tag, bold=True)
        self.text(word.first.x + _wide(tag, BOLD) + SPACE, base, size)
        self.text(word.second.x, word.second.y + HIGH - 2, name)
