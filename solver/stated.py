"""What a component has to state, and how to write what it has not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalogs import units
from catalogs.errors import UnknownInputError
from catalogs.examples import in_units
from lines.plan import example_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from catalogs.kinds import KindPath
    from lines.plan import Component


def needed(component: Component, *keys: str) -> None:
    """Raises UnknownInputError at the first of these figures that a component does not have."""
    for key in keys:
        if component.figures.get(key) is None:
            raise UnknownInputError(f"{key} of {component.name} is not known", needs=asked_for(component, key))


def figure(component: Component, key: str) -> float:
    """A figure that does not change with the duty [SI unit].

    Raises:
        UnknownInputError: it is not stated, changes with the duty, or cannot be.
    """
    needed(component, key)
    values = list(component.figures[key].values.values())
    if len(values) != 1:
        raise UnknownInputError(
            f"{key} of {component.name} changes with the duty",
            needs=f"one value of it for every duty: {asked_for(component, key)}",
        )
    number = float(values[0])
    if number < 0 or (number == 0 and key in {"bore", "cd"}):
        raise UnknownInputError(f"{key} of {component.name} cannot be {number:g}", needs=asked_for(component, key))
    return number


def by(component: Component, path: KindPath) -> set[str]:
    """The figures by which a way inside a component may resist: its points, its coefficient, or either.

    A turbocharger has two ways: its points are those of its oil, its coefficient is that of its water.
    """
    own = {"points"} if path.law == "points" else {"points", "k"}
    if path.law == "loss" and any(other.law == "points" for other in component.kind.paths):
        own = {"k"}
    return own & component.kind.figures.keys()


def how_it_resists(component: Component, path: KindPath) -> str:
    """What to write for a way inside a component that resists by its points, or by its coefficient."""
    numbers = in_units('k = 2.5 and bore = "0.315 in"', component.system)
    coefficient = f"{numbers} in [components.{component.name}], as its maker states them"
    figures = by(component, path)
    ways = [asked_for(component, "points")] if "points" in figures else []
    return ", or ".join(ways + ([coefficient] if "k" in figures else []))


def asked_in(duties: Iterable[str], key: str, dimension: str, why: str) -> str:
    """What to write for a figure of duties: its key and its tables, how it reads, and what needs it."""
    return f"{key} in {' and '.join(duties)}: {units.expected(dimension)} ({why})"


def asked_for(component: Component, key: str) -> str:
    """What to write for a figure of a component: its key and its table, with its choices or how it is written."""
    figure = component.kind.figures[key]
    if figure.choice:
        form = " or ".join(f'"{word}"' for word in figure.choice)
    elif example := example_of(figure):
        form = in_units(example, component.system)
    elif figure.sort == "curve":
        driven = any(path.law == "engine_pump" for path in component.kind.paths)
        form = f"a row of the curves table with the {'speed' if driven else 'voltage'} of each point"
    else:
        form = units.expected(figure.dimension) if figure.dimension else figure.means
    return f"{key} in [components.{component.name}]: {form}"
