"""A drain as seen from the side, unrolled: the way along it, square to effective gravity, against its height.

Everything is in metres, the axis of the outlet at the zero point; no drawing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity, show
from lines.states import leans
from reports.figures import taped
from reports.leaning import lean_text

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.units import System
    from lines.plan import Plan
    from reports.drainstates import DrainState, DrainStates
    from solver.drains.drain import Drain

    Array = npt.NDArray[np.float64]
    Booleans = npt.NDArray[np.bool_]

BETWEEN = 7
"""Points of the oil's surface in each piece."""
ALIKE = np.cos(np.radians(1.0))
"""Pieces that turn by less than this make one straight [-]."""
SHORTEST, MOST_STRAIGHTS = 0.08, 5
"""Share of the whole length from which a straight is told, and how many are."""
UPRIGHT = 0.02
"""Height over width of a section across a bore under which the bore counts as plumb [-]."""
WETS = 1e-4
"""Oil that stands no higher than this over the lowest of a plumb bore only runs down it [m]."""
LEAST_RISE = 0.001
"""A low that the line leaves by rising less than this holds no oil to speak of [m]."""


@dataclass(frozen=True)
class Note:
    """Words for a place."""

    at: tuple[float, float]
    text: str


@dataclass(frozen=True)
class Profile:
    """A drain in one state, shape (n, 2) [m] each: along, and up."""

    title: str
    facts: tuple[tuple[str, str], ...]
    """What is beside it: name and text."""
    crown: Array
    invert: Array
    oil: Array
    """The top of the oil, point by point over `bed`."""
    bed: Array
    free: Booleans
    """Where the top of the oil is a surface, with gas over it, and there is oil, shape (n,)."""
    ends: Array
    """The middle of the outlet and of the lower end, shape (2, 2)."""
    names: tuple[str, str]
    floods_at: float
    """Height of the flooding point."""
    surface: float | None
    """Height to which the oil stands at the outlet; None where it cannot be told."""
    under: str
    """How far the oil stays under the flooding point, or stands over it."""
    floods: bool
    sump: float | None
    """Height of the sump's oil; None where the drain does not end in any that is known."""
    sump_says: str
    over: str
    """How far the lower end is over the sump's oil, or under it."""
    straights: tuple[Note, ...]
    dips: tuple[Note, ...]

    @property
    def says(self) -> str:
        """How the oil stands against the flooding point, as it is written beside its level."""
        if self.floods:
            return f"FLOODS HERE: {self.under} it"
        return f"oil {self.under}" if self.under == RUNS_FREE else f"oil {self.under} the flooding point"


def profile(plan: Plan, states: DrainStates, state: DrainState, title: str) -> Profile:
    """A drain in one of its states."""
    stands, n, system = states.stood, state.number, plan.system
    line = stands.drain.line
    down = state.attitude.down
    height = -line.points @ down
    fall, zero = stands.surface.fall[n], float(height[0])
    along = np.concatenate([[0.0], np.cumsum(line.lengths * np.sqrt(1.0 - fall**2))])
    axis = np.stack([along, height - zero], axis=1)
    bed, top = _walls(axis, line.bore)
    levels = tuple(level[n] - zero for level in stands.surface.surface)
    oil_bed, oil_top, free = _oil(axis, bed, top, levels)
    sump, end = stands.states.oil[n], float(axis[-1, 1])
    fell, length = taped(abs(end), system).text, taped(float(line.stations[-1]), system).text
    drop = f"{'falls' if end <= 0 else 'RISES'} {fell} in {length}"
    floods_at = float(-states.stood.drain.floods @ down) - zero
    surface = None if state.clearance is None else float(levels[0][0])
    if surface is not None and np.isfinite(state.standing):
        surface = floods_at - state.standing
    return Profile(
        title=title,
        facts=facts(plan, stands.drain, state, drop),
        crown=top.reshape(-1, 2),
        invert=bed.reshape(-1, 2),
        oil=oil_top,
        bed=oil_bed,
        free=free,
        ends=axis[[0, -1]],
        names=(line.outlet, line.inlet),
        floods_at=floods_at,
        surface=surface,
        under=under_text(state, system),
        floods=state.works is False,
        sump=float(sump - zero) if np.isfinite(sump) else None,
        sump_says=_sump_says(states.stood.drain, known=bool(np.isfinite(sump))),
        over=over_text(state.mouth, system),
        straights=_straights(states.stood.drain, axis, fall, system),
        dips=_dips(states, n, axis, system),
    )


def _walls(axis: Array, bore: Array) -> tuple[Array, Array]:
    """Bed and crown of each piece at both its ends, mitred to the next, shape (pieces, 2, 2) each."""
    way = np.diff(axis, axis=0)
    way = way / np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-12)
    square = np.stack([-way[:, 1], way[:, 0]], axis=1)
    before, after = np.concatenate([square[:1], square]), np.concatenate([square, square[-1:]])
    mitre = (before + after) / np.maximum(1.0 + np.sum(before * after, axis=1, keepdims=True), 0.3)
    half = np.stack([mitre[:-1], mitre[1:]], axis=1) * bore[:, None, None] / 2
    middle = np.stack([axis[:-1], axis[1:]], axis=1)
    return middle - half, middle + half


def _oil(axis: Array, bed: Array, top: Array, levels: tuple[Array, Array]) -> tuple[Array, Array, Booleans]:
    """Bed and top of the oil along the drain, shape (points, 2) each, and where that top is a free surface.

    Across a section that leans, the oil is as high as the level says; across one that lies flat, as in a plumb bore, it
    is all oil or none.
    """
    share = np.linspace(0.0, 1.0, BETWEEN)[None, :]

    def between(ends: Array) -> Array:
        return np.asarray(ends[:, :1] + (ends[:, 1:] - ends[:, :1]) * share[..., None])

    low, high = between(bed), between(top)
    middle = between(np.stack([axis[:-1], axis[1:]], axis=1))[..., 1]
    level = levels[0][:, None] + (levels[1] - levels[0])[:, None] * share
    level = np.where(np.isfinite(level), level, -np.inf)
    rise, size = high[..., 1] - low[..., 1], np.linalg.norm(high - low, axis=2)
    leans_over = rise > UPRIGHT * size
    part = np.clip((level - low[..., 1]) / np.where(leans_over, rise, 1.0), 0.0, 1.0)
    part = np.where(leans_over, part, level > middle + WETS)
    oil = low + part[..., None] * (high - low)
    return low.reshape(-1, 2), oil.reshape(-1, 2), ((part > 0) & (part < 1)).ravel()


# ---------------------------------------------------------------- words


def facts(plan: Plan, drain: Drain, state: DrainState, drop: str) -> tuple[tuple[str, str], ...]:
    """The state that a drain is in, and what runs in it."""
    system, duty = plan.system, list(plan.duties).index(state.duty)
    oil, foam = drain.oil_flow[duty], drain.foams[0].flow[duty]
    end, over = drain.foams[-1].flow[duty], float(drain.over[duty])
    gas = f"{100 * (1 - oil / foam):.0f} % gas"

    def flow(value: float) -> str:
        return show(Quantity(float(value), "oil_flow"), system)

    warm = show(Quantity(float(drain.temperature[duty]), "temperature"), system)
    return (
        ("attitude", f"{state.attitude.name}, {'sustained' if state.attitude.sustained else 'transient'}"),
        ("lean", lean_text(*leans(state.attitude.down))),
        ("duty", state.duty),
        ("line", drop),
        ("oil", f"{warm}, {flow(oil)}"),
        ("foam", f"{flow(foam)}, {gas}"),
        *((("at its end", flow(end)),) if end > foam * 1.001 else ()),
        *((("crankcase", f"{show(Quantity(over, 'gas_drop'), system)} over housing"),) if over > 0 else ()),
    )


def under_text(state: DrainState, system: System) -> str:
    """How far the oil stays under the flooding point, as a tape reads it, or that it runs part full."""
    if state.clearance is None:
        return "not known"
    if not np.isfinite(state.standing):
        return RUNS_FREE
    return f"{length_text(abs(state.standing), system)} {'under' if state.standing >= 0 else 'OVER'}"


RUNS_FREE = "runs part full"
"""What is said of oil that stands nowhere: it flows part full from the flooding point on."""


def over_text(mouth: float | None, system: System) -> str:
    """How far the middle of a drain's end is over the sump's oil [m]."""
    if mouth is None:
        return ""
    return f"{length_text(abs(mouth), system)} {'over' if mouth >= 0 else 'UNDER'}"


def length_text(length: float, system: System) -> str:
    """A height as a tape reads it, or what the tape cannot show as less than its finest mark."""
    text = taped(length, system).text
    return text if text.partition(" ")[0] != "0" else f"less than {'1/16 in' if system == 'us' else '1 mm'}"


def _sump_says(drain: Drain, *, known: bool) -> str:
    if drain.sump:
        return f"oil in {drain.sump}, full" if known else f"oil in {drain.sump}: not known in this attitude"
    return f"scavenge pump {drain.pump.name}" if drain.pump is not None else "open end"


def _straights(drain: Drain, axis: Array, fall: Array, system: System) -> tuple[Note, ...]:
    """The longest straights, each with its length and its slope."""
    line = drain.line
    way = np.diff(line.points, axis=0) / line.lengths[:, None]
    breaks = 1 + np.flatnonzero((np.sum(way[1:] * way[:-1], axis=1) < ALIKE) | (np.diff(line.run) != 0))
    parts = [(group[0], group[-1] + 1) for group in np.split(np.arange(len(way)), breaks)]
    station, whole = line.stations, line.stations[-1]
    longest = sorted(parts, key=lambda part: station[part[0]] - station[part[1]])[:MOST_STRAIGHTS]
    found = []
    for a, b in sorted(longest):
        long = station[b] - station[a]
        if long >= SHORTEST * whole:
            at = (axis[a] + axis[b]) / 2
            slope = slope_text(float(np.arcsin(fall[a])))
            found.append(Note((float(at[0]), float(at[1])), f"{taped(float(long), system).text} {slope}"))
    return tuple(found)


def slope_text(fall: float) -> str:
    """`falls 24.0 deg` or `RISES 3.2 deg`."""
    if round(abs(np.degrees(fall)), 1) == 0:
        return "LEVEL"
    return f"{'falls' if fall > 0 else 'RISES'} {abs(np.degrees(fall)):.1f} deg"


def _dips(states: DrainStates, n: int, axis: Array, system: System) -> tuple[Note, ...]:
    """The lows that stand full, each with where it lies and how far the line rises after it."""
    found, height = [], axis[:, 1]
    covered = states.stood.surface.surface[0][n] >= states.stood.surface.crown[0][n]
    for k in lows(height):
        after = float(height[k:].max() - height[k])
        if covered[k] and after > LEAST_RISE:
            run, far = states.stood.drain.line.place(k)
            text = f"{taped(far, system).text} from A of {run}, rises {taped(after, system).text}"
            found.append(Note((float(axis[k, 0]), float(axis[k, 1])), text))
    return tuple(found)


def lows(height: Array) -> list[int]:
    """The inner points of a line from which it rises both ways, or on from a level part; the last of equal ones."""
    steps = np.sign(np.round(np.diff(height), 9))
    found, falling = [], False
    for k, step in enumerate(steps):
        if step > 0 and falling:
            found.append(k)
        falling = falling if step == 0 else bool(step < 0)
    return found
