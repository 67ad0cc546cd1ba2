"""Laws of devices that switch: each one continuous and monotone, with a discrete state for each batch point.

A device is one edge. In each state it gives its flow as a straight line of its end pressures about the present
point, q = a + y_t P_t - y_h P_h, which is all that Newton's method needs. P is the piezometric total pressure
p + rho g z [Pa absolute]; t and h are the edge's start and end.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol, Self

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt
    from scipy.interpolate import PchipInterpolator

    Array = npt.NDArray[np.float64]
    States = npt.NDArray[np.int64]

LEAK = 1e-15
"""Flow that a closed device lets by [m3/s per Pa]: 0.0015 L/h at 400 kPa. It keeps the matrix regular."""
TRACE = 1e-7
"""Of a feed regulator's leak, what comes from before it, which gives a dead end there a pressure."""
FLATTEST = 1e4
"""Least slope of a drop that an open device is stepped with [Pa s/m3]: 1 Pa at 360 L/h."""
MOST_LEAK = 1e-8
"""A leak over this is no leak [m3/s]: 36 mL/h. A law that rests on one is not kept."""
STEEP = 1e9
"""What a flow that should not be counts for [Pa s/m3]: 4 mL/h as much as a pascal."""
FLATTEST_CURVE = -1e-13
"""Least slope of a pump's flow against its rise that it is stepped with [m3/s per Pa]."""


@dataclass(frozen=True)
class Bore:
    """drop = viscous mu q + inertial rho q|q|: the law of everything that resists without friction along a length."""

    viscous: float
    inertial: float

    def drop(self, flow: Array, density: Array, viscosity: Array) -> tuple[Array, Array]:
        """Drop [Pa] and its slope [Pa s/m3] at flows [m3/s]."""
        size = np.abs(flow)
        drop = self.viscous * viscosity * flow + self.inertial * density * flow * size
        return drop, self.viscous * viscosity + 2.0 * self.inertial * density * size


@dataclass(frozen=True)
class Here:
    """The present point of one edge, each of shape (batch,)."""

    flow: Array
    start: Array
    """P at its start [Pa]."""
    end: Array
    density: Array
    viscosity: Array
    lift: Array
    """rho g z where it feels a pressure [Pa]: P less this is the pressure there."""
    felt: Array
    """P there: at its end, unless it feels one elsewhere [Pa]."""


class Device(Protocol):
    """One edge with states."""

    @property
    def states(self) -> tuple[str, ...]: ...

    def first(self, batch: int) -> States: ...

    def line(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> tuple[Array, Array, Array]:
        """a, y_t, y_h about the present point, each of shape (batch,)."""
        ...

    def wanted(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> tuple[States, Array]:
        """The state that the present point asks for, and by how many Pa it is missed."""
        ...

    def miss(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> Array:
        """By how many Pa its law, in this state, is not kept by the flow and pressures of the present point."""
        ...

    def outside(self, here: Here, rows: npt.NDArray[np.int64]) -> npt.NDArray[np.bool_]:
        """Where the device works outside its own data."""
        ...

    def over(self, points: npt.NDArray[np.int64]) -> Self:
        """The device over these batch points, any of them as often as wanted."""
        ...


def leaks(here: Here, leak: Array | None = None) -> Array:
    """By how much the flow of a shut device is not its leak, or is more than a leak [Pa].

    Args:
        here: its present point.
        leak: what it leaks [m3/s]; by its own two pressures where none is said.
    """
    leak = LEAK * (here.start - here.end) if leak is None else leak
    return np.maximum(STEEP * np.abs(here.flow - leak), _gushes(leak))


def _gushes(leak: Array) -> Array:
    """By how many Pa the leak of a device [m3/s] is more than a leak: what should not go through goes through there."""
    return STEEP * np.maximum(np.abs(leak) - MOST_LEAK, 0.0)


def _resist(here: Here, drop: Array, slope: Array) -> tuple[Array, Array, Array]:
    y = 1.0 / slope
    return here.flow - drop * y, y, y


@dataclass(frozen=True)
class Pump:
    """A pump by its curves: flow against pressure rise, each at a weight and a relative speed for each batch point.

    flow = sum_i w_i s_i G_i(rise / s_i^2): the affinity laws, flow with speed and rise with its square. Between two
    curves by voltage both speeds are one.
    """

    curves: tuple[PchipInterpolator, ...]
    weights: Array
    """Shape (batch, curves)."""
    speed: Array
    """Over that of the curve, shape (batch, curves)."""
    states: tuple[str, ...] = ("running",)

    def first(self, batch: int) -> States:
        return np.zeros(batch, dtype=np.int64)

    def _flow(self, rise: Array, rows: npt.NDArray[np.int64]) -> tuple[Array, Array]:
        flow, slope = np.zeros_like(rise), np.zeros_like(rise)
        for i, curve in enumerate(self.curves):
            speed, weight = self.speed[rows, i], self.weights[rows, i]
            x = rise / speed**2
            inside = np.clip(x, curve.x[0], curve.x[-1])
            # Past its ends a curve goes on straight, for the steps; `outside` says so of an answer.
            tilt = np.minimum(curve(inside, 1), FLATTEST_CURVE)
            flow += weight * speed * (curve(inside) + tilt * (x - inside))
            slope += weight * tilt / speed
        return flow, slope

    def at(self, rise: Array, point: int | npt.NDArray[np.int64]) -> Array:
        """Flow [m3/s] at pressure rises [Pa], shape (n,) each, as driven at one batch point, or each at its own."""
        return self._flow(rise, np.broadcast_to(point, rise.shape))[0]

    def line(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> tuple[Array, Array, Array]:
        rise = here.end - here.start
        flow, slope = self._flow(rise, rows)
        return flow - slope * rise, -slope, -slope

    def wanted(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> tuple[States, Array]:
        return state, np.zeros_like(here.flow)

    def miss(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> Array:
        flow, slope = self._flow(here.end - here.start, rows)
        return np.abs((here.flow - flow) / slope)

    def ends(self) -> tuple[Array, Array]:
        """Least and largest rise [Pa] that every curve in use has a point for, each of shape (batch,)."""
        used = self.weights > 0
        first, last = (np.array([curve.x[i] for curve in self.curves]) * self.speed**2 for i in (0, -1))
        return np.where(used, first, -np.inf).max(axis=1), np.where(used, last, np.inf).min(axis=1)

    def most(self) -> Array:
        """Flow at the first points of its curves [m3/s], shape (batch,)."""
        first = np.array([float(curve(curve.x[0])) for curve in self.curves])
        return np.asarray((self.weights * self.speed * first).sum(axis=1))

    def outside(self, here: Here, rows: npt.NDArray[np.int64]) -> npt.NDArray[np.bool_]:
        away = np.zeros(len(rows), dtype=bool)
        for i, curve in enumerate(self.curves):
            x = (here.end - here.start) / self.speed[rows, i] ** 2
            used = self.weights[rows, i] > 0
            away |= used & ((x < curve.x[0] - 1.0) | (x > curve.x[-1] + 1.0))
        return away

    def over(self, points: npt.NDArray[np.int64]) -> Self:
        return replace(self, weights=self.weights[points], speed=self.speed[points])


@dataclass(frozen=True)
class Check:
    """A check valve: shut, or open at its cracking pressure plus its own loss."""

    crack: Array
    """Shape (batch,) [Pa]."""
    bore: Bore
    states: tuple[str, ...] = ("shut", "open")

    def first(self, batch: int) -> States:
        return np.ones(batch, dtype=np.int64)

    def line(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> tuple[Array, Array, Array]:
        drop, slope = self.bore.drop(here.flow, here.density, here.viscosity)
        a, y, _ = _resist(here, drop + self.crack[rows], np.maximum(slope, FLATTEST))
        shut = state == 0
        a, y = np.where(shut, 0.0, a), np.where(shut, LEAK, y)
        return a, y, y

    def wanted(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> tuple[States, Array]:
        excess = here.start - here.end - self.crack[rows]
        opens = (state == 0) & (excess > 1.0)
        shuts = (state == 1) & (here.flow < 0.0)
        back = -self.bore.drop(here.flow, here.density, here.viscosity)[0]
        miss = np.where(opens, excess, np.where(shuts, np.maximum(back, 1e-9), 0.0))
        return np.where(opens, 1, np.where(shuts, 0, state)), miss

    def miss(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> Array:
        excess = here.start - here.end - self.crack[rows]
        short = np.abs(excess - self.bore.drop(here.flow, here.density, here.viscosity)[0])
        back = STEEP * np.maximum(-here.flow, 0.0)
        return np.where(state == 0, np.maximum(excess, leaks(here)), np.maximum(short, back))

    def outside(self, here: Here, rows: npt.NDArray[np.int64]) -> npt.NDArray[np.bool_]:
        return np.zeros(len(rows), dtype=bool)

    def over(self, points: npt.NDArray[np.int64]) -> Self:
        return replace(self, crack=self.crack[points])


@dataclass(frozen=True)
class Regulator:
    """A valve that holds a pressure: shut, holding (set pressure and slope times flow), or wide open.

    A bypass or relief valve holds the pressure before it, which rises with flow; a feed regulator that behind it,
    which falls with flow. flow = max(0, min(flow while holding, flow wide open)), which rises with the pressure before
    it and falls with that behind it; nothing flows back. A feed regulator leaks from the pressure that it holds, so
    that a dead end behind it comes to that and not to what lies before it: it does not creep.
    """

    held: Array
    """Pressure at which it begins to open, reference included [Pa absolute], shape (batch,)."""
    slope: Array
    """Change of the held pressure with flow [Pa s/m3], shape (batch,)."""
    bore: Bore
    """Held wide open."""
    behind: bool = False
    """Does it hold the pressure behind it?"""
    states: tuple[str, ...] = ("shut", "holding", "wide open")

    def first(self, batch: int) -> States:
        return np.ones(batch, dtype=np.int64)

    def _over(self, here: Here, rows: npt.NDArray[np.int64]) -> Array:
        """By how many Pa the pressure that it feels asks it to open."""
        return here.lift + self.held[rows] - here.end if self.behind else here.start - here.lift - self.held[rows]

    def _leak(self, here: Here, rows: npt.NDArray[np.int64]) -> Array:
        """What it leaks [m3/s]; a feed regulator but a trace of it from what it holds."""
        across = here.start - here.end
        return LEAK * (self._over(here, rows) + TRACE * across) if self.behind else LEAK * across

    def line(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> tuple[Array, Array, Array]:
        drop, slope = self.bore.drop(here.flow, here.density, here.viscosity)
        open_a, open_y, _ = _resist(here, drop, np.maximum(slope, FLATTEST))
        hold_y = 1.0 / np.maximum(self.slope[rows], FLATTEST)
        hold_a = (here.lift + self.held[rows]) * (hold_y if self.behind else -hold_y)
        pick = [state == 0, state == 1]
        leak, none = np.full_like(open_y, LEAK), np.zeros_like(open_y)
        if self.behind:
            own = (here.lift + self.held[rows]) * leak
            trace = TRACE * leak
            a = np.select(pick, [own, own + hold_a], open_a)
            y_end = np.select(pick, [leak + trace, leak + trace + hold_y], open_y)
            return a, np.select(pick, [trace, trace], open_y), y_end
        # The leak goes on while it holds, so that the law has no step and a dead end behind it has a pressure.
        y_start = np.select(pick, [leak, leak + hold_y], open_y)
        return np.select(pick, [none, hold_a], open_a), y_start, np.select(pick, [leak, leak], open_y)

    def wanted(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> tuple[States, Array]:
        over = self._over(here, rows)
        through = here.start - here.end - self.bore.drop(here.flow, here.density, here.viscosity)[0]
        held_flow = here.flow - self._leak(here, rows)
        over_held = over - np.maximum(self.slope[rows], FLATTEST) * held_flow
        back = here.end - here.start
        opens = (state == 0) & (over > 1.0) & (back < -1.0)
        # At a dead end a holding valve has no flow to turn back, only a pressure under its own.
        shuts = ((state > 0) & (here.flow < 0.0)) | ((state == 1) & (over < -1.0))
        widens = (state == 1) & ~shuts & (through < -1.0)
        returns = (state == 2) & ~shuts & (over_held < -1.0)
        wanted = np.select([opens | returns, shuts, widens], [1, 0, 2], state)
        least = np.maximum(np.maximum(-over, back), 1e-9)
        miss = np.select([opens, shuts, widens, returns], [over, least, -through, -over_held], 0.0)
        return wanted, miss

    def miss(self, here: Here, state: States, rows: npt.NDArray[np.int64]) -> Array:
        across = here.start - here.end
        over = self._over(here, rows)
        leak = self._leak(here, rows)
        held = over - np.maximum(self.slope[rows], FLATTEST) * (here.flow - leak * (state == 1))
        through = across - self.bore.drop(here.flow, here.density, here.viscosity)[0]
        back = STEEP * np.maximum(-here.flow, 0.0)
        shut = np.maximum(np.minimum(over, across), leaks(here, leak))
        holding = np.maximum.reduce([np.abs(held), -over, -through, back, _gushes(leak)])
        return np.select([state == 0, state == 1], [shut, holding], np.maximum.reduce([np.abs(through), -held, back]))

    def outside(self, here: Here, rows: npt.NDArray[np.int64]) -> npt.NDArray[np.bool_]:
        return np.zeros(len(rows), dtype=bool)

    def over(self, points: npt.NDArray[np.int64]) -> Self:
        return replace(self, held=self.held[points], slope=self.slope[points])
