"""What a stock stands: pressure, suction and temperature."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.grades import Grade, weakest
from catalogs.units import Quantity
from lines.finding import NOTHING, Case, Finding, State, Verdict, Words, unchecked, words
from solver.checks.judging import by_duty, judge
from solver.checks.roles import at_relief
from solver.solution import Solution

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.records import Record
    from lines.assembly import Assembly
    from solver.study import Study

    Array = npt.NDArray[np.float64]

FINEST = 1e-3
"""No gauge tells pressures apart by a smaller share: a relief valve set to what a hose stands does not burst it."""


def _gauge(study: Study, made: Assembly, solution: Solution) -> Array:
    """Static gauge pressure in the hose's bore at its two ends [Pa], shape (2, duties)."""
    ambient = study.plan.ambient.pressures
    run = made.run
    return np.stack([solution.static(ref, made.tag, made.stock.bore) - ambient for ref in (run.start, run.end)])


def _locked(study: Study, made: Assembly, solution: Solution) -> Array | None:
    """Gauge pressure in a run at full lock [Pa] by duty, the relief pressure of its pump; None without such a pump."""
    locked = at_relief(solution, made.tag)
    return None if locked is None else locked - study.plan.ambient.pressures


def _pressurised(study: Study) -> list[tuple[Assembly, Solution]]:
    """The runs whose pressures are known. Drains have none to know."""
    answers = [(made, study.solution_of(made.tag)) for made in study.assemblies.values()]
    return [(made, answer) for made, answer in answers if isinstance(answer, Solution) and answer.solved.all()]


def pressure(study: Study) -> list[Finding]:
    """`run.pressure`: highest pressure in each run against the lower rating of hose and ends.

    That of the solution or, between a steering pump and its box, at the pump's relief; and the circuit's own `highest`
    where the plan states one: the higher of the two at each duty.
    """
    found, solved = [], {made.tag: answer for made, answer in _pressurised(study)}
    for made in study.assemblies.values():
        answer, stated = solved.get(made.tag), _stated(study, made)
        if answer is not None:
            flowing, locked = _gauge(study, made, answer).max(axis=0), _locked(study, made, answer)
            highest = flowing if locked is None else np.maximum(flowing, locked)
            worst = highest if stated is None else np.maximum(highest, stated)
            judged = _pressure(study, made, worst, answer.model.grade, locked)
            found.append(judged if stated is None else _against_stated(study, judged, highest, stated))
        elif stated is not None:
            found.append(_pressure(study, made, stated, Grade.MEASURED))
        elif study.solution_of(made.tag) is not None:
            circuit = made.run.circuit
            why = words("The pressure in it is not known: circuit {circuit} has no answer.", circuit=circuit)
            say = f"highest in [runs.{made.tag}] or [circuits.{circuit}]"
            needs = f"what circuit.flow/{circuit} asks for, or the highest pressure from elsewhere: {say}"
            found.append(unchecked("run.pressure", made.tag, why, needs))
    return found


def _against_stated(study: Study, judged: Finding, solved: Array, stated: Array) -> Finding:
    """A pass becomes a caution where the plan states less than its own figures come to."""
    i = int((solved - stated).argmax())
    if judged.verdict is not Verdict.PASS or solved[i] <= stated[i]:
        return judged
    says, comes = (Quantity(float(values[i]), "pressure", "gauge") for values in (stated, solved))
    duty = list(study.plan.duties)[i]
    why = words("The plan says {says} at most, but it comes to {comes} at {duty}.", says=says, comes=comes, duty=duty)
    change = words("Say {comes} or more as highest, or leave it out.", comes=comes)
    return replace(judged, verdict=Verdict.CAUTION, why=why, change=change)


def _stated(study: Study, made: Assembly) -> Array | None:
    """The highest pressure that the plan states for a run, or for its circuit [Pa gauge] by duty."""
    stated = made.run.highest or study.plan.circuits[made.run.circuit].highest
    if stated is None:
        return None
    ambient = study.plan.ambient.pressure
    duties = list(study.plan.duties)
    return np.array([p.absolute(ambient[d]) - ambient[d] for d, p in zip(duties, stated.over(duties), strict=True)])


def _pressure(study: Study, made: Assembly, highest: Array, grade: Grade, locked: Array | None = None) -> Finding:
    limit, duties = study.plan.catalog.limit("run.pressure"), list(study.plan.duties)
    ratings: list[tuple[float, Grade, Record]] = [
        (made.stock.working_pressure, made.stock.grade_of("working_pressure"), made.stock)
    ]
    ratings += [
        (end.working_pressure, end.grade_of("working_pressure"), end)
        for end in made.chosen
        if end is not None and end.working_pressure is not None
    ]
    rating, rated, weakest_part = min(ratings, key=lambda r: r[0])
    high = Quantity(rating / (limit.fail_below or 1.0), "pressure", "gauge")
    i = int(highest.argmax())
    value = Quantity(float(highest[i]), "pressure", "gauge")
    verdict = Verdict.PASS if value.value <= high.value * (1.0 + FINEST) else Verdict.FAIL
    at_lock = locked is not None and bool(highest[i] == locked[i])
    when = f"{duties[i]}, its pump at its relief pressure as at full lock" if at_lock else duties[i]
    facts: dict[str, Quantity | str] = {"value": value, "high": high, "when": when, "part": weakest_part.id}
    unrated = _unrated(made)
    if verdict is Verdict.PASS and unrated and value.value > _counts_from(study):
        verdict = Verdict.CAUTION
        facts["unrated"] = " and ".join(unrated)
        why = words(
            "Highest {value} at {when}; {part} is good for {high}, but what {unrated} stands is not known.", **facts
        )
        change = words("Ask for the ratings and put them in the shop's folder: working_pressure. The lowest counts.")
    elif verdict is Verdict.PASS:
        why, change = words("Highest {value} at {when}; {part} is good for {high}.", **facts), NOTHING
    else:
        why = words("{value} at {when}: {part} is good for {high} only.", **facts)
        change = words("A stock or ends with a higher working pressure.")
    return Finding(
        rule="run.pressure",
        place=made.tag,
        verdict=verdict,
        why=why,
        change=change,
        value=value,
        high=high,
        worst=State(duty=duties[i]),
        cases=tuple(by_duty(duties, highest, "pressure", "gauge")),
        basis=weakest([grade, rated]),
        source=weakest_part.origin("working_pressure").source,
    )


def _unrated(made: Assembly) -> list[str]:
    """The ends of an assembly whose working pressure nobody states."""
    return list(dict.fromkeys(e.id for e in made.chosen if e is not None and e.working_pressure is None))


def _counts_from(study: Study) -> float:
    return study.plan.catalog.limit("run.pressure.unrated").caution_above or 0.0


def suction(study: Study) -> list[Finding]:
    """`run.suction`: where a run is under ambient pressure, whether its hose keeps its shape."""
    found = []
    counts_from = study.plan.catalog.limit("run.suction.counts").caution_above or 0.0
    for made, solution in _pressurised(study):
        duties = solution.model.duties
        lowest = _gauge(study, made, solution).min(axis=0)
        i = int(lowest.argmin())
        if lowest[i] > -counts_from or made.stock.rigid:
            continue
        found.append(stands_suction(made, duties, lowest, solution.model.grade))
    return found


def stands_suction(made: Assembly, duties: list[str], lowest: Array, grade: Grade) -> Finding:
    """`run.suction` of one run: what its hose stands against the lowest pressure in it.

    Args:
        made: its assembly.
        duties: of the plan.
        lowest: in it at each of them [Pa gauge], shape (duties,).
        grade: of that pressure.
    """
    i = int(lowest.argmin())
    value = Quantity(float(lowest[i]), "pressure", "gauge")
    if made.stock.suction is None:
        why = words(
            "It is under suction at {duty} ({value}) and what {stock} stands is in no table.",
            duty=duties[i],
            value=value,
            stock=made.stock.id,
        )
        needs = f"the vacuum rating of {made.stock.id} from its supplier: suction in the shop's stock table"
        return unchecked("run.suction", made.tag, why, needs)
    low = Quantity(-made.stock.suction, "pressure", "gauge")
    passes = value.value >= low.value
    return Finding(
        rule="run.suction",
        place=made.tag,
        verdict=Verdict.PASS if passes else Verdict.FAIL,
        why=words(
            "Lowest {value} at {duty}; {stock} stands {low}.",
            value=value,
            duty=duties[i],
            stock=made.stock.id,
            low=low,
        ),
        change=NOTHING if passes else words("A hose with a spring, a larger bore, or tube."),
        value=value,
        low=low,
        worst=State(duty=duties[i]),
        cases=tuple(by_duty(duties, lowest, "pressure", "gauge")),
        basis=weakest([made.stock.grade_of("suction"), grade]),
        source=made.stock.origin("suction").source,
    )


def temperature(study: Study) -> list[Finding]:
    """`run.temperature`: room between what the stock stands and the hotter of its fluid and the air around it."""
    plan = study.plan
    limit = plan.catalog.limit("run.temperature")
    found, duties = [], list(plan.duties)
    for made in study.assemblies.values():
        fluid = np.array(plan.circuits[made.run.circuit].temperature.over(duties))
        air = fluid if made.run.air is None else np.array(made.run.air.over(duties))
        hot = np.maximum(fluid, air)
        cases = by_duty(duties, made.stock.hottest - hot, "temperature_difference")
        stands = Quantity(made.stock.hottest, "temperature")

        def why(
            _verdict: Verdict,
            case: Case,
            hot: Array = hot,
            fluid: Array = fluid,
            stands: Quantity = stands,
            made: Assembly = made,
        ) -> Words:
            row = duties.index(case.state.duty)
            return words(
                "{what} at {at} at {duty}; {stock} stands {stands}.",
                what="Air around it" if hot[row] > fluid[row] else "Fluid",
                at=Quantity(float(hot[row]), "temperature"),
                duty=case.state.duty,
                stock=made.stock.id,
                stands=stands,
            )

        def change(_verdict: Verdict, _case: Case) -> Words:
            return words("A stock that stands more heat. Never use its limits of pressure and temperature together.")

        found.append(judge(limit, made.tag, cases, why=why, change=change, grades=[made.stock.grade_of("hottest")]))
    return found
