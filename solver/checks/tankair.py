"""Whether a fuel tank's vent lets enough air in for the fuel that is drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.grades import weakest
from catalogs.units import Quantity
from lines.finding import Finding, State, Verdict, Words, words
from solver.along import largest
from solver.checks.judging import by_duty, judge, untold
from solver.fuels import fuel_tanks
from solver.gas import MOST_DROP
from solver.tankair import tank_air

if TYPE_CHECKING:
    from lines.finding import Case
    from lines.plan import Component
    from solver.study import Study
    from solver.tankair import TankAir

RULE = "fuel.vent.flow"
NOTHING = 1e-12
"""A draw under this is none [m3/s]."""
LEAST = 1e-3
"""What a vent takes under this is nothing [Pa]."""


def breathes(study: Study) -> list[Finding]:
    """`fuel.vent.flow`: how far the air over each tank's fuel comes under that outside, by duty.

    Of the tanks of circuits with a pump whose vent is a circuit of the plan, and that fuel leaves for good.
    """
    return [found for tank in fuel_tanks(study) if (found := _of_tank(study, tank)) is not None]


def _of_tank(study: Study, tank: Component) -> Finding | None:
    try:
        air = tank_air(study, tank)
    except UnknownInputError as error:
        return untold(RULE, tank.name, error, "Whether its vent lets enough air in cannot be told")
    if air is None or ((air.draws < NOTHING).all() and (air.under < LEAST).all()):
        return None
    return _beyond(study, air) if air.beyond.any() else _judged(study, air)


def _beyond(study: Study, air: TankAir) -> Finding:
    """The finding of a vent that takes so much that it is not computed how much."""
    limit, row = study.plan.catalog.limit(RULE), int(np.where(air.beyond, air.draws, -1.0).argmax())
    thing, _ = next(iter(largest(air.losses(), row, 1)), ("its narrowest bore", 0.0))
    facts: dict[str, Quantity | str] = {
        "duty": list(study.plan.duties)[row],
        "tank": air.tank.name,
        "burnt": Quantity(float(air.draws[row]), "volume_flow"),
        "thing": thing,
        "tenth": Quantity(MOST_DROP * float(study.plan.ambient.pressures[row]), "gas_drop"),
        "most": Quantity(limit.fail_above or 0.0, "gas_drop"),
        "enough": Quantity(limit.most or 0.0, "gas_drop"),
    }
    why = "At {duty} {burnt} of fuel leave {tank} for good, and as much air has to come in: its vent takes more than "
    why += "{tenth}, a tenth of the pressure outside and far over the {most} that is too much; how much more is "
    why += "not computed. Most of it goes by {thing}."
    change = "A larger vent, first {thing}, so that at {burnt} all of it takes {enough} at most; or a second one."
    return Finding(
        rule=RULE,
        place=air.tank.name,
        verdict=Verdict.FAIL,
        why=words(why, **facts),
        change=words(change, **facts),
        source=limit.source,
        worst=State(duty=str(facts["duty"])),
        basis=weakest([limit.grade, air.vent.model.grade]),
    )


def _judged(study: Study, air: TankAir) -> Finding:
    limit, duties = study.plan.catalog.limit(RULE), list(study.plan.duties)
    lost = air.losses()

    def facts(case: Case) -> dict[str, Quantity | str]:
        row = duties.index(case.state.duty)
        (thing, most) = next(iter(largest(lost, row, 1)), ("its way", 0.0))
        return {
            "duty": case.state.duty,
            "tank": air.tank.name,
            "burnt": Quantity(float(air.draws[row]), "volume_flow"),
            "under": case.value,
            "most": Quantity(most, "gas_drop"),
            "thing": thing,
            "enough": Quantity(limit.most or 0.0, "gas_drop"),
        }

    def why(_verdict: Verdict, case: Case) -> Words:
        text = "At {duty} {burnt} of fuel leave {tank} for good, and as much air has to come in: over its fuel it "
        return words(text + "comes {under} under that outside, {most} of it by {thing}.", **facts(case))

    def change(_verdict: Verdict, case: Case) -> Words:
        text = "A larger vent, first {thing}, so that at {burnt} all of it takes {enough} at most; or a second one."
        return words(text, **facts(case))

    cases = by_duty(duties, air.under, "gas_drop")
    return judge(limit, air.tank.name, cases, why=why, change=change, grades=[air.vent.model.grade])
