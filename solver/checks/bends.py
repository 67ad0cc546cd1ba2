"""The bends of a run against what its stock allows, and what would cure them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from catalogs.units import Quantity
from lines.cures import other_ends, other_stocks
from lines.ends import BOTH, port_of
from lines.finding import NOTHING, Finding, State, Verdict, Words, unchecked, words

if TYPE_CHECKING:
    from lines.assembly import Assembly
    from lines.route import Route
    from solver.study import Study


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
