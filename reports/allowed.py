"""What the bench works to, from the tables: tolerances, length under pressure, clock angle, proof test."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, cast

from catalogs.units import Quantity, show, show_tape
from reports.ends import angled
from reports.figures import BLANK

if TYPE_CHECKING:
    from catalogs.catalog import Catalog
    from catalogs.records import Tolerance
    from catalogs.units import System
    from lines.assembly import Assembly

WAY = "Look along the hose, end A nearest and its outlet at 6 o'clock; turn counter-clockwise to the outlet of end B."


@dataclass(frozen=True, slots=True)
class Clock:
    """The angle between two angled ends."""

    state: Literal["given", "to set", "none"]
    degrees: float | None
    says: str
    way: str
    """The convention, and the angle of a house that turns the other way."""


def tolerances(catalog: Catalog, of: str) -> list[Tolerance]:
    """The tolerances of something, the one to keep first."""
    found = (cast("Tolerance", record) for record in catalog.all("tolerances"))
    return [row for row in found if row.of == of]


def _holding(catalog: Catalog, of: str, length: float) -> list[Tolerance]:
    return [row for row in tolerances(catalog, of) if row.holds(length)]


def _cuttable(made: Assembly) -> float:
    """The cut length [m], 0 where it is not known."""
    return max(made.cut or 0.0, 0.0)


def cut_tolerance(catalog: Catalog, made: Assembly, system: System) -> str:
    """`+/- 3/16 in`; empty where the cut length is not known."""
    cut = _cuttable(made)
    return "".join(_range(row, cut, system) for row in _holding(catalog, "cut-length", cut)[:1])


def under_pressure(catalog: Catalog, made: Assembly, system: System) -> str:
    """How much shorter and longer the hose may get; empty for tube and where the cut length is not known."""
    cut = 0.0 if made.stock.rigid else _cuttable(made)
    for row in _holding(catalog, "pressurised-length", cut)[:1]:
        low, high = (show_tape(abs(_size(side, cut)), system) for side in (row.low, row.high))
        shares = f"{show(row.low, system, decimals=0)} to +{show(row.high, system, decimals=0)}"
        return f"up to {low} shorter, up to {high} longer ({shares}, {row.source})"
    return ""


def _size(side: Quantity, length: float) -> float:
    return side.value * length if side.dimension == "ratio" else side.value


def _range(row: Tolerance, length: float, system: System) -> str:
    low, high = (show_tape(_size(side, length), system) for side in (row.low, row.high))
    return f"+/- {high}" if low == f"-{high}" else f"{low} to +{high}"


def clock(catalog: Catalog, made: Assembly) -> Clock:
    """The clock angle as it was measured, or room for it; none where an end is straight."""
    both, angle = angled(made), made.run.clock
    if both is False:
        return Clock("none", None, "none: at least one end is straight", "")
    allowed = _clock_tolerance(catalog, made)
    if angle is None:
        when = "set on the vehicle" if both else "once both ends are chosen; if both are angled, set on the vehicle"
        return Clock("to set", None, f"{when}: {BLANK} deg{allowed}", WAY)
    degrees = math.degrees(angle) % 360.0
    other = _degrees((360.0 - degrees) % 360.0)
    return Clock(
        "given",
        degrees,
        f"{_degrees(degrees)}{allowed}",
        f"{WAY} A house that turns clockwise from A to B calls it {other}.",
    )


def _degrees(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0") + " deg"


def _clock_tolerance(catalog: Catalog, made: Assembly) -> str:
    length = made.length if made.length is not None else made.cut
    found = _holding(catalog, "clock-angle", length or 0.0)
    return "".join(f", {_wide(row)} by {row.source}" for row in found)


def _wide(row: Tolerance) -> str:
    low, high = (_degrees(math.degrees(side.value)) for side in (row.low, row.high))
    return f"+/- {high}" if low == f"-{high}" else f"{low} to +{high}"


def proof_factor(catalog: Catalog) -> float:
    """Proof pressure over the rated working pressure of the weakest part [-]."""
    return tolerances(catalog, "proof-pressure")[0].low.value


def proof_how(catalog: Catalog, system: System) -> str:
    """With what, how long, by which standard."""
    held, factor = tolerances(catalog, "proof-time")[0], tolerances(catalog, "proof-pressure")[0]
    low, high = (show(side, system, decimals=0) for side in (held.low, held.high))
    return f"liquid, {low} to {high} ({factor.source})"
