"""Oil coolers: what they see cold and warm, how much goes through them hot, and whether air leaves them."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.grades import Grade
from catalogs.units import Quantity
from lines.finding import NOTHING, Case, Finding, State, Verdict, Words, unchecked, words
from solver.checks.judging import by_duty, judge, verdict_of
from solver.checks.roles import answer, at_relief, coolers, each, loops
from solver.checks.ways import ways
from solver.stated import figure

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.records import Limit
    from lines.graph import Circuit, Edge
    from solver.solution import Solution
    from solver.study import Study

    Array = npt.NDArray[np.float64]

# ---------------------------------------------------------------- what it sees


def drop(study: Study) -> list[Finding]:
    """`cooler.drop`: what a cooler sees against its rating.

    The pressure at its inlet is that of the solution or, between a steering pump and its box, the pump's relief
    pressure: the higher of the two at each duty.
    """
    return each(study, "cooler.drop", coolers, _drop)


def _drop(study: Study, solution: Solution, core: Edge, name: str) -> Finding:
    duties, ambient = solution.model.duties, study.plan.ambient.pressures
    warmth = np.array(study.plan.circuits[solution.model.circuit.name].temperature.over(duties))
    into, out = (core.start, core.end) if solution.flow(core.name).sum() >= 0 else (core.end, core.start)
    flowing = np.maximum(_gauge(solution, into), _gauge(solution, out)) - ambient
    locked = at_relief(solution, core.name)
    sees = flowing if locked is None else np.maximum(flowing, locked - ambient)
    cases = by_duty(duties, sees, "pressure_drop")
    limit, grade = _limit(study, core, duties)
    cold, hot = int(warmth.argmin()), int(warmth.argmax())
    told = _told(solution, core, "cold", cold) | _told(solution, core, "hot", hot)
    around = ways(solution, core)

    def why(_verdict: Verdict, case: Case) -> Words:
        text = "Up to {sees} at its inlet, at {worst}"
        text += ", while the pump stands at its relief pressure, as at full lock. " if at_lock(case) else ". "
        text += "At {cold}, the coldest: {cold_flow} through it costs {cold_drop}"
        text += "; at {hot}, the hottest: {hot_flow} costs {hot_drop}. " if warmth[hot] > warmth[cold] else ". "
        text += "At {cold} {share} goes round it." if around.round_it else "Nothing goes round it."
        share = Quantity(1.0 - float(around.through[cold]), "ratio")
        return words(text, sees=case.value, worst=case.state.duty, share=share, **told)

    def at_lock(case: Case) -> bool:
        return locked is not None and case.value.value > float(flowing[duties.index(case.state.duty)])

    def change(_verdict: Verdict, case: Case) -> Words:
        if at_lock(case):
            return words("Into the return, behind the steering box: before it stands the pump's whole pressure.")
        if around.round_it:
            return words("A cooler of a higher rating, or less pressure before it: wider lines, thinner oil.")
        row = duties.index(case.state.duty)
        most = limit.fail_above if limit.fail_above is not None else limit.caution_above
        assert most is not None
        room = most - float(_gauge(solution, out)[row] - ambient[row])
        if room <= 0:
            return words(
                "The pressure behind it alone is too much: a cooler of a higher rating, or wider lines behind it."
            )
        return words(
            "An oil thermostat before it, or a by-pass valve across it that lets all of it round at {room} or less.",
            room=Quantity(room, "pressure_drop"),
        )

    return judge(limit, name, cases, why=why, change=change, grades=[solution.model.grade, grade])


def _gauge(solution: Solution, place: str) -> Array:
    """What a gauge reads at a cooler's inlet or outlet [Pa absolute]; in its tank, where the flow stands, the total."""
    return solution.static_at(place) if place in solution.model.bores else solution.total(place)


def _limit(study: Study, core: Edge, duties: list[str]) -> tuple[Limit, Grade]:
    """The cooler's own rating, else the limit of practice."""
    limit = study.plan.catalog.limit("cooler.drop")
    assert core.component is not None
    rating = core.component.figures.get("rating")
    if rating is None:
        return limit, limit.grade
    own = {"fail_above": min(rating.over(duties)), "caution_above": None, "source": "the plan's own rating"}
    return limit.model_copy(update=own | {"grade": Grade.MEASURED}), Grade.MEASURED


def _told(solution: Solution, core: Edge, when: str, row: int) -> dict[str, Quantity | str]:
    """What goes through a cooler at one duty, and what it costs."""
    lost = solution.total(core.start)[row] - solution.total(core.end)[row]
    return {
        when: solution.model.duties[row],
        f"{when}_flow": Quantity(abs(float(solution.flow(core.name)[row])), "oil_flow"),
        f"{when}_drop": Quantity(abs(float(lost)), "pressure_drop"),
    }


# ---------------------------------------------------------------- what goes through it hot


def through(study: Study) -> list[Finding]:
    """`cooler.through`: the share of the oil that goes through a cooler at the hottest duty.

    Of every cooler whose circuit has an answer: where it has none `cooler.drop` says so.
    """
    found = []
    for circuit in loops(study):
        solution = answer(study, circuit)
        if solution is not None:
            found += [_through(study, solution, core) for core in coolers(circuit)]
    return found


def _through(study: Study, solution: Solution, core: Edge) -> Finding:
    assert core.component is not None
    circuit, duties, catalog = solution.model.circuit, solution.model.duties, study.plan.catalog
    warmth = np.array(study.plan.circuits[circuit.name].temperature.over(duties))
    hot, around = int(warmth.argmax()), ways(solution, core)
    idle = bool(around.of_all[hot] < (catalog.limit("cooler.through.idle").caution_below or 0.0))
    share = Quantity(0.0 if idle else float(around.through[hot]), "ratio")
    oil = Quantity(float(warmth[hot]), "temperature")
    facts: dict[str, Quantity | str] = {
        "flow": Quantity(abs(float(solution.flow(core.name)[hot])), "oil_flow"),
        "duty": duties[hot],
        "oil": oil,
        "share": share,
    }
    limit = catalog.limit("cooler.through")
    verdict = verdict_of(limit, share.value)
    if (
        verdict is not Verdict.PASS
        and around.round_it
        and oil.value < (catalog.limit("oil.feed.warm").caution_below or 0)
    ):
        why = words("At {duty}, the hottest, the oil has {oil} only: what goes through it hot is not known.", **facts)
        return unchecked(
            limit.id, core.component.name, why, f"a duty with hot oil: temperature in [circuits.{circuit.name}]"
        )
    text = {
        Verdict.FAIL: "Hardly any oil goes through it when hot: ",
        Verdict.CAUTION: "Much of the oil goes round it when hot: ",
    }
    said = "at {duty}, the hottest, with the oil at {oil}, {flow} goes through, {share} of what comes to it."
    if verdict is Verdict.PASS:
        said = "At {duty}, the hottest, with the oil at {oil}, {flow} goes through, {share} of what comes to it."
    return judge(
        limit,
        core.component.name,
        [Case(State(duty=duties[hot]), share)],
        why=lambda found, _c: words(text.get(found, "") + said, **facts),
        change=lambda _v, _c: _look_at(circuit, oil),
        grades=[solution.model.grade],
    )


def _look_at(circuit: Circuit, oil: Quantity) -> Words:
    """What to look at where hot oil does not go through a cooler."""
    stats = [e.component for e in circuit.edges.values() if e.law == "thermostat"]
    late = [(stat, figure(stat, "opens"), figure(stat, "open")) for stat in stats if stat is not None]
    for stat, opens, full in late:
        if oil.value < full:
            return words(
                "{stat} begins to open at {opens} and is open at {full}: one that opens earlier, unless the oil is "
                "meant to be held that hot.",
                stat=stat.name,
                opens=Quantity(opens, "temperature"),
                full=Quantity(full, "temperature"),
            )
    if not late:
        return words("See what else lets oil by: a valve that opens too early, or a cooler that costs too much.")
    stat = late[0][0]
    ports = "; ".join(f"{name} {port.means}" for name, port in stat.kind.ports.items())
    return words(
        "{stat} is open at that: see whether two hoses on it are swapped. Its ports: {ports}.",
        stat=stat.name,
        ports=ports,
    )


# ---------------------------------------------------------------- air in it


def air(study: Study) -> list[Finding]:
    """`cooler.air`: whether air can leave a cooler by its ports: up best, on its side with the inlet at the bottom."""
    return [_air(study, core) for circuit in loops(study) for core in coolers(circuit)]


def _air(study: Study, core: Edge) -> Finding:
    assert core.component is not None
    name, limit = core.component.name, study.plan.catalog.limit("cooler.air")
    into, out = (core.component.port(port) for port in ("in", "out"))
    if into.points is None or out.points is None or into.z is None or out.z is None:
        why = words(
            "Which way its ports point, or how high they are, is not known: whether air leaves it cannot be told."
        )
        return unchecked("cooler.air", name, why, f"at and points of both ports in [components.{name}]")
    ups = [port.points[2] for port in (into, out) if port.points is not None]
    higher = Quantity(out.z - into.z, "length")
    case = Case(State(), higher)
    steep = math.sin(study.plan.catalog.limit("cooler.air.steep").caution_above or 0.0)
    if max(ups) < -steep:
        why = words("Both its ports point down: the air in it has no way out, and that part of it cools nothing.")
        change = words("Turn it over: ports up; or hang it on its side with the inlet at the bottom.")
        found = judge(limit, name, [case], why=lambda _v, _c: why)
        return replace(found, verdict=Verdict.CAUTION, change=change)
    if min(ups) > steep:
        up = words("Both its ports point up: air leaves it by itself.")
        return replace(judge(limit, name, [case], why=lambda _v, _c: up), verdict=Verdict.PASS, change=NOTHING)
    if abs(higher.value) < (study.plan.catalog.limit("cooler.air.level").caution_below or 0.0):
        why = words("Its ports lie level and point sideways: whether air stays over them the plan does not tell.")
        needs = "look at it: its core has to hang below its ports. Else on its side, with the inlet at the bottom"
        return unchecked("cooler.air", name, why, needs)
    return judge(
        limit,
        name,
        [case],
        why=lambda v, c: words(
            "Its outlet lies {height} {way} its inlet: air {goes}.",
            height=Quantity(abs(c.value.value), "length"),
            way="over" if v is Verdict.PASS else "below",
            goes="leaves with the oil" if v is Verdict.PASS else "stays in its top",
        ),
        change=lambda _v, _c: words(
            "Swap the two hoses on it, so that the oil goes in at the bottom and out at the top."
        ),
    )
