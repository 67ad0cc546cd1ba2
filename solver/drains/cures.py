"""What would stop a drain from flooding, and how far the vehicle may lean with it.

Each cure is the least change of one thing with which the drain works in every state that it has to. A place that moves
takes the line along, less and less to its other end: nearly as a hose would be laid again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from solver.drains.envelope import WAYS, safe_tilts
from solver.drains.surface import States
from solver.drains.turning import with_housing_turned

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from catalogs.catalog import Catalog
    from catalogs.records import Stock
    from solver.drains.drainage import Drain
    from solver.study import Study

    Array = npt.NDArray[np.float64]

FARTHEST = 0.45
"""No place is moved farther [m]."""
STEP = 0.005
"""In which a move is looked for [m]."""
SIZES = 2
"""How many sizes of hose more are tried."""

SIDES = {
    "back": (-1.0, 0.0, 0.0),
    "forward": (1.0, 0.0, 0.0),
    "to the left": (0.0, 1.0, 0.0),
    "to the right": (0.0, -1.0, 0.0),
}


@dataclass(frozen=True)
class Cure:
    """One change that is enough."""

    what: str
    """`turbo up`, `end down`, `end up`, `end` and a side, `turn`, `straight`, `size`, `pressure`."""
    by: float
    """How far [m or rad], or the crankcase pressure over the housing's that is left [Pa]."""
    stock: Stock | None
    """The stock, where its size changes."""
    straight: bool
    """Does it take a hose that is straight from end to end besides?"""
    tilt: float
    """The largest tilt with it [rad] toward where it fails now; where that is level ground, the least of all four."""


def cures(study: Study, drain: Drain, states: States, bearing: float | None, *, wider: bool) -> list[Cure]:
    """Changes each of which is enough to keep a drain from flooding.

    Args:
        study: the plan and what follows from it.
        drain: one of its drains.
        states: every state in which it has to work.
        bearing: of what is downhill in the state that floods the most [rad]; None on level ground.
        wider: is its bore part of the trouble, so that a wider hose may be a cure?
    """
    straight = _laid_straight(drain)
    alone = _works(straight, states)
    ways, straight_ways = _moves(drain), _moves(straight)
    tried = [Cure("straight", 0.0, None, straight=True, tilt=_tilt(straight, bearing)) if alone else None]
    for what in ways:
        own = _by_moving(drain, states, what, ways[what], bearing)
        if own is None and not alone:
            own = _by_moving(straight, states, what, straight_ways[what], bearing, straight=True)
        tried.append(own)
    tried += [
        _turned(study, drain, states, bearing),
        _wider(drain, states, bearing, study.plan.catalog) if wider else None,
        _calmer(drain, states, bearing),
    ]
    found = [cure for cure in tried if cure is not None]
    return found or (_wider_and_moved(study, drain, states, bearing) if wider else [])


def _wider_and_moved(study: Study, drain: Drain, states: States, bearing: float | None) -> list[Cure]:
    """The least moves that are enough with the next size of hose, where neither is alone."""
    for stock, wide in next_sizes(drain, study.plan.catalog):
        for laid, straight in ((wide, False), (_laid_straight(wide), True)):
            tried = [
                _by_moving(laid, states, what, moved, bearing, straight=straight)
                for what, moved in _moves(laid).items()
            ]
            if any(tried):
                return [replace(cure, stock=stock) for cure in tried if cure is not None]
    return []


def _moves(drain: Drain) -> dict[str, Callable[[float], Drain]]:
    """The drain as one of its two ends is moved by some length [m]."""
    stations = drain.line.stations
    along = (stations / stations[-1])[:, None]
    up = np.array([0.0, 0.0, 1.0])

    def end(way: Array) -> Callable[[float], Drain]:
        return lambda by: _through(drain, drain.line.points + by * along * way)

    def turbo(by: float) -> Drain:
        raised = _through(drain, drain.line.points + by * (1.0 - along) * up)
        return replace(raised, floods=drain.floods + by * up)

    return {
        "turbo up": turbo,
        "end down": end(-up),
        "end up": end(up),
        **{f"end {side}": end(np.array(way)) for side, way in SIDES.items()},
    }


def _through(drain: Drain, points: Array) -> Drain:
    return replace(drain, line=drain.line.moved(points))


def _by_moving(
    drain: Drain,
    states: States,
    what: str,
    moved: Callable[[float], Drain],
    bearing: float | None,
    *,
    straight: bool = False,
) -> Cure | None:
    """The least move that is enough; all that are tried stand in one batch."""
    tried = np.arange(STEP, FARTHEST + STEP / 2, STEP)
    trials = [moved(float(by)) for by in tried]
    points = np.stack([trial.line.points for trial in trials])
    floods = np.stack([trial.floods for trial in trials])
    size = len(states)
    many = States(*(np.concatenate([getattr(states, key)] * len(tried)) for key in ("gravity", "duty", "oil", "over")))
    clear = drain.to_spare(many, np.repeat(points, size, axis=0), np.repeat(floods, size, axis=0))
    good = (clear.reshape(len(tried), size) >= 0).all(axis=1)
    if not good.any():
        return None
    i = int(good.argmax())
    return Cure(what, float(tried[i]), None, straight=straight, tilt=_tilt(trials[i], bearing))


def _turned(study: Study, drain: Drain, states: States, bearing: float | None) -> Cure | None:
    """The housing turned about its shaft."""
    for angle, other in with_housing_turned(study, drain):
        if _works(other, states):
            return Cure("turn", angle, None, straight=False, tilt=_tilt(other, bearing))
    return None


def _laid_straight(drain: Drain) -> Drain:
    """Straight from end to end, without the elbows and bends that it has."""
    first, last = drain.line.points[0], drain.line.points[-1]
    along = (drain.line.stations / drain.line.stations[-1])[:, None]
    kept = tuple(f for f in drain.line.fittings if not f.name.startswith(("bend ", "elbow ")))
    return _through(replace(drain, line=replace(drain.line, fittings=kept)), first + along * (last - first))


def _wider(drain: Drain, states: States, bearing: float | None, catalog: Catalog) -> Cure | None:
    """The next size of the same hose, with its own ends where the tables have them."""
    for stock, wide in next_sizes(drain, catalog):
        if _works(wide, states):
            return Cure("size", 0.0, stock, straight=False, tilt=_tilt(wide, bearing))
    return None


def next_sizes(drain: Drain, catalog: Catalog) -> list[tuple[Stock, Drain]]:
    """The drain with each of the next sizes of its first run's hose, in all of its runs."""
    own = catalog.stock(drain.stock)
    family = [
        s for s in map(catalog.stock, catalog.ids("stock")) if s.id.rpartition(" ")[0] == own.id.rpartition(" ")[0]
    ]
    wider = sorted((s for s in family if s.bore > own.bore), key=lambda s: s.bore)[:SIZES]
    return [(stock, _widened(drain, stock.bore / own.bore)) for stock in wider]


def _widened(drain: Drain, by: float) -> Drain:
    """With every bore wider by a factor [-]."""
    fittings = tuple(replace(f, viscous=f.viscous / by**3, inertial=f.inertial / by**4) for f in drain.line.fittings)
    return replace(drain, line=replace(drain.line, bore=drain.line.bore * by, fittings=fittings))


def _calmer(drain: Drain, states: States, bearing: float | None) -> Cure | None:
    """The crankcase pressure over the housing's that it bears, where less of it is enough."""
    most = float(np.max(states.over))
    if most <= 0 or not _works(drain, replace(states, over=np.zeros(len(states)))):
        return None
    low, high = 0.0, most
    while high - low > 0.01 * most:
        middle = (low + high) / 2
        bears = _works(drain, replace(states, over=np.minimum(states.over, middle)))
        low, high = (middle, high) if bears else (low, middle)
    calm = replace(drain, over=np.minimum(drain.over, low))
    return Cure("pressure", low, None, straight=False, tilt=_tilt(calm, bearing))


def _works(drain: Drain, states: States) -> bool:
    return bool((drain.to_spare(states) >= 0).all())


def _tilt(drain: Drain, bearing: float | None) -> float:
    """The largest tilt toward a bearing, or the least of all four ways."""
    bearings = list(WAYS.values()) if bearing is None else [bearing]
    return float(safe_tilts(drain, np.array(bearings)).min())
