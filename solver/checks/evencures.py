"""What would feed the injectors of a fuel system evenly, each cure made up and solved again."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import NoAnswerError
from catalogs.units import Quantity
from lines.assembly import assembly
from lines.finding import Words, words
from lines.graph import circuit
from lines.plan import RunTable
from lines.resize import next_sizes
from lines.states import ByDuty
from solver.checks.judging import sentence
from solver.solution import solve_circuit
from solver.wider import widened

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from lines.assembly import Assembly
    from lines.plan import Component, Plan
    from solver.checks.even import Fed
    from solver.solution import Solution
    from solver.study import Study

SIZES = 3
"""How many sizes of hose more are tried."""
BORES = (1.1, 1.2, 1.35, 1.5, 1.75, 2.0)
"""So many times the bore of a rail are tried [-]."""
BALANCE = "balance line"
"""The tag of the run that is put in."""


def cured(study: Study, fed: Fed, row: int, most: float) -> Words:
    """Each kind of cure that is enough, the least of its kind; where none is, what the best of them comes to.

    Args:
        study: a plan and what follows from it.
        fed: its injectors as they are.
        row: the duty at which they are fed the least evenly.
        most: how much less the worst-fed may get [-].
    """
    enough, short = [], []
    for kind in (_wider(study, fed, row), _balanced(study, fed), _bored(study, fed, row)):
        tried = [(said, float(replace(fed, answer=answer).less.max())) for said, answer in kind]
        tried = [(said, less) for said, less in tried if np.isfinite(less)]
        first = next(((said, less) for said, less in tried if less <= most), None)
        if first is not None:
            enough.append(first)
        elif tried:
            short.append(min(tried, key=lambda one: one[1]))
    if enough:
        facts = {f"then{k}": Quantity(less, "ratio") for k, (_, less) in enumerate(enough)}
        named = {f"said{k}": said for k, (said, _) in enumerate(enough)}
        text = "; or ".join(f"{{said{k}}}: then {{then{k}}} less at the most" for k in range(len(enough)))
        return words(text + ".", **facts, **named | {"said0": sentence(enough[0][0])})
    if short:
        said, less = min(short, key=lambda one: one[1])
        then, wanted = Quantity(less, "ratio"), Quantity(most, "ratio")
        text = "Nothing that was tried alone brings it to {wanted}; the most does {said}: then {then} less."
        return words(text, said=said, then=then, wanted=wanted)
    return words("No wider hose of its kind lies there.")


def _wider(study: Study, fed: Fed, row: int) -> Iterator[tuple[str, Solution]]:
    """With the runs in wider hoses that the worst-fed is reached by from the best-fed."""
    name = fed.answer.model.circuit.name
    runs = [(edge.name, 1.0 if onward else -1.0) for edge, onward in fed.way(row) if edge.run is not None]
    tags = [tag for tag, sign in runs if sign * fed.answer.flow(tag)[row] > 0]
    sizes = {tag: next_sizes(study.plan.catalog, study.assemblies[tag].stock, SIZES) for tag in tags}
    for size in range(SIZES):
        stocks = {tag: found[size] for tag, found in sizes.items() if len(found) > size}
        wider = widened(study, name, stocks, loaded=bool(fed.due)) if stocks else None
        if wider is not None:
            yield wider.said, wider.answer


def _balanced(study: Study, fed: Fed) -> Iterator[tuple[str, Solution]]:
    """With a line across the far ends of two rails that end blind, as wide as what feeds the first of them."""
    plan, here = study.plan, fed.answer.model.circuit
    blind = [name for name in fed.rails if f"{name}.in" in here.nodes and f"{name}.out" not in here.nodes]
    if len(blind) != 2 or any(plan.port(f"{name}.out").at is None for name in blind):
        return
    first, last = (f"{name}.out" for name in blind)
    a, b = (np.array(plan.port(port).at, dtype=np.float64) for port in (first, last))
    apart = float(np.linalg.norm(b - a))
    stock = plan.runs[here.run_on(f"{blind[0]}.in")].stock
    table = {"circuit": here.name, "from": first, "to": last, "stock": stock}
    run = RunTable.model_validate(table).model_copy(update={"length": apart, "length_is": "seat-to-seat"})
    changed = replace(plan, runs=plan.runs | {BALANCE: run})
    answer = _solved(changed, here.name, {**study.assemblies, BALANCE: assembly(changed, BALANCE)}, fed)
    if answer is not None:
        yield f"a balance line in {stock} from {first} to {last}, straight across", answer


def _bored(study: Study, fed: Fed, row: int) -> Iterator[tuple[str, Solution]]:
    """With a wider bore of the rail that both are on."""
    best, worst = (node.partition(".")[0] for node in (fed.best(row), fed.worst(row)))
    if best != worst:
        return
    plan = study.plan
    for times in BORES:
        changed = replace(plan, components=plan.components | {best: _with_bore(plan.components[best], times)})
        made = {tag: assembly(changed, tag) for tag in study.assemblies}
        answer = _solved(changed, fed.answer.model.circuit.name, made, fed)
        if answer is not None:
            yield f"a rail like {best} with {times:g} times its bore", answer


def _with_bore(rail: Component, times: float) -> Component:
    wide = ByDuty({duty: times * bore for duty, bore in rail.figures["bore"].values.items()})
    return replace(rail, figures=rail.figures | {"bore": wide})


def _solved(plan: Plan, name: str, made: Mapping[str, Assembly], fed: Fed) -> Solution | None:
    try:
        answer = solve_circuit(plan, circuit(plan, name), made, loaded=bool(fed.due))
    except NoAnswerError:
        return None
    return answer if answer.solved.all() else None
