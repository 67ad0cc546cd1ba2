"""Draws the drains of the turbochargers: a page for each."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportlab.lib.colors import black
from reportlab.platypus import PageBreak, Spacer, Table, TableStyle

from lines.finding import Verdict
from reports.drains import NoDrain
from reports.pdfenvelope import LEGEND as ENVELOPE_LEGEND
from reports.pdfenvelope import envelope_drawing
from reports.pdfgrid import columns, grid
from reports.pdflists import title
from reports.pdfparts import labelled, padding, para
from reports.pdfprofile import LEGEND as PROFILE_LEGEND
from reports.pdfprofile import profile_drawing, profile_frame

if TYPE_CHECKING:
    from reports.drainprofile import Profile
    from reports.drains import DrainPage
    from reports.pdflists import Story

FACTS = 182.0  # pt, of the column beside the profile
TALL, SHORT = 240.0, 190.0  # pt, of the profiles at most and at least
LOW = 0.58
"""Share of that height which the worst profile has, where the level one is under it and not beside it."""
NAMES = 48.0  # pt, of it for names
GAP = 6.0  # pt
ROW = 7.5  # pt, of the type of the table
SMALLEST, WANTED, LARGEST = 180.0, 225.0, 268.0  # pt, of the envelope
LIMITS = 9.0  # pt, of the type of the limits
COLUMNS = (
    "t: transient; falls: the flattest piece; place: where its upper end lies, from end A of its run; even flow: "
    "deepest, over the bore, or the Froude number of a line that is steep throughout; oil: against the flooding point, "
    "at the duty in which it stands highest; end: the lower end of the drain over the oil in the sump; verdict: with "
    "the rules that find so."
)
_ASKS = {Verdict.UNCHECKED: "Measure"}
"""What the page asks for under its verdict; else to do something."""
HEADS = ["", "attitude", "lean", "falls", "place", "even flow", "oil", "end", "verdict"]


def drain_story(pages: list[DrainPage | NoDrain], room: tuple[float, float]) -> Story:
    """The drains, each on a page of its own, in a room [pt]."""
    story: Story = []
    for page in pages:
        story += [PageBreak()] if story else []
        story += _unknown(page) if isinstance(page, NoDrain) else _page(page, *room)
    return story


def _unknown(page: NoDrain) -> Story:
    story: Story = [title(f"Oil drain of {page.turbo}")]
    story += [para(page.says, 11, bold=True, after=6)]
    needed = [("Needed", page.needs)] if page.needs else []
    return [*story, *(labelled(word, text, 11, after=4) for word, text in [*needed, *page.lines])]


def _page(page: DrainPage, width: float, height: float) -> Story:
    says = _boxed(para(page.says, 11, bold=True), width, 1.6 if page.verdict is Verdict.FAIL else 0.8)
    do = [labelled(_ASKS.get(page.verdict, "Do"), page.do, 8.5, before=3)] if page.do else []
    first: Story = [title(f"Oil drain of {page.turbo}"), para(page.way, 9, after=3), says, *do, Spacer(1, GAP)]
    table: Story = [
        para(PROFILE_LEGEND, 7, before=2, after=GAP),
        _rows(page, width),
        para(COLUMNS, 7, before=2, after=GAP),
    ]
    left = height - sum(_high(part, width, height) for part in [*first, *table])
    profiles = _profiles(page, width, min(max(left - WANTED, SHORT), TALL))
    left -= _high(profiles, width, height)
    story: Story = [*first, profiles, *table]
    if page.polar is None:
        return [*story, *(para(note, 8.5, after=3) for note in page.notes)]
    return [*story, _envelope(page, width, min(max(left, SMALLEST), LARGEST))]


def _high(part: Any, width: float, height: float) -> float:
    """How much of a page a part takes [pt], with the room around it."""
    around = part.getSpaceBefore() + part.getSpaceAfter() if hasattr(part, "getSpaceBefore") else 0.0
    return float(part.wrap(width, height)[1] + around)


def _boxed(part: Any, width: float, wide: float) -> Table:
    table = Table([[part]], colWidths=[width])
    table.setStyle(TableStyle([("BOX", (0, 0), (-1, -1), wide, black), *padding(5, 3)]))
    return table


def _profiles(page: DrainPage, width: float, tall: float) -> Table:
    """The worst profile with its facts and the level one, as they fill a height [pt] best."""
    worst, system = page.profiles[0], page.system
    beside, over = (width - FACTS - GAP, tall), (width, tall * LOW)
    level = page.profiles[1:]
    if profile_frame(worst, *beside).scale <= profile_frame(worst, *over).scale:
        facts = _facts(worst)
        _, high = facts.wrap(FACTS, tall)
        more = [Spacer(1, GAP), *(profile_drawing(p, system, FACTS, tall - high - GAP) for p in level)]
        return _cells([[profile_drawing(worst, system, *beside), [facts, *more]]], [beside[0] + GAP, FACTS])
    rest = width - FACTS - GAP
    second = [profile_drawing(p, system, rest, tall * (1 - LOW)) for p in level]
    below = _cells([[second, _facts(worst)]], [rest + GAP, FACTS])
    return _cells([[profile_drawing(worst, system, *over)], [below]], [width])


def _cells(rows: list[list[Any]], widths: list[float]) -> Table:
    table = Table(rows, colWidths=widths)
    table.setStyle(TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *padding(0, 0)]))
    return table


def _facts(seen: Profile) -> Table:
    """What stands beside the worst profile."""
    rows = [[para(name, 8.5), para(text, 8.5, bold=True)] for name, text in seen.facts]
    table = Table(rows, colWidths=[NAMES, FACTS - NAMES])
    table.setStyle(TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *padding(2, 0.8)]))
    return table


def _rows(page: DrainPage, width: float) -> Any:
    """Every attitude in a line."""
    rows = [HEADS]
    for row in page.rows:
        attitude, lean = row.state.attitude, row.lean.partition(" deg, ")[2] or row.lean
        number = f"{row.number}" if attitude.sustained else f"{row.number} t"
        rows.append([number, attitude.name, lean, row.slope, row.where, row.depth, row.under, row.over, row.verdict])
    return grid(rows, widths=columns(rows, width, size=ROW), room=1.2, size=ROW)


def _envelope(page: DrainPage, width: float, size: float) -> Table:
    """The polar plot, and beside it the limits in numbers."""
    assert page.polar is not None
    beside = width - size - 2 * GAP
    heads = ["may lean", *(f"{oil} oil" for oil in page.oils)]
    rows = [heads, *([limit.way, *limit.texts] for limit in page.limits)]
    words: Story = [grid(rows, widths=columns(rows, beside, size=LIMITS), room=2.0, size=LIMITS)]
    words += [para(ENVELOPE_LEGEND, 7, before=4)]
    words += [para(note, 7, before=2) for note in page.notes]
    return _cells([[envelope_drawing(page.polar, size), words]], [size + 2 * GAP, beside])
