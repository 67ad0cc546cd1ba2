"""Every joint is a pair: seat and thread of the port against those of the hose end, their metals, and brakes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from catalogs.grades import weakest
from catalogs.records import Adapter
from catalogs.units import Quantity
from lines.finding import NOTHING, Finding, Verdict, Words, unchecked, words
from lines.joints import belong, joint

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from catalogs.catalog import Catalog
    from catalogs.records import HoseEnd, Mixup, Record, Thread
    from lines.assembly import Assembly
    from lines.joints import Joint
    from solver.study import Study


def joints_of(study: Study) -> Iterator[tuple[str, Assembly, HoseEnd | None, Joint]]:
    """Every end of every run: its place, its assembly, the end that was chosen, its joint."""
    for made in study.assemblies.values():
        for which, chosen, met in zip(("from", "to"), made.ends, made.joints, strict=True):
            yield f"{made.tag}.{which}", made, chosen.end, met


# ---------------------------------------------------------------- do they belong together?


def fit(study: Study) -> list[Finding]:
    """`joint.fit`: at each end of each run, whether the two seats belong together, or which adapter joins them."""
    return [_fit(study, place, made, end, met) for place, made, end, met in joints_of(study)]


def _no_end_fits(study: Study, made: Assembly, known: Joint) -> Joint | None:
    """The joint with the first end of a stock none of whose ends goes onto a port; None where one does."""
    catalog, port = study.plan.catalog, known.port
    table = study.plan.port(port)
    threads = dict.fromkeys(end.thread for end in catalog.ends_of(made.stock.id))
    joints = [joint(catalog, port, table, thread) for thread in threads]
    return None if not joints or any(found.fits is not False for found in joints) else joints[0]


def _fit(study: Study, place: str, made: Assembly, chosen: HoseEnd | None, known: Joint) -> Finding:
    found = known
    if known.port_thread is not None and known.end_thread is None:
        found = _no_end_fits(study, made, known) or known
    port, end = found.port_thread, found.end_thread
    if port is None or end is None:
        missing = "thread of the port" if port is None else "hose end"
        why = words("The {missing} at {port} is not known.", missing=missing, port=found.port)
        needs = f'thread of {found.port}, like "flare37 -8"' if port is None else f"ends of {made.tag}"
        return unchecked("joint.fit", place, why, needs)
    fit = _clashes if not found.fits else _straight_on if found.adapter is None else _by_adapter
    verdict, why, change, rows, source = fit(study.plan.catalog, made, chosen, found, port, end)
    basis = weakest([port.grade_of("seat", "thread"), end.grade_of("seat", "thread"), *(row.grade for row in rows)])
    return Finding(rule="joint.fit", place=place, verdict=verdict, why=why, change=change, basis=basis, source=source)


def _facts(found: Joint, port: Thread, end: Thread) -> dict[str, str]:
    return {"port": found.port, "has": f"{port.id} ({port.thread})", "end": f"{end.id} ({end.thread})"}


Fit = tuple[Verdict, Words, Words, "Sequence[Record]", str]


def _clashes(catalog: Catalog, made: Assembly, chosen: HoseEnd | None, found: Joint, port: Thread, end: Thread) -> Fit:
    text = "{port} is {has}, the hose end {end}: they do not belong together: {clash}."
    if chosen is None:
        text = "{port} is {has}, and no end of {stock} goes onto it, straight or angled. With {end}: {clash}."
    why = words(text, clash=found.clash, stock=made.stock.id, **_facts(found, port, end))
    source = _sources(found.mixups) or port.source
    return Verdict.FAIL, why, _way_out(catalog, made, chosen, port, end), found.mixups, source


def _by_adapter(
    catalog: Catalog, made: Assembly, chosen: HoseEnd | None, found: Joint, port: Thread, end: Thread
) -> Fit:
    adapter = cast("Adapter", found.adapter)
    remarks = _spigot(catalog, chosen, end)
    text, facts = (
        "{port} is {has}, the hose end {end}: adapter {adapter} joins them.{remarks}",
        _facts(found, port, end),
    )
    verdict, change = Verdict.PASS, NOTHING
    if found.mixups:
        verdict, change = Verdict.CAUTION, words("Put {adapter} in before the hose is offered up.", adapter=adapter.id)
        text += " The nut starts without it: {bare}."
    elif remarks:
        verdict, change = Verdict.CAUTION, SPIGOT_CURE
    elif port.seat == end.seat:
        verdict, text = Verdict.CAUTION, text + " One seat in two sizes: the way through it is {bore}."
        change = _right_dash(catalog, made, port)
    bore, bare = Quantity(adapter.bore, "bore"), "; ".join(row.why for row in found.mixups)
    why = words(text, adapter=adapter.id, bore=bore, remarks=_said(remarks), bare=bare, **facts)
    rows = [*found.mixups, *remarks]
    return verdict, why, change, [adapter, *rows], "; ".join([adapter.source, *(row.source for row in rows)])


def _straight_on(
    catalog: Catalog, _made: Assembly, chosen: HoseEnd | None, found: Joint, port: Thread, end: Thread
) -> Fit:
    spigot = _spigot(catalog, chosen, end)
    text = "{port} is {has}; so is the hose end. Seals {seals}.{remarks}"
    seals, rows = catalog.seat(port.seat).seals, [*found.mixups, *spigot]
    why = words(text, seals=seals, remarks=_said(rows), **_facts(found, port, end))
    source = "; ".join(dict.fromkeys([port.source, *(row.source for row in spigot)]))
    return (Verdict.CAUTION, why, SPIGOT_CURE, rows, source) if spigot else (Verdict.PASS, why, NOTHING, rows, source)


SPIGOT_CURE = words("Look at the spigot: a bead takes hose that is held by a clamp.")


def _spigot(catalog: Catalog, chosen: HoseEnd | None, end: Thread) -> list[Mixup]:
    """What the tables say of a spigot against the way in which the hose is held on it."""
    return _speaking_of(catalog, end.seat, f"attaches:{chosen.attaches}") if chosen is not None else []


def _said(rows: Iterable[Mixup]) -> str:
    return "".join(f" Mind: {row.why}." for row in rows)


def _sources(rows: Iterable[Mixup]) -> str:
    return "; ".join(dict.fromkeys(row.source for row in rows))


def _right_dash(catalog: Catalog, made: Assembly, port: Thread) -> Words:
    """What to do where a reducer joins hose of one dash and a port of another."""
    right = f"{made.stock.family} -{port.dash}"
    facts = {"stock": made.stock.id, "port": port.id, "right": right}
    if right in catalog.ids("stock"):
        return words("{stock} on a port {port}: is the dash right? {right} needs no reducer.", **facts)
    return words("{stock} on a port {port}: is the dash right? Without a reducer the sizes agree.", **facts)


def _way_out(catalog: Catalog, made: Assembly, chosen: HoseEnd | None, port: Thread, end: Thread) -> Words:
    """What would go on: another end of this stock, an adapter and another end, or two adapters."""
    angle = chosen.angle if chosen is not None else 0.0
    ends = sorted(catalog.ends_of(made.stock.id), key=lambda e: abs(e.angle - angle))
    for other in ends:
        if belong(catalog, port, catalog.thread(other.thread)):
            return words("Take {end} ({thread}): it goes straight on.", end=other.id, thread=other.thread)
    for other in ends:
        for adapter in catalog.adapters_to(port.id, other.thread):
            text = "Take {end} with the adapter {adapter}: they join through {seat}."
            return words(text, end=other.id, adapter=adapter.id, seat=other.thread)
    for first, second in _two_adapters(catalog, port, end):
        text = "Two adapters join them through {seat}: {first} and {second}."
        return words(text, seat=first.offers, first=first.id, second=second.id)
    means = catalog.seat(port.seat).means
    text = "Take an end for {port} ({means}, {thread}), or add the adapter to the shop's folder."
    return words(text, port=port.id, means=means, thread=port.thread)


def _two_adapters(catalog: Catalog, port: Thread, end: Thread) -> Iterator[tuple[Adapter, Adapter]]:
    for first in catalog.all("adapters"):
        if isinstance(first, Adapter) and first.port == port.id:
            yield from ((first, second) for second in catalog.adapters_to(first.offers, end.id))


# ---------------------------------------------------------------- metal on metal


def _speaking_of(catalog: Catalog, one: str, other: str) -> list[Mixup]:
    return [row for row in catalog.mixups() if {row.a, row.b} == {one, other}]


def metal(study: Study) -> list[Finding]:
    """`joint.metal`: the metal of a port against its own thread and against what goes into it, where it is known."""
    found = (_metal(study, place, end, met) for place, _made, end, met in joints_of(study))
    return [finding for finding in found if finding is not None]


@dataclass(frozen=True, slots=True)
class Meeting:
    """Two metals in one joint: what takes the part up, and the part."""

    into: str
    made_of: str
    part: HoseEnd | Adapter


def _metal(study: Study, place: str, end: HoseEnd | None, found: Joint) -> Finding | None:
    catalog, bung, thread = study.plan.catalog, study.plan.port(found.port).made_of, found.port_thread
    asks = [] if thread is None else [row for row in catalog.mixups() if _of_a_metal(row, thread.seat)]
    threads = [row for row in asks if f"metal:{bung}" in {row.a, row.b}]
    meetings = _meetings(found, bung, end)
    if not (threads or meetings or (asks and not bung)):
        return None
    by_meeting = [_speaking_of(catalog, f"metal:{m.made_of}", f"metal:{m.part.made_of}") for m in meetings]
    rows = [*threads, *(row for own in by_meeting for row in own)]
    needs = "" if bung or not asks else f"made_of of {found.port}: what its bung is made of"
    if needs and not rows and thread is not None:
        why = words("{port} is {has}, in a metal that the plan does not say.", port=found.port, has=thread.id)
        return unchecked("joint.metal", place, why, needs)
    cures = [_dry(meeting) for meeting, own in zip(meetings, by_meeting, strict=True) if own]
    if threads:
        cures.append("An O-ring port in place of the taper, while the bung can still be changed.")
    parts = [f"{m.into} {m.made_of}, {m.part.id} {m.part.made_of}" for m in meetings] or [f"{found.port} is {bung}"]
    says = "; ".join(row.why for row in rows) or "the tables have nothing against it"
    return Finding(
        rule="joint.metal",
        place=place,
        verdict=Verdict.CAUTION if rows else Verdict.PASS,
        why=words("{parts}: {says}.", parts="; ".join(parts), says=says),
        change=words("{cures}", cures=" ".join(cures)) if rows else NOTHING,
        basis=weakest([*(row.grade for row in rows), *(m.part.grade_of("made_of") for m in meetings)]),
        source=_sources(rows),
        needs=needs,
    )


def _of_a_metal(row: Mixup, seat: str) -> bool:
    """Does a row speak of a seat in some metal?"""
    other = {row.a: row.b, row.b: row.a}.get(seat, "")
    return other.startswith("metal:")


def _meetings(found: Joint, bung: str, end: HoseEnd | None) -> list[Meeting]:
    """The metals that meet: port with what goes into it, and an adapter with the end on it."""
    into: list[tuple[str, str, HoseEnd | Adapter | None]] = [(f"{found.port} is", bung, found.adapter or end)]
    if found.adapter is not None:
        into.append((found.adapter.id, found.adapter.made_of, end))
    return [Meeting(name, of, part) for name, of, part in into if of and part is not None and part.made_of]


def _dry(meeting: Meeting) -> str:
    other = "another metal" if meeting.made_of == meeting.part.made_of else f"{meeting.made_of}, like what it meets"
    return f"Anti-seize on the thread and keep it dry, or take {meeting.part.id} in {other}."


# ---------------------------------------------------------------- brakes


REUSABLE = "attaches:reusable"
RULES = "What holds where the vehicle is driven, its own rules say."


def brake(study: Study) -> list[Finding]:
    """`joint.brake`: what brake lines must not have: single 45 deg flares, barbs and clamps, screwed-on ends."""
    plan = study.plan
    found = (
        _brake(plan.catalog, place, made, end, met)
        for place, made, end, met in joints_of(study)
        if plan.catalog.fluid(plan.circuits[made.run.circuit].fluid).family == "brake"
    )
    return [finding for finding in found if finding is not None]


def _brake(catalog: Catalog, place: str, made: Assembly, end: HoseEnd | None, met: Joint) -> Finding | None:
    has = [thread.seat for thread in (met.port_thread, met.end_thread) if thread is not None]
    has += [f"attaches:{end.attaches}"] if end is not None else []
    rows = [row for name in dict.fromkeys(has) for row in _speaking_of(catalog, name, "fluid:brake")]
    if not rows and end is None:
        why = words(
            "The end at {port} is not chosen, so what holds the brake pressure there is not known.", port=met.port
        )
        return unchecked("joint.brake", place, why, f"ends of {made.tag}")
    if not rows and not met.fits:
        # What does not go together holds no pressure: `joint.fit` says that.
        return None
    verdict, change = Verdict.PASS, NOTHING
    says = "the tables have nothing against this joint in a brake line"
    if rows:
        says = "; ".join(row.why for row in rows)
        only_reusable = all(REUSABLE in {row.a, row.b} for row in rows)
        verdict = Verdict.CAUTION if only_reusable else Verdict.FAIL
        change = words("Crimped ends on the hose; on tube a double flare or a bubble flare, as the port asks.")
    return Finding(
        rule="joint.brake",
        place=place,
        verdict=verdict,
        why=words("{port}: {says}. {rules}", port=met.port, says=says, rules=RULES),
        change=change,
        basis=weakest(
            [*(row.grade for row in rows), *([end.grade_of("attaches", "thread")] if end is not None else [])]
        ),
        source="; ".join(row.source for row in rows),
    )
