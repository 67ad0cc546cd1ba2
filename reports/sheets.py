"""Writes the sheets of a plan: the packet and worked calculations as PDF, and the same content as CSV."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

from reports.csvfile import csv_bytes
from reports.files import whole_files
from reports.packet import packet
from reports.plaintext import file_stem
from reports.tables import tables
from reports.worked import calculations, worked_table

if TYPE_CHECKING:
    from collections.abc import Callable

    from lines.finding import Finding
    from reports.worked import Calculations
    from solver.study import Study

Paper = Literal["letter", "a4"]


def write_sheets(
    study: Study,
    found: list[Finding],
    folder: Path,
    *,
    paper: Paper | None = None,
    worked: Calculations | None = None,
    progress: Callable[[str], None] | None = None,
) -> list[Path]:
    """Write the packet of a study into a folder, which is made where it is missing.

    Args:
        study: the plan and what follows from it.
        found: its findings.
        folder: where the files go; nothing is written outside it.
        paper: `letter` or `a4`; letter for US units and A4 for metric where none is named.
        worked: the calculations to print; None for one of each circuit.
        progress: is told what is being done.

    Returns:
        the files: the packet first, then its tables, then the worked calculations and their table.

    Raises:
        OutputError: the folder or a file cannot be written. Every file is drawn before the first is written, and each
            is written whole or not at all.
    """
    say = progress or (lambda _text: None)
    say("laying out the sheets")
    content = packet(study, found)
    from reportlab import rl_config

    # Read when the library's shapes are loaded: it need not check each attribute of each of ours.
    rl_config.shapeChecking = 0
    from reports.pdf import pdf_bytes
    from reports.pdfworked import worked_pdf

    size = paper or ("letter" if content.system == "us" else "a4")
    stem = file_stem(Path(study.plan.file).stem, study.plan.head.title)
    files = {f"{stem}-sheets.pdf": pdf_bytes(content, size, say)}
    files |= {name: csv_bytes(table) for name, table in tables(content).items()}
    say("working out by hand")
    by_hand = calculations(study) if worked is None else worked
    files |= {"worked.pdf": worked_pdf(by_hand, content.front, size), "worked.csv": csv_bytes(worked_table(by_hand))}
    say("writing the sheets")
    return whole_files({folder / name: made for name, made in files.items()})
