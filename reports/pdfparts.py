"""What pages are drawn with: one family of fonts, paragraphs, tables, boxes to tick, the picture of a clock angle."""

from __future__ import annotations

import html
import math
import re
import unicodedata
from functools import cache
from typing import TYPE_CHECKING, Any

from reportlab.graphics.shapes import ArcPath, Circle, Drawing, Line, Rect, String
from reportlab.lib.colors import black
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.platypus import Paragraph, Table

from reports.plaintext import one_line

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reports.allowed import Clock

PLAIN, BOLD = "Vera", "VeraBd"  # they come with the drawing library, and travel inside the file


@cache
def glyphs() -> frozenset[int]:
    """Every character that the fonts can draw; they are registered on the way."""
    for font in (PLAIN, BOLD):
        pdfmetrics.registerFont(TTFont(font, f"{font}.ttf"))
    pdfmetrics.registerFontFamily(PLAIN, normal=PLAIN, bold=BOLD, italic=PLAIN, boldItalic=BOLD)
    return frozenset(pdfmetrics.getFont(PLAIN).face.charToGlyph)


@cache
def drawable(text: str) -> str:
    """The text in one line of characters that the fonts have: a letter without its accent before a question mark."""

    def nearest(c: str) -> str:
        if ord(c) in glyphs():
            return c
        plain = "".join(part for part in unicodedata.normalize("NFKD", c) if ord(part) in glyphs())
        return plain or "?"

    return "".join(nearest(c) for c in one_line(text))


def brief(text: str, most: int) -> str:
    """No more characters of a text than that; what is left out shows as dots, and stands whole in the tables."""
    return text if len(text) <= most else f"{text[: most - 4].rstrip()} ..."


def fitted(text: str, font: str, size: float, width: float) -> str:
    """As much of a text as fits a width [pt]."""
    text = drawable(text)
    if pdfmetrics.stringWidth(text, font, size) <= width:
        return text
    while text and pdfmetrics.stringWidth(f"{text} ...", font, size) > width:
        text = text[:-1]
    return f"{text.rstrip()} ..."


def size_to_fit(text: str, font: str, largest: float, width: float) -> float:
    """The largest size [pt], up to one that is asked for, at which a text fits a width [pt]."""
    drawn: float = pdfmetrics.stringWidth(drawable(text), font, largest)
    return min(largest, largest * width / max(drawn, 1.0))


@cache
def wide(text: str, font: str, size: float) -> float:
    """How wide a text is drawn [pt]."""
    glyphs()
    drawn: float = pdfmetrics.stringWidth(drawable(text), font, size)
    return drawn


def broken(text: str, font: str, size: float, width: float) -> str:
    """The text with a space where a word has to break: behind a point or a low line before anywhere else."""
    if wide(text, font, size) <= width:
        return text
    return " ".join(_in_parts(word, font, size, width) for word in text.split(" "))


def _in_parts(word: str, font: str, size: float, width: float) -> str:
    lines = [""]
    for part in re.findall(r"[^._/]*[._/]+|[^._/]+", word):
        if lines[-1] and wide(lines[-1] + part, font, size) > width:
            lines.append("")
        lines[-1] += part
    return " ".join(lines)


def style(size: float, font: str = PLAIN, leading: float = 1.2, **around: float) -> ParagraphStyle:
    """A style of type [pt] with its leading over its size."""
    glyphs()
    return ParagraphStyle(
        f"{font}{size}", fontName=font, fontSize=size, leading=leading * size, textColor=black, splitLongWords=1,
        **around,
    )  # fmt: skip


class Text(Paragraph):  # type: ignore[misc] # the library has no types
    """A paragraph that breaks its lines once for each width."""

    broken_at: float | None = None

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        # Its parts, where it is split over two pages, come without their lines.
        if self.broken_at != width or not hasattr(self, "blPara"):
            super().wrap(width, height)
            self.broken_at = width
        return self.width, self.height


class Measured(Table):  # type: ignore[misc] # the library has no types
    """A table that finds the heights of its rows once for each width."""

    measured_at: float | None = None

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        if self.measured_at != width:
            super().wrap(width, height)
            self.measured_at = width
        return self._width, self._height


def para(
    text: str, size: float = 8.5, *, bold: bool = False, after: float = 0.0, before: float = 0.0, leading: float = 1.2
) -> Text:
    """A paragraph of text as it stands: nothing in it is markup."""
    font = BOLD if bold else PLAIN
    return Text(_escaped(text), style(size, font, leading, spaceAfter=after, spaceBefore=before))


def labelled(label: str, text: str, size: float = 8.5, *, after: float = 0.0, before: float = 0.0) -> Text:
    """A paragraph that begins with its label in bold."""
    shape = style(size, spaceAfter=after, spaceBefore=before)
    return Text(f"<b>{_escaped(label)}</b>&nbsp; {_escaped(text)}", shape)


def listed(head: str, items: Sequence[tuple[str, str]], size: float, *, after: float = 0.0) -> Text:
    """A paragraph with its head in bold, then item after item, each with its name in bold."""
    texts = [f"<b>{_escaped(name)}:</b> {_escaped(text)}" for name, text in items]
    return Text(f"<b>{_escaped(head)}</b> &nbsp; {' &nbsp; '.join(texts)}", style(size, spaceAfter=after))


def _escaped(text: str) -> str:
    return html.escape(drawable(text), quote=False)


def padding(across: float, down: float) -> list[tuple[Any, ...]]:
    """The commands for the room [pt] inside every cell of a table."""
    sides = {"LEFTPADDING": across, "RIGHTPADDING": across, "TOPPADDING": down, "BOTTOMPADDING": down}
    return [(side, (0, 0), (-1, -1), room) for side, room in sides.items()]


def tick_boxes(words: Sequence[str], width: float, size: float) -> Drawing:
    """Boxes to tick, each with its word, in as many rows as the width [pt] asks for."""
    row, box, gap = 1.9 * size, 1.1 * size, 9.0
    places, x, line = [], 0.0, 0
    for word in words:
        wide = box + 4 + pdfmetrics.stringWidth(drawable(word), PLAIN, size) + gap
        if x and x + wide > width + gap:
            x, line = 0.0, line + 1
        places.append((x, line, word))
        x += wide
    drawing = Drawing(width, row * (line + 1))
    for left, n, word in places:
        y = row * (line - n) + 2
        drawing.add(Rect(left, y, box, box, fillColor=None, strokeColor=black, strokeWidth=0.9))
        drawing.add(String(left + box + 4, y + 1.5, drawable(word), fontName=PLAIN, fontSize=size))
    return drawing


def blank_box(width: float, height: float, unit: str) -> Drawing:
    """A box [pt] to write a length in."""
    glyphs()
    drawing = Drawing(width, height)
    drawing.add(Rect(1, 1, width - 42, height - 2, fillColor=None, strokeColor=black, strokeWidth=1.5))
    drawing.add(String(width - 36, 5, unit, fontName=BOLD, fontSize=18))
    return drawing


DIAL = 98.0  # pt, of the picture; its circle is an inch across
CIRCLE = 36.0
LEAST_SWEEP = 15.0  # deg: under it there is no room for an arrow


def hand(degrees: float) -> tuple[float, float]:
    """Which way an outlet points on the dial: 0 deg is 6 o'clock, more is counter-clockwise. A unit vector, y up."""
    return math.sin(math.radians(degrees)), -math.cos(math.radians(degrees))


def dial_picture(clock: Clock) -> Drawing:
    """The outlets as seen along the hose: A, nearest, at 6 o'clock; B at its angle, with how far it may be off.

    Where the angle is not known the dial is left for it to be marked. What is computed beside a measured one is dashed.
    """
    glyphs()
    drawing = Drawing(DIAL, DIAL)
    drawing.add(Circle(DIAL / 2, DIAL / 2, CIRCLE, fillColor=None, strokeColor=black, strokeWidth=0.6))
    for tick in range(0, 360, 15):
        _ray(drawing, tick, CIRCLE - (5 if tick % 90 == 0 else 3 if tick % 45 == 0 else 1.5), CIRCLE, 0.5)
    _hand(drawing, "A", 0.0, 3.0)
    if clock.degrees is None:
        return drawing
    if clock.computed is not None and abs(clock.computed - clock.degrees) > 1e-9:
        _ray(drawing, clock.computed, 0.0, CIRCLE, 0.8, dash=[3, 2])
    for off in clock.tolerance:
        if off:
            _ray(drawing, clock.degrees + off, CIRCLE * 0.3, CIRCLE, 0.4)
    _hand(drawing, "B", clock.degrees, 1.8)
    if clock.degrees > LEAST_SWEEP:
        sweep = ArcPath(fillColor=None, strokeColor=black, strokeWidth=0.9)
        sweep.addArc(DIAL / 2, DIAL / 2, CIRCLE * 0.5, -90, -90 + clock.degrees)
        drawing.add(sweep)
        _arrow_head(drawing, CIRCLE * 0.5, clock.degrees)
    return drawing


def _ray(
    drawing: Drawing, degrees: float, start: float, end: float, wide: float, dash: list[int] | None = None
) -> None:
    (x, y), middle = hand(degrees), DIAL / 2
    ends = middle + start * x, middle + start * y, middle + end * x, middle + end * y
    drawing.add(Line(*ends, strokeColor=black, strokeWidth=wide, strokeDashArray=dash))


def _hand(drawing: Drawing, name: str, degrees: float, wide: float) -> None:
    _ray(drawing, degrees, 0.0, CIRCLE, wide)
    (x, y), place = hand(degrees), CIRCLE + 7
    at = DIAL / 2 + place * x, DIAL / 2 + place * y - 3
    # A on top of B, at 0 deg, would hide it.
    shift = 7.0 if name == "B" and min(degrees, 360 - degrees) < 12 else 0.0
    drawing.add(String(at[0] + shift, at[1], name, fontName=BOLD, fontSize=9, textAnchor="middle"))


def _arrow_head(drawing: Drawing, radius: float, degrees: float) -> None:
    """At the end of an arc that sweeps counter-clockwise to an angle of the dial."""
    tip = math.radians(degrees - 90)
    x, y = DIAL / 2 + radius * math.cos(tip), DIAL / 2 + radius * math.sin(tip)
    for turn in (-0.45, 0.45):
        back = tip - math.pi / 2 + turn
        drawing.add(Line(x, y, x + 5 * math.cos(back), y + 5 * math.sin(back), strokeColor=black, strokeWidth=0.9))
