"""Gravity drains: does every piece of the line fall in every attitude?

A piece with direction d falls at asin(d . g / |d||g|) along the effective gravity g of the attitude.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from solver.checks.judging import judge, verdict_of

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.assembly import Assembly
    from solver.study import Study

    Array = npt.NDArray[np.float64]


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


def _drains(study: Study) -> list[Assembly]:
    """The runs of drains, each named from its upper end: from a turbocharger to a sump."""
    gravity = [c for c in study.circuits.values() if c.gravity]
    return [study.assemblies[tag] for circuit in gravity for tag in circuit.runs]


def fall(study: Study) -> list[Finding]:
    """`drain.fall`: the flattest piece of each gravity drain in every attitude."""
    return [_fall(study, made) for made in _drains(study)]


def _fall(study: Study, made: Assembly) -> Finding:
    plan, tag = study.plan, made.tag
    names = list(plan.attitudes)
    down = np.stack([a.down for a in plan.attitudes.values()])
    directions = made.shape.directions()
    transient = [name for name, a in plan.attitudes.items() if not a.sustained]
    limit = plan.catalog.limit("drain.fall")
    if directions is None:
        return _from_ends(study, made, names, down, transient)
    angle = falls(directions, down)
    worst = angle.argmin(axis=1)
    pieces = len(directions)
    cases = [
        Case(
            State(
                attitude=name,
                station=f"piece {int(w) + 1} of {pieces} from {made.run.start}" if pieces > 1 else "",
            ),
            Quantity(float(row[w]), "slope"),
        )
        for name, row, w in zip(names, angle, worst, strict=True)
    ]
    legs = np.diff(made.shape.points, axis=0) if made.shape.points is not None else np.zeros((1, 3))

    def change(verdict: Verdict, case: Case) -> Words:
        i = names.index(case.state.attitude)
        down_here, piece = down[i], legs[int(worst[i])]
        lacks = float(-(piece @ down_here) / -down_here[2])
        if verdict is Verdict.FAIL or lacks > 0:
            return words(
                "The lower end of that piece has to come down, or its upper end up, by more than {lacks} just to fall "
                "in {attitude}; or let it leave the other way; or fit a scavenge pump.",
                lacks=Quantity(max(lacks, 0.0), "length"),
                attitude=case.state.attitude,
            )
        return words("Drop the outlet end, or move it nearer under the turbocharger: steeper is safer.")

    return judge(limit, tag, cases, why=_why_fall, change=change, transient=transient)


def _why_fall(verdict: Verdict, case: Case) -> Words:
    place = f" ({case.state.station})" if case.state.station else ""
    where = f"In {case.state.attitude} the flattest piece{place}"
    if case.value.value < 0:
        text = where + " runs uphill: its fall is {fall}. Oil stands there and backs up into the turbocharger."
    elif verdict is Verdict.PASS:
        text = where + " still falls {fall}."
    else:
        text = where + " falls only {fall}: foam drains slowly at so little slope."
    return words(text, fall=case.value)


def _from_ends(study: Study, made: Assembly, names: list[str], down: Array, transient: list[str]) -> Finding:
    """Without the points between, the two ends can only show that a drain does not work."""
    plan, run = study.plan, made.run
    a, b = plan.port(run.start).at, plan.port(run.end).at
    between = run.span.vector if run.span is not None else None
    if a is not None and b is not None:
        between = (b[0] - a[0], b[1] - a[1], b[2] - a[2])
    needs = f"the points of {made.tag} (via), so that every piece of it can be judged"
    if between is None:
        why = words("Only its length is known, not where it runs: whether it falls cannot be told.")
        return unchecked("drain.fall", made.tag, why, needs)
    vector = np.array([between])
    angle = falls(vector / np.linalg.norm(vector), down)[:, 0]
    cases = [Case(State(attitude=n), Quantity(float(x), "slope")) for n, x in zip(names, angle, strict=True)]
    limit = plan.catalog.limit("drain.fall")
    bad = [c for c in cases if verdict_of(limit, c.value.value) is Verdict.FAIL and c.state.attitude not in transient]
    if not bad:
        return unchecked(
            "drain.fall", made.tag, words("Its ends lie right, but what is between was not measured."), needs
        )

    def why_ends(_verdict: Verdict, case: Case) -> Words:
        text = (
            "In {attitude} its end lies higher than its start: over all it falls {fall}, so somewhere it runs uphill."
        )
        return words(text, attitude=case.state.attitude, fall=case.value)

    return judge(limit, made.tag, bad, why=why_ends)


def surface(study: Study) -> list[Finding]:
    """`drain.surface`: whether the oil's surface stays under the turbocharger's outlet. Not computed; never a pass."""
    why = words(
        "Only the fall of the hose is judged. How high the foam stands in it, the sump's oil level at its end and "
        "crankcase pressure are not."
    )
    needs = "see on the vehicle, in each attitude, that the outlet at the sump stays above the oil"
    return [unchecked("drain.surface", made.tag, why, needs) for made in _drains(study)]
