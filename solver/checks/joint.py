"""Every joint is a pair: the seat and thread of the port against those of the hose end."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalogs.grades import weakest
from lines.finding import Finding, Verdict, unchecked, words

if TYPE_CHECKING:
    from catalogs.catalog import Catalog
    from lines.assembly import Joint
    from solver.study import Study


def fit(study: Study) -> list[Finding]:
    """`joint.fit`: at each end of each run, whether the two seats belong together, or which adapter joins them."""
    return [
        _fit(study.plan.catalog, f"{made.tag}.{which}", joint)
        for made in study.assemblies.values()
        for which, joint in zip(("from", "to"), made.joints, strict=True)
    ]


def _fit(catalog: Catalog, place: str, joint: Joint) -> Finding:
    port, end = joint.port_thread, joint.end_thread
    if port is None or end is None:
        missing = "thread of the port" if port is None else "hose end"
        why = words("The {missing} at {port} is not known.", missing=missing, port=joint.port)
        needs = f'thread of {joint.port}, like "flare37 -8"' if port is None else f"ends of {place.partition('.')[0]}"
        return unchecked("joint.fit", place, why, needs)
    facts = {"port": joint.port, "has": f"{port.id} ({port.thread})", "end": f"{end.id} ({end.thread})"}
    if joint.fits and joint.adapter is None:
        seals = catalog.seat(port.seat).seals
        why = words("{port} is {has}; so is the hose end. Seals {seals}.", seals=seals, **facts)
        basis = weakest([port.grade_of("seat", "thread"), end.grade_of("seat", "thread")])
        return Finding(rule="joint.fit", place=place, verdict=Verdict.PASS, why=why, basis=basis, source=port.source)
    if joint.adapter is not None:
        adapter = joint.adapter
        why = words("{port} is {has}, the hose end {end}: adapter {adapter} joins them.", adapter=adapter.id, **facts)
        basis = weakest(
            [
                port.grade_of("seat", "thread"),
                end.grade_of("seat", "thread"),
                adapter.grade_of("port", "offers"),
            ]
        )
        return Finding(rule="joint.fit", place=place, verdict=Verdict.PASS, why=why, basis=basis, source=adapter.source)
    why = words(
        "{port} is {has}, the hose end {end}: they do not belong together, and no adapter in the tables joins them.",
        **facts,
    )
    change = words("Take a hose end or a port of the other's seat and size, or add the adapter to the shop's folder.")
    basis = weakest([port.grade_of("seat", "thread"), end.grade_of("seat", "thread")])
    return Finding(
        rule="joint.fit",
        place=place,
        verdict=Verdict.FAIL,
        why=why,
        change=change,
        basis=basis,
        source=port.source,
    )
