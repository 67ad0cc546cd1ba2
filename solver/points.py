"""The law of a component by its own points of flow and pressure drop."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from solver.devices import Bore
from solver.properties import density, dynamic_viscosity

if TYPE_CHECKING:
    from catalogs.catalog import Catalog
    from catalogs.units import Quantity
    from lines.plan import Component, PointsTable

FARTHER = 1.1
"""A flow over the largest of the points by no more than this is still at it [-]."""
SHOWS = 0.1
"""A law that misses a point by no more than this [-] goes through it."""


def fitted(
    catalog: Catalog, points: PointsTable, *, owner: str = "a component", spring: float = 0.0
) -> tuple[Bore, float]:
    """The law drop = a mu q + b rho q^2 nearest to a component's own points, and how far off it is at worst.

    Both coefficients are at least zero (non-negative least squares, each point weighed by its own drop), so the
    law is monotone and carries over to another fluid or temperature. One point alone is taken as inertial. A point
    without a drop says no more than that a gauge did not show it, and is left out.

    Args:
        catalog: the tables.
        points: of flow and drop.
        owner: whose they are, for the error.
        spring: what a spring takes of each drop [Pa], which is not the law's.

    Returns:
        the law, and the largest relative miss at a point [-].

    Raises:
        UnknownInputError: there is no drop at any point, or less than the spring takes.
    """
    from scipy.optimize import nnls

    fluid, at = catalog.fluid(points.fluid), np.array([points.temperature])
    rho, mu = float(density(fluid, at)[0]), float(dynamic_viscosity(fluid, at)[0])
    shown = _that_show(points)
    if not shown:
        raise UnknownInputError(
            f"the points of {owner} have no drop", needs=f"points of {owner} at flows large enough to show a drop"
        )
    q = np.array([flow.value / rho if flow.dimension == "mass_flow" else flow.value for flow, _ in shown])
    drop = np.array([drop - spring for _, drop in shown])
    if (drop <= 0).any():
        raise UnknownInputError(
            f"a drop in the points of {owner} is no more than its crack",
            needs=f"the whole drop of {owner} at each flow, its spring's included",
        )
    columns = np.stack([mu * q, rho * q**2], axis=1) / drop[:, None]
    if len(q) == 1:
        return Bore(0.0, 1.0 / float(columns[0, 1])), 0.0
    scale = columns.max(axis=0)
    found, _ = nnls(columns / scale, np.ones_like(drop))
    a, b = (float(x) for x in found / scale)
    return Bore(a, b), float(np.abs(columns @ np.array([a, b]) - 1.0).max())


def largest_flow(catalog: Catalog, points: PointsTable) -> float:
    """The largest flow at which a component's drop is known [m3/s]."""
    rho = float(density(catalog.fluid(points.fluid), np.array([points.temperature]))[0])
    return max(flow.value / rho if flow.dimension == "mass_flow" else flow.value for flow in points.flow)


def viscosity_at(catalog: Catalog, points: PointsTable) -> float:
    """Dynamic viscosity of the fluid with which a component's points were taken [Pa s]."""
    return float(dynamic_viscosity(catalog.fluid(points.fluid), np.array([points.temperature]))[0])


def _that_show(points: PointsTable) -> list[tuple[Quantity, float]]:
    return [(flow, drop) for flow, drop in zip(points.flow, points.drop, strict=True) if drop > 0]


def points_estimates(component: Component, miss: float) -> tuple[str, ...]:
    """What has to be said about a law fitted through a component's points that it misses by up to `miss` [-]."""
    name, points = component.name, component.figures["points"]
    shown = _that_show(points)
    said = []
    if len(shown) < len(points.flow):
        said.append(f"{name}: its points without a drop are left out")
    if len(shown) == 1:
        said.append(f"{name}: one point only, taken to rise with the square of the flow")
    elif miss > SHOWS:
        said.append(f"{name}: its points miss the law drawn through them by up to {miss:.0%}")
    elif _too_close(shown):
        said.append(f"{name}: its points lie too close together to tell how its drop changes with flow and viscosity")
    return tuple(said)


def _too_close(shown: list[tuple[Quantity, float]]) -> bool:
    """Does a viscous law alone go through the points, and an inertial one alone too?"""
    q, drop = np.array([flow.value for flow, _ in shown]), np.array([drop for _, drop in shown])
    ratios = [drop / q, drop / q**2]
    return all(ratio.max() <= (1.0 + SHOWS) / (1.0 - SHOWS) * ratio.min() for ratio in ratios)
