"""What pumps draw from: is the mouth of a sump's pickup, of a tank's outlet, under low liquid in every attitude?"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, Verdict, Words, unchecked, words
from lines.plan import PortTable
from solver.along import line_to
from solver.checks.judging import by_attitude, judge, sentence, untold
from solver.fuels import fuel_circuits, pumps
from solver.liquid import liquid_in
from solver.pool import capacity, volume_under

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.plan import Component
    from solver.liquid import Levels, Liquid
    from solver.study import Study

    Array = npt.NDArray[np.float64]

_OUTSIDE = 0.010
"""Tape measure: how far a mouth may seem to lie outside the box that it lies in [m]."""
_BUNG = 0.060
"""How far a tank's port may stand out of its box, with its bung and its adapter [m]."""
TANKS = {"tank", "surge-tank"}
_AHEAD = (("toward the front", "toward the back"), ("toward the left", "toward the right"))


@dataclass(frozen=True)
class Drawn:
    """A place in a sump or a tank that a pump draws from."""

    rule: str
    owner: Component
    name: str
    """Of its port."""
    tank: bool

    @property
    def port(self) -> PortTable:
        return self.owner.port(self.name)

    @property
    def place(self) -> str:
        return f"{self.owner.name}.{self.name}" if self.tank else self.owner.name

    @property
    def liquid(self) -> str:
        return "fuel" if self.tank else "oil"

    @property
    def mouth(self) -> str:
        return f"the mouth of {self.name}" if self.tank else "the mouth of the pickup"

    @property
    def at(self) -> tuple[float, float, float] | None:
        """Where the mouth is: of a tube inside where it ends [m]."""
        return self.port.reaches or self.port.at

    @property
    def z(self) -> float | None:
        return self.at[2] if self.at is not None else self.port.z

    @property
    def needs(self) -> str:
        """What to write where its place is not known."""
        unit = "in" if self.owner.system == "us" else "mm"
        return f'ports.{self.name} = {{ at = "x, y, z {unit}" }} in [components.{self.owner.name}]'


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
    """`sump.pickup` of each sump and `fuel.pickup` of each outlet of a fuel tank.

    The depth of the mouth under the liquid at its low level, in every attitude.
    """
    sumps = [c for c in study.plan.components.values() if c.kind.id == "sump"]
    found = [_covered(study, Drawn("sump.pickup", sump, "pickup", tank=False)) for sump in sumps]
    return found + [_covered(study, drawn) for drawn in _outlets(study)]


def _outlets(study: Study) -> list[Drawn]:
    """The ports of tanks that fuel pumps draw from."""
    found: dict[str, Drawn] = {}
    for circuit in fuel_circuits(study):
        for pump in pumps(circuit):
            way = line_to(circuit, pump.start)
            mouth = way[0][0] if way else None
            if mouth is not None and mouth.component is not None and mouth.component.kind.id in TANKS:
                found[mouth.end] = Drawn("fuel.pickup", mouth.component, mouth.end.partition(".")[2], tank=True)
    return list(found.values())


def _covered(study: Study, drawn: Drawn) -> Finding:
    owner = drawn.owner
    try:
        held = liquid_in(owner, "low")
    except UnknownInputError as error:
        found = untold(drawn.rule, drawn.place, error)
        return found if drawn.z is not None else replace(found, needs=f"{drawn.needs}; and {found.needs}")
    if drawn.z is None:
        why = words(f"Where {drawn.mouth} of {{name}} lies is not known.", name=owner.name)
        needs = [drawn.needs, held.needs] if held.needs else [drawn.needs]
        return unchecked(drawn.rule, drawn.place, why, "; and ".join(needs))
    at = np.array(drawn.at if drawn.at is not None else (np.nan, np.nan, drawn.z))
    if held.body is not None and drawn.at is not None:
        if (far := _outside(held.body, at)) > (_BUNG if drawn.tank and drawn.port.reaches is None else _OUTSIDE):
            why = words(
                f"{sentence(drawn.mouth)} lies {{far}} outside the box that holds the {drawn.liquid} of {{name}}: one "
                "of them is wrong.",
                far=Quantity(far, "length"),
                name=owner.name,
            )
            return unchecked(drawn.rule, drawn.place, why, "both measured again from the plan's zero")
        at = _within(held.body, at) if drawn.tank else at
    return _judged(study, drawn, held, at)


def _judged(study: Study, drawn: Drawn, held: Liquid, at: Array) -> Finding:
    plan, port, limit = study.plan, drawn.port, study.plan.catalog.limit(drawn.rule)
    names = list(plan.attitudes)
    down = np.stack([a.down for a in plan.attitudes.values()])
    levels = held.levels(down)
    rim = np.zeros(len(down)) if drawn.port.reaches is not None else rim_over(port, down)
    mouth = Mouth(at, rim, down, levels.heights)
    known = np.isfinite(mouth.depth)
    lasting = np.array([a.sustained for a in plan.attitudes.values()])
    bare = known & lasting & (mouth.depth < (limit.fail_below or 0.0))
    if not known.all() and not bare.any():
        return _untold(drawn, levels, [n for n, told in zip(names, known, strict=True) if not told])
    cases = by_attitude([names[i] for i in np.flatnonzero(known)], mouth.depth[known], "length")
    room = _Room(
        drawn, held, _most(drawn.owner), "every attitude" if known.all() else "every attitude that can be told"
    )
    wanted = limit.least or 0.0
    judged = judge(
        limit,
        drawn.place,
        cases,
        why=lambda verdict, case: _why(drawn, verdict, case),
        change=lambda _verdict, _case: _change(room, mouth.where(known), lasting[known], wanted),
        transient=[name for name, lasts in zip(names, lasting, strict=True) if not lasts],
    )
    return _on_level_only(judged) if drawn.tank and len(names) == 1 and judged.verdict is Verdict.PASS else judged


def _on_level_only(passed: Finding) -> Finding:
    """What passes in a plan that says of no slope, no corner and no braking."""
    text = passed.why.text + " That is level ground only: the plan has no [attitudes]."
    needs = 'how it leans and drives, under [attitudes]: corner_left = { like = "corner-left" }, braking = { like = '
    return unchecked(passed.rule, passed.place, Words(text, passed.why.parts), needs + '"braking" } and their kin')


def _untold(drawn: Drawn, levels: Levels, names: list[str]) -> Finding:
    why = words(
        "Whether low {liquid} covers {mouth} of {name} in {attitudes} cannot be told: {reason}.",
        liquid=drawn.liquid,
        mouth=drawn.mouth if drawn.tank else "the pickup",
        name=drawn.owner.name,
        attitudes=", ".join(names),
        reason=levels.why or "only the height of its mouth is known, not its place",
    )
    needs = [levels.needs] if levels.needs else []
    if drawn.at is None:
        needs.append(drawn.needs)
    return unchecked(drawn.rule, drawn.place, why, "; and ".join(needs))


def _within(body: Array, point: Array) -> Array:
    """The place in the nearest box of a body to a point [m]."""
    inside = np.clip(point, body[:, 0], body[:, 1])
    return np.asarray(inside[int(np.linalg.norm(inside - point, axis=1).argmin())])


def _outside(body: Array, point: Array) -> float:
    """How far a point lies outside the nearest box of a body [m]; 0 inside one.

    A coordinate that is not known does not count.
    """
    beyond = np.fmax(np.maximum(body[:, 0] - point, point - body[:, 1]), 0.0)
    return float(np.linalg.norm(beyond, axis=1).min())


# ---------------------------------------------------------------- in words


def _why(drawn: Drawn, verdict: Verdict, case: Case) -> Words:
    gets = "what draws from it gets air" if drawn.tank else "the pump draws air"
    facts: dict[str, Quantity | str] = {
        "attitude": case.state.attitude,
        "mouth": drawn.mouth,
        "liquid": drawn.liquid,
        "depth": case.value,
    }
    if case.value.value < 0:
        over = Quantity(-case.value.value, "length")
        return words(
            "In attitude {attitude} {mouth} stands {over} over low {liquid}: " + gets + ".", over=over, **facts
        )
    text = "In attitude {attitude} low {liquid} stands {depth} over {mouth}."
    if verdict is not Verdict.PASS:
        text = "In attitude {attitude} low {liquid} stands only {depth} over {mouth}: it may draw air."
    return words(text, **facts)


@dataclass(frozen=True, slots=True)
class _Room:
    """The low liquid that a mouth is in, and the volume at the full mark [m3]; 0 where that is not known."""

    drawn: Drawn
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
    drawn = room.drawn
    facts: dict[str, Quantity | str] = {
        "wanted": Quantity(wanted, "length"),
        "where": room.attitudes,
        "liquid": drawn.liquid,
    }
    ways, parts = _ways(room, mouth, wanted)
    if ways:
        return words(_either(ways) + ": then {wanted} of {liquid} stand over it in {where}.", **parts, **facts)
    standing = mouth.where(lasting)
    if (standing.depth < wanted).any():
        ways, parts = _ways(room, standing, wanted)
    baffles = "baffles with doors that hold {liquid} around it, a second pickup, or a "
    baffles += "surge tank that lasts so long." if drawn.tank else "dry sump."
    if not ways:
        why = (
            "No lower mouth, no place beside it and no more {liquid}, each alone, brings {wanted} of {liquid} over it: "
        )
        return words(why + ("a well in its floor, " if drawn.tank else "a deeper sump, ") + baffles, **facts)
    then = ": then {wanted} of {liquid} stand over it in every attitude that lasts. The others need "
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
        vessel, size = ("tank", "volume") if room.drawn.tank else ("sump", "oil_volume")
        ways.append(f"keep {{more:up}} more {room.drawn.liquid} in the {vessel} than at its low mark")
        parts["more"] = Quantity(more, size)
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
