"""Does a crankcase breather drain? Lows in which oil collects, and open ends at which it runs out, in every attitude.

Where a run ends in a union or a tee, what stands in it has to pass the highest point on the best way from there to
where oil may go: the crankcase, a can, an open end.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity, show_tape
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from lines.zones import gaps
from solver.checks.breatherlow import raised
from solver.checks.judging import by_attitude, judge, verdict_of
from solver.crankcase import breathers
from solver.profile import Profile, pools, profile

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.graph import Circuit, Node
    from solver.study import Study

    Array = npt.NDArray[np.float64]

NO_DEPTH = 1e-3
"""A low this shallow is none [m]: no tape reads it."""
DRIP_STEP = 0.005
"""In what steps what drips is followed [m]: no zone is thinner."""


@dataclass(frozen=True)
class _Ways:
    """The lines of one breather in the attitudes that last."""

    circuit: Circuit
    names: list[str]
    down: Array
    """Unit vectors of effective gravity, shape (attitudes, 3)."""
    profiles: dict[str, Profile]
    """Of the runs whose way is known."""
    loose: list[str]
    """Runs whose way or whose place in the vehicle is not known."""
    barriers: dict[str, Array]
    """Of each port, the height that oil has to pass beyond it [m], shape (attitudes,)."""


def loop(study: Study) -> list[Finding]:
    """`breather.loop`: the deepest low of each breather line that runs off to neither end, over its bore."""
    return [_loop(study, ways, tag) for ways in _breathers(study) for tag in ways.circuit.runs]


def outlet(study: Study) -> list[Finding]:
    """`breather.outlet`: from how high a breather line falls to its open end, at which oil then runs out."""
    return [
        _outlet(study, ways, tag, side)
        for ways in _breathers(study)
        for tag, run in ways.circuit.runs.items()
        for side, ref in enumerate((run.start, run.end))
        if _is_open(ways.circuit.nodes[ref])
    ]


# ---------------------------------------------------------------- lows


def _loop(study: Study, ways: _Ways, tag: str) -> Finding:
    made, line = study.assemblies[tag], ways.profiles.get(tag)
    run = made.run
    joined = [ref for ref in (run.start, run.end) if not _takes_oil(ways.circuit.nodes[ref])]
    unknown = [tag] if line is None else [other for other in _chain(ways.circuit, tag) if other in ways.loose]
    if line is None or (joined and unknown):
        lost = " and ".join(unknown)
        why = words("Where {lost} runs is not known: whether oil stands in a low of it cannot be told.", lost=lost)
        return unchecked("breather.loop", tag, why, _way_of(study, unknown))
    before, behind = ways.barriers[run.start], ways.barriers[run.end]
    pool = pools(line.heights(ways.down), before, behind)
    if not np.isfinite(pool).all():
        why = words("Neither of its ends leads to where oil could go: whether it drains cannot be told.")
        return unchecked(
            "breather.loop", tag, why, f"the runs that join {' and '.join(joined)} to a crankcase or a can"
        )
    lows, limit, width = pool.argmax(axis=1), study.plan.catalog.limit("breather.loop"), made.stock.bore

    def at(attitude: str) -> tuple[float, float]:
        row = ways.names.index(attitude)
        return float(line.stations[lows[row]]), float(pool[row, lows[row]])

    cases = [
        Case(State(attitude=name, station=_from(study, run.start, at(name)[0])), Quantity(at(name)[1] / width, "ratio"))
        for name in ways.names
    ]

    def why_loop(verdict: Verdict, case: Case) -> Words:
        depth = at(case.state.attitude)[1]
        return words(
            _low_said(verdict, depth),
            attitude=case.state.attitude,
            depth=Quantity(depth, "length"),
            place=case.state.station,
            bore=Quantity(width, "bore"),
        )

    def change(_verdict: Verdict, case: Case) -> Words:
        return raised(study, tag, case.state.attitude, ways.down, (before, behind))

    return judge(limit, tag, cases, why=why_loop, change=change, grades=[made.stock.grade_of("bore")])


def _way_of(study: Study, tags: list[str]) -> str:
    """What is needed to know where runs lie."""
    astray = [tag for tag in tags if study.assemblies[tag].astray]
    unmeasured = [tag for tag in tags if tag not in astray]
    needs = [f"what run.radius/{tag} asks for first" for tag in astray]
    if unmeasured:
        points = f"the points of {' and '.join(unmeasured)} (via) and the places of the ports"
        needs.append(points + ", with the lowest point of every sag among them")
    return "; ".join(needs)


def _low_said(verdict: Verdict, depth: float) -> str:
    """The sentence on a low of a depth [m]."""
    if depth < NO_DEPTH and verdict is Verdict.PASS:
        return "It has no low: oil runs to one of its ends in every attitude that lasts."
    if verdict is Verdict.PASS:
        return "Its deepest low, in attitude {attitude}, is {depth}: it stays open over a puddle in {bore} of bore."
    low = "In attitude {attitude} it has a low {depth} deep, {place}: "
    if verdict is Verdict.CAUTION:
        return low + "oil stands there and narrows the line of {bore} bore."
    return low + "oil collects there and, once it is full, shuts the line of {bore} bore."


def _from(study: Study, port: str, station: float) -> str:
    return f"{show_tape(station, study.plan.system)} from {port}"


# ---------------------------------------------------------------- open ends


def _outlet(study: Study, ways: _Ways, tag: str, side: int) -> Finding:
    made, line = study.assemblies[tag], ways.profiles.get(tag)
    port, other = (made.run.start, made.run.end) if side == 0 else (made.run.end, made.run.start)
    owner = port.partition(".")[0]
    if line is None:
        why = words("Where it runs is not known: whether oil runs out at {owner} cannot be told.", owner=owner)
        return unchecked("breather.outlet", tag, why, _way_of(study, [tag]))
    heights = line.heights(ways.down)
    falls = _falls_to_its_start(heights if side == 0 else heights[:, ::-1])
    cases = by_attitude(ways.names, falls, "length")
    whole = np.ptp(heights, axis=1)

    def why_outlet(verdict: Verdict, case: Case) -> Words:
        row = ways.names.index(case.state.attitude)
        text = (
            "In attitude {attitude} the last {fall} of height fall to {owner}: what oil settles there runs out of it."
        )
        if verdict is Verdict.PASS:
            text = "What oil settles in it runs back from {owner} in every attitude that lasts."
        elif falls[row] > whole[row] - NO_DEPTH:
            text = "In attitude {attitude} it falls all the way from {other} to {owner}, by {fall}: whatever oil comes "
            text += "into it runs out there."
        return words(text, attitude=case.state.attitude, fall=case.value, owner=owner, other=other)

    limit = study.plan.catalog.limit("breather.outlet")
    drips = [verdict_of(limit, case.value.value) is not Verdict.PASS for case in cases]
    hot = _hot_below(study, line.points[-side], ways.down[drips]) if made.placed else []

    def change(_verdict: Verdict, _case: Case) -> Words:
        text = (
            "Put {owner} at the top of its line, its port downward; or catch what drips, where nothing hot lies below."
        )
        if hot:
            text = (
                "Below it lies {hot}, which is hot: oil that drips there burns. Put {owner} elsewhere, or at the top "
            )
            text += "of its line, its port downward."
        return words(text, owner=owner, hot=" and ".join(hot))

    return judge(limit, tag, cases, why=why_outlet, change=change)


def _hot_below(study: Study, place: Array, down: Array) -> list[str]:
    """The hot zones on which what drips from a place falls in one of some attitudes.

    Args:
        study: the study.
        place: shape (3,) [m].
        down: unit vectors of effective gravity, shape (attitudes, 3).
    """
    deep = study.plan.catalog.limit("breather.drips").caution_above or 0.0
    path = np.arange(0.0, deep, DRIP_STEP)
    falling = (place + path[None, :, None] * down[:, None, :]).reshape(-1, 3)
    hot = {name: zone for name, zone in study.plan.zones.items() if zone.nature == "hot"}
    return [name for name, zone in hot.items() if (gaps(zone, falling) <= zone.nearer).any()]


def _falls_to_its_start(heights: Array) -> Array:
    """Height of the stretch of a line that runs off to its start [m], shape (attitudes,).

    Args:
        heights: shape (attitudes, n) [m].
    """
    falls = np.diff(heights, axis=1) < -1e-9
    crest = np.where(falls.any(axis=1), falls.argmax(axis=1), heights.shape[1] - 1)
    return np.asarray(np.take_along_axis(heights, crest[:, None], axis=1)[:, 0] - heights[:, 0])


# ---------------------------------------------------------------- the lines of a breather


def _breathers(study: Study) -> list[_Ways]:
    lasting = {name: a.down for name, a in study.plan.attitudes.items() if a.sustained}
    down = np.stack(list(lasting.values()))
    found = []
    for circuit in breathers(study):
        known = {tag: line for tag in circuit.runs if (line := profile(study.assemblies[tag])) is not None}
        loose = [tag for tag in circuit.runs if tag not in known or not study.assemblies[tag].placed]
        found.append(_Ways(circuit, list(lasting), down, known, loose, _barriers(circuit, known, down)))
    return found


def _barriers(circuit: Circuit, known: dict[str, Profile], down: Array) -> dict[str, Array]:
    """Of each node, the height that oil has to pass on the best way from it to where it may go [m].

    Below everything where it may go at once; above everything where no way is known.
    """
    found = {name: np.full(len(down), -np.inf if _takes_oil(node) else np.inf) for name, node in circuit.nodes.items()}
    highest = {tag: line.heights(down).max(axis=1) for tag, line in known.items()}
    for _ in circuit.edges:
        for name, edge in circuit.edges.items():
            if edge.run is not None and name not in known:
                continue
            over = highest.get(name, np.full(len(down), -np.inf))
            for here, there in ((edge.start, edge.end), (edge.end, edge.start)):
                found[here] = np.minimum(found[here], np.maximum(found[there], over))
    return found


def _chain(circuit: Circuit, tag: str) -> list[str]:
    """The runs that a run goes on in, up to where oil may go."""
    edges, reached, before = circuit.edges.values(), {tag}, 0
    while len(reached) != before:
        before = len(reached)
        ends = {ref for edge in edges if edge.name in reached for ref in (edge.start, edge.end)}
        ends = {ref for ref in ends if not _takes_oil(circuit.nodes[ref])}
        reached |= {edge.name for edge in edges if ends & {edge.start, edge.end}}
    return [name for name in circuit.runs if name in reached]


def _takes_oil(node: Node) -> bool:
    """Does oil that comes to a port go into a space, or to the open air?"""
    kind = node.component.kind
    return any(path.law == "mouth" for path in kind.paths) or any(inner.pressure for inner in kind.nodes.values())


def _is_open(node: Node) -> bool:
    return any(inner.pressure == "ambient" for inner in node.component.kind.nodes.values())
