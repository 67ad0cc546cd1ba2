"""What the injectors of a rail pass: by the square root of the pressure across them, and their duty cycle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.examples import in_units
from catalogs.grades import Grade
from catalogs.units import Quantity
from solver.stated import asked_for, asked_in, figure

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.plan import Component, Plan

    Array = npt.NDArray[np.float64]


STATED = ("injectors", "injector_flow", "injector_drop")
"""What has to be known of them."""
EXAMPLE = 'injectors = "8", injector_flow = "550 cc/min" and injector_drop = "43.5 psi"'


@dataclass(frozen=True)
class Injectors:
    """The injectors of one rail."""

    count: int
    flow: float
    """Of one, held open at `drop` with this fuel at 1 kg/m3: times the root of density, a flow by mass [kg/s]."""
    drop: float
    """Pressure across it at that flow [Pa]."""
    dead_time: Array | None
    """Of the time that it is driven, in which it does not flow, at every duty [s]; None where nobody states it."""
    rate: Array
    """How often it opens [1/s] at every duty; nan where the engine's speed is not known."""
    grade: Grade
    tested: float | None = None
    """Density of the liquid by whose volume they are stated [kg/m3]; None where they are stated by mass."""
    dimension: str = "mass_flow"
    """As they are stated."""

    def rated(self, times: float) -> Quantity | None:
        """Injectors so many times as large, as their box states them; None where that is by mass."""
        if self.tested is None:
            return None
        return Quantity(self.flow / self.tested**0.5 * times, self.dimension)

    def passes(self, across: Array, density: Array) -> Array:
        """Mass flow of one, held open [kg/s]: with the root of the pressure across it.

        Args:
            across: pressure of the rail over the manifold's [Pa], by duty.
            density: of the fuel [kg/m3], by duty.
        """
        return np.asarray(self.flow * np.sqrt(density * np.maximum(across, 0.0) / self.drop))

    def duty_cycle(self, burn: Array, across: Array, density: Array) -> Array:
        """Share of the time that each is driven [-]; inf where no pressure is left.

        Args:
            burn: mass flow of fuel of the whole rail [kg/s], by duty.
            across: pressure across them [Pa].
            density: of the fuel [kg/m3].
        """
        open_ = self.passes(across, density)
        share = np.divide(burn / self.count, open_, out=np.full_like(open_, np.inf), where=open_ > 0)
        return np.asarray(share if self.dead_time is None else share + self.dead_time * self.rate)


def injectors(plan: Plan, rail: Component, density: Array) -> Injectors:
    """The injectors of a rail, as the plan states them.

    A flow by volume is that of the test liquid, whose density makes it one of the fuel; one by mass is taken as the
    fuel's own. Each opens once in two turns of a four-stroke engine.

    Args:
        plan: the plan.
        rail: a component of kind rail.
        density: of the fuel, by duty [kg/m3].

    Raises:
        UnknownInputError: what is not stated.
    """
    lacking = [key for key in STATED if rail.figures.get(key) is None]
    if lacking:
        needs = f"{' and '.join(lacking)} in [components.{rail.name}], as {in_units(EXAMPLE, rail.system)}"
        raise UnknownInputError(f"of the injectors of {rail.name} nobody states {' and '.join(lacking)}", needs=needs)
    count = rail.figures["injectors"]
    drop, tested = (figure(rail, key) for key in ("injector_drop", "injector_tested"))
    values = list(rail.figures["injector_flow"].values.values())
    if len(values) != 1 or values[0].value <= 0 or drop <= 0:
        needs = f"{asked_for(rail, 'injector_flow')}; injector_drop over 0"
        raise UnknownInputError(f"the injectors of {rail.name} cannot be as stated", needs=needs)
    stated = values[0]
    by_mass = stated.dimension == "mass_flow"
    flow = stated.value / np.sqrt(float(density.mean())) if by_mass else stated.value * np.sqrt(tested)
    duties, dead = list(plan.duties), rail.figures.get("dead_time")
    speeds = [plan.duties[d].engine_speed for d in duties]
    unknown = [d for d, speed in zip(duties, speeds, strict=True) if speed is None]
    if dead is not None and unknown:
        needs = asked_in(unknown, "engine_speed", "speed", f"how often the injectors of {rail.name} open")
        raise UnknownInputError(f"how often the injectors of {rail.name} open is not known", needs=needs)
    own = rail.kind.figures["injector_tested"].grade or Grade.MEASURED
    return Injectors(
        count=count,
        flow=float(flow),
        drop=drop,
        dead_time=None if dead is None else np.array(dead.over(duties), dtype=np.float64),
        rate=np.array([np.nan if speed is None else speed / (4 * np.pi) for speed in speeds]),
        grade=Grade.MEASURED if by_mass or "injector_tested" in rail.stated else own,
        tested=None if by_mass else tested,
        dimension=stated.dimension,
    )
