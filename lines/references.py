"""Do the names that a plan uses belong to things that exist? Works on the plan as written, so that one bad
figure does not hide a misspelt name.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from catalogs import words
from catalogs.errors import Fault, nearest
from lines.ends import matching_ends
from lines.naming import Meant, stock_meant, thread_meant
from lines.portnames import port_faults, taken_twice

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from catalogs.catalog import Catalog
    from lines.plan import Component, RunTable
    from lines.portnames import Place

MOST_SHOWN = 12
"""A fault lists the valid names if there are no more."""


@dataclass(frozen=True)
class Written:
    """A plan as written, with what is known to exist."""

    data: Mapping[str, Any]
    names: Mapping[str, list[str]]
    """Every name of each section, those of a section whose own name is a slip among them."""
    catalog: Catalog
    unread: frozenset[str]
    """Tables of which a shop's part could not be read: a name may stand there."""
    place: Place


def reference_faults(
    written: Written, components: Mapping[str, Component], runs: Mapping[str, RunTable]
) -> list[Fault]:
    """Every name in the plan that names nothing, and every port used twice."""
    names = _Names(written)
    _look_in_head(names, written)
    for name, raw in _tables(written.data, "circuits"):
        _look_in_circuit(names, name, raw)
    for name, raw in _tables(written.data, "zones"):
        for i, tag in enumerate(raw.get("apart_from") or ()):
            names.look(("zones", name, "apart_from", i), tag, written.names["runs"], "run of this plan")
    for component in components.values():
        _look_in_component(names, component, components)
    for name, raw in _tables(written.data, "components"):
        _look_in_ports(names, name, raw)
    for tag, raw in _tables(written.data, "runs"):
        _look_in_run(names, tag, raw, components)
    return names.faults + taken_twice(runs, written.place) + _old_names(runs, written.place)


@dataclass
class _Names:
    """Looks names up and keeps the faults."""

    written: Written
    faults: list[Fault] = field(default_factory=list)

    def look(self, path: tuple[int | str, ...], word: object, valid: list[str], what: str, sort: str = "") -> None:
        """Is it one of the valid names? `sort` is that of the trade's words."""
        if isinstance(word, str) and word not in valid:
            some = ", ".join(valid[:: max(1, len(valid) // 5)])
            few = "one of " + ", ".join(valid) if valid else f"a {what}, and there is none"
            expect = words.offer(sort, word, valid) or (
                few if len(valid) <= MOST_SHOWN else f"a {what} that the tables hold, like {some}"
            )
            self.add(path, f'"{word}" is no {what}', expect, words.near(sort, word, valid))

    def look_up(
        self,
        path: tuple[int | str, ...],
        word: object,
        table: str,
        what: str,
        meant: Callable[[Catalog, str], Meant] | None = None,
    ) -> None:
        """Is it an id of the table?"""
        valid = self.written.catalog.ids(table)
        if table in self.written.unread or not isinstance(word, str) or word in valid:
            return
        found = meant(self.written.catalog, word) if meant else Meant()
        if found.near or found.expected:
            self.add(path, f'"{word}" is no {what}', found.expected, found.near)
        else:
            self.look(path, word, valid, what, what)

    def add(self, path: tuple[int | str, ...], message: str, expect: str | None, near: str | None) -> None:
        self.faults.append(Fault(message=message, expected=expect, nearest=near, **self.written.place(path)))


def _look_in_head(names: _Names, written: Written) -> None:
    head = written.data.get("plan")
    books = head.get("rulebooks") if isinstance(head, dict) else None
    if isinstance(books, list) and "rules" not in written.unread:
        for i, book in enumerate(books):
            names.look(("plan", "rulebooks", i), book, written.catalog.rulebooks(), "rulebook of the rules table")


def _look_in_circuit(names: _Names, name: str, raw: Mapping[str, Any]) -> None:
    names.look_up(("circuits", name, "fluid"), raw.get("fluid"), "fluids", "fluid")
    reference = raw.get("reference")
    if isinstance(reference, dict):
        own = [run for _, run in _tables(names.written.data, "runs") if run.get("circuit") == name]
        ports = [str(run[key]) for run in own for key in ("from", "to") if key in run]
        path = ("circuits", name, "reference", "port")
        names.look(path, reference.get("port"), ports, f"port on a run of {name}")
    valid = names.written.catalog.materials("rubber", "plastic")
    names.look(("circuits", name, "seals"), raw.get("seals") or None, valid, "rubber or plastic", "material")


def _look_in_component(names: _Names, component: Component, components: Mapping[str, Component]) -> None:
    home, written = ("components", component.name), names.written
    for key, figure in component.kind.figures.items():
        value = component.figures[key]
        if figure.sort == "curve" and value is not None:
            names.look_up((*home, key), value, "curves", "pump curve")
        if figure.sort == "points" and value is not None:
            names.look_up((*home, key, "fluid"), value.fluid, "fluids", "fluid")
        if figure.sort == "port" and value is not None:
            names.faults += port_faults((*home, key), value, written.names["components"], components, written.place)
    if component.on:
        names.look((*home, "on"), component.on, written.names["bodies"], "body of this plan")


def _look_in_ports(names: _Names, name: str, raw: Mapping[str, Any]) -> None:
    """The ports as written, so that another fault of their component hides none of theirs."""
    metals = names.written.catalog.materials("metal")
    ports = raw.get("ports")
    for port, table in ports.items() if isinstance(ports, dict) else ():
        if isinstance(table, dict):
            path = ("components", name, "ports", port)
            names.look_up((*path, "thread"), table.get("thread") or None, "threads", "thread", thread_meant)
            names.look((*path, "made_of"), table.get("made_of") or None, metals, "metal", "material")


def _look_in_run(names: _Names, tag: str, raw: Mapping[str, Any], components: Mapping[str, Component]) -> None:
    written = names.written
    names.look(("runs", tag, "circuit"), raw.get("circuit"), written.names["circuits"], "circuit of this plan")
    names.look_up(("runs", tag, "stock"), raw.get("stock"), "stock", "stock", stock_meant)
    names.faults += _end_faults(tag, raw, written)
    for key in ("from", "to"):
        path = ("runs", tag, key)
        names.faults += port_faults(path, raw.get(key), written.names["components"], components, written.place)
    positions = _positions(raw, written.data)
    for name in raw.get("chords") or {} if positions and isinstance(raw.get("chords"), dict) else ():
        names.look(("runs", tag, "chords", name), name, positions, "position of a body at its ends", "position")


def _positions(raw: Mapping[str, Any], data: Mapping[str, Any]) -> list[str]:
    """The positions of the bodies that a run's two ends stand on; none where neither stands on one."""
    components, bodies = dict(_tables(data, "components")), dict(_tables(data, "bodies"))
    ends = (components.get(str(raw.get(key)).partition(".")[0], {}) for key in ("from", "to"))
    found = (bodies.get(str(end.get("on")), {}) for end in ends)
    return list(dict.fromkeys(str(position) for body in found for position in body))


def _tables(data: Mapping[str, Any], section: str) -> Iterator[tuple[str, dict[str, Any]]]:
    rows = data.get(section, {})
    if isinstance(rows, dict):
        yield from ((key, raw) for key, raw in rows.items() if isinstance(raw, dict))


def _end_faults(tag: str, raw: Mapping[str, Any], written: Written) -> list[Fault]:
    stock, said = raw.get("stock"), raw.get("ends")
    if stock not in written.catalog.ids("stock") or not isinstance(said, list) or "ends" in written.unread:
        return []
    ends = written.catalog.ends_of(stock)
    valid = list(dict.fromkeys("straight" if e.straight else f"{math.degrees(e.angle):g} deg" for e in ends))
    others = [end.id for end in ends if end.id not in {f"{stock} {angle}" for angle in valid}]
    return [
        Fault(
            message=f'"{word}" is no end of {stock}',
            expected="one of " + ", ".join(["auto", *valid, *others]),
            nearest=_near_end(word, ["auto", *valid], [end.id for end in ends]),
            **written.place(("runs", tag, "ends")),
        )
        for word in said
        if isinstance(word, str) and word != "auto" and not matching_ends(written.catalog, stock, word)
    ]


def _near_end(word: str, angles: list[str], ids: list[str]) -> str | None:
    bare = f"{word.strip().rstrip('°')} deg"
    return bare if bare in angles else nearest(word, [*angles, *ids])


def _old_names(runs: Mapping[str, RunTable], place: Place) -> list[Fault]:
    """A run's earlier name stands in the ids of its findings, so no other run may have it."""
    seen = {tag: tag for tag in runs}
    faults = []
    for tag, run in runs.items():
        if run.was and seen.setdefault(run.was, tag) != tag:
            message = f'"{run.was}" is the name of run {seen[run.was]}'
            faults.append(Fault(message=message, expected="a name that no run has now", **place(("runs", tag, "was"))))
    return faults
