"""How long a drive may last until the fuel is so warm that it boils at a pump's inlet."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import NoAnswerError, UnknownInputError
from catalogs.grades import Grade
from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, words
from solver.checks.judging import judge, untold
from solver.checks.roles import answer, without_answer
from solver.fuels import due_and_clean, fuel_circuits, owner, pumps, takes, tanks
from solver.liquid import liquid_in
from solver.properties import density, heat_capacity, reach, vapour_pressure
from solver.suction import suction
from solver.tankair import drawn_under
from solver.warmed import warmed, warmed_runs
from solver.warming import Warming

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.graph import Circuit
    from lines.plan import Component
    from solver.study import Study
    from solver.suction import Suction

    Array = npt.NDArray[np.float64]

RULE = "fuel.warming"
STEPS = 400
"""In which the temperature is looked for at which fuel boils."""
LONG = 24 * 3600.0
"""What takes longer is told as never [s]."""


def lasts(study: Study) -> list[Finding]:
    """`fuel.warming`: how long the pumps may run at each duty until the fuel boils at the inlet of one of them."""
    return [_lasts(study, circuit) for circuit in fuel_circuits(study) if pumps(circuit)]


def _lasts(study: Study, circuit: Circuit) -> Finding:
    limit = study.plan.catalog.limit(RULE)
    duties = list(study.plan.duties)
    try:
        bodies = [_body(study, circuit, i) for i in range(len(duties))]
        beside, taken = _beside(study, circuit, bodies)
        boils = _boils(study, circuit)
    except UnknownInputError as error:
        return untold(RULE, circuit.name, error, "How fast its fuel warms cannot be told")
    except NoAnswerError:
        return without_answer(RULE, circuit.name, circuit)
    warm = bool(warmed_runs(circuit))
    times = [min(body.until(boils[i]), LONG) for i, body in enumerate(beside)]
    # A duty that ends before that warms it no farther.
    ends = [study.plan.duties[d].lasts for d in duties]
    cases = [
        Case(State(duty=d), Quantity(t, "duration"))
        for d, t, end in zip(duties, times, ends, strict=True)
        if end is None or t <= end
    ]
    if not cases:
        why_not = words("Every duty ends before its fuel is so warm that it boils at an inlet.")
        return Finding(rule=RULE, place=circuit.name, verdict=Verdict.PASS, why=why_not, basis=Grade.PRACTICE)

    def why(_verdict: Verdict, case: Case) -> Words:
        i = duties.index(case.state.duty)
        body = beside[i]
        facts: dict[str, Quantity | str] = {
            "duty": case.state.duty,
            "power": Quantity(body.power, "heat"),
            "taken": Quantity(float(taken[i]), "heat"),
            "start": Quantity(body.start, "temperature"),
            "boils": Quantity(boils[i], "temperature"),
            "hour": Quantity(body.after(3600.0), "temperature"),
            "lasts": case.value,
        }
        text = "At {duty} the pumps put {power} into the fuel"
        text += " and the air around its runs {taken}" if warm else ""
        text += ": low in the tank it goes from {start} to {hour} in an hour"
        end = "" if warm else " Heat of the engine bay is not counted: no run says how warm the air around it is (air)."
        if case.value.value >= LONG:
            return words(text + ", and never to the {boils} at which it boils at an inlet." + end, **facts)
        if case.value.value <= 0:
            return words(text + "; it boils at an inlet from the first." + end, **facts)
        return words(text + ", and to the {boils} at which it boils at an inlet in {lasts}." + end, **facts)

    def change(_verdict: Verdict, _case: Case) -> Words:
        return words(
            "Fewer volts, or one pump less, while little is burnt; a fuel cooler in the return; more fuel; or what "
            "fuel.suction asks for."
        )

    return judge(limit, circuit.name, cases, why=why, change=change, grades=[Grade.PRACTICE])


def _body(study: Study, circuit: Circuit, row: int) -> Warming:
    """The fuel of a circuit's tanks at their low level, at one duty.

    Raises:
        UnknownInputError: what a pump takes, or what a tank holds, is not known.
    """
    plan = study.plan
    duty, table = list(plan.duties)[row], plan.circuits[circuit.name]
    power = float(sum(takes(owner(pump), list(plan.duties))[row] for pump in pumps(circuit)))
    fluid, temperature = plan.catalog.fluid(table.fluid), np.array([table.temperature.at(duty)])
    held = [_held(tank) for tank in tanks(circuit)]
    if not held:
        raise UnknownInputError("no tank holds its fuel", needs="a tank in it")
    volume, area = (sum(column) for column in zip(*held, strict=True))
    gives_off = plan.catalog.limit(f"{RULE}.cooling").caution_below or 0.0
    mass = volume * float(density(fluid, temperature)[0])
    return Warming(
        start=float(temperature[0]),
        air=plan.ambient.temperature[duty],
        power=power,
        cooling=gives_off * area,
        capacity=mass * float(heat_capacity(fluid, temperature)[0]),
    )


def _beside(study: Study, circuit: Circuit, bodies: list[Warming]) -> tuple[list[Warming], Array]:
    """The fuel at each duty with the air around the runs of its circuit, and what that gives at first [W].

    Raises:
        NoAnswerError: the circuit has no answer at every duty.
        UnknownInputError: what the fuel takes up is not known.
    """
    if not warmed_runs(circuit):
        return bodies, np.zeros(len(bodies))
    solution = answer(study, circuit)
    if solution is None:
        raise NoAnswerError(f"circuit {circuit.name} has no answer at every duty")
    found = warmed(study.plan, solution, study.assemblies)
    taken, less = found.back(found.start), found.back(found.start + 1.0)
    by = taken - less
    air = found.start + taken / np.where(by > 0, by, 1.0)
    return [body.drawn_to(float(t), float(g)) for body, t, g in zip(bodies, air, by, strict=True)], taken


def _held(tank: Component) -> tuple[float, float]:
    """The volume of low fuel in a tank [m3], and the area of the walls that it wets [m2].

    Raises:
        UnknownInputError: its box is not known.
    """
    low = liquid_in(tank, "low")
    if low.body is None or low.volume is None or low.surface is None:
        raise UnknownInputError(low.lacks, needs=low.needs)
    size = low.body[:, 1] - low.body[:, 0]
    deep = np.clip(low.surface - low.body[:, 0, 2], 0.0, size[:, 2])
    floors, sides = size[:, 0] * size[:, 1], 2 * (size[:, 0] + size[:, 1]) * deep
    return low.volume, float((floors + sides)[deep > 0].sum())


def _boils(study: Study, circuit: Circuit) -> list[float]:
    """The temperature at which nothing is left at the inlet of a pump, by duty, over all attitudes that last [K].

    Its flow and its losses as at the duty's own temperature.

    Raises:
        NoAnswerError: the circuit has no answer at every duty.
        UnknownInputError: the fuel's vapour pressure is not known, or the inlet can be told in no attitude.
    """
    plan = study.plan
    need = plan.catalog.limit("fuel.suction.need").caution_below or 0.0
    stands = due_and_clean(study, circuit)
    inlets = [suction(plan, pump, one, need, drawn_under(study, pump)) for pump in pumps(circuit) for one in stands]
    return [min(_at(found, duty) for found in inlets) for duty in plan.duties]


def _at(found: Suction, duty: str) -> float:
    """The temperature at which nothing is left at one inlet at a duty [K]; the highest that can be told if more is."""
    rows = [
        i
        for i, name in enumerate(found.stands.names)
        if name.duty == duty and found.stands.lasts[i] and np.isfinite(found.pressure[i])
    ]
    if not rows:
        reason = f"what is left at the inlet of {owner(found.pump).name} in {duty} is not known"
        raise UnknownInputError(reason, needs=f"what fuel.suction/{owner(found.pump).name} asks for")
    left = float(np.min((found.pressure - found.need)[rows]))
    assert found.fluid.vapour is not None
    hottest = reach(found.fluid.vapour).hottest
    tried = np.linspace(min(float(found.temperature[rows[0]]), hottest), hottest, STEPS)
    boils = np.flatnonzero(vapour_pressure(found.fluid, tried) >= left)
    return float(tried[boils[0]]) if boils.size else hottest
