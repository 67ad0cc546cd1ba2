"""What a person may have meant by a thread or a hose that the tables do not hold by that name."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from catalogs import words
from catalogs.errors import nearest

if TYPE_CHECKING:
    from collections.abc import Iterable

    from catalogs.catalog import Catalog

_SERIES = re.compile(r"(unjf?|unf|unc|uns|un|nptf?|bspp?|in barb|barb)$")


NO_SEAT = "-"
"""A seat that the trade has and the tables have not."""


class Meant(NamedTuple):
    """The one id that is meant, or what may be."""

    near: str | None = None
    expected: str | None = None


def thread_meant(catalog: Catalog, word: str) -> Meant:
    """The threads that a name such as `AN-8`, `1/8 NPT`, `M10x1` or `-8` may stand for."""
    said = " ".join(word.casefold().split())
    if own := [key for key in catalog.ids("threads") if key.casefold() == said]:
        return Meant(near=own[0])
    seat, size = _seat_and_size(catalog, word)
    threads = [catalog.thread(key) for key in catalog.ids("threads")]
    among = [t for t in threads if seat is None or t.seat == seat]
    if seat == NO_SEAT:
        return Meant(expected=f"a thread of one of the seats {', '.join(catalog.ids('seats'))}")
    fits = [t.id for t in among if size and size in {_plain(t.id.removeprefix(t.seat)), _plain(t.thread), str(t.dash)}]
    if len(fits) == 1:
        return Meant(near=fits[0])
    if fits:
        return Meant(expected=_one_of(fits))
    return Meant(expected=_one_of([t.id for t in among])) if seat else Meant(near=nearest(word, catalog.ids("threads")))


def _seat_and_size(catalog: Catalog, word: str) -> tuple[str | None, str]:
    """The seat that a name begins or ends with, by our name or the trade's, and its size as plain text."""
    said = " ".join(word.casefold().split())
    seats = {seat: [seat] for seat in catalog.ids("seats")} | words.of_the_trade("thread")
    for name in sorted(seats, key=len, reverse=True):
        begins = re.fullmatch(rf"{re.escape(name)}(?![a-z])(.*)", said)
        ends = re.fullmatch(rf"(.*)(?<![a-z]){re.escape(name)}", said)
        if found := begins or ends:
            return next(iter(seats[name]), NO_SEAT), _plain(found[1])
    return None, _plain(said)


def _plain(size: str) -> str:
    """A size without its spaces, dashes in front, series of its thread and zeros behind the point: `m10x1`."""
    text = re.sub(r"\s", "", size.casefold()).strip("-").replace("\u00d7", "x")
    text = _SERIES.sub("", text).removeprefix("g").rstrip("-")
    return re.sub(r"(\d\.\d*?)0+$", r"\1", text).rstrip(".")


def stock_meant(catalog: Catalog, word: str) -> Meant:
    """The stock that a name such as `AN-8 PTFE` or `hardline -3` may stand for: never of another size."""
    ids = catalog.ids("stock")
    dash = re.search(r"(?<!\d)-?(\d{1,2})(?!\d)", word)
    name = re.sub(r"\b(an|jic)\b|-?\d{1,2}\b", " ", word.casefold())
    families = list(dict.fromkeys(catalog.stock(key).family for key in ids))
    among = _families(" ".join(name.split()).strip(" -"), families)
    if not among:
        return Meant(expected=_one_of([key for key in ids if dash and key.endswith(f" -{dash[1]}")]))
    sized = [f"{family} -{dash[1]}" for family in among if dash]
    fits = [key for key in sized if key in ids]
    if len(fits) == 1:
        return Meant(near=fits[0])
    if not dash and len(among) > 1:
        return Meant(expected=f"{_one_of(among)}, each with its size, like {among[0]} -8")
    return Meant(expected=_one_of(fits or [key for key in ids if key.rpartition(" -")[0] in among]))


def _families(name: str, families: list[str]) -> list[str]:
    if found := words.meant("stock", name, families):
        return found
    near = nearest(name, families)
    parts = set(re.split(r"[\s-]+", name))
    return [near] if near else [f for f in families if name and parts <= set(f.split("-"))]


def _one_of(ids: Iterable[str]) -> str | None:
    found = list(ids)
    return "one of " + ", ".join(found) if found else None
