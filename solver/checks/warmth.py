"""How long a drive may last until the fuel is so warm that it boils at a pump's inlet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import NoAnswerError, UnknownInputError
from catalogs.grades import Grade
from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, words
from solver.checks.judging import judge, sentence, untold
from solver.checks.roles import answer, without_answer
from solver.fuels import due_and_clean, fuel_circuits, owner, pumps, regulators, takes, tanks
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
LEAST = 0.5
"""What warms it by less is not told [W]."""
NO_BAY = ". Heat of the engine bay is not counted: no run says how warm the air around it is (air)."


def lasts(study: Study) -> list[Finding]:
    """`fuel.warming`: how long the pumps may run at each duty until the fuel boils at the inlet of one of them."""
    return [_lasts(study, circuit) for circuit in fuel_circuits(study) if pumps(circuit)]


def _lasts(study: Study, circuit: Circuit) -> Finding:
    try:
        bodies, brought = _bodies(study, circuit)
        boils = _boils(study, circuit)
    except UnknownInputError as error:
        return untold(RULE, circuit.name, error, "How fast its fuel warms cannot be told")
    except NoAnswerError:
        return without_answer(RULE, circuit.name, circuit)
    return _Warms(study, circuit, bodies, brought, boils).finding()


@dataclass(frozen=True)
class _Warms:
    """The fuel of a circuit's tanks at each duty, low."""

    study: Study
    circuit: Circuit
    bodies: list[_Body]
    brought: Array
    """What the pumps, and what the air around its runs, bring into the tanks at first [W], shape (2, duties)."""
    boils: list[float]
    """The temperature at which it boils at an inlet [K]."""

    @property
    def duties(self) -> list[str]:
        return list(self.study.plan.duties)

    @property
    def times(self) -> list[float]:
        """Until it boils at an inlet [s]."""
        return [min(one.body.until(hot), LONG) for one, hot in zip(self.bodies, self.boils, strict=True)]

    @property
    def ends(self) -> list[float]:
        """When a duty ends, or its low fuel is burnt [s]."""
        lasts = [self.study.plan.duties[duty].lasts for duty in self.duties]
        return [min(one.lasts, np.inf if end is None else end) for one, end in zip(self.bodies, lasts, strict=True)]

    def finding(self) -> Finding:
        each = zip(self.duties, self.times, self.ends, strict=True)
        cases = [Case(State(duty=duty), Quantity(time, "duration")) for duty, time, end in each if time <= end]
        if not cases:
            end = "." if warmed_runs(self.circuit) else NO_BAY
            why = words("Every duty ends, or burns the low fuel, before it is so warm that it boils at an inlet" + end)
            return Finding(rule=RULE, place=self.circuit.name, verdict=Verdict.PASS, why=why, basis=Grade.PRACTICE)
        limit = self.study.plan.catalog.limit(RULE)
        return judge(limit, self.circuit.name, cases, why=self._why, change=self._change, grades=[Grade.PRACTICE])

    def _why(self, _verdict: Verdict, case: Case) -> Words:
        i = self.duties.index(case.state.duty)
        body, until = self.bodies[i].body, min(3600.0, self.ends[i])
        facts: dict[str, Quantity | str] = {
            "duty": case.state.duty,
            "power": Quantity(float(self.brought[0, i]), "heat"),
            "taken": Quantity(float(self.brought[1, i]), "heat"),
            "start": Quantity(body.start, "temperature"),
            "boils": Quantity(self.boils[i], "temperature"),
            "then": Quantity(body.after(until), "temperature"),
            "until": Quantity(until, "duration"),
            "lasts": case.value,
        }
        text = "At {duty} the fuel that comes back brings {power} of its pumps"
        text += " and {taken} of the air around its runs" if self.brought[1, i] >= LEAST else ""
        text += ": low in the tank it goes from {start} to {then} in {until}"
        end = "." if warmed_runs(self.circuit) else NO_BAY
        if case.value.value >= LONG:
            return words(text + ", and never to the {boils} at which it boils at an inlet" + end, **facts)
        if case.value.value <= 0:
            return words(text + "; it boils at an inlet from the first" + end, **facts)
        return words(text + ", and to the {boils} at which it boils at an inlet in {lasts}" + end, **facts)

    def _change(self, _verdict: Verdict, _case: Case) -> Words:
        ways = ["fewer volts while little is burnt"]
        ways += ["one pump less then"] if len(pumps(self.circuit)) > 1 else []
        ways += ["a fuel cooler in the return"] if regulators(self.circuit) else []
        return words(sentence(", or ".join([*ways, "more fuel", "what fuel.suction asks for"])) + ".")


@dataclass(frozen=True)
class _Body:
    """The fuel of a circuit's tanks at one duty."""

    body: Warming
    lasts: float
    """Until what is low in them is burnt [s]."""


def _bodies(study: Study, circuit: Circuit) -> tuple[list[_Body], Array]:
    """The low fuel at each duty, and what its pumps and the air around its runs bring into the tanks at first [W].

    What comes back with the fuel counts: what is burnt takes its own heat along.

    Raises:
        NoAnswerError: the circuit has no answer at every duty.
        UnknownInputError: what a pump takes, what a tank holds, or what the fuel takes up is not known.
    """
    solution = answer(study, circuit)
    if solution is None:
        raise NoAnswerError(f"circuit {circuit.name} has no answer at every duty")
    for pump in pumps(circuit):
        takes(owner(pump), list(study.plan.duties))
    found = warmed(study.plan, solution, study.assemblies)
    air = found.back(found.start, pumps=False)
    pumped = found.back(found.start, pumps=True) - air
    by = air - found.back(found.start + 1.0, pumps=False)
    warmest = found.start + air / np.where(by > 0, by, 1.0)
    burnt = solution.model.batch.taken.sum(axis=1)
    bodies = []
    for i, power in enumerate(pumped):
        body, volume = _body(study, circuit, i, float(power))
        bodies.append(
            _Body(body.drawn_to(float(warmest[i]), float(by[i])), volume / burnt[i] if burnt[i] > 0 else np.inf)
        )
    return bodies, np.stack([pumped, air])


def _body(study: Study, circuit: Circuit, row: int, power: float) -> tuple[Warming, float]:
    """The fuel of a circuit's tanks at their low level, at one duty, with what is brought into it [W]; its volume [m3].

    Raises:
        UnknownInputError: what a tank holds is not known.
    """
    plan = study.plan
    duty, table = list(plan.duties)[row], plan.circuits[circuit.name]
    fluid, temperature = plan.catalog.fluid(table.fluid), np.array([table.temperature.at(duty)])
    held = [_held(tank) for tank in tanks(circuit)]
    if not held:
        raise UnknownInputError("no tank holds its fuel", needs="a tank in it")
    volume, area = (sum(column) for column in zip(*held, strict=True))
    gives_off = plan.catalog.limit(f"{RULE}.cooling").caution_below or 0.0
    mass = volume * float(density(fluid, temperature)[0])
    body = Warming(
        start=float(temperature[0]),
        air=plan.ambient.temperature[duty],
        power=power,
        cooling=gives_off * area,
        capacity=mass * float(heat_capacity(fluid, temperature)[0]),
    )
    return body, volume


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
        UnknownInputError: the fuel's vapour pressure is not known, what its tank's vent takes, or the inlet can be told
            in no attitude.
    """
    plan = study.plan
    need = plan.catalog.limit("fuel.suction.need").caution_below or 0.0
    stands = due_and_clean(study, circuit)
    under = [(pump, drawn_under(study, circuit, pump)) for pump in pumps(circuit)]
    inlets = [suction(plan, pump, one, need, lacking) for pump, lacking in under for one in stands]
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
