"""What a plot is: lines, points and what is along its two axes, in the plan's units. No drawing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs import units

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.units import System

    Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Axis:
    """What is along one side of a plot, in the plan's units."""

    name: str
    dimension: str
    system: System

    def of(self, values: Array) -> Array:
        """Values [SI] in the unit that is printed."""
        unit = units.unit(self.dimension, units.printed_unit(self.dimension, self.system))
        return np.array([unit.from_si(float(v)) for v in np.ravel(values)]).reshape(np.shape(values))

    def at(self, value: float) -> float:
        """A value [SI] in the unit that is printed."""
        return float(self.of(np.array(value)))

    @property
    def label(self) -> str:
        return f"{self.name}, {units.printed_unit(self.dimension, self.system)}"


@dataclass(frozen=True)
class Line:
    """A line of a plot, shape (n, 2), in the plan's units."""

    name: str
    points: Array
    thin: bool = False


@dataclass(frozen=True)
class Dot:
    """A point of a plot, with what it is."""

    at: tuple[float, float]
    text: str
    filled: bool = True


@dataclass(frozen=True)
class Plot:
    """A plot: lines, points and its two axes."""

    title: str
    x: Axis
    y: Axis
    lines: tuple[Line, ...]
    dots: tuple[Dot, ...]
    shaded: Array | None = None
    """The outline of what is hatched, shape (n, 2)."""
    notes: tuple[str, ...] = ()
    """What has to be known to read it, a sentence each without its point."""
