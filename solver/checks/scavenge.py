"""Scavenge pumps: the foam that reaches one, and the suction that draws it there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.grades import Grade, weakest
from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from solver.bores import bore_at
from solver.checks.judging import judge, untold
from solver.drains.drain import Drain
from solver.drains.pieces import Fitting
from solver.drains.scavenging import NO_FLOW, allowed, at_inlet, pump_ports, wide_enough
from solver.model import RESISTS
from solver.resistances import of_path
from solver.stated import asked_for, needed

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from lines.graph import Circuit, Edge
    from lines.plan import Component, Plan
    from solver.drains.scavenging import Inlet
    from solver.study import Study

    Array = npt.NDArray[np.float64]
    Booleans = npt.NDArray[np.bool_]

WATCH = " If it stops, the turbocharger floods: fit a screen ahead of it, and a lamp that warns when it stops."


def pumps(study: Study) -> list[Component]:
    """The scavenge pumps that a run reaches."""
    used = {ref.partition(".")[0] for run in study.plan.runs.values() for ref in (run.start, run.end)}
    return [c for c in study.plan.components.values() if pump_ports(c) is not None and c.name in used]


def each(study: Study, rule: str, judged: Callable[[Study, Component], Finding]) -> list[Finding]:
    """The finding of a rule at each scavenge pump, or why it cannot be told."""
    found = []
    for pump in pumps(study):
        try:
            found.append(judged(study, pump))
        except UnknownInputError as error:
            found.append(untold(rule, pump.name, error))
    return found


# ---------------------------------------------------------------- what reaches it


@dataclass(frozen=True)
class Arriving:
    """What reaches a pump, by attitude and duty."""

    drains: tuple[Drain, ...]
    also: tuple[tuple[Fitting, ...], ...]
    """Of each drain, what is lost in the components between its runs."""
    inlet: Inlet
    counts: Booleans
    """Where foam comes and the attitude goes with the duty, shape (attitudes, duties)."""
    unknown: tuple[str, ...]
    """Duties at which the oil is not known."""
    grade: Grade

    def cases(self, plan: Plan, values: Array, dimension: str) -> list[Case]:
        """A case for each state that counts, of values of shape (attitudes, duties)."""
        names, duties = list(plan.attitudes), list(plan.duties)
        return [
            Case(State(duty=duties[d], attitude=names[a]), Quantity(float(values[a, d]), dimension))
            for a, d in np.argwhere(self.counts).tolist()
        ]

    def at(self, plan: Plan, case: Case) -> tuple[int, int]:
        """The numbers of a case's attitude and duty."""
        return list(plan.attitudes).index(case.state.attitude), list(plan.duties).index(case.state.duty)


def _arriving(study: Study, pump: Component, deepest: Array) -> Arriving:
    """What reaches a pump that draws down to a vacuum [Pa], shape (duties,).

    Raises:
        UnknownInputError: no turbocharger drains to it, or its foam is not known.
    """
    plan, turbos = study.plan, drained_by(study, pump)
    if not turbos:
        raise UnknownInputError(
            f"what foam reaches {pump.name} is not known",
            needs=f"a line from a turbocharger's drain to {pump.name}.in, with its points",
        )
    found, also = [], []
    for turbo, circuit in turbos.items():
        drain = study.drains[turbo]
        if not isinstance(drain, Drain):
            raise UnknownInputError(drain.reason, needs=drain.needs)
        found.append(drain)
        also.append(_between(study, circuit, drain))
    inlets = [at_inlet(plan, d, deepest, more) for d, more in zip(found, also, strict=True)]
    inlet = inlets[0]
    for other in inlets[1:]:
        inlet = inlet.with_other(other)
    # One run reaches its inlet: what is in it is that of every drain that ends there.
    foam = found[0].foams[-1].flow
    unknown = [duty for duty, q in zip(plan.duties, foam, strict=True) if np.isnan(q)]
    counts = allowed(plan) & (np.nan_to_num(foam) > NO_FLOW)
    if not counts.any():
        named = " and ".join(unknown or plan.duties)
        raise UnknownInputError(
            f"no oil is known to reach {pump.name} in {named}", needs="the oil feed at these duties"
        )
    return Arriving(tuple(found), tuple(also), inlet, counts, tuple(unknown), weakest(d.grade for d in found))


def drained_by(study: Study, pump: Component) -> dict[str, Circuit]:
    """The turbochargers whose drain ends at a pump, each with the circuit that it drains in."""
    found = {}
    for circuit in study.circuits.values():
        for outlet in circuit.gravity_ports("out"):
            steps = circuit.way_down(outlet)
            if steps:
                run = circuit.runs[steps[-1][0]]
                end = run.end if steps[-1][1] else run.start
                if end.partition(".")[0] == pump.name:
                    found[outlet.partition(".")[0]] = circuit
    return found


def _makes(plan: Plan, pump: Component) -> Array:
    """The vacuum that a pump makes at every duty [Pa]; where it does not say, the deepest that one works at.

    Raises:
        UnknownInputError: it is deeper than any can be.
    """
    stated, duties = pump.figures.get("vacuum"), list(plan.duties)
    if stated is None:
        return np.full(len(duties), plan.catalog.limit("drain.suction.deepest").caution_above or 0.0)
    deep = np.array(stated.over(duties), dtype=np.float64)
    outside = plan.ambient.pressures
    if (deep >= outside).any() or (deep < 0).any():
        raise UnknownInputError(
            f"{pump.name} cannot make the vacuum that it states",
            needs=f"{asked_for(pump, 'vacuum')}, over 0 and less than the pressure of the air outside",
        )
    return deep


def _between(study: Study, circuit: Circuit, drain: Drain) -> tuple[Fitting, ...]:
    """What the foam loses in the components between the runs of a drain: tees, screens, whatever resists.

    Raises:
        UnknownInputError: a component in the way says nothing of what it takes.
    """
    line = drain.line
    found: list[Fitting] = []
    runs = [study.plan.runs[tag] for tag in line.runs]
    ports = [(r.start, r.end) if forward else (r.end, r.start) for r, forward in zip(runs, line.forward, strict=True)]
    for i in range(1, len(ports)):
        met = {ports[i - 1][1], ports[i][0]}
        for edge in circuit.edges.values():
            if edge.law not in {"", "plain"} and met & {edge.start, edge.end}:
                found += _lost_in(study, edge, i)
    return tuple(found)


def _lost_in(study: Study, edge: Edge, run: int) -> list[Fitting]:
    assert edge.component is not None
    name = edge.component.name
    if edge.law not in RESISTS:
        needs = f"{name} left out of the line to the pump, or as kind resistance with its points of flow and drop"
        raise UnknownInputError(f"what {name} takes of the suction is not computed", needs=needs)
    bores = [bore for port in (edge.start, edge.end) if (bore := bore_at(study.plan, study.assemblies, port))]
    parts = of_path(study.plan, edge, min(bores, default=None)).parts
    return [
        Fitting(0, f"{name}: {part.name}", run, part.viscous, max(part.inertial, part.inertial_back)) for part in parts
    ]


# ---------------------------------------------------------------- drain.scavenge


def flow(study: Study) -> list[Finding]:
    """`drain.scavenge`: the foam that each scavenge pump takes, over the foam that reaches it, at every duty."""
    return each(study, "drain.scavenge", _flow)


def _flow(study: Study, pump: Component) -> Finding:
    plan, duties = study.plan, list(study.plan.duties)
    arriving = _arriving(study, pump, _makes(plan, pump))
    needed(pump, "flow")
    takes = np.array(pump.figures["flow"].over(duties), dtype=np.float64)
    comes = arriving.inlet.flow
    over = takes / np.where(arriving.counts, comes, 1.0) - 1.0
    limit = plan.catalog.limit("drain.scavenge")
    wanted = (limit.caution_below or 0.0) + 1.0

    def why(verdict: Verdict, case: Case) -> Words:
        a, d = arriving.at(plan, case)
        facts: dict[str, Quantity | str] = {
            "duty": case.state.duty,
            "comes": Quantity(float(comes[a, d]), "oil_flow"),
            "oil": Quantity(float(sum(one.oil_flow[d] for one in arriving.drains)), "oil_flow"),
            "takes": Quantity(float(takes[d]), "oil_flow"),
            "over": case.value,
            "turbos": " and ".join(one.turbo for one in arriving.drains),
        }
        text = "At {duty} {oil} of oil reach it as {comes} of foam, and it takes {takes}"
        text += ": the rest backs up into {turbos}." if verdict is Verdict.FAIL else ", {over} over."
        said = "; ".join(dict.fromkeys(text for one in arriving.drains for text in one.said if "foam" in text))
        facts |= {"said": said}
        return words(text + WATCH + (" Estimated: {said}." if said else ""), **facts)

    def change(_verdict: Verdict, case: Case) -> Words:
        a, d = arriving.at(plan, case)
        text = "A pump that takes {wanted:up} of foam or more at {duty}, or more speed or volts for this one."
        return words(text, wanted=Quantity(float(comes[a, d]) * wanted, "oil_flow"), duty=case.state.duty)

    cases = arriving.cases(plan, over, "ratio")
    found = judge(limit, pump.name, cases, why=why, change=change, grades=[arriving.grade])
    return _as_far_as_known(found, arriving)


def _as_far_as_known(found: Finding, arriving: Arriving) -> Finding:
    """A finding that does not fail is none where the oil of some duty is not known."""
    if not arriving.unknown or found.verdict is Verdict.FAIL:
        return found
    named = " and ".join(arriving.unknown)
    why = words("The oil that reaches it at {duties} is not known.", duties=named)
    return unchecked(found.rule, found.place, why, f"what circuit.flow of the oil feed asks for at {named}")


# ---------------------------------------------------------------- drain.suction


def suction(study: Study) -> list[Finding]:
    """`drain.suction`: the vacuum that each scavenge pump makes, less what hose and lift take of it."""
    return each(study, "drain.suction", _suction)


def _suction(study: Study, pump: Component) -> Finding:
    plan = study.plan
    outside = plan.ambient.pressures
    arriving = _arriving(study, pump, outside)
    needed(pump, "vacuum")
    makes, limit = _makes(plan, pump), plan.catalog.limit("drain.suction")
    spare = limit.caution_below or 0.0
    # What no vacuum draws takes more than all the pressure of the air outside.
    taken = np.minimum(arriving.inlet.vacuum, outside)

    def why(_verdict: Verdict, case: Case) -> Words:
        a, d = arriving.at(plan, case)
        facts: dict[str, Quantity | str] = {
            "duty": case.state.duty,
            "attitude": case.state.attitude,
            "makes": Quantity(float(makes[d]), "pressure_drop"),
            "taken": Quantity(float(taken[a, d]), "pressure_drop"),
            "comes": Quantity(float(arriving.drains[0].foams[-1].flow[d]), "oil_flow"),
            "left": case.value,
        }
        if np.isinf(arriving.inlet.vacuum[a, d]):
            text = "At {duty} in {attitude} no vacuum draws {comes} of foam through its line, and it makes {makes}: "
            return words(text + "the oil backs up into the turbocharger.", **facts)
        if case.value.value < 0:
            text = (
                "At {duty} in {attitude} it makes {makes} of vacuum, and line and lift take {taken} to draw {comes} of "
            )
            return words(text + "foam: it does not get it all, and the oil backs up into the turbocharger.", **facts)
        text = "At {duty} in {attitude} line and lift take {taken} of the {makes} of vacuum that it makes, {left} left."
        return words(text, **facts)

    def change(_verdict: Verdict, _case: Case) -> Words:
        worst = [
            wide_enough(plan, d, makes - spare, more) for d, more in zip(arriving.drains, arriving.also, strict=True)
        ]
        bore = min(float(d.line.bore.min()) for d in arriving.drains)
        facts: dict[str, Quantity | str] = {"bore": Quantity(bore, "bore")}
        if any(times is None for times in worst):
            return words("No bore will do: set the pump lower and nearer, or take one that makes more vacuum.")
        facts["wide"] = Quantity(bore * max(times for times in worst if times is not None), "bore")
        return words(
            "A line to it of {wide:up} bore or more, ends included (it is {bore}), or the pump nearer.", **facts
        )

    transient = [name for name, attitude in plan.attitudes.items() if not attitude.sustained]
    cases = arriving.cases(plan, makes - taken, "pressure_drop")
    found = judge(limit, pump.name, cases, why=why, change=change, grades=[arriving.grade], transient=transient)
    return _as_far_as_known(found, arriving)
