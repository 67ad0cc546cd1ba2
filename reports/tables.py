"""The packet as tables, one for each file of a spreadsheet: a row of names with their units, then the rows."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from catalogs.units import Quantity, number_in
from reports.drains import DrainPage
from reports.figures import length_unit
from reports.leaning import largest
from reports.record import BLANKS
from solver.drains.envelope import COLD, WARM

if TYPE_CHECKING:
    from catalogs.units import System
    from reports.bench import Block
    from reports.drainstates import DrainState
    from reports.ends import BenchEnd
    from reports.figures import Figure
    from reports.packet import Packet
    from solver.drains.envelope import Envelope

Cell = str | float | None


@dataclass(frozen=True)
class Table:
    """Names, and rows as long as they."""

    names: list[str]
    rows: list[list[Cell]]


def tables(packet: Packet) -> dict[str, Table]:
    """Every table of a packet by the name of its file."""
    return {
        "joint-list.csv": joint_table(packet),
        "cut-list.csv": cut_table(packet),
        "bench.csv": bench_table(packet),
        "order-list.csv": order_table(packet),
        "drains.csv": drain_table(packet),
        "envelope.csv": envelope_table(packet),
        "findings.csv": finding_table(packet),
        "test-record.csv": record_table(packet),
    }


def _number(figure: Figure | None) -> float | None:
    return None if figure is None else figure.number


def _text(figure: Figure | None) -> str:
    return "" if figure is None else figure.text


def joint_table(packet: Packet) -> Table:
    """Every joint, what fails first; its torque left empty."""
    names = ["verdict", "tag", "end", "port", "its seat", "hose end", "adapter", "seals", "nut", "torque", "why"]
    rows: list[list[Cell]] = [
        [j.verdict, j.tag, j.end, j.port, j.seat, j.hose_end, j.adapter, j.seals, j.hex, None, j.why]
        for j in packet.joints
    ]
    return Table(names, rows)


def cut_table(packet: Packet) -> Table:
    """Every piece, by stock, the longest first."""
    unit = length_unit(packet.system)
    names = ["stock", "size", "tag", "line", f"cut length [{unit}]", "on the tape", "state", "end A", "end B"]
    rows: list[list[Cell]] = [
        [stock.stock.id, stock.size, p.tag, p.line, _number(p.cut.tape), _text(p.cut.tape), p.cut.state, *p.ends]
        for stock in packet.cut
        for p in stock.pieces
    ]
    return Table(names, rows)


def bench_table(packet: Packet) -> Table:
    """Every assembly with what the bench sheet says of it."""
    rows = [_bench_row(block, length_unit(packet.system)) for block in packet.blocks]
    return Table(list(rows[0]) if rows else ["tag"], [list(row.values()) for row in rows])


def _bench_row(block: Block, unit: str) -> dict[str, Cell]:
    cut = block.cut
    lengths = {named.name: f"{named.text} {named.says}" for named in cut.lengths}
    row: dict[str, Cell] = {
        "tag": block.tag,
        f"cut length [{unit}]": _number(cut.tape),
        "on the tape": _text(cut.tape),
        f"cut length, exact [{unit}]": _number(cut.exact),
        "state": cut.state,
        "measure first": " / ".join(cut.measure),
        "line": block.line,
        "circuit": block.circuit,
        "fluid": block.fluid,
        "stock": block.stock,
        "size": block.size,
        "liner": block.liner,
        f"length between seats [{unit}]": _number(cut.length),
        "known by": cut.known_by,
        "overall": lengths.get("overall", ""),
        "free": lengths.get("free", ""),
        "formula": cut.formula,
        "tolerance of the cut": f"within {block.tolerance}" if block.tolerance else "",
        "under pressure": block.under_pressure,
    }
    for end in block.ends:
        row |= _end_cells(end, unit)
    return row | {
        "clock angle [deg]": block.clock.degrees,
        "clock": " ".join(filter(None, [block.clock.says, block.clock.way])),
        "marks": _marks(block),
        "on first": block.before,
        f"working pressure [{block.working.unit}]": block.working.number,
        "proof pressure": block.proof.text,
        "proof test": block.proof_how,
        "pressures are": block.rating_basis,
        "checks": " / ".join(block.checks),
        "label": block.label,
        "note": block.note,
    }


def _end_cells(end: BenchEnd, unit: str) -> dict[str, Cell]:
    return {
        f"port {end.mark}": end.port,
        f"end {end.mark}": end.id or end.means,
        f"seat {end.mark}": end.seat,
        f"hex {end.mark}": end.hex,
        f"cut-off {end.mark} [{unit}]": _number(end.cutoff),
        f"cut-off {end.mark} is": end.cutoff_basis,
        f"attach {end.mark}": end.attach,
        f"joint {end.mark}": end.joint,
    }


def _marks(block: Block) -> str:
    return " / ".join(filter(None, ["; ".join(mark.said for mark in block.bends), block.bends_say]))


def order_table(packet: Packet) -> Table:
    """Every thing to order, then what is not chosen yet."""
    names = ["sort", "id", "means", "quantity", "unit", "in words", "part", "price", "note"]
    rows: list[list[Cell]] = [
        [i.sort, i.id, i.means, i.quantity, i.unit, i.says, i.part, i.price, i.note] for i in packet.items
    ]
    rows += [["not chosen yet", lack.place, lack.what, *[None] * 6] for lack in packet.lacks]
    return Table(names, rows)


def drain_table(packet: Packet) -> Table:
    """Every drain in every attitude at every duty; of one that cannot be told, why."""
    unit = length_unit(packet.system)
    names = ["turbocharger", "attitude", "lasts", "duty", "tilt [deg]", "toward [deg, 0 forward, 90 left]"]
    names += ["flattest piece falls [deg]", "run", f"from its end A [{unit}]"]
    names += ["even flow over the bore [-]", "Froude number [-]"]
    names += [f"oil under the flooding point [{unit}]", f"end over the sump's oil [{unit}]", "end covered"]
    names += ["verdict", "rules", "why", "needed"]
    rows: list[list[Cell]] = []
    for page in packet.drains:
        if isinstance(page, DrainPage):
            rows += [[page.turbo, *_drain_cells(state, packet.system), None, None] for state in page.states]
        else:
            rows.append([page.turbo, *[None] * 13, page.verdict, None, page.why, page.needs or None])
    return Table(names, rows)


def _drain_cells(state: DrainState, system: System) -> list[Cell]:
    def length(value: float | None) -> float | None:
        return None if value is None else number_in(Quantity(value, "length"), system)

    run, far = state.place
    covered = None if state.mouth is None else "yes" if state.covered else "no"
    return [
        *(state.attitude.name, "sustained" if state.attitude.sustained else "transient", state.duty),
        *(math.degrees(angle) for angle in (state.tilt, state.bearing, state.fall)),
        *(run, length(far), state.depth, state.froude, length(state.clearance), length(state.mouth), covered),
        *(str(state.verdict), " ".join(state.rules)),
    ]


def envelope_table(packet: Packet) -> Table:
    """How far the vehicle may lean toward each bearing, to the half degree below; where that is not known, why."""
    names = ["turbocharger", "downhill toward [deg, 0 forward, 90 left]"]
    names += [f"largest safe tilt, {oil} oil [deg]" for oil in (WARM, COLD)]
    names += [f"not even level, {oil} oil" for oil in (WARM, COLD)] + ["why"]
    rows: list[list[Cell]] = []
    for page in packet.drains:
        if isinstance(page, DrainPage) and page.envelope is not None:
            rows += _envelope_rows(page.turbo, page.envelope)
        else:
            why = page.no_envelope if isinstance(page, DrainPage) else page.why
            rows.append([page.turbo, *[None] * 5, why])
    return Table(names, rows)


def _envelope_rows(turbo: str, found: Envelope) -> list[list[Cell]]:
    safe = {oil: largest(found.tilts, found.works(oil)) for oil in found.clearance}
    rows: list[list[Cell]] = []
    for n, bearing in enumerate(found.bearings):
        tilts = [float(safe[oil][n]) if oil in safe else None for oil in (WARM, COLD)]
        cells: list[Cell] = [None if t is None or math.isnan(t) else math.degrees(t) for t in tilts]
        floods: list[Cell] = [None if t is None else "yes" if math.isnan(t) else "no" for t in tilts]
        rows.append([turbo, math.degrees(bearing), *cells, *floods, None])
    return rows


def finding_table(packet: Packet) -> Table:
    """Every finding, the worst first."""
    names = ["verdict", "id", "rule", "place", "why", "change", "needs", "value", "limit", "worst", "basis", "source"]
    rows: list[list[Cell]] = [[getattr(row, name) for name in names] for row in packet.findings]
    return Table(names, rows)


def record_table(packet: Packet) -> Table:
    """A line for each assembly, its results left empty."""
    names = ["tag", "line", "stock", "proof pressure", "how", "pressure is", *BLANKS]
    rows: list[list[Cell]] = [
        [t.tag, t.line, t.stock, t.proof, t.how, t.basis, *[None] * len(BLANKS)] for t in packet.tests.lines
    ]
    return Table(names, rows)
