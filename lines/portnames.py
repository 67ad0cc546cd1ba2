"""Do the ends of the runs name ports that exist, each once?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from catalogs import words
from catalogs.errors import Fault, nearest

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping

    from lines.plan import Component, RunTable

    Place = Callable[[tuple[int | str, ...]], dict[str, Any]]

ONE_EACH = 'one run to a port: where two lines meet, a component of kind = "tee"'


def port_faults(
    path: tuple[str, ...], ref: object, names: Collection[str], components: Mapping[str, Component], place: Place
) -> list[Fault]:
    """The fault of a text that names no port of the plan.

    Args:
        path: where the text stands.
        ref: what stands there; what is no text has its fault already.
        names: every component that the plan names.
        components: those that read well; the ports of the others are not known.
        place: file, line, table and key of a path.
    """
    if not isinstance(ref, str):
        return []
    name, dot, port = ref.partition(".")
    if not dot:
        return [_no_port(ref, names, components, place(path))]
    if name not in names:
        message = f'"{name}" is no component of this plan'
        near = _near_port(nearest(name, names), port, components)
        return [Fault(message=message, expected="component.port", nearest=near, **place(path))]
    if name not in components or port in _ports(components[name]):
        return []
    valid = _ports(components[name])
    expect = words.offer("port", port, valid) or "one of " + ", ".join(valid)
    if not valid:
        expect = f'a port declared as ports.{port} = {{ ... }} of "{name}"'
    message = f'{name} has no port "{port}"'
    near = _near_port(name, port, components)
    return [Fault(message=message, expected=expect, nearest=near, **place(path))]


def _no_port(ref: str, names: Collection[str], components: Mapping[str, Component], place: Mapping[str, Any]) -> Fault:
    name = nearest(ref, names)
    found = components.get(name) if name is not None else None
    valid = [f"{name}.{port}" for port in _ports(found)] if found is not None else []
    expect = "one of " + ", ".join(valid) if valid else "component.port"
    near = valid[0] if len(valid) == 1 else None
    return Fault(message=f'"{ref}" names no port', expected=expect, nearest=near, **place)


def _near_port(name: str | None, port: str, components: Mapping[str, Component]) -> str | None:
    if name is None or name not in components:
        return None if name is None else f"{name}.{port}"
    near = words.near("port", port, _ports(components[name]))
    return f"{name}.{near}" if near else None


def _ports(component: Component) -> list[str]:
    return [*component.kind.ports, *(p for p in component.ports if p not in component.kind.ports)]


def taken_twice(runs: Mapping[str, RunTable], place: Place) -> list[Fault]:
    """Ports that two runs take, and runs from a port to itself."""
    faults, taken = [], dict[str, str]()
    for tag, run in runs.items():
        if run.start == run.end:
            message = f'a run from "{run.start}" to itself'
            faults.append(Fault(message=message, expected="the port at its other end", **place(("runs", tag, "to"))))
            continue
        for key, ref in (("from", run.start), ("to", run.end)):
            if ref in taken:
                message = f'the port "{ref}" is already taken by run {taken[ref]}'
                faults.append(Fault(message=message, expected=ONE_EACH, **place(("runs", tag, key))))
            taken.setdefault(ref, tag)
    return faults
