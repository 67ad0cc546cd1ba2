"""Oil coolers: what they see cold and warm, how much goes round them, and whether air leaves them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.grades import Grade
from catalogs.units import Quantity
from lines.finding import NOTHING, Case, Finding, State, Verdict, Words, unchecked, words
from solver.checks.judging import judge
from solver.checks.roles import about, each, is_pump, loops

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.records import Limit
    from lines.graph import Circuit, Edge
    from solver.solution import Solution
    from solver.study import Study

    Array = npt.NDArray[np.float64]

STEEP = 0.5
"""Upward part of a port's direction from which it counts as pointing up, or down: 30 deg off level."""
LEVEL = 0.01
"""Ports that differ in height by less than this lie level [m]."""


def _coolers(circuit: Circuit) -> list[Edge]:
    return [e for e in circuit.edges.values() if e.component is not None and e.component.kind.id == "cooler"]


# ---------------------------------------------------------------- what it sees


def drop(study: Study) -> list[Finding]:
    """`cooler.drop`: the pressure at a cooler's inlet against its rating, with its flow and drop warm and cold."""
    return each(study, "cooler.drop", _coolers, _drop)


def _drop(study: Study, solution: Solution, core: Edge, name: str) -> Finding:
    duties, ambient = solution.model.duties, np.array(list(study.plan.ambient.pressure.values()))
    warmth = np.array(study.plan.circuits[solution.model.circuit.name].temperature.over(duties))
    into, out = (core.start, core.end) if solution.flow(core.name).sum() >= 0 else (core.end, core.start)
    sees = np.maximum(solution.static_at(into), solution.static_at(out)) - ambient
    cases = [Case(State(duty=d), Quantity(float(p), "pressure_drop")) for d, p in zip(duties, sees, strict=True)]
    limit, grade = _limit(study, core, duties)
    cold, hot = int(warmth.argmin()), int(warmth.argmax())
    told = _told(solution, core, "cold", cold) | _told(solution, core, "hot", hot)
    around = _round(solution, core)

    def why(_verdict: Verdict, case: Case) -> Words:
        text = "Up to {sees} at its inlet, at {worst}. At {cold}, the coldest: {cold_flow} through it costs {cold_drop}"
        text += "; at {hot}, the hottest: {hot_flow} costs {hot_drop}. " if warmth[hot] > warmth[cold] else ". "
        text += "Nothing goes round it." if around is None else "At {cold} {share} goes round it."
        share = Quantity(0.0 if around is None else float(around[cold]), "ratio")
        return words(text, sees=case.value, worst=case.state.duty, share=share, **told)

    def change(_verdict: Verdict, case: Case) -> Words:
        row = duties.index(case.state.duty)
        if around is not None:
            return words("A cooler of a higher rating, or less pressure before it: wider lines, thinner oil.")
        most = limit.fail_above if limit.fail_above is not None else limit.caution_above
        assert most is not None
        room = most - float(solution.static_at(out)[row] - ambient[row])
        if room <= 0:
            return words(
                "The pressure behind it alone is too much: a cooler of a higher rating, or wider lines behind it."
            )
        return words(
            "An oil thermostat before it, or a by-pass valve across it that lets all of it round at {room} or less.",
            room=Quantity(room, "pressure_drop"),
        )

    return judge(limit, name, cases, why=why, change=change, grades=[solution.model.grade, grade])


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
        f"{when}_flow": Quantity(abs(float(solution.flow(core.name)[row])), "volume_flow"),
        f"{when}_drop": Quantity(abs(float(lost)), "pressure_drop"),
    }


def _round(solution: Solution, core: Edge) -> Array | None:
    """Share of the flow that goes round a cooler, by duty [-]; None where there is no way round it.

    A way round leads from its inlet to its outlet by no pump, no place of known pressure and not through itself. What
    goes through the node of it that passes the most is what comes to the cooler and its way round together.
    """
    circuit, net = solution.model.circuit, solution.model.network

    def stops(edge: Edge) -> bool:
        return edge.component is core.component or is_pump(edge)

    before, behind = ({e.name: e for e in about(circuit, [port], stops)} for port in (core.start, core.end))
    both = before.keys() & behind.keys()
    if not both:
        return None
    numbers = {solution.model.number[n] for name in both for n in (before[name].start, before[name].end)}
    passing = np.zeros((len(solution.model.duties), net.nodes))
    for edge, (start, end) in enumerate(zip(net.start, net.end, strict=True)):
        size = np.abs(solution.flow(solution.model.edges[edge])) / 2
        passing[:, start] += size
        passing[:, end] += size
    most = passing[:, sorted(numbers - set(np.flatnonzero(net.fixed)))].max(axis=1)
    through = np.abs(solution.flow(core.name))
    return np.where(most > 0, 1.0 - through / np.where(most > 0, most, 1.0), 0.0)


# ---------------------------------------------------------------- air in it


def air(study: Study) -> list[Finding]:
    """`cooler.air`: whether air can leave a cooler by its ports: up best, on its side with the inlet at the bottom."""
    return [_air(study, core) for circuit in loops(study) for core in _coolers(circuit)]


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
    if max(ups) < -STEEP:
        why = words("Both its ports point down: the air in it has no way out, and that part of it cools nothing.")
        change = words("Turn it over: ports up; or hang it on its side with the inlet at the bottom.")
        found = judge(limit, name, [case], why=lambda _v, _c: why)
        return replace(found, verdict=Verdict.CAUTION, change=change)
    if min(ups) > STEEP:
        up = words("Both its ports point up: air leaves it by itself.")
        return replace(judge(limit, name, [case], why=lambda _v, _c: up), verdict=Verdict.PASS, change=NOTHING)
    if abs(higher.value) < LEVEL:
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
