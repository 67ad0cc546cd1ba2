"""Reads a plan file: every fault together, each with its place, what was expected and the nearest valid word."""

from __future__ import annotations

import re
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import ValidationError

from catalogs import words
from catalogs.attitudes import opposed
from catalogs.catalog import Catalog
from catalogs.errors import Fault, InputError, PlanError, nearest
from catalogs.faults import dotted, faults_of
from catalogs.fields import Part
from catalogs.row import Row
from catalogs.tables import TABLES
from catalogs.tomlfile import Places, read_toml
from lines.consistency import contradictions
from lines.measured import read_points
from lines.plan import (
    Ambient,
    CircuitTable,
    Component,
    DutyTable,
    Plan,
    PlanTable,
    PortTable,
    PositionTable,
    RunTable,
    component_model,
)
from lines.references import Written, reference_faults
from lines.states import LEVEL, OTHERWISE, Attitude, AttitudeTable, ByDuty, attitude, figures_over, too_light
from lines.zones import ZoneTable

if TYPE_CHECKING:
    from catalogs.attitudes import AttitudePreset
    from catalogs.kinds import Kind

P = TypeVar("P", bound=Part)

SECTIONS = (
    "schema",
    "plan",
    "circuits",
    "duties",
    "attitudes",
    "components",
    "runs",
    "zones",
    "bodies",
    "stock",
    "curves",
)
MOST = 2_000
"""The most rows in one section of a plan."""

_A_LEAN = 'nose_up = "50 %"'
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _+-]{0,39}")


class _Reader:
    """Reads section after section and keeps the faults."""

    def __init__(self, shown: str, data: dict[str, Any], places: Places) -> None:
        self.shown, self.data, self.places = shown, data, places
        self.faults: list[Fault] = []
        self.slips: dict[str, str] = {}
        """Sections whose name is a slip, and the section that each is taken for."""
        self.unread: set[str] = set()
        """Tables of which a shop's part could not be read."""
        system = self.section("plan").get("units")
        self.context: dict[str, Any] = {
            "duties": list(self.section("duties")),
            "units": system if system in ("us", "metric") else "metric",
        }

    def fault(self, path: tuple[int | str, ...], message: str, **facts: Any) -> None:
        self.faults.append(Fault(message=message, **self.place(path), **facts))

    def place(self, path: tuple[int | str, ...]) -> dict[str, Any]:
        depth = 1 if path[0] == "plan" else 2
        return {
            "file": self.shown,
            "line": self.places.line(path),
            "table": ".".join(map(str, path[:depth])),
            "key": dotted(path[depth:]),
        }

    def names(self, section: str) -> list[str]:
        """Every name that a section holds, also under a slip of its name: what misses them there has one fault."""
        under = [section, *(slip for slip, meant in self.slips.items() if meant == section)]
        return [str(name) for key in under for name in self.section(key)]

    def section(self, name: str) -> dict[str, Any]:
        value = self.data.get(name, {})
        return value if isinstance(value, dict) else {}

    def read(self, model: type[P], raw: Any, path: tuple[str, ...]) -> P | None:
        try:
            return model.model_validate(raw, context=self.context)
        except ValidationError as error:

            def place(inner: tuple[int | str, ...]) -> dict[str, Any]:
                return self.place((*path, *inner))

            self.faults += faults_of(error, model, place, self.context["units"])
            return None

    def read_all(self, name: str, model: type[P]) -> dict[str, P]:
        rows = ((key, self.read(model, raw, (name, key))) for key, raw in self.section(name).items())
        return {key: row for key, row in rows if row is not None}


def read_plan(path: Path) -> Plan:
    """Read a plan with the shop's folder that it names.

    Args:
        path: the TOML file.

    Raises:
        PlanError: with every fault of the file.
        TableError: with every fault of the shop's tables.
    """
    shown = path.name
    try:
        data, places = read_toml(path, shown)
    except InputError as error:
        raise PlanError(error.faults) from None
    reader = _Reader(shown, data, places)
    _check_outline(reader)
    head = reader.read(PlanTable, reader.section("plan"), ("plan",)) if reader.section("plan") else None
    catalog = _catalog(reader, path.parent)
    duties = reader.read_all("duties", DutyTable)
    circuits = reader.read_all("circuits", CircuitTable)
    attitudes = _attitudes(reader, catalog)
    components = _components(reader, catalog)
    runs = {tag: _with_path(reader, path.parent, tag, run) for tag, run in reader.read_all("runs", RunTable).items()}
    zones = reader.read_all("zones", ZoneTable)
    bodies = {
        name: {key: row for key, row in positions.items() if row is not None}
        for name, positions in (
            (name, {k: reader.read(PositionTable, v, ("bodies", name, k)) for k, v in rows.items()})
            for name, rows in reader.section("bodies").items()
            if isinstance(rows, dict)
        )
    }
    names = {section: reader.names(section) for section in SECTIONS}
    written = Written(reader.data, names, catalog, frozenset(reader.unread), reader.place)
    reader.faults += reference_faults(written, components, runs)
    if reader.faults or head is None:
        raise PlanError(reader.faults)
    plan = Plan(
        file=shown,
        folder=path.parent,
        head=head,
        ambient=_ambient(head, list(duties)),
        circuits=circuits,
        duties=duties,
        attitudes=attitudes,
        components=components,
        runs=runs,
        zones=zones,
        bodies=bodies,
        catalog=catalog,
    )
    if faults := contradictions(plan, reader.place):
        raise PlanError(faults)
    return plan


def _check_outline(reader: _Reader) -> None:
    data = reader.data
    for key in data:
        if key not in SECTIONS:
            near = nearest(key, SECTIONS)
            reader.slips |= {key: near} if near and isinstance(data[key], dict) else {}
            reader.fault((key,), "is no section of a plan", nearest=near, expected="one of " + ", ".join(SECTIONS))
        elif key != "schema" and not isinstance(data[key], dict):
            reader.fault((key,), "must be a table", expected=f"[{key}]")
    if data.get("schema") != 1:
        reader.fault(("schema",), "is missing or not 1", expected="schema = 1 on the first line")
    reader.context["duties"] = reader.names("duties")
    for name in ("plan", "circuits", "duties", "components", "runs"):
        if not reader.section(name) and name not in reader.slips.values():
            reader.fault((name,), "is missing or empty", expected=f"a table [{name}] with something in it")
    for name in SECTIONS[2:]:
        _check_names(reader, name)


def _check_names(reader: _Reader, section: str) -> None:
    rows = reader.section(section)
    if len(rows) > MOST:
        reader.fault((section,), f"more than {MOST:,} rows")
    if section in {"stock", "curves"}:
        return  # ids of tables, which may hold more than a name
    for key in rows:
        if key == OTHERWISE:
            reader.fault((section, key), f'"{key}" stands for every duty that has no value of its own')
        if not _NAME.fullmatch(key):
            message = f'"{key[:40]}" is no name'
            reader.fault((section, key), message, expected="letters, digits, -, _, + and spaces")


def _inside(reader: _Reader, folder: Path, key: tuple[str, ...], named: str, what: str) -> Path | None:
    """A file or folder beside the plan; a fault if it leads elsewhere or is not there."""
    if "\0" in named:  # no name of a file; told where its text was read
        return None
    found = (folder / named).resolve()
    if not found.is_relative_to(folder.resolve()) or Path(named).is_absolute():
        reader.fault(key, f'"{named}" leads out of the plan\'s folder', expected=f"a {what} beside the plan")
    elif not (found.is_dir() if what == "folder" else found.is_file()):
        beside = [p.name for p in folder.iterdir() if p.is_dir() is (what == "folder")]
        reader.fault(key, f'there is no {what} "{named}" beside the plan', nearest=nearest(named, beside))
    else:
        return found
    return None


def _with_path(reader: _Reader, folder: Path, tag: str, run: RunTable) -> RunTable:
    """The run with the points of its own file, if it names one."""
    if not run.path:
        return run
    file = _inside(reader, folder, ("runs", tag, "path"), run.path, "file")
    if file is None:
        return run
    try:
        return run.model_copy(update={"via": tuple(read_points(file, run.path))})
    except InputError as error:
        reader.faults += error.faults
        return run


def _catalog(reader: _Reader, folder: Path) -> Catalog:
    shop = reader.section("plan").get("shop")
    catalog = Catalog()
    if isinstance(shop, str) and shop:
        found = _inside(reader, folder, ("plan", "shop"), shop, "folder")
        catalog, faults = Catalog.with_faults(found, shown=shop) if found else (catalog, [])
        reader.faults += faults
        reader.unread |= {Path(fault.file).stem for fault in faults} if found else set(TABLES)
    for table in ("stock", "curves"):
        rows = {
            key: Row(dict(raw), reader.shown, partial(_line_of, reader.places, table, key))
            for key, raw in reader.section(table).items()
            if isinstance(raw, dict)
        }
        if rows:
            try:
                catalog = catalog.with_rows(table, rows)
            except InputError as error:
                reader.faults += error.faults
                reader.unread.add(table)
    return catalog


def _line_of(places: Places, table: str, key: str, inner: tuple[int | str, ...]) -> int | None:
    return places.line((table, key, *inner))


def _attitudes(reader: _Reader, catalog: Catalog) -> dict[str, Attitude]:
    found = {LEVEL.name: LEVEL}
    for name, raw in reader.section("attitudes").items():
        home = ("attitudes", name)
        if name == LEVEL.name:
            reader.fault(home, "level is always there", expected="another name")
        elif not isinstance(raw, dict):
            reader.fault(home, "must be a table", expected=f"{name} = {AttitudeTable.example}")
        else:
            table = reader.read(AttitudeTable, raw, home)
            preset = _preset(reader, catalog, (*home, "like"), raw.get("like"))
            _look_for_duties(reader, (*home, "duties"), raw.get("duties"))
            if table is not None and (preset is not None or not table.like):
                found[name] = _attitude(reader, home, table, preset)
    return found


def _attitude(reader: _Reader, home: tuple[str, ...], table: AttitudeTable, preset: AttitudePreset | None) -> Attitude:
    for key, other in opposed(figures_over(preset, table)):
        own, theirs = (key, other) if key in table.figures else (other, key)
        message = f"stands over {theirs} of {table.like}, its opposite"
        reader.fault((*home, own), message, expected=f'{theirs}, or no like = "{table.like}"')
    here = attitude(home[-1], table, preset)
    if not here.says:
        message = "neither leans nor pushes: that is level, which is always there"
        reader.fault(home, message, expected=f"{here.name} = {AttitudeTable.example}, or figures of its own")
    if too_light(here):
        message = f"leaves {here.weight:.2f} g of gravity: where down is cannot be told"
        reader.fault(home, message, expected="an acceleration that does not take away what the slope gives")
    return here


def _preset(reader: _Reader, catalog: Catalog, path: tuple[str, ...], like: object) -> AttitudePreset | None:
    """The preset that an attitude is like; None where it says none, or one that cannot be read."""
    if not isinstance(like, str) or not like or "attitudes" in reader.unread:
        return None
    presets = catalog.ids("attitudes")
    if like in presets:
        return catalog.attitude(like)
    # A size of its own stands for none of the presets: those of its sort are named, the person chooses.
    meant = words.offer("like", like, presets) or words.offer("like", _unsized(like), presets)
    expect = (meant or "one of " + ", ".join(presets)) + f", or figures of its own in place of like, as {_A_LEAN}"
    reader.fault(path, f'"{like}" is no preset', expected=expect, nearest=words.near("like", like, presets))
    return None


def _unsized(like: str) -> str:
    return re.sub(r"[-_ ]*\d.*", "", like)


def _look_for_duties(reader: _Reader, path: tuple[str, ...], said: object) -> None:
    duties = reader.section("duties")
    for duty in said if isinstance(said, list) else ():
        if isinstance(duty, str) and duty not in duties:
            reader.fault(path, f'"{duty}" is no duty of this plan', nearest=nearest(duty, duties))


def _components(reader: _Reader, catalog: Catalog) -> dict[str, Component]:
    found: dict[str, Component] = {}
    models: dict[str, type[Part]] = {}
    kinds = catalog.ids("kinds")
    for name, raw in reader.section("components").items():
        kind_id = raw.get("kind") if isinstance(raw, dict) else None
        if not isinstance(raw, dict):
            reader.fault(("components", name), "must be a table", expected=f"[components.{name}] and its kind under it")
        elif kind_id not in kinds:
            message = "kind is missing" if kind_id is None else f'"{kind_id}" is no kind of component'
            likely = words.offer("kind", str(kind_id), kinds)
            expect = likely or "a kind of component, like tank, pump, filter, rail or regulator"
            near = words.near("kind", str(kind_id), kinds)
            reader.fault(("components", name, "kind"), message, expected=expect, nearest=near)
        else:
            kind = catalog.kind(kind_id)
            if kind_id not in models:
                models[kind_id] = component_model(kind)
            component = _component(reader, name, raw, kind, models[kind_id])
            found |= {name: component} if component is not None else {}
    return found


def _component(reader: _Reader, name: str, raw: dict[str, Any], kind: Kind, model: type[Part]) -> Component | None:
    for port in [key for key in raw if key in kind.ports and key not in kind.figures]:
        message = "is a port, which stands under ports"
        reader.fault(("components", name, port), message, expected=f"ports.{port} = {PortTable.example}")
        raw = {key: value for key, value in raw.items() if key != port}
    table = reader.read(model, raw, ("components", name))
    if table is None:
        return None
    values = {key: getattr(table, key) for key in kind.figures}
    for key, figure in kind.figures.items():
        if values[key] is None and figure.default is not None:
            values[key] = getattr(reader.read(model, raw | {key: figure.default}, ("components", name)), key)
    ports = table.ports  # type: ignore[attr-defined]
    for port in ports:
        if port not in kind.ports and not kind.free_ports:
            near = words.near("port", port, kind.ports)
            expect = "one of " + ", ".join(kind.ports)
            reader.fault(
                ("components", name, "ports", port),
                f"a {kind.id} has no such port",
                expected=expect,
                nearest=near,
            )
    stated = frozenset(raw) & frozenset(kind.figures)
    return Component(name, kind, ports, values, stated, table.on, reader.context["units"])  # type: ignore[attr-defined]


def _ambient(head: PlanTable, duties: list[str]) -> Ambient:
    """Pressure by altitude is that of the standard atmosphere, ISO 2533."""
    from fluids import ATMOSPHERE_1976

    def over(values: ByDuty[float]) -> dict[str, float]:
        return dict(zip(duties, values.over(duties), strict=True))

    altitude = over(head.ambient.altitude)
    return Ambient(over(head.ambient.temperature), {d: float(ATMOSPHERE_1976(z).P) for d, z in altitude.items()})
