"""Draws the findings: what needs a hand in full, passes in a line for each rule."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportlab.lib.colors import black
from reportlab.platypus import KeepTogether, Table, TableStyle

from lines.finding import Verdict
from reports.byhand import HEAD
from reports.pdflists import heading, title
from reports.pdfparts import brief, labelled, padding, para

if TYPE_CHECKING:
    from reports.packet import Packet
    from reports.pdflists import Story
    from reports.verdicts import Told

GRADES = (
    "(memory): rests on a figure from memory, check it against the standard. (illustrative): rests on a made-up "
    "figure, put your supplier's in the shop's folder. Every pass with its figures stands in findings.csv."
)
MOST = 1500
"""Characters of the places of one finding; all of them stand in findings.csv."""


def findings_story(packet: Packet, width: float) -> Story:
    """The findings of a packet, to a width [pt]."""
    story: Story = [title("Findings"), para(GRADES, 8, after=2)]
    for verdict in (Verdict.FAIL, Verdict.CAUTION, Verdict.UNCHECKED):
        story += heading(f"{verdict.upper()}: {packet.front.counts[verdict]}")
        story += [KeepTogether([_told(one, width)]) for one in packet.told if one.row.verdict is verdict]
    story += heading(f"PASS: {packet.front.counts[Verdict.PASS]}")
    for line in packet.passes:
        grade = f" ({line.grade})" if line.grade else ""
        story.append(labelled(line.head, f"{line.says}{grade}", 8.5, after=2))
    story += heading(HEAD) if packet.by_hand else []
    story += [para(f"[  ]  {line}", 9, after=2.5) for line in packet.by_hand]
    return story


def _told(one: Told, width: float) -> Table:
    row = one.row
    figures = [("value", row.value), ("limit", row.limit), ("worst at", row.worst)]
    line = ", ".join(f"{name} {text}" for name, text in figures if text)
    cells: Story = [para(brief(one.head, MOST), 9.5, bold=True), para(row.why, 9)]
    cells += [para(line, 8.5)] if line else []
    cells += [labelled("Change", row.change, 9)] if row.change else []
    cells += [labelled("Needed", row.needs, 9)] if row.needs else []
    rests = "; ".join(filter(None, [row.basis, row.source and f"limit: {row.source}"]))
    cells += [labelled("Rests on", rests, 8)] if rests else []
    table = Table([[cells]], colWidths=[width], splitInRow=1)
    table.setStyle(TableStyle([("BOX", (0, 0), (-1, -1), 1, black), *padding(5, 3)]))
    return table
