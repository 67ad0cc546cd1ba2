"""Zones that lines keep away from: boxes, cylinders and spheres in vehicle axes, and the distance to them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, Self

import numpy as np
from pydantic import Field, model_validator

from catalogs.fields import Gap, Part, Point, Size, refuse

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

Nature = Literal["hot", "moving", "still"]
_NEEDS = {"box": ("corner", "opposite"), "cylinder": ("start", "end", "radius"), "sphere": ("centre", "radius")}
_A_POINT = '"20, 8 1/2, 27 in"'
_LIKE = {"radius": '"1 in"'}


class ZoneTable(Part):
    """A body that lines keep away from, and how far it comes nearer than where it was measured."""

    form: Literal["box", "cylinder", "sphere"]
    nature: Nature
    corner: Point | None = None
    opposite: Point | None = None
    start: Point | None = Field(default=None, alias="from")
    end: Point | None = Field(default=None, alias="to")
    centre: Point | None = None
    radius: Size | None = None
    growth: Gap = 0.0
    """How far it grows when it is hot."""
    shake: Gap = 0.0
    """How far it shakes beside."""
    roll: Gap = 0.0
    """How far the engine on its mounts brings it nearer."""
    keep: Gap | None = None
    """The gap that is to be left; the limits of its nature where none is said."""
    apart_from: tuple[str, ...] = ()
    """Runs that it is not held against."""
    note: str = Field(default="", max_length=200)

    @property
    def nearer(self) -> float:
        """How much nearer it comes than where it was measured [m]."""
        return self.growth + self.shake + self.roll

    @model_validator(mode="after")
    def _has_its_figures(self) -> Self:
        spelled = {"start": "from", "end": "to"}
        needs = _NEEDS[self.form]
        known_by = f"a {self.form} is known by " + ", ".join(spelled.get(n, n) for n in needs)
        figures = {n: getattr(self, n) is not None for n in (*_NEEDS["box"], "start", "end", *_NEEDS["sphere"])}
        for name in (n for n, said in figures.items() if said and n not in needs):
            key = spelled.get(name, name)
            raise refuse(f"{known_by}, and has no {key}", expected=f"no {key}, or another form", at=key)
        for name in (n for n in needs if not figures[n]):
            key = spelled.get(name, name)
            raise refuse(f"is missing: {known_by}", expected=f"{key} = {_LIKE.get(name, _A_POINT)}", at=key)
        if self.form == "cylinder" and np.allclose(self.start or (), self.end or ()):
            raise refuse("from and to are one place", expected="the two ends of the cylinder's axis", at="to")
        return self


def gaps(zone: ZoneTable, points: Array) -> Array:
    """Distance from each point to the surface of a zone [m], negative inside it.

    Args:
        zone: the zone.
        points: shape (n, 3) [m].

    Returns:
        shape (n,).
    """
    if zone.form == "sphere":
        assert zone.radius is not None
        return np.asarray(np.linalg.norm(points - np.array(zone.centre), axis=1) - zone.radius)
    if zone.form == "box":
        corners = np.array([zone.corner, zone.opposite])
        middle, half = corners.mean(axis=0), np.abs(corners[1] - corners[0]) / 2
        return _outside(np.abs(points - middle) - half)
    start = np.array(zone.start)
    axis = np.array(zone.end) - start
    length = float(np.linalg.norm(axis))
    along = (points - start) @ (axis / length)
    across = np.linalg.norm(points - start - along[:, None] * (axis / length), axis=1)
    return _outside(np.stack([np.abs(along - length / 2) - length / 2, across - (zone.radius or 0.0)], axis=1))


def _outside(over: Array) -> Array:
    """Distance to a convex form from how far a point is over each pair of its faces, shape (n, faces)."""
    beyond = np.linalg.norm(np.maximum(over, 0.0), axis=1)
    return np.asarray(beyond + np.minimum(over.max(axis=1), 0.0))
