"""Draws one assembly of the bench sheet: its cut length first and by far the largest. Two blocks may share a page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from reportlab.lib.colors import black
from reportlab.platypus import PageBreak, Spacer, TableStyle

from reports.bench import CONVENTION
from reports.figures import BLANK, length_unit
from reports.pdfgrid import ACROSS, cell, columns, ruled
from reports.pdfparts import (
    BOLD,
    DIAL,
    Measured,
    blank_box,
    brief,
    broken,
    dial_picture,
    labelled,
    padding,
    para,
    size_to_fit,
    tick_boxes,
    wide,
)
from reports.pdfviews import run_views

if TYPE_CHECKING:
    from catalogs.units import System
    from reports.bench import Block
    from reports.ends import BenchEnd

LARGEST = 42.0  # pt, of the cut length
WORD = 15.0  # pt, of PROVISIONAL
SMALL, TINY = 7.25, 6.5
MOST, MOST_SHORT = 1400, 120
"""Characters of one entry over the whole width and in a column, so that a row of the block fits a page."""
MOST_MARKS = (20, 18, 16, 14, 12, 10, 8, 6, 4)
"""Rows of marks on a block, the first number with which it fits its page; the rest stand in bench.csv."""
VIEWS = 186.0  # pt, the width of the views beside the text
LEAST_HIGH, MOST_HIGH = 150.0, 300.0
AROUND = 10.0  # pt, within the frame of a block, to its left and right
BETWEEN = 6.0  # pt, between two blocks of a page


def bench_story(blocks: list[Block], room: Room) -> list[Any]:
    """Every block whole, as many under each other on a page as it has room for."""
    story: list[Any] = []
    for page in _pages([block_table(block, room) for block in blocks], room):
        story += [PageBreak()] if story else []
        if len(page) == 1:
            story.append(_alone(page[0], room))
            continue
        for n, laid in enumerate(page):
            story += [Spacer(1, BETWEEN)] if n else []
            story.append(laid.table)
    return story


@dataclass(frozen=True, slots=True)
class Room:
    """What a page holds [pt], and the units of what stands on it."""

    width: float
    height: float
    system: System


@dataclass(frozen=True, slots=True)
class Laid:
    """A block laid out."""

    block: Block
    table: Measured
    high: float
    """Of the table [pt]."""
    marks: int
    """How many rows of marks it has at most."""


def block_table(block: Block, room: Room) -> Laid:
    """The block of one assembly, its views beside its text, with as many of its marks as a page has room for."""
    for most in MOST_MARKS:
        table = _table(block, room, _beside(block, room, most))
        high = table.wrap(room.width, room.height)[1]
        if len(block.table.rows) <= MOST_MARKS[-1] or high <= room.height:
            break
    return Laid(block, table, high, most)


def _pages(blocks: list[Laid], room: Room) -> list[list[Laid]]:
    pages: list[list[Laid]] = []
    left = 0.0
    for laid in blocks:
        if pages and left >= laid.high + BETWEEN:
            pages[-1].append(laid)
            left -= laid.high + BETWEEN
        else:
            pages.append([laid])
            left = room.height - laid.high
    return pages


def _alone(laid: Laid, room: Room) -> Measured:
    """A block that has its page alone: its views under its text, as large as the page allows."""
    shape, left = laid.block.shape, room.height - laid.high - 2 * BETWEEN
    if shape is None or left < LEAST_HIGH:
        return laid.table
    views = run_views(shape, room.system, room.width - AROUND, min(left, MOST_HIGH))
    return _table(laid.block, room, [*_text(laid.block, room.width - AROUND, laid.marks), Spacer(1, 3), views])


def _table(block: Block, room: Room, middle: list[Any]) -> Measured:
    inner = room.width - AROUND
    rows: list[list[Any]] = [[_head(block, inner, length_unit(room.system))]]
    loud = sorted([*block.cut.measure, *block.checks], key=lambda line: not line.startswith(LOUDEST))
    if loud:
        rows.append([[para(brief(line, MOST), 8.5, bold=True, after=1) for line in loud]])
    rows += [[middle], [_lines(block, inner)], [_signing(block, inner)]]
    table = Measured(rows, colWidths=[room.width], splitInRow=1)
    rules = [("BOX", (0, 0), (-1, -1), 1.5, black), ("LINEABOVE", (0, 1), (-1, -1), 0.5, black)]
    table.setStyle(TableStyle([*rules, *padding(AROUND / 2, 1.5)]))
    return table


LOUDEST = ("FAILS", "DOES NOT FIT", "IN DOUBT", "The two ends")


def _plain(cells: list[list[Any]], widths: list[float], *commands: tuple[Any, ...]) -> Measured:
    table = Measured(cells, colWidths=widths, splitInRow=1)
    table.setStyle(TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *padding(0, 0), *commands]))
    return table


def _head(block: Block, width: float, unit: str) -> Measured:
    """The cut length; what it is short of being final, always at one place; the tag, always at another."""
    widths = [width * 0.53, width * 0.3, width * 0.17]
    cut = block.cut
    state = [_big(cut.word, WORD, widths[1] - 8)] if cut.word else []
    under = ", ".join(filter(None, [cut.exact.text, block.tolerance])) if cut.exact else ""
    beside = [para("CUT LENGTH", 8, bold=True), *state, *([para(under, 9.5)] if under else [])]
    beside += [para(brief(block.tolerance_source, 60), TINY)] if block.tolerance_source and cut.exact else []
    tag = [_big(block.tag, 20, widths[2]), para(brief(block.line, 60), 8.5, bold=True)]
    return _plain([[_number(block, widths[0] - 8, unit), beside, tag]], widths)


def _number(block: Block, width: float, unit: str) -> Any:
    if block.cut.state in {"impossible", "does not fit"}:
        return _big({"impossible": "no hose left", "does not fit": "do not cut"}[block.cut.state], 26, width)
    if block.cut.tape is None:
        return blank_box(min(width, 220.0), 34.0, unit)
    return _big(block.cut.tape.text, LARGEST, width)


def _big(text: str, size: float, width: float) -> Any:
    return para(text, max(size_to_fit(text, BOLD, size, width), 7.0), bold=True, leading=1.1)


# ---------------------------------------------------------------- what it is made of, how long, how it lies


def _text(block: Block, width: float, most: int) -> list[Any]:
    """Hose, ends, lengths and marks."""
    return [*_what(block, width), _lengths(block, width), *_marks(block, width, most)]


def _beside(block: Block, room: Room, most: int) -> list[Any]:
    """The text, and beside it the views, if it has any."""
    width = room.width - AROUND
    if block.shape is None:
        return _text(block, width, most)
    text = _text(block, width - VIEWS - 8, most)
    high = sum(part.wrap(width - VIEWS - 8, 1e4)[1] + part.getSpaceBefore() + part.getSpaceAfter() for part in text)
    views = run_views(block.shape, room.system, VIEWS, min(max(high, LEAST_HIGH), MOST_HIGH))
    return [_plain([[text, views]], [width - VIEWS, VIEWS], ("RIGHTPADDING", (0, 0), (0, 0), 8))]


def _what(block: Block, width: float) -> list[Any]:
    """Hose and fluid, and under them both ends side by side."""
    made = f"{block.means}; {'made of' if block.rigid else 'liner'} {block.liner}"
    half = width / 2
    rules = [("LINEBEFORE", (1, 0), (1, -1), 0.5, black), ("LEFTPADDING", (1, 0), (1, -1), 5)]
    ends = [_end(end, half - 6) for end in block.ends]
    return [
        labelled(f"{block.size}  {block.stock}", brief(made, MOST_SHORT), 8),
        labelled(block.circuit, brief(block.fluid, MOST_SHORT), SMALL, after=2),
        _plain(
            [ends], [half, half], ("RIGHTPADDING", (0, 0), (0, 0), 4), ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5), *rules
        ),
    ]


def _end(end: BenchEnd, width: float) -> list[Any]:
    where = "from" if end.mark == "A" else "to"
    head = para(broken(f"{end.mark}  {where} {end.port}", BOLD, 8.5, width), 8.5, bold=True)
    if not end.id:
        return [head, para("NOT CHOSEN", 8.5, bold=True), _short("joint", end.joint)]
    nut = "" if end.nutless else f"; nut {end.hex or BLANK}"
    return [
        head,
        para(brief(end.id, MOST_SHORT), SMALL, bold=True),
        para(brief(f"{end.seat}{nut}", MOST_SHORT), SMALL),
        _short("put on", end.attach),
        para(brief(end.takes, MOST_SHORT), SMALL),
        _short("joint", end.joint),
    ]


def _short(label: str, text: str) -> Any:
    return labelled(label, brief(text, MOST_SHORT), SMALL)


def _lengths(block: Block, width: float) -> Measured:
    """Every length by its name."""
    names = [
        [para(n.name, SMALL, bold=True), para(n.text, 8.5, bold=True), para(n.says, SMALL)] for n in block.cut.lengths
    ]
    first, second = (
        max(wide(text, BOLD, size) for text in texts) + 6
        for texts, size in (([n.name for n in block.cut.lengths], SMALL), ([n.text for n in block.cut.lengths], 8.5))
    )
    table = _plain(names, [first, second, width - first - second], ("BOTTOMPADDING", (0, 0), (-1, -1), 0.6))
    texts = [para(f"{block.cut.between[:1].upper()}{block.cut.between[1:]}.", SMALL)] if block.cut.between else []
    rules = [("LINEABOVE", (0, 0), (-1, 0), 0.5, black), ("TOPPADDING", (0, 0), (-1, 0), 2)]
    return _plain(
        [[[table, *texts, para(CONVENTION, TINY)]]], [width], *rules, ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5)
    )


def _marks(block: Block, width: float, most: int) -> list[Any]:
    """Bends and clamps in a ruled table, what is said of them under it."""
    found = block.table
    rows, more = found.rows[:most], len(found.rows) - most
    says = [*([f"{more} more rows in bench.csv"] if more > 0 else []), *found.says]
    text = labelled(found.title, brief("; ".join(says), MOST), TINY, before=1)
    return [_ruled([found.names, *rows], width), text] if rows else [text]


def _ruled(rows: list[tuple[str, ...]], width: float) -> Measured:
    widths = columns(rows, width, size=TINY)
    cells = [
        [cell(t, w, bold=not n, size=TINY) for t, w in zip(row, widths, strict=True)] for n, row in enumerate(rows)
    ]
    table = Measured(cells, colWidths=widths, hAlign="LEFT")
    table.setStyle(TableStyle([*ruled(TINY), ("GRID", (0, 0), (-1, -1), 0.4, black), *padding(ACROSS, 0.5)]))
    return table


# ---------------------------------------------------------------- pressures, labels, signing


def _lines(block: Block, width: float) -> Any:
    """What holds for it besides, and the dial of the clock angle, if it has one."""
    clock = ". ".join(filter(None, [block.clock.says, block.clock.way]))
    texts = [
        ("Clock angle", "" if block.rigid or block.clock.state == "none" else clock),
        ("Slack", block.slack),
        ("Under pressure", block.under_pressure),
        ("Working pressure", block.working_says),
        ("Proof test", f"{block.proof.text}, {block.proof_how}"),
        ("Before", block.before),
        ("Label", block.label),
        ("Note", block.note),
    ]
    lines = [labelled(label, brief(text, MOST), SMALL, after=0.4) for label, text in texts if text]
    if block.clock.state == "none":
        return lines
    return _plain([[lines, dial_picture(block.clock)]], [width - DIAL - 2, DIAL + 2])


def _signing(block: Block, width: float) -> list[Any]:
    line = f"operator {BLANK * 2}   date {BLANK}   {'tube' if block.rigid else 'hose'} batch {BLANK * 2}"
    return [tick_boxes(block.ticks, width, 7.5), para(line, 8, before=2)]
