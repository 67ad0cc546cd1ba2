"""The two ends of an assembly as the bench needs them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from catalogs.grades import Grade
from catalogs.units import Quantity, show
from reports.figures import BLANK, Figure, across_flats, decimal, length_unit, measured, short
from reports.lengths import over, way_on

if TYPE_CHECKING:
    from catalogs.catalog import Catalog
    from catalogs.records import HoseEnd, Thread
    from catalogs.units import System
    from lines.assembly import Assembly
    from lines.ends import ChosenEnd
    from lines.joints import Joint


@dataclass(frozen=True, slots=True)
class BenchEnd:
    """One end of a hose."""

    mark: str
    """A at `from`, B at `to`."""
    port: str
    id: str
    """Empty where none is chosen."""
    means: str
    seat: str
    """Its seat and thread."""
    hex: str
    cutoff: Figure | None
    cutoff_basis: str
    """In words, whatever the grade."""
    drop: Figure | None
    """Of an angled end."""
    takes: str
    """Its cut-off and drop with what they rest on; of a spigot or a flare, what it does to the hose or tube."""
    measure_first: bool
    nutless: bool
    """Does the hose go over a spigot, without nut or collar?"""
    attach: str
    """How it is put on, with what is known of it and room for the rest."""
    joint: str
    """What it is screwed to."""


def bench_ends(made: Assembly, catalog: Catalog, system: System) -> tuple[BenchEnd, BenchEnd]:
    """Both ends of an assembly."""
    sides = zip("AB", made.ends, made.joints, made.measure_first, strict=True)
    first, second = (_end(mark, chosen, joint, catalog, system, measure=m) for mark, chosen, joint, m in sides)
    return first, second


def _end(mark: str, chosen: ChosenEnd, joint: Joint, catalog: Catalog, system: System, *, measure: bool) -> BenchEnd:
    end, thread = chosen.end, joint.end_thread
    if end is None or thread is None:
        return BenchEnd(
            mark=mark, port=joint.port, id="", means="not chosen", seat="", hex="", cutoff=None, cutoff_basis="",
            drop=None, takes="", measure_first=False, nutless=False, attach="", joint=_at(joint),
        )  # fmt: skip
    return BenchEnd(
        mark=mark,
        port=joint.port,
        id=end.id,
        means=end.means,
        seat=f"{catalog.seat(thread.seat).means}, {thread.thread}",
        hex=_hex(end, thread),
        cutoff=measured(end.cutoff, system),
        cutoff_basis=end.grade_of("cutoff").says,
        drop=None if end.straight else measured(end.drop, system),
        takes=_takes(end, system),
        measure_first=measure,
        nutless=way_on(end) == "spigot",
        attach=_attach(end, system),
        joint=_at(joint),
    )


def _takes(end: HoseEnd, system: System) -> str:
    grade, way = end.grade_of("cutoff"), way_on(end)
    if way == "spigot":
        return f"pushed {over(end, system)} over its spigot ({_brief(grade)}): hose so much longer"
    if way == "flare":
        return f"its flare takes {over(end, system)} ({_brief(grade)}): tube so much longer"
    if end.straight:
        return f"cut-off {decimal(end.cutoff, system)} ({_brief(grade)})"
    drop = end.grade_of("drop")
    rests = _brief(grade) if drop is grade else f"{_brief(grade)}; drop {_brief(drop)}"
    return f"cut-off {decimal(end.cutoff, system)}, drop {decimal(end.drop, system)} ({rests})"


def _brief(grade: Grade) -> str:
    return "measured" if grade is Grade.MEASURED else short(grade)


def _hex(end: HoseEnd, thread: Thread) -> str:
    if end.hex is not None:
        return _sure(across_flats(end.hex), end.grade_of("hex"))
    if thread.hex is not None:
        return _sure(across_flats(thread.hex), thread.grade_of("hex"))
    return ""


def _sure(text: str, grade: Grade) -> str:
    """A figure, and in brackets a word where it is not sure."""
    return f"{text} ({short(grade)})" if grade.provisional else text


def _attach(end: HoseEnd, system: System) -> str:
    parts: list[str] = [end.attaches]
    if end.attaches == "crimped":
        parts.append(f"crimp diameter {_or_blank(end, 'crimp_diameter', system)}")
    if end.attaches in {"crimped", "push-on"} or end.insertion is not None:
        parts.append(f"insertion {_or_blank(end, 'insertion', system)}")
    return ", ".join(parts)


def _or_blank(end: HoseEnd, field: str, system: System) -> str:
    size = getattr(end, field)
    if size is None:
        return f"{BLANK} {length_unit(system)}"
    return _sure(show(Quantity(size, "bore"), system), end.grade_of(field))


def _at(joint: Joint) -> str:
    if joint.port_thread is None:
        return "thread of the port not known"
    if joint.fits is None:
        return f"to {joint.port_thread.id} ({joint.port_thread.thread})"
    if joint.adapter is not None:
        needs = f" with {joint.adapter.needs}" if joint.adapter.needs else ""
        return f"adapter {joint.adapter.id}{needs}"
    if joint.fits is False:
        return f"NO ADAPTER in the tables to {joint.port_thread.id} ({joint.port_thread.thread})"
    seal = f", {joint.port_thread.ring}" if joint.port_thread.ring else ""
    return f"directly to {joint.port_thread.id}{seal}"
