"""The one reader of tables, ours and a shop's: TOML, or CSV with a row of names and a row of units."""

from __future__ import annotations

import csv
import re
from collections import Counter
from itertools import zip_longest
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import ValidationError

from catalogs.errors import Fault, InputError, TableError, nearest
from catalogs.faults import dotted, faults_of, keys_of
from catalogs.fluids import Fluid
from catalogs.grades import Grade
from catalogs.kinds import Kind
from catalogs.records import (
    Adapter,
    Caution,
    HoseEnd,
    Limit,
    Loss,
    Material,
    Mixup,
    Origin,
    PumpCurve,
    Record,
    Seal,
    Seat,
    Stock,
    Support,
    Thread,
    Tolerance,
)
from catalogs.row import Row
from catalogs.tomlfile import read_text, read_toml

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

TABLES: dict[str, type[Record]] = {
    "fluids": Fluid,
    "stock": Stock,
    "ends": HoseEnd,
    "threads": Thread,
    "seats": Seat,
    "adapters": Adapter,
    "seals": Seal,
    "mixups": Mixup,
    "supports": Support,
    "curves": PumpCurve,
    "losses": Loss,
    "limits": Limit,
    "tolerances": Tolerance,
    "materials": Material,
    "cautions": Caution,
    "kinds": Kind,
}
R = TypeVar("R", bound=Record)

MOST_ROWS = 5_000
LONGEST_CELL = 500

_LINE_END = re.compile(r"\r\n|\n|\r")
_COMMA_NUMBER = re.compile(r"^[+-]?\d+,\d+$")


def read_table(path: Path, shown: str) -> dict[str, Row]:
    """The rows of one table by id, their texts not yet read.

    Raises:
        TableError: the file cannot be read or is not laid out as a table.
    """
    try:
        table = _from_csv(path, shown) if path.suffix.lower() == ".csv" else _from_toml(path, shown)
    except InputError as error:
        raise TableError(error.faults) from None
    for row in table.values():
        _take_origins(row)
    return table


def _take_origins(row: Row) -> None:
    """Keys like `grade.bore` and `source.bore` say where one field of a row comes from."""
    for field_, grade in [(k.removeprefix("grade."), v) for k, v in row.fields.items() if k.startswith("grade.")]:
        source = row.fields.pop(f"source.{field_}", row.fields.get("source", ""))
        del row.fields[f"grade.{field_}"]
        if fault := no_grade(row, None, f"grade.{field_}", grade):
            raise TableError([fault])
        row.origins[field_] = Origin(Grade(grade), str(source))


def no_grade(row: Row, table: str | None, key: str, grade: object) -> Fault | None:
    """The fault of a grade that is none."""
    if grade in list(Grade):
        return None
    place: dict[str, Any] = {"file": row.file, "line": row.line((key,)), "table": table, "key": key}
    near = nearest(str(grade), list(Grade))
    return Fault(message=f'"{grade}" is no grade', expected="one of " + ", ".join(Grade), nearest=near, **place)


def _from_toml(path: Path, shown: str) -> dict[str, Row]:
    data, places = read_toml(path, shown)
    faults = [
        Fault(
            file=shown,
            line=places.line((key,)),
            key=key,
            message="stands outside a row",
            expected="[id] above it",
        )
        for key, value in data.items()
        if not isinstance(value, dict)
    ]
    if faults:
        raise TableError(faults)
    return {
        key: Row(dict(value), shown, lambda path, key=key: places.line((key, *path)))  # type: ignore[misc]
        for key, value in data.items()
    }


def _from_csv(path: Path, shown: str) -> dict[str, Row]:
    names, units, rows, mark = _laid_out(read_text(path, shown), shown)
    table: dict[str, Row] = {}
    lines: dict[str, list[int]] = {}
    faults: list[Fault] = []
    for line, row in rows:
        cells = [cell.strip() for cell in row]
        if any(cell for cell, name in zip_longest(cells, names) if not name):
            message = f"a cell that stands under no name: {len(cells)} cells under {len(names)} names"
            faults.append(Fault(file=shown, line=line, message=message))
            continue
        faults += [
            Fault(file=shown, line=line, key=name, message=f"longer than {LONGEST_CELL} characters")
            for name, cell in zip(names, cells, strict=False)
            if len(cell) > LONGEST_CELL
        ]
        texts = {n: _cell(c, u, mark) for n, u, c in zip(names, units, cells, strict=False) if c}
        key = texts.pop("id", "")
        lines.setdefault(key, []).append(line)
        if not key:
            faults.append(Fault(file=shown, line=line, key="id", message="is missing"))
        elif key in table:
            table[key].more.append(texts)
        else:
            table[key] = Row(texts, shown, _line_of_point(lines[key]))
    if faults:
        raise TableError(faults)
    return table


def _laid_out(text: str, shown: str) -> tuple[list[str], list[str], list[tuple[int, list[str]]], str]:
    """The names, the units, the rows with their lines, and the mark between cells."""
    written = [
        (number, line)
        for number, line in enumerate(_LINE_END.split(text), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if len(written) < 2:
        raise TableError([Fault(file=shown, message="no row of names and row of units")])
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
        faults.append(Fault(file=shown, line=rows[0][0], message='no column "id"'))
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
    return names, units, rows[2:], mark


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


def folded(key: str, row: Row, record: type[Record]) -> tuple[dict[str, Any], list[Fault]]:
    """A CSV's several rows of one id become the list `points`; elsewhere a second row is a fault."""
    fields = dict(row.fields)
    if not record.repeats:
        if row.more:
            return fields, [Fault(file=row.file, line=row.line(()), table=key, message="this id stands in two rows")]
        return fields, []
    faults = [
        Fault(
            file=row.file,
            line=row.line(("points", n)),
            table=key,
            key=k,
            message="differs from the first row of this id",
        )
        for n, other in enumerate(row.more, 1)
        for k, text in other.items()
        if k not in record.repeats and text != fields.get(k)
    ]
    if row.more or ("points" not in fields and record.repeats[0] in fields):
        points = [{k: r[k] for k in record.repeats if k in r} for r in [fields, *row.more]]
        fields = {k: v for k, v in fields.items() if k not in record.repeats} | {"points": points}
    return fields, faults


def read_row(key: str, row: Row, record: type[R]) -> R:
    """The record of one row.

    Raises:
        TableError: with every fault of the row.
    """
    fields, faults = folded(key, row, record)

    def place(path: tuple[int | str, ...]) -> dict[str, Any]:
        return {"file": row.file, "line": row.line(path), "table": key, "key": dotted(path)}

    known = {*keys_of(record), *fields}
    reserved = {"id", "origins"}.intersection(fields)
    for name in [*reserved, *(f"grade.{f}" for f in row.origins if f not in known)]:
        faults.append(Fault(file=row.file, line=row.line((name,)), table=key, key=name, message="is no key here"))
    if faults:
        raise TableError(faults)
    try:
        return record.model_validate({**fields, "id": key, "origins": row.origins})
    except ValidationError as error:
        raise TableError(faults_of(error, record, place)) from None
