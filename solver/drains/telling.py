"""Drains in words: why one floods, how far the vehicle may lean, what would be enough to cure it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity
from lines.finding import Words, words
from lines.states import leans
from solver.drains.causes import Cause, Seal, cause, dip, seal
from solver.drains.cures import FARTHEST, MOVES, Cure, Ill, cures
from solver.drains.envelope import STEEPEST, WAYS, safe_tilts, warm_and_cold
from solver.drains.scavenging import sized
from solver.drains.surface import one
from solver.drains.turning import as_seen

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.plan import Plan
    from solver.drains.drain import Drain
    from solver.drains.stood import Stood
    from solver.drains.surface import States
    from solver.study import Study

    Array = npt.NDArray[np.float64]
    Facts = dict[str, Quantity | str]

MOST_CURES = 6
"""More than so many ways to cure one thing nobody reads."""


COUNTS = 0.005
"""A height under this is not worth a word [m]."""
LEVEL_GROUND = math.radians(1)
"""A vehicle that leans by less stands level."""


# ---------------------------------------------------------------- why


def where_it_floods(drain: Drain) -> str:
    """What the oil must not reach, as a part of a sentence about `{turbo}`."""
    return "the middle of the outlet of {turbo}" if drain.floods_by_default else "the height at which {turbo} floods"


def why_it_floods(plan: Plan, stands: Stood, row: int) -> Words:
    """Why a drain floods in one of its states, with the place."""
    drain, state = stands.drain, one(stands.states, row)
    found = cause(drain, state)
    facts: Facts = {
        "attitude": stands.names[row].attitude,
        "duty": stands.names[row].duty,
        "turbo": drain.turbo,
        "over": Quantity(-float(stands.clearance[row]), "length"),
        "temperature": Quantity(float(drain.temperature[state.duty[0]]), "temperature"),
    }
    because, more = _BECAUSE[found](plan, stands, row)
    lift = by_pressure(drain, state)
    if found is not Cause.PRESSURE and lift > COUNTS:
        because += "; {lifted} of that height is crankcase pressure"
        because += "" if found is Cause.TOGETHER else ", {pressed} over the housing's"
        pressed = Quantity(float(state.over[0]), "gas_drop")
        more = more | {"lifted": Quantity(lift, "length"), "pressed": pressed}
    text = (
        f"In attitude {{attitude}} at {{duty}} oil stands {{over}} over {where_it_floods(drain)} and floods it: "
        + because
    )
    return Words(text + ".", facts | more)


def by_pressure(drain: Drain, state: States) -> float:
    """By how much crankcase pressure lifts what stands in a drain in one state [m]."""
    calm = replace(state, over=np.minimum(state.over, 0.0))
    return float(drain.clearance(calm)[0] - drain.clearance(state)[0])


def _uphill(_plan: Plan, stands: Stood, row: int) -> tuple[str, Facts]:
    """The highest place that the oil has to pass."""
    line = stands.drain.line
    upper, lower = (level[row] for level in stands.surface.invert)
    heights = np.concatenate([upper, lower[-1:]])
    crest = int(heights.argmax())
    run, along = line.place(crest)
    rises = float(heights[crest] - heights[0])
    if rises <= 0:
        return "it has hardly any fall", {}
    facts: Facts = {"rise": Quantity(rises, "length"), "run": run, "along": Quantity(along, "length")}
    return "it runs uphill there, by {rise} to {along} from end A of {run}", facts


def _dip(_plan: Plan, stands: Stood, row: int) -> tuple[str, Facts]:
    found = dip(stands.drain, one(stands.states, row))
    assert found is not None
    run, along = stands.drain.line.place(found.low)
    facts: Facts = {"dip": Quantity(found.depth, "length"), "run": run, "along": Quantity(along, "length")}
    return "a dip of {dip}, lowest {along} from end A of {run}, stands full", facts


def _pressure(_plan: Plan, stands: Stood, row: int) -> tuple[str, Facts]:
    drain, duty = stands.drain, int(stands.states.duty[row])
    what, facts = _sealed(stands, row)
    found = seal(stands.surface, row)
    above = drain.foams[: int(drain.line.run[found[1]]) + 1] if found else drain.foams
    weight = min(float(foam.density[duty]) for foam in above) * float(np.linalg.norm(stands.states.gravity[row]))
    over = float(stands.states.over[row])
    facts |= {"pressure": Quantity(over, "gas_drop"), "lift": Quantity(over / weight, "length")}
    return (
        f"{what}, and crankcase pressure, {{pressure}} over the housing's, lifts the oil behind it by {{lift}}",
        facts,
    )


def _sealed(stands: Stood, row: int) -> tuple[str, Facts]:
    found = seal(stands.surface, row)
    if found is None:
        return "oil seals it", {}
    what, piece = found
    run, along = stands.drain.line.place(piece)
    facts: Facts = {"run": run, "along": Quantity(along, "length")}
    if what is Seal.END:
        facts |= {"under": Quantity(-float(stands.outlet[row]), "length"), "sump": stands.drain.sump}
        return "the middle of its end is {under} under the oil in {sump}", facts
    hole = dip(stands.drain, one(stands.states, row))
    if what is Seal.DIP and hole is not None:
        run, along = stands.drain.line.place(hole.low)
        facts = {"run": run, "along": Quantity(along, "length"), "dip": Quantity(hole.depth, "length")}
        return "a dip of {dip}, lowest {along} from end A of {run}, stands full", facts
    return "it runs full {along} from end A of {run}", facts


def _oil(_plan: Plan, stands: Stood, row: int) -> tuple[str, Facts]:
    facts: Facts = {
        "under": Quantity(-float(stands.outlet[row]), "length"),
        "sump": stands.drain.sump,
        "port": stands.drain.line.inlet,
    }
    return "the oil in {sump} covers its end at {port} by {under} and stands up to the turbocharger", facts


def _flow(_plan: Plan, stands: Stood, row: int) -> tuple[str, Facts]:
    drain, duty = stands.drain, int(stands.states.duty[row])
    full = np.flatnonzero(stands.surface.normal[row] >= 1.0)
    foam = drain.foams[0]
    facts: Facts = {
        "flow": Quantity(float(foam.flow[duty]), "oil_flow"),
        "temperature": Quantity(float(drain.temperature[duty]), "temperature"),
    }
    if not full.size:
        text = "{flow} of foam at {temperature} stand over half of the bore where they enter it"
        if drain.floods_by_default:
            text += " (floods_at in [components.{turbo}], the height at which its housing floods, tells more truly)"
            facts["turbo"] = drain.turbo
        return text, facts
    piece = int(full[0])
    run, along = drain.line.place(piece)
    facts |= {
        "run": run,
        "along": Quantity(along, "length"),
        "bore": Quantity(float(drain.line.bore[piece]), "bore"),
        "fall": Quantity(math.asin(float(stands.surface.fall[row, piece])), "slope"),
    }
    if stands.surface.fall[row, piece] <= 0:
        text = "{flow} of foam at {temperature} back up behind a length that does not fall, {along} from end A of {run}"
        return text, facts
    text = "{flow} of foam at {temperature} fill its bore of {bore}, {along} from end A of {run}, where it falls {fall}"
    return text, facts


def _together(plan: Plan, stands: Stood, row: int) -> tuple[str, Facts]:
    sealed, facts = _sealed(stands, row)
    text, flow = _flow(plan, stands, row)
    over = float(stands.states.over[row])
    flow = {f"{key}_in": fact for key, fact in flow.items()}
    for key in flow:
        text = text.replace("{" + key.removesuffix("_in") + "}", "{" + key + "}")
    both = facts | flow | {"pressure": Quantity(over, "gas_drop")}
    if over <= 0.0:
        return f"{sealed}, and {text}", both
    return f"{sealed}, crankcase pressure is {{pressure}} over the housing's, and {text}", both


_BECAUSE = {
    Cause.UPHILL: _uphill,
    Cause.DIP: _dip,
    Cause.PRESSURE: _pressure,
    Cause.OIL: _oil,
    Cause.FLOW: _flow,
    Cause.TOGETHER: _together,
}


# ---------------------------------------------------------------- how far the vehicle may lean


def safe_words(drain: Drain) -> Words:
    """The largest safe climb, descent and side slope, warm and cold."""
    if not drain.leans:
        return words("How far the vehicle may lean cannot be told without the box of {sump}.", sump=drain.sump)
    parts, facts = [], dict[str, Quantity | str]()
    for oil, duties in warm_and_cold(drain).items():
        found = safe_tilts(drain, np.array(list(WAYS.values())), duties).tolist()
        keys = {way: f"{oil}_{way}".replace(" ", "_") for way in WAYS}
        if any(math.isnan(tilt) for tilt in found):
            parts.append(f"{oil} not even on level ground")
            continue
        facts |= {keys[way]: _tilt(tilt) for way, tilt in zip(WAYS, found, strict=True)}
        parts.append(f"{oil} " + ", ".join(f"{way} {{{keys[way]}}}" for way in WAYS))
    return Words("As far as this drain goes the vehicle may lean: " + "; ".join(parts) + ".", facts)


def _tilt(tilt: float) -> Quantity | str:
    if math.isnan(tilt):
        return "nothing: it floods on level ground"
    if tilt >= STEEPEST:
        return "60 deg and more"
    return Quantity(math.floor(math.degrees(tilt) * 10) / 10 * math.pi / 180, "slope")


# ---------------------------------------------------------------- what to do


def cure_words(study: Study, stands: Stood, row: int, *, lasting: bool) -> Words:
    """What would be enough, each with how far the vehicle may lean then.

    Args:
        study: the plan and what follows from it.
        stands: one of its drains, in the states of the plan.
        row: the state that floods the most.
        lasting: is it enough that it works where an attitude lasts?
    """
    wanted = np.flatnonzero(stands.told & (stands.lasts if lasting else True))
    states = stands.states.rows(wanted)
    drain = stands.drain
    tilt, toward = (float(x) for x in leans(stands.states.gravity[row]))
    bearing = toward if tilt > LEVEL_GROUND else None
    state = one(stands.states, row)
    wider = cause(drain, state) in {Cause.FLOW, Cause.TOGETHER}
    ill = Ill(study, drain, states, bearing)
    found, first, facts = cures(ill, wider=wider), "", dict[str, Quantity | str]()
    if by_pressure(drain, state) > COUNTS and all(cure.what != "pressure" for cure in found):
        first = "Bring the crankcase's pressure down before anything else: see breather.pressure. "
        if not found:
            found = cures(ill.without_pressure, wider=wider)
            first += "With no more of it than in the housing, " if found else ""
    way = "every way" if bearing is None else f"with {_way(bearing)}"
    texts = []
    for i, cure in enumerate(found[:MOST_CURES]):
        text, more = _cure(study.plan, drain, cure)
        for key, fact in more.items():
            text = text.replace("{" + key, "{" + f"{key}_{i}")
            facts[f"{key}_{i}"] = fact
        facts[f"tilt_{i}"] = _tilt(cure.tilt)
        texts.append(f"{text} (then up to {{tilt_{i}}} {way})")
    pump = sized(study.plan, drain)
    rather = pump.text or "a scavenge pump"
    facts |= pump.parts
    if not texts:
        facts["farthest"] = Quantity(FARTHEST, "length")
        text = f"{first}No move of either end by up to {{farthest}} and no wider hose is enough: fit {rather}."
        return Words(text, facts)
    for_what = " wherever an attitude lasts" if lasting and not stands.lasts.all() else ""
    enough = f"{'one' if first.endswith(', ') else 'One'} of these is enough{for_what}: "
    return Words(first + enough + "; ".join(texts) + f"; or {rather}.", facts)


def _way(bearing: float) -> str:
    """What leaning toward a bearing is called."""
    names = {
        0.0: "the nose down",
        math.pi: "the nose up",
        math.pi / 2: "the left side low",
        -math.pi / 2: "the right side low",
    }
    near = min(names, key=lambda b: abs(math.remainder(bearing - b, 2 * math.pi)))
    return names[near]


_DONE = {
    "straight": "the hose straight from end to end",
    "turbo up": "{turbo} {by:up} higher",
    "end down": "the end at {port} {by:up} down",
    "end up": "the end at {port} {by:up} up",
    "end back": "the end at {port} {by:up} back",
    "end forward": "the end at {port} {by:up} forward",
    "end to the left": "the end at {port} {by:up} to the left",
    "end to the right": "the end at {port} {by:up} to the right",
    "size": "{runs} in {stock}, with its ends and ports of its size",
    "turn": "its housing turned {angle} {way} about the shaft, seen from its {end} end",
    "pressure": "crankcase pressure no more than {left:down} over the housing's",
}
"""What a cure is, in words."""


def _cure(plan: Plan, drain: Drain, cure: Cure) -> tuple[str, Facts]:
    text, facts = _DONE[cure.what], _facts_of(plan, drain, cure)
    moved = drain.line.runs[0 if cure.what == "turbo up" else -1]
    if cure.straight:
        text += "" if cure.what == "straight" else " and the hose straight"
        text += ", both ports pointing along it"
    elif cure.what in MOVES and plan.runs[moved].via:
        facts["moved"] = moved
        text += " with the points of {moved} drawn along, less and less toward its other end"
    if cure.stock is not None:
        facts |= {"stock": cure.stock.id, "runs": " and ".join(drain.line.runs)}
        text += "" if cure.what == "size" else ", {runs} in {stock}"
    return text, facts


def _facts_of(plan: Plan, drain: Drain, cure: Cure) -> Facts:
    if cure.what == "turn":
        end, way = as_seen(np.array(plan.components[drain.turbo].figures["shaft"]), cure.by)
        return {"angle": Quantity(abs(cure.by), "angle"), "end": end, "way": way}
    if cure.what == "pressure":
        return {"left": Quantity(cure.by, "gas_drop")}
    return {"by": Quantity(cure.by, "length"), "turbo": drain.turbo, "port": drain.line.inlet}
