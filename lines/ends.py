"""Which hose end goes on each end of a run."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from lines.shape import shape

if TYPE_CHECKING:
    from catalogs.catalog import Catalog
    from catalogs.records import HoseEnd
    from lines.plan import Plan

Which = Literal["from", "to"]

ANGLE = re.compile(r"\s*(straight|\d{1,3}(?:\.\d)?\s*(?:deg|°))\s*")


@dataclass(frozen=True, slots=True)
class ChosenEnd:
    """The end that goes on, or why none was chosen."""

    end: HoseEnd | None
    left_over: float
    """Angle that the hose itself has to take up beside the end's own [rad]."""
    needs: str = ""


def matching_ends(catalog: Catalog, stock: str, word: str) -> list[HoseEnd]:
    """The ends of a stock that a plan's word names: an id, `straight`, or an angle such as `90 deg`."""
    ends = catalog.ends_of(stock)
    if any(end.id == word for end in ends):
        return [end for end in ends if end.id == word]
    if ANGLE.fullmatch(word) is None:
        return []
    degrees = 0.0 if word.strip() == "straight" else float(re.split(r"[^\d.]", word.strip())[0])
    return [end for end in ends if abs(math.degrees(end.angle) - degrees) < 0.5]


def chosen_end(plan: Plan, tag: str, which: Which) -> ChosenEnd:
    """The end of a run at its start or its end; `auto` takes the angle nearest to that between port and path."""
    run = plan.runs[tag]
    word = run.ends[0] if which == "from" else run.ends[1]
    if word != "auto":
        return ChosenEnd(matching_ends(plan.catalog, run.stock, word)[0], 0.0)
    ends = plan.catalog.ends_of(run.stock)
    if not ends:
        return ChosenEnd(None, 0.0, f"no hose end for {run.stock} stands in the tables")
    turn = port_turn(plan, tag, which)
    if turn is None:
        port = run.start if which == "from" else run.end
        needs = f"the angle of the end at {port}: say it in ends, or where the port points and the points of the run"
        return ChosenEnd(None, 0.0, needs)
    best = min(ends, key=lambda end: abs(end.angle - turn))
    return ChosenEnd(best, abs(best.angle - turn))


def port_turn(plan: Plan, tag: str, which: Which) -> float | None:
    """The angle between the way a port points and the way the run leaves it [rad]."""
    run = plan.runs[tag]
    port = plan.port(run.start if which == "from" else run.end)
    legs = shape(plan, tag).directions()
    if port.points is None or legs is None:
        return None
    leaving = legs[0] if which == "from" else -legs[-1]
    return float(np.arccos(np.clip(np.dot(port.points, leaving), -1.0, 1.0)))
