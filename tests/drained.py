"""Drains made by hand: `from drained import drain, states`."""

import itertools

import numpy as np
from scipy.optimize import minimize_scalar

from catalogs.grades import Grade
from solver.drains.drain import Drain
from solver.drains.foam import Foam
from solver.drains.pieces import DrainLine
from solver.drains.surface import States

G = 9.80665


def line(points, bore=0.0127, *, step=0.025, roughness=1e-6):
    """A drain line through points [m], its straights cut in short pieces."""
    parts, points = [], np.asarray(points, dtype=float)
    for a, b in itertools.pairwise(points):
        many = max(int(np.ceil(np.linalg.norm(b - a) / step)), 1)
        parts.append(a + np.linspace(0, 1, many + 1)[:-1, None] * (b - a))
    whole = np.concatenate([*parts, points[-1:]])
    count = len(whole) - 1
    return DrainLine(
        "turbo.drain",
        "sump.drain",
        ("D1",),
        (True,),
        whole,
        np.zeros(count, dtype=np.int64),
        np.full(count, bore),
        np.full(count, roughness),
        (),
        np.zeros(count, dtype=bool),
    )


def drain(
    points, *, flow=1e-5, density=850.0, viscosity=0.010, over=0.0, oil=None, bore=0.0127, floods=None, gas=0.0, **facts
):
    """A drain of one duty, or of as many as `flow` has."""
    flow, viscosity = np.broadcast_arrays(np.atleast_1d(flow).astype(float), np.atleast_1d(viscosity).astype(float))
    made = line(points, bore, **facts)
    return Drain(
        turbo="turbo",
        line=made,
        stock="ptfe-braid -10",
        oil_flow=flow / 2,
        known=tuple(range(len(flow))),
        foams=(Foam(flow, np.full(len(flow), density), viscosity, np.full(len(flow), gas)),),
        temperature=np.linspace(380.0, 280.0, len(flow)),
        cold=np.linspace(380.0, 280.0, len(flow)) < 333.15,
        over=np.full(len(flow), over),
        floods=made.points[0] if floods is None else np.asarray(floods, dtype=float),
        sump="" if oil is None else "sump",
        oil=oil,
        pump=None,
        most_froude=np.inf,
        at_least=False,
        said=(),
        grade=Grade.MEASURED,
    )


def states(down, *, over=0.0, oil=-np.inf, size=G, duty=0):
    """States of these directions of gravity, shape (n, 3)."""
    down = np.atleast_2d(np.asarray(down, dtype=float))
    down = down / np.linalg.norm(down, axis=1, keepdims=True)
    count = len(down)
    return States(
        size * down, np.full(count, duty), np.full(count, oil, dtype=float), np.full(count, over, dtype=float)
    )


def slope_that_fills(flow, density, viscosity, bore):
    """Sine of the fall at which a laminar flow just fills a bore: Hagen-Poiseuille."""
    return 128 * viscosity * flow / (np.pi * density * G * bore**4)


def least_energy(flow, bore, cosine):
    """Least head over the invert [m] with which a flow goes by a bore part full that falls at an angle of this cosine.

    Depth and velocity head, y cos s + v^2/2g, the least over all depths: Chow, Open-Channel Hydraulics, 1959, section
    3-3, from memory.
    """

    def head(half):
        area = bore**2 / 4 * (half - np.sin(half) * np.cos(half))
        return bore / 2 * (1 - np.cos(half)) * cosine + (flow / area) ** 2 / (2 * G)

    return float(minimize_scalar(head, bounds=(0.05, np.pi), method="bounded", options={"xatol": 1e-10}).fun)
