"""The blank sheet to take to the vehicle: what to measure, in the order of the plan file."""

from __future__ import annotations

import io
from typing import Any

HEADINGS = (
    (
        "1  Where zero is",
        "Choose one point on the floor or the chassis and keep it. x forward, y to the left, z up.",
        ("zero (what, at ride height)", "units", "air temperature", "altitude"),
        (30, 12, 14, 14),
        1,
    ),
    (
        "2  Ports",
        "Height alone will do where a place is out of reach. Points: forward, back, left, right, up, down, or between.",
        ("component.port", "thread, seat, size", "x", "y", "z (height)", "points"),
        (24, 18, 9, 9, 11, 16),
        14,
    ),
    (
        "3  Runs",
        "Say which length it is: seat to seat, overall, or cut. Rise: how much higher its end lies than its start.",
        ("tag", "from", "to", "stock", "length", "which", "rise", "corners x, y, z, or turn and inside radius"),
        (6, 13, 13, 12, 9, 8, 8, 27),
        14,
    ),
    (
        "4  Running",
        "Voltage at the plug with the pump working, not at the battery. Boost of the manifold, vacuum as minus.",
        ("duty", "boost", "fuel or power", "volts at pump", "oil pressure", "fluid temperature"),
        (14, 12, 16, 14, 14, 16),
        4,
    ),
    (
        "5  Tanks and sump",
        "Heights of the surface over zero, standing level.",
        ("tank or sump", "full", "low", "oil, engine running", "vent or pressure"),
        (24, 12, 12, 18, 18),
        4,
    ),
)


def draw_measuring_sheet() -> bytes:
    """The sheet as a PDF that fits Letter and A4 alike."""
    from reportlab.lib import colors
    from reportlab.lib.pagesizes import A4, letter
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.lib.units import mm
    from reportlab.platypus import KeepTogether, Paragraph, SimpleDocTemplate, Spacer, Table

    size = (min(A4[0], letter[0]), min(A4[1], letter[1]))
    large = ParagraphStyle("large", fontName="Helvetica-Bold", fontSize=14, leading=18)
    plain = ParagraphStyle("plain", fontName="Helvetica", fontSize=10, leading=13)
    width = size[0] - 24 * mm
    story: list[Any] = [
        Paragraph("Measuring sheet", ParagraphStyle("top", parent=large, fontSize=20, leading=26)),
        Paragraph("Vehicle: ______________________   Date: ______________   By: ______________", plain),
        Spacer(1, 4 * mm),
    ]
    for title, says, names, shares, rows in HEADINGS:
        grid = Table(
            [[Paragraph(f"<b>{name}</b>", plain) for name in names], *[[""] * len(names)] * rows],
            colWidths=[width * share / sum(shares) for share in shares],
            rowHeights=[None, *[9 * mm] * rows],
            repeatRows=1,
        )
        grid.setStyle([("GRID", (0, 0), (-1, -1), 0.7, colors.black), ("VALIGN", (0, 0), (-1, 0), "MIDDLE")])
        story.append(
            KeepTogether([Paragraph(title, large), Paragraph(says, plain), Spacer(1, 2 * mm), grid, Spacer(1, 5 * mm)])
        )
    buffer = io.BytesIO()
    margin = 12 * mm
    SimpleDocTemplate(
        buffer, pagesize=size, leftMargin=margin, rightMargin=margin, topMargin=margin, bottomMargin=margin,
        title="Measuring sheet", invariant=1,
    ).build(story)  # fmt: skip
    return buffer.getvalue()
