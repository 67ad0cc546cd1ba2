"""Draws one assembly of the bench sheet: its cut length first and by far the largest."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportlab.lib.colors import black
from reportlab.platypus import KeepTogether, Spacer, Table, TableStyle

from reports.bench import CONVENTION
from reports.figures import BLANK
from reports.pdfparts import (
    BOLD,
    blank_box,
    brief,
    clock_picture,
    labelled,
    padding,
    para,
    size_to_fit,
    tick_boxes,
)

if TYPE_CHECKING:
    from reports.bench import Block
    from reports.ends import BenchEnd

LARGEST = 44.0  # pt, of the cut length
SMALL = 8.0
MOST, MOST_SHORT = 1400, 120
"""Characters of one entry over the whole width and in a column, so that a row of the block fits a page."""
MOST_MARKS = 20
"""Bends in one entry of the block; the rest stand in the tables of bench.csv."""


def block_flowables(block: Block, width: float, unit: str) -> list[Any]:
    """The block of one assembly, kept on one page."""
    inner = width - 10
    rows: list[list[Any]] = [[_head(block, inner, unit)]]
    loud = sorted([*block.cut.measure, *block.checks], key=lambda line: not line.startswith("FAILS"))
    if loud:
        rows.append([[para(brief(line, MOST), 9, bold=True, after=2) for line in loud]])
    rows += [[_hose_and_ends(block, inner)], [_lines(block, inner)], [_signing(block, inner)]]
    table = Table(rows, colWidths=[width], splitInRow=1)
    rules = [("BOX", (0, 0), (-1, -1), 1.5, black), ("LINEABOVE", (0, 1), (-1, -1), 0.5, black)]
    table.setStyle(TableStyle([*rules, *padding(5, 2.5)]))
    return [KeepTogether([table]), Spacer(1, 8)]


def _plain(cells: list[list[Any]], widths: list[float], *commands: tuple[Any, ...]) -> Table:
    table = Table(cells, colWidths=widths, splitInRow=1)
    table.setStyle(TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *padding(0, 0), *commands]))
    return table


def _head(block: Block, width: float, unit: str) -> Table:
    widths = [width * 0.58, width * 0.24, width * 0.18]
    cut = block.cut
    under = ", ".join(filter(None, [cut.exact.text if cut.exact else "", block.tolerance]))
    length = [para("CUT LENGTH", 8, bold=True), _number(block, widths[0] - 10, unit)]
    beside = [_big(cut.word, 15, widths[1] - 8)] if cut.word else []
    beside += [para(under, 10)] if under else []
    tag = [_big(block.tag, 22, widths[2]), para(brief(block.line, 60), 9, bold=True)]
    return _plain([[length, beside, tag]], widths, ("VALIGN", (1, 0), (1, 0), "MIDDLE"))


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
        _short("liner", block.liner),
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
    cutoff = end.cutoff.text if end.cutoff else ""
    return [
        head,
        para(brief(end.id, MOST_SHORT), SMALL, bold=True),
        _short("seat", end.seat),
        _short("nut", end.hex or BLANK),
        _short("cut-off", f"{cutoff}, {end.cutoff_basis}"),
        _short("joint", end.joint),
        _short("put on", end.attach),
    ]


def _lines(block: Block, width: float) -> Any:
    known = f"; known by {block.cut.known_by}" if block.cut.known_by else ""
    clock = ". ".join(filter(None, [block.clock.says, block.clock.way]))
    texts = [
        ("Length", f"{_formula(block)}{known}. {CONVENTION}"),
        ("Under pressure", block.under_pressure),
        ("Bend marks", _bends(block)),
        ("Clock angle", clock),
        ("Working", f"{block.working.text}{_brackets(block.rating_basis)}"),
        ("Proof test", f"{block.proof.text}, {block.proof_how}"),
        ("Before", block.before),
        ("Label", block.label),
        ("Note", block.note),
    ]
    paragraphs = [labelled(label, brief(text, MOST), SMALL, after=0.8) for label, text in texts if text]
    if block.clock.degrees is None:
        return paragraphs
    picture = clock_picture(block.clock.degrees)
    return _plain([[paragraphs, picture]], [width - 68, 68], ("ALIGN", (1, 0), (1, 0), "RIGHT"))


def _brackets(text: str) -> str:
    return f" ({text})" if text else ""


def _formula(block: Block) -> str:
    if block.cut.formula:
        return f"{block.cut.formula}, between the seats less both cut-offs"
    return f"between the seats {block.cut.length.text if block.cut.length else 'not known'}"


def _bends(block: Block) -> str:
    texts = []
    for mark in block.bends[:MOST_MARKS]:
        radius = f", inside radius {mark.radius}" if mark.radius else ""
        place = f" at {mark.from_seat}" if mark.from_seat else f" at {BLANK}"
        edge = f" ({mark.from_edge} from the cut edge)" if mark.from_edge else ""
        texts.append(f"{mark.number}: {mark.turn}{radius}{place}{edge}")
    if len(block.bends) > MOST_MARKS:
        texts.append(f"{len(block.bends) - MOST_MARKS} more in bench.csv")
    if not texts:
        return block.bends_say
    return f"middle of each from the seat of A, {block.bends_say}: {'; '.join(texts)}"


def _signing(block: Block, width: float) -> list[Any]:
    line = f"operator {BLANK * 2}   date {BLANK}   hose batch {BLANK * 2}"
    return [tick_boxes(block.ticks, width, 8), para(line, 8.5, before=3, after=1)]
