"""The oil in a drain as one writes it down first: one state and one piece at a time, every depth by a root finder.

It shares with `solver.drains` what a drain is (pieces, bores, foams, states) and the rules of its surface; it has its
own geometry of the segment, the friction factor of `fluids`, and roots of `scipy.optimize.brentq` where the solver has
tables.
"""

import functools
import itertools
import math
from dataclasses import dataclass

import numpy as np
from fluids.friction import Churchill_1977
from scipy.optimize import brentq

STEEP = math.sin(math.radians(45))
"""Steeper than this no depth across the bore is looked for."""
LEVEL = 1e-9
"""Flatter than this nothing falls."""
TOUCHES = 1e-4
"""A surface over the crown by no more than this does not cover it [m]."""
LEAST = 1e-9
"""So little flows at least [m3/s]."""
THIN = 1e-3
"""Half the angle that the thinnest stream subtends at the bore's centre [rad]: a depth of 2.5e-7 bores."""
SURE = math.acos(-0.8)
"""That of 0.9 of the bore, where a stream takes less of a fall than one that fills it, laminar or turbulent."""


def depth(half):
    """Over the bore [-]."""
    return (1.0 - math.cos(half)) / 2


def half_angle(deep):
    return math.acos(1.0 - 2.0 * min(max(deep, depth(THIN)), 1.0))


@dataclass(frozen=True)
class Stream:
    """What runs in one piece in one state."""

    flow: float
    density: float
    viscosity: float
    bore: float
    roughness: float
    fall: float
    gravity: float
    gas: float

    @functools.cached_property
    def across(self):
        """How high the bore stands along gravity [m]."""
        return self.bore * math.sqrt(max(1.0 - self.fall**2, 0.0))

    @property
    def falls(self):
        return self.fall > LEVEL

    @property
    def is_steep(self):
        return self.fall >= STEEP

    @property
    def is_flat(self):
        """Neither falls nor rises steeply, so that a depth across the bore means something."""
        return abs(self.fall) < STEEP

    def segment(self, half):
        """Area [m2], wetted perimeter and breadth of the surface [m] where half the wetted angle is this [rad]."""
        area = self.bore**2 / 4 * (half - math.sin(half) * math.cos(half))
        return area, self.bore * half, self.bore * math.sin(half)

    def friction(self, half):
        """Slope of friction [-] by Darcy and Weisbach on the hydraulic diameter."""
        area, wet, _ = self.segment(half)
        wide, speed = 4 * area / wet, self.flow / area
        factor = Churchill_1977(self.density * speed * wide / self.viscosity, self.roughness / wide)
        return factor * speed**2 / (2 * self.gravity * wide)

    @functools.cached_property
    def normal(self):
        """Depth of even flow [-]; 1 where it counts as full."""
        if not self.falls or self.friction(math.pi) >= self.fall:
            return 1.0
        return depth(brentq(lambda half: self.friction(half) - self.fall, THIN, SURE, xtol=1e-13))

    @functools.cached_property
    def critical(self):
        """Depth [-] at which Q2 B = g cos s A3."""
        press = self.gravity * math.sqrt(max(1.0 - self.fall**2, 1e-6))

        def over(half):
            area, _, broad = self.segment(half)
            return self.flow**2 * broad - press * area**3

        return depth(brentq(over, THIN, math.pi, xtol=1e-13))

    @functools.cached_property
    def pool(self):
        """How high a still pool stands over the invert of a place that it runs off by [m]."""
        area, _, broad = self.segment(half_angle(self.critical))
        press = math.sqrt(max(1.0 - self.fall**2, 0.0))
        full = self.bore * press + (self.flow / (math.pi * self.bore**2 / 4)) ** 2 / (2 * self.gravity)
        return min(self.critical * self.across + press * area / (2 * broad), full)

    @functools.cached_property
    def head(self):
        """Of even flow over the invert, with that of its velocity [m]; nothing where it does not run part full."""
        if self.normal >= 1.0:
            return 0.0
        area, _, _ = self.segment(half_angle(self.normal))
        return self.normal * self.across + (self.flow / area) ** 2 / (2 * self.gravity)

    @property
    def own(self):
        """What the piece's own fall makes stand over its invert [m]; nothing where it does not fall."""
        return self.normal * self.across if self.falls else 0.0

    def slope(self, stands):
        """Rise of the surface for each metre upstream [-] where the oil stands so far over the invert [m]."""
        if self.normal >= 1.0 or stands >= self.across:
            return self.friction(math.pi)
        return self.friction(half_angle(max(stands / self.across, self.normal)))

    def lost(self, fitting, stands):
        """What a fitting takes of the head [m] where the oil stands so far over the invert [m]."""
        if self.is_steep and self.normal < 1.0 and stands <= self.across + TOUCHES:
            return 0.0
        stood = min(stands / self.across, 1.0) if self.across > 0 else float(stands > 0)
        deep = max(stood, self.normal, self.critical)
        flow = self.flow * math.pi * self.bore**2 / 4 / self.segment(half_angle(deep))[0]
        drop = fitting.viscous * self.viscosity * flow + fitting.inertial * self.density * flow**2
        return drop / (self.density * self.gravity)


class March:
    """A drain in one state, its surface carried upstream from its end."""

    def __init__(self, drain, states, row):
        self.line = line = drain.line
        gravity, duty = states.gravity[row].tolist(), int(states.duty[row])
        size = math.hypot(*gravity)

        def height(point):
            return -sum(g * x for g, x in zip(gravity, point, strict=True)) / size

        points = line.points.tolist()
        axis = [height(point) for point in points]
        self.length = [math.dist(a, b) for a, b in itertools.pairwise(points)]
        self.over, self.oil = max(float(states.over[row]), 0.0), float(states.oil[row])
        self.floods = height(drain.floods.tolist())
        self.streams = []
        for i, length in enumerate(self.length):
            foam = drain.foams[int(line.run[i])]
            known = [max(float(foam.flow[duty]), LEAST), float(foam.density[duty]), float(foam.viscosity[duty])]
            fall = (axis[i] - axis[i + 1]) / length
            known += [float(line.bore[i]), float(line.roughness[i]), fall, size, float(foam.gas[duty])]
            self.streams.append(Stream(*known))
        self.upper = [z - s.across / 2 for z, s in zip(axis[:-1], self.streams, strict=True)]
        self.lower = [z - s.across / 2 for z, s in zip(axis[1:], self.streams, strict=True)]
        # A column of several foams is taken for one of the lightest that is in it or above it.
        lightest = list(itertools.accumulate((s.density for s in self.streams), min))
        self.lift = [self.over / (density * size) for density in lightest]
        self.level = self.still = -math.inf
        """What is carried; and without pressure and what fittings raise in a stream that runs part full [m]."""
        self.shut, self.close = False, math.inf

    def up(self):
        """What stands in it, as `Standing`."""
        last = len(self.streams) - 1
        sealed, tops = [False] * len(self.streams), [0.0] * len(self.streams)
        self.level = self.still = self.start()
        for i in reversed(range(last + 1)):
            stream = self.streams[i]
            for fitting in (f for f in self.line.fittings if f.after == i):
                self.rise(stream.lost(fitting, self.level - self.lower[i]), shuts=self.shuts(i, self.lower[i]))
            full = stream.falls and stream.normal >= 1.0
            self.stand(i, self.lower[i], max(stream.own, self.crest(i)) if i < last or full else 0.0)
            self.rise(self.length[i] * stream.slope(self.level - self.lower[i]))
            if stream.is_steep and not stream.normal >= 1.0:
                self.sink(self.upper[i], stream.normal * stream.across + 1e-9)
            deep = max(stream.own, self.control(i))
            # At the inlet the pool draws down to critical depth, so that gas goes in over it.
            self.stand(
                i, self.upper[i], deep, deep if i else max(stream.own, min(deep, stream.critical * stream.across))
            )
            sealed[i] = self.shut
            tops[i] = max(self.level, self.upper[i] + (0.0 if stream.falls else stream.across))
        covered = self.oil > self.lower[-1] + self.streams[-1].across + TOUCHES
        return Standing(tops, sealed, covered, self.floods - tops[0], self.close)

    def rise(self, by, *, shuts=True):
        """Raise what is carried [m]; what a fitting raises where gas has a way does not shut it."""
        self.level += by
        self.still += by if shuts else 0.0

    def sink(self, invert, within):
        """Let what stands no deeper than a steep stream itself [m] go over its length without a trace."""
        self.level = invert if self.level - invert <= within else self.level
        self.still = invert if self.still - invert <= within else self.still

    def shuts(self, i, invert):
        """Does oil shut a bore at one end of a piece, without any pressure?"""
        stream = self.streams[i]
        return stream.normal >= 1.0 or self.still > invert + stream.across + TOUCHES

    def start(self):
        """The sump's oil or the depth of a free outfall [m], with what pressure lifts where the oil covers the end."""
        end = self.streams[-1]
        drawn = end.critical if end.is_flat else 0.0
        free = min(end.normal, drawn) if end.falls else drawn
        free = 1.0 if end.falls and end.normal >= 1.0 else free
        crown = self.lower[-1] + end.across
        stood = self.oil if self.oil <= crown else crown + (self.oil - crown) / (1.0 - end.gas)
        return max(stood, self.lower[-1] + free * end.across)

    def stand(self, i, invert, least, still=None):
        """Raise what is carried to the least depth [m] at one end of a piece, and by pressure where that is shut."""
        stream = self.streams[i]
        self.level = max(self.level, invert + least)
        self.still = max(self.still, invert + (least if still is None else still))
        over = self.still - invert - stream.across
        full = stream.normal >= 1.0
        if not full:
            self.close = min(self.close, abs(over - TOUCHES))
        if self.shuts(i, invert):
            self.level = max(self.level, self.still + self.lift[i])
            self.shut = True

    def control(self, i):
        """The pool [m] before a stream enters the drain, a neck or a fall at the upper end of a piece, else nothing."""
        stream, before = self.streams[i], self.streams[i - 1]
        if i == 0:
            return stream.pool if stream.falls and stream.is_flat else 0.0
        enters = stream.bore < before.bore or (stream.falls and not before.falls)
        return stream.pool if enters and stream.is_flat and before.head < stream.pool else 0.0

    def crest(self, i):
        """The same before a crest at the lower end of a piece: one that does not fall before one that does."""
        stream = self.streams[i]
        over = i + 1 < len(self.streams) and not stream.falls and self.streams[i + 1].falls
        return stream.pool if over and stream.is_flat else 0.0


@dataclass(frozen=True)
class Standing:
    """The oil in a drain in one state."""

    surface: list
    """Its height at the upper end of each piece [m]."""
    sealed: list
    """Does oil alone fill the bore somewhere from there down?"""
    covered: bool
    """Does it cover the drain's end?"""
    clearance: float
    """How far it stays under the flooding point [m]."""
    close: float
    """The nearest that what could shut the bore comes to a crown [m]: so near, sealed or not is rounding."""


def stands(drain, states, row):
    """The oil in a drain in one of many states."""
    return March(drain, states, row).up()


def every(drain, states, rows):
    """Clearance in some of many states, one after the other, shape (rows,) [m]."""
    return np.array([stands(drain, states, row).clearance for row in rows])
