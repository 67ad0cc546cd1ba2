"""Draws worked calculations, black on white: each line large enough to follow with a finger and a pocket calculator."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

from reportlab.lib.colors import black
from reportlab.platypus import PageBreak, Spacer, Table, TableStyle

from reports.pdf import bound, room_of
from reports.pdfgrid import columns, grid
from reports.pdflists import heading, title
from reports.pdfparts import BOLD, PLAIN, Measured, brief, labelled, padding, para, size_to_fit, wide
from reports.worked import ASK, READ

if TYPE_CHECKING:
    from reports.equations import Step
    from reports.front import Front
    from reports.pdflists import Story
    from reports.worked import Calculations
    from reports.workedsheet import Section, Worked

LARGEST = 34.0  # pt, of the loss
TAG = 26.0  # pt
RESULTS = 0.26
"""Share of the width that the results have."""
SIZE, SMALLER, SMALL = 9.0, 8.25, 7.5  # pt; the middle one where an equation then fits one line
ACROSS = 2.0  # pt, inside a cell
MOST, MOST_SHORT = 2400, 300
"""Characters of an equation and of a name; the rest stands in worked.csv."""


def worked_pdf(worked: Calculations, front: Front, paper: str) -> bytes:
    """The calculations as one PDF file.

    Args:
        worked: the content.
        front: of the packet that they go with.
        paper: a key of `PAPERS`.
    """
    return bound(front, _story(worked, room_of(paper)[0]), paper, "Worked calculation")


def _story(worked: Calculations, width: float) -> Story:
    story: Story = [title("Worked calculation"), para(ASK, SIZE, after=6)]
    for n, one in enumerate(worked.sheets):
        story += [PageBreak()] if n else []
        story += _sheet(one, width)
    if worked.missing:
        rows = [["run", "duty", "why it is not worked out"], *([one.tag, one.duty, one.why] for one in worked.missing)]
        story += [*heading("No numbers"), grid(rows, widths=columns(rows, width))]
    return story


def _sheet(one: Worked, width: float) -> Story:
    sources = list(dict.fromkeys(source for step in one.steps for source in step.sources))
    numbers = {source: n for n, source in enumerate(sources, 1)}
    story: Story = [_head(one, width), Spacer(1, 4)]
    story += [labelled(name, text, SIZE, after=1.5) for name, text in one.facts]
    story += [para(note, SIZE, after=1.5) for note in one.notes]
    story += [para(READ, SMALL, before=3)]
    for section in one.sections:
        story += [*heading(section.title), _lines(section, numbers, width)]
    story += heading("Sources")
    return [*story, *(para(f"[{n}] {source}", SMALL, after=1.5) for source, n in numbers.items())]


def _head(one: Worked, width: float) -> Table:
    """The loss, first and largest, and the run that it is of."""
    left, right = width * 0.62, width * 0.38
    loss = para(one.loss, size_to_fit(one.loss, BOLD, LARGEST, left - 16), bold=True, leading=1.15)
    tag = para(one.tag, size_to_fit(one.tag, BOLD, TAG, right - 16), bold=True, leading=1.15)
    cells = [
        [para("LOSS OF TOTAL PRESSURE FROM A TO B", SIZE, bold=True), loss],
        [tag, para(f"{one.line}, {one.duty}", 11)],
    ]
    table = Table([cells], colWidths=[left, right])
    table.setStyle(
        TableStyle([("BOX", (0, 0), (-1, -1), 2, black), ("VALIGN", (0, 0), (-1, -1), "TOP"), *padding(8, 5)])
    )
    return table


def _lines(section: Section, numbers: dict[str, int], width: float) -> Measured:
    """The lines of a section: what is worked out to the left, what comes of it to the right."""
    said: set[str] = set()
    rows = []
    for step in section.steps:
        factor = "" if step.factor in said else step.factor
        rows.append([_working(step, numbers, factor, width * (1 - RESULTS) - 2 * ACROSS), _result(step)])
        said.add(step.factor)
    table = Measured(rows, colWidths=[width * (1 - RESULTS), width * RESULTS])
    rules: list[tuple[Any, ...]] = [
        ("LINEABOVE", (0, 0), (-1, -1), 0.4, black), ("LINEBELOW", (0, -1), (-1, -1), 0.4, black),
        *[("LINEABOVE", (0, n), (-1, n), 1.4, black) for n in _beginnings(section)],
        ("VALIGN", (0, 0), (0, -1), "TOP"), ("VALIGN", (1, 0), (1, -1), "BOTTOM"), *padding(ACROSS, 1.5),
    ]  # fmt: skip
    table.setStyle(TableStyle(rules))
    return table


def _beginnings(section: Section) -> list[int]:
    """Rows at which something is given after something was worked out: another bore, another curve."""
    return [n for n, (before, step) in enumerate(pairwise(section.steps), 1) if before.numbers and not step.numbers]


def _working(step: Step, numbers: dict[str, int], factor: str, width: float) -> Story:
    marks = "".join(f"[{numbers[source]}]" for source in step.sources)
    name = brief(step.name, MOST_SHORT)
    if not step.numbers:
        return [labelled(name, marks, SIZE)]
    formula = f"{brief(step.formula, MOST)}  {marks}"
    one_line = wide(f"{name}  ", BOLD, SIZE) + wide(formula, PLAIN, SIZE) < width
    cell: Story = [labelled(name, formula, SIZE)] if one_line else [para(name, SIZE, bold=True), para(formula, SIZE)]
    put_in = f"= {brief(step.numbers, MOST)}"
    cell.append(para(put_in, max(size_to_fit(put_in, PLAIN, SIZE, width), SMALLER)))
    small = "; ".join(filter(None, [factor, step.note]))
    return [*cell, *([para(small, SMALL)] if small else [])]


def _result(step: Step) -> Story:
    symbol = step.formula.partition(" = ")[0]
    cell: Story = [para(f"{symbol} = {step.result} {step.unit}".rstrip(), SIZE + 1.5, bold=True)]
    cell += [para(step.share, SIZE, bold="LARGEST" in step.share)] if step.share else []
    return [*cell, *([para(step.note, SMALL, bold=True)] if step.note and not step.numbers else [])]
