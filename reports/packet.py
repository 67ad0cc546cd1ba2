"""Everything that the sheets of a plan hold, as content: no drawing, no files."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reports.bench import Block, blocks
from reports.cutlist import StockPieces, cut_list
from reports.front import Front, front
from reports.orders import Item, Lack, not_chosen, order_list
from reports.record import Record, record
from reports.verdicts import Row, verdict_rows

if TYPE_CHECKING:
    from catalogs.units import System
    from lines.finding import Finding
    from solver.study import Study


@dataclass(frozen=True)
class Packet:
    """The content of one packet of sheets."""

    system: System
    front: Front
    blocks: list[Block]
    cut: list[StockPieces]
    items: list[Item]
    lacks: list[Lack]
    findings: list[Row]
    tests: Record


def packet(study: Study, found: list[Finding]) -> Packet:
    """The packet of a study and its findings."""
    system, cut, bench = study.plan.system, cut_list(study), blocks(study, found)
    return Packet(
        system=system,
        front=front(study, found),
        blocks=bench,
        cut=cut,
        items=order_list(study, cut),
        lacks=not_chosen(study),
        findings=verdict_rows(found, system),
        tests=record(bench),
    )
