"""Draws a table as CSV. A cell that a spreadsheet would run as a formula is defused with an apostrophe."""

from __future__ import annotations

import csv
import io
import re
from typing import TYPE_CHECKING

from reports.plaintext import one_line

if TYPE_CHECKING:
    from reports.tables import Cell, Table

# At the start of a cell, or after a mark at which another country's spreadsheet splits it. A sign with a plain
# figure and words behind it, like -8 AN or +2 %, is no formula, nor is a tolerance like +/- 5 deg.
_FORMULA = re.compile(r"(^|[;,\t])(\s*)(?!\+/- |[+-]\d[\w .,%/]*(?:$|;))(?=[=+\-@\uff1d\uff0b\uff0d\uff20])")


def cell(value: Cell) -> str:
    """One cell: a number in plain decimals, a text in one line that no spreadsheet runs."""
    if value is None:
        return ""
    if isinstance(value, str):
        return _FORMULA.sub(r"\1\2'", one_line(value))
    return f"{value:.4f}".rstrip("0").rstrip(".")


def csv_bytes(table: Table) -> bytes:
    """The file. A byte-order mark tells a spreadsheet of letters beyond ASCII, and only then stands in it."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(cell(name) for name in table.names)
    writer.writerows([cell(c) for c in row] for row in table.rows)
    text = out.getvalue()
    return text.encode("utf-8" if text.isascii() else "utf-8-sig")
