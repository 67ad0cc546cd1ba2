"""Plans of a few pipes in a row, written as TOML, read and solved: `from published.building import solved, piped`."""

import math
import tempfile
from dataclasses import dataclass
from pathlib import Path

from writing import line, read, run, tube

from solver.solution import solve_plan

FOOT, INCH = 0.3048, 0.0254
MILE = 5280 * FOOT
GALLON = 231 * INCH**3
BARREL = 42 * GALLON
POUND = 0.45359237
GRAVITY = 9.80665
PSI = POUND * GRAVITY / INCH**2
SLUG = POUND * GRAVITY / FOOT
HORSEPOWER = 550 * POUND * GRAVITY * FOOT
MINUTE, HOUR = 60.0, 3600.0

WIDE = tube("1 m")
"""Bore of what leads from one part to the next: in a centimetre of it nothing is lost."""


@dataclass(frozen=True)
class Straight:
    """A straight pipe of a length that ends higher by a rise [m]."""

    start: str
    end: str
    stock: str
    length: float
    rise: float


def piped(start, end, stock="pipe", *, length, rise=0.0):
    return Straight(start, end, stock, length, rise)


def joined(start, end):
    return Straight(start, end, "wide", 0.01, 0.0)


def bent(start, end, stock="pipe", *, length, bends):
    """A level pipe of a length [m] with bends."""
    return run(start, end, stock, length=f"{length!r} m", length_is="overall", rise="0 m", bends=bends)


def laid(components, runs):
    """The same with every straight pipe between two places of its own, and each component at one height."""
    placed = {name: table | {"ports": dict(table.get("ports", {}))} for name, table in components.items()}
    heights = {next(iter(runs.values())).start.partition(".")[0]: 0.0}
    made = {}
    for tag, pipe in runs.items():
        (first, out), (last, into) = (ref.split(".") for ref in (pipe.start, pipe.end))
        low = heights.setdefault(first, heights.get(last, 0.0) - pipe.rise)
        high = heights.setdefault(last, low + pipe.rise)
        assert math.isclose(high - low, pipe.rise, abs_tol=1e-9), tag
        placed[first]["ports"][out] = {"at": f"0, 0, {low!r} m"}
        placed[last]["ports"][into] = {"at": f"{math.sqrt(pipe.length**2 - pipe.rise**2)!r}, 0, {high!r} m"}
        made[tag] = run(pipe.start, pipe.end, pipe.stock, via=[])
    return placed, made


def written(folder, components, runs, *, stock=None, fluids=None, fluid="liquid", temperature="20 C", **sections):
    """A plan of one circuit, written to a file and read back."""
    if all(isinstance(pipe, Straight) for pipe in runs.values()):
        components, runs = laid(components, runs)
    return read(
        Path(folder),
        fluids=fluids,
        circuits={"line": {"fluid": fluid, "temperature": temperature}},
        components=components,
        stock={"wide": WIDE} | (stock or {}),
        runs=runs,
        **sections,
    )


def solved(*parts, **sections):
    """The solution of a plan of one circuit, which has one."""
    with tempfile.TemporaryDirectory() as folder:
        return line(written(folder, *parts, **sections))


def answer(*parts, **sections):
    """What there is to say of a plan of one circuit, be it a solution or not."""
    with tempfile.TemporaryDirectory() as folder:
        return solve_plan(written(folder, *parts, **sections))["line"]


def source(pressure):
    """A known total pressure over ambient [Pa]."""
    return {"kind": "source", "pressure": f"{pressure!r} Pa"}


def draw(flow):
    """A known flow taken out [m3/s]."""
    return {"kind": "draw", "flow": f"{flow!r} m3/s"}


def kinematic(viscosity):
    """[m2/s] as a plan writes it."""
    return f"{viscosity * 1e6!r} mm2/s"


def flow_through(flow, *, liquid, bore, roughness, length, rise=0.0):
    """A known flow [m3/s] of a liquid from a source through one straight pipe: the run `pipe`."""
    return solved(
        {"source": source(1e6), "end": draw(flow)},
        {"pipe": piped("source.out", "end.in", length=length, rise=rise)},
        stock={"pipe": tube(bore, roughness)},
        fluids={"liquid": liquid},
    )


def pumped(flow, head, *, liquid, bore, roughness, length, rise, k, supply=None):
    """A displacement pump that delivers a flow [m3/s] through fittings and one rising pipe into the open air.

    Between half and twice a head [Pa] its flow falls by a thousandth: what it has to press against, the rest says.

    Args:
        flow: [m3/s].
        head: about what it will be [Pa].
        liquid: a row of fluids.
        bore, roughness: as a plan writes them.
        length, rise: of the pipe [m].
        k: of the fittings, on its bore; the exit into the air is not among them.
        supply: what it draws from; a known pressure, that of the air, where none is said.
    """
    points = [(0.5 * head, 1.0005 * flow), (head, flow), (2.0 * head, 0.9995 * flow)]
    rows = [{"volts": "12 V", "rise": f"{r!r} Pa", "flow": f"{q!r} m3/s"} for r, q in points]
    inlet = "pipe" if supply else "wide"
    return solved(
        {
            "supply": supply or source(0.0),
            "pump": {"kind": "pump", "curve": "main", "volts": "12 V"},
            "fittings": {"kind": "resistance", "k": k, "bore": bore},
            "end": {"kind": "open"},
        },
        {
            "suction": piped("supply.in" if supply else "supply.out", "pump.in", inlet, length=0.001),
            "joint": joined("pump.out", "fittings.in"),
            "pipe": piped("fittings.out", "end.in", length=length, rise=rise),
        },
        stock={"pipe": tube(bore, roughness)},
        curves={
            "main": {"means": "a displacement pump", "points": rows, "source": "for the test", "grade": "published"}
        },
        fluids={"liquid": liquid},
    )


def drop(solution, start, end):
    """Fall of total pressure [Pa] between two nodes."""
    return float((solution.total(start) - solution.total(end))[0])


def head_of(solution, edge, pressure):
    """Head [m] of a pressure [Pa] in the fluid of an edge."""
    return pressure / (float(solution.density(edge)[0]) * GRAVITY)
