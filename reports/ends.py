"""The two ends of an assembly as the bench needs them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from catalogs.units import Quantity, show
from reports.figures import BLANK, Figure, across_flats, length_unit, measured, with_basis

if TYPE_CHECKING:
    from catalogs.catalog import Catalog
    from catalogs.records import HoseEnd, Thread
    from catalogs.units import System
    from lines.assembly import Assembly, Joint
    from lines.ends import ChosenEnd


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
    measure_first: bool
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
            mark, joint.port, "", "not chosen", "", "", None, "", measure_first=False, attach="", joint=_at(joint)
        )
    return BenchEnd(
        mark=mark,
        port=joint.port,
        id=end.id,
        means=end.means,
        seat=f"{catalog.seat(thread.seat).means}, {thread.thread}",
        hex=_hex(end, thread),
        cutoff=measured(end.cutoff, system),
        cutoff_basis=end.grade_of("cutoff").says,
        measure_first=measure,
        attach=_attach(end, system),
        joint=_at(joint),
    )


def _hex(end: HoseEnd, thread: Thread) -> str:
    if end.hex is not None:
        return with_basis(across_flats(end.hex), end.grade_of("hex"))
    if thread.hex is not None:
        return with_basis(across_flats(thread.hex), thread.grade_of("hex"))
    return ""


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
    return with_basis(show(Quantity(size, "bore"), system), end.grade_of(field))


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


STRAIGHTEST = math.radians(1)
"""An end that turns by less is straight."""


def angled(made: Assembly) -> bool | None:
    """Are both ends angled? None: not known, because one is not chosen."""
    if any(chosen.end is None for chosen in made.ends):
        return False if any(c.end is not None and c.end.angle < STRAIGHTEST for c in made.ends) else None
    return all(chosen.end.angle >= STRAIGHTEST for chosen in made.ends if chosen.end is not None)
