"""Whether the specific consumption that a duty states is one of the fuel that it burns."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import words
from solver.checks.judging import by_duty, judge, untold
from solver.demand import crank_power, fuel_demand
from solver.fuels import fuel_circuits, rails

if TYPE_CHECKING:
    from catalogs.fluids import Fluid
    from catalogs.records import Limit
    from lines.finding import Case, Finding, Verdict, Words
    from lines.graph import Circuit
    from lines.plan import DutyTable
    from solver.study import Study

RULE = "fuel.bsfc"
ALIKE = 1e-9
"""Shares by which two masses may differ and be one."""


def fits(study: Study) -> list[Finding]:
    """`fuel.bsfc`: the specific consumption of each duty whose power decides what is burnt, over that of such engines.

    Of circuits that burn a fuel for which one is known, boosted or not. Of a duty that states no boost only the least
    of engines without is asked.
    """
    found = [_fits(study, circuit) for circuit in fuel_circuits(study) if rails(circuit)]
    return [finding for finding in found if finding is not None]


def _fits(study: Study, circuit: Circuit) -> Finding | None:
    plan, found = study.plan, []
    fluid = plan.catalog.fluid(plan.circuits[circuit.name].fluid)
    try:
        decides = {duty: table for duty, table in plan.duties.items() if _decides(duty, table, fluid)}
    except UnknownInputError as error:
        return untold(RULE, circuit.name, error)
    for boosted in (True, False):
        limit = _limit(study, fluid, boosted=boosted)
        duties = {d: t for d, t in decides.items() if _boosted(t, plan.ambient.pressure[d]) == boosted}
        if limit is not None and duties:
            found.append(_Taken(circuit.name, fluid, limit, duties).finding())
    if not found:
        return None
    worst = min(found, key=lambda finding: finding.verdict.rank)
    return replace(worst, rule=RULE, cases=tuple(case for finding in found for case in finding.cases))


def _decides(duty: str, table: DutyTable, fluid: Fluid) -> bool:
    """Does its specific consumption say what a duty burns? Not where its air by its lambda burns more."""
    if table.burn is not None or table.bsfc is None or (power := crank_power(duty, table)) is None:
        return False
    ideal = None if fluid.stoichiometric is None else fluid.stoichiometric.ratio
    by_mass = fuel_demand(duty, table, 1.0, ideal)
    return by_mass <= power * table.bsfc * (1.0 + ALIKE)


def _boosted(table: DutyTable, ambient: float) -> bool:
    return table.boost is not None and table.boost.absolute(ambient) > ambient


def _limit(study: Study, fluid: Fluid, *, boosted: bool) -> Limit | None:
    """The limit of a fuel, by its own id or by its family; None where there is none."""
    known = set(study.plan.catalog.ids("limits"))
    keys = (f"{RULE}.{name}{'.boosted' if boosted else ''}" for name in (fluid.id, fluid.family))
    return next((study.plan.catalog.limit(key) for key in keys if key in known), None)


@dataclass(frozen=True)
class _Taken:
    """What the engine is said to take at duties that one limit is for."""

    place: str
    fluid: Fluid
    limit: Limit
    duties: dict[str, DutyTable]

    def finding(self) -> Finding:
        stated = [table.bsfc or 0.0 for table in self.duties.values()]
        cases = by_duty(self.duties, stated, "bsfc")
        return judge(self.limit, self.place, cases, why=self.why, change=self.change)

    def facts(self, case: Case) -> dict[str, Quantity | str]:
        duty = case.state.duty
        power = crank_power(duty, self.duties[duty]) or 0.0
        least, most = self.limit.least or 0.0, self.limit.most
        bound = least if most is None or case.value.value < least else most
        return {
            "duty": duty,
            "stated": case.value,
            "fluid": self.fluid.means,
            "burnt": Quantity(power * case.value.value, "mass_flow"),
            "least": Quantity(least, "bsfc"),
            "most": Quantity(least if most is None else most, "bsfc"),
            "bound": Quantity(bound, "bsfc"),
            "then": Quantity(power * bound, "mass_flow"),
        }

    def why(self, _verdict: Verdict, case: Case) -> Words:
        text = "At {duty} {stated} are stated, of {fluid}: so {burnt} are burnt. "
        range_ = "{least} or more" if self.limit.most is None else "{least} to {most}"
        boosted = " with boost" if self.limit.id.endswith(".boosted") else ""
        return words(text + f"Engines on it take {range_}{boosted}.", **self.facts(case))

    def change(self, _verdict: Verdict, case: Case) -> Words:
        low = case.value.value < (self.limit.least or 0.0)
        text = "If it was measured on this engine, leave it. Otherwise a bsfc of this fuel, {bound} "
        text += (
            "or more ({then} or more), or the pump and the injectors come out too small; "
            if low
            else "or less ({then}); "
        )
        return words(text + "or air_flow and lambda, measured.", **self.facts(case))
