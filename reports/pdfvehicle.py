"""Draws the lines of the vehicle from the side, from above and from the front, to one scale on one sheet.

The views stand where a draughtsman puts them (third angle): from above over the side, the front to its right; or under
each other where that makes them larger. Where the tags find no room, the circuits are parted on several sheets.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from reportlab.graphics.shapes import Drawing, Polygon, Rect
from reportlab.lib.colors import black, white
from reportlab.platypus import KeepTogether, Spacer

from reports.labels import Room, along
from reports.pdfparts import BOLD, PLAIN, fitted, glyphs, para
from reports.pdfviews import CAPTION, FOOT, POINT, SMALL, TINY, Pen, caption, scale_for
from reports.views import PLANES, projected

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.units import System
    from reports.views import Solid, Strand, Vehicle, View, Zone

    Array = npt.NDArray[np.float64]

STYLES: tuple[tuple[float, tuple[float, ...] | None], ...] = tuple(
    (wide, dash)
    for wide in (1.5, 0.7, 2.6)
    for dash in (None, (5 * wide**0.5, 3), (1, 2 + wide), (7 * wide**0.5, 2.5, 1, 2.5))
)
"""Width [pt] and dashes of each circuit."""
GAP = 8.0  # pt, between two views
PAD = 24.0  # pt, around everything in a view, for labels
HEAD, LEGEND = 46.0, 10.0  # pt: title and notes, and a row of the legend
COLUMNS = 2  # of the legend
BOX = 5.0  # pt, the smallest side of a component's box
SHARES = tuple(0.5 + sign * n / 20 for n in range(10) for sign in (1, -1))
NAME_ROOM = 80.0
HATCH = 7.0  # pt
WORTH = 1.4
"""So much larger the views have to become to be worth a second page."""
FEW = 1 / 12
"""Share of the tags that may stand away from their lines."""
ALL = "All lines together; their tags stand on the sheets that follow."


@dataclass(frozen=True)
class Page:
    """The places of the views on a page: left lower corner and size of each frame [pt]."""

    frames: dict[View, tuple[float, float, float, float]]
    height: float


@dataclass(frozen=True)
class Layout:
    """The pages of a set of three views, and their scale."""

    pages: tuple[Page, ...]
    scale: float
    """1 to so many."""


def vehicle_sheets(vehicle: Vehicle, system: System, width: float, height: float) -> list[tuple[str, Drawing]]:
    """The views of a vehicle: what is said over each page, and its picture.

    Args:
        vehicle: the content.
        system: of the scale bar.
        width: of the page's frame [pt].
        height: of the page's frame [pt].
    """
    glyphs()
    sheets = _groups(vehicle, system, width, height)
    if len(sheets) == 1:
        return [(_notes(vehicle, ""), p.drawing) for p in drawings(vehicle, system, width, height, zones=True)]
    whole = drawings(vehicle, system, width, height, tags=False, zones=True)
    found = [(_notes(vehicle, ALL), picture.drawing) for picture in whole]
    for n, (sheet, pictures) in enumerate(sheets, 1):
        note = _notes(sheet, f"Sheet {n} of {len(sheets)}: {', '.join(sheet.circuits)}.")
        found += [(note, picture.drawing) for picture in pictures]
    return found


def vehicle_story(vehicle: Vehicle | None, system: System, width: float, height: float) -> list[Any]:
    """Each page of views as one part, under its title; none where the place of no run is known.

    Args:
        vehicle: the content.
        system: of the scale bar.
        width: of the page's frame [pt].
        height: of the page's frame [pt].
    """
    story: list[Any] = []
    for notes, picture in vehicle_sheets(vehicle, system, width, height) if vehicle is not None else ():
        head = [
            para("Lines of the vehicle", 12, bold=True, after=1),
            para(fitted(notes, PLAIN, SMALL + 1, 1.9 * width), SMALL + 1, after=4),
        ]
        story.append(KeepTogether([*head, picture, Spacer(1, 2)]))
    return story


def _groups(vehicle: Vehicle, system: System, width: float, height: float) -> list[tuple[Vehicle, list[Picture]]]:
    """The circuits that find room together on a sheet, in the plan's order, each sheet drawn.

    They do where few tags stand away from their lines, none over others, and every component has its name.
    """
    groups: list[tuple[Vehicle, list[Picture]]] = []
    for circuit in vehicle.circuits:
        if groups and len(groups[-1][0].circuits) < len(STYLES):
            tried = vehicle.only([*groups[-1][0].circuits, circuit])
            pictures = _drawn(tried, system, (width, height), tags=True, zones=False, only_clear=True)
            if pictures is not None and _all_named(tried, pictures):
                groups[-1] = tried, pictures
                continue
        alone = vehicle.only([circuit])
        groups.append((alone, drawings(alone, system, width, height)))
    return groups


def _all_named(vehicle: Vehicle, pictures: list[Picture]) -> bool:
    """Has every component its name in one view?"""
    return len({name for picture in pictures for name in picture.named}) == len(vehicle.solids)


def _notes(vehicle: Vehicle, note: str) -> str:
    left_out = f"Not shown, for its place is not known: {', '.join(vehicle.left_out)}." if vehicle.left_out else ""
    return " ".join(filter(None, [note, f"Zero: {vehicle.zero}.", left_out]))


def layout(extent: Array, width: float, height: float, *, one_page: bool = False) -> Layout:
    """The arrangement of the three views: on one page where that costs little of their scale, else on two.

    Args:
        extent: the lowest and the highest corner of everything, shape (2, 3) [m].
        width: of what there is for the views [pt].
        height: of what there is for the views [pt].
        one_page: whatever that costs?
    """
    x, y, z = (float(side) for side in extent[1] - extent[0])
    pad, tall = 2 * PAD, 2 * PAD + CAPTION
    beside = scale_for(x + y, y + z, (width - GAP - 2 * pad, height - GAP - 2 * tall))
    under = scale_for(max(x, y), y + 2 * z, (width - pad, height - 2 * GAP - 3 * tall))
    parted = scale_for(max(x, y), y + z, (width - pad, height - GAP - 2 * tall))
    scale = min(beside, under)
    if parted * WORTH <= scale and not one_page:
        top, low = y / parted / POINT + tall, z / parted / POINT + tall
        first = Page({"top": (0, low + GAP, width, top), "side": (0, 0, width, low)}, top + low + GAP)
        return Layout((first, Page({"front": (0, 0, width, low)}, low)), parted)
    top, low = y / scale / POINT + tall, z / scale / POINT + tall
    if under < beside:
        frames: dict[View, tuple[float, float, float, float]] = {
            "top": (0, 2 * (low + GAP), width, top),
            "side": (0, low + GAP, width, low),
            "front": (0, 0, width, low),
        }
        return Layout((Page(frames, top + 2 * (low + GAP)),), scale)
    left = width - GAP - y / scale / POINT - pad
    frames = {
        "top": (0, low + GAP, left, top),
        "side": (0, 0, left, low),
        "front": (left + GAP, 0, width - left - GAP, low),
    }
    return Layout((Page(frames, top + low + GAP),), scale)


@dataclass(frozen=True)
class Picture:
    """One page of views, drawn."""

    drawing: Drawing
    clear: bool
    """Are its tags easily read?"""
    named: frozenset[str]
    """Components whose name found room."""


def drawings(
    vehicle: Vehicle, system: System, width: float, height: float, *, tags: bool = True, zones: bool = False
) -> list[Picture]:
    """The pages of the three views, each with its legend.

    Args:
        vehicle: the content.
        system: of the scale bar.
        width: of the page's frame [pt].
        height: of the page's frame [pt].
        tags: are the lines and components named?
        zones: are the zones named, and do they count for the scale?
    """
    drawn = _drawn(vehicle, system, (width, height), tags=tags, zones=zones, only_clear=False)
    assert drawn is not None
    return drawn


def _drawn(
    vehicle: Vehicle, system: System, room: tuple[float, float], *, tags: bool, zones: bool, only_clear: bool
) -> list[Picture] | None:
    """The pages of the views; None, where only clear ones are asked for, as soon as a view is not."""
    width, height = room
    foot = FOOT + LEGEND * math.ceil((len(vehicle.circuits) + bool(vehicle.zones)) / COLUMNS)
    extent = vehicle.extent(zones=zones)
    found = layout(extent, width, height - HEAD - foot, one_page=not tags)
    pictures = []
    for page in found.pages:
        picture = Drawing(width, page.height + foot)
        views = []
        for view, (x, y, wide, high) in page.frames.items():
            pen = Pen(picture, x, y + foot, Room(wide, high))
            caption(pen, view, (wide, high))
            views.append(_View(pen, view, vehicle, extent, found.scale))
            views[-1].draw(tags=tags, zones=zones)
            if only_clear and not views[-1].clear:
                return None
        _legend(Pen(picture, 0, 0, Room(width, foot)), vehicle, found.scale, system, width)
        named = frozenset(name for view in views for name in view.named)
        pictures.append(Picture(picture, all(view.clear for view in views), named))
    return pictures


def _legend(pen: Pen, vehicle: Vehicle, scale: float, system: System, width: float) -> None:
    top = pen.room.height - FOOT
    reach = pen.bar(2, top + 4, scale, system, 110)
    pen.words(reach + 8, top + 3, "where the sheet is printed at 100 %", SMALL)
    room = width / COLUMNS
    for n, name in enumerate(vehicle.circuits):
        (wide, dash), x, y = STYLES[n % len(STYLES)], n % COLUMNS * room, top - LEGEND * (n // COLUMNS + 1) + 3
        pen.polyline(np.array([[x + 2, y + 2.5], [x + 46, y + 2.5]]), wide, dash=dash)
        pen.words(x + 52, y, fitted(f"{name}: {vehicle.fluids[name]}", PLAIN, TINY, room - 54), TINY)
    if vehicle.zones:
        n = len(vehicle.circuits)
        said = "zones: hatched where hot, dashed where moving, else plain"
        pen.words(n % COLUMNS * room + 2, top - LEGEND * (n // COLUMNS + 1) + 3, said, TINY)


class _View:
    """One view of a vehicle."""

    def __init__(self, pen: Pen, view: View, vehicle: Vehicle, extent: Array, scale: float) -> None:
        self.pen, self.view, self.vehicle, self.scale = pen, view, vehicle, scale
        self.size = pen.room.width, pen.room.height - CAPTION
        corners = projected(extent, view)
        self.middle = (corners[0] + corners[1]) / 2
        self.away, self.over = 0, 0
        self.named: set[str] = set()

    def page(self, points: Array) -> Array:
        """Points of the view [m] on its frame [pt], shape (n, 2) each."""
        return np.asarray((points - self.middle) / (self.scale * POINT) + np.array(self.size) / 2)

    @property
    def clear(self) -> bool:
        """Does no tag lie over words, and stand few away from their lines? From ahead the lines lie close anyway."""
        few = 1.0 if self.view == "front" else FEW
        return self.over == 0 and self.away <= few * len(self.vehicle.strands)

    def draw(self, *, tags: bool, zones: bool) -> None:
        for zone in self.vehicle.zones:
            self.zone(zone)
        self.axes()
        lines = [self.page(projected(strand.points, self.view)) for strand in self.vehicle.strands]
        pairs = list(zip(self.vehicle.strands, lines, strict=True))
        for strand, line in pairs:
            self.strand(strand, line)
        boxes = [self.box(solid) for solid in self.vehicle.solids]
        if tags:
            # The shortest have the least choice.
            for strand, line in sorted(pairs, key=lambda pair: _long(pair[1])):
                text = fitted(strand.tag, BOLD, SMALL, NAME_ROOM)
                found = self.pen.label(along(line, SHARES), text, SMALL, bold=True)
                self.away += found.leader is not None
                self.over += not found.clear
            for solid, places in zip(self.vehicle.solids, boxes, strict=True):
                if self.name(places, solid.name):
                    self.named.add(solid.name)
        for zone in self.vehicle.zones if zones else ():
            outline = self.clipped(zone)
            if len(outline):
                self.name([(float(x), float(y)) for x, y in outline[:: max(len(outline) // 8, 1)]], zone.name)

    def name(self, places: list[tuple[float, float]], text: str) -> bool:
        """Names a thing, if its name finds a clear place."""
        return self.pen.label(places, fitted(text, PLAIN, TINY, NAME_ROOM), TINY, only_clear=True).clear

    def strand(self, strand: Strand, line: Array) -> None:
        wide, dash = STYLES[self.vehicle.circuits.index(strand.circuit) % len(STYLES)]
        self.pen.polyline(line, wide, dash=dash)
        self.pen.room.line(line, wide + 1.5)

    def box(self, solid: Solid) -> list[tuple[float, float]]:
        """A component, and the places at which its name may point."""
        low, high = self.page(projected(solid.corners, self.view))
        middle, half = (low + high) / 2, np.maximum((high - low) / 2, BOX / 2)
        (x, y), (wide, high_) = middle - half, 2 * half
        rect = Rect(
            float(self.pen.x + x), float(self.pen.y + y), float(wide), float(high_),
            fillColor=white if max(wide, high_) <= 2 * BOX else None, strokeColor=black, strokeWidth=0.7,
        )  # fmt: skip
        self.pen.drawing.add(rect)
        edge = np.array([[x, y], [x + wide, y], [x + wide, y + high_], [x, y + high_], [x, y]])
        self.pen.room.line(edge, 2.0)
        sides = (edge[:-1] + edge[1:]) / 2
        return [(float(a), float(b)) for a, b in [sides[2], sides[0], sides[1], sides[3]]]

    def axes(self) -> None:
        """Where zero is, and the level of zero as a long-dashed line, if they lie within the view."""
        x, y = self.page(np.zeros((1, 2)))[0]
        if self.view != "top" and 0 <= y <= self.size[1]:
            level = np.array([[3.0, y], [self.size[0] - 3, y]])
            self.pen.polyline(level, 0.4, dash=(14, 3))
            self.pen.room.line(level, 0.5)
            self.name([(float(px), float(y)) for px in (12, self.size[0] - 12)], "z = 0")
        if 0 <= x <= self.size[0] and 0 <= y <= self.size[1]:
            self.pen.dot(np.array([x, y]), 2.6, white)
            self.pen.dot(np.array([x, y]), 0.6, black)
            self.pen.arrow(x + 2.6, y, 17)
            self.pen.arrow(x, y + 2.6, 17, up=True)
            self.pen.room.keep(x - 3, y - 3, 6, 6)
            across, up = PLANES[self.view]
            self.name([(float(x) + 20, float(y))], "xyz"[across])
            self.name([(float(x), float(y) + 20)], "xyz"[up])

    def zone(self, zone: Zone) -> None:
        outline = self.clipped(zone)
        if len(outline) < 3:
            return
        hatches = _hatched(outline) if zone.nature == "hot" else []
        for line in hatches:
            self.pen.polyline(line, 0.25)
        self.pen.room.lines(hatches, 0.5)
        flat = [float(n) for x, y in outline for n in (self.pen.x + x, self.pen.y + y)]
        dash = [3, 2] if zone.nature == "moving" else None
        self.pen.drawing.add(Polygon(flat, fillColor=None, strokeColor=black, strokeWidth=0.4, strokeDashArray=dash))

    def clipped(self, zone: Zone) -> Array:
        """The outline of a zone as far as it lies within the frame (Sutherland and Hodgman)."""
        points = self.page(zone.outlines[self.view])
        for axis, limit, sign in ((0, 1.0, 1), (0, self.size[0] - 1, -1), (1, 1.0, 1), (1, self.size[1] - 1, -1)):
            points = _cut(points, axis, limit, sign)
        return points


def _long(line: Array) -> float:
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())


def _cut(points: Array, axis: int, limit: float, sign: int) -> Array:
    """What of a convex outline lies on one side of a limit, shape (n, 2)."""
    kept: list[Array] = []
    for a, b in zip(points, np.roll(points, -1, axis=0), strict=True):
        before, after = sign * (a[axis] - limit), sign * (b[axis] - limit)
        if before >= 0:
            kept.append(a)
        if before * after < 0:
            kept.append(a + (b - a) * before / (before - after))
    return np.array(kept) if kept else np.zeros((0, 2))


def _hatched(outline: Array) -> list[Array]:
    """Lines at 45 deg across a convex outline, shape (2, 2) each [pt]."""
    level = outline[:, 1] - outline[:, 0]
    found = []
    for height in np.arange(math.ceil(level.min() / HATCH) * HATCH, level.max(), HATCH):
        ends = []
        for a, b in zip(range(len(outline)), [*range(1, len(outline)), 0], strict=True):
            before, after = level[a] - height, level[b] - height
            if before * after < 0:
                ends.append(outline[a] + (outline[b] - outline[a]) * before / (before - after))
        if len(ends) == 2:
            found.append(np.array(ends))
    return found
