"""What a person sees of a fuel system: a page's content for each circuit of fuel with a pump and a rail. No drawing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity, show
from lines.finding import Verdict
from reports.fuelheld import OPENED, held_and_let_out
from reports.fuelplots import fuel_plots
from solver.carrying import given
from solver.fuels import burns_at, feeding, felt, fuel_circuits, manifold, owner, pumps, rails
from solver.solution import Solution

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.units import System
    from lines.finding import Finding
    from lines.graph import Circuit
    from reports.plots import Plot
    from solver.study import Study

    Array = npt.NDArray[np.float64]

RULES = "fuel."
"""The rules that judge fuel begin so."""
OF_IT = "of it "
"""How a part of a sum's row begins."""
LOUD = (Verdict.FAIL, Verdict.CAUTION, Verdict.UNCHECKED)


@dataclass(frozen=True)
class FuelPage:
    """One fuel system."""

    circuit: str
    verdict: Verdict
    told: tuple[tuple[str, str], ...]
    """What does not pass: rule with its place and verdict, of a fail why, and what to do and to measure."""
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    """Every duty."""
    held: tuple[str, ...]
    """What its lines hold, and what runs out of them, in sentences."""
    plots: tuple[Plot, ...]
    sums: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    """Of each pump the sum at its inlet in its worst state, by the parts of its finding."""
    system: System


def fuel_pages(study: Study, found: list[Finding]) -> list[FuelPage]:
    """The pages of the fuel systems of a study that have an answer, in the order of the plan."""
    pages = []
    for circuit in fuel_circuits(study):
        answer = study.solutions.get(circuit.name)
        if isinstance(answer, Solution) and answer.solved.all() and pumps(circuit) and rails(circuit):
            pages.append(_page(study, circuit, answer, found))
    return pages


def _page(study: Study, circuit: Circuit, answer: Solution, found: list[Finding]) -> FuelPage:
    plan = study.plan
    places = {ref.partition(".")[0] for ref in circuit.nodes}
    own = [
        f
        for f in found
        if f.rule.startswith(RULES) and (f.place == circuit.name or f.place.partition(".")[0] in places)
    ]
    loud = sorted((f for f in own if f.verdict in LOUD), key=lambda f: f.verdict.rank)
    # What a joint lets out is told below, but where it is not known.
    first = (f for f in loud if f.rule != OPENED or f.value is None)
    told = tuple((f"{f.verdict.upper()} {f.id}", _asks(f, plan.system)) for f in first)
    heads, rows = _rows(study, answer, own)
    return FuelPage(
        circuit=circuit.name,
        verdict=min((f.verdict for f in own), key=lambda v: v.rank, default=Verdict.UNCHECKED),
        told=told,
        heads=heads,
        rows=rows,
        held=held_and_let_out(answer, own, plan.system),
        plots=fuel_plots(study, answer),
        sums=tuple((f.place, _sum(f, plan.system)) for f in own if f.rule == "fuel.suction" and "over" in f.why.parts),
        system=plan.system,
    )


def _asks(found: Finding, system: System) -> str:
    """What a finding asks for, of a fail after why; where it asks for nothing, why it is told."""
    asks = [f"DO: {found.change.say(system)}"] if found.change else []
    asks += [f"MEASURE: {found.needs}."] if found.needs else []
    why = found.verdict is Verdict.FAIL or not asks
    return " ".join([found.why.say(system)] * why + asks)


# ---------------------------------------------------------------- the table


def _rows(study: Study, answer: Solution, own: list[Finding]) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """What every duty asks and has; the pressure is that at the injector with the least."""
    plan, duties, circuit = study.plan, answer.model.duties, answer.model.circuit
    main, ambient = feeding(circuit) or pumps(circuit)[:1], plan.ambient.pressures
    burn = answer.model.batch.taken[:, [answer.model.number[n] for n in burns_at(circuit)]].sum(axis=1)
    least = np.min([felt(answer, node) for node in burns_at(circuit)], axis=0)
    gauge = least - ambient
    try:
        across = least - manifold(plan, duties)
    except UnknownInputError:
        across = np.full(len(duties), np.nan)
    flow, _ = given(answer, main)
    rises = np.array([answer.total(pump.end) - answer.total(pump.start) for pump in main])
    volts = np.array([owner(pump).figures["volts"].over(duties) for pump in main])
    driven, margin = (_worst(own, rule, duties) for rule in ("fuel.injector", "fuel.suction"))

    def text(value: float, dimension: str, reference: str | None = None) -> str:
        known = Quantity(float(value), dimension, reference)  # type: ignore[arg-type]
        return show(known, plan.system) if np.isfinite(value) else ""

    def both(values: Array, dimension: str) -> str:
        """The least and the most of pumps, once where these are told alike."""
        return " to ".join(dict.fromkeys(text(value, dimension) for value in (values.min(), values.max())))

    heads = (
        "duty",
        "engine burns",
        f"{owner(main[0]).name} gives" if len(main) == 1 else "pumps give",
        "at",
        "rail",
        "injectors have",
        "driven",
        "over boiling",
    )
    rows = []
    for i, duty in enumerate(duties):
        rows.append(
            (
                duty,
                text(burn[i], "volume_flow"),
                text(flow[i], "volume_flow"),
                f"{both(rises[:, i], 'pressure_drop')}, {both(volts[:, i], 'voltage')}",
                text(gauge[i], "pressure", "gauge"),
                text(across[i], "pressure_drop"),
                text(driven[i], "ratio"),
                text(margin[i], "pressure_drop"),
            )
        )
    return heads, tuple(rows)


def _worst(own: list[Finding], rule: str, duties: list[str]) -> list[float]:
    """The value of a rule that leaves the least room at each duty, over its places and attitudes; nan where none is."""
    of_rule = [f for f in own if f.rule == rule and f.cases]
    most = max if any(f.high is not None and f.low is None for f in of_rule) else min
    values = ([c.value.value for f in of_rule for c in f.cases if c.state.duty == duty] for duty in duties)
    return [most(found) if found else np.nan for found in values]


def _sum(found: Finding, system: System) -> tuple[tuple[str, str], ...]:
    """The parts of the sum at a pump's inlet, as its finding tells them."""
    parts = found.why.parts

    def said(key: str) -> str:
        value = parts[key]
        return show(value, system) if isinstance(value, Quantity) else value

    def positive(key: str) -> bool:
        value = parts[key]
        return isinstance(value, Quantity) and value.value >= 0

    flooded = positive("rises")
    height = ("the fuel over its inlet", "+ ") if flooded else ("the lift up to its inlet", "- ")
    rows = [
        ("worst", f"{said('attitude')}, {said('duty')}"),
        (said("stands"), said("over")),
        (height[0], height[1] + said("column")),
        ("what is lost on the way", "- " + said("lost")),
        *((f"{OF_IT}{said(f'thing{i}')}", said(f"lost{i}")) for i in range(9) if f"thing{i}" in parts),
        ("at its inlet", said("here")),
        (f"boils at {said('temperature')} under", "- " + said("vapour")),
        ("the pump asks for over that", "- " + said("need")),
        ("left" if positive("left") else "MISSING", said("margin")),
    ]
    return tuple(rows)
