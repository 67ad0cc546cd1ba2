"""Draws the lists of the packet: joints, pieces to cut, things to order, tests."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any

from reportlab.lib.colors import black
from reportlab.platypus import CondPageBreak, Table, TableStyle

from lines.finding import Verdict
from reports.cutlist import ALLOWANCE
from reports.figures import BLANK
from reports.jointlist import SPANNERS
from reports.orders import LEFT_OUT
from reports.pdfparts import brief, grid, padding, para
from reports.record import BLANKS

if TYPE_CHECKING:
    from reports.jointlist import JointRow
    from reports.packet import Packet

Story = list[Any]

MOST = 300
"""Characters of a cell of the joint list; the rest stands in the table of that name."""


GROUPS = {"hose": "Hose and tube", "end": "Ends", "adapter": "Adapters", "seal": "Seals", "small part": "Small parts"}


def title(text: str) -> Any:
    """The title of a section."""
    return para(text, 15, bold=True, after=6)


def heading(text: str, size: float = 12) -> Story:
    """A heading [pt] that does not stay alone at the foot of a page."""
    return [CondPageBreak(90), para(text, size, bold=True, before=8, after=3)]


def joint_story(packet: Packet, width: float) -> Story:
    """The joint list of a packet, to a width [pt]."""
    names = ["verdict", "joint", "port", "its seat and thread", "hose end", "adapter", "seals", "nut", "torque"]
    shares = (0.095, 0.07, 0.14, 0.14, 0.14, 0.125, 0.125, 0.075, 0.09)
    fails = sum(joint.verdict is Verdict.FAIL for joint in packet.joints)
    says = f"{len(packet.joints)} joints, {fails or 'none'} that fail{'s' if fails == 1 else ''}. {SPANNERS}"
    table = Table(
        [[para(name, 8, bold=True) for name in names], *(row for joint in packet.joints for row in _joint_rows(joint))],
        colWidths=[width * share for share in shares],
        repeatRows=1,
    )
    table.setStyle(TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *padding(3, 2.5), *_joint_rules(packet.joints)]))
    return [title("Joint list"), para(says, 9, after=6), table]


def _joint_rows(joint: JointRow) -> list[list[Any]]:
    """The row of a joint, and under it one over the whole width where something is to be said."""
    fails = joint.verdict is Verdict.FAIL
    verdict = "" if joint.verdict is None else str(joint.verdict)
    place = f"{joint.tag} {joint.end}"
    texts = [joint.port, joint.seat or BLANK, joint.hose_end or BLANK, joint.adapter, joint.seals, joint.hex or BLANK]
    cells = [para(verdict.upper() if fails else verdict, 8, bold=fails), para(brief(place, MOST), 8, bold=True)]
    row = [*cells, *(para(brief(text, MOST), 8) for text in texts), ""]
    return [row, [para(brief(joint.why, 4 * MOST), 8, bold=fails), *[""] * 8]] if joint.why else [row]


def _joint_rules(joints: list[JointRow]) -> list[tuple[Any, ...]]:
    """The lines of the table: around every row, what is said of a joint with it."""
    rules: list[tuple[Any, ...]] = [("GRID", (0, 0), (-1, 0), 0.5, black)]
    at = 1
    for joint in joints:
        rules.append(("INNERGRID", (0, at), (-1, at), 0.5, black))
        rules.append(("BOX", (0, at), (-1, at + bool(joint.why)), 1.2 if joint.verdict is Verdict.FAIL else 0.5, black))
        if joint.why:
            rules += [("SPAN", (0, at + 1), (-1, at + 1)), ("NOSPLIT", (0, at), (-1, at + 1))]
        at += 1 + bool(joint.why)
    return rules


def cut_story(packet: Packet, width: float) -> Story:
    """The cut list of a packet, to a width [pt]."""
    story: Story = [title("Cut list"), para(ALLOWANCE, 9, after=6)]
    for stock in packet.cut:
        rows = [["tag", "line", "cut length", "exact", "state", "end A", "end B"]]
        for p in stock.pieces:
            tape, exact = (x.text if x is not None else BLANK for x in (p.cut.tape, p.cut.exact))
            rows.append([p.tag, p.line, tape, exact, p.cut.word, *p.ends])
        total = f"total {stock.total.text}" + (f"; {stock.open}" if stock.open else "")
        story += heading(f"{stock.stock.id}  ({stock.size})   {total}", 10.5)
        story += [grid(rows, [width * x for x in (0.08, 0.14, 0.15, 0.11, 0.16, 0.18, 0.18)])]
    return story


def order_story(packet: Packet, width: float) -> Story:
    """The order list of a packet, by sort, to a width [pt]."""
    story: Story = [title("Order list"), para(f"{ALLOWANCE} {LEFT_OUT}", 9, after=2), *_not_chosen(packet, width)]
    more = [name for name in ("part", "price") if any(getattr(i, name) for i in packet.items)]
    shares = [0.24, 0.41 - 0.1 * len(more), 0.17, *[0.1] * len(more), 0.18]
    for sort, group in itertools.groupby(packet.items, key=lambda i: i.sort):
        rows = [["id", "what", "quantity", *more, "note"]]
        for i in group:
            what = "" if i.means == i.id else i.means
            rows.append([i.id, what, i.says, *(getattr(i, name) for name in more), i.note])
        story += heading(GROUPS[sort], 10.5)
        story += [grid(rows, [width * share for share in shares])]
    return story


def _not_chosen(packet: Packet, width: float) -> Story:
    story = heading("Not chosen yet", 10.5)
    if not packet.lacks:
        return [*story, para("Nothing: every end, thread and cut length is known.", 9)]
    lacks = [["where", "what"], *([lack.place, lack.what] for lack in packet.lacks)]
    return [*story, grid(lacks, [width * 0.3, width * 0.7])]


def record_story(packet: Packet, width: float) -> Story:
    """The test record of a packet, to a width [pt]."""
    tests = packet.tests
    story: Story = [title("Test record")]
    story += [para(f"Proof test with {how}.", 9, after=3) for how in dict.fromkeys(t.how for t in tests.lines)]
    story += [para(f"({number}) {note}", 9, after=3) for number, note in enumerate(tests.notes, 1)]
    rows = [["tag", "line", "stock", "proof pressure", *BLANKS]]
    for t in tests.lines:
        note = f" ({t.note})" if t.note else ""
        rows.append([t.tag, t.line, t.stock, f"{t.proof}{note}", *[""] * len(BLANKS)])
    shares = (0.07, 0.11, 0.13, 0.14, 0.1, 0.09, 0.1, 0.1, 0.08, 0.08)
    return [*story, grid(rows, [width * x for x in shares], room=8)]
