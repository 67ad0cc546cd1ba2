"""Does each circuit that pressure moves have an answer, and can that answer be?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import STANDARD_GRAVITY, Quantity
from lines.finding import NOTHING as NOTHING_TO_DO
from lines.finding import Finding, State, Verdict, Words, unchecked, words
from solver.carrying import LOST
from solver.checks.roles import is_pump
from solver.properties import beyond, vapour_pressure
from solver.pulsed import PulsedPump
from solver.solution import Unsolved

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.fluids import Fluid
    from solver.solution import Solution
    from solver.study import Study

    Array = npt.NDArray[np.float64]

UP_TO_SHUT_OFF = (
    "the pump's curve up to where it gives nothing, or its relief opens; or a way for what is not taken: a bypass "
    "regulator with a return; or a pump that its controller pulses (holds)"
)
NOTHING = 2e-8
"""A pump that gives less than this stands still [m3/s]: what shut valves leak at 200 bar."""
SAMPLED = 0.01
"""Step along a run's centreline at which its height is looked at [m]."""
BESIDE = 1e3
"""Pressures that differ by less than this stand in one still liquid [Pa]."""


def flow(study: Study) -> list[Finding]:
    """`circuit.flow`: flows and pressures were found at every duty, or why not; and what in them cannot be.

    A caution where the liquid would boil, so that it flows otherwise; where a pump stands against a closed way; and
    where a regulator is built in so that it holds nothing.
    """
    found = []
    for name, answer in study.solutions.items():
        if isinstance(answer, Unsolved):
            reason = words("No flows in this circuit: {reason}.", reason=answer.error.reason)
            found.append(unchecked("circuit.flow", name, reason, answer.error.needs or ""))
        elif answer.reasons:
            reasons = "; ".join(f"{duty}: {why}" for duty, why in answer.reasons.items())
            needs = f"an answer at {' and '.join(answer.reasons)}: see what it says"
            if any("where its curve ends" in why for why in answer.reasons.values()):
                needs = UP_TO_SHUT_OFF
            found.append(unchecked("circuit.flow", name, words("No answer at {reasons}.", reasons=reasons), needs))
        else:
            found.append(_found(study, name, answer))
    return found


def _found(study: Study, name: str, answer: Solution) -> Finding:
    verdict, state, change = Verdict.PASS, State(), NOTHING_TO_DO
    why = words("Flows and pressures found at {duties}.", duties=", ".join(answer.model.duties))
    for trouble in (_boils, _stands_still, _holds_nothing):
        if (told := trouble(study, answer)) is not None:
            verdict = Verdict.CAUTION
            state, why, change = told
            break
    if answer.model.estimates:
        said = "; ".join(answer.model.estimates)
        why = words(why.text + " Estimated: {estimates}.", **why.parts, estimates=said)
    return Finding(
        rule="circuit.flow", place=name, verdict=verdict, why=why, change=change, worst=state, basis=answer.model.grade
    )


def _boils(study: Study, answer: Solution) -> tuple[State, Words, Words] | None:
    """The place and duty at which the static pressure is farthest under the liquid's vapour pressure.

    Looked at in the narrowest bore at each end of each run, and at the top of a run that rises over both its ends.
    Where no vapour pressure is known, under a vacuum.
    """
    if answer.model.gas:
        return None
    table, duties = study.plan.circuits[answer.model.circuit.name], answer.model.duties
    fluid, temperature = study.plan.catalog.fluid(table.fluid), np.array(table.temperature.over(duties))
    vapour = _vapour(fluid, temperature)
    places = [
        (ref, tag, min([study.plan.catalog.stock(run.stock).bore, *_bores_at(answer, tag, ref)]))
        for tag, run in answer.model.circuit.runs.items()
        for ref in (run.start, run.end)
    ]
    statics = [answer.static(*place) + _inward(answer, place[1], place[0]) for place in places]
    names = [place[0] for place in places]
    for tag in answer.model.circuit.runs:
        if (crest := _at_its_top(study, answer, tag)) is not None:
            statics.append(crest)
            names.append(f"the top of {tag}")
    over = np.stack(statics, axis=1) - vapour[:, None]
    row, column = (int(i) for i in np.unravel_index(over.argmin(), over.shape))
    if over[row, column] >= 0:
        return None
    duty, ref, boiling = duties[row], names[column], float(vapour[row])
    state = State(duty=duty, station=ref)
    if boiling == 0:
        text = "At {duty} the pressure in the bore at {ref} would be below a vacuum: so much does not flow through it."
        return state, words(text, duty=duty, ref=ref), words("A wider end and hose at {ref}, or less flow.", ref=ref)
    why = words(
        "At {duty} the pressure at {ref} is {here}, under the {vapour} at which {fluid} boils at {temperature}: it "
        "turns to vapour there, and these flows will not be.",
        duty=duty,
        ref=ref,
        here=Quantity(max(float(over[row, column]) + boiling, 0.0), "pressure", "absolute"),
        vapour=Quantity(boiling, "pressure", "absolute"),
        fluid=fluid.means,
        temperature=Quantity(float(temperature[row]), "temperature"),
    )
    return state, why, words("Cooler, or more pressure there: a higher tank, or a shorter or wider way to it.")


def _vapour(fluid: Fluid, temperature: Array) -> Array:
    """Vapour pressure [Pa absolute] at each duty, none where nobody knows it."""
    if fluid.vapour is None:
        return np.zeros(len(temperature))
    return np.where(beyond(fluid.vapour, temperature), 0.0, vapour_pressure(fluid, temperature))


def _at_its_top(study: Study, answer: Solution, tag: str) -> Array | None:
    """Static pressure at the highest point of a run that lies over both its ends [Pa absolute]; else None.

    Its loss is taken to be spread evenly along it.
    """
    made, edge = study.assemblies[tag], answer.model.circuit.edges[tag]
    start, end = (study.plan.port(ref).at for ref in (edge.start, edge.end))
    if made.route is None or start is None or end is None:
        return None
    heights = made.route.line.sampled(SAMPLED)[:, 2]
    top = int(heights.argmax())
    if heights[top] <= max(start[2], end[2]):
        return None
    lost = np.sum(list(answer.parts(tag).values()), axis=0) * top / max(len(heights) - 1, 1)
    climb = answer.model.density * STANDARD_GRAVITY * (heights[top] - start[2])
    return np.asarray(answer.static(edge.start, tag, made.stock.bore) - lost - climb)


def _inward(answer: Solution, tag: str, port: str) -> Array:
    """How much more total pressure there is in a run's end than in the port that it is on [Pa]."""
    parts = answer.parts(tag)
    lost = sum((drop for name, drop in parts.items() if name in {f"bore of the port at {port}", f"adapter at {port}"}))
    return np.asarray(lost * (-1.0 if answer.model.circuit.runs[tag].start == port else 1.0))


def _bores_at(answer: Solution, tag: str, port: str) -> list[float]:
    """Bores of the end and the adapter that a run has at a port [m]."""
    return [pipe.bore for pipe in answer.model.resistances[tag].pipes if pipe.name.endswith(f" at {port}")]


def _stands_still(_study: Study, answer: Solution) -> tuple[State, Words, Words] | None:
    """A pump through which nothing flows, with the valves that are shut meanwhile."""
    edges = answer.model.circuit.edges
    for name in answer.model.edges:
        edge = edges[name]
        if edge.component is None or not is_pump(edge):
            continue
        still = np.abs(answer.flow(name)) < NOTHING
        if isinstance(answer.model.device(name), PulsedPump):
            # Pulsed to nothing it does what it is for.
            still &= np.array(answer.switch(name)) == LOST["pump"]
        if not still.any():
            continue
        row = int(still.argmax())
        duty = answer.model.duties[row]
        shut = _against(answer, edge.end, row)
        why = words(
            "At {duty} {pump} runs against a closed way: nothing flows through it, and it heats what is in it.",
            duty=duty,
            pump=edge.component.name,
        )
        change = "Give it a way: a return or a relief valve."
        if shut:
            change = "See which way the arrow points on {shut}, which stands against it; or give it a return."
        return State(duty=duty), why, words(change, shut=" and ".join(shut))
    return None


def _against(answer: Solution, outlet: str, row: int) -> list[str]:
    """Check valves that the still liquid of a pump's outlet stands behind, as if they let through toward it."""
    model, pressure = answer.model, answer.state.pressure[row]
    found = []
    for i in model.network.devices:
        edge = model.circuit.edges[model.edges[i]]
        shut = answer.switch(edge.name)[row] == "shut"
        behind = abs(pressure[model.number[edge.end]] - pressure[model.number[outlet]]) < BESIDE
        if shut and behind and edge.component is not None and edge.law == "check":
            found.append(edge.component.name)
    return found


def _holds_nothing(_study: Study, answer: Solution) -> tuple[State, Words, Words] | None:
    """A bypass regulator whose return leads nowhere, so that its valve is no way of the circuit."""
    edges = answer.model.circuit.edges.values()
    owners = {e.component.name: e.component for e in edges if e.component is not None}
    for name, component in owners.items():
        for path in component.kind.paths:
            if path.law == "bypass" and f"{name}: {path.name}" not in answer.model.circuit.edges:
                why = words("{name} holds nothing: no hose is on its {port}.", name=name, port=path.end)
                change = words(
                    "Run its {port} back to the tank; one that feeds a rail without it is of kind feed-regulator.",
                    port=path.end,
                )
                return State(), why, change
    return None
