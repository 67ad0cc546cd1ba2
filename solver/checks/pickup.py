"""The oil pump's pickup: does low oil cover its mouth in every attitude?"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, Verdict, Words, unchecked, words
from lines.plan import PortTable
from solver.checks.judging import by_attitude, judge, sentence, untold
from solver.liquid import liquid_in
from solver.pool import capacity, volume_under

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.plan import Component
    from solver.liquid import Levels, Liquid
    from solver.study import Study

    Array = npt.NDArray[np.float64]

RULE = "sump.pickup"
_OUTSIDE = 0.010
"""Tape measure: how far a mouth may seem to lie outside the box that it lies in [m]."""
_AHEAD = (("toward the front", "toward the back"), ("toward the left", "toward the right"))


@dataclass(frozen=True)
class Mouth:
    """A pickup's mouth in the oil of its sump, at every attitude of a plan."""

    at: Array
    """Its centre, shape (3,) [m]; across is nan where only its height is known."""
    rim: Array
    """How far the highest of its rim lies over its centre, shape (attitudes,) [m]."""
    down: Array
    """Unit vectors of effective gravity, shape (attitudes, 3)."""
    surface: Array
    """Height of the oil along -down, shape (attitudes,) [m]; nan where it is not known."""

    @property
    def height(self) -> Array:
        """Of the highest of its rim along -down, shape (attitudes,) [m]."""
        # Where the vehicle stands level, what is not known of its place across does not count.
        along = np.where(self.down == 0, 0.0, self.at * self.down)
        return np.asarray(self.rim - along.sum(axis=1))

    @property
    def depth(self) -> Array:
        """Under the oil along effective gravity, shape (attitudes,) [m]; below 0 where it is bare, nan: not known."""
        return np.asarray(self.surface - self.height)

    def where(self, some: npt.NDArray[np.bool_]) -> Mouth:
        """The same in some of the attitudes only."""
        return replace(self, rim=self.rim[some], down=self.down[some], surface=self.surface[some])


def rim_over(port: PortTable, down: Array) -> Array:
    """How far the highest of a mouth's rim lies over its centre along each -down [m], shape (batch,).

    Args:
        port: with its bore and where it points; without either its mouth is taken for a point.
        down: unit vectors, shape (batch, 3).
    """
    if port.bore is None or port.points is None:
        return np.zeros(len(down))
    across = np.linalg.norm(np.cross(down, np.array(port.points)), axis=1)
    return np.asarray(port.bore / 2 * across)


def covered(study: Study) -> list[Finding]:
    """`sump.pickup`: of each sump, the depth of the pickup's mouth under low oil in every attitude."""
    return [_covered(study, c) for c in study.plan.components.values() if c.kind.id == "sump"]


def _covered(study: Study, sump: Component) -> Finding:
    port = sump.port("pickup")
    try:
        oil = liquid_in(sump, "low")
    except UnknownInputError as error:
        found = untold(RULE, sump.name, error)
        return found if port.z is not None else replace(found, needs=f"{_a_place(sump)}; and {found.needs}")
    if port.z is None:
        why = words("Where the pickup of {name} lies is not known.", name=sump.name)
        needs = [_a_place(sump), oil.needs] if oil.needs else [_a_place(sump)]
        return unchecked(RULE, sump.name, why, "; and ".join(needs))
    at = np.array(port.at if port.at is not None else (np.nan, np.nan, port.z))
    if oil.body is not None and port.at is not None and (far := _outside(oil.body, at)) > _OUTSIDE:
        why = words(
            "The mouth of the pickup lies {far} outside the box that holds the oil of {name}: one of them is wrong.",
            far=Quantity(far, "length"),
            name=sump.name,
        )
        return unchecked(RULE, sump.name, why, "both measured again from the plan's zero")
    return _judged(study, sump, oil, at)


def _judged(study: Study, sump: Component, oil: Liquid, at: Array) -> Finding:
    plan, port, limit = study.plan, sump.port("pickup"), study.plan.catalog.limit(RULE)
    names = list(plan.attitudes)
    down = np.stack([a.down for a in plan.attitudes.values()])
    levels = oil.levels(down)
    mouth = Mouth(at, rim_over(port, down), down, levels.heights)
    known = np.isfinite(mouth.depth)
    lasting = np.array([a.sustained for a in plan.attitudes.values()])
    bare = known & lasting & (mouth.depth < (limit.fail_below or 0.0))
    if not known.all() and not bare.any():
        return _untold(sump, levels, [n for n, told in zip(names, known, strict=True) if not told])
    cases = by_attitude([names[i] for i in np.flatnonzero(known)], mouth.depth[known], "length")
    room = _Room(oil, _most(sump), "every attitude" if known.all() else "every attitude that can be told")
    wanted = max(x for x in (limit.caution_below, limit.fail_below, 0.0) if x is not None)
    return judge(
        limit,
        sump.name,
        cases,
        why=_why,
        change=lambda _verdict, _case: _change(room, mouth.where(known), lasting[known], wanted),
        transient=[name for name, lasts in zip(names, lasting, strict=True) if not lasts],
    )


def _untold(sump: Component, levels: Levels, names: list[str]) -> Finding:
    why = words(
        "Whether low oil covers the pickup of {name} in {attitudes} cannot be told: {reason}.",
        name=sump.name,
        attitudes=", ".join(names),
        reason=levels.why or "only the height of its mouth is known, not its place",
    )
    needs = [levels.needs] if levels.needs else []
    if sump.port("pickup").at is None:
        needs.append(_a_place(sump))
    return unchecked(RULE, sump.name, why, "; and ".join(needs))


def _a_place(sump: Component) -> str:
    unit = "in" if sump.system == "us" else "mm"
    return f'ports.pickup = {{ at = "x, y, z {unit}" }} in [components.{sump.name}]'


def _outside(body: Array, point: Array) -> float:
    """How far a point lies outside the nearest box of a body [m]; 0 inside one.

    A coordinate that is not known does not count.
    """
    beyond = np.fmax(np.maximum(body[:, 0] - point, point - body[:, 1]), 0.0)
    return float(np.linalg.norm(beyond, axis=1).min())


# ---------------------------------------------------------------- in words


def _why(verdict: Verdict, case: Case) -> Words:
    if case.value.value < 0:
        over = Quantity(-case.value.value, "length")
        text = "In attitude {attitude} the mouth of the pickup stands {over} over low oil: the pump draws air."
        return words(text, attitude=case.state.attitude, over=over)
    text = "In attitude {attitude} low oil stands {depth} over the mouth of the pickup."
    if verdict is not Verdict.PASS:
        text = "In attitude {attitude} low oil stands only {depth} over the mouth of the pickup: it may draw air."
    return words(text, attitude=case.state.attitude, depth=case.value)


@dataclass(frozen=True, slots=True)
class _Room:
    """The low oil that a mouth is in, and the volume at the full mark [m3]; 0 where that is not known."""

    oil: Liquid
    most: float
    attitudes: str
    """Those that a change has to serve, in words."""


def _most(sump: Component) -> float:
    try:
        return liquid_in(sump, "full").volume or 0.0
    except UnknownInputError:
        return 0.0


def _change(room: _Room, mouth: Mouth, lasting: npt.NDArray[np.bool_], wanted: float) -> Words:
    """What covers a mouth by `wanted` [m] in every attitude, or else in those that last; only what does it alone."""
    facts: dict[str, Quantity | str] = {"wanted": Quantity(wanted, "length"), "where": room.attitudes}
    ways, parts = _ways(room, mouth, wanted)
    if ways:
        return words(_either(ways) + ": then {wanted} of oil stand over it in {where}.", **parts, **facts)
    standing = mouth.where(lasting)
    if (standing.depth < wanted).any():
        ways, parts = _ways(room, standing, wanted)
    baffles = "baffles with doors that hold oil around the pickup, a second pickup, or a dry sump."
    if not ways:
        why = "No lower mouth, no place beside it and no more oil, each alone, brings {wanted} of oil over it: "
        return words(why + "a deeper sump, " + baffles, **facts)
    then = ": then {wanted} of oil stand over it in every attitude that lasts. The others need "
    return words(_either(ways) + then + baffles, **parts, **facts)


def _either(ways: list[str]) -> str:
    return sentence(", or ".join(ways))


def _ways(room: _Room, mouth: Mouth, wanted: float) -> tuple[list[str], dict[str, Quantity | str]]:
    """Each thing that covers a mouth by `wanted` [m] in all of its attitudes, in words, and their quantities."""
    ways: list[str] = []
    parts: dict[str, Quantity | str] = {}
    if (lower := _lower(room.oil, mouth, wanted)) is not None:
        ways.append("set its mouth {lower:up} lower")
        parts["lower"] = Quantity(lower, "length")
    if (move := _aside(room.oil, mouth, wanted)) is not None:
        ways.append("move it {aside:up} {toward}")
        parts |= {"aside": Quantity(move[0], "length"), "toward": move[1]}
    if (more := _more_oil(room, mouth, wanted)) is not None:
        ways.append("keep {more:up} more oil in the sump than at its low mark")
        parts["more"] = Quantity(more, "oil_volume")
    return ways, parts


def _lower(oil: Liquid, mouth: Mouth, wanted: float) -> float | None:
    """How much lower [m] the mouth has to be, if it stays in the sump there."""
    lack = wanted - mouth.depth
    if (mouth.down[lack > 0, 2] >= 0).any():
        return None
    by = float((lack / -mouth.down[:, 2])[lack > 0].max())
    return by if _serves(oil, mouth, np.array([0.0, 0.0, -by]), wanted) else None


def _aside(oil: Liquid, mouth: Mouth, wanted: float) -> tuple[float, str] | None:
    """How far [m] and toward where the mouth has to be moved: the shorter of what serves along and across."""
    lack = wanted - mouth.depth
    worst = mouth.down[lack.argmax()]
    found = []
    for axis, (plus, minus) in enumerate(_AHEAD):
        sign = np.sign(worst[axis])
        low_side = sign * mouth.down[:, axis]
        if (low_side[lack > 0] <= 0).any():
            continue
        by = float((lack[lack > 0] / low_side[lack > 0]).max())
        step = np.zeros(3)
        step[axis] = sign * by
        if _serves(oil, mouth, step, wanted):
            found.append((by, plus if sign > 0 else minus))
    return min(found) if found else None


def _serves(oil: Liquid, mouth: Mouth, step: Array, wanted: float) -> bool:
    """Is the mouth, moved by a step [m], still in the sump and covered by `wanted` [m] in every attitude?"""
    there = replace(mouth, at=mouth.at + step)
    if oil.body is not None and not _outside(oil.body, there.at) <= 0:
        return False
    return bool((there.depth >= wanted - 1e-9).all())


def _more_oil(room: _Room, mouth: Mouth, wanted: float) -> float | None:
    """How much more oil [m3] covers the mouth by `wanted` [m] in every attitude, if that is no more than full."""
    oil = room.oil
    if oil.body is None or oil.volume is None:
        return None
    need = float(volume_under(oil.body, mouth.height + wanted, mouth.down).max())
    brimful = need >= capacity(oil.body)
    return need - oil.volume if need <= room.most and not brimful else None
