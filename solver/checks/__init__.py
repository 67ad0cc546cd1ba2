"""The checks. Each takes the study of a plan and gives one finding for each place that its rule looks at."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from solver.checks import (
    attitudes,
    bends,
    breather,
    breatherstated,
    breatherway,
    circuit,
    classrules,
    clearance,
    consumption,
    contents,
    coolers,
    drain,
    endings,
    even,
    feed,
    filling,
    flooding,
    fuel,
    fuelrail,
    fuelreturn,
    heat,
    hose,
    injectors,
    joint,
    loops,
    material,
    oilway,
    openport,
    pickup,
    priming,
    rating,
    rubber,
    scavenge,
    scavengelines,
    siphon,
    slack,
    spanner,
    static,
    suction,
    surge,
    surgeair,
    tankair,
    trapped,
    turbo,
    venting,
    warmth,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from lines.finding import Finding
    from solver.study import Study

CHECKS: tuple[Callable[[Study], list[Finding]], ...] = (
    circuit.flow,
    openport.open_ports,
    pickup.covered,
    contents.volume,
    breather.pressure,
    breatherstated.measured,
    breather.bore,
    breather.tank,
    breatherway.loop,
    breatherway.outlet,
    drain.fall,
    flooding.missing,
    flooding.surface,
    flooding.outlet,
    filling.depth,
    filling.vertical,
    filling.dips,
    filling.bore,
    attitudes.named,
    scavenge.flow,
    scavenge.suction,
    scavengelines.hoses,
    scavengelines.size,
    scavengelines.returns,
    feed.pressure,
    oilway.filtered,
    oilway.arrival,
    turbo.flange,
    turbo.shaft,
    turbo.water,
    consumption.fits,
    fuel.margin,
    fuelrail.rail,
    fuelreturn.lowest,
    surge.fills,
    surgeair.gets_out,
    venting.runs_out,
    tankair.breathes,
    siphon.runs_out,
    priming.fills,
    trapped.shut_in,
    warmth.lasts,
    heat.at_rail,
    injectors.duty_cycle,
    even.fed,
    suction.boils,
    suction.prefilter,
    loops.velocity,
    loops.suction,
    loops.back,
    coolers.drop,
    coolers.through,
    coolers.air,
    hose.length,
    hose.free,
    slack.slack,
    hose.moves,
    bends.radius,
    endings.ends,
    endings.clock,
    clearance.clearance,
    joint.fit,
    joint.metal,
    joint.brake,
    rubber.seals,
    spanner.room,
    material.liner,
    static.carried,
    material.metal,
    rating.pressure,
    rating.suction,
    rating.temperature,
    classrules.lines,
    classrules.tanks,
)


def findings(study: Study) -> list[Finding]:
    """Every finding of a plan, sorted by id."""
    found = (_named_as_before(study, f) for check in CHECKS for f in check(study))
    return sorted(found, key=lambda f: f.id)


def _named_as_before(study: Study, found: Finding) -> Finding:
    """A finding of a renamed run keeps the id that it had."""
    tag, dot, which = found.place.partition(".")
    run = study.plan.runs.get(tag)
    return replace(found, known_as=run.was + dot + which) if run is not None and run.was else found
