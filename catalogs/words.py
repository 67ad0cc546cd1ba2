"""What the trade calls things that linewright calls by another name; only ever offered, never read for it."""

from __future__ import annotations

import functools
import re
import tomllib
from importlib import resources
from typing import TYPE_CHECKING

from catalogs.errors import nearest

if TYPE_CHECKING:
    from collections.abc import Collection


@functools.cache
def _table() -> dict[str, dict[str, list[str]]]:
    text = resources.files("catalogs").joinpath("data/words.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def of_the_trade(sort: str) -> dict[str, list[str]]:
    """The trade's words of one sort, in small letters, and what each may mean here."""
    return _table().get(sort, {})


def meant(sort: str, word: str, valid: Collection[str]) -> list[str]:
    """The valid words that a word of the trade may stand for, the likeliest first."""
    return [w for w in _known(sort, word) or [] if w in valid]


def _known(sort: str, word: str) -> list[str] | None:
    known = of_the_trade(sort)
    return known.get(word.strip().casefold()) or _run_together(sort).get(_together(word))


@functools.cache
def _run_together(sort: str) -> dict[str, list[str]]:
    return {_together(word): meant for word, meant in of_the_trade(sort).items()}


def _together(word: str) -> str:
    """A word without the spaces and dashes in it, which each writes as he likes; those between digits stand."""
    return re.sub(r"(?<=[^\W\d_])[\s_-]+(?=\w)|(?<=\d)[\s_-]+(?=[^\W\d_])", "", word.strip().casefold())


def near(sort: str, word: str, valid: Collection[str]) -> str | None:
    """The one valid word that is meant, or the one most like it; None where none or several may be.

    A word that the trade has for something else is like no other: `whp` is no slip for `hp`.
    """
    same = [w for w in valid if _together(w) == _together(word)] if sort != "unit" else []
    if len(same) == 1:
        return same[0]
    found = meant(sort, word, valid)
    if found or _known(sort, word) is not None:
        return found[0] if len(found) == 1 else None
    return nearest(word, valid, sized=sort != "unit")


def offer(sort: str, word: str, valid: Collection[str]) -> str | None:
    """The words that may be meant where there are several, as a fault says what it expected."""
    found = meant(sort, word, valid)
    return " or ".join(f'"{w}"' for w in found) if len(found) > 1 else None
