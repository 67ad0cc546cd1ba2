"""Reads a CSV that a person wrote, or a spreadsheet: a row of names, a row of units, and a row for each id or point."""

from __future__ import annotations

import csv
import re
from collections import Counter, defaultdict
from typing import TYPE_CHECKING

from catalogs.errors import Fault, TableError
from catalogs.row import Row
from catalogs.tomlfile import read_text

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

MOST_ROWS = 5_000
LONGEST_CELL = 500

_LINE_END = re.compile(r"\r\n|\n|\r")
_COMMA_NUMBER = re.compile(r"^[+-]?\d+,\d+$")


def read_csv(path: Path, shown: str) -> dict[str, Row]:
    """The rows of a CSV by id, with the unit of its column after each figure that brings none.

    Raises:
        TableError: the file cannot be read or is not laid out as a table.
    """
    (head, names), units, rows, mark = _laid_out(read_text(path, shown), shown)
    table: dict[str, Row] = {}
    lines: dict[str, list[int]] = {}
    faults = _nameless(shown, head, names, rows)
    for line, row in rows:
        cells = [cell.strip() for cell in row]
        faults += [
            Fault(file=shown, line=line, key=name, message=f"longer than {LONGEST_CELL} characters")
            for name, cell in zip(names, cells, strict=False)
            if len(cell) > LONGEST_CELL
        ]
        texts = {n: _cell(c, u, mark) for n, u, c in zip(names, units, cells, strict=False) if c and n}
        key = texts.pop("id", "")
        lines.setdefault(key, []).append(line)
        if not key:
            faults.append(
                Fault(file=shown, line=line, key="id", message="is missing", expected="what the row is called")
            )
        elif key in table:
            table[key].more.append(texts)
        else:
            table[key] = Row(texts, shown, _line_of_point(lines[key]))
    if faults:
        raise TableError(faults)
    return table


def _nameless(shown: str, head: int, names: list[str], rows: list[tuple[int, list[str]]]) -> list[Fault]:
    """The faults of filled cells in columns that have no name."""
    lines = defaultdict(list)
    for line, row in rows:
        for i, cell in enumerate(row):
            if cell.strip() and not (i < len(names) and names[i]):
                lines[i].append(line)
    faults = []
    for i, found in lines.items():
        column, more = f"column {i + 1} ({_letters(i)} in a spreadsheet)", len(found) - 1
        if i < len(names):
            message = f"{column} has no name, and {len(found)} filled cell{'s' * (more > 0)} under it"
            faults.append(Fault(file=shown, line=head, message=message, expected="a name for it, or nothing under it"))
        else:
            message = f"a cell in {column}, and the names end at column {len(names)} ({_letters(len(names) - 1)})"
            message += f", here and in {more} row{'s' * (more > 1)} more" * (more > 0)
            expect = "a name for each column, quotes round a text with a comma in it, and a point in a number"
            faults.append(Fault(file=shown, line=found[0], message=message, expected=expect))
    return faults


def _letters(column: int) -> str:
    """What a spreadsheet calls a column, counted from 0.

    >>> [_letters(n) for n in (0, 25, 26, 701, 702)]
    ['A', 'Z', 'AA', 'ZZ', 'AAA']
    """
    above, letter = divmod(column, 26)
    return (_letters(above - 1) if above else "") + chr(ord("A") + letter)


def _laid_out(text: str, shown: str) -> tuple[tuple[int, list[str]], list[str], list[tuple[int, list[str]]], str]:
    """The names with their line, the units, the rows with their lines, and the mark between cells."""
    written = [
        (number, line)
        for number, line in enumerate(_LINE_END.split(text), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if len(written) < 2:
        expect = "a row of names, like id,bore and under it a row of units, like ,in"
        raise TableError([Fault(file=shown, message="no row of names and row of units", expected=expect)])
    if len(written) > MOST_ROWS:
        raise TableError([Fault(file=shown, message=f"more than {MOST_ROWS:,} rows")])
    mark = ";" if written[0][1].count(";") > written[0][1].count(",") else ","
    rows, faults = [], []
    for number, line in written:
        try:
            rows.append((number, next(csv.reader([line], delimiter=mark, strict=True))))
        except csv.Error:
            message = "quotes that do not close, or that text follows"
            expect = 'a cell in quotes with each " inside it doubled'
            faults.append(Fault(file=shown, line=number, message=message, expected=expect))
    if faults:
        raise TableError(faults)
    names, units = ([cell.strip() for cell in cells] for _, cells in rows[:2])
    units += [""] * (len(names) - len(units))
    if "id" not in names:
        faults.append(
            Fault(
                file=shown,
                line=rows[0][0],
                message='no column "id"',
                expected="a column id, with what each row is called",
            )
        )
    elif units[names.index("id")]:
        message = "no row of units under the names: here stands a row of figures"
        expect = "a row with the unit of each column, and under id an empty cell, like " + mark.join(["", "in", "in"])
        faults.append(Fault(file=shown, line=rows[1][0], key="id", message=message, expected=expect))
    faults += [
        Fault(file=shown, line=rows[0][0], key=name, message="two columns have this name")
        for name, count in Counter(filter(None, names)).items()
        if count > 1
    ]
    if faults:
        raise TableError(faults)
    return (rows[0][0], names), units, rows[2:], mark


def _line_of_point(lines: list[int]) -> Callable[[tuple[int | str, ...]], int]:
    """Of the several rows of one id, each is a point."""

    def line(path: tuple[int | str, ...]) -> int:
        number = path[1] if len(path) > 1 and path[0] == "points" else 0
        return lines[number if isinstance(number, int) and number < len(lines) else 0]

    return line


def _cell(text: str, unit: str, mark: str) -> str:
    if mark == ";" and _COMMA_NUMBER.match(text):
        text = text.replace(",", ".")
    return f"{text} {unit}" if unit and text[-1].isdigit() else text
