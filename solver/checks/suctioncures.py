"""What keeps the fuel from boiling at a pump's inlet: each change worked out, or the circuit solved again with it."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity
from lines.finding import Words
from lines.resize import next_sizes
from solver.checks.judging import sentence
from solver.leaning import leaning
from solver.properties import vapour_pressure
from solver.restrictor import with_losses
from solver.suction import suction
from solver.wider import widened

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from catalogs.records import Stock
    from lines.plan import Plan
    from solver.solution import Solution
    from solver.study import Study
    from solver.suction import Suction
    from solver.wider import Wider

    Array = npt.NDArray[np.float64]
    Facts = dict[str, Quantity | str]

SIZES = 3
"""How many sizes of hose more are tried."""
LOWEST = 0.5
"""A pump is not set lower by more than this [m]: no vehicle has so much room under it."""
COOLEST, STEP = 40.0, 0.5
"""By how much cooler fuel is looked at, in which steps [K]."""


def suction_cures(study: Study, each: list[Suction], wanted: float) -> Words:
    """What is enough, each alone, so that `wanted` [Pa] is left in every state; and whether a wider hose can be it.

    Args:
        study: a plan and what follows from it.
        each: the inlet of one pump with the filters due, and with them clean: what is enough is so with both.
        wanted: what has to be left [Pa].
    """
    ways: list[str] = []
    found = each[0]
    told = not found.stands.lacks and all(np.isfinite(one.margin).all() for one in each)
    where = "every state" if told else "every state that can be told"
    facts: Facts = {"wanted": Quantity(wanted, "pressure_drop"), "where": where}
    for way in (_without_filters, _wider, _lower, _cooler):
        cure = way(study, each, wanted)
        if cure is not None:
            ways.append(cure[0])
            facts |= cure[1]
    first = "No size of hose cures it: without any loss there is still too little. " if _no_hose(each, wanted) else ""
    lift = "a lift pump in the tank or right under it that feeds this one"
    source = found.stands.answer.model.circuit.nodes[found.source].component.kind.id
    if found.brought:
        lift = f"more pressure from {found.source.partition('.')[0]}"
    elif any((one.over_source < one.vapour).any() for one in each) or source == "surge-tank":
        lift = "a fuel that boils at more"
    if not ways:
        text = f"{first}Nothing alone leaves {{wanted}} in {{where}}: {lift}, or several of these together: a wider "
        return Words(text + "and shorter line to it, a lower pump, cooler fuel, no filter before it.", facts)
    return Words(
        f"{first}{sentence(', or '.join(ways))}: then {{wanted}} or more are left in {{where}}; or {lift}.", facts
    )


def _no_hose(each: list[Suction], wanted: float) -> bool:
    """Would too little be left even if nothing were lost on the way?"""
    lost = [np.sum([np.maximum(drop, 0.0) for drop in one.losses().values()], axis=0) for one in each]
    return bool(np.nanmin([one.margin + its for one, its in zip(each, lost, strict=True)]) < wanted)


def _left(plan: Plan, found: Suction, answer: Solution) -> float:
    """The least margin over all states with another answer of the circuit on level ground [Pa]."""
    own = found.pump.component
    need = float(found.need[0]) if own is None or own.figures.get("inlet_need") is None else 0.0
    return float(np.nanmin(suction(plan, found.pump, leaning(plan, answer), need, found.under).margin))


def _without_filters(study: Study, each: list[Suction], wanted: float) -> tuple[str, Facts] | None:
    """Every filter behind the pump instead of before it, or none."""
    filters = each[0].filters()
    if not filters:
        return None
    for found in each:
        answer = with_losses(found.stands.level, dict.fromkeys(filters, ()), study.plan.system)
        if not answer.solved.all() or _left(study.plan, found, answer) < wanted:
            return None
    names = " and ".join(name.partition(":")[0] for name in filters)
    return "move {filters} behind {pump}", {"filters": names, "pump": each[0].inlet.partition(".")[0]}


def _wider(study: Study, each: list[Suction], wanted: float) -> tuple[str, Facts] | None:
    """The fewest sizes more, of the fewest runs on the way."""
    found, catalog = each[0], study.plan.catalog
    sizes = {tag: next_sizes(catalog, study.assemblies[tag].stock, SIZES) for tag in found.runs()}
    for size in range(SIZES):
        fit = [tag for tag, stocks in sizes.items() if len(stocks) > size]
        for many in range(1, len(fit) + 1):
            for tags in itertools.combinations(fit, many):
                wider = _widened(study, found, {tag: sizes[tag][size] for tag in tags}, wanted)
                if wider is not None:
                    return "{wider}", {"wider": wider.said}
    return None


def _widened(study: Study, found: Suction, stocks: Mapping[str, Stock], wanted: float) -> Wider | None:
    """The circuit with runs in other hoses, where they are enough with the filters due and with them clean."""
    wider = None
    for loaded in (True, False):
        wider = widened(study, found.stands.answer.model.circuit.name, stocks, loaded=loaded)
        if wider is None or _left(wider.plan, found, wider.answer) < wanted:
            return None
    return wider


def _lower(study: Study, each: list[Suction], wanted: float) -> tuple[str, Facts] | None:
    """The pump lower, its lines as long as they are."""
    found = each[0]
    lack = np.maximum(wanted - np.min([one.margin for one in each], axis=0), 0.0)
    down = np.array([study.plan.attitudes[name.attitude].gravity[2] for name in found.stands.names])
    short = lack > 0
    if (down[short] >= 0).any():
        return None
    weight = found.stands.answer.model.density * -down
    by = float(np.max(lack[short] / weight[short]))
    if by > LOWEST:
        return None
    return "set {pump} {by:up} lower, its hoses led down to it without more loss", {
        "pump": found.inlet.partition(".")[0],
        "by": Quantity(by, "length"),
    }


def _cooler(_study: Study, each: list[Suction], wanted: float) -> tuple[str, Facts] | None:
    """Cooler fuel: with it the pressure falls under which it boils."""
    found, pressure = each[0], np.min([one.pressure for one in each], axis=0)
    by = np.arange(STEP, COOLEST + STEP / 2, STEP)
    vapour = vapour_pressure(found.fluid, found.temperature - by[:, None])
    enough = (np.nan_to_num(pressure - vapour - found.need, nan=np.inf) >= wanted).all(axis=1)
    if not enough.any():
        return None
    least = float(by[int(enough.argmax())])
    worst = int(np.nanargmin(pressure - found.vapour - found.need))
    return "fuel {cooler:up} cooler ({then:down} at {duty})", {
        "cooler": Quantity(least, "temperature_difference"),
        "then": Quantity(float(found.temperature[worst]) - least, "temperature"),
        "duty": found.stands.names[worst].duty,
    }
