"""Points of a run that were measured into a CSV of their own: columns id, x, y and z, with a row of units."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import ValidationError

from catalogs.errors import Fault, TableError
from catalogs.faults import dotted, faults_of
from catalogs.fields import Length, Part
from catalogs.tables import read_table

if TYPE_CHECKING:
    from pathlib import Path


class PointRow(Part):
    """One measured point."""

    x: Length
    y: Length
    z: Length


def read_points(path: Path, shown: str) -> list[tuple[float, float, float]]:
    """The points of a file in its order [m].

    Raises:
        TableError: with every fault of the file.
    """
    points, faults = [], []
    for name, row in read_table(path, shown).items():
        if row.more:
            message = f'the id "{name}" stands in {len(row.more) + 1} rows'
            line_of_second = row.line(("points", 1))
            faults.append(Fault(file=shown, line=line_of_second, table=name, message=message, expected="each id once"))

        def place(inner: tuple[int | str, ...], line: int | None = row.line(()), name: str = name) -> dict[str, object]:
            return {"file": shown, "line": line, "table": name, "key": dotted(inner)}

        try:
            point = PointRow.model_validate(row.fields)
        except ValidationError as error:
            faults += faults_of(error, PointRow, place)
        else:
            points.append((point.x, point.y, point.z))
    if not points and not faults:
        faults.append(Fault(file=shown, message="holds no points"))
    if faults:
        raise TableError(faults)
    return points
