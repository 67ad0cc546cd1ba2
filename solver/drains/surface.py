"""The oil's surface in a drain, carried upstream from its end, in many states at once.

Heights are along effective gravity, those of the bore from its invert, its lowest line. What is carried starts at the
sump's oil or at the depth of a free outfall, the lesser of that of even flow and the critical one. From piece to piece
upstream it is

- no less than even flow's depth where the bore falls; a bore that its flow fills counts as full;
- at the inlet, over a crest and where the bore narrows, where a stream passes from slow to fast, no less than a still
  pool needs to run off there: the critical depth and the head of its velocity; not at a neck that even flow comes to
  with more than that. Into a length steeper than `STEEP` no depth across the bore means anything: it is judged by its
  Froude number instead;
- raised by friction at its own depth, by that of the full bore where it runs full or does not fall;
- raised by what a fitting loses at the velocity there, at most that of critical flow; not in a steep length that runs
  part full;
- raised by what crankcase pressure is over the housing's, upstream of each place where oil shuts the bore: its end
  under the sump's oil, a dip, a length that runs full or does not fall, not what a fitting raises in a stream that runs
  part full; never lowered. No column bears that pressure twice, but each bears all of it, as if gas that is caught
  between two came to the crankcase's pressure. (It may come to more, by what the lower one stands: not counted; a dip
  that shuts the bore fails by itself.) A column of several foams rises as if all of it were the lightest.

Foam in an end that the sump's oil covers is lighter than that oil: over the crown it stands as much higher as it has
gas.

So a dip fills to its rim. The surface is what is carried, or the depth that the bore's own fall gives, whichever is the
higher. A length that does not fall counts as full: it is shut, and shown full, but it raises nothing above it by more
than its crest does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from solver.drains.channel import Channel
from solver.drains.level import Level

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import numpy.typing as npt

    from solver.drains.foam import Foam
    from solver.drains.pieces import DrainLine, Fitting

    Array = npt.NDArray[np.float64]
    Integers = npt.NDArray[np.int64]
    Booleans = npt.NDArray[np.bool_]

STEEP = math.sin(math.radians(45))
"""Sine of the fall above which a length is judged as a plumb one."""
LEVEL = 1e-9
"""Sine of a fall under which a length does not fall."""
TOUCHES = 1e-4
"""A surface over the crown by no more than this has not covered it [m]."""


@dataclass(frozen=True)
class States:
    """What a drain stands in: one row for each state."""

    gravity: Array
    """Effective, in vehicle axes, shape (states, 3) [m/s2]."""
    duty: Integers
    """Number of the duty, shape (states,)."""
    oil: Array
    """Height of the oil's surface at the drain's end along gravity, shape (states,) [m]; -inf where none is."""
    over: Array
    """Crankcase pressure less that of the bearing housing, shape (states,) [Pa]."""

    def __len__(self) -> int:
        return len(self.duty)

    def rows(self, rows: Integers | Booleans | slice) -> States:
        """Some of them, or some more than once."""
        return States(self.gravity[rows], self.duty[rows], self.oil[rows], self.over[rows])

    @property
    def down(self) -> Array:
        """Unit vectors along gravity, shape (states, 3)."""
        return np.asarray(self.gravity / np.linalg.norm(self.gravity, axis=1, keepdims=True))


def one(states: States, row: int) -> States:
    """One state of many, as a batch of one."""
    return states.rows(slice(row, row + 1))


@dataclass(frozen=True)
class Surface:
    """The oil in a drain, by state and piece; the upper end of each piece comes first in `upper`, `lower` its lower.

    Heights [m] along effective gravity, shape (states, pieces).
    """

    fall: Array
    """Sine of the angle by which each piece falls."""
    normal: Array
    """Depth of even flow over the bore [-], 1 where it counts as full."""
    invert: tuple[Array, Array]
    """Of each piece at its upper and at its lower end."""
    crown: tuple[Array, Array]
    surface: tuple[Array, Array]
    sealed: Booleans
    """Does nothing but oil fill the bore somewhere from the upper end of this piece down?"""
    froude: Array
    """Q / (A sqrt(g D)), in each piece."""
    covered: Booleans
    """Does the sump's oil cover the drain's end? Shape (states,)."""
    lifted: Integers
    """The piece in which oil shuts the bore under the column that pressure lifts to the drain's inlet; -1 where none.
    Shape (states,)."""


def channels(line: DrainLine, foams: Sequence[Foam]) -> tuple[list[Channel], Integers]:
    """Each bore of a drain with the foam of its run, and the number of that of each piece."""
    keys = [(float(b), float(r), int(i)) for b, r, i in zip(line.bore, line.roughness, line.run, strict=True)]
    kinds = list(dict.fromkeys(keys))
    return [Channel(b, r, foams[i]) for b, r, i in kinds], np.array([kinds.index(key) for key in keys])


def surface(line: DrainLine, foams: Sequence[Foam], states: States, points: Array | None = None) -> Surface:
    """The oil's surface in a drain.

    Args:
        line: the drain.
        foams: what runs in each of its runs, at every duty.
        states: what it stands in.
        points: where its points lie in each state, shape (states, pieces + 1, 3) [m]; as in the line where not given.
    """
    kinds, which = channels(line, foams)
    size = np.linalg.norm(states.gravity, axis=1)
    down = states.gravity / size[:, None]
    if points is None:
        height, length = -down @ line.points.T, np.broadcast_to(line.lengths, (len(states), len(line.bore)))
    else:
        height = -np.einsum("spk,sk->sp", points, down)
        length = np.linalg.norm(np.diff(points, axis=1), axis=2)
    fall = np.clip((height[:, :-1] - height[:, 1:]) / np.maximum(length, 1e-12), -1.0, 1.0)
    across = np.sqrt(1.0 - fall**2)
    half = line.bore / 2 * across
    ends = height[:, :-1], height[:, 1:]
    invert, crown = tuple(h - half for h in ends), tuple(h + half for h in ends)
    falls = fall > LEVEL
    duty = np.broadcast_to(states.duty[:, None], fall.shape)
    normal, froude = np.ones_like(fall), np.empty_like(fall)
    for k, channel in enumerate(kinds):
        mine = which == k
        normal[:, mine] = np.where(falls[:, mine], channel.normal(size[:, None] * fall[:, mine], duty[:, mine]), 1.0)
        froude[:, mine] = channel.froude(size[:, None], duty[:, mine])
    flat = np.abs(fall) < STEEP
    press, ends = size[:, None] * across, np.zeros_like(flat)
    ends[:, [0, -1]] = flat[:, [0, -1]]
    entry = _at(Channel.pool, (kinds, which), _entries(line, falls) & flat, press, duty)
    entry[:, 1:] *= ~_passes(kinds, which, normal, press, duty, (2.0 * half, entry))
    crest = _at(Channel.pool, (kinds, which), _crests(falls) & flat, press, duty)
    drawn = _at(Channel.critical, (kinds, which), ends, press, duty)
    lightest = np.minimum.accumulate(np.stack([foam.density for foam in foams]))[line.run][:, states.duty]
    lift = np.maximum(states.over, 0.0) / (lightest * size)
    march = _March(
        line,
        kinds,
        which,
        states,
        size,
        length,
        2.0 * half,
        invert,
        crown,
        fall,
        normal,
        entry,
        crest,
        drawn[:, -1],
        np.where(falls[:, 0], drawn[:, 0], 0.0),
        lift,
    )
    return march.up(froude)


def _entries(line: DrainLine, falls: Booleans) -> Booleans:
    """The pieces at whose upper end a stream passes from slow to fast.

    The first if it falls, every neck, and one that falls behind one that does not.
    """
    found = np.zeros_like(falls)
    found[:, 0] = falls[:, 0]
    found[:, 1:] = (np.diff(line.bore) < 0) | (~falls[:, :-1] & falls[:, 1:])
    return found


def _passes(
    kinds: list[Channel], which: Integers, normal: Array, press: Array, duty: Integers, pools: tuple[Array, Array]
) -> Booleans:
    """Does even flow come to the upper end of each piece but the first with more head than the pool there has?

    Args:
        kinds: bores with their foam.
        which: the number of that of each piece.
        normal: depth of even flow over the bore [-], shape (states, pieces).
        press: g cos s [m/s2], likewise.
        duty: number of the duty, likewise.
        pools: the height of the bore [m] and that of the pool at the upper end of each piece over it [-], likewise.
    """
    high, pool = pools
    head = np.empty_like(normal)
    for k, channel in enumerate(kinds):
        mine = which == k
        head[:, mine] = channel.energy(normal[:, mine], press[:, mine], duty[:, mine])
    comes = np.where(normal < 1.0, head * high, 0.0)[:, :-1]
    return np.asarray(comes >= (pool * high)[:, 1:])


def _crests(falls: Booleans) -> Booleans:
    """The pieces at whose lower end it does so: one that does not fall before one that does."""
    found = np.zeros_like(falls)
    found[:, :-1] = ~falls[:, :-1] & falls[:, 1:]
    return found


def _at(
    deep: Callable[[Channel, Array, Integers], Array],
    bores: tuple[list[Channel], Integers],
    wanted: Booleans,
    press: Array,
    duty: Integers,
) -> Array:
    """A depth over the bore that goes by how the stream presses on the bed, where it is wanted, else 0.

    Shape (states, pieces).
    """
    found = np.zeros(wanted.shape)
    for k, channel in enumerate(bores[0]):
        here = wanted & (bores[1] == k)
        found[here] = deep(channel, press[here], duty[here])
    return found


@dataclass
class _March:
    """Carries the surface up, piece by piece."""

    line: DrainLine
    kinds: list[Channel]
    which: Integers
    states: States
    size: Array
    length: Array
    high: Array
    """Height of the whole bore along gravity [m]."""
    invert: tuple[Array, ...]
    crown: tuple[Array, ...]
    fall: Array
    normal: Array
    entry: Array
    """Of the pool over the bore at the upper end of each piece where a stream enters or is necked down, else 0."""
    crest: Array
    """The same at the lower end of each piece before a crest."""
    outfall: Array
    """Critical depth over the bore at the drain's end, shape (states,); 0 where it is steep."""
    mouth: Array
    """The same at its inlet: the pool before it draws down to that, so that gas goes in over it."""
    lift: Array
    """Rise of what stands over a seal in each piece, by crankcase pressure over the housing's, shape (pieces, states)
    [m]."""

    @property
    def falls(self) -> Booleans:
        return self.fall > LEVEL

    def up(self, froude: Array) -> Surface:
        last = self.line.bore.size - 1
        runs_full = self.falls & (self.normal >= 1.0)
        free = np.where(self.falls[:, last], np.minimum(self.normal[:, last], self.outfall), self.outfall)
        low = np.where(runs_full[:, last], 1.0, free)
        level = Level.at(np.maximum(self.invert[1][:, last] + low * self.high[:, last], self._stood()))
        # What does not fall has no depth but its crest's.
        even = np.where(self.falls, self.normal, 0.0)
        levels = np.empty_like(self.fall), np.empty_like(self.fall)
        shut = np.empty(self.fall.shape, dtype=bool)
        for k in range(last, -1, -1):
            for fitting in (f for f in self.line.fittings if f.after == k):
                lost = self._lost(fitting, k, level.carried)
                level.rise(lost, np.where(self._shuts(level, k, 1), lost, 0.0))
            if k < last:
                level.at_least(self.invert[1][:, k] + np.maximum(even[:, k], self.crest[:, k]) * self.high[:, k])
            level.seal(self._shuts(level, k, 1), self.lift[k], k)
            levels[1][:, k] = self._with_own(level.carried, even, k, 1)
            self._through(level, k)
            enters = (
                np.maximum(even[:, k], self.entry[:, k]),
                np.maximum(even[:, k], self.mouth if k == 0 else self.entry[:, k]),
            )
            level.at_least(*(self.invert[0][:, k] + deep * self.high[:, k] for deep in enters))
            level.seal(self._shuts(level, k, 0), self.lift[k], k)
            levels[0][:, k], shut[:, k] = self._with_own(level.carried, even, k, 0), level.sealed
        covered = self.states.oil > self.crown[1][:, last] + TOUCHES
        return Surface(
            self.fall, self.normal, _pair(self.invert), _pair(self.crown), levels, shut, froude, covered, level.lifted
        )

    def _stood(self) -> Array:
        """How high foam stands in the drain's end by the sump's oil alone [m]."""
        crown = self.crown[1][:, -1]
        gas = self.kinds[int(self.which[-1])].foam.gas[self.states.duty]
        over = np.maximum(self.states.oil - crown, 0.0)
        return np.asarray(np.minimum(self.states.oil, crown) + over / (1.0 - gas))

    def _with_own(self, carried: Array, even: Array, k: int, end: int) -> Array:
        """What is carried, or the depth of a piece's own fall: full where it does not fall."""
        own = np.where(self.falls[:, k], even[:, k], 1.0)
        return np.asarray(np.maximum(carried, self.invert[end][:, k] + own * self.high[:, k]))

    def _depth(self, carried: Array, k: int, end: int) -> Array:
        """Over the bore, of what is carried, at one end of a piece."""
        return np.asarray(np.clip((carried - self.invert[end][:, k]) / np.maximum(self.high[:, k], 1e-9), 0.0, 1.0))

    def _through(self, level: Level, k: int) -> None:
        """Carry it from the lower end of a piece to its upper one."""
        rises = self._friction(level.carried, k) * self.length[:, k]
        level.rise(rises, rises)
        # Of what stands below no more than the stream itself is deep nothing reaches over a steep length.
        swallows = (self.fall[:, k] >= STEEP) & (self.normal[:, k] < 1.0)
        level.sink(self.invert[0][:, k], np.where(swallows, self.normal[:, k] * self.high[:, k] + 1e-9, -np.inf))

    def _friction(self, carried: Array, k: int) -> Array:
        """Rise of the surface by friction for each metre upstream [-]: the bore's own fall where it flows evenly."""
        channel, duty, normal = self.kinds[self.which[k]], self.states.duty, self.normal[:, k]
        even = self.falls[:, k] & (normal < 1.0)
        depth = np.where(even, np.maximum(self._depth(carried, k, 1), normal), 1.0)
        slope = channel.slope_at(depth, duty) / self.size
        return np.where(even & (depth <= normal), self.fall[:, k], slope)

    def _lost(self, fitting: Fitting, k: int, carried: Array) -> Array:
        """Head lost in a fitting at the lower end of a piece [m]; none where a steep stream runs past it part full."""
        channel, duty = self.kinds[self.which[k]], self.states.duty
        across = self.high[:, k] / self.line.bore[k]
        depth = np.maximum(self._depth(carried, k, 1), np.where(self.falls[:, k], self.normal[:, k], 1.0))
        depth = np.maximum(depth, channel.critical(self.size * np.maximum(across, 1e-3), duty))
        flow = channel.flow[duty] / channel.share(depth)
        foam = channel.foam
        drop = fitting.viscous * foam.viscosity[duty] * flow + fitting.inertial * foam.density[duty] * flow**2
        stands = (self.normal[:, k] >= 1.0) | (carried > self.crown[1][:, k] + TOUCHES)
        return np.where((self.fall[:, k] < STEEP) | stands, drop / (foam.density[duty] * self.size), 0.0)

    def _shuts(self, level: Level, k: int, end: int) -> Booleans:
        """Is there no way for gas at one end of a piece, even without pressure?

        What a fitting raises in a stream that runs part full shuts none: `still` is without it.
        """
        return np.asarray((self.normal[:, k] >= 1.0) | (level.still > self.crown[end][:, k] + TOUCHES))


def _pair(two: tuple[Array, ...]) -> tuple[Array, Array]:
    upper, lower = two
    return upper, lower
