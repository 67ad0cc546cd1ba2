"""All tables together, with a shop's folder laid over them."""

from __future__ import annotations

import functools
from importlib import resources
from typing import TYPE_CHECKING, cast

from catalogs.attitudes import AttitudePreset
from catalogs.errors import Fault, TableError, nearest
from catalogs.fluids import Fluid
from catalogs.kinds import Kind
from catalogs.materials import Charging, Material
from catalogs.overlay import as_named, lay_over, once_a_column
from catalogs.records import (
    Adapter,
    Caution,
    HoseEnd,
    Limit,
    Loss,
    Mixup,
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
from catalogs.tables import TABLES, read_row, read_table

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


WORKBOOKS = {".xlsx", ".xls", ".ods"}


def _unread(name: str) -> list[Fault]:
    message = "a workbook of a spreadsheet, which is not read"
    return [Fault(file=name, message=message, expected="the sheet saved as CSV, in UTF-8")]


@functools.cache
def _our_rows(table: str) -> dict[str, Row]:
    folder = resources.files("catalogs").joinpath("data")
    for suffix in (".toml", ".csv"):
        file = folder.joinpath(table + suffix)
        if file.is_file():
            with resources.as_file(file) as path:
                return read_table(path, f"catalogs/{table}{suffix}")
    raise FileNotFoundError(table)


class Catalog:
    """The tables. A row is read when it is first asked for; a shop's rows are read at once."""

    def __init__(self, shop: Path | None = None, *, shown: str = "shop") -> None:
        self._over: dict[str, dict[str, Row]] = {}
        self._read: dict[tuple[str, str], Record] = {}
        if shop is not None and (faults := self._lay_over(shop, shown)):
            raise TableError(faults)

    @classmethod
    def with_faults(cls, shop: Path, *, shown: str) -> tuple[Catalog, list[Fault]]:
        """The tables with what can be read of a shop's folder, and the faults of the rest."""
        catalog = cls()
        return catalog, catalog._lay_over(shop, shown)

    def _lay_over(self, shop: Path, shown: str) -> list[Fault]:
        if not shop.is_dir():
            return [Fault(file=shown, message="there is no such folder")]
        faults: list[Fault] = []
        for path in sorted(p for p in shop.iterdir() if p.suffix.lower() in {".toml", ".csv", *WORKBOOKS}):
            name = f"{shown}/{path.name}"
            if path.suffix.lower() in WORKBOOKS:
                faults += _unread(name) if path.stem in TABLES else []
            elif path.stem not in TABLES or path.stem == "kinds":
                valid = [t for t in TABLES if t != "kinds"]
                near = nearest(path.stem, valid)
                faults.append(Fault(file=name, message="is no table", expected=", ".join(valid), nearest=near))
            elif not path.resolve().is_relative_to(shop.resolve()):
                faults.append(Fault(file=name, message="leads out of the shop's folder", expected="a file in it"))
            else:
                try:
                    self._add(path.stem, read_table(path, name))
                except TableError as error:
                    faults += error.faults
        return faults

    def _add(self, table: str, rows: dict[str, Row]) -> None:
        below = self._rows(table)
        self._over[table], faults = lay_over(table, below, rows)
        for key in (key for key, row in self._over[table].items() if row is not below.get(key)):
            self._read.pop((table, key), None)
            try:
                self.get(table, key)
            except TableError as error:
                faults += error.faults
        if faults:
            raise TableError(once_a_column(as_named(table, self._over[table], rows, faults)))

    def with_rows(self, table: str, rows: dict[str, Row]) -> Catalog:
        """The same catalog with rows that stand in the plan itself.

        Raises:
            TableError: with every fault of those rows.
        """
        other = Catalog()
        other._over = dict(self._over)
        other._add(table, rows)
        return other

    def _rows(self, table: str) -> dict[str, Row]:
        return self._over.get(table) or _our_rows(table)

    def ids(self, table: str) -> list[str]:
        """Every id of a table."""
        return list(self._rows(table))

    def get(self, table: str, key: str) -> Record:
        """One record.

        Raises:
            KeyError: no such id.
            TableError: its row cannot be read.
        """
        if (table, key) not in self._read:
            self._read[table, key] = read_row(key, self._rows(table)[key], TABLES[table])
        return self._read[table, key]

    def all(self, table: str) -> Iterator[Record]:
        """Every record of a table."""
        return (self.get(table, key) for key in self.ids(table))

    def fluid(self, key: str) -> Fluid:
        return cast("Fluid", self.get("fluids", key))

    def stock(self, key: str) -> Stock:
        return cast("Stock", self.get("stock", key))

    def end(self, key: str) -> HoseEnd:
        return cast("HoseEnd", self.get("ends", key))

    def thread(self, key: str) -> Thread:
        return cast("Thread", self.get("threads", key))

    def seat(self, key: str) -> Seat:
        return cast("Seat", self.get("seats", key))

    def curve(self, key: str) -> PumpCurve:
        return cast("PumpCurve", self.get("curves", key))

    def loss(self, key: str) -> Loss:
        return cast("Loss", self.get("losses", key))

    def limit(self, key: str) -> Limit:
        return cast("Limit", self.get("limits", key))

    def kind(self, key: str) -> Kind:
        return cast("Kind", self.get("kinds", key))

    def attitude(self, key: str) -> AttitudePreset:
        return cast("AttitudePreset", self.get("attitudes", key))

    def material(self, key: str) -> Material:
        return cast("Material", self.get("materials", key))

    def seal(self, key: str) -> Seal:
        return cast("Seal", self.get("seals", key))

    def mixups(self) -> list[Mixup]:
        return [cast("Mixup", record) for record in self.all("mixups")]

    def supports(self) -> list[Support]:
        return [cast("Support", record) for record in self.all("supports")]

    def tolerances(self, of: str, length: float | None = None) -> list[Tolerance]:
        """The tolerances of something, the one to keep first; with a length [m], those that hold for it."""
        found = (cast("Tolerance", record) for record in self.all("tolerances"))
        return [row for row in found if row.of == of and (length is None or row.holds(length))]

    def cautions(self) -> list[Caution]:
        return [cast("Caution", record) for record in self.all("cautions")]

    def materials(self, *sorts: str) -> list[str]:
        """What liners, seals and metals are called: of all sorts, or of these only."""
        rows = (row.fields for row in self._rows("materials").values())
        return list(dict.fromkeys(str(f.get("material")) for f in rows if not sorts or f.get("sort") in sorts))

    def material_in(self, material: str, family: str, use: str = "") -> Material | None:
        """What a material thinks of a family of fluids in one use of it; None where no row speaks of it."""
        known = self._rows("materials")
        keys = (f"{material}/{family}/{use}", f"{material}/{family}")
        return next((self.material(key) for key in keys if key in known), None)

    def rulebooks(self) -> list[str]:
        """The names of the rulebooks."""
        return list(dict.fromkeys(clause.rulebook for clause in self.clauses()))

    def clauses(self) -> list[Clause]:
        return [cast("Clause", record) for record in self.all("rules")]

    def charging(self, family: str) -> Charging | None:
        """What a family of fluids does in plastic that does not conduct; None where no row speaks of it."""
        known = self._rows("static")
        return cast("Charging", self.get("static", family)) if family in known else None

    def ends_of(self, stock: str) -> list[HoseEnd]:
        """The ends that fit a stock, the straightest first."""
        keys = [k for k, row in self._rows("ends").items() if row.fields.get("fits") == stock]
        return sorted((self.end(k) for k in keys), key=lambda e: e.angle)

    def adapters_to(self, port: str, offers: str) -> list[Adapter]:
        """The adapters that go into such a port and offer such a thread."""
        rows = self._rows("adapters").items()
        keys = [k for k, r in rows if r.fields.get("port") == port and r.fields.get("offers") == offers]
        return [cast("Adapter", self.get("adapters", k)) for k in keys]
