"""How a run lies in space: its bends, its ends, the angle between them, and what it comes near to."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from catalogs.grades import Grade, weakest
from catalogs.units import Quantity
from lines.cures import other_ends, other_stocks
from lines.ends import BOTH, port_of
from lines.finding import NOTHING, Case, Finding, State, Verdict, Words, unchecked, words
from lines.zones import gaps
from solver.checks.judging import judge, verdict_of

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.records import HoseEnd, Limit
    from lines.assembly import Assembly
    from lines.held import Held
    from lines.route import Route
    from lines.zones import ZoneTable
    from solver.study import Study

    Array = npt.NDArray[np.float64]

BESIDE = 0.03
"""A line that passes a measured point by no more is not told [m]."""
STEP = 0.001
"""Points on a line that are held against a zone lie no further apart [m]; a gap is right to half of it."""


# ---------------------------------------------------------------- bends


def radius(study: Study) -> list[Finding]:
    """`run.radius`: room for each bend against the least radius of the stock, as the stock defines it."""
    return [_radius(study, made) for made in study.assemblies.values()]


def _radius(study: Study, made: Assembly) -> Finding:
    stock, said = made.stock, made.said_radius
    least = Quantity(stock.bend_radius, "length")
    if made.back is not None:
        text = "At its point {n} the way doubles back on itself: are points {n} and {next} in their order?"
        why = words(text, n=str(made.back), next=str(made.back + 1))
        change = words("Put the points in the order in which the line runs.")
        return _bent(made, Verdict.FAIL, why, None, State(), change)
    if made.route is not None and any(made.route.folded):
        return _folded(made)
    if made.bends is None:
        why = words("Its bends were not measured; {stock} must not be bent tighter than {least}.",
                    stock=stock.id, least=least)  # fmt: skip
        needs = f"bends of {made.tag}: the turn and inside radius of each, or the points of the run (via)"
        return unchecked("run.radius", made.tag, why, needs)
    if said is not None and said < stock.bend_radius - 1e-9:
        return _said_too_tight(made, said, least)
    if not made.bends:
        return _straight(made)
    asked = stock.bend_radius if said is None else said
    tightest = min(made.bends, key=lambda bend: bend.room)
    number = made.bends.index(tightest) + 1
    room = stock.as_defined(tightest.room)
    fits = room >= asked - 1e-6 if made.route is None else made.route.fits
    value = Quantity(max(room, asked) if fits else room, "length")
    facts: dict[str, Quantity | str] = {
        "stock": stock.id,
        "least": Quantity(asked, "length"),
        "bend": f"bend {number}",
        "value": value,
        "turn": Quantity(tightest.turn, "angle"),
        "to": "on its inside" if stock.radius_to == "inside" else "to its centre line",
    }
    verdict, change = Verdict.PASS, NOTHING
    if made.route is None:
        why = words("Tightest is {bend} ({turn}): it is {value} {to}; {stock} asks for {least}.", **facts)
    elif fits:
        why = words("Tightest is {bend} ({turn}): it has room for {value} {to}; {stock} asks for {least}.", **facts)
    else:
        verdict = Verdict.FAIL if said is None or room < stock.bend_radius else Verdict.CAUTION
        why, change = _lacking_words(study, made, made.route, facts)
    return _bent(made, verdict, why, value, State(station=f"bend {number}"), change)


def _straight(made: Assembly) -> Finding:
    if made.route is None or (made.route.fits and not made.overlaps):
        return _bent(made, Verdict.PASS, words("It runs straight: nothing is bent."), None, State())
    lacks = Quantity(max(made.route.lacks, -(made.free or 0.0)), "length")
    why = words("Its two ends need {lacks} more than there is between the ports: the collars overlap.", lacks=lacks)
    change = words("Put the ports {lacks:up} or more farther apart, or join them with a rigid adapter.", lacks=lacks)
    return _bent(made, Verdict.FAIL, why, None, State(), change)


def _folded(made: Assembly) -> Finding:
    """The points nearest to an end cannot be reached from it: nothing else about its way means anything."""
    assert made.route is not None
    ports = [port_of(made.run, which) for which, back in zip(BOTH, made.route.folded, strict=True) if back]
    if made.run.via:
        text = (
            "At {ports} the first point lies so near the end, or so far aside of it, that the hose would have to come "
            "back to it: no way was laid."
        )
        change = words(
            "Measure that point farther out, where the hose is free to bend; or turn the port; or take an end of "
            "another angle."
        )
    else:
        text = "{ports} points away from where the hose comes: no way was laid."
        change = words("Give the points between (via), turn the port, or take an end of another angle.")
    return _bent(made, Verdict.FAIL, words(text, ports=" and ".join(ports)), None, State(), change)


def _bent(
    made: Assembly, verdict: Verdict, why: Words, value: Quantity | None, worst: State, change: Words = NOTHING
) -> Finding:
    stock = made.stock
    return Finding(
        rule="run.radius",
        place=made.tag,
        verdict=verdict,
        why=why,
        change=change,
        value=value,
        low=Quantity(stock.bend_radius, "length"),
        worst=worst,
        basis=stock.grade_of("bend_radius", "outside"),
        source=stock.origin("bend_radius").source,
    )


def _said_too_tight(made: Assembly, said: float, least: Quantity) -> Finding:
    facts: dict[str, Quantity | str] = {"said": Quantity(said, "length"), "stock": made.stock.id, "least": least}
    facts["to"] = "on its inside" if made.stock.radius_to == "inside" else "to its centre line"
    if made.run.radius is not None:
        text, change = "The plan bends it to {said} {to}", words("Leave radius out, or say {least} or more.", **facts)
        worst = State()
    else:
        number = 1 + min(range(len(made.run.bends or ())), key=lambda i: (made.run.bends or ())[i].inside_radius)
        text, worst = f"Bend {number} was measured {{said}} {{to}}", State(station=f"bend {number}")
        change = words("An angled end in place of that bend, or more room for it, or a stock that bends tighter.")
    why = words(text + "; {stock} must not be bent tighter than {least}.", **facts)
    return _bent(made, Verdict.FAIL, why, Quantity(said, "length"), worst, change)


def _lacking_words(study: Study, made: Assembly, route: Route, facts: dict[str, Quantity | str]) -> tuple[Words, Words]:
    """What does not fit, by how much, and everything that was found to cure it."""
    facts = facts | {"lacks": Quantity(route.lacks, "length"), "where": route.where}
    asks = "{stock} asks for {least}" if made.said_radius is None else "it is to be bent to {least}"
    text = f"At {{bend}} ({{turn}}) there is room for {{value:down}} {{to}}, and {asks}"
    if math.isinf(route.lacks):
        why, cures = words(text + "; no more room between the ports cures it.", **facts), []
    else:
        text += (
            ": the straight {where} is {lacks:up} too short for its bends and for the hose to lie straight behind its "
        )
        why, cures = words(text + "collars.", **facts), ["Give {lacks:up} more {where}"]
    if made.run.radius is not None and _room_of(made) >= made.stock.bend_radius:
        cures.append("or say a radius of {value:down} or less")
    ends = other_ends(study.plan, made.tag)
    if ends is not None:
        facts |= {"ends": " and ".join(end.id for end in ends)}
        cures.append("or take the ends {ends}, which fit")
    stocks = other_stocks(study.plan, made.tag)
    if stocks:
        facts |= {"stocks": " or ".join(stock.id for stock in stocks)}
        cures.append("or {stocks}, which bends tight enough")
    if ends is None and not stocks:
        cures.append("no other end or hose of its size in the tables fits there: turn a port, or take a rigid adapter")
    said = "; ".join(cures).removeprefix("or ")
    return why, words(said[0].upper() + said[1:] + ".", **facts)


def _room_of(made: Assembly) -> float:
    """The least room that a bend of it has, as its stock defines a radius [m]."""
    return made.stock.as_defined(min(bend.room for bend in made.bends or ()))


# ---------------------------------------------------------------- ends


def ends(study: Study) -> list[Finding]:
    """`run.ends`: how far the hose itself has to bend behind an end to find its way."""
    found = []
    for made in study.assemblies.values():
        for i, (mark, which, chosen) in enumerate(zip("AB", BOTH, made.ends, strict=True)):
            place, port = f"{made.tag}.{which}", port_of(made.run, which)
            if chosen.end is None:
                why = words("No hose end was chosen at {port}.", port=port)
                found.append(unchecked("run.ends", place, why, chosen.needs))
            elif mark in made.unaimed:
                why = words("Which way {port} points is not known, so where its end puts the hose is not.", port=port)
                found.append(unchecked("run.ends", place, why, f"points of {port}"))
            elif made.route is not None and made.route.held[i].aimed and not made.stock.rigid and not made.astray:
                beside = made.route.held[i].missed
                found.append(
                    _beside(place, chosen.end, port, beside)
                    if beside > BESIDE
                    else _end(study, made, place, chosen.end, made.route.taken_up(i))
                )
    return found


def _beside(place: str, end: HoseEnd, port: str, missed: float) -> Finding:
    """An elbow that stands for a measured point which lies farther from the port than it."""
    facts: dict[str, Quantity | str] = {"end": end.id, "port": port, "missed": Quantity(missed, "length")}
    why = words(
        "{end} at {port} turns {missed} beside the point that was measured there: the line lies that much off.", **facts
    )
    change = words("See whether it may lie there; or turn the port, or measure the way with the end in place.")
    return Finding(rule="run.ends", place=place, verdict=Verdict.CAUTION, why=why, change=change,
                   value=facts["missed"], basis=end.grade_of("angle", "drop"))  # type: ignore[arg-type]  # fmt: skip


def _end(study: Study, made: Assembly, place: str, end: HoseEnd, left: float) -> Finding:
    others = [e for e in study.plan.catalog.ends_of(made.stock.id) if e.thread == end.thread and e.id != end.id]

    def why(verdict: Verdict, case: Case) -> Words:
        facts: dict[str, Quantity | str] = {"end": end.id, "left": case.value}
        if case.value.value < math.radians(0.5):
            return words("The hose leaves {end} along its way.", **facts)
        if verdict is Verdict.PASS:
            return words("Behind {end} the hose bends {left} to find its way.", **facts)
        return words("Behind {end} the hose has to bend {left} to find its way.", **facts)

    def change(_verdict: Verdict, _case: Case) -> Words:
        better = other_ends(study.plan, made.tag)
        i = 0 if place.endswith(BOTH[0]) else 1
        if better is not None and better[i].id != end.id:
            return words("Take {ends}, which fit, or turn the port.", ends=" and ".join(e.id for e in better))
        if not made.run.via:
            return words("Turn the port.")
        return words("Turn the port, or move the first point of the run into its line.")

    limit = study.plan.catalog.limit("run.ends")
    case = Case(State(), Quantity(left, "angle"))
    if not others:
        # A stock with one form of end only: the bend behind it is the only way, and its radius is judged.
        text = "Behind {end}, the only end of this hose for that seat, it bends {left}."
        said = words(text, end=end.id, left=case.value)
        return Finding(rule="run.ends", place=place, verdict=Verdict.PASS, why=said, value=case.value,
                       basis=end.grade_of("angle"), source=limit.source)  # fmt: skip
    return judge(limit, place, [case], why=why, change=change, grades=[end.grade_of("angle")])


# ---------------------------------------------------------------- clock angle


def clock(study: Study) -> list[Finding]:
    """`run.clock`: the angle between two angled ends by the run's way, held against a measured one."""
    return [_clock(study, made) for made in study.assemblies.values() if made.angled]


def _clock(study: Study, made: Assembly) -> Finding:
    given, found = made.run.clock, made.clock
    if given is None and found is None:
        why = words("Both ends are angled and the angle between them is not known.")
        needs = f"clock of {made.tag}: fit both ends finger tight on the vehicle and mark them"
        return unchecked("run.clock", made.tag, why, needs)
    if found is not None and given is not None and not made.run.via:
        found = None  # by two ports alone the elbows are only taken to look at each other
    if given is None or found is None:
        known = Quantity(found if given is None else given, "angle")  # type: ignore[arg-type]
        why = words("Clock angle {clock}, " + ("by its points." if given is None else "as measured."), clock=known)
        grade = _clock_grade(made) if given is None else Grade.MEASURED
        return Finding(rule="run.clock", place=made.tag, verdict=Verdict.PASS, why=why, value=known, basis=grade)
    limit = _clock_limit(study, made)
    apart = _apart(given, found)
    facts: dict[str, Quantity | str] = {
        "given": Quantity(given, "angle"),
        "found": Quantity(found, "angle"),
        "apart": Quantity(apart, "angle"),
    }
    mirrored = verdict_of(limit, _apart(2 * math.pi - given, found)) is Verdict.PASS

    def why_clock(verdict: Verdict, _case: Case) -> Words:
        if verdict is Verdict.PASS:
            return words("Measured {given}, by its points {found}.", **facts)
        text = "Measured {given}, but by its points {found}: {apart} apart."
        return words(text + (" It was counted clockwise." if mirrored else ""), **facts)

    def change_clock(_verdict: Verdict, _case: Case) -> Words:
        if mirrored:
            return words("Say clock = {found}: looking along the hose, counter-clockwise from the near end.", **facts)
        return words("Set both ends finger tight on the vehicle again, and measure the points nearest to them again.")

    case = Case(State(), Quantity(apart, "angle"))
    return judge(limit, made.tag, [case], why=why_clock, change=change_clock, grades=[_clock_grade(made)])


def _clock_limit(study: Study, made: Assembly) -> Limit:
    """The limit of the two angles: a caution from the tolerance of the bench for such a length on."""
    limit = study.plan.catalog.limit("run.clock")
    rows = [row for row in study.plan.catalog.tolerances("clock-angle") if row.holds(made.length or 0.0)]
    return limit.model_copy(update={"caution_above": rows[0].high.value, "source": rows[0].source}) if rows else limit


def _apart(a: float, b: float) -> float:
    """Two angles apart [rad], 0 to pi."""
    return abs((a - b + math.pi) % (2 * math.pi) - math.pi)


def _clock_grade(made: Assembly) -> Grade:
    return weakest(end.grade_of("angle") for end in made.chosen if end is not None)


# ---------------------------------------------------------------- what it comes near to


def clearance(study: Study) -> list[Finding]:
    """`run.clearance`: the gap from each run to the zones, less what brings them nearer."""
    zones = study.plan.zones
    return [f for made in study.assemblies.values() if zones and (f := _clearance(study, made)) is not None]


def _clearance(study: Study, made: Assembly) -> Finding | None:
    zones = {name: zone for name, zone in study.plan.zones.items() if made.tag not in zone.apart_from}
    if not zones:
        return None
    if made.route is None or not made.placed or made.astray:
        why = words("Where it runs is not known: what it comes near to cannot be told.")
        return unchecked("run.clearance", made.tag, why, f"the points of {made.tag} (via)")
    along = _along(made, made.route)
    found = [_to_zone(study, made, name, zone, along) for name, zone in zones.items()]
    order = [Verdict.FAIL, Verdict.CAUTION, Verdict.PASS]
    worst = min(found, key=lambda f: (order.index(f.verdict), f.margin.value if f.margin else 0.0))
    cases = tuple(case for finding in found for case in finding.cases)
    return Finding(
        rule="run.clearance",
        place=made.tag,
        verdict=worst.verdict,
        why=worst.why,
        change=worst.change,
        value=worst.value,
        low=worst.low,
        worst=worst.worst,
        cases=cases,
        basis=worst.basis,
        source=worst.source,
    )


@dataclass(frozen=True)
class _Along:
    """Points along a run from seat to seat, how far along each is [m], and how far its outside is from it [m]."""

    points: Array
    stations: Array
    outside: Array


def _along(made: Assembly, route: Route) -> _Along:
    """The hose, and at both ends the metal, which is at least as thick as its nut."""
    hose = route.line.sampled(STEP)
    first, last = (_metal(held) for held in route.held)
    points = np.concatenate([first, hose, last[::-1]])
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    half = made.stock.outside / 2
    nuts = [max(half, (joint.end_thread.hex or 0.0) / 2 if joint.end_thread else 0.0) for joint in made.joints]
    parts = zip((nuts[0], half, nuts[1]), (len(first), len(hose), len(last)), strict=True)
    outside = np.concatenate([np.full(n, size) for size, n in parts])
    return _Along(points, np.concatenate([[0.0], np.cumsum(steps)]), outside)


def _metal(held: Held) -> Array:
    """Points from a seat to the cut edge of its hose; only the seat where the hose goes over a spigot."""
    if held.end is not None and held.end.cutoff < 0:
        return held.seat[None, :]
    corners = [*held.metal, held.edge]
    return np.concatenate([np.linspace(a, b, max(math.ceil(float(np.linalg.norm(b - a)) / STEP), 1) + 1)
                           for a, b in pairwise(corners)])  # fmt: skip


def _to_zone(study: Study, made: Assembly, name: str, zone: ZoneTable, along: _Along) -> Finding:
    limit = study.plan.catalog.limit(f"run.clearance.{zone.nature}")
    if zone.keep is not None:
        limit = limit.model_copy(
            update={"fail_below": zone.keep, "caution_below": None, "source": "the plan's own gap"}
        )
    apart = gaps(zone, along.points) - along.outside
    i = int(apart.argmin())
    left = Quantity(float(apart[i]) - zone.nearer, "length")
    facts: dict[str, Quantity | str] = {
        "zone": name,
        "measured": Quantity(float(apart[i]), "length"),
        "nearer": Quantity(zone.nearer, "length"),
        "left": left,
        "at": Quantity(float(along.stations[i]), "length"),
    }
    wants = max(x for x in (limit.fail_below, limit.caution_below) if x is not None)
    facts["wants"] = Quantity(wants, "length")

    def why(verdict: Verdict, _case: Case) -> Words:
        if float(apart[i]) < 0:
            return words("It runs through {zone}, {at} from seat A.", **facts)
        text = "Nearest to {zone}, {at} from seat A: {measured}"
        text += ", less {nearer} that it grows, shakes and rolls nearer: {left} left" if zone.nearer else ""
        text += "." if verdict is Verdict.PASS else "; {wants} wanted."
        if verdict is Verdict.FAIL and zone.nature == "hot":
            text += " Soaked after shut-down it is hotter there than on the road."
        return words(text, **facts)

    def change(_verdict: Verdict, case: Case) -> Words:
        more = Quantity(wants - case.value.value, "length")
        text = "Move it {more:up} away"
        if zone.nature == "hot":
            text += "" if made.stock.rigid else "; or hard line there"
            text += "; or a shield on the chassis with an air gap; or, last of all, a sleeve"
        return words(text + ".", more=more)

    case = Case(State(station=name), left)
    return judge(limit, made.tag, [case], why=why, change=change)
