"""What the bench works to, from the tables: tolerances, length under pressure, clock angle, proof test."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from catalogs.units import Quantity, show, show_tape
from reports.figures import BLANK

if TYPE_CHECKING:
    from catalogs.catalog import Catalog
    from catalogs.records import Tolerance
    from catalogs.units import System
    from lines.assembly import Assembly

NO_TOLERANCE = "no tolerance: the tables have none for tube"
WAY = "Look along the hose, end A nearest and its outlet at 6 o'clock; turn counter-clockwise to the outlet of end B."


@dataclass(frozen=True, slots=True)
class Clock:
    """The angle between two angled ends."""

    state: Literal["given", "by its points", "to set", "none"]
    degrees: float | None
    """As measured, else by the run's way."""
    says: str
    way: str
    """The convention, and the angle of a house that turns the other way."""
    computed: float | None = None
    """By the run's way, where it was measured too."""
    tolerance: tuple[float, float] = (0.0, 0.0)
    """How far it may be under and over [deg]."""


def _hose(made: Assembly) -> float:
    """The cut length of a hose [m], 0 for tube and where it is not known."""
    return 0.0 if made.stock.rigid else max(made.cut or 0.0, 0.0)


def cut_tolerance(catalog: Catalog, made: Assembly, system: System) -> str:
    """`+/- 3/16 in`; empty where the cut length is not known, and for tube: the tables' rows are for cut hose."""
    cut = _hose(made)
    return "".join(_range(row, cut, system) for row in catalog.tolerances("cut-length", cut)[:1])


def cut_tolerance_source(catalog: Catalog, made: Assembly) -> str:
    """The row that the tolerance of the cut is from; empty where there is none."""
    if made.stock.rigid:
        return NO_TOLERANCE
    return "".join(row.source for row in catalog.tolerances("cut-length", _hose(made))[:1])


def under_pressure(catalog: Catalog, made: Assembly, system: System) -> str:
    """How much shorter and longer the hose may get; empty for tube and where the cut length is not known."""
    cut = _hose(made)
    for row in catalog.tolerances("pressurised-length", cut)[:1]:
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
    """The clock angle as measured, else by the run's way, else room for it; none where an end is straight."""
    if made.angled is False:
        return Clock("none", None, "none: at least one end is straight", "")
    rows = catalog.tolerances("clock-angle", made.length if made.length is not None else made.cut or 0.0)
    allowed = "".join(f", {_wide(row)} by {row.source}" for row in rows)
    angle = made.run.clock if made.run.clock is not None else made.clock
    if angle is None:
        when = (
            "set on the vehicle" if made.angled else "once both ends are chosen; if both are angled, set on the vehicle"
        )
        return Clock("to set", None, f"{when}: {BLANK} deg{allowed}", WAY)
    degrees = _to_tenths(angle)
    other = _degrees((360.0 - degrees) % 360.0)
    computed = None if made.run.clock is None or made.clock is None else _to_tenths(made.clock)
    both = f", by its points {_degrees(computed)}" if computed is not None else ""
    by = f"as measured{both}" if made.run.clock is not None else "by its points"
    sides = (math.degrees(rows[0].low.value), math.degrees(rows[0].high.value)) if rows else (0.0, 0.0)
    return Clock(
        "given" if made.run.clock is not None else "by its points",
        degrees,
        f"{_degrees(degrees)}{allowed}; {by}",
        f"{WAY} A house that turns clockwise from A to B calls it {other}.",
        computed,
        sides,
    )


def _to_tenths(angle: float) -> float:
    """An angle [rad] in degrees as it is printed, so that it and its mirror make 360."""
    return round(math.degrees(angle), 1) % 360.0


def _degrees(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0") + " deg"


def _wide(row: Tolerance) -> str:
    low, high = (_degrees(math.degrees(side.value)) for side in (row.low, row.high))
    return f"+/- {high}" if low == f"-{high}" else f"{low} to +{high}"


def proof_factor(catalog: Catalog) -> float:
    """Proof pressure over the rated working pressure of the weakest part [-]."""
    return catalog.tolerances("proof-pressure")[0].low.value


def proof_how(catalog: Catalog, system: System) -> str:
    """With what, how long, by which standard."""
    held, factor = catalog.tolerances("proof-time")[0], catalog.tolerances("proof-pressure")[0]
    low, high = (show(side, system, decimals=0) for side in (held.low, held.high))
    return f"liquid, {low} to {high} ({factor.source})"
