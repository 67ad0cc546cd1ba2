"""A run in another size: the next one of its stock's family, and the run made up again in it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from lines.assembly import assembly
from lines.ends import ANGLE

if TYPE_CHECKING:
    from catalogs.catalog import Catalog
    from catalogs.records import Stock
    from lines.assembly import Assembly
    from lines.plan import Plan


def next_stock(catalog: Catalog, stock: Stock, least: float = 0.0) -> Stock | None:
    """The next dash size of the same family with a wider bore, of `least` [m] or more; None where there is none."""
    family = (row for row in map(catalog.stock, catalog.ids("stock")) if row.family == stock.family)
    larger = (row for row in family if row.dash > stock.dash and row.bore > stock.bore and row.bore >= least)
    return min(larger, key=lambda row: row.bore, default=None)


def next_sizes(catalog: Catalog, stock: Stock, most: int) -> list[Stock]:
    """The next sizes of a stock's family, so many at most, the least first."""
    found: list[Stock] = []
    while len(found) < most and (larger := next_stock(catalog, found[-1] if found else stock)) is not None:
        found.append(larger)
    return found


def made_up_in(plan: Plan, tag: str, stock: Stock) -> tuple[Plan, Assembly]:
    """The plan with a run in another stock, and that run's assembly; ends named by their id are chosen anew."""
    run = plan.runs[tag]
    first, last = ("auto" if ANGLE.fullmatch(word) is None else word for word in run.ends)
    changed = replace(plan, runs=plan.runs | {tag: run.model_copy(update={"stock": stock.id, "ends": (first, last)})})
    return changed, assembly(changed, tag)
