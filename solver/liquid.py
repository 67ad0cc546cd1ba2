"""The liquid in a sump or a tank at its full or its low level, in every attitude, as a plan tells it.

Left out: oil up in the engine beyond what the stated levels already miss with the engine running. Where the liquid
would stand in pools that no wetted face joins, its level cannot be told.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.examples import in_units
from lines.layers import LayerTable, bounds, flat_along
from solver.pool import HOLDS, capacity, level, parted, volume_under
from solver.stated import asked_for, figure

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.plan import Component

    Array = npt.NDArray[np.float64]

Which = Literal["full", "low"]

_LEVEL = np.array([[0.0, 0.0, -1.0]])
_TILTS = 1e-9
"""Components of a unit vector across, from which the vehicle does not stand level."""
_A_BOX = LayerTable.example.strip("{ }").replace(", opposite", " and opposite")


@dataclass(frozen=True, slots=True)
class Liquid:
    """The liquid in a component at one of its two levels, as far as the plan tells it."""

    surface: float | None
    """Height with the vehicle level [m]; None where only its volume is known."""
    body: Array | None
    """What holds it, shape (boxes, 2, 3) [m]; None where it is not known: only level ground can be answered."""
    volume: float | None
    """[m3]; known where the body is."""
    name: str = "liquid"
    """What it is: oil, fuel …"""
    lacks: str = ""
    """Why only level ground can be answered."""
    needs: str = ""

    def levels(self, down: Array) -> Levels:
        """Height of the surface along -down at each attitude, shape (batch, 3) -> (batch,) [m]."""
        if self.body is not None and self.volume is not None:
            heights = level(self.body, self.volume, down)
            # Pools that stand apart on level ground keep each its own liquid as the vehicle leans, until one runs over.
            apart = parted(self.body, heights, down) | parted(self.body, level(self.body, self.volume, _LEVEL), _LEVEL)
            if self.surface is not None:  # as it was seen, however it is parted
                apart &= np.abs(down - _LEVEL).max(axis=1) > _TILTS
            if not apart.any():
                return Levels(heights)
            why = f"its {self.name} parts into pools there, and how it came to be so is not known"
            return Levels(np.where(apart, np.nan, heights), why, "one box that holds it, or the level seen there")
        flat = np.abs(down - _LEVEL).max(axis=1) <= _TILTS
        heights = np.where(flat, np.nan if self.surface is None else self.surface, np.nan)
        return Levels(heights) if flat.all() else Levels(heights, self.lacks, self.needs)


@dataclass(frozen=True, slots=True)
class Levels:
    """Heights of a free surface along -down [m], shape (batch,); nan where it cannot be told, and then why."""

    heights: Array
    why: str = ""
    needs: str = ""


def liquid_in(component: Component, which: Which = "full") -> Liquid:
    """The liquid in a sump or a tank: its stated surface, or its volume, that of the full mark, where none is stated.

    Raises:
        UnknownInputError: neither tells it, or what is stated does not agree.
    """
    body, lacks, needs = _body(component)
    liquid, levels = component.kind.holds, component.figures.get("surface")
    if levels is not None:
        surface = float(getattr(levels, which))
        if body is None:
            return Liquid(surface, None, None, liquid, lacks, needs)
        return Liquid(surface, body, _volume_at(component, body, surface, which), liquid)
    running = " and the engine running" if liquid == "oil" else ""
    needs = f"{asked_for(component, 'surface')}, the vehicle level{running}"
    if which == "low":
        raise UnknownInputError(f"the low mark of {component.name} is not known", needs=needs)
    if body is None or component.figures.get("volume") is None:
        needs += f"; or {asked_for(component, 'volume')}, and the box that holds it"
        raise UnknownInputError(f"how much {liquid} {component.name} holds is not known", needs=needs)
    volume, held = figure(component, "volume"), capacity(body)
    if volume > held * (1 + HOLDS):
        raise UnknownInputError(
            f"{component.name} is said to hold more {liquid} than its box has room for",
            needs=f"the box of {component.name} up to where {liquid} may stand, or the volume of its {liquid}, measured"
            " again",
        )
    return Liquid(None, body, volume, liquid)


def _body(component: Component) -> tuple[Array | None, str, str]:
    """The boxes that hold the liquid, or why they are not known and what would tell them.

    Raises:
        UnknownInputError: what is stated is no body.
    """
    name, figures = component.name, component.figures
    corner, opposite, layers = (figures.get(key) for key in ("corner", "opposite", "areas"))
    if layers is not None:
        if corner is not None or opposite is not None:
            reason = f"{name} states both a box and areas"
            raise UnknownInputError(reason, needs=f"corner and opposite, or areas, in [components.{name}]: one of them")
        return np.stack([layer.bounds for layer in layers]), "", ""
    if corner is None or opposite is None:
        lacks = [key for key, point in (("corner", corner), ("opposite", opposite)) if point is None]
        holds, lacking = component.kind.holds, " and no ".join(lacks)
        reason = f"the box that holds the {holds} of {name} is not known: it has no {lacking}"
        if len(lacks) == 1:
            unit = "in" if component.system == "us" else "mm"
            return None, reason, f'{lacks[0]} in [components.{name}]: "x, y, z {unit}", the corner across the box'
        example = in_units(_A_BOX, component.system)
        needs = f"corner and opposite in [components.{name}], as {example}; or {asked_for(component, 'areas')}"
        return None, reason, needs
    box = bounds(corner, opposite)
    if flat := flat_along(box):
        reason = f"opposite of {name} lies as far {flat} as corner: the box has no room"
        raise UnknownInputError(reason, needs=f"the corner across the box as opposite in [components.{name}]")
    return box[None], "", ""


def _volume_at(component: Component, body: Array, surface: float, which: Which) -> float:
    """Volume of the liquid [m3] where its surface lies inside the body."""
    floor, top = float(body[:, 0, 2].min()), float(body[:, 1, 2].max())
    if floor <= surface <= top:
        return float(volume_under(body, np.array([surface]), _LEVEL)[0])
    liquid, side = component.kind.holds, "over the top" if surface > top else "under the floor"
    raise UnknownInputError(
        f"the {which} mark of {component.name} lies {side} of the box that holds its {liquid}",
        needs=f"surface of {component.name} and the box up to where {liquid} may stand, measured from the same zero",
    )
