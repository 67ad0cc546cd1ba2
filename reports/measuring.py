"""The blank sheet to take to the vehicle: what to measure, in the order of the plan file, on two pages."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Any

ROW = 25.0  # pt: 9 mm, for a carpenter's pencil
DIAL = 15.0  # pt, the radius of a clock to mark


@dataclass(frozen=True, slots=True)
class Form:
    """A table to fill in."""

    title: str
    says: str
    names: tuple[str, ...]
    shares: tuple[float, ...]
    rows: int
    high: float = ROW
    first: tuple[str, ...] = ()
    """What stands in the first column of each row."""


ZERO = Form(
    "1  Where zero is",
    "One point, kept for every measure. x forward, y to the left, z up.",
    ("zero: what point, at ride height", "units", "air temp.", "altitude"),
    (52, 14, 17, 17),
    1,
)
PORTS = Form(
    "2  Ports",
    "Height alone will do where a place is out of reach. Points: forward, back, left, right, up, down, or between.",
    ("component.port", "x", "y", "z, height", "points", "thread: seat and size", "made of"),
    (25, 10, 10, 11, 14, 18, 12),
    15,
)
RUNS = Form(
    "3  Runs",
    "Which length: S seat to seat, O overall, C cut. Rise: the end over the start. Angles: of the ends at from and to. "
    "Clock: look along the hose, the end at from nearest with its outlet at 6 o'clock; mark the outlet of the other.",
    (
        "tag",
        "from",
        "to",
        "stock",
        "length",
        "S O C",
        "rise",
        "angles",
        "clock",
        "points x, y, z, or turn, inside radius",
    ),
    (7, 12, 12, 11, 9, 7, 7, 9, 8, 24),
    10,
    2 * DIAL + 4,
)
LEANS = Form(
    "4  Attitudes",
    "",
    ("it leans or pulls", "how much", "lasts"),
    (40, 34, 26),
    6,
    20.0,
    ("nose up", "nose down", "left low", "right low", "forward / braking", "turn left / right"),
)
DUTIES = Form(
    "5  Duties",
    "",
    ("duty", "boost", "fuel or power", "oil pressure", "fluid temp."),
    (22, 16, 22, 20, 20),
    6,
    20.0,
    ("idle", "", "full load", "", "", ""),
)
PUMPS = Form(
    "6  Pump, regulator",
    "Volts at the plug, pump working. Base: hose of its reference off.",
    ("duty", "volts", "amps", "regulator base"),
    (28, 22, 20, 30),
    3,
)
POINTS = Form(
    "7  Filter, turbocharger, cooler",
    "Points of flow and drop: with which fluid, how warm.",
    ("component", "fluid, temp.", "flow", "drop"),
    (32, 28, 20, 20),
    3,
)
TANKS = Form(
    "8  Tanks, sump",
    "Heights of the surface, level; sump: engine running.",
    ("tank or sump", "full", "low", "vent, pressure"),
    (34, 20, 20, 26),
    3,
)
HOT = Form(
    "9  Hot zones",
    "Nearest run and its gap, with the engine rolled.",
    ("what is hot", "how hot", "run", "gap"),
    (36, 22, 20, 22),
    3,
)

PAGES: tuple[tuple[tuple[Form, ...], ...], ...] = (
    ((ZERO,), (PORTS,), (LEANS, DUTIES)),
    ((RUNS,), (PUMPS, POINTS), (TANKS, HOT)),
)
"""Pages, bands of a page, and what stands side by side in a band."""


def draw_measuring_sheet() -> bytes:
    """The sheet as a PDF that fits Letter and A4 alike."""
    from reportlab.lib.pagesizes import A4, letter
    from reportlab.platypus import PageBreak, SimpleDocTemplate

    size = (min(A4[0], letter[0]), min(A4[1], letter[1]))
    margin = 34.0
    story: list[Any] = []
    for number, page in enumerate(PAGES, 1):
        story += [PageBreak()] if number > 1 else []
        story += _page(page, number, size[0] - 2 * margin)
    buffer = io.BytesIO()
    SimpleDocTemplate(
        buffer, pagesize=size, leftMargin=margin, rightMargin=margin, topMargin=margin - 6, bottomMargin=margin - 6,
        title="Measuring sheet", creator="linewright", producer="linewright", invariant=1, lang="en",
    ).build(story)  # fmt: skip
    return buffer.getvalue()


def _page(bands: tuple[tuple[Form, ...], ...], number: int, width: float) -> list[Any]:
    from reportlab.platypus import Spacer, Table

    from reports.pdfparts import BOLD, padding, para

    who = "vehicle ____________________  by ______________  date __________"
    head = Table(
        [[para(f"Measuring sheet {number} of {len(PAGES)}", 14, bold=True), para(who, 9)]],
        colWidths=[width * 0.4, width * 0.6],
    )
    head.setStyle([("VALIGN", (0, 0), (-1, -1), "BOTTOM"), *padding(0, 2), ("FONT", (0, 0), (-1, -1), BOLD)])
    story: list[Any] = [head]
    for band in bands:
        gap = 8.0
        own = (width - gap * (len(band) - 1)) / len(band)
        cells = [cell for form in band for cell in (_form(form, own), "")][:-1]
        widths = [w for _ in band for w in (own, gap)][:-1]
        beside = Table([cells], colWidths=widths)
        beside.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *padding(0, 0)])
        story += [beside, Spacer(1, 5)]
    return story


def _form(form: Form, width: float) -> list[Any]:
    from reportlab.lib.colors import black
    from reportlab.platypus import Table

    from reports.pdfparts import padding, para

    rows: list[list[Any]] = [[para(name, 8.5, bold=True) for name in form.names]]
    for n in range(form.rows):
        first = para(form.first[n], 9) if n < len(form.first) else ""
        rows.append([first, *(_dial() if name == "clock" else "" for name in form.names[1:])])
    table = Table(
        rows,
        colWidths=[width * share / sum(form.shares) for share in form.shares],
        rowHeights=[None, *[form.high] * form.rows],
    )
    grid = [("GRID", (0, 0), (-1, -1), 0.8, black), ("VALIGN", (0, 0), (-1, -1), "MIDDLE")]
    table.setStyle([*grid, ("ALIGN", (0, 1), (-1, -1), "CENTER"), *padding(3, 2)])
    return [para(form.title, 11.5, bold=True, before=2, after=1), para(form.says or " ", 8, after=2), table]


def _dial() -> Any:
    """A clock to mark: A at 6 o'clock, a tick at each quarter."""
    from reportlab.graphics.shapes import Circle, Drawing, Line, String
    from reportlab.lib.colors import black

    from reports.pdfparts import BOLD, glyphs

    glyphs()
    across = 2 * DIAL
    drawing, inner = Drawing(across, across), DIAL - 1.5
    drawing.add(Circle(DIAL, DIAL, inner, fillColor=None, strokeColor=black, strokeWidth=0.8))
    for x, y in ((0, 1), (1, 0), (-1, 0)):
        ends = [DIAL + reach * part for reach in (inner - 4, inner) for part in (x, y)]
        drawing.add(Line(*ends, strokeColor=black, strokeWidth=0.8))
    drawing.add(Line(DIAL, DIAL, DIAL, DIAL - inner, strokeColor=black, strokeWidth=1.6))
    drawing.add(String(DIAL + 2.5, 6.0, "A", fontName=BOLD, fontSize=6))
    return drawing
