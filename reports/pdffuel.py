"""Draws the fuel systems: a page for each."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from reportlab.graphics.charts.axes import XValueAxis, YValueAxis
from reportlab.graphics.shapes import Drawing, Group, String
from reportlab.lib.colors import black, white
from reportlab.platypus import PageBreak, Spacer, Table, TableStyle

from lines.finding import Verdict
from reports.fuelpage import OF_IT
from reports.hatching import hatched
from reports.labels import Room, along
from reports.pdfgrid import columns, grid
from reports.pdflists import title
from reports.pdfparts import BOLD, PLAIN, drawable, fitted, labelled, padding, para
from reports.pdfviews import Pen

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from reports.fuelpage import FuelPage
    from reports.pdflists import Story
    from reports.plots import Dot, Plot

    Array = npt.NDArray[np.float64]

GAP = 8.0  # pt
HIGH, LOW = 205.0, 120.0  # pt, of a plot
BETWEEN = 2.0  # pt, over and under what stands beside each other
ROUNDING = 4.0  # pt
LEFT, BELOW, ABOVE, RIGHT = 40.0, 30.0, 18.0, 10.0  # pt, around its frame
TYPE, SMALL = 7.5, 6.5  # pt
MOST_FIGURES = 120.0  # pt, of a sum's width
DASHES: tuple[tuple[float, ...] | None, ...] = (None, (6, 2), (2, 2), (8, 2, 2, 2), (1, 3))
NEAR_AXIS = 0.05
"""Of a plot's height."""
HATCH = 5.0  # pt, between two lines of what is hatched
LINE, THIN, DOT = 1.3, 0.6, 2.6  # pt, wide; its radius
CLEAR = DOT + 1.0  # pt, around a dot, that no label comes nearer to
DOTTED = (0.6, 1.4)  # pt: a leader is no curve
NAMED_AT = (0.5, 0.3, 0.7, 0.4, 0.6, 0.2, 0.8, 0.1, 0.9)
"""The shares of a line's length at which it may have its name, the best first."""
MOST_TOLD = 6
"""More findings than so many stand in the list of all."""
LEGEND = (
    "In the table, 'engine burns' is what the duty asks for, the injectors open as long as that takes. 'gives' is the "
    "flow of the pump that feeds the rails, or of all that do; 'at' is its pressure rise and the voltage at its plug. "
    "'rail' is the pressure over the outside air at the injector that has the least. 'injectors have' is the least "
    "pressure across one, from the rail to the manifold. 'driven' is the share of the time that they are held open. "
    "'over boiling' is what is left at the pumps' inlets over the pressure at which the fuel boils and what the pump "
    "asks for over that, in the worst attitude."
)


def fuel_story(pages: list[FuelPage], room: tuple[float, float]) -> Story:
    """The fuel systems, each on a page of its own, in a room [pt]."""
    story: Story = []
    for page in pages:
        story += [PageBreak()] if story else []
        story += _page(page, room)
    return story


def _page(page: FuelPage, room: tuple[float, float]) -> Story:
    width = room[0]
    story: Story = [title(f"Fuel system: {page.circuit}")]
    if page.verdict is Verdict.PASS:
        story.append(para(f"{Verdict.PASS.upper()}: nothing of it cautions.", 10, bold=True, after=4))
    story += [labelled(rule, text, 8, after=2) for rule, text in page.told[:MOST_TOLD]]
    if len(page.told) > MOST_TOLD:
        story.append(para(f"and {len(page.told) - MOST_TOLD} more: see the findings.", 8, after=2))
    rows = [list(page.heads), *map(list, page.rows)]
    story += [Spacer(1, GAP), grid(rows, widths=columns(rows, width, size=8.0), room=2.0, size=8.0)]
    notes = [f"{note}." for note in dict.fromkeys(note for plot in page.plots for note in plot.notes)]
    legend = " ".join([LEGEND, *(["In the plots,"] if notes else []), *notes])
    story += [para(legend, 7, before=2, after=2), para(" ".join(page.held), 7.5, after=GAP)]
    half = (width - GAP) / 2
    # A sum beside the last plot takes no room of its own.
    beside = len(page.plots) % 2
    abreast = 3 if len(page.sums) - beside > 2 else 2
    narrow = (width - (abreast - 1) * GAP) / abreast
    sums = [_sum(name, parts, narrow if i >= beside else half) for i, (name, parts) in enumerate(page.sums)]
    below = [_beside(sums[i : i + abreast], narrow, abreast) for i in range(beside, len(sums), abreast)]
    high = _high([*story, *below], len(page.plots), room)
    halves = [*(_plot(plot, half if len(page.plots) > 1 else width, high) for plot in page.plots), *sums[:beside]]
    return story + [_beside(halves[i : i + 2], half) for i in range(0, len(halves), 2)] + below


def _high(others: Story, plots: int, room: tuple[float, float]) -> float:
    """How high a plot may be so that all of the page is on one sheet [pt], at least as high as it can be read."""
    width, left = room[0], room[1] - ROUNDING
    for part in others:
        left -= part.wrap(width, room[1])[1] + part.getSpaceBefore() + part.getSpaceAfter()
    rows = (plots + 1) // 2
    return float(min(max(left / rows - 2 * BETWEEN, LOW), HIGH))


def _beside(parts: list[object], wide: float, abreast: int = 2) -> Table:
    """Parts of one width [pt] beside each other, with room for so many."""
    widths = [wide + GAP] * (abreast - 1) + [wide]
    table = Table([[*parts, *[""] * (abreast - len(parts))]], colWidths=widths)
    table.setStyle(TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *padding(0, BETWEEN)]))
    return table


def _sum(name: str, parts: tuple[tuple[str, str], ...], width: float) -> Table:
    """The sum at a pump's inlet."""
    rows = [[para(f"At the inlet of {name}", 8.5, bold=True), ""]]
    rows += [[para(what, TYPE), para(text, TYPE, bold=not what.startswith(OF_IT))] for what, text in parts]
    figures = min(0.4 * width, MOST_FIGURES)
    table = Table(rows, colWidths=[width - figures, figures])
    table.setStyle(
        TableStyle([("SPAN", (0, 0), (-1, 0)), ("LINEABOVE", (0, -1), (-1, -1), 0.8, black), *padding(2, 0.6)])
    )
    return table


def _plot(plot: Plot, width: float, height: float) -> Drawing:
    """A plot in a room [pt]: black lines told apart by their dashes, points with their names."""
    drawing = Drawing(width, height)
    wide, high = width - LEFT - RIGHT, height - BELOW - ABOVE
    every = np.concatenate([*(line.points for line in plot.lines), np.array([dot.at for dot in plot.dots])])
    axes = _axes(every, plot.dots, (wide, high))
    for axis in axes:
        axis.makeGrid(drawing, dim=axes[1].joinAxis)
        drawing.add(axis)
    room = Room(wide, high)
    pen = Pen(drawing, LEFT, BELOW, room, leader=DOTTED)

    def page(points: Array) -> Array:
        across, up = ([axis.scale(value) for value in points[:, i]] for i, axis in enumerate(axes))
        return np.asarray(np.stack([across, up], axis=1) - np.array([LEFT, BELOW]))

    for stroke in hatched([page(plot.shaded)], HATCH) if plot.shaded is not None else ():
        pen.polyline(stroke, 0.3)
    for line, dash in zip(plot.lines, DASHES * len(plot.lines), strict=False):
        points = page(line.points)
        pen.polyline(points, THIN if line.thin else LINE, dash=None if line.thin else dash)
        room.line(points, 2.0)
    dots = [(page(np.array([dot.at]))[0], dot) for dot in plot.dots]
    for (x, y), _ in dots:
        room.keep(float(x) - CLEAR, float(y) - CLEAR, 2 * CLEAR, 2 * CLEAR)
    for (x, y), dot in dots:
        pen.label([(float(x), float(y))], dot.text, SMALL, radius=CLEAR)
    for line in plot.lines:
        pen.label(along(page(line.points), NAMED_AT), line.name, SMALL, bold=True, near=True)
    # Over the white of every label.
    for at, dot in dots:
        pen.dot(at, DOT, black if dot.filled else white)
    drawing.add(String(LEFT, height - 11, fitted(plot.title, BOLD, 8.5, width - LEFT), fontName=BOLD, fontSize=8.5))
    drawing.add(String(LEFT + wide, 4, drawable(plot.x.label), fontName=PLAIN, fontSize=TYPE, textAnchor="end"))
    turned = String(0, 0, drawable(plot.y.label), fontName=PLAIN, fontSize=TYPE, textAnchor="end")
    drawing.add(Group(turned, transform=(0, 1, -1, 0, 9, BELOW + high)))
    return drawing


def _axes(every: Array, dots: Sequence[Dot], size: tuple[float, float]) -> tuple[XValueAxis, YValueAxis]:
    """The two axes with their ticks, on the whole of what is drawn."""
    x, y = XValueAxis(), YValueAxis()
    for axis, values in ((x, every[:, 0]), (y, every[:, 1])):
        axis.valueMin = float(min(values.min(), 0.0))
        axis.valueMax = float(values.max()) * 1.06
        axis.visibleGrid = True
        axis.gridStrokeWidth = 0.25
        axis.gridStrokeColor = axis.strokeColor = black
        axis.strokeWidth = 0.8
        axis.labels.fontName, axis.labels.fontSize = PLAIN, SMALL
        axis.forceZero = True
        axis.rangeRound = "both"
        axis.maximumTicks = 8
    # Room for the names of points that lie on the axis.
    low = [dot for dot in dots if dot.at[1] < NEAR_AXIS * y.valueMax]
    y.valueMin -= NEAR_AXIS * y.valueMax if len(low) > 1 else 0.0
    x.setPosition(LEFT, BELOW, size[0])
    y.setPosition(LEFT, BELOW, size[1])
    x.gridStart, x.gridEnd = BELOW, BELOW + size[1]
    y.gridStart, y.gridEnd = LEFT, LEFT + size[0]
    x.configure([tuple(every[:, 0])])
    y.configure([tuple(every[:, 1])])
    return x, y
