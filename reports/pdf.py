"""Draws a packet as PDF, black on white. It computes nothing: every text comes from the content."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

from reportlab.lib.colors import black
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Frame,
    KeepTogether,
    PageBreak,
    PageTemplate,
    Spacer,
    Table,
    TableStyle,
)

from lines.finding import Verdict
from reports.cutlist import ALLOWANCE
from reports.figures import BLANK, length_unit
from reports.orders import LEFT_OUT
from reports.pdfblock import block_flowables
from reports.pdfparts import BOLD, PLAIN, drawable, fitted, grid, labelled, listed, padding, para
from reports.record import BLANKS
from reports.verdicts import passed

if TYPE_CHECKING:
    from collections.abc import Callable

    from reports.packet import Packet
    from reports.verdicts import Passed, Row

PAPERS: dict[str, tuple[float, float]] = {"letter": LETTER, "a4": A4}
MARGIN = 34.0  # pt
HEAD = 18.0  # pt, between the margin and the text
Story = list[Any]


def pdf_bytes(packet: Packet, paper: str) -> bytes:
    """The whole packet as one PDF file.

    Args:
        packet: the content.
        paper: a key of `PAPERS`.
    """
    pages = _build(packet, paper, None)[1]
    return _build(packet, paper, pages)[0]


def _build(packet: Packet, paper: str, pages: int | None) -> tuple[bytes, int]:
    """One run over the packet; the number of pages is known after the first."""
    width, height = PAPERS[paper]
    out = io.BytesIO()
    frame = Frame(
        MARGIN, MARGIN + HEAD, width - 2 * MARGIN, height - 2 * (MARGIN + HEAD),
        leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0,
    )  # fmt: skip
    document = BaseDocTemplate(
        out, pagesize=(width, height), invariant=1, lang="en", title=drawable(packet.front.title), author="",
        subject="Bench sheets", creator="linewright", producer="linewright",
    )  # fmt: skip
    document.addPageTemplates(PageTemplate("page", [frame], onPage=_edges(packet, width, height, pages)))
    document.build(_story(packet, width - 2 * MARGIN))
    return out.getvalue(), document.page


def _edges(packet: Packet, width: float, height: float, pages: int | None) -> Callable[[Any, Any], None]:
    """Draws the head and the foot of every page."""
    front = packet.front
    number_room, revision_room = 90.0, 150.0
    title = fitted(front.title, BOLD, 9, width - 2 * MARGIN - revision_room - number_room)
    revision = fitted(f"revision {front.revision}", PLAIN, 9, revision_room - 12)

    def draw(canvas: Any, document: Any) -> None:
        canvas.setFillColor(black)
        canvas.setFont(BOLD, 9)
        canvas.drawString(MARGIN, height - MARGIN - 8, title)
        canvas.setFont(PLAIN, 9)
        canvas.drawRightString(width - MARGIN - number_room, height - MARGIN - 8, revision)
        canvas.drawRightString(width - MARGIN, height - MARGIN - 8, f"page {document.page} of {pages or '?'}")
        canvas.setLineWidth(0.8)
        canvas.line(MARGIN, height - MARGIN - 13, width - MARGIN, height - MARGIN - 13)
        canvas.setFont(PLAIN, 7.5)
        canvas.drawString(MARGIN, MARGIN, front.units)
        canvas.drawRightString(width - MARGIN, MARGIN, "A planning aid: verify every figure by measurement.")

    return draw


def _story(packet: Packet, width: float) -> Story:
    sections = [_front, _bench, _cut, _order, _findings, _record]
    story: Story = []
    for number, section in enumerate(sections):
        story += [PageBreak()] if number else []
        story += section(packet, width)
    return story


def _title(text: str) -> Any:
    return para(text, 15, bold=True, after=6)


def _heading(text: str, size: float = 12) -> Story:
    """A heading that does not stay alone at the foot of a page."""
    return [CondPageBreak(90), para(text, size, bold=True, before=8, after=3)]


def _front(packet: Packet, width: float) -> Story:
    front = packet.front
    story: Story = [para(front.title, 18, bold=True, after=4), para(f"Revision {front.revision}", 12, after=8)]
    first = Table([[[para(front.cautions[0], 12, bold=True)]]], colWidths=[width])
    first.setStyle(TableStyle([("BOX", (0, 0), (-1, -1), 2, black), *padding(8, 7)]))
    story += [first, Spacer(1, 8)]
    story += [labelled("Plan", front.file, 9.5, after=2), labelled("Units", front.units, 9.5, after=2)]
    story += [labelled("Coordinates from", front.zero, 9.5, after=2)]
    story += [labelled("Air", "; ".join(front.ambient), 9.5, after=2)]
    story += [labelled("Note", front.note, 9.5, after=2)] if front.note else []
    counts = ", ".join(f"{number} {verdict}" for verdict, number in front.counts.items())
    story += [labelled("Findings", counts, 9.5, after=2)]
    story += [labelled("Fails", ", ".join(front.fails), 9.5, after=2)] if front.fails else []
    story += _heading("Cautions")
    story += [para(f"-  {text}", 9, after=2.5) for text in front.cautions[1:]]
    return [*story, *_heading("Assemblies"), _assemblies(packet, width)]


def _assemblies(packet: Packet, width: float) -> Table:
    rows = [["tag", "line", "circuit", "stock", "from", "to", "cut length"]]
    for block in packet.blocks:
        length = block.cut.tape.text if block.cut.tape else BLANK
        cut = " ".join(filter(None, [length, block.cut.word.lower()]))
        start, end = (e.port for e in block.ends)
        rows.append([block.tag, block.line, block.circuit, block.stock, start, end, cut])
    return grid(rows, [width * x for x in (0.08, 0.14, 0.12, 0.16, 0.16, 0.16, 0.18)])


def _bench(packet: Packet, width: float) -> Story:
    unit = length_unit(packet.system)
    story: Story = []
    for block in packet.blocks:
        story += block_flowables(block, width, unit)
    return story


def _cut(packet: Packet, width: float) -> Story:
    story: Story = [_title("Cut list"), para(ALLOWANCE, 9, after=6)]
    for stock in packet.cut:
        rows = [["tag", "line", "cut length", "exact", "state", "end A", "end B"]]
        for p in stock.pieces:
            tape, exact = (x.text if x is not None else BLANK for x in (p.cut.tape, p.cut.exact))
            rows.append([p.tag, p.line, tape, exact, p.cut.word, *p.ends])
        total = f"total {stock.total.text}" + (f"; {stock.open}" if stock.open else "")
        story += _heading(f"{stock.stock.id}  ({stock.size})   {total}", 10.5)
        story += [grid(rows, [width * x for x in (0.08, 0.14, 0.15, 0.11, 0.16, 0.18, 0.18)])]
    return story


def _order(packet: Packet, width: float) -> Story:
    stated = any(i.part or i.price for i in packet.items)
    names = ["sort", "id", "what", "quantity", *(["part", "price"] if stated else []), "note"]
    shares = (0.08, 0.19, 0.27, 0.14, 0.1, 0.08, 0.14) if stated else (0.09, 0.23, 0.32, 0.17, 0.19)
    rows = [names]
    for i in packet.items:
        more = [i.part, i.price] if stated else []
        rows.append([i.sort, i.id, "" if i.means == i.id else i.means, i.says, *more, i.note])
    story: Story = [_title("Order list"), para(f"{ALLOWANCE} {LEFT_OUT}", 9, after=6)]
    story += [grid(rows, [width * x for x in shares])] if packet.items else []
    story += _heading("Not chosen yet")
    if not packet.lacks:
        return [*story, para("Nothing: every end, thread and cut length is known.", 9)]
    lacks = [["where", "what"], *([lack.place, lack.what] for lack in packet.lacks)]
    return [*story, grid(lacks, [width * 0.3, width * 0.7])]


def _findings(packet: Packet, width: float) -> Story:
    story: Story = [_title("Findings")]
    for verdict in (Verdict.FAIL, Verdict.CAUTION, Verdict.UNCHECKED):
        rows = [row for row in packet.findings if row.verdict is verdict]
        story += _heading(f"{verdict.upper()}: {len(rows)}")
        story += [KeepTogether([_finding(row, width)]) for row in rows]
    story += _heading(f"PASS: {packet.front.counts[Verdict.PASS]}")
    return story + [listed(_passed_head(p), p.reasons, 8, after=3) for p in passed(packet.findings)]


def _passed_head(group: Passed) -> str:
    return f"{group.rule} ({group.basis})" if group.basis else group.rule


def _finding(row: Row, width: float) -> Table:
    figures = [("value", row.value), ("limit", row.limit), ("worst at", row.worst)]
    line = ", ".join(f"{name} {text}" for name, text in figures if text)
    cells: Story = [para(row.id, 9.5, bold=True), para(row.why, 9)]
    cells += [para(line, 8.5)] if line else []
    cells += [labelled("Change", row.change, 9)] if row.change else []
    cells += [labelled("Needed", row.needs, 9)] if row.needs else []
    rests = "; ".join(filter(None, [row.basis, row.source and f"limit: {row.source}"]))
    cells += [labelled("Rests on", rests, 8)] if rests else []
    table = Table([[cells]], colWidths=[width], splitInRow=1)
    table.setStyle(TableStyle([("BOX", (0, 0), (-1, -1), 1, black), *padding(5, 3)]))
    return table


def _record(packet: Packet, width: float) -> Story:
    tests = packet.tests
    story: Story = [_title("Test record")]
    story += [para(f"Proof test with {how}.", 9, after=3) for how in dict.fromkeys(t.how for t in tests.lines)]
    story += [para(f"({number}) {note}", 9, after=3) for number, note in enumerate(tests.notes, 1)]
    rows = [["tag", "line", "stock", "proof pressure", *BLANKS]]
    for t in tests.lines:
        note = f" ({t.note})" if t.note else ""
        rows.append([t.tag, t.line, t.stock, f"{t.proof}{note}", *[""] * len(BLANKS)])
    shares = (0.07, 0.11, 0.13, 0.14, 0.1, 0.09, 0.1, 0.1, 0.08, 0.08)
    return [*story, grid(rows, [width * x for x in shares], room=8)]
