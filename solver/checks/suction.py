"""The inlet of each fuel pump: whether the fuel boils there, in every attitude, the tank low."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import NoAnswerError, UnknownInputError
from catalogs.grades import Grade
from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from solver.along import largest, line_to
from solver.checks.judging import judge, untold, verdict_of
from solver.checks.roles import without_answer
from solver.checks.suctioncures import suction_cures
from solver.fuels import due_and_clean, fuel_circuits, owner, pumps
from solver.solution import Unsolved
from solver.stated import asked_for, figure
from solver.suction import extrapolated, suction
from solver.tankair import drawn_under

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from catalogs.records import Limit
    from lines.graph import Edge
    from lines.plan import Component
    from solver.leaning import Leaning
    from solver.study import Study
    from solver.suction import Suction

RULE = "fuel.suction"
UNTOLD = "Whether the fuel boils at its inlet cannot be told"
MOST_NAMED = 3
"""More than so many things that take pressure nobody reads."""
ROUND = 1.005
"""What a figure of a limit loses as it is printed [-]."""
VENT_NAMED = 100.0
"""What a vent takes is named from so much on [Pa]."""


# ---------------------------------------------------------------- does it boil


def boils(study: Study) -> list[Finding]:
    """`fuel.suction`: static pressure at each pump's inlet, over what boils and what the pump asks for."""
    found = []
    for circuit in fuel_circuits(study):
        if not pumps(circuit):
            continue
        if isinstance(study.solutions.get(circuit.name), Unsolved):
            found += [without_answer(RULE, owner(pump).name, circuit) for pump in pumps(circuit)]
            continue
        try:
            stands = due_and_clean(study, circuit)
        except UnknownInputError as error:
            found += [untold(RULE, owner(pump).name, error, UNTOLD) for pump in pumps(circuit)]
        except NoAnswerError:
            found += [without_answer(RULE, owner(pump).name, circuit) for pump in pumps(circuit)]
        else:
            found += [_boils(study, pump, stands) for pump in pumps(circuit)]
    return found


def _boils(study: Study, pump: Edge, stands: list[Leaning]) -> Finding:
    limit, asked = (study.plan.catalog.limit(key) for key in (RULE, f"{RULE}.need"))
    name = owner(pump).name
    try:
        under = drawn_under(study, stands[0].answer.model.circuit, pump)
    except UnknownInputError as error:
        return untold(RULE, name, error, UNTOLD)
    try:
        each = [suction(study.plan, pump, one, asked.caution_below or 0.0, under) for one in stands]
    except UnknownInputError as error:
        return _without_vapour(study, pump, stands, under, untold(RULE, name, error, UNTOLD))
    return _Told(study, each, limit, asked).finding()


def _without_vapour(
    study: Study, pump: Edge, stands: list[Leaning], under: Mapping[str, float], found: Finding
) -> Finding:
    """The finding of an inlet of which it is not known when its fuel boils, with what is known: what stands there."""
    limit, asked = (study.plan.catalog.limit(key) for key in (RULE, f"{RULE}.need"))
    nothing = np.zeros(len(stands[0].names))
    try:
        each = [suction(study.plan, pump, one, asked.caution_below or 0.0, under, nothing) for one in stands]
    except UnknownInputError:
        return found
    here, left = (np.min([getattr(one, of) for one in each], axis=0) for of in ("pressure", "margin"))
    if not np.isfinite(left).any():
        return found
    worst = int(np.nanargmin(left))
    text = (
        " The least that stands at its inlet is {here}, in attitude {attitude} at {duty}: enough for a fuel that, as "
    )
    more = words(
        text + "warm as it gets, boils under {safe} at the most.",
        here=Quantity(float(here[worst]), "pressure", "absolute"),
        attitude=stands[0].names[worst].attitude,
        duty=stands[0].names[worst].duty,
        safe=Quantity(max(float(left[worst]) - (limit.least or 0.0), 0.0), "pressure", "absolute"),
    )
    return replace(found, why=Words(found.why.text + more.text, {**found.why.parts, **more.parts}))


@dataclass(frozen=True)
class _Told:
    """The judgement of one pump's inlet in words."""

    study: Study
    each: list[Suction]
    """With the filters due, and with them clean; by the same rows."""
    limit: Limit
    asked: Limit

    @property
    def suction(self) -> Suction:
        """For what is the same in all of them."""
        return self.each[0]

    @property
    def margins(self) -> npt.NDArray[np.float64]:
        """What is left in each of them, shape (each, rows) [Pa]; nan where it cannot be told."""
        return np.stack([one.margin for one in self.each])

    @property
    def name(self) -> str:
        return owner(self.suction.pump).name

    @property
    def own_need(self) -> bool:
        """Does its data state what it asks for?"""
        return owner(self.suction.pump).figures.get("inlet_need") is not None

    def finding(self) -> Finding:
        stands, margin = self.suction.stands, self.margins.min(axis=0)
        known = [i for i in range(len(margin)) if np.isfinite(margin[i])]
        lost = self._lost([i for i in range(len(margin)) if i not in known])
        if lost is not None and not known:
            return lost
        cases = [Case(stands.names[i], Quantity(float(margin[i]), "pressure_drop")) for i in known]
        grades = [stands.answer.model.grade, self.suction.fluid.vapour.grade if self.suction.fluid.vapour else None]
        grades += [] if self.own_need else [self.asked.grade]
        grades += [Grade.MEMORY] if extrapolated(self.suction) else []
        judged = judge(
            self.limit,
            self.name,
            cases,
            why=lambda verdict, case: self._why(known[cases.index(case)], brief=verdict is Verdict.PASS),
            change=lambda _verdict, _case: suction_cures(self.study, self.each, self._wanted()),
            grades=[grade for grade in grades if grade is not None],
            transient=stands.transient,
        )
        return judged if judged.verdict is Verdict.FAIL or lost is None else replace(lost, value=None)

    def _lost(self, rows: list[int]) -> Finding | None:
        """The finding of attitudes that cannot be told; None where all can."""
        lacks, names = self.suction.stands.lacks, self.suction.stands.names
        reasons = {error.reason for error in lacks.values()}
        needs = list(dict.fromkeys(error.needs for error in lacks.values() if error.needs))
        attitudes = list(dict.fromkeys([*lacks, *(names[i].attitude for i in rows)]))
        answered = self.suction.stands.answer.reasons | self.each[-1].stands.answer.reasons
        for i in rows:
            if str(i) in answered:
                reasons.add(f"at {names[i].duty} {answered[str(i)]}")
                needs.append("what it says of that state")
            else:
                reasons.add(f"where {self.suction.inlet} lies is not known, only how high")
                needs.append(f"`at` of {self.suction.inlet}")
        needs = list(dict.fromkeys(needs))
        if not attitudes:
            return None
        text = "Whether the fuel boils at its inlet in {attitudes} cannot be told: {reason}."
        why = words(text, attitudes=", ".join(attitudes), reason="; ".join(sorted(reasons)))
        level = [i for i, name in enumerate(names) if name.attitude == "level" and i not in rows]
        if level:
            worst = min(level, key=lambda i: float(self.margins[:, i].min()))
            more = self._why(worst)
            why = words(why.text + " " + more.text, **why.parts, **more.parts)
        return unchecked(RULE, self.name, why, "; and ".join(needs))

    def _wanted(self) -> float:
        """The margin from which on nothing is said [Pa]."""
        return self.limit.least or 0.0

    def _why(self, row: int, *, brief: bool = False) -> Words:
        """The sum, from the air over the fuel to what is left at the inlet; in brief its end."""
        found, state = self.each[int(self.margins[:, row].argmin())], self.suction.stands.names[row]
        here, vapour, column = (float(x[row]) for x in (found.pressure, found.vapour, found.column))
        margin, over = float(found.margin[row]), float(found.over_source[row])
        losses = found.losses()
        facts: dict[str, Quantity | str] = {
            "attitude": state.attitude,
            "duty": state.duty,
            "under": Quantity(float(found.lacking[row]), "gas_drop"),
            "over": Quantity(over, "pressure", "absolute"),
            "source": found.source.partition(".")[0],
            "stands": ("brought by " if found.brought else "over the fuel in ") + found.source.partition(".")[0],
            "column": Quantity(abs(column), "pressure_drop"),
            "rises": Quantity(column, "pressure_drop"),
            "lost": Quantity(sum(float(drop[row]) for drop in losses.values()), "pressure_drop"),
            "here": Quantity(max(here, 0.0), "pressure", "absolute"),
            "vapour": Quantity(vapour, "pressure", "absolute"),
            "fluid": found.fluid.means,
            "temperature": Quantity(float(found.temperature[row]), "temperature"),
            "need": Quantity(float(found.need[row]), "pressure_drop"),
            "margin": Quantity(abs(margin), "pressure_drop"),
            "left": Quantity(margin, "pressure_drop"),
        }
        most = largest(losses, row, MOST_NAMED)
        for i, (thing, lost) in enumerate(most):
            facts |= {f"thing{i}": thing, f"lost{i}": Quantity(lost, "pressure_drop")}
        named = ", ".join(f"{{lost{i}}} {{thing{i}}}" for i in range(len(most)))
        height = "the fuel over its inlet adds" if column >= 0 else "the lift up to its inlet takes"
        asks = "the pump asks for" if self.own_need else "of any pump it is asked for"
        if brief:
            text = "Worst in attitude {attitude} at {duty}: {here} at its inlet; {fluid}, boils at {temperature} under "
            return words(text + f"{{vapour}}, {asks} {{need}} over that: {{margin}} are left.", **facts)
        text = "In attitude {attitude} at {duty}, the worst, "
        text += "{source} brings {over}" if found.brought else "{over} stand over the fuel in {source}"
        text += ", {under} under the air outside by what its vent takes" if found.lacking[row] > VENT_NAMED else ""
        text += f"; {height} {{column}}, "
        text += f"the way takes {{lost}} ({named}): {{here}} at its inlet. {{fluid}}, boils at {{temperature}} under "
        text += f"{{vapour}}, and {asks} {{need}} over that: "
        text += "{margin} are left." if margin >= 0 else "{margin} are missing. "
        if over < vapour:
            text += "It boils in {source} already."
        elif margin < 0:
            text += "It boils there, and the pump starves." if here < vapour else "It is about to boil there."
        return words(text, **facts)


# ---------------------------------------------------------------- a filter before the pump


def prefilter(study: Study) -> list[Finding]:
    """`fuel.prefilter`: the fineness of each filter on the suction side of a fuel pump."""
    found = {}
    for circuit in fuel_circuits(study):
        for pump in pumps(circuit):
            for edge, _ in line_to(circuit, pump.start):
                if edge.component is not None and edge.component.kind.id == "filter":
                    found[edge.component.name] = _prefilter(study, edge.component, owner(pump).name)
    return list(found.values())


def _prefilter(study: Study, filter_: Component, pump: str) -> Finding:
    limit, least = (study.plan.catalog.limit(key) for key in ("fuel.prefilter", "fuel.prefilter.area"))
    if filter_.figures.get("mesh") is None:
        why = words("{filter} stands before {pump}, and how fine it is nobody says.", filter=filter_.name, pump=pump)
        return unchecked("fuel.prefilter", filter_.name, why, asked_for(filter_, "mesh"))
    mesh = figure(filter_, "mesh")
    area = None if filter_.figures.get("area") is None else figure(filter_, "area")
    # As it is printed: what is just as large as the limit is not less.
    small = area is not None and verdict_of(least, area * ROUND) is not Verdict.PASS
    facts: dict[str, Quantity | str] = {
        "filter": filter_.name,
        "pump": pump,
        "mesh": Quantity(mesh, "fineness"),
        "area": Quantity(area or 0.0, "area"),
        "coarse": Quantity(limit.caution_below or 0.0, "fineness"),
        "least": Quantity(least.caution_below or 0.0, "area"),
    }

    def why_(verdict: Verdict, _case: Case) -> Words:
        text = "{filter}, of {mesh}, stands on the suction side of {pump}"
        text += "." if verdict is Verdict.PASS else ": it fills up, and what it then takes the pump lacks."
        text += " Its area is not stated." if area is None else " Its {area} of medium are little." if small else ""
        return words(text, **facts)

    text = (
        "Put {filter} behind {pump}. Before the pump take a strainer of {coarse} or coarser, with {least} of medium or "
    )
    change = words(text + "more.", **facts)
    cases = [Case(State(), Quantity(mesh, "fineness"))]
    judged = judge(limit, filter_.name, cases, why=why_, change=lambda _verdict, _case: change)
    if small and judged.verdict is Verdict.PASS:
        return replace(judged, verdict=Verdict.CAUTION, change=change, source=least.source)
    return judged
