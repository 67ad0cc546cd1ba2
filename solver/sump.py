"""The oil in a sump in every attitude: its volume is kept, and so its level follows.

The sump is a body of boxes in vehicle axes. Left out: oil that moves (the pool is still, its surface square to
effective gravity), baffles and trap doors (the pool is freely connected, air and oil change places; where it would
stand in pools that no wetted face joins it cannot be told), and oil up in the engine beyond what the stated levels
already miss with the engine running. What a lid over the box would hold back stays under it here: the boxes are closed
at the top.

A height along `down`, a unit vector of effective gravity, is that of a point p over the plan's zero: -(p . down).
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.examples import in_units
from lines.layers import TOUCHES, LayerTable, bounds, flat_along
from solver.stated import asked_for, figure

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.plan import Component

    Array = npt.NDArray[np.float64]
    Booleans = npt.NDArray[np.bool_]

Which = Literal["full", "low"]

_LEVEL = np.array([[0.0, 0.0, -1.0]])
_TILTS = 1e-9
"""Components of a unit vector across, from which the vehicle does not stand level."""
_HOLDS = 1e-6
"""By how much of itself a volume may pass what the boxes hold: the last figures of another unit."""
_A_BOX = LayerTable.example.strip("{ }").replace(", opposite", " and opposite")
_ROUNDED = 1e-12
"""Share of what the boxes hold that the rounding of a volume never reaches."""


# ---------------------------------------------------------------- geometry


def capacity(body: Array) -> float:
    """What a body of boxes, shape (boxes, 2, 3) [m], holds [m3]."""
    return float(_volumes(body).sum())


def volume_under(body: Array, height: Array, down: Array) -> Array:
    """Volume of a body of boxes under a plane at each attitude [m3].

    Of one box it is the share of a unit cube with a1 x1 + a2 x2 + a3 x3 <= t: the integral over the widest extent a3 of
    the area G that the line at t cuts off the unit square of the other two. With H the integral of G it is
    (H(t) - H(t - a3))/a3, in which nothing is divided by an extent that vanishes.

    Args:
        body: lower and upper corners, shape (boxes, 2, 3) [m].
        height: of the plane along -down, shape (batch,) [m].
        down: unit vectors, shape (batch, 3).

    Returns:
        shape (batch,).

    Source: own arithmetic; piece by piece the cases of Scardovelli and Zaleski, J. Comput. Phys. 164 (2000) 228, named
    from memory.

    >>> import numpy as np
    >>> box = np.array([[[0, 0, 0], [0.4, 0.3, 0.2]]])
    >>> float(volume_under(box, np.array([0.05]), np.array([[0, 0, -1.0]]))[0])
    0.006
    """
    lowest, *extents = _seen_along(body, down)
    return _under(height[:, None] - lowest, *extents) @ _volumes(body)


def _volumes(body: Array) -> Array:
    return np.asarray(np.prod(body[:, 1] - body[:, 0], axis=1))


def _seen_along(body: Array, down: Array) -> tuple[Array, Array, Array, Array]:
    """Height of the lowest corner of each box, and its three extents along -down from the least to the widest [m].

    Each of shape (batch, boxes).
    """
    ends = -down[:, None, None, :] * body
    extents = np.sort(np.abs(ends[:, :, 1] - ends[:, :, 0]), axis=2)
    return ends.min(axis=2).sum(axis=2), extents[..., 0], extents[..., 1], extents[..., 2]


def _under(t: Array, a1: Array, a2: Array, a3: Array) -> Array:
    """Share of a box under the plane at t over its lowest corner [m]."""
    return np.asarray((_under_lines(t, a1, a2) - _under_lines(t - a3, a1, a2)) / a3)


def _under_lines(t: Array, a1: Array, a2: Array) -> Array:
    """The integral up to t of the area of the unit square with a1 x1 + a2 x2 <= t, where a1 <= a2.

    Each of its three pieces is clipped to its own stretch of t, so that a stretch without length gives nothing.
    """
    tiny = np.finfo(np.float64).tiny
    d1, d2 = np.maximum(a1, tiny), np.maximum(a2, tiny)
    first = np.clip(t, 0.0, a1)
    second = np.clip(t, a1, a2)
    left = np.clip(a1 + a2 - t, 0.0, a1)
    rising = first * (first / d1) * (first / d2) / 6
    steady = (second - a1) * (second / d2) / 2
    filled = np.maximum(t - a2, 0.0) - (a1 * (a1 / d2) - left * (left / d1) * (left / d2)) / 6
    return np.asarray(rising + steady + filled)


def level(body: Array, volume: float, down: Array) -> Array:
    """Height of the free surface along -down with the volume kept, at each attitude [m].

    Args:
        body: lower and upper corners, shape (boxes, 2, 3) [m].
        volume: of the oil, from 0 to what the body holds [m3].
        down: unit vectors, shape (batch, 3).

    Returns:
        shape (batch,).

    Raises:
        ValueError: the volume is no volume that the body holds.
    """
    from scipy.optimize import elementwise

    held = capacity(body)
    if not 0.0 <= volume <= held * (1 + _HOLDS):
        raise ValueError(f"{volume} m3 in a body of {held} m3")
    lowest, a1, a2, a3 = _seen_along(body, down)
    floor, roof = lowest.min(axis=1), (lowest + a1 + a2 + a3).max(axis=1)
    # So near empty or brimful the ends themselves are the answer, and rounding hides their signs.
    if volume <= _ROUNDED * held:
        return np.asarray(floor)
    if volume >= (1 - _ROUNDED) * held:
        return np.asarray(roof)
    volumes = _volumes(body)

    def over(height: Array, attitude: Array) -> Array:
        """For the attitudes that are not yet found, by their numbers."""
        i = attitude.astype(np.intp)
        return np.asarray(_under(height[:, None] - lowest[i], a1[i], a2[i], a3[i]) @ volumes - volume)

    found = elementwise.find_root(over, (floor, roof), args=(np.arange(len(down)),))
    return np.asarray(found.x)


def parted(body: Array, height: Array, down: Array) -> Booleans:
    """Where the oil stands in two pools or more: wet boxes that no wetted face joins.

    Args:
        body: lower and upper corners, shape (boxes, 2, 3) [m].
        height: of the surface along -down, shape (batch,) [m].
        down: unit vectors, shape (batch, 3).

    Returns:
        shape (batch,).
    """
    wet = _lowest(body, down) < height[:, None]
    pool = np.where(wet, np.arange(len(body)), len(body))
    pairs = _faces(body)
    joined = [_lowest(face[None], down)[:, 0] < height for _, _, face in pairs]
    for _ in range(len(body)):
        for (i, j, _face), open_ in zip(pairs, joined, strict=True):
            least = np.minimum(pool[:, i], pool[:, j])
            both = open_ & wet[:, i] & wet[:, j]
            pool[:, i], pool[:, j] = np.where(both, least, pool[:, i]), np.where(both, least, pool[:, j])
    first = pool.min(axis=1, keepdims=True)
    return np.asarray((wet & (pool != first)).any(axis=1))


def _lowest(body: Array, down: Array) -> Array:
    """Height of the lowest corner of each box along -down, shape (batch, boxes) [m]."""
    return np.asarray(np.sum(np.minimum(-body[:, 0] * down[:, None], -body[:, 1] * down[:, None]), axis=2))


def _faces(body: Array) -> list[tuple[int, int, Array]]:
    """The boxes that share a face, by twos, and the face as a flat box, shape (2, 3) [m]."""
    found = []
    for i, j in itertools.combinations(range(len(body)), 2):
        face = np.stack([np.maximum(body[i, 0], body[j, 0]), np.minimum(body[i, 1], body[j, 1])])
        shared = face[1] - face[0]
        if (shared > -TOUCHES).all() and (shared > TOUCHES).sum() >= 2:
            found.append((i, j, np.sort(face, axis=0)))
    return found


# ---------------------------------------------------------------- of a plan


@dataclass(frozen=True, slots=True)
class Oil:
    """The oil in a sump at one of its two levels, as far as the plan tells it."""

    surface: float | None
    """Height with the vehicle level [m]; None where only its volume is known."""
    body: Array | None
    """What holds it, shape (boxes, 2, 3) [m]; None where it is not known: only level ground can be answered."""
    volume: float | None
    """[m3]; known where the body is."""
    lacks: str = ""
    """Why only level ground can be answered."""
    needs: str = ""

    def levels(self, down: Array) -> Levels:
        """Height of the surface along -down at each attitude, shape (batch, 3) -> (batch,) [m]."""
        if self.body is not None and self.volume is not None:
            heights = level(self.body, self.volume, down)
            # Pools that stand apart on level ground keep each its own oil as the vehicle leans, until one runs over.
            apart = parted(self.body, heights, down) | parted(self.body, level(self.body, self.volume, _LEVEL), _LEVEL)
            if self.surface is not None:  # as it was seen, however it is parted
                apart &= np.abs(down - _LEVEL).max(axis=1) > _TILTS
            if not apart.any():
                return Levels(heights)
            why = "its oil parts into pools there, and how it came to be so is not known"
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


def oil_levels(component: Component, down: Array, which: Which = "full") -> Array:
    """The height of a sump's oil along -down at each attitude [m], shape (batch,).

    It is nan where it cannot be told, for which `oil_in(component, which).levels(down)` says why.

    Args:
        component: of kind sump.
        down: unit vectors of effective gravity, shape (batch, 3).
        which: at the full mark or at the low one, the engine running.

    Raises:
        UnknownInputError: as `oil_in`.
    """
    return oil_in(component, which).levels(down).heights


def oil_in(component: Component, which: Which = "full") -> Oil:
    """The oil in a sump: its stated surface, or where none is stated its volume as that of the full mark.

    Raises:
        UnknownInputError: neither tells it, or what is stated does not agree.
    """
    body, lacks, needs = _body(component)
    levels = component.figures.get("surface")
    if levels is not None:
        surface = float(getattr(levels, which))
        if body is None:
            return Oil(surface, None, None, lacks, needs)
        return Oil(surface, body, _volume_at(component, body, surface, which))
    needs = f"{asked_for(component, 'surface')}, the vehicle level and the engine running"
    if which == "low":
        raise UnknownInputError(f"the low mark of {component.name} is not known", needs=needs)
    if body is None or component.figures.get("volume") is None:
        needs += f"; or {asked_for(component, 'volume')}, and the box that holds it"
        raise UnknownInputError(f"how much oil {component.name} holds is not known", needs=needs)
    volume, held = figure(component, "volume"), capacity(body)
    if volume > held * (1 + _HOLDS):
        raise UnknownInputError(
            f"{component.name} is said to hold more oil than its box has room for",
            needs=f"the box of {component.name} up to where oil may stand, or the volume of its oil, measured again",
        )
    return Oil(None, body, volume)


def _body(component: Component) -> tuple[Array | None, str, str]:
    """The boxes that hold the oil, or why they are not known and what would tell them.

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
        reason = f"the box that holds the oil of {name} is not known: it has no {' and no '.join(lacks)}"
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
    """Volume of the oil [m3] where its surface lies inside the body."""
    floor, top = float(body[:, 0, 2].min()), float(body[:, 1, 2].max())
    if floor <= surface <= top:
        return float(volume_under(body, np.array([surface]), _LEVEL)[0])
    side = "over the top" if surface > top else "under the floor"
    raise UnknownInputError(
        f"the {which} mark of {component.name} lies {side} of the box that holds its oil",
        needs=f"surface of {component.name} and the box up to where oil may stand, measured from the same zero",
    )
