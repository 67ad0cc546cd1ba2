"""What a stock stands: pressure, suction, temperature, and the fluid in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.grades import Grade, weakest
from catalogs.units import Quantity
from lines.finding import NOTHING, Case, Finding, State, Verdict, Words, unchecked, words
from solver.checks.judging import judge
from solver.solution import Solution

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.records import Material, Record
    from lines.assembly import Assembly
    from solver.study import Study

    Array = npt.NDArray[np.float64]


def _gauge(study: Study, made: Assembly, solution: Solution) -> Array:
    """Static gauge pressure in the hose's bore at its two ends [Pa], shape (2, duties)."""
    ambient = np.array(list(study.plan.ambient.pressure.values()))
    run = made.run
    return np.stack([solution.static(ref, made.tag, made.stock.bore) - ambient for ref in (run.start, run.end)])


def _pressurised(study: Study, rule: str) -> tuple[list[tuple[Assembly, Solution]], list[Finding]]:
    """The runs whose pressures are known, and a finding for each that has none. Drains have none to know."""
    known, lacking = [], []
    for made in study.assemblies.values():
        answer = study.solution_of(made.tag)
        if isinstance(answer, Solution) and answer.solved.all():
            known.append((made, answer))
        elif answer is not None:
            why = words("The pressure in it is not known: circuit {circuit} has no answer.", circuit=made.run.circuit)
            lacking.append(unchecked(rule, made.tag, why, f"see circuit.flow/{made.run.circuit}"))
    return known, lacking


def pressure(study: Study) -> list[Finding]:
    """`run.pressure`: highest static pressure in each run against the lower rating of hose and ends."""
    known, found = _pressurised(study, "run.pressure")
    limit = study.plan.catalog.limit("run.pressure")
    for made, solution in known:
        duties = solution.model.duties
        highest = _gauge(study, made, solution).max(axis=0)
        ratings: list[tuple[float, Grade, Record]] = [
            (made.stock.working_pressure, made.stock.grade_of("working_pressure"), made.stock)
        ]
        ratings += [
            (e.end.working_pressure, e.end.grade_of("working_pressure"), e.end)
            for e in made.ends
            if e.end is not None and e.end.working_pressure is not None
        ]
        rating, grade, weakest_part = min(ratings, key=lambda r: r[0])
        high = Quantity(rating / (limit.fail_below or 1.0), "pressure", "gauge")
        i = int(highest.argmax())
        value = Quantity(float(highest[i]), "pressure", "gauge")
        verdict = Verdict.PASS if value.value <= high.value else Verdict.FAIL
        facts: dict[str, Quantity | str] = {"value": value, "high": high, "duty": duties[i], "part": weakest_part.id}
        change = NOTHING
        if verdict is Verdict.PASS:
            why = words("Highest {value} at {duty}; {part} is good for {high}.", **facts)
        else:
            why = words("{value} at {duty}: {part} is good for {high} only.", **facts)
            change = words("A stock or ends with a higher working pressure.")
        found.append(
            Finding(
                rule="run.pressure",
                place=made.tag,
                verdict=verdict,
                why=why,
                change=change,
                value=value,
                high=high,
                worst=State(duty=duties[i]),
                cases=_cases(duties, highest),
                basis=weakest([grade, solution.model.grade]),
                source=weakest_part.origin("working_pressure").source,
            )
        )
    return found


def _cases(duties: list[str], gauge: Array) -> tuple[Case, ...]:
    return tuple(
        Case(State(duty=d), Quantity(float(p), "pressure", "gauge")) for d, p in zip(duties, gauge, strict=True)
    )


def suction(study: Study) -> list[Finding]:
    """`run.suction`: where a run is under ambient pressure, whether its hose keeps its shape."""
    found = []
    counts_from = study.plan.catalog.limit("run.suction.counts").caution_above or 0.0
    for made, solution in _pressurised(study, "run.suction")[0]:
        duties = solution.model.duties
        lowest = _gauge(study, made, solution).min(axis=0)
        i = int(lowest.argmin())
        if lowest[i] > -counts_from or made.stock.rigid:
            continue
        value = Quantity(float(lowest[i]), "pressure", "gauge")
        if made.stock.suction is None:
            why = words(
                "It is under suction at {duty} ({value}) and what {stock} stands is in no table.",
                duty=duties[i],
                value=value,
                stock=made.stock.id,
            )
            needs = f"the vacuum rating of {made.stock.id} from its supplier: suction in the shop's stock table"
            found.append(unchecked("run.suction", made.tag, why, needs))
            continue
        low = Quantity(-made.stock.suction, "pressure", "gauge")
        passes = value.value >= low.value
        found.append(
            Finding(
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
                cases=_cases(duties, lowest),
                basis=weakest([made.stock.grade_of("suction"), solution.model.grade]),
                source=made.stock.origin("suction").source,
            )
        )
    return found


def temperature(study: Study) -> list[Finding]:
    """`run.temperature`: room between the hottest fluid and what the stock stands."""
    plan = study.plan
    limit = plan.catalog.limit("run.temperature")
    found, duties = [], list(plan.duties)
    for made in study.assemblies.values():
        hot = plan.circuits[made.run.circuit].temperature.over(duties)
        cases = [
            Case(State(duty=d), Quantity(made.stock.hottest - t, "temperature_difference"))
            for d, t in zip(duties, hot, strict=True)
        ]
        stands = Quantity(made.stock.hottest, "temperature")

        def why(
            _verdict: Verdict,
            case: Case,
            hot: list[float] = hot,
            stands: Quantity = stands,
            made: Assembly = made,
        ) -> Words:
            at = Quantity(hot[duties.index(case.state.duty)], "temperature")
            return words(
                "Fluid at {at} at {duty}; {stock} stands {stands}.",
                at=at,
                duty=case.state.duty,
                stock=made.stock.id,
                stands=stands,
            )

        def change(_verdict: Verdict, _case: Case) -> Words:
            return words("A stock that stands more heat. Never use its limits of pressure and temperature together.")

        found.append(judge(limit, made.tag, cases, why=why, change=change, grades=[made.stock.grade_of("hottest")]))
    return found


def liner(study: Study) -> list[Finding]:
    """`run.liner`: what touches the fluid."""
    return [_liner(study, made) for made in study.assemblies.values()]


def _liner(study: Study, made: Assembly) -> Finding:
    plan = study.plan
    fluid = plan.catalog.fluid(plan.circuits[made.run.circuit].fluid)
    key = f"{made.stock.liner}/{fluid.family}"
    if key not in plan.catalog.ids("materials"):
        why = words("What {fluid} does to a {liner} liner is in no table.", fluid=fluid.means, liner=made.stock.liner)
        return unchecked("run.liner", made.tag, why, f"the supplier's word on {made.stock.liner} and {fluid.means}")
    row: Material = plan.catalog.material(key)
    verdict = {"good": Verdict.PASS, "caution": Verdict.CAUTION, "no": Verdict.FAIL}[row.verdict]
    why = words("{fluid} in {liner}: {reason}.", liner=made.stock.liner, fluid=fluid.id, reason=row.why.rstrip("."))
    good = sorted({m.partition("/")[0] for m in plan.catalog.good_liners(fluid.family)})
    change = (
        NOTHING
        if verdict is Verdict.PASS
        else words("A stock with a liner of {good}.", good=" or ".join(good) or "another sort")
    )
    return Finding(
        rule="run.liner",
        place=made.tag,
        verdict=verdict,
        why=why,
        change=change,
        basis=weakest([row.grade, made.stock.grade_of("liner")]),
        source=row.source,
    )
