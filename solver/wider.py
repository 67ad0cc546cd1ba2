"""Runs of a circuit in wider hoses: made up again, and the circuit solved with them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from catalogs.errors import NoAnswerError
from lines.graph import circuit
from lines.resize import made_up_in
from solver.solution import Solution, solve_circuit

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catalogs.records import Stock
    from lines.plan import Plan
    from solver.study import Study


@dataclass(frozen=True)
class Wider:
    """A circuit with some of its runs in wider hoses."""

    stocks: Mapping[str, Stock]
    """By the tag of their run."""
    joins: bool
    """Do all ends go onto the ports as they are?"""
    plan: Plan
    answer: Solution

    @property
    def said(self) -> str:
        """Its runs with their stocks, in words."""
        each = " and ".join(f"{tag} in {stock.id}" for tag, stock in self.stocks.items())
        return each if self.joins else f"{each}, {'its' if len(self.stocks) == 1 else 'their'} ports to match"

    @property
    def put(self) -> str:
        """The same as part of a longer sentence."""
        return self.said if self.joins else f"{self.said},"


def widened(study: Study, name: str, stocks: Mapping[str, Stock], *, loaded: bool = False) -> Wider | None:
    """A circuit with runs in other hoses; None where there are no ends for them, they do not lie, or it has no answer.

    Args:
        study: a plan and what follows from it.
        name: of one of its circuits.
        stocks: the hose of each of these runs.
        loaded: with every filter as it is when it is due, not clean.
    """
    plan, made, joins = study.plan, dict(study.assemblies), True
    for tag, stock in stocks.items():
        before = study.assemblies[tag]
        plan, made[tag] = made_up_in(plan, tag, stock)
        if any(end is None and was is not None for end, was in zip(made[tag].chosen, before.chosen, strict=True)):
            return None
        if made[tag].does_not_fit and not before.does_not_fit:
            return None
        joins &= all(joint.fits is not False for joint in made[tag].joints)
    try:
        answer = solve_circuit(plan, circuit(plan, name), made, loaded=loaded)
    except NoAnswerError:
        return None
    return Wider(stocks, joins, plan, answer) if answer.solved.all() else None
