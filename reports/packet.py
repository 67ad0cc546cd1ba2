"""Everything that the sheets of a plan hold, as content: no drawing, no files."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reports.bench import Block, blocks
from reports.byhand import by_hand
from reports.cutlist import StockPieces, cut_list
from reports.drains import DrainPage, NoDrain, drain_pages
from reports.front import Front, front
from reports.fuelpage import FuelPage, fuel_pages
from reports.jointlist import JointRow, joint_list
from reports.orders import Item, Lack, not_chosen, order_list
from reports.record import Record, record
from reports.schematic import Sketch, sketches
from reports.verdicts import Passed, Row, Told, passes, told, verdict_rows
from reports.views import Vehicle, vehicle

if TYPE_CHECKING:
    from catalogs.units import System
    from lines.finding import Finding
    from solver.study import Study


@dataclass(frozen=True)
class Packet:
    """The content of one packet of sheets."""

    system: System
    front: Front
    sketches: list[Sketch]
    vehicle: Vehicle | None
    fuel: list[FuelPage]
    drains: list[DrainPage | NoDrain]
    joints: list[JointRow]
    blocks: list[Block]
    cut: list[StockPieces]
    items: list[Item]
    lacks: list[Lack]
    findings: list[Row]
    """Every one."""
    told: list[Told]
    """What does not pass, each sentence once."""
    passes: list[Passed]
    by_hand: tuple[str, ...]
    """What rulebooks ask for beyond the findings."""
    tests: Record


def packet(study: Study, found: list[Finding]) -> Packet:
    """The packet of a study and its findings."""
    plan, cut, bench = study.plan, cut_list(study), blocks(study, found)
    rows = verdict_rows(found, plan.system)
    return Packet(
        system=plan.system,
        front=front(study, found),
        sketches=sketches(study),
        vehicle=vehicle(study),
        fuel=fuel_pages(study, found),
        drains=drain_pages(study, found),
        joints=joint_list(study, found),
        blocks=bench,
        cut=cut,
        items=order_list(study, cut),
        lacks=not_chosen(study),
        findings=rows,
        told=told(rows, plan.runs),
        passes=passes(found, plan.system, plan.circuits),
        by_hand=by_hand(plan),
        tests=record(bench),
    )
