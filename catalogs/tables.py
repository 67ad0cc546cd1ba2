"""The one reader of tables, ours and a shop's: TOML, or CSV with a row of names and a row of units."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import ValidationError

from catalogs.attitudes import AttitudePreset
from catalogs.csvfile import read_csv
from catalogs.errors import Fault, InputError, TableError, nearest
from catalogs.faults import dotted, faults_of, keys_of, no_key
from catalogs.fluids import Fluid
from catalogs.grades import Grade
from catalogs.kinds import Kind
from catalogs.materials import Charging, Material
from catalogs.records import (
    Adapter,
    Caution,
    HoseEnd,
    Limit,
    Loss,
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
from catalogs.rules import Clause
from catalogs.tomlfile import read_toml

if TYPE_CHECKING:
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
    "rules": Clause,
    "tolerances": Tolerance,
    "materials": Material,
    "static": Charging,
    "cautions": Caution,
    "attitudes": AttitudePreset,
    "kinds": Kind,
}
R = TypeVar("R", bound=Record)


def read_table(path: Path, shown: str) -> dict[str, Row]:
    """The rows of one table by id, their texts not yet read.

    Raises:
        TableError: the file cannot be read or is not laid out as a table.
    """
    try:
        table = read_csv(path, shown) if path.suffix.lower() == ".csv" else _from_toml(path, shown)
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


def by_name(key: str, row: Row, record: type[Record]) -> tuple[Row, list[Fault]]:
    """The row with what is misnamed under the name that is most like it, and the fault of each misnamed field.

    What follows from the slip alone is then no fault, and its figures are read all the same.
    """
    own = keys_of(record)
    columns = [k for k in own if k != "points"] + list(record.repeats) if record.repeats and _is_csv(row) else own
    valid = [*(k for k in columns if k != "id"), "like"]
    given = dict.fromkeys(name for cells in (row.fields, *row.more) for name in cells)
    meant: dict[str, str | None] = {}
    faults = []
    for name in (n for n in given if n not in {*own, *record.repeats, "like"}):
        message, expect, near = no_key(name, valid, record.words)
        if name.startswith("source."):
            message, expect = "has no grade beside it", f"grade.{name.removeprefix('source.')} too"
            near = None
        elif _is_csv(row):
            message = "is no column of this table"
        place: dict[str, Any] = {"file": row.file, "line": row.line((name,)), "table": key, "key": name}
        faults.append(Fault(message=message, expected=expect, nearest=near, **place))
        meant[name] = near if near not in given else None
    if not meant:
        return row, []
    taken = {near: name for name, near in meant.items() if near is not None}

    def line(path: tuple[int | str, ...]) -> int | None:
        return row.line((taken.get(str(path[0]), path[0]), *path[1:]) if path else path)

    fields, *more = (_renamed(cells, meant) for cells in (row.fields, *row.more))
    return replace(row, fields=fields, more=more, line=line), faults


def _renamed(cells: dict[str, Any], meant: dict[str, str | None]) -> dict[str, Any]:
    """Cells by the names that they are taken for; one that is named right comes first."""
    taken = {near: cells[name] for name, near in meant.items() if near is not None and name in cells}
    return taken | {name: value for name, value in cells.items() if name not in meant}


def _is_csv(row: Row) -> bool:
    return row.file.lower().endswith(".csv")


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
            expected=f'"{fields[k]}" as there, or an empty cell' if k in fields else "it in the first row of this id",
        )
        for n, other in enumerate(row.more, 1)
        for k, text in other.items()
        if k not in record.repeats and text != fields.get(k)
    ]
    if row.more or ("points" not in fields and fields.keys() & set(record.repeats)):
        points = [{k: r[k] for k in record.repeats if k in r} for r in [fields, *row.more]]
        fields = {k: v for k, v in fields.items() if k not in record.repeats} | {"points": points}
    return fields, faults


def read_row(key: str, row: Row, record: type[R]) -> R:
    """The record of one row.

    Raises:
        TableError: with every fault of the row.
    """
    row, faults = by_name(key, row, record)
    fields, more = folded(key, row, record)
    faults += more

    def place(path: tuple[int | str, ...]) -> dict[str, Any]:
        # Each point of a CSV has a line of its own.
        shown = path[2:] if record.repeats and _is_csv(row) and path[:1] == ("points",) and len(path) > 2 else path
        return {"file": row.file, "line": row.line(path), "table": key, "key": dotted(shown)}

    if "id" in fields:
        faults.append(Fault(message="is no key here", expected=f'the id in the head: ["{key}"]', **place(("id",))))
    known = {*keys_of(record), *fields}
    for name in (f for f in row.origins if f not in known):
        near = nearest(name, keys_of(record))
        facts = place((f"grade.{name}",)) | {"key": f"grade.{name}", "nearest": near and f"grade.{near}"}
        faults.append(Fault(message="is no key here", **facts))
    try:
        read = record.model_validate({**fields, "id": key, "origins": row.origins})
    except ValidationError as error:
        faults += faults_of(error, record, place)
    if faults:
        raise TableError(faults)
    return read
