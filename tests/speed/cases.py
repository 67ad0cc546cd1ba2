"""What is solved: circuits as plain numbers, belonging neither to the solver nor to its peer.

Lengths, bores and curves are made up to be like those of a vehicle; nothing rests on them but time.
"""

import functools
from dataclasses import dataclass, field

import numpy as np
from scipy.interpolate import PchipInterpolator

from catalogs.catalog import Catalog
from solver.properties import density, dynamic_viscosity
from solver.resistances import Part, Pipe

AIR = 101325.0
GRAVITY = 9.80665
LEAK = 1e-15
"""What a closed device lets by [m3/s per Pa], as the solver states it of its own."""
SAME = 20
"""The seed of what stays the same in every batch of a case."""


@dataclass(frozen=True)
class PumpAt:
    """Flow [m3/s] against rise [Pa], scaled to a speed for each point by the affinity laws."""

    curve: PchipInterpolator
    speed: np.ndarray

    @functools.cached_property
    def rises(self):
        """Where its pieces begin and end [Pa]."""
        return self.curve.x.tolist()

    @functools.cached_property
    def coefficients(self):
        """Of each piece, the cubic's first."""
        return self.curve.c.T.tolist()


@dataclass(frozen=True)
class CheckAt:
    """Cracking pressure [Pa], then viscous mu q + inertial rho q2."""

    crack: float
    viscous: float
    inertial: float


@dataclass(frozen=True)
class RegulatorAt:
    """Pressure it holds for each point [Pa absolute], its rise with flow [Pa s/m3], and its bore wide open."""

    held: np.ndarray
    slope: float
    viscous: float
    inertial: float
    crack: float = 0.0


@dataclass(frozen=True)
class Case:
    """Edges are (start, end, one pipe at most, parts ...); a device is an edge by itself. Arrays are (points,)."""

    name: str
    edges: list
    known: dict
    """P of the fixed nodes [Pa]."""
    density: np.ndarray
    viscosity: np.ndarray
    taken: dict
    """Flow taken at a node [m3/s]."""
    heights: dict = field(default_factory=dict)
    """Of nodes [m]."""
    devices: dict = field(default_factory=dict)
    """By edge."""

    @property
    def points(self):
        return len(self.density)

    @property
    def nodes(self):
        return 1 + max(node for start, end, *_ in self.edges for node in (start, end))


def hose(length, bore, *turns):
    """A straight bore, and a loss for each bend by its angle [rad]."""
    return (Pipe("hose", length, bore, 2e-6), *(loss(bore, 0.16 * turn, 250.0 * turn) for turn in turns))


def loss(bore, k, k1=0.0):
    """K + K1/Re on the velocity head of a bore [m]."""
    area = np.pi * bore**2 / 4
    inertial = k / (2 * area**2)
    return Part("loss", k1 / (2 * bore * area), inertial, inertial)


def fuel(points, seed):
    """A fuel system with return: two pickups, filters, pump, check valve, two rails with cross links, regulator.

    Points differ in temperature, in what the engine burns, in the pump's speed and in what the regulator is set to.
    """
    dice = np.random.default_rng(seed)
    gasoline = Catalog().fluid("gasoline-summer")
    temperature = dice.uniform(253.15, 333.15, points)
    rho, mu = density(gasoline, temperature), dynamic_viscosity(gasoline, temperature)
    quarter = np.pi / 2
    filter_body = Part("filter", 3e10, 2e8, 2e8)
    strainer = Part("strainer", 1e10, 1e8, 1e8)
    edges = [
        (0, 1, strainer, loss(0.0095, 0.5, 160.0)),
        (0, 2, strainer, loss(0.0095, 0.5, 160.0)),
        (1, 3, *hose(0.25, 0.0095, quarter)),
        (2, 3, *hose(0.60, 0.0095, quarter, quarter)),
        (3, 4, filter_body),
        (3, 4, filter_body, loss(0.0127, 1.5)),
        (4, 5, *hose(0.3, 0.0127, quarter / 2)),
        (5, 6),
        (6, 7),
        (7, 8, *hose(0.4, 0.0095, quarter)),
        (8, 9, filter_body),
        (8, 9, filter_body, loss(0.0095, 2.0)),
        (9, 10, *hose(2.8, 0.0095, quarter, quarter / 2, quarter)),
        (10, 11, *hose(0.4, 0.0079, quarter), loss(0.0079, 1.4, 150.0)),
        (10, 12, *hose(0.5, 0.0079, quarter, quarter / 2), loss(0.0079, 1.4, 150.0)),
        (11, 13, *hose(0.09, 0.0111), loss(0.0111, 0.3)),
        (13, 14, *hose(0.09, 0.0111), loss(0.0111, 0.3)),
        (14, 15, *hose(0.09, 0.0111), loss(0.0111, 0.3)),
        (12, 16, *hose(0.09, 0.0111), loss(0.0111, 0.3)),
        (16, 17, *hose(0.09, 0.0111), loss(0.0111, 0.3)),
        (17, 18, *hose(0.09, 0.0111), loss(0.0111, 0.3)),
        (13, 16, *hose(0.3, 0.0064, quarter, quarter)),
        (14, 17, *hose(0.3, 0.0064, quarter, quarter)),
        (15, 18, *hose(0.3, 0.0064, quarter, quarter)),
        (15, 19, *hose(0.3, 0.0079, quarter), loss(0.0079, 1.4, 150.0)),
        (18, 19, *hose(0.4, 0.0079, quarter), loss(0.0079, 1.4, 150.0)),
        (19, 20),
        (20, 21, *hose(2.6, 0.0079, quarter, quarter)),
        (21, 0, *hose(0.5, 0.0064, quarter), loss(0.0064, 1.0)),
        (21, 0, *hose(0.8, 0.0079, quarter, quarter), loss(0.0079, 1.0)),
    ]
    curve = PchipInterpolator([0.0, 2e5, 4e5, 6e5, 8e5], [9.5e-5, 8.6e-5, 7.4e-5, 5.6e-5, 2.9e-5])
    burnt = dice.uniform(2e-6, 6.5e-5, points)
    heights = dict.fromkeys(range(22), 0.3) | dict.fromkeys(range(11, 20), 0.75) | {0: 0.45, 6: 0.2, 7: 0.2}
    return Case(
        name="fuel circuit",
        edges=edges,
        known={0: AIR + rho * GRAVITY * heights[0]},
        density=rho,
        viscosity=mu,
        taken=dict.fromkeys((11, 12, 13, 14, 15, 16, 17, 18), burnt / 8),
        heights=heights,
        devices={
            7: PumpAt(curve, dice.uniform(0.85, 1.1, points)),
            8: CheckAt(5e3, 2e10, 5e8),
            26: RegulatorAt(AIR + dice.uniform(3e5, 4.5e5, points), 1.5e8, 1e10, 1.5e9),
        },
    )


def grid(side, points, seed):
    """A square lattice of pipes, fed at two corners and drawn from at one node in three.

    Points differ in draws, in temperature and in the pressure at one corner.
    """
    dice = np.random.default_rng(SAME)
    number = np.arange(side * side).reshape(side, side)
    across = np.stack([number[:, :-1].ravel(), number[:, 1:].ravel()], axis=1)
    along = np.stack([number[:-1].ravel(), number[1:].ravel()], axis=1)
    ends = np.concatenate([across, along]).tolist()
    sizes = zip(dice.uniform(0.2, 1.0, len(ends)), dice.uniform(0.006, 0.0127, len(ends)), strict=True)
    inner = np.arange(1, side * side - 1)
    drawn = np.sort(dice.choice(inner, len(inner) // 3, replace=False))
    dice = np.random.default_rng(seed)
    draws = dice.uniform(0.2, 1.0, (points, len(drawn)))
    draws *= 1.5e-4 / draws.sum(axis=1, keepdims=True)
    gasoline = Catalog().fluid("gasoline-summer")
    temperature = dice.uniform(253.15, 333.15, points)
    return Case(
        name="grid",
        edges=[(*pair, Pipe("pipe", *size, 2e-6)) for pair, size in zip(ends, sizes, strict=True)],
        known={0: np.full(points, 5.0e5), side * side - 1: dice.uniform(4.9e5, 5.0e5, points)},
        density=density(gasoline, temperature),
        viscosity=dynamic_viscosity(gasoline, temperature),
        taken=dict(zip(drawn.tolist(), draws.T, strict=True)),
    )
