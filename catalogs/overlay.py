"""A shop's rows laid over ours."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import Any

from catalogs.errors import Fault, TableError, nearest
from catalogs.faroff import far_off
from catalogs.grades import Grade
from catalogs.records import Origin
from catalogs.row import Row
from catalogs.tables import TABLES, folded, no_grade


def lay_over(table: str, below: dict[str, Row], above: dict[str, Row]) -> tuple[dict[str, Row], list[Fault]]:
    """A shop's rows over ours: the same id overrides what it states, a new one says `like` or gives all.

    Returns:
        the rows, and the faults of those that could not be laid over.
    """
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
    fields, faults = folded(key, row, TABLES[table])
    if faults:
        raise TableError(faults)
    ours = base = rows.get(key)
    if "like" in fields:
        like = str(fields.pop("like"))
        base = rows.get(like) if like != key else None
        if base is None:
            near = nearest(like, [k for k in rows if k != key])
            message = f'"{like}" is no other row of {table}'
            line = row.line(("like",))
            raise TableError([Fault(file=row.file, line=line, table=key, key="like", message=message, nearest=near)])
    if base is None:
        if fault := _lacking(table, key, fields, row, rows):
            raise TableError([fault])
        return Row(fields, row.file, row.line, row.origins)
    if faults := _unstated(key, row, fields) + far_off(TABLES[table], key, row, fields, base, ours):
        raise TableError(faults)
    grade, source = fields.pop("grade"), fields.pop("source")
    origins = base.origins | dict.fromkeys(fields, Origin(Grade(grade), str(source))) | row.origins
    return Row(folded(key, base, TABLES[table])[0] | fields, row.file, row.line, origins)


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


def _lacking(table: str, key: str, fields: dict[str, Any], row: Row, rows: dict[str, Row]) -> Fault | None:
    """The one fault of a new row that lacks figures, or whose id is a slip."""
    dotted_ids = [f"{key}.{part}" for part in fields if f"{key}.{part}" in rows]
    if dotted_ids:
        message, expect = "an id with a dot in it stands in quotes", f'["{dotted_ids[0]}"]'
        line = row.line((dotted_ids[0].removeprefix(f"{key}."),))
        return Fault(file=row.file, line=line, table=key, message=message, expected=expect)
    needed = [f.alias or n for n, f in TABLES[table].model_fields.items() if f.is_required() and n != "id"]
    lacks = [name for name in needed if name not in fields]
    if not lacks:
        return None
    message = f'"{key}" is no row of {table} yet, and as a new one it lacks {", ".join(lacks)}'
    expect = "all of them, or like = the id of a row that gives what this one does not state"
    near = nearest(key, rows)
    return Fault(file=row.file, line=row.line(()), table=key, message=message, expected=expect, nearest=near)


def once_a_column(faults: list[Fault]) -> list[Fault]:
    """The faults of a table, one that its rows share told once: a column misnamed, or in a wrong unit."""
    rows = Counter((f.file, f.key, f.message) for f in faults)
    seen: set[tuple[str, str | None, str]] = set()
    kept = []
    for fault in faults:
        same = (fault.file, fault.key, fault.message)
        if fault.key is None or rows[same] == 1:
            kept.append(fault)
        elif same not in seen:
            seen.add(same)
            more = rows[same] - 1
            shared = f"{fault.message}, here and in {more} row{'s' * (more > 1)} more"
            kept.append(replace(fault, message=shared))
    return kept
