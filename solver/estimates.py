"""What an answer rests on that only the answer itself can tell."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.grades import weakest
from solver.network import by_edge
from solver.points import FARTHER, largest_flow, viscosity_at
from solver.tees import BRANCH

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lines.plan import Plan
    from solver.model import Model
    from solver.network import Batch, State

OTHER_LIQUID = 3.0
"""Viscosity over that of a component's points, or the other way, up to which its law carries over without a word."""
TEE_ROWS = ("tee-merging", "tee-parting")


def with_estimates(plan: Plan, found: Model, batch: Batch, state: State) -> Model:
    """The model, with what its answer adds to what is estimated, and the grade that this leaves."""
    tees = list(_from_the_branch(found, state))
    said = tuple(dict.fromkeys([*found.estimates, *tees, *_past_their_points(plan, found, batch, state)]))
    grades = [plan.catalog.loss(row).grade for row in TEE_ROWS] if tees else []
    return replace(found, estimates=said, grade=weakest([found.grade, *grades]))


def _from_the_branch(found: Model, state: State) -> Iterator[str]:
    """Tees whose branch carries the whole flow at some duty."""
    tees = found.network.tees
    if not tees.count:
        return
    flow = np.abs(state.flow[:, tees.legs])
    leads = ((flow.argmax(axis=2) == BRANCH) & (flow.max(axis=2) > 0)).any(axis=0)
    for legs in tees.legs[leads]:
        name = found.edges[legs[BRANCH]].partition(":")[0]
        yield f"{name}: its branch carries the whole flow, for which the loss is from memory"


def _past_their_points(plan: Plan, found: Model, batch: Batch, state: State) -> Iterator[str]:
    """Components that carry more than the flows at which their drop is known."""
    for i, name in enumerate(found.edges):
        component = found.circuit.edges[name].component
        points = component.figures.get("points") if component is not None else None
        if component is None or points is None:
            continue
        thicker = found.batch.viscosity[:, 0] / viscosity_at(plan.catalog, points)
        if not found.gas and (far := np.maximum(thicker, 1.0 / thicker)).max() > OTHER_LIQUID:
            worst = int(far.argmax())
            yield (
                f"{component.name}: at {found.duties[worst]} the liquid is {far[worst]:.0f} times as "
                f"{'thick' if thicker[worst] > 1 else 'thin'} as that of its points, which do not tell how its drop "
                "changes with that"
            )
        flow = np.abs(state.flow[:, i] * by_edge(batch.density, i)[:, 0] / found.density)
        if (flow > FARTHER * largest_flow(plan.catalog, points)).any():
            yield f"{component.name}: it carries more than its points go to, and its law is carried on"
