"""What meets at a port: two seats and their threads, the adapter between them, and the parts that seal them."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from catalogs.catalog import Catalog
    from catalogs.records import Adapter, Mixup, Thread
    from lines.plan import Plan, PortTable

Seals = tuple[tuple[str, int], ...]

_COUNTED = re.compile(r"(\d+) +(\D.*)")
_BEST_FIRST = ("good", "caution", "", "no")
"""Verdicts on a metal in a fluid; empty where no row speaks of it."""
_CLASS = re.compile(r"\s*\bun[a-z]*$")


@dataclass(frozen=True)
class Joint:
    """What meets at one end of a run."""

    port: str
    """`component.port`."""
    port_thread: Thread | None
    end_thread: Thread | None
    adapter: Adapter | None
    fits: bool | None
    """None: not known, because the port's thread or the end is not."""
    clash: str = ""
    """Why the two do not belong together; empty if they do, if an adapter joins them, or if it is not known."""
    seals: Seals = ()
    """What it takes, both sides of an adapter: an id of the seals table, or the words of the thread, and how many."""
    mixups: tuple[Mixup, ...] = ()
    """The rows of the mix-ups table that speak of the two; of an adapter's, where they start without it."""


def joint(
    catalog: Catalog, port: str, table: PortTable, end_thread: str | None, *, attaches: str = "", family: str = ""
) -> Joint:
    """The joint of a port and a hose end.

    Args:
        catalog: the tables.
        port: `component.port`.
        table: what the plan says of the port.
        end_thread: what the hose end goes onto, an id of the threads table; None where no end was chosen.
        attaches: how the end holds its hose: one that is pushed on takes no clamp.
        family: of the fluid in it: of several adapters, one whose metal stands it goes before a wider one.
    """
    port_thread = catalog.thread(table.thread) if table.thread else None
    end = catalog.thread(end_thread) if end_thread else None
    if port_thread is None or end is None:
        return Joint(port, port_thread, end, None, None)
    if belong(catalog, port_thread, end):
        seals = _parts(catalog, port_thread.ring, attaches)
        rows = tuple(row for row in _mixups(catalog, port_thread, end) if row.a == row.b)
        return Joint(port, port_thread, end, None, fits=True, seals=seals, mixups=rows)
    adapters = catalog.adapters_to(port_thread.id, end.id)
    if adapters:
        adapter = min(adapters, key=lambda a: (_metal_in(catalog, a, family), -a.bore))
        needs = adapter.needs or port_thread.ring
        # Where an adapter goes into a tapped face, no hollow bolt does.
        parts = [part for part in _parts(catalog, needs, attaches) if not _is_bolt(catalog, part[0])]
        seals = (*parts, *_parts(catalog, end.ring, attaches))
        return Joint(
            port, port_thread, end, adapter, fits=True, seals=_summed(seals), mixups=_bare(catalog, port_thread, end)
        )
    rows = tuple(row for row in _mixups(catalog, port_thread, end) if row.a != row.b)
    return Joint(port, port_thread, end, None, fits=False, clash=_clash(catalog, port_thread, end, rows), mixups=rows)


def family_at(plan: Plan, port: str) -> str:
    """The family of the fluid at a port, by the run that goes to it; empty where none does."""
    runs = (run for run in plan.runs.values() if port in {run.start, run.end})
    return next((plan.catalog.fluid(plan.circuits[run.circuit].fluid).family for run in runs), "")


def _metal_in(catalog: Catalog, adapter: Adapter, family: str) -> int:
    """How well an adapter's metal stands a fluid, the best as 0; all alike where the fluid is not known."""
    row = catalog.material_in(adapter.made_of, family, "fitting") if family else None
    return _BEST_FIRST.index(row.verdict if row is not None else "")


def _is_bolt(catalog: Catalog, name: str) -> bool:
    return name in set(catalog.ids("seals")) and catalog.seal(name).sort == "bolt"


def belong(catalog: Catalog, one: Thread, other: Thread) -> bool:
    """Do the two go on each other? Each seat names the other among its mates, and thread and size agree."""
    seats = catalog.seat(one.seat), catalog.seat(other.seat)
    if other.seat not in seats[0].mates or one.seat not in seats[1].mates:
        return False
    return plain(one.thread) == plain(other.thread) and _one_size(one, other)


def _bare(catalog: Catalog, port: Thread, end: Thread) -> tuple[Mixup, ...]:
    """What the tables say of an end that starts on a port without the adapter between: one nut, another cone."""
    alike = catalog.seat(port.seat).male and catalog.seat(end.seat).male and plain(port.thread) == plain(end.thread)
    return tuple(row for row in _mixups(catalog, port, end) if _about_seats(row, port, end)) if alike else ()


def _one_size(one: Thread, other: Thread) -> bool:
    if one.tube is not None and other.tube is not None:
        # 3/16 in and 4.75 mm are one tube, 4.75 and 5 mm are two.
        return math.isclose(one.tube, other.tube, rel_tol=0.02)
    return None in {one.dash, other.dash} or one.dash == other.dash


def best_threads(catalog: Catalog, table: PortTable, threads: Iterable[str]) -> list[str]:
    """Those of the offered threads that serve a port best: that go straight on, else by an adapter, else all."""
    offered = list(dict.fromkeys(threads))
    if not table.thread:
        return offered
    port = catalog.thread(table.thread)
    direct = [key for key in offered if belong(catalog, port, catalog.thread(key))]
    return direct or [key for key in offered if catalog.adapters_to(port.id, key)] or offered


def plain(thread: str) -> str:
    """A thread without its class and in one spelling.

    >>> plain("3/8-24 UNF"), plain("M10 x 1.0"), plain("1 1/16-12 UN")
    ('3/8-24', 'm10x1', '1 1/16-12')
    """
    text = re.sub(r"\s*x\s*", "x", thread.strip().casefold())
    return _CLASS.sub("", text).removesuffix(".0")


def _mixups(catalog: Catalog, one: Thread, other: Thread) -> list[Mixup]:
    """The rows of the two, those about threads first."""
    first, second = ({t.seat, t.id, plain(t.thread)} for t in (one, other))
    rows = []
    for row in catalog.mixups():
        a, b = ({name, plain(name)} for name in (row.a, row.b))
        if (a & first and b & second) or (a & second and b & first):
            rows.append(row)
    return sorted(rows, key=lambda row: _about_seats(row, one, other))


def _about_seats(row: Mixup, one: Thread, other: Thread) -> bool:
    return {row.a, row.b} == {one.seat, other.seat}


def _clash(catalog: Catalog, port: Thread, end: Thread, rows: tuple[Mixup, ...]) -> str:
    says = [_said(row, port, end) for row in rows]
    if port.seat == end.seat:
        sizes = f"{port.id} and {end.id} are two sizes of one seat ({port.thread} and {end.thread})"
        says.append(f"{sizes}, and no reducer in the tables joins them")
    elif not any(_about_seats(row, port, end) for row in rows):
        means = f"{catalog.seat(port.seat).means} against {catalog.seat(end.seat).means}"
        same = plain(port.thread) == plain(end.thread)
        threads = f"the {port.thread} thread is the same, the seal is not"
        says.append(f"{means}: {threads if same else f'{port.thread} against {end.thread}'}")
    return "; ".join(says)


def _said(row: Mixup, port: Thread, end: Thread) -> str:
    starts = plain(port.thread) == plain(end.thread) and _about_seats(row, port, end)
    return f"the {port.thread} thread starts, but {row.why}" if starts else row.why


def _parts(catalog: Catalog, words: str, attaches: str) -> Seals:
    """The sealing parts that the words of a thread or an adapter name, each with its number."""
    named = [text.strip() for text in words.split(";") if text.strip()]
    parts = [_part(catalog, text) for text in named]
    return tuple(part for part in parts if not (part[0].startswith("hose clamp") and attaches == "push-on"))


def _part(catalog: Catalog, text: str) -> tuple[str, int]:
    known = set(catalog.ids("seals"))
    if text not in known and (counted := _COUNTED.fullmatch(text)):
        return counted[2], int(counted[1])
    if text in known:
        return text, catalog.seal(text).each_joint
    same = [key for key in known if catalog.seal(key).means == text]
    return (same[0], catalog.seal(same[0]).each_joint) if same else (text, 1)


def _summed(seals: Seals) -> Seals:
    return tuple((name, sum(n for other, n in seals if other == name)) for name in dict.fromkeys(s[0] for s in seals))
