"""Which hose ends come into question at each end of a run."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from lines.joints import best_threads

if TYPE_CHECKING:
    from catalogs.catalog import Catalog
    from catalogs.records import HoseEnd
    from lines.plan import Plan, RunTable

Which = Literal["from", "to"]
BOTH: tuple[Which, Which] = ("from", "to")

ANGLE = re.compile(r"\s*(straight|\d{1,3}(?:\.\d)?\s*(?:deg|°))\s*")


@dataclass(frozen=True, slots=True)
class ChosenEnd:
    """The end that goes on, or why none was chosen."""

    end: HoseEnd | None
    needs: str = ""


def port_of(run: RunTable, which: Which) -> str:
    """The port at one end of a run."""
    return run.start if which == "from" else run.end


def matching_ends(catalog: Catalog, stock: str, word: str) -> list[HoseEnd]:
    """The ends of a stock that a plan's word names: an id, `straight`, or an angle such as `90 deg`."""
    ends = catalog.ends_of(stock)
    if any(end.id == word for end in ends):
        return [end for end in ends if end.id == word]
    if ANGLE.fullmatch(word) is None:
        return []
    degrees = 0.0 if word.strip() == "straight" else float(re.split(r"[^\d.]", word.strip())[0])
    return [end for end in ends if abs(math.degrees(end.angle) - degrees) < 0.5]


def candidates(plan: Plan, tag: str, which: Which) -> tuple[list[HoseEnd], str]:
    """The ends that may go on one end of a run, and what to say where there is none.

    Of those that the plan's word allows, the ones whose seat goes straight onto the port; else those that an adapter
    joins to it; else those of the stock's first seat.
    """
    run = plan.runs[tag]
    word = run.ends[0] if which == "from" else run.ends[1]
    ends = plan.catalog.ends_of(run.stock) if word == "auto" else matching_ends(plan.catalog, run.stock, word)
    if not ends:
        return [], f"no hose end for {run.stock} stands in the tables"
    port = plan.port(port_of(run, which))
    threads = best_threads(plan.catalog, port, list(dict.fromkeys(end.thread for end in ends)))
    return [end for end in ends if end.thread == threads[0]], ""


def without_path(plan: Plan, tag: str, which: Which) -> ChosenEnd:
    """The end where the way of the run is not known: the one that comes into question, if there is only one."""
    found, needs = candidates(plan, tag, which)
    run = plan.runs[tag]
    asked = (run.ends[0] if which == "from" else run.ends[1]) != "auto"
    if len(found) == 1 or (found and asked):
        return ChosenEnd(found[0])
    port = port_of(run, which)
    angle = f"the angle of the end at {port}: say it in ends, or where the port points and the points of the run"
    return ChosenEnd(None, needs or angle)
