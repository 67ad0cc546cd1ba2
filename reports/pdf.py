"""Draws a packet as PDF, black on white. It computes nothing: every text comes from the content."""

from __future__ import annotations

import io
from functools import partial
from typing import TYPE_CHECKING, Any

from reportlab.lib.colors import black
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Frame, PageBreak, PageTemplate, Spacer, Table, TableStyle

from reports.figures import BLANK
from reports.pdfblock import Room, bench_story
from reports.pdfdrains import drain_story
from reports.pdffindings import findings_story
from reports.pdffuel import fuel_story
from reports.pdfgrid import columns, grid
from reports.pdflists import cut_story, heading, joint_story, order_story, record_story
from reports.pdfparts import BOLD, PLAIN, drawable, fitted, labelled, padding, para
from reports.pdfschematic import schematic_story, sheets_of
from reports.pdfvehicle import vehicle_story

if TYPE_CHECKING:
    from collections.abc import Callable

    from reports.front import Front
    from reports.packet import Packet
    from reports.pdflists import Story

    Edges = Callable[[Any, int, int], None]
    """Draws head and foot on a page with its number and the number of all."""

PAPERS: dict[str, tuple[float, float]] = {"letter": LETTER, "a4": A4}
MARGIN = 34.0  # pt
HEAD, FOOT = 16.0, 11.0  # pt, between the margin and the text


def pdf_bytes(packet: Packet, paper: str, say: Callable[[str], None] = lambda _: None) -> bytes:
    """The whole packet as one PDF file.

    Args:
        packet: the content.
        paper: a key of `PAPERS`.
        say: is told what is being drawn.
    """
    story = _story(packet, room_of(paper), say)
    say("drawing: pages")
    return bound(packet.front, story, paper, "Bench sheets")


def bound(front: Front, story: Story, paper: str, subject: str) -> bytes:
    """A story as one PDF file, with the head and foot that every page of a plan's sheets has."""
    width, height = PAPERS[paper]
    frame = Frame(
        MARGIN, MARGIN + FOOT, *room_of(paper), leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0
    )  # fmt: skip
    out = io.BytesIO()
    document = BaseDocTemplate(
        out, pagesize=(width, height), invariant=1, lang="en", title=drawable(front.title), author="",
        subject=subject, creator="linewright", producer="linewright",
    )  # fmt: skip
    document.addPageTemplates(PageTemplate("page", [frame]))
    document.build(story, canvasmaker=partial(_Counted, edges=_edges(front, width, height)))
    return out.getvalue()


class _Counted(Canvas):  # type: ignore[misc] # the library has no types
    """Keeps its pages until their number is known, and then draws the edges of each."""

    def __init__(self, *arguments: Any, edges: Edges, **more: Any) -> None:
        super().__init__(*arguments, **more)
        self.edges = edges
        self.kept: list[dict[str, Any]] = []

    def showPage(self) -> None:  # noqa: N802 - the library's name
        self.kept.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        kept = self.kept
        for number, page in enumerate(kept, 1):
            self.__dict__.update(page)
            self.edges(self, number, len(kept))
            super().showPage()
        super().save()


def room_of(paper: str) -> tuple[float, float]:
    """Width and height of what a page holds [pt]."""
    width, height = PAPERS[paper]
    return width - 2 * MARGIN, height - 2 * MARGIN - HEAD - FOOT


def _edges(front: Front, width: float, height: float) -> Edges:
    """Draws the head and the foot of every page."""
    number_room, gap = 90.0, 12.0
    revision = fitted(f"revision {front.revision}", PLAIN, 9, 150.0)
    revision_room = stringWidth(revision, PLAIN, 9) + gap
    title = fitted(front.title, BOLD, 9, width - 2 * MARGIN - revision_room - number_room)

    def draw(canvas: Any, number: int, pages: int) -> None:
        canvas.setFillColor(black)
        canvas.setFont(BOLD, 9)
        canvas.drawString(MARGIN, height - MARGIN - 8, title)
        canvas.setFont(PLAIN, 9)
        canvas.drawRightString(width - MARGIN - number_room, height - MARGIN - 8, revision)
        canvas.drawRightString(width - MARGIN, height - MARGIN - 8, f"page {number} of {pages}")
        canvas.setLineWidth(0.8)
        canvas.line(MARGIN, height - MARGIN - 13, width - MARGIN, height - MARGIN - 13)
        canvas.setFont(PLAIN, 7.5)
        canvas.drawString(MARGIN, MARGIN, front.units)
        canvas.drawRightString(width - MARGIN, MARGIN, "A planning aid: verify every figure by measurement.")

    return draw


def _story(packet: Packet, room: tuple[float, float], say: Callable[[str], None]) -> Story:
    width = room[0]
    sections: dict[str, Callable[[], Story]] = {
        "front": lambda: _front(packet, width),
        "schematics": lambda: schematic_story([s for one in packet.sketches for s in sheets_of(one, *room)], width),
        "lines of the vehicle": lambda: vehicle_story(packet.vehicle, packet.system, *room),
        "fuel": lambda: fuel_story(packet.fuel, room),
        "drains": lambda: drain_story(packet.drains, room),
        "joint list": lambda: joint_story(packet, width),
        "bench sheets": lambda: bench_story(packet.blocks, Room(*room, packet.system)),
        "cut list": lambda: cut_story(packet, width),
        "order list": lambda: order_story(packet, width),
        "findings": lambda: findings_story(packet, width),
        "test record": lambda: record_story(packet, width),
    }
    story: Story = []
    for name, section in sections.items():
        say(f"drawing: {name}")
        made = section()
        story += [PageBreak()] if story and made else []
        story += made
    return story


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
    story += [labelled("FAILS", ", ".join(front.fails), 9.5, after=2)] if front.fails else []
    story += [para(f"Cut lengths  {line}", 9.5, bold=True, after=2) for line in front.cuts]
    story += heading("Cautions")
    story += [para(f"-  {text}", 9, after=2.5) for text in front.cautions[1:]]
    return [*story, *heading("Assemblies"), _assemblies(packet, width)]


def _assemblies(packet: Packet, width: float) -> Table:
    rows = [["tag", "line", "circuit", "stock", "from", "to", "cut length"]]
    for block in packet.blocks:
        length = block.cut.tape.text if block.cut.tape else BLANK
        cut = " ".join(filter(None, [length, block.cut.word]))
        start, end = (e.port for e in block.ends)
        rows.append([block.tag, block.line, block.circuit, block.stock, start, end, cut])
    return grid(rows, widths=columns(rows, width), room=1.2)
