"""How evenly the injectors of a fuel system are fed."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, Verdict, Words, unchecked, words
from solver.along import largest, line_ends, losses
from solver.carrying import holds
from solver.checks.evencures import cured
from solver.checks.filtersdue import worse
from solver.checks.judging import by_duty, judge, untold
from solver.checks.roles import without_answer
from solver.fuels import answers, felt, held_by, manifold, owner, rails

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.graph import Circuit
    from solver.along import Steps
    from solver.solution import Solution
    from solver.study import Study

    Array = npt.NDArray[np.float64]

RULE = "fuel.even"
MOST_NAMED = 3
"""More than so many things that take pressure nobody reads."""
ALIKE = 5e-4
"""So much less is told as none [-]."""
NAMED = 0.02
"""Less of what the two are apart is not worth a word [-]."""


def fed(study: Study) -> list[Finding]:
    """`fuel.even`: how much less fuel the worst-fed injector gets than the best-fed, at every duty.

    Of all rails of a circuit whose pressure the same things hold: others may be set apart on purpose. None where one
    place stands for all injectors. Open for as long, both pass by the root of the pressure across them.
    """
    found = []
    for circuit, solution in answers(study):
        for place, group in groups(circuit).items():
            if sum(len(rails(circuit)[name]) for name in group) < 2:
                continue
            if solution is None:
                found.append(without_answer(RULE, place, circuit))
                continue
            try:
                outside = manifold(study.plan, solution.model.duties)
            except UnknownInputError as error:
                found.append(untold(RULE, place, error, "How evenly the injectors are fed cannot be told"))
                continue
            judged = functools.partial(_judged, study, place, group, outside)
            found.append(worse(study, solution, judged))
    return found


def groups(circuit: Circuit) -> dict[str, list[str]]:
    """The rails whose pressure the same things hold, by the place under which they are judged.

    That is the circuit where there is one such group, else what holds each.
    """
    by_holders: dict[str, list[str]] = {}
    for name, nodes in rails(circuit).items():
        holders = "+".join(dict.fromkeys(owner(edge).name for edge in held_by(circuit, nodes[0])))
        by_holders.setdefault(holders or circuit.name, []).append(name)
    return by_holders if len(by_holders) > 1 else {circuit.name: list(rails(circuit))}


def taken(answer: Solution, way: Steps) -> dict[str, Array]:
    """What each thing on a way takes [Pa], by its name; of a rail its bore."""
    own = rails(answer.model.circuit)
    return {f"the bore of {name}" if name in own else name: drop for name, drop in losses(answer, way).items()}


@dataclass(frozen=True)
class Fed:
    """What every injector of some rails has across it."""

    answer: Solution
    rails: list[str]
    outside: Array
    """Pressure in the manifold [Pa absolute], by duty."""
    due: str
    """What is said of the filters behind the duty."""

    @property
    def nodes(self) -> list[str]:
        """Where each draws."""
        return [node for name in self.rails for node in rails(self.answer.model.circuit)[name]]

    @property
    def across(self) -> Array:
        """[Pa], shape (injectors, duties)."""
        return np.array([felt(self.answer, node) for node in self.nodes]) - self.outside

    @property
    def less(self) -> Array:
        """How much less fuel than the best-fed the worst-fed gets [-], by duty; nan where even that has no pressure."""
        most, least = self.across.max(axis=0), self.across.min(axis=0)
        return np.asarray(1.0 - np.sqrt(np.maximum(least, 0.0) / np.where(most > 0, most, np.nan)))

    def best(self, row: int) -> str:
        return self.nodes[int(self.across[:, row].argmax())]

    def worst(self, row: int) -> str:
        return self.nodes[int(self.across[:, row].argmin())]

    def called(self, node: str) -> str:
        """An injector in words."""
        name = node.partition(".")[0]
        nodes = rails(self.answer.model.circuit)[name]
        return f"injector {nodes.index(node) + 1} of {name}" if len(nodes) > 1 else name

    def way(self, row: int) -> Steps:
        """From the best-fed to the worst-fed."""
        circuit = self.answer.model.circuit
        return circuit.shortest_way([self.best(row)], self.worst(row), line_ends(circuit))

    def takes(self, row: int) -> dict[str, Array]:
        """What stands between the two [Pa], by its names; below zero what the way to the best-fed takes."""
        answer, best, worst = self.answer, self.best(row), self.worst(row)
        found = taken(answer, self.way(row))
        found[f"the height of {worst.partition('.')[0]}"] = answer.model.lift[worst] - answer.model.lift[best]
        speeds = [answer.total(node) - felt(answer, node) for node in (worst, best)]
        found[f"the speed of the fuel at {self.called(worst)}"] = speeds[0] - speeds[1]
        return found


def _judged(study: Study, place: str, group: list[str], outside: Array, answer: Solution, due: str) -> Finding:
    fed_, duties = Fed(answer, group, outside, due), answer.model.duties
    if not np.isfinite(fed_.less).all():
        off = duties[int(np.isnan(fed_.less).argmax())]
        needs = "what " + " and ".join(f"fuel.rail/{rail}" for rail in group)
        return unchecked(RULE, place, words("At {duty} no injector has pressure left.", duty=off), needs + " ask for")
    limit, own = study.plan.catalog.limit(RULE), rails(answer.model.circuit)
    uncounted = [rail for rail in group if study.plan.components[rail].figures["injectors"] is None]
    said = _said(study, group, uncounted)
    at = "At {duty}" + due

    def why(verdict: Verdict, case: Case) -> Words:
        i = duties.index(case.state.duty)
        facts: dict[str, Quantity | str] = {
            "duty": case.state.duty,
            "uncounted": " and ".join(uncounted),
            "group": " and ".join(group),
            "worst": fed_.called(fed_.worst(i)),
            "best": fed_.called(fed_.best(i)),
            "less": case.value,
            "low": Quantity(float(fed_.across[:, i].min()), "pressure_drop"),
            "high": Quantity(float(fed_.across[:, i].max()), "pressure_drop"),
        }
        if verdict is Verdict.PASS:
            if case.value.value < ALIKE:
                return words(at + " all injectors are fed alike." + said, **facts)
            text = at + " {worst}, fed the worst, gets {less} less than {best}, fed the best."
            return words(text + said, **facts)
        inlet = ", counted from its inlet," if len(own[fed_.worst(i).partition(".")[0]]) > 1 else ""
        text = at + " {worst}" + inlet + " is fed the worst and gets {less} less than {best}, the best fed: {low} "
        text += "across it against {high}."
        takes, apart = fed_.takes(i), float(np.ptp(fed_.across[:, i]))
        named = [one for one in largest(takes, i, MOST_NAMED) if one[1] > NAMED * apart]
        for k, (thing, lost) in enumerate(named):
            text += (" Between them, " if k == 0 else ", ") + f"{{lost{k}}} {{thing{k}}}"
            facts |= {f"thing{k}": thing, f"lost{k}": Quantity(lost, "pressure_drop")}
        if "lost0" in facts:
            given = -sum(float(drop[i]) for drop in takes.values() if drop[i] < 0)
            if given > NAMED * apart:
                text += "; less {given} that {best} loses by itself"
                facts["given"] = Quantity(given, "pressure_drop")
            text += "."
        return words(text + said, **facts)

    def change(_verdict: Verdict, case: Case) -> Words:
        i = duties.index(case.state.duty)
        cure = cured(study, fed_, i, limit.most or 0.0)
        if holds(answer)[i]:
            return cure
        text = "At {duty} the pressure of the rails is not held: see fuel.margin/{circuit} first. "
        facts = {"duty": case.state.duty, "circuit": answer.model.circuit.name}
        return Words(text + cure.text, {**cure.parts, **facts})

    stations = [fed_.called(fed_.worst(i)) for i in range(len(duties))]
    cases = by_duty(duties, fed_.less, "ratio", stations=stations)
    return judge(limit, place, cases, why=why, change=change, grades=[answer.model.grade])


def _said(study: Study, group: list[str], uncounted: list[str]) -> str:
    """What is said of their injectors: whether they are counted, and whether rails state unlike flows of them."""
    said = " Nobody states the injectors of {uncounted}: the middle stands for all of them." if uncounted else ""
    stated = [study.plan.components[rail].figures.get("injector_flow") for rail in group]
    flows = {(one.dimension, one.value) for flow in stated if flow is not None for one in flow.values.values()}
    if len(flows) > 1:
        said += " The injectors of {group} are rated apart: each counts against its own rating."
    return said
