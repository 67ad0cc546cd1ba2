"""The devices of an oil loop that follow from a few figures: a thermostat, and a pump with flow control."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.grades import Grade, weakest
from solver.devices import Pump
from solver.points import fitted, points_estimates
from solver.stated import asked_for, asked_in, figure, needed
from solver.throttle import Throttle

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from catalogs.kinds import KindPath
    from lines.plan import Component, Plan

    Array = npt.NDArray[np.float64]

ROUND = "by-pass"
"""The way in a thermostat that shuts as the other opens."""


def opening(temperature: Array, opens: float, full: float) -> Array:
    """Share of its way that a thermostat has open [-]: straight from `opens` to `full`, both in kelvin.

    >>> opening(np.array([340.0, 352.0, 360.0]), 350.0, 358.0).tolist()
    [0.0, 0.25, 1.0]
    """
    return np.clip((temperature - opens) / (full - opens), 0.0, 1.0)


def thermostat(
    plan: Plan, component: Component, path: KindPath, temperature: Sequence[float]
) -> tuple[Throttle, tuple[str, ...], Grade]:
    """One way of a thermostat, by the temperature of its circuit at every duty [K].

    Raises:
        UnknownInputError: a figure that it needs is missing or cannot be.
    """
    needed(component, "opens", "open", "points")
    opens, full = figure(component, "opens"), figure(component, "open")
    name = component.name
    if full <= opens:
        needs = f"{asked_for(component, 'open')}, over that of opens"
        raise UnknownInputError(f"{name} is said to be open before it opens", needs=needs)
    law, miss = fitted(plan.catalog, component.figures["points"], owner=name)
    share = opening(np.array(temperature), opens, full)
    said = list(points_estimates(component, miss))
    if ((share > 0) & (share < 1)).any():
        between = " and ".join(d for d, x in zip(plan.duties, share, strict=True) if 0 < x < 1)
        said.append(f"{name}: part open at {between}, taken to open evenly between its two temperatures")
    if path.name == ROUND:
        share = 1.0 - share
        said.append(
            f"{name}: its by-pass, wide open, is taken to cost as much as its way to the cooler does by its points"
        )
    return Throttle(share, law), tuple(said), Grade.MEASURED


def controlled_pump(plan: Plan, component: Component) -> tuple[Pump, tuple[str, ...], Grade]:
    """A pump that gives its controlled flow up to near its relief pressure, and nothing at it.

    Raises:
        UnknownInputError: a figure that it needs is missing or cannot be, or the engine that drives it stands.
    """
    from scipy.interpolate import PchipInterpolator

    needed(component, "flow", "relief", "cracks")
    name, duties = component.name, list(plan.duties)
    still = [d for d, table in plan.duties.items() if table.engine_speed is not None and table.engine_speed <= 0]
    if still:
        needs = asked_in(still, "engine_speed", "speed", f"over 0: it drives {name}")
        raise UnknownInputError(f"{name} has no speed in {' and '.join(still)}", needs=needs)
    flow, relief = (np.array(component.figures[key].over(duties), dtype=np.float64) for key in ("flow", "relief"))
    for key, values in (("flow", flow), ("relief", relief)):
        if (values <= 0).any():
            raise UnknownInputError(f"{key} of {name} is 0 or less", needs=f"{asked_for(component, key)}, over 0")
    cracks = figure(component, "cracks")
    if not 0 < cracks < 1:
        raise UnknownInputError(f"cracks of {name} is not under 100 %", needs=asked_for(component, "cracks"))
    sheets, which = np.unique(np.stack([flow, relief], axis=1), axis=0, return_inverse=True)
    curves = tuple(PchipInterpolator([0.0, cracks * top, top], [most, most, 0.0]) for most, top in sheets)
    weights = np.eye(len(curves))[which.ravel()]
    said = (
        f"{name}: taken to give its controlled flow at every engine speed, up to {cracks:.0%} of its relief pressure",
    )
    own = component.kind.figures["cracks"].grade or Grade.MEASURED
    grade = Grade.MEASURED if "cracks" in component.stated else own
    return Pump(curves, weights, np.ones_like(weights)), said, weakest([grade, Grade.PRACTICE])
