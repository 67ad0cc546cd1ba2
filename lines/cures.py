"""What would make a run fit that does not: other ends on the same hose, or another stock of its size."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, cast

from lines.way import joint_at, route_of

if TYPE_CHECKING:
    from catalogs.records import HoseEnd, Stock
    from lines.plan import Plan
    from lines.route import Route

MOST = 2
"""Stocks that are named."""


def with_run(plan: Plan, tag: str, **changed: object) -> Plan:
    """The same plan with something else said of one run."""
    return replace(plan, runs={**plan.runs, tag: plan.runs[tag].model_copy(update=changed)})


def other_ends(plan: Plan, tag: str) -> tuple[HoseEnd, HoseEnd] | None:
    """The ends that fit where the plan's own do not; None where the plan leaves the choice or none fits."""
    if plan.runs[tag].ends == ("auto", "auto"):
        return None
    return _fitting(route_of(with_run(plan, tag, ends=("auto", "auto")), tag))


def _fitting(route: Route | None) -> tuple[HoseEnd, HoseEnd] | None:
    if route is None or not route.fits:
        return None
    first, last = (held.end for held in route.held)
    return None if first is None or last is None else (first, last)


def other_stocks(plan: Plan, tag: str) -> list[Stock]:
    """Stocks of the same dash size and sort whose ends go onto both ports and which lie between them, a few at most."""
    run, catalog = plan.runs[tag], plan.catalog
    own = catalog.stock(run.stock)
    found: list[Stock] = []
    for other in (cast("Stock", record) for record in catalog.all("stock")):
        if other.dash != own.dash or other.rigid != own.rigid or other.id == own.id or not _stands(own, other):
            continue
        ends = _fitting(route_of(with_run(plan, tag, stock=other.id, ends=("auto", "auto")), tag))
        ports = (run.start, run.end)
        if ends is not None and all(
            joint_at(plan, port, end).fits is not False for port, end in zip(ports, ends, strict=True)
        ):
            found.append(other)
        if len(found) == MOST:
            break
    return found


def _stands(own: Stock, other: Stock) -> bool:
    """Only a stock that stands what the other stands is offered in its place."""
    return other.working_pressure >= own.working_pressure and other.hottest >= own.hottest
