"""What the lines of a fuel system hold, and what runs out of it where a joint is opened: two sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity, show
from solver.fuels import feeding, owner, pumps, regulators
from solver.priming import far_ends, held, line_at

if TYPE_CHECKING:
    from catalogs.units import System
    from lines.finding import Finding
    from solver.solution import Solution

OPENED = "fuel.siphon"
"""The rule whose findings stand in the second sentence."""


def held_and_let_out(answer: Solution, own: list[Finding], system: System) -> tuple[str, ...]:
    """What lines hold before and behind each pump that feeds a rail, and behind regulators; what tanks let out."""
    circuit = answer.model.circuit
    times = {f.place: f for f in own if f.rule == "fuel.prime"}
    parts = []
    for pump in feeding(circuit) or pumps(circuit):
        name, ends = owner(pump).name, " and ".join(far_ends(circuit, pump.end))
        parts += [f"{_held(answer, pump.start, system)} before {name}"]
        parts += [f"{_held(answer, pump.end, system)} from it to {ends}"]
        if (time := times.get(name)) is not None and time.value is not None:
            parts[-1] += f" (empty, filled in {show(time.value, system)} at {time.worst.duty})"
    parts += [f"{_held(answer, valve.end, system)} back from {owner(valve).name}" for valve in regulators(circuit)]
    said = [f"Lines hold {', '.join(parts)}."]
    known = [(f.value, f) for f in own if f.rule == OPENED and f.value is not None]
    opened = [f"{show(size, system)} of {f.place} at {f.worst.station}" for size, f in known]
    if opened:
        said.append(f"Opened, a joint lets out at most {', '.join(opened)}: see {OPENED}.")
    return tuple(said)


def _held(answer: Solution, node: str, system: System) -> str:
    """What the line of a node holds; where something in it does not say it a question mark, and why."""
    try:
        return show(Quantity(held(answer, line_at(answer.model.circuit, node)), "line_volume"), system)
    except UnknownInputError as error:
        return f"? ({error.reason})"
