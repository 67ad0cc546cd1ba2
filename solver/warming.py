"""How fuel in a tank warms while its pumps run: one body of fuel, warmed evenly, cooled by the air around its tank.

What comes back from the rails brings the heat that its pumps and the warm air around its runs gave it; what is burnt
takes its own along. The fuel that is left is taken to be that at the low level all the time, which warms fastest. What
comes back through warm air brings the less the warmer the fuel is: it is drawn to that air's temperature as it is to
that around its tank.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Warming:
    """A body of fuel that is warmed and cooled steadily."""

    start: float
    """Its temperature at first [K]."""
    air: float
    """That of the air around its tank [K]."""
    power: float
    """What goes into it [W]."""
    cooling: float
    """What its tank gives off for each kelvin over the air [W/K]."""
    capacity: float
    """Its mass times its heat capacity [J/K]."""

    @property
    def ends_at(self) -> float:
        """The temperature that it would come to in the end [K]; inf where nothing cools it."""
        return self.air + self.power / self.cooling if self.cooling > 0 else np.inf

    def drawn_to(self, air: float, by: float) -> Warming:
        """The same with other air that it is drawn to as well [K], by so much for each kelvin between them [W/K].

        >>> Warming(300.0, 290.0, 100.0, 2.0, 1e4).drawn_to(340.0, 2.0).ends_at
        340.0
        """
        both = self.cooling + by
        mean = self.air if both <= 0 else (self.cooling * self.air + by * air) / both
        return replace(self, air=mean, cooling=both)

    def after(self, time: float) -> float:
        """Its temperature after a time [s], in kelvin.

        >>> round(Warming(293.15, 293.15, 450.0, 0.0, 29600.0).after(600.0) - 293.15, 3)
        9.122
        """
        if self.cooling <= 0:
            return self.start + self.power * time / self.capacity
        return self.ends_at + (self.start - self.ends_at) * float(np.exp(-time * self.cooling / self.capacity))

    def until(self, temperature: float) -> float:
        """The time until it has come to a temperature [K], in s: 0 where it is there, inf where it never comes."""
        if temperature <= self.start:
            return 0.0
        if temperature >= self.ends_at:
            return np.inf
        if self.cooling <= 0:
            return (temperature - self.start) * self.capacity / self.power
        left = (self.ends_at - temperature) / (self.ends_at - self.start)
        return -self.capacity / self.cooling * float(np.log(left))
