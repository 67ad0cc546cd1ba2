"""What would stop a drain from flooding, and how far the vehicle may lean with it.

Each cure is the least change of one thing with which the drain works in every state that it has to; where no one thing
is enough, of a place together with a straight hose or a wider one. How much is looked for on the line drawn out evenly
to where its end goes, many at once; the plan is then changed by that, its hose laid again, and what does not work when
it is laid again is no cure.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from lines.resize import next_sizes
from solver.drains import relaid
from solver.drains.envelope import WAYS, safe_tilts
from solver.drains.surface import States
from solver.drains.turning import with_housing_turned

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.records import Stock
    from lines.plan import Plan
    from solver.drains.drain import Drain
    from solver.study import Study

    Array = npt.NDArray[np.float64]

FARTHEST = 0.45
"""No place is moved farther [m]."""
STEP = 0.005
"""In which a move is looked for [m]."""
MORE = (1.0, 1.1, 1.25, 1.5, 2.0)
"""A move that is not enough when the hose is laid again is tried so many times as large."""
SIZES = 2
"""How many sizes of hose more are tried."""

MOVES = {
    "turbo up": (0.0, 0.0, 1.0),
    "end down": (0.0, 0.0, -1.0),
    "end up": (0.0, 0.0, 1.0),
    "end back": (-1.0, 0.0, 0.0),
    "end forward": (1.0, 0.0, 0.0),
    "end to the left": (0.0, 1.0, 0.0),
    "end to the right": (0.0, -1.0, 0.0),
}
"""What may be moved, and which way."""


@dataclass(frozen=True)
class Cure:
    """One change that is enough."""

    what: str
    """One of `MOVES`, `turn`, `straight`, `size`, `pressure`."""
    by: float
    """How far [m or rad], or the crankcase pressure over the housing's that is left [Pa]."""
    stock: Stock | None
    """The stock, where its size changes."""
    straight: bool
    """Does it take a hose that is straight from end to end?"""
    tilt: float
    """The largest tilt with it [rad] toward where it fails now; where that is level ground, the least of all four."""


@dataclass(frozen=True)
class Ill:
    """A drain that floods: where it has to work, and what may be changed with the place of its ends."""

    study: Study
    drain: Drain
    states: States
    """Every state in which it has to work."""
    bearing: float | None
    """Of what is downhill in the state that floods the most [rad]; None on level ground."""

    @property
    def without_pressure(self) -> Ill:
        """The same with no more pressure in the crankcase than in the housing."""
        over = np.minimum(self.drain.over, 0.0)
        states = replace(self.states, over=np.minimum(self.states.over, 0.0))
        return replace(self, drain=replace(self.drain, over=over), states=states)


@dataclass(frozen=True)
class Other:
    """Another hose: of another size, straight, or both."""

    stock: Stock | None = None
    straight: bool = False

    def plan(self, ill: Ill) -> Plan | None:
        """The plan with it; None where it cannot be."""
        plan = ill.study.plan if self.stock is None else relaid.with_stock(ill.study.plan, ill.drain, self.stock)
        return relaid.with_hose_straight(plan, ill.drain) if self.straight else plan

    def drawn(self, ill: Ill) -> Drain:
        """The drain with it, drawn on the line as it lies."""
        drain = ill.drain
        if self.stock is not None:
            times = self.stock.bore / ill.study.plan.catalog.stock(drain.stock).bore
            drain = replace(drain, line=drain.line.wider(times))
        return _laid_straight(drain) if self.straight else drain


def cures(ill: Ill, *, wider: bool) -> list[Cure]:
    """Changes each of which is enough to keep a drain from flooding.

    Args:
        ill: the drain.
        wider: is its bore part of the trouble, so that a wider hose may be a cure?
    """
    catalog = ill.study.plan.catalog
    sizes = next_sizes(catalog, catalog.stock(ill.drain.stock), SIZES) if wider else []
    alone = [Other(straight=True), *(Other(stock) for stock in sizes)]
    found = [_with(ill, alone[0]), *_moved(ill, Other()), _turned(ill), _first(ill, alone[1:]), _calmer(ill)]
    enough = [cure for cure in found if cure is not None]
    if enough:
        return enough
    # No one thing is enough.
    together = [Other(straight=True), *(Other(s, straight) for s in sizes for straight in (False, True))]
    for other in together:
        both = [cure for cure in (_with(ill, other),) if cure is not None] or _moved(ill, other)
        if both:
            return both
    return []


# ---------------------------------------------------------------- another hose


def _with(ill: Ill, other: Other) -> Cure | None:
    """Another hose alone."""
    plan = other.plan(ill)
    laid = None if plan is None else relaid.laid_again(ill.study, ill.drain, plan)
    if laid is None or not _works(laid, ill.states):
        return None
    what = "size" if other.stock is not None else "straight"
    return Cure(what, 0.0, other.stock, other.straight, _tilt(ill, laid))


def _first(ill: Ill, others: list[Other]) -> Cure | None:
    return next((cure for other in others if (cure := _with(ill, other)) is not None), None)


def _laid_straight(drain: Drain) -> Drain:
    """Straight from end to end, without the elbows and bends that it has."""
    first, last = drain.line.points[0], drain.line.points[-1]
    along = (drain.line.stations / drain.line.stations[-1])[:, None]
    kept = tuple(f for f in drain.line.fittings if not f.name.startswith(("bend ", "elbow ")))
    return replace(drain, line=replace(drain.line, points=first + along * (last - first), fittings=kept))


# ---------------------------------------------------------------- an end moved


def _moved(ill: Ill, other: Other) -> list[Cure]:
    """The least move of each end, each way, that is enough with another hose."""
    plan = ill.study.plan if other.plan(ill) is not None else None
    drawn = other.drawn(ill)
    found = []
    for what, way in MOVES.items():
        least = None if plan is None else _least(ill, drawn, what, np.array(way))
        cure = None if least is None else _proved(ill, other, what, least)
        found += [] if cure is None else [cure]
    return found


def _least(ill: Ill, drawn: Drain, what: str, way: Array) -> float | None:
    """The least move that is enough on the line drawn out evenly [m]; all that are tried stand in one batch."""
    tried, size = np.arange(STEP, FARTHEST + STEP / 2, STEP), len(ill.states)
    stations = drawn.line.stations
    share = stations / stations[-1] if what.startswith("end ") else 1.0 - stations / stations[-1]
    points = drawn.line.points + tried[:, None, None] * share[:, None] * way
    floods = drawn.floods + tried[:, None] * way * (0.0 if what.startswith("end ") else 1.0)
    many = ill.states.rows(np.tile(np.arange(size), len(tried)))
    spare = drawn.to_spare(many, np.repeat(points, size, axis=0), np.repeat(floods, size, axis=0))
    good = (spare.reshape(len(tried), size) >= 0).all(axis=1)
    return float(tried[int(good.argmax())]) if good.any() else None


def _proved(ill: Ill, other: Other, what: str, least: float) -> Cure | None:
    """A move by about the least, as far as it takes with the hose laid again; None where it is not enough then."""
    for more in MORE:
        by = STEP * round(least * more / STEP)
        if by > FARTHEST:
            return None
        laid = _laid_with(ill, other, what, by)
        if laid is not None and _works(laid, ill.states):
            return Cure(what, by, other.stock, other.straight, _tilt(ill, laid))
    return None


def _laid_with(ill: Ill, other: Other, what: str, by: float) -> Drain | None:
    """The drain laid again with an end moved [m] and another hose."""
    plan, drain = ill.study.plan, ill.drain
    if what.startswith("end "):
        plan = relaid.with_end_moved(plan, drain, by * np.array(MOVES[what]))
    else:
        plan = relaid.with_outlet_raised(plan, drain, by)
    changed = other.plan(replace(ill, study=replace(ill.study, plan=plan)))
    return None if changed is None else relaid.laid_again(ill.study, drain, changed)


# ---------------------------------------------------------------- the rest


def _turned(ill: Ill) -> Cure | None:
    """The housing turned about its shaft."""
    for angle, laid in with_housing_turned(ill.study, ill.drain):
        if _works(laid, ill.states):
            return Cure("turn", angle, None, straight=False, tilt=_tilt(ill, laid))
    return None


def _calmer(ill: Ill) -> Cure | None:
    """The crankcase pressure over the housing's that it bears, where less of it is enough."""
    drain, states = ill.drain, ill.states
    most = float(np.max(states.over))
    if most <= 0 or not _works(drain, replace(states, over=np.zeros(len(states)))):
        return None
    low, high = 0.0, most
    while high - low > 0.01 * most:
        middle = (low + high) / 2
        bears = _works(drain, replace(states, over=np.minimum(states.over, middle)))
        low, high = (middle, high) if bears else (low, middle)
    calm = replace(drain, over=np.minimum(drain.over, low))
    return Cure("pressure", low, None, straight=False, tilt=_tilt(ill, calm))


def _works(drain: Drain, states: States) -> bool:
    """Does it, in all of these states? The oil in the sump stands where it did."""
    return bool((drain.to_spare(states) >= 0).all())


def _tilt(ill: Ill, drain: Drain) -> float:
    """The largest tilt toward where it fails now, or the least of all four ways, under pressure as the ill one is."""
    bearings = list(WAYS.values()) if ill.bearing is None else [ill.bearing]
    pressed = replace(drain, over=np.minimum(drain.over, ill.drain.over))
    return float(safe_tilts(pressed, np.array(bearings)).min())
