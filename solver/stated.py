"""What a component has to state, and how to write what it has not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalogs import units
from catalogs.errors import UnknownInputError
from lines.plan import PointsTable

if TYPE_CHECKING:
    from lines.plan import Component


def needed(component: Component, *keys: str) -> None:
    """Raises UnknownInputError at the first of these figures that a component does not have."""
    for key in keys:
        if component.figures.get(key) is None:
            raise UnknownInputError(f"{key} of {component.name} is not known", needs=asked_for(component, key))


def asked_for(component: Component, key: str) -> str:
    """What to write for a figure of a component: its key and its table, with its choices or how its quantity reads."""
    figure = component.kind.figures[key]
    if figure.choice:
        form = " or ".join(f'"{word}"' for word in figure.choice)
    elif figure.sort == "points":
        form = PointsTable.example
    else:
        form = units.expected(figure.dimension) if figure.dimension else figure.means
    return f"{key} in [components.{component.name}]: {form}"
