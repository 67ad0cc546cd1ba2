"""A shop's rows laid over ours."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from catalogs.errors import Fault, TableError, nearest
from catalogs.faroff import far_off
from catalogs.grades import Grade
from catalogs.records import Origin
from catalogs.row import Row
from catalogs.tables import TABLES, by_name, folded, no_grade, read_row

if TYPE_CHECKING:
    from catalogs.records import Record


def lay_over(table: str, below: dict[str, Row], above: dict[str, Row]) -> tuple[dict[str, Row], list[Fault]]:
    """A shop's rows over ours: the same id overrides what it states, a new one says `like` or gives all.

    A row named for a whole family, as of stock in every size, is then laid over each of its rows, ours and the shop's,
    but for what a row of the shop's states itself.

    Returns:
        the rows, and the faults of those that could not be laid over.
    """
    field = TABLES[table].together
    families = _families(field, below, above) if field else []
    result, faults = _lay(table, below, {key: row for key, row in above.items() if key not in families})
    for family in families:
        members = [key for key, row in result.items() if row.fields.get(field) == family]
        result, more = _lay(table, result, {key: _but_for(above[family], above.get(key)) for key in members})
        faults += more
    return result, faults


def _families(field: str, below: dict[str, Row], above: dict[str, Row]) -> list[str]:
    """The families that rows of a shop are named for."""
    named = {row.fields.get(field) for row in [*below.values(), *above.values()]}
    return [key for key, row in above.items() if key in named and key not in below and field not in row.fields]


def _but_for(family: Row, own: Row | None) -> Row:
    """The row of a family without what a row of its own states."""
    stated = own.fields.keys() - {"source", "grade"} if own is not None else set()
    return replace(family, fields={name: text for name, text in family.fields.items() if name not in stated})


def _lay(table: str, below: dict[str, Row], above: dict[str, Row]) -> tuple[dict[str, Row], list[Fault]]:
    result, waiting = dict(below), dict(above)
    faults: list[Fault] = []
    while waiting:
        # A row like another of the shop's waits for it; rows that wait for each other are taken as they are.
        likes = {key: str(row.fields.get("like")) for key, row in waiting.items()}
        ready = [key for key, like in likes.items() if like == key or like not in waiting]
        for key in ready or list(waiting):
            try:
                result[key] = _over_base(table, key, waiting.pop(key), result)
            except TableError as error:
                faults += error.faults
    return result, faults


def _over_base(table: str, key: str, row: Row, rows: dict[str, Row]) -> Row:
    record, ours = TABLES[table], rows.get(key)
    if ours is None and (fault := _dotted(key, row, rows)):
        raise TableError([fault])
    row, misnamed = by_name(key, row, record)
    fields, faults = folded(key, row, record)
    base = ours
    if "like" in fields:
        like = str(fields.pop("like"))
        base = rows.get(like) if like != key else None
        if base is None:
            near = nearest(like, [k for k in rows if k != key])
            place: dict[str, Any] = {"file": row.file, "line": row.line(("like",)), "table": key, "key": "like"}
            faults.append(Fault(message=f'"{like}" is no other row of {table}', nearest=near, **place))
    elif base is None:
        faults += _lacking(table, key, fields, row, rows)
    if base is not None:
        faults += _unstated(key, row, fields) + far_off(record, key, row, fields, base, ours)
    if faults:
        raise TableError(misnamed + faults)
    laid = Row(fields, row.file, row.line, row.origins)
    if base is not None:
        origin = Origin(Grade(fields.pop("grade")), str(fields.pop("source")))
        laid.origins = base.origins | dict.fromkeys(fields, origin) | row.origins
        laid.fields = folded(key, base, record)[0] | fields
    if misnamed:
        raise TableError(misnamed + _unread(key, laid, record))
    return laid


def _unread(key: str, row: Row, record: type[Record]) -> list[Fault]:
    """The faults of a row's figures."""
    try:
        read_row(key, row, record)
    except TableError as error:
        return list(error.faults)
    return []


def _unstated(key: str, row: Row, fields: dict[str, Any]) -> list[Fault]:
    """A row over another says where its own figures come from."""
    message = "is missing: a row over another says where its own figures come from"
    faults = [
        Fault(file=row.file, line=row.line((name,)), table=key, key=name, message=message, expected=expect)
        for name, expect in (("source", 'source = "who measured it"'), ("grade", "one of " + ", ".join(Grade)))
        if not fields.get(name)
    ]
    if fields.get("grade") and (fault := no_grade(row, key, "grade", fields["grade"])):
        faults.append(fault)
    return faults


def _dotted(key: str, row: Row, rows: dict[str, Row]) -> Fault | None:
    """The fault of an id with a dot that TOML took for a table in a table: `[run.slack]`."""
    for part in (part for part, value in row.fields.items() if isinstance(value, dict)):
        near = nearest(f"{key}.{part}", [k for k in rows if k.startswith(f"{key}.")])
        if near is not None:
            message = "an id with a dot in it stands in quotes"
            return Fault(file=row.file, line=row.line((part,)), table=key, message=message, expected=f'["{near}"]')
    return None


def _lacking(table: str, key: str, fields: dict[str, Any], row: Row, rows: dict[str, Row]) -> list[Fault]:
    """The one fault of a new row that lacks figures, or whose id is a slip."""
    needed = [f.alias or n for n, f in TABLES[table].model_fields.items() if f.is_required() and n != "id"]
    lacks = [name for name in needed if name not in fields]
    if not lacks:
        return []
    message = f'"{key}" is no row of {table} yet, and as a new one it lacks {", ".join(lacks)}'
    expect = "all of them, or like = the id of a row that gives what this one does not state"
    if len(lacks) == 1:
        expect = expect.replace("all of them", "it")
    field = TABLES[table].together
    families = dict.fromkeys(str(there.fields.get(field)) for there in rows.values()) if field else {}
    near = nearest(key, [*rows, *families])
    return [Fault(file=row.file, line=row.line(()), table=key, message=message, expected=expect, nearest=near)]


def as_named(table: str, rows: dict[str, Row], above: dict[str, Row], faults: list[Fault]) -> list[Fault]:
    """The faults under the names of the shop's own rows: what a row of a family has from that, under the family's."""
    field = TABLES[table].together
    names = {key: str(row.fields.get(field)) for key, row in rows.items() if key not in above} if field else {}
    return [replace(fault, table=names.get(str(fault.table), fault.table)) for fault in faults]


def once_a_column(faults: list[Fault]) -> list[Fault]:
    """The faults of a table, one that its rows or points share told once: misnamed, or in a wrong unit.

    So is one of a row that stands for a whole family.
    """
    same: dict[tuple[str, str | None, str], list[Fault]] = {}
    for fault in faults:
        # Of a list each member has the same fault: `points[1].speed`, `points[2].speed` …
        column = None if fault.key is None else re.sub(r"\[\d+\]", "[]", fault.key)
        same.setdefault((fault.file, column, fault.message), []).append(fault)
    kept = []
    for (_, column, message), each in same.items():
        # Of a list's members all count; of a row that stands for a family its one line.
        listed = column is None or "[]" in column
        found = each if listed else list({fault.line: fault for fault in reversed(each)}.values())[::-1]
        if column is None or len(found) == 1:
            kept += found
            continue
        more, what = len(found) - 1, "place" if "[]" in column else "row"
        kept.append(replace(found[0], message=f"{message}, here and in {more} {what}{'s' * (more > 1)} more"))
    return kept
