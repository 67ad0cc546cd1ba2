"""The body of a sump that is no box: layers, each a box of its own, which together hold the oil freely connected."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Self

import numpy as np
from pydantic import AfterValidator, Field, model_validator

from catalogs.fields import Part, Point, refuse

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

MOST_LAYERS = 20
TOUCHES = 1e-3
"""A finer gap than a tape reads is none: two layers so near touch [m]."""
SAME_FACE = 1e-4
"""What two figures in other units differ by where they mean one face [m]."""


class LayerTable(Part):
    """One layer: a box from one corner to the opposite one."""

    example: ClassVar[str] = '{ corner = "20, -8, 12 in", opposite = "34, 8, 18 in" }'

    corner: Point = Field(examples=['"20, -8, 12 in"'])
    opposite: Point = Field(examples=['"34, 8, 18 in"'])

    @property
    def bounds(self) -> Array:
        """Its lower and its upper corner [m], shape (2, 3)."""
        return bounds(self.corner, self.opposite)

    @model_validator(mode="after")
    def _has_room(self) -> Self:
        if flat := flat_along(self.bounds):
            raise refuse(f"lies as far {flat} as corner", expected="the corner across the box", at="opposite")
        return self


def bounds(corner: Point, opposite: Point) -> Array:
    """The lower and the upper corner of the box between two corners [m], shape (2, 3)."""
    return np.sort(np.array([corner, opposite]), axis=0)


def flat_along(box: Array) -> str:
    """The first way in which a box of shape (2, 3) [m] has no size; empty where it has one every way."""
    thin = box[1] - box[0] <= SAME_FACE
    return next((way for way, none in zip(("forward", "left", "up"), thin, strict=True) if none), "")


def _one_body(layers: tuple[LayerTable, ...]) -> tuple[LayerTable, ...]:
    """Layers that share no space, and each of which touches another on a face."""
    from scipy.sparse.csgraph import connected_components

    boxes = np.stack([layer.bounds for layer in layers])
    shared = np.minimum(boxes[:, None, 1], boxes[None, :, 1]) - np.maximum(boxes[:, None, 0], boxes[None, :, 0])
    over = np.triu((shared > SAME_FACE).all(axis=2), k=1)
    if over.any():
        one, two = np.argwhere(over)[0] + 1
        raise refuse(f"layers {one} and {two} overlap", expected="layers that share no space, which would count twice")
    # Oil passes through a face, not through an edge: the gap is along one axis, and along the others they face.
    faces = (shared > -TOUCHES).all(axis=2) & ((shared > TOUCHES).sum(axis=2) >= 2)
    _, part = connected_components(faces)
    if part.any():
        raise refuse(
            f"layer {int(np.flatnonzero(part)[0]) + 1} is not joined to layer 1",
            expected="layers that touch on a face, so that oil runs from one to the other",
        )
    return layers


Layers = Annotated[tuple[LayerTable, ...], Field(min_length=1, max_length=MOST_LAYERS), AfterValidator(_one_body)]
