"""Draws one assembly of the bench sheet: its cut length first and by far the largest."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from reportlab.lib.colors import black
from reportlab.platypus import KeepTogether, Spacer, Table, TableStyle

from reports.bench import CONVENTION
from reports.figures import BLANK
from reports.pdfparts import (
    BOLD,
    DIAL,
    blank_box,
    brief,
    dial_picture,
    labelled,
    padding,
    para,
    size_to_fit,
    tick_boxes,
)
from reports.pdfviews import run_views

if TYPE_CHECKING:
    from catalogs.units import System
    from reports.bench import Block
    from reports.ends import BenchEnd

LARGEST = 44.0  # pt, of the cut length
SMALL = 8.0
MOST, MOST_SHORT = 1400, 120
"""Characters of one entry over the whole width and in a column, so that a row of the block fits a page."""
MOST_MARKS = (20, 18, 16, 14, 12, 10, 8, 6, 4)
"""Rows of marks on a block, the first number with which it fits its page; the rest stand in bench.csv."""
WORD = 15.0  # pt, of PROVISIONAL
HOSE_SHARES = (0.22, 0.18, 0.18, 0.13, 0.13, 0.16)
ONE_COLUMN = 4
"""Rows of marks under each other; more stand in two columns."""
TUBE_SHARES = (0.08, 0.13, 0.16, 0.12, 0.11, 0.14, 0.14, 0.12)


def block_flowables(block: Block, width: float, height: float, unit: str, system: System) -> list[Any]:
    """The block of one assembly, kept on one page, with as many of its marks as that leaves room for.

    Args:
        block: the content.
        width: of the page's frame [pt].
        height: of the page's frame [pt].
        unit: of lengths.
        system: of the scale bar.
    """
    views = run_views(block.shape, system) if block.shape is not None else None
    for most in MOST_MARKS:
        table = _table(block, width, unit, views, most)
        if len(block.table.rows) <= MOST_MARKS[-1] or table.wrap(width, height)[1] <= height:
            break
    return [KeepTogether([table]), Spacer(1, 8)]


def _table(block: Block, width: float, unit: str, views: Any, most: int) -> Table:
    inner = width - 10
    rows: list[list[Any]] = [[_head(block, inner, unit)]]
    loud = sorted([*block.cut.measure, *block.checks], key=lambda line: not line.startswith("FAILS"))
    if loud:
        rows.append([[para(brief(line, MOST), 9, bold=True, after=2) for line in loud]])
    rows += [[_hose_and_ends(block, inner)], [_lengths(block, inner)], [_marks(block, inner, most)]]
    if views is not None:
        rows.append([_centred(views, inner)])
    rows += [[_lines(block)], [_signing(block, inner)]]
    table = Table(rows, colWidths=[width], splitInRow=1)
    rules = [("BOX", (0, 0), (-1, -1), 1.5, black), ("LINEABOVE", (0, 1), (-1, -1), 0.5, black)]
    table.setStyle(TableStyle([*rules, *padding(5, 2.5)]))
    return table


def _centred(drawing: Any, width: float) -> Table:
    return _plain([[drawing]], [width], ("ALIGN", (0, 0), (-1, -1), "CENTER"))


def _plain(cells: list[list[Any]], widths: list[float], *commands: tuple[Any, ...]) -> Table:
    table = Table(cells, colWidths=widths, splitInRow=1)
    table.setStyle(TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *padding(0, 0), *commands]))
    return table


def _head(block: Block, width: float, unit: str) -> Table:
    """The cut length; what it is short of being final, always at one place; the tag, always at another."""
    widths = [width * 0.56, width * 0.26, width * 0.18]
    cut = block.cut
    length = [para("CUT LENGTH", 8, bold=True), _number(block, widths[0] - 10, unit)]
    state = _big(cut.word, WORD, widths[1] - 8) if cut.word else Spacer(1, WORD * 1.12)
    under = ", ".join(filter(None, [cut.exact.text if cut.exact else "", block.tolerance]))
    beside = [Spacer(1, 10), state, para(under, 10)]
    beside += [para(brief(block.tolerance_source, 60), 6.5)] if block.tolerance_source else []
    tag = [_big(block.tag, 22, widths[2]), para(brief(block.line, 60), 9, bold=True)]
    return _plain([[length, beside, tag]], widths)


def _number(block: Block, width: float, unit: str) -> Any:
    if block.cut.state == "impossible":
        return _big("no hose left", 26, width)
    if block.cut.tape is None:
        return blank_box(min(width, 220.0), 34.0, unit)
    return _big(block.cut.tape.text, LARGEST, width)


def _big(text: str, size: float, width: float) -> Any:
    return para(text, max(size_to_fit(text, BOLD, size, width), 7.0), bold=True, leading=1.12)


def _short(label: str, text: str) -> Any:
    return labelled(label, brief(text, MOST_SHORT), SMALL)


def _hose_and_ends(block: Block, width: float) -> Table:
    hose = [
        para(f"{block.size}  {block.stock}", 9, bold=True),
        para(brief(block.means, MOST_SHORT), SMALL),
        _short("made of" if block.rigid else "liner", block.liner),
        _short("from", block.ends[0].port),
        _short("to", block.ends[1].port),
        _short("circuit", block.circuit),
        _short("fluid", block.fluid),
    ]
    third = width / 3
    cells = [hose, *(_end(end) for end in block.ends)]
    gaps = [("RIGHTPADDING", (0, 0), (-1, -1), 6), ("LEFTPADDING", (1, 0), (-1, -1), 6)]
    rules = [("LINEBEFORE", (1, 0), (-1, -1), 0.5, black)]
    return _plain([cells], [third] * 3, *gaps, *rules)


def _end(end: BenchEnd) -> list[Any]:
    where = "from" if end.mark == "A" else "to"
    head = para(f"End {end.mark}  {where} {end.port}", 9, bold=True)
    if not end.id:
        return [head, para("NOT CHOSEN", 9, bold=True), _short("joint", end.joint)]
    return [
        head,
        para(brief(end.id, MOST_SHORT), SMALL, bold=True),
        _short("seat", end.seat),
        *([] if end.nutless else [_short("nut", end.hex or BLANK)]),
        para(brief(end.takes, MOST_SHORT), SMALL),
        _short("joint", end.joint),
        _short("put on", end.attach),
    ]


def _lengths(block: Block, width: float) -> Table:
    """Every length by its name, and the dial of the clock angle beside them."""
    dial = None if block.clock.state == "none" else dial_picture(block.clock)
    room = width - (DIAL + 6 if dial is not None else 0)
    names = [
        [para(n.name, SMALL, bold=True), para(n.text, SMALL + 1, bold=True), para(n.says, SMALL)]
        for n in block.cut.lengths
    ]
    table = _plain(names, [62.0, 72.0, room - 134.0], ("BOTTOMPADDING", (0, 0), (-1, -1), 1.2))
    texts = [para(f"By its points {block.cut.between}.", SMALL)] if block.cut.between else []
    texts += [para(CONVENTION, 6.5, before=1, after=2)]
    if dial is None:
        return _plain([[[table, *texts]]], [width])
    return _plain([[[table, *texts], dial]], [room, DIAL + 6], ("ALIGN", (1, 0), (1, 0), "RIGHT"))


def _marks(block: Block, width: float, most: int) -> list[Any]:
    """Bends and clamps in a ruled table, what is said of them under it."""
    found = block.table
    rows, more = found.rows[:most], len(found.rows) - most
    says = [*([f"{more} more rows in bench.csv"] if more > 0 else []), *found.says]
    text = labelled(found.title, brief("; ".join(says), MOST), SMALL - 0.5, before=1.5)
    if not rows:
        return [text]
    shares = TUBE_SHARES if block.rigid else HOSE_SHARES
    if block.rigid or len(rows) <= ONE_COLUMN:
        return [_ruled(found.names, rows, [width * share for share in shares]), text]
    half, middle = (width - 8) / 2, math.ceil(len(rows) / 2)
    pair = [_ruled(found.names, part, [half * s for s in HOSE_SHARES]) for part in (rows[:middle], rows[middle:])]
    return [_plain([pair], [half + 8, half]), text]


def _ruled(names: tuple[str, ...], rows: tuple[tuple[str, ...], ...], widths: list[float]) -> Table:
    cells = [[para(name, 6.5, bold=True) for name in names]]
    cells += [[para(cell, 7, bold=not n) for n, cell in enumerate(row)] for row in rows]
    table = Table(cells, colWidths=widths, hAlign="LEFT")
    table.setStyle(TableStyle([("GRID", (0, 0), (-1, -1), 0.4, black), *padding(2.5, 0.7)]))
    return table


def _lines(block: Block) -> Any:
    clock = ". ".join(filter(None, [block.clock.says, block.clock.way]))
    texts = [
        ("Clock angle", "" if block.rigid else clock),
        ("Slack", block.slack),
        ("Under pressure", block.under_pressure),
        ("Working pressure", block.working_says),
        ("Proof test", f"{block.proof.text}, {block.proof_how}"),
        ("Before", block.before),
        ("Label", block.label),
        ("Note", block.note),
    ]
    return [labelled(label, brief(text, MOST), SMALL, after=0.8) for label, text in texts if text]


def _signing(block: Block, width: float) -> list[Any]:
    line = f"operator {BLANK * 2}   date {BLANK}   {'tube' if block.rigid else 'hose'} batch {BLANK * 2}"
    return [tick_boxes(block.ticks, width, 8), para(line, 8.5, before=3, after=1)]
