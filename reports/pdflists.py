"""Draws the lists of the packet: joints, pieces to cut, things to order, tests."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any

from reportlab.lib.colors import black
from reportlab.platypus import CondPageBreak, TableStyle

from catalogs.grades import Grade
from lines.finding import Verdict
from reports.cutlist import ALLOWANCE
from reports.figures import BLANK
from reports.jointlist import SPANNERS
from reports.orders import LEFT_OUT
from reports.pdfgrid import cell, columns, grid, roomy, ruled
from reports.pdfparts import BOLD, Measured, brief, para
from reports.record import BLANKS

if TYPE_CHECKING:
    from reports.cutlist import Piece, StockPieces
    from reports.jointlist import JointRow
    from reports.packet import Packet

Story = list[Any]
Rules = list[tuple[Any, ...]]

MOST = 300
"""Characters of a cell of the joint list; the rest stands in the table of that name."""


RECORD_ROOM, RECORD_DOWN = 38.0, 5.5  # pt, to write in
GROUPS = {"hose": "Hose and tube", "end": "Ends", "adapter": "Adapters", "seal": "Seals", "small part": "Small parts"}


def title(text: str) -> Any:
    """The title of a section."""
    return para(text, 15, bold=True, after=6)


def heading(text: str, size: float = 12) -> Story:
    """A heading [pt] that does not stay alone at the foot of a page."""
    return [CondPageBreak(90), para(text, size, bold=True, before=8, after=3)]


JOINT_SIZE = 7.5  # pt
TORQUE = 40.0  # pt, room to write


def joint_story(packet: Packet, width: float) -> Story:
    """The joint list of a packet, to a width [pt]: A and B of a run in one box, what is wrong with one under it."""
    rows = [["run", "", "port", "its seat", "hose end", "adapter", "seals", "nut", "torque"]]
    boxes: Rules = []
    runs = [list(group) for _, group in itertools.groupby(packet.joints, key=lambda joint: joint.tag)]
    said: dict[int, JointRow] = {}
    for pair in runs:
        first = len(rows)
        for joint in pair:
            rows.append([joint.tag if joint is pair[0] else joint.stock, *_joint_row(joint)])
            if joint.why:
                said[len(rows)] = joint
                rows.append([""] * len(rows[0]))
        boxes += _run_box(first, len(rows) - 1, fails=any(joint.verdict is Verdict.FAIL for joint in pair))
    widths = columns(rows, width, size=JOINT_SIZE, least={8: TORQUE})
    cells = [
        [cell(text, w, bold=not n, size=JOINT_SIZE) for text, w in zip(row, widths, strict=True)]
        for n, row in enumerate(rows)
    ]
    for n, joint in said.items():
        cells[n][1] = para(_said(joint), JOINT_SIZE, bold=joint.verdict is Verdict.FAIL)
        boxes += [("SPAN", (1, n), (-1, n)), ("NOSPLIT", (0, n - 1), (-1, n))]
    table = Measured(cells, colWidths=widths, repeatRows=1)
    table.setStyle(TableStyle([*ruled(JOINT_SIZE), *roomy(1.2), ("INNERGRID", (1, 0), (-1, -1), 0.4, black), *boxes]))
    return [title("Joint list"), para(_joints_say(packet), 8.5, after=6), table]


def _joints_say(packet: Packet) -> str:
    fails = sum(joint.verdict is Verdict.FAIL for joint in packet.joints)
    says = f"{fails} that fail{'s' if fails == 1 else ''}, first" if fails else "none that fails"
    return f"{len(packet.joints)} joints, {says}. {SPANNERS}"


def _joint_row(joint: JointRow) -> list[str]:
    nut = joint.hex.replace(f"({Grade.MEMORY})", "*").replace(f"({Grade.ILLUSTRATIVE})", "**") or BLANK
    texts = [joint.port, joint.seat or BLANK, joint.form or BLANK, joint.adapter, joint.seals, nut, ""]
    return [joint.end, *(brief(text, MOST) for text in texts)]


def _said(joint: JointRow) -> str:
    loud = "" if joint.verdict is None else f"{joint.verdict.upper()}: "
    return brief(f"{loud}{joint.why}", 4 * MOST)


def _run_box(first: int, last: int, *, fails: bool) -> Rules:
    """The lines around the rows of a run, which stay on one page."""
    rules: Rules = [("BOX", (0, first), (-1, last), 1.6 if fails else 0.8, black)]
    rules += [("FONT", (0, first), (0, first), BOLD, JOINT_SIZE), ("LINEAFTER", (0, first), (0, last), 0.4, black)]
    return [*rules, ("NOSPLIT", (0, first), (-1, last))]


def cut_story(packet: Packet, width: float) -> Story:
    """The cut list of a packet, to a width [pt]."""
    loud = [para(line, 9, bold=True, after=2) for line in packet.front.cuts]
    story: Story = [title("Cut list"), para(ALLOWANCE, 9, after=4), *loud]
    names = ["tag", "line", "cut length", "exact", "state", "end A", "end B"]
    tables = [[names, *(_piece(stock, piece) for piece in stock.pieces)] for stock in packet.cut]
    # One width for all, so that the lengths stand under each other.
    widths = columns([names, *(row for rows in tables for row in rows[1:])], width)
    for stock, rows in zip(packet.cut, tables, strict=True):
        total = f"total {stock.total.text}" + (f"; {stock.open}" if stock.open else "")
        story += heading(f"{stock.stock.id}  ({stock.size})   {total}", 10)
        story += [grid(rows, widths=widths, room=1.2)]
    return story


def _piece(stock: StockPieces, piece: Piece) -> list[str]:
    tape, exact = (x.text if x is not None else BLANK for x in (piece.cut.tape, piece.cut.exact))
    ends = [end.removeprefix(f"{stock.stock.id} ") for end in piece.ends]
    return [piece.tag, piece.line, tape, exact, piece.cut.word, *ends]


def order_story(packet: Packet, width: float) -> Story:
    """The order list of a packet, by sort, to a width [pt]."""
    story: Story = [title("Order list"), para(f"{ALLOWANCE} {LEFT_OUT}", 9, after=2), *_not_chosen(packet, width)]
    more = [name for name in ("part", "price") if any(getattr(i, name) for i in packet.items)]
    tables = {}
    for sort, group in itertools.groupby(packet.items, key=lambda i: i.sort):
        rows = [["id", "what", "quantity", *more, "note"]]
        for i in group:
            what = "" if i.means == i.id else i.means
            rows.append([i.id, what, i.says, *(getattr(i, name) for name in more), i.note])
        tables[sort] = rows
    widths = columns([row for rows in tables.values() for row in rows], width) if tables else []
    for sort, rows in tables.items():
        story += heading(GROUPS[sort], 10)
        story += [grid(rows, widths=widths, room=1.2)]
    return story


def _not_chosen(packet: Packet, width: float) -> Story:
    story = heading("Not chosen yet", 10.5)
    if not packet.lacks:
        return [
            *story,
            para("Nothing: every end, thread, seal and cut length is chosen; what is provisional says so.", 9),
        ]
    lacks = [["where", "what"], *([lack.place, lack.what] for lack in packet.lacks)]
    return [*story, grid(lacks, widths=[width * 0.3, width * 0.7], room=1.2)]


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
    room = dict.fromkeys(range(4, 4 + len(BLANKS)), RECORD_ROOM)
    widths = columns(rows, width, size=JOINT_SIZE, least=room)
    return [*story, grid(rows, widths=widths, room=RECORD_DOWN, size=JOINT_SIZE)]
