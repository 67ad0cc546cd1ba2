"""A row of a table before its texts are read."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable

    from catalogs.records import Origin


@dataclass
class Row:
    """A row as written: its texts, where each stands, and who stated it."""

    fields: dict[str, Any]
    file: str
    line: Callable[[tuple[int | str, ...]], int | None]
    origins: dict[str, Origin] = field(default_factory=dict)
    more: list[dict[str, str]] = field(default_factory=list)
    """The further rows of a CSV that have the same id."""
