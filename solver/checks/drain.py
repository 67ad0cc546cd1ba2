"""Gravity drains: does every piece of the line fall in every attitude?

A piece with direction d falls at asin(d . g / |d||g|) along the effective gravity g of the attitude.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from solver.checks.judging import by_attitude, judge, verdict_of
from solver.drains.pieces import lies
from solver.drains.scavenging import scavenged

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.records import Limit
    from lines.assembly import Assembly
    from solver.study import Study

    Array = npt.NDArray[np.float64]


A_LEG = 0.35
"""A first or last piece longer than this share of a run is no mere leg of its end."""


def falls(directions: Array, down: Array) -> Array:
    """Fall of each piece along each effective gravity [rad].

    Args:
        directions: unit vectors of the pieces in the direction of flow, shape (pieces, 3).
        down: unit vectors of effective gravity, shape (attitudes, 3).

    Returns:
        shape (attitudes, pieces); negative where a piece rises.

    >>> import numpy as np
    >>> round(float(np.degrees(falls(np.array([[0.6, 0, -0.8]]), np.array([[0, 0, -1.0]])))[0, 0]), 2)
    53.13
    """
    return np.asarray(np.arcsin(np.clip(down @ directions.T, -1.0, 1.0)))


def _drains(study: Study) -> list[tuple[Assembly, bool | None]]:
    """The runs of drains, each with whether it drains from its start to its end; None: not known.

    Without those that a scavenge pump draws from or sends on: they need not fall.
    """
    found = []
    for circuit in study.circuits.values():
        if circuit.gravity:
            forward, pumped = circuit.drains_forward(), scavenged(circuit)
            found += [(study.assemblies[tag], forward.get(tag)) for tag in circuit.runs if tag not in pumped]
    return found


def fall(study: Study) -> list[Finding]:
    """`drain.fall`: the flattest piece of each gravity drain in every attitude, and each union or tee on its way."""
    runs = [_fall(study, made, forward=forward) for made, forward in _drains(study)]
    return runs + [_body(study, name, way) for name, way in _bodies(study).items()]


def _bodies(study: Study) -> dict[str, Array]:
    """What joins two runs of a drain, with the way down from its one port to its other, shape (3,) [m]."""
    found = {}
    for circuit in study.circuits.values():
        pumped = scavenged(circuit)
        for outlet in circuit.gravity_ports("out"):
            way = [(circuit.runs[tag], forward) for tag, forward in circuit.way_down(outlet) if tag not in pumped]
            for (above, forward), (below, on) in itertools.pairwise(way):
                upper, lower = above.end if forward else above.start, below.start if on else below.end
                top, bottom = study.plan.port(upper).at, study.plan.port(lower).at
                if top is not None and bottom is not None and top != bottom:
                    found[upper.partition(".")[0]] = np.subtract(bottom, top)
    return found


def _body(study: Study, name: str, way: Array) -> Finding:
    plan, limit = study.plan, study.plan.catalog.limit("drain.fall")
    angle = falls(way[None] / np.linalg.norm(way), np.stack([a.down for a in plan.attitudes.values()]))[:, 0]
    transient = [attitude for attitude, a in plan.attitudes.items() if not a.sustained]

    def change(_verdict: Verdict, case: Case) -> Words:
        steeper = Quantity((limit.caution_below or 0.0) - case.value.value, "slope")
        text = "Turn it {steeper:up} nearer to plumb, or lead the drain in one hose without it."
        return words(text, steeper=steeper)

    cases = by_attitude(plan.attitudes, angle.tolist(), "slope")
    return judge(limit, name, cases, why=_why_fall, change=change, transient=transient)


def _fall(study: Study, made: Assembly, *, forward: bool | None) -> Finding:
    plan, tag = study.plan, made.tag
    if forward is None:
        why = words("Which way it drains is not known.")
        return unchecked("drain.fall", tag, why, f"a turbocharger's drain or a sump at one end of {tag}'s line")
    if not lies(made):
        why = words("It cannot lie as its points say: whether it falls cannot be told.")
        return unchecked("drain.fall", tag, why, f"what run.radius/{tag} asks for first")
    legs = _legs(study, made)
    if legs is None:
        why = words("Only its length is known, not where it runs: whether it falls cannot be told.")
        return unchecked("drain.fall", tag, why, f"the points of {tag} (via), so that every piece of it can be judged")
    if not forward:
        legs = -legs[::-1]
    names = list(plan.attitudes)
    down = np.stack([a.down for a in plan.attitudes.values()])
    angle = falls(legs / np.linalg.norm(legs, axis=1, keepdims=True), down)
    worst = angle.argmin(axis=1)
    upper = made.run.start if forward else made.run.end
    cases = [
        Case(
            State(attitude=name, station=f"piece {int(w) + 1} of {len(legs)} from {upper}" if len(legs) > 1 else ""),
            Quantity(float(row[w]), "slope"),
        )
        for name, row, w in zip(names, angle, worst, strict=True)
    ]
    transient = [name for name, a in plan.attitudes.items() if not a.sustained]
    limit = plan.catalog.limit("drain.fall")
    if made.route is None:
        return _from_ends(limit, tag, cases, transient)

    def change(_verdict: Verdict, case: Case) -> Words:
        i = names.index(case.state.attitude)
        piece = legs[int(worst[i])]
        lacks, more = (_lacks(piece, down[i], x or 0.0) for x in (limit.fail_below, limit.caution_below))
        facts: dict[str, Quantity | str] = {
            "lacks": Quantity(lacks, "length"),
            "more": Quantity(more, "length"),
            "wanted": Quantity(limit.caution_below or 0.0, "slope"),
            "attitude": case.state.attitude,
        }
        if (port := _port_of(made, int(worst[i]), legs, forward=forward)) is not None:
            facts |= {"port": port, "steeper": Quantity((limit.caution_below or 0.0) - case.value.value, "slope")}
            return words(
                "That is the leg of its end at {port}: point the port {steeper:up} nearer to plumb, or take an end of "
                "another angle there, and it falls {wanted} in {attitude}; drain.surface tells whether it floods.",
                **facts,
            )
        if lacks <= 0:
            return words("{more:up} lower at its lower end it would fall {wanted} in {attitude}.", **facts)
        return words(
            "The lower end of that piece, with what is below it, has to come down, or its upper end up, by {lacks:up} "
            "or more just to fall in {attitude}, by {more:up} to fall {wanted}; or lead the drain off toward the other "
            "side of the engine; or fit a scavenge pump. drain.surface tells which move is enough.",
            **facts,
        )

    return judge(limit, tag, cases, why=_why_fall, change=change, transient=transient)


def _port_of(made: Assembly, piece: int, legs: Array, *, forward: bool) -> str | None:
    """The port whose direction a short first or last piece has, as the leg of an end on it; None of any other piece."""
    lengths = np.linalg.norm(legs, axis=1)
    if made.route is None or piece not in {0, len(legs) - 1} or lengths[piece] > A_LEG * lengths.sum():
        return None
    side = 0 if (piece == 0) == forward else 1
    return made.joints[side].port if made.route.held[side].aimed else None


def _lacks(piece: Array, down: Array, least: float) -> float:
    """How much lower [m] the end of a piece has to lie, the vehicle level, to fall by `least` [rad] along `down`.

    Lowering by h adds h |down_z| along effective gravity; the piece is taken as long as before, which is right to
    the square of h over its length.
    """
    return float((math.sin(least) * np.linalg.norm(piece) - piece @ down) / -down[2])


def _legs(study: Study, made: Assembly) -> Array | None:
    """The pieces of a run from its start to its end [m], shape (pieces, 3); its two ends alone make one."""
    if made.route is not None:
        return np.diff(made.route.points, axis=0)
    a, b = study.plan.port(made.run.start).at, study.plan.port(made.run.end).at
    if a is not None and b is not None:
        return np.array([np.subtract(b, a)])
    return None if made.run.span is None else np.array([made.run.span.vector])


def _why_fall(verdict: Verdict, case: Case) -> Words:
    place = f" ({case.state.station})" if case.state.station else ""
    where = f"In attitude {case.state.attitude} the flattest piece{place}"
    if verdict is Verdict.FAIL or case.value.value <= 0:
        text = where + " does not run downhill ({fall}): oil stands there."
    elif verdict is Verdict.PASS:
        text = where + " still falls {fall}."
    else:
        text = where + " falls only {fall}: foam drains slowly at so little slope."
    return words(text, fall=case.value)


def _from_ends(limit: Limit, tag: str, cases: list[Case], transient: list[str]) -> Finding:
    """Without the points between, the two ends can only show that a drain does not work."""
    sustained = [case for case in cases if case.state.attitude not in transient]
    bad = [case for case in sustained if verdict_of(limit, case.value.value) is Verdict.FAIL]
    if not bad:
        why = words("Its ends lie right, but what is between was not measured.")
        return unchecked("drain.fall", tag, why, f"the points of {tag} (via), so that every piece of it can be judged")

    def why_ends(_verdict: Verdict, case: Case) -> Words:
        text = "In attitude {attitude} its lower end lies no lower: over all it falls {fall}, so oil stands in it."
        return words(text, attitude=case.state.attitude, fall=case.value)

    def change_ends(_verdict: Verdict, _case: Case) -> Words:
        return words(
            "Lower the outlet or raise the turbocharger, or let it leave the other way, or fit a scavenge pump."
        )

    return judge(limit, tag, bad, why=why_ends, change=change_ends)
