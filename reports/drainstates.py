"""A drain in every attitude of a plan at every duty that goes with it, and what the findings say of each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lines.finding import Verdict
from lines.states import leans
from solver.checks.judging import verdict_of
from solver.drains.surface import STEEP

if TYPE_CHECKING:
    from collections.abc import Iterable

    from lines.finding import Finding
    from lines.plan import Plan
    from lines.states import Attitude
    from solver.drains.drain import Drain
    from solver.drains.stood import Stood

ALIKE = 1e-6
"""Falls that differ by no more are one [-]."""
SURFACE = "drain.surface"
"""The rule that has no case where the oil cannot be told."""
RULES = "drain."
"""The rules that judge drains begin so."""


@dataclass(frozen=True, slots=True)
class DrainState:
    """A drain in one attitude at one duty."""

    number: int
    """Its row among the states that were worked out."""
    attitude: Attitude
    duty: str
    fall: float
    """Of the flattest piece [rad]; less than 0 where it rises."""
    place: tuple[str, float]
    """The run of that piece, and how far its upper end lies from end A of the run [m]."""
    depth: float | None
    """The deepest even flow in hose over its bore [-], 1 where it counts as full; None where all of it is steep."""
    froude: float
    """The largest Q / (A sqrt(g D)) [-]."""
    clearance: float | None
    """How far the oil stays under the flooding point [m]; None where it cannot be told."""
    standing: float
    """How far what fills the bore stays under it [m]: the clearance where it floods, inf where nothing fills it."""
    mouth: float | None
    """Height of the middle of its lower end over the sump's oil [m]; None where there is none, or cannot be told."""
    covered: bool
    """Does the oil in the sump cover the whole of that end?"""
    free: bool
    """Does it flow with a way for gas over it from end to end?"""
    verdict: Verdict
    """The worst of the findings in this state."""
    rules: tuple[str, ...]
    """The rules that find so; of a pass none."""

    @property
    def tilt(self) -> float:
        """How far effective gravity is turned [rad]."""
        return self.attitude.tilt

    @property
    def bearing(self) -> float:
        """Which way is downhill [rad]: 0 forward, a quarter turn to the left."""
        return float(leans(self.attitude.down)[1])

    @property
    def works(self) -> bool | None:
        """Does the oil stay under the flooding point?"""
        return None if self.clearance is None else self.clearance >= 0.0

    @property
    def worth(self) -> tuple[int, float]:
        """The worst state has the least."""
        return self.verdict.rank, self.stands

    @property
    def stands(self) -> float:
        """The state in which the oil stands highest has the least; inf where it cannot be told."""
        return np.inf if self.clearance is None else self.standing


@dataclass(frozen=True)
class DrainStates:
    """Every state of a drain, and the oil in each."""

    stood: Stood
    each: tuple[DrainState, ...]
    """Attitude by attitude, in the order of the plan."""

    def attitudes(self) -> list[list[DrainState]]:
        """The states of each attitude, its duties together."""
        found: dict[str, list[DrainState]] = {}
        for state in self.each:
            found.setdefault(state.attitude.name, []).append(state)
        return list(found.values())


def drain_states(plan: Plan, stands: Stood, found: Iterable[Finding]) -> DrainStates:
    """A drain in every state of a plan.

    Args:
        plan: the plan.
        stands: one of its drains.
        found: its findings.
    """
    surface, line, own = stands.surface, stands.drain.line, _of_drain(stands.drain, found)
    # The first of those that fall alike: a straight is cut in many pieces.
    flattest = (surface.fall <= surface.fall.min(axis=1, keepdims=True) + ALIKE).argmax(axis=1)
    across, outlet = (surface.fall < STEEP) & line.in_hose, stands.outlet
    under = stands.states.oil > surface.crown[1][:, -1]
    standing = stands.standing
    each = []
    for n, name in enumerate(stands.names):
        attitude, piece = plan.attitudes[name.attitude], int(flattest[n])
        verdict, rules = _verdict(plan, own, attitude, name.duty)
        if not stands.told[n] and verdict is not Verdict.FAIL:
            verdict, rules = Verdict.UNCHECKED, (SURFACE,)
        each.append(
            DrainState(
                number=n,
                attitude=attitude,
                duty=name.duty,
                fall=float(np.arcsin(surface.fall[n, piece])),
                place=line.place(piece),
                depth=float(surface.normal[n, across[n]].max()) if across[n].any() else None,
                froude=float(surface.froude[n].max()),
                clearance=_known(stands.clearance[n]),
                standing=float(standing[n]),
                mouth=_known(outlet[n]),
                covered=bool(under[n]),
                free=not bool(surface.sealed[n].any()),
                verdict=verdict,
                rules=rules,
            )
        )
    return DrainStates(stands, tuple(each))


def _known(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _of_drain(drain: Drain, found: Iterable[Finding]) -> list[Finding]:
    """The findings that speak of a drain: of its turbocharger, its ports or its runs."""
    line = drain.line
    places = {drain.turbo, line.outlet, line.inlet, *line.runs}
    return [finding for finding in found if finding.rule.startswith(RULES) and finding.place in places]


def _verdict(plan: Plan, own: list[Finding], attitude: Attitude, duty: str) -> tuple[Verdict, tuple[str, ...]]:
    """The worst verdict in a state, and the rules that give it."""
    by_rule = {finding.rule: _verdict_in(plan, finding, attitude, duty) for finding in own}
    known = {rule: verdict for rule, verdict in by_rule.items() if verdict is not None}
    if not known:
        return Verdict.UNCHECKED, ()
    worst = min(known.values(), key=lambda v: v.rank)
    return worst, () if worst is Verdict.PASS else tuple(r for r, verdict in known.items() if verdict is worst)


def _verdict_in(plan: Plan, finding: Finding, attitude: Attitude, duty: str) -> Verdict | None:
    """What a finding says of one state; None where it has no case of it."""
    if finding.verdict is Verdict.UNCHECKED:
        return Verdict.UNCHECKED
    limit = plan.catalog.limit(finding.rule)
    found = [
        verdict_of(limit, case.value.value)
        for case in finding.cases
        if case.state.attitude == attitude.name and case.state.duty in {"", duty}
    ]
    if not found:
        return None
    worst = min(found, key=lambda v: v.rank)
    # In a transient attitude a fail only cautions.
    return Verdict.CAUTION if worst is Verdict.FAIL and not attitude.sustained else worst
