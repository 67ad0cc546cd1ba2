"""Do the names that a plan uses belong to things that exist? Works on the plan as written, so that one bad
figure does not hide a misspelt name.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from catalogs.errors import Fault, nearest
from lines.ends import matching_ends

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from catalogs.catalog import Catalog
    from lines.plan import Component, RunTable

MOST_SHOWN = 12
"""A fault lists the valid names if there are no more."""


def reference_faults(
    data: Mapping[str, Any],
    catalog: Catalog,
    place: Callable[[tuple[int | str, ...]], dict[str, Any]],
    components: Mapping[str, Component],
    runs: Mapping[str, RunTable],
) -> list[Fault]:
    """Every name in the plan that names nothing, and every port used twice."""
    names = _Names(place)
    for name, raw in _tables(data, "circuits"):
        names.look(("circuits", name, "fluid"), raw.get("fluid"), catalog.ids("fluids"), "fluid")
        reference = raw.get("reference")
        if isinstance(reference, dict):
            own = [run for run in runs.values() if run.circuit == name]
            ports = [ref for run in own for ref in (run.start, run.end)]
            names.look(
                ("circuits", name, "reference", "port"), reference.get("port"), ports, f"port on a run of {name}"
            )
        names.look(("circuits", name, "seals"), raw.get("seals") or None, catalog.materials(), "material")
    for name, raw in _tables(data, "zones"):
        for i, tag in enumerate(raw.get("apart_from") or ()):
            names.look(("zones", name, "apart_from", i), tag, list(runs), "run of this plan")
    for component in components.values():
        _look_in_component(names, component, catalog, list(data.get("bodies", {})))
    circuits = [str(k) for k in data.get("circuits", {})]
    for tag, raw in _tables(data, "runs"):
        names.look(("runs", tag, "circuit"), raw.get("circuit"), circuits, "circuit of this plan")
        names.look(("runs", tag, "stock"), raw.get("stock"), catalog.ids("stock"), "stock")
        names.faults += _end_faults(tag, raw, catalog, place)
        for key in ("from", "to"):
            names.faults += _port_faults(("runs", tag, key), raw.get(key), data, components, place)
    return names.faults + _taken_twice(runs, place) + _old_names(runs, place)


class _Names:
    """Looks names up and keeps the faults."""

    def __init__(self, place: Callable[[tuple[int | str, ...]], dict[str, Any]]) -> None:
        self.place = place
        self.faults: list[Fault] = []

    def look(self, path: tuple[int | str, ...], word: object, valid: list[str], what: str) -> None:
        if isinstance(word, str) and word not in valid:
            few = len(valid) <= MOST_SHOWN
            some = ", ".join(valid[:: max(1, len(valid) // 5)])
            expect = "one of " + ", ".join(valid) if few else f"a {what} that the tables hold, like {some}"
            near = nearest(word, valid)
            self.faults.append(
                Fault(message=f'"{word}" is no {what}', expected=expect, nearest=near, **self.place(path))
            )


def _look_in_component(names: _Names, component: Component, catalog: Catalog, bodies: list[str]) -> None:
    home = ("components", component.name)
    for key, figure in component.kind.figures.items():
        value = component.figures[key]
        if figure.sort == "curve" and value is not None:
            names.look((*home, key), value, catalog.ids("curves"), "pump curve")
        if figure.sort == "points" and value is not None:
            names.look((*home, key, "fluid"), value.fluid, catalog.ids("fluids"), "fluid")
    if component.on:
        names.look((*home, "on"), component.on, bodies, "body of this plan")
    for port, table in component.ports.items():
        if table.thread:
            names.look((*home, "ports", port, "thread"), table.thread, catalog.ids("threads"), "thread")
        if table.made_of:
            names.look((*home, "ports", port, "made_of"), table.made_of, catalog.materials(), "material")


def _tables(data: Mapping[str, Any], section: str) -> Iterator[tuple[str, dict[str, Any]]]:
    rows = data.get(section, {})
    if isinstance(rows, dict):
        yield from ((key, raw) for key, raw in rows.items() if isinstance(raw, dict))


def _end_faults(
    tag: str,
    raw: Mapping[str, Any],
    catalog: Catalog,
    place: Callable[[tuple[int | str, ...]], dict[str, Any]],
) -> list[Fault]:
    stock, words = raw.get("stock"), raw.get("ends")
    if stock not in catalog.ids("stock") or not isinstance(words, list):
        return []
    ends = catalog.ends_of(stock)
    valid = [
        "auto",
        *dict.fromkeys("straight" if e.angle < 1e-6 else f"{math.degrees(e.angle):g} deg" for e in ends),
    ]
    return [
        Fault(
            message=f'"{word}" is no end of {stock}',
            expected=", ".join(valid) + ", or an id of the ends table",
            nearest=nearest(word, [*valid, *(e.id for e in ends)]),
            **place(("runs", tag, "ends")),
        )
        for word in words
        if isinstance(word, str) and word != "auto" and not matching_ends(catalog, stock, word)
    ]


def _port_faults(
    path: tuple[str, ...],
    ref: object,
    data: Mapping[str, Any],
    components: Mapping[str, Component],
    place: Callable[[tuple[int | str, ...]], dict[str, Any]],
) -> list[Fault]:
    if not isinstance(ref, str):
        return []
    name, dot, port = ref.partition(".")
    names = [str(k) for k in data.get("components", {})]
    if not dot or name not in names:
        message = f'"{name}" is no component of this plan' if dot else f'"{ref}" names no port'
        near = nearest(name, names)
        return [
            Fault(
                message=message,
                expected="component.port",
                nearest=f"{near}.{port}" if near and dot else near,
                **place(path),
            )
        ]
    if name not in components:
        return []
    component = components[name]
    valid = [*component.kind.ports, *(p for p in component.ports if p not in component.kind.ports)]
    if port in valid:
        return []
    message = f'{name} has no port "{port}"'
    expect = "one of " + ", ".join(valid) if valid else f'a port declared as ports.{port} = {{ ... }} of "{name}"'
    near = nearest(port, valid)
    return [Fault(message=message, expected=expect, nearest=f"{name}.{near}" if near else None, **place(path))]


def _old_names(runs: Mapping[str, RunTable], place: Callable[[tuple[int | str, ...]], dict[str, Any]]) -> list[Fault]:
    """A run's earlier name stands in the ids of its findings, so no other run may have it."""
    seen = {tag: tag for tag in runs}
    faults = []
    for tag, run in runs.items():
        if run.was and seen.setdefault(run.was, tag) != tag:
            message = f'"{run.was}" is the name of run {seen[run.was]}'
            faults.append(Fault(message=message, expected="a name that no run has now", **place(("runs", tag, "was"))))
    return faults


def _taken_twice(runs: Mapping[str, RunTable], place: Callable[[tuple[int | str, ...]], dict[str, Any]]) -> list[Fault]:
    faults, taken = [], dict[str, str]()
    for tag, run in runs.items():
        for key, ref in (("from", run.start), ("to", run.end)):
            if ref in taken:
                message = f'the port "{ref}" is already taken by run {taken[ref]}'
                faults.append(Fault(message=message, expected="one run to a port", **place(("runs", tag, key))))
            taken.setdefault(ref, tag)
    return faults
