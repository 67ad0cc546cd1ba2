"""Every joint is a pair: seat and thread of the port against those of the hose end, their metals, their seals."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalogs.grades import weakest
from catalogs.records import Adapter
from lines.finding import NOTHING, Finding, Verdict, Words, unchecked, words
from lines.joints import belong
from solver.checks.material import Wetted, good_for, of_material

if TYPE_CHECKING:
    from collections.abc import Iterator

    from catalogs.catalog import Catalog
    from catalogs.records import HoseEnd, Mixup, Thread
    from lines.assembly import Assembly
    from lines.joints import Joint
    from solver.study import Study


def _joints(study: Study) -> Iterator[tuple[str, Assembly, HoseEnd | None, Joint]]:
    """Every end of every run: its place, its assembly, the end that was chosen, its joint."""
    for made in study.assemblies.values():
        for which, chosen, joint in zip(("from", "to"), made.ends, made.joints, strict=True):
            yield f"{made.tag}.{which}", made, chosen.end, joint


# ---------------------------------------------------------------- do they belong together?


def fit(study: Study) -> list[Finding]:
    """`joint.fit`: at each end of each run, whether the two seats belong together, or which adapter joins them."""
    return [_fit(study.plan.catalog, place, made, end, joint) for place, made, end, joint in _joints(study)]


def _fit(catalog: Catalog, place: str, made: Assembly, chosen: HoseEnd | None, joint: Joint) -> Finding:
    port, end, adapter = joint.port_thread, joint.end_thread, joint.adapter
    if port is None or end is None:
        missing = "thread of the port" if port is None else "hose end"
        why = words("The {missing} at {port} is not known.", missing=missing, port=joint.port)
        needs = f'thread of {joint.port}, like "flare37 -8"' if port is None else f"ends of {made.tag}"
        return unchecked("joint.fit", place, why, needs)
    verdict, change, source = Verdict.PASS, NOTHING, port.source
    grades = [port.grade_of("seat", "thread"), end.grade_of("seat", "thread")]
    facts = {"port": joint.port, "has": f"{port.id} ({port.thread})", "end": f"{end.id} ({end.thread})"}
    if not joint.fits:
        verdict, change = Verdict.FAIL, _way_out(catalog, made, chosen, port, end)
        text = "{port} is {has}, the hose end {end}: they do not belong together: {clash}."
        why = words(text, clash=joint.clash, **facts)
        grades += [row.grade for row in joint.mixups]
        source = "; ".join(row.source for row in joint.mixups) or source
    elif adapter is not None:
        why = words("{port} is {has}, the hose end {end}: adapter {adapter} joins them.", adapter=adapter.id, **facts)
        grades.append(adapter.grade_of("port", "offers"))
        source = adapter.source
    else:
        remarks = "".join(f" Mind: {row.why}." for row in joint.mixups)
        text = "{port} is {has}; so is the hose end. Seals {seals}.{remarks}"
        why = words(text, seals=catalog.seat(port.seat).seals, remarks=remarks, **facts)
    basis = weakest(grades)
    return Finding(rule="joint.fit", place=place, verdict=verdict, why=why, change=change, basis=basis, source=source)


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
    found = (_metal(study, place, end, joint) for place, _made, end, joint in _joints(study))
    return [finding for finding in found if finding is not None]


def _metal(study: Study, place: str, end: HoseEnd | None, joint: Joint) -> Finding | None:
    catalog, bung, thread = study.plan.catalog, study.plan.port(joint.port).made_of, joint.port_thread
    part = joint.adapter or end
    made_of = part.made_of if part is not None else ""
    threads = _speaking_of(catalog, thread.seat, f"metal:{bung}") if thread is not None else []
    metals = _speaking_of(catalog, f"metal:{made_of}", f"metal:{bung}")
    if not bung or not (threads or made_of):
        return None
    rows = [*threads, *metals]
    what = f", {part.id} {made_of}" if part is not None and made_of else ""
    says = "; ".join(row.why for row in rows) or "the tables have nothing against it"
    cures = []
    if metals and part is not None:
        other = "another metal" if made_of == bung else f"{bung}, like the port"
        cures.append(f"Anti-seize on the thread and keep it dry, or take {part.id} in {other}.")
    if threads:
        cures.append("An O-ring port in place of the taper, while the bung can still be changed.")
    return Finding(
        rule="joint.metal",
        place=place,
        verdict=Verdict.CAUTION if rows else Verdict.PASS,
        why=words("{port} is {bung}{what}: {says}.", port=joint.port, bung=bung, what=what, says=says),
        change=words("{cures}", cures=" ".join(cures)) if rows else NOTHING,
        basis=weakest([*(row.grade for row in rows), *([part.grade_of("made_of")] if what and part else [])]),
        source="; ".join(row.source for row in rows),
    )


# ---------------------------------------------------------------- brakes


REUSABLE = "attaches:reusable"
RULES = "What holds where the vehicle is driven, its own rules say."


def brake(study: Study) -> list[Finding]:
    """`joint.brake`: what brake lines must not have: single 45 deg flares, barbs and clamps, screwed-on ends."""
    plan = study.plan
    return [
        _brake(plan.catalog, place, made, end, joint)
        for place, made, end, joint in _joints(study)
        if plan.catalog.fluid(plan.circuits[made.run.circuit].fluid).family == "brake"
    ]


def _brake(catalog: Catalog, place: str, made: Assembly, end: HoseEnd | None, joint: Joint) -> Finding:
    has = [thread.seat for thread in (joint.port_thread, joint.end_thread) if thread is not None]
    has += [f"attaches:{end.attaches}"] if end is not None else []
    rows = [row for name in dict.fromkeys(has) for row in _speaking_of(catalog, name, "fluid:brake")]
    if not rows and end is None:
        why = words(
            "The end at {port} is not chosen, so what holds the brake pressure there is not known.", port=joint.port
        )
        return unchecked("joint.brake", place, why, f"ends of {made.tag}")
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
        why=words("{port}: {says}. {rules}", port=joint.port, says=says, rules=RULES),
        change=change,
        basis=weakest(
            [*(row.grade for row in rows), *([end.grade_of("attaches", "thread")] if end is not None else [])]
        ),
        source="; ".join(row.source for row in rows),
    )


# ---------------------------------------------------------------- O-rings


def seals(study: Study) -> list[Finding]:
    """`joint.seals`: in each circuit with O-rings, whether their rubber stands the fluid and its heat."""
    rings = dict.fromkeys(study.plan.circuits, 0)
    for _, made, _, joint in _joints(study):
        rings[made.run.circuit] += _rings(study.plan.catalog, joint)
    return [_seals(study, circuit, number) for circuit, number in rings.items() if number]


def _rings(catalog: Catalog, joint: Joint) -> int:
    known = set(catalog.ids("seals"))
    return sum(
        number
        for name, number in joint.seals
        if (catalog.seal(name).sort == "o-ring" if name in known else name.startswith("O-ring"))
    )


def _seals(study: Study, circuit: str, rings: int) -> Finding:
    catalog, table = study.plan.catalog, study.plan.circuits[circuit]
    fluid = catalog.fluid(table.fluid)
    good = " or ".join(good_for(study.plan, circuit, "rubber")) or "another rubber than the tables hold"
    facts = {"rings": f"{rings} O-ring{'s' * (rings > 1)}", "fluid": fluid.id, "good": good}
    if not table.seals:
        why = words("{rings} in it, of a material that the plan does not say. Good for {fluid}: {good}.", **facts)
        return unchecked(
            "joint.seals",
            circuit,
            why,
            f'what its O-rings are made of: ask, and say seals = "..." in [circuits.{circuit}]',
        )
    wetted = Wetted(table.seals, f"{facts['rings']} of {table.seals}", f"O-rings of {good}")
    return of_material(study.plan, circuit, "joint.seals", circuit, wetted)
