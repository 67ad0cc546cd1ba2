"""A circuit solved again with a change in it, and the bore of a hole that brings a pressure where it is wanted."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs import units
from catalogs.units import STANDARD_GRAVITY
from solver.fittings import hole
from solver.network import Losses
from solver.newton import solve
from solver.reasons import reasons
from solver.solution import Solution

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import numpy.typing as npt

    from catalogs.catalog import Catalog
    from catalogs.units import System
    from solver.fittings import Part

    Array = npt.NDArray[np.float64]

WIDEST = 0.999
"""Bore of the widest hole over that of the line that it restricts [-]: one as wide as the line is none."""


@dataclass(frozen=True, slots=True)
class Jet:
    """A hole that is proposed, but for its bore."""

    length: float
    """Of the hole [m]."""
    cd: float
    """Its discharge coefficient at high Reynolds numbers [-]."""
    step: float
    """Of the drills that there are [m]."""

    @classmethod
    def of(cls, catalog: Catalog) -> Jet:
        """The one of practice: its length and drills are rows of the limits, its coefficient the kind's own."""
        cd = units.read(catalog.kind("restrictor").figures["cd"].default, "factor").value
        length, step = (catalog.limit(key).caution_above for key in ("oil.feed.hole", "oil.feed.drill"))
        assert length is not None
        assert step is not None
        return cls(length, cd, step)

    def drilled(self, bore: float) -> float:
        """The nearest bore for which there is a drill [m]."""
        return max(1, round(bore / self.step)) * self.step


@dataclass(frozen=True, slots=True)
class Seat:
    """Where in a circuit a hole may sit."""

    edge: str
    """The run at whose end it sits, or the inner path of the restrictor that it takes the place of."""
    around: float
    """Bore of the line beside it [m]."""
    instead: bool = False
    """Does it take the place of all that the edge loses?"""

    def parts(self, answer: Solution, jet: Jet, bore: float | None) -> tuple[Part, ...]:
        """The losses of its edge with a hole of this bore [m] in it; None: without one."""
        kept = () if self.instead else answer.model.resistances[self.edge].parts
        if bore is None:
            return kept
        return (*kept, hole("hole", bore, jet.length, jet.cd, self.around))


def with_losses(answer: Solution, parts: dict[str, Sequence[Part]], system: System) -> Solution:
    """The circuit of an answer solved again, with other losses in some of its edges; their bores stay.

    Args:
        answer: of a circuit of liquid.
        parts: all losses of each of these edges.
        system: in which units reasons are worded.

    Returns:
        the other answer; of its model only these losses are others.
    """
    found, old = answer.model, answer.model.network.losses
    rows = [(found.edges.index(edge), part) for edge, own in parts.items() for part in own]
    keep = ~np.isin(old.edge, [found.edges.index(edge) for edge in parts])
    losses = Losses(
        np.concatenate([old.edge[keep], np.array([i for i, _ in rows], dtype=np.int64)]),
        np.concatenate([old.viscous[keep], [part.viscous for _, part in rows]]),
        np.concatenate([old.inertial[keep], [part.inertial for _, part in rows]]),
        np.concatenate([old.inertial_back[keep], [part.inertial_back for _, part in rows]]),
    )
    own = {edge: replace(found.resistances[edge], parts=tuple(given)) for edge, given in parts.items()}
    changed = replace(found, network=replace(found.network, losses=losses), resistances=dict(found.resistances) | own)
    state = solve(changed.network, answer.batch, answer.state.flow)
    return Solution(changed, answer.batch, state, reasons(changed, answer.batch, state, system))


def leaving_at(answer: Solution, node: int, outside: Array, height: float, system: System) -> Solution:
    """The circuit of an answer solved again with its liquid leaving freely at a node.

    Args:
        answer: of a circuit of liquid.
        node: its number in the network.
        outside: pressure where it leaves, by duty [Pa absolute].
        height: at which it leaves [m].
        system: in which units reasons are worded.
    """
    found, net = answer.model, answer.model.network
    fixed, known = net.fixed.copy(), answer.batch.known.copy()
    fixed[node], known[:, node] = True, outside + found.density * STANDARD_GRAVITY * height
    changed, batch = replace(found, network=replace(net, fixed=fixed)), replace(answer.batch, known=known)
    state = solve(changed.network, batch, answer.state.flow)
    return Solution(changed, batch, state, reasons(changed, batch, state, system))


def with_holes(answer: Solution, seats: Sequence[Seat], jet: Jet, bore: float | None, system: System) -> Solution:
    """The circuit solved again with a hole of this bore [m] in each of these seats; None: with none in them."""
    return with_losses(answer, {seat.edge: seat.parts(answer, jet, bore) for seat in seats}, system)


def bore_for(reads: Callable[[float], float], wanted: float, narrowest: float, around: float) -> float | None:
    """The bore of a hole [m] with which something reads what is wanted; None where no bore makes it so.

    Args:
        reads: what it reads with a hole of this bore [m]; rises with the bore.
        wanted: what it is to read, in the same unit.
        narrowest: the least bore to look at [m].
        around: the bore of the line that the hole restricts [m].

    >>> round(bore_for(lambda bore: 1e5 * bore, 150.0, 1e-4, 5e-3), 6)
    0.0015
    """
    from scipy.optimize import brentq

    widest = WIDEST * around
    if not reads(narrowest) < wanted < reads(widest):
        return None
    return float(brentq(lambda bore: reads(bore) - wanted, narrowest, widest, xtol=1e-7, rtol=1e-6))
