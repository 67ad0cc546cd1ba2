"""How a turbocharger stands on level ground: its oil outlet near plumb, its shaft near level, its water rising.

All three turn together. The centre housing is clamped between the two others and can be turned about the shaft: water
wants it tilted, so that it goes on flowing after shut-down; oil wants its outlet plumb.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial.transform import Rotation

from catalogs.grades import Grade
from catalogs.units import Quantity
from lines.finding import NOTHING, Case, Finding, State, Verdict, Words, unchecked, words
from lines.states import LEVEL, leans
from solver.checks.judging import judge
from solver.checks.scavenge import drained_by, pumps
from solver.drains.turning import ENDS, as_seen

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from catalogs.records import Limit
    from lines.plan import Component, Plan
    from solver.study import Study

    Array = npt.NDArray[np.float64]

HERE = State(attitude=LEVEL.name)
WATER = ("water_in", "water_out")


def _turbochargers(study: Study) -> list[Component]:
    return [c for c in study.plan.components.values() if c.kind.id == "turbocharger"]


# ---------------------------------------------------------------- the oil outlet


def flange(study: Study) -> list[Finding]:
    """`turbo.flange`: how far each oil outlet points away from straight down, the vehicle level."""
    return [_flange(study, turbo) for turbo in _turbochargers(study)]


def _flange(study: Study, turbo: Component) -> Finding:
    points = turbo.port("drain").points
    if points is None:
        why = words("Which way its oil outlet points is not stated: how far that is from plumb cannot be told.")
        needs = (
            "lay an angle finder on the face of its oil outlet, the vehicle level, and write it as points of "
            'ports.drain: points = "down", or points = "down 10 deg back"'
        )
        return unchecked("turbo.flange", turbo.name, why, needs)
    case = Case(HERE, Quantity(float(leans(points)[0]), "slope"))

    def judged(limit: Limit, why: Callable[[Verdict, Case], Words], *, pumped: bool) -> Finding:
        def change(_verdict: Verdict, _case: Case) -> Words:
            return _turn_to_plumb(study.plan, turbo, limit, or_pump="" if pumped else ", or fit a scavenge pump")

        return judge(limit, turbo.name, [case], why=why, change=change)

    limits = study.plan.catalog
    found = judged(_own(limits.limit("turbo.flange"), turbo, "flange_limit"), _why_flange, pumped=False)
    if found.verdict is Verdict.PASS or not _scavenged(study, turbo):
        return found
    return replace(judged(limits.limit("turbo.flange.pumped"), _why_pumped, pumped=True), rule="turbo.flange")


def _why_flange(verdict: Verdict, case: Case) -> Words:
    text = "Its oil outlet points {off} away from straight down, the vehicle level"
    ends = {
        Verdict.PASS: ".",
        Verdict.CAUTION: ": foam leaves it slowly, and what stands in the housing goes past the seals.",
        Verdict.FAIL: ": oil stands in the housing and goes past the seals into the exhaust and the intake.",
    }
    return words(text + ends[verdict], off=case.value)


def _why_pumped(verdict: Verdict, case: Case) -> Words:
    text = (
        "Its oil outlet points {off} away from straight down: no pump draws oil that does not come to it. It stands in "
        "the housing up to the outlet, and goes past the seals into the exhaust and the intake."
    )
    if verdict is Verdict.PASS:
        text = (
            "Its oil outlet points {off} away from straight down. By gravity that is too much; a scavenge pump draws "
            "its oil off, which is what is asked for then."
        )
    return words(text, off=case.value)


_ASKEW = (
    ". It lies {askew} off square to the shaft, which a housing's own outlet does not: measure both again, or take off "
    "the elbow that turns it{or_pump}."
)
_TILTED = ". The shaft is {tilt} from level: bring that down{or_pump}."


def _turn_to_plumb(plan: Plan, turbo: Component, limit: Limit, *, or_pump: str) -> Words:
    """How to bring the outlet within its limit: by a turn about the shaft where it is known how that lies."""
    points, shaft = turbo.port("drain").points, turbo.figures.get("shaft")
    assert points is not None
    goal = _goal(limit)
    elbow = " If an elbow is on it already, go by the housing's own face."
    if shaft is None:
        text = (
            "Turn the centre housing about its shaft until the outlet is {lacks} nearer to straight down{or_pump}. "
            "With shaft stated (which way the shaft lies) it is worked out which way to turn."
        )
        return words(text + elbow, lacks=Quantity(float(leans(points)[0]) - goal, "slope"), or_pump=or_pump)
    axis = np.array(shaft)
    turn, best_turn, best = turning(np.array(points), axis, goal)
    end, way = as_seen(axis, best_turn)
    facts: dict[str, Quantity | str] = {
        "turn": Quantity(abs(turn), "angle"),
        "best_turn": Quantity(abs(best_turn), "angle"),
        "best": Quantity(best, "slope"),
        "goal": Quantity(goal, "slope"),
        "way": way,
        "end": end,
        "or_pump": or_pump,
    }
    if best > goal:
        text = "However the centre housing is turned about its shaft, its outlet stays {best} or more from plumb"
        least = "; it is that when turned {best_turn} {way} as seen from its {end} end" if best_turn else ""
        askew, tilt = math.asin(min(1.0, abs(float(np.dot(points, axis))))), abs(_rise_of(axis))
        facts |= {"askew": Quantity(askew, "angle"), "tilt": Quantity(tilt, "angle")}
        return words(text + least + (_ASKEW if askew > tilt else _TILTED), **facts)
    text = (
        "Loosen the centre housing and turn it about its shaft, {way} as seen from its {end} end: {turn} and the "
        "outlet is within {goal} of plumb, {best_turn} and it is as plumb as turning makes it ({best})."
    )
    water_too = _water_after(plan, turbo, turn * axis)
    return words(text + water_too.text + elbow, **facts, **water_too.parts)


def _water_after(plan: Plan, turbo: Component, turn: Array) -> Words:
    """What a turn about the shaft [rad] does to the water, where that is known."""
    line = _water_line(plan, turbo)
    if line is None:
        return NOTHING
    limit = plan.catalog.limit("turbo.water")
    rise, most = _rise_of(Rotation.from_rotvec(turn).apply(line)), limit.caution_above or math.pi / 2
    facts = {"rise": Quantity(abs(rise), "slope"), "most": Quantity(most, "slope")}
    if rise < (limit.caution_below or 0.0):
        text = " Its water inlet then stands higher than its outlet, by {rise}: swap the two water hoses."
        return words(text, **facts)
    over = ", over the {most} that it should at most: turn it no farther than the oil asks for" if rise > most else ""
    return words(" Its water then rises {rise} from inlet to outlet" + over + ".", **facts)


def turning(outlet: Array, shaft: Array, within: float) -> tuple[float, float, float]:
    """The turns about a shaft that bring an outlet nearest to straight down.

    A turn keeps the outlet's angle a to the shaft. With b the angle of straight down to it, and t what is left to turn
    until both lie in one plane with the shaft, the outlet is c from plumb: cos c = cos a cos b + sin a sin b cos t
    (the cosine rule of spherical trigonometry); at t = 0 that is |a - b|, its least.

    Args:
        outlet: unit vector of the outlet in vehicle axes, shape (3,) [-].
        shaft: unit vector along the shaft, shape (3,) [-].
        within: the angle from plumb that is wanted [rad].

    Returns:
        the least turn that brings the outlet within the angle (the best one, where none does), the turn that brings it
        nearest, both right-handed about the shaft [rad]; and how far from plumb it is then [rad].

    >>> turn, best_turn, best = turning(np.array([0, 0.6, -0.8]), np.array([1.0, 0, 0]), math.radians(15))
    >>> [round(math.degrees(x), 1) for x in (turn, best_turn, best)]
    [-21.9, -36.9, 0.0]
    """
    plumb = LEVEL.down
    along, plumb_along = float(outlet @ shaft), float(plumb @ shaft)
    aside, plumb_aside = outlet - along * shaft, plumb - plumb_along * shaft
    reach = float(np.linalg.norm(aside) * np.linalg.norm(plumb_aside))
    if reach < 1e-9:  # the outlet along the shaft, or the shaft plumb: a turn changes nothing
        return 0.0, 0.0, float(leans(outlet)[0])
    best_turn = math.atan2(float(shaft @ np.cross(aside, plumb_aside)), float(aside @ plumb_aside))
    best = abs(
        math.atan2(float(np.linalg.norm(aside)), along) - math.atan2(float(np.linalg.norm(plumb_aside)), plumb_along)
    )
    left = math.acos(min(1.0, max(-1.0, (math.cos(within) - along * plumb_along) / reach)))
    return math.copysign(max(abs(best_turn) - left, 0.0), best_turn), best_turn, best


def _scavenged(study: Study, turbo: Component) -> bool:
    """Does its drain lead to a scavenge pump?"""
    return any(turbo.name in drained_by(study, pump) for pump in pumps(study))


# ---------------------------------------------------------------- the shaft


def shaft(study: Study) -> list[Finding]:
    """`turbo.shaft`: how far each shaft is from level, the vehicle level."""
    return [_shaft(study.plan, turbo) for turbo in _turbochargers(study)]


def _shaft(plan: Plan, turbo: Component) -> Finding:
    stated = turbo.figures.get("shaft")
    if stated is None:
        why = words("Which way its shaft lies is not stated: how far it is from level cannot be told.")
        needs = (
            "lay an angle finder along the shaft, from compressor to turbine, the vehicle level, and write which way "
            'it lies: shaft = "forward", or shaft = "left 5 deg up"'
        )
        return unchecked("turbo.shaft", turbo.name, why, needs)
    axis = np.array(stated)
    tilt = abs(_rise_of(axis))
    limit = _own(plan.catalog.limit("turbo.shaft"), turbo, "shaft_limit")
    low = axis if axis[2] < 0 else -axis
    across = int(np.abs(low[:2]).argmax())
    end = ENDS[across][0 if low[across] > 0 else 1]

    def change(_verdict: Verdict, case: Case) -> Words:
        text = "Its {end} end is the low one: raise that by {lacks} or more, at the manifold or its flange."
        return words(text, end=end, lacks=Quantity(case.value.value - _goal(limit), "slope"))

    def why_shaft(verdict: Verdict, case: Case) -> Words:
        text = "Its shaft is {tilt} from level, the vehicle level"
        bad = ": oil runs to the bearing at its {end} end, and past the seal there."
        return words(text + ("." if verdict is Verdict.PASS else bad), tilt=case.value, end=end)

    return judge(limit, turbo.name, [Case(HERE, Quantity(tilt, "slope"))], why=why_shaft, change=change)


# ---------------------------------------------------------------- the water


def water(study: Study) -> list[Finding]:
    """`turbo.water`: how far the water of each water-cooled housing rises from its inlet to its outlet."""
    return [_water(study.plan, turbo) for turbo in _turbochargers(study) if _has_water(study.plan, turbo)]


def _has_water(plan: Plan, turbo: Component) -> bool:
    used = {ref for run in plan.runs.values() for ref in (run.start, run.end)}
    return {f"{turbo.name}.{port}" for port in WATER} <= used


def _water(plan: Plan, turbo: Component) -> Finding:
    line = _water_line(plan, turbo)
    if line is None:
        why = words("Where its two water ports are is not stated: whether the water rises through it cannot be told.")
        needs = 'the places of both water ports: ports.water_in and ports.water_out, each with at = "x, y, z"'
        return unchecked("turbo.water", turbo.name, why, needs)
    limit = _with_others(plan.catalog.limit("turbo.water"))
    case = Case(HERE, Quantity(_rise_of(line), "slope"))
    return judge(limit, turbo.name, [case], why=_why_water, change=lambda _v, c: _turn_water(limit, turbo, c))


def _why_water(verdict: Verdict, case: Case) -> Words:
    rise = case.value
    if verdict is Verdict.PASS:
        return words("Its water rises {rise} from inlet to outlet: it goes on flowing after shut-down.", rise=rise)
    if rise.value > 0.0:
        text = (
            "Its water ports stand {rise} from level. Water wants some of that, so that it goes on flowing after "
            "shut-down; but the oil outlet turns with it, and wants to be plumb."
        )
        return words(text, rise=rise)
    text = (
        "Its water does not rise from inlet to outlet ({rise}): after shut-down it stands still, and the turbine's "
        "heat bakes the oil in the bearings."
    )
    return words(text, rise=rise)


def _turn_water(limit: Limit, turbo: Component, case: Case) -> Words:
    rise, most = case.value.value, limit.caution_above or 0.0
    facts = {"rise": Quantity(abs(rise), "slope"), "most": Quantity(most, "slope")}
    if rise < -(limit.caution_below or 0.0):
        return words("Swap its two water hoses: cold in at the lower port, hot out at the upper.")
    if rise <= (limit.caution_below or 0.0):
        text = "Turn the centre housing so that the water outlet stands higher than the inlet, by {most} at most."
        return words(text, **facts)
    points = turbo.port("drain").points
    text = "Turn the centre housing about its shaft so that they stand {lacks} less from level."
    facts["lacks"] = Quantity(rise - most, "slope")
    if points is not None:
        text += " Its oil outlet is {off} from plumb: turn it so that this gets less too, and see turbo.flange."
        facts["off"] = Quantity(float(leans(points)[0]), "slope")
    return words(text, **facts)


def _water_line(plan: Plan, turbo: Component) -> Array | None:
    """From the water inlet to the water outlet [m]; None where a place is not known or no water is led to it."""
    inlet, outlet = (turbo.port(port).at for port in WATER)
    if not _has_water(plan, turbo) or inlet is None or outlet is None or inlet == outlet:
        return None
    return np.subtract(outlet, inlet)


# ---------------------------------------------------------------- what they share


def _rise_of(vector: Array) -> float:
    """How far a vector points up from level [rad]."""
    return math.atan2(float(vector[2]), math.hypot(float(vector[0]), float(vector[1])))


def _goal(limit: Limit) -> float:
    """The most that passes [rad]."""
    assert limit.most is not None
    return limit.most


def _own(limit: Limit, turbo: Component, figure: str) -> Limit:
    """The limit that a turbocharger's own maker states, or the common one."""
    stated = turbo.figures.get(figure)
    if stated is None:
        return _with_others(limit)
    own = {
        "caution_above": None,
        "fail_above": min(stated.values.values()),
        "source": f"as its maker states: {figure} of {turbo.name}",
        "grade": Grade.PUBLISHED,
    }
    return limit.model_copy(update=own)


def _with_others(limit: Limit) -> Limit:
    """The limit with what others of the trade say in its source, which is printed."""
    return limit.model_copy(update={"source": "; ".join([limit.source, *limit.disagree])})
