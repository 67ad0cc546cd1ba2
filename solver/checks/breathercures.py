"""What would bring a crankcase's pressure down: where it is lost, a wider line or a second one, each solved again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from catalogs.errors import NoAnswerError
from catalogs.units import Quantity
from lines.assembly import assembly
from lines.finding import words
from lines.graph import circuit
from lines.resize import made_up_in, next_stock
from solver.crankcase import as_far_as_found
from solver.solution import solve_circuit

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    import numpy.typing as npt

    from lines.assembly import Assembly
    from lines.finding import Words
    from lines.plan import Component, Plan
    from solver.solution import Solution
    from solver.study import Study

    Array = npt.NDArray[np.float64]

LESS_SUCTION = words("Less suction on it: a smaller bore to what draws on it, or a valve that lets air in.")

STEPS = 12
"""Steps of one dash size or one more line, on one run each, after which no more is looked for."""


@dataclass(frozen=True)
class Loss:
    """Something that takes pressure on the way out of a crankcase."""

    thing: str
    drop: float
    """[Pa]"""
    run: str
    """The run that it belongs to or is joined to."""
    bored: bool
    """Would a wider run take less there?"""


@dataclass(frozen=True)
class Cure:
    """A change to a breather, and what it would leave."""

    what: str
    over: float
    """Pressure in the crankcase over the air outside, at its highest duty [Pa]."""
    at_least: bool
    """Would it be more, as the gas still falls by too much for one density?"""

    @property
    def least(self) -> str:
        return "at least " if self.at_least else ""

    def still(self, enough: float) -> str:
        """The end of the sentence that names it: is it enough [Pa]?"""
        if self.over > enough:
            return ", still too much."
        return ", how much more is not known." if self.at_least else "."


@dataclass(frozen=True)
class _Tried:
    """A plan as changed so far."""

    plan: Plan
    made: Mapping[str, Assembly]
    lines: Mapping[str, tuple[str, ...]]
    """Of each run of the plan as it was, the runs that now do its work."""
    answer: Solution
    row: int
    """The duty with the highest pressure in the crankcase."""
    over: float
    """That pressure over the air outside [Pa]."""
    at_least: bool
    """Is it more, as the gas falls by too much for one density at some duty?"""

    def cures(self, enough: float) -> bool:
        """Is it enough [Pa], and known to be?"""
        return self.over <= enough and not self.at_least


def less_pressure(study: Study, solution: Solution, node: str, row: int, enough: float) -> Words:
    """Where the most of it is lost at one duty, and what wider or more lines leave; up to `enough` [Pa] will do."""
    name, most = solution.model.circuit.name, losses(solution, row)[0]
    text, facts = "The largest part of it, {lost}, is lost in {thing}.", {"thing": most.thing}
    drops = {"lost": Quantity(most.drop, "gas_drop")}
    if not most.bored:
        text += " Take a larger one, or two."
    by_size = enlarged(study, name, node, enough)
    if by_size is not None:
        text += " With {size}, the ports to match, it would be " + by_size.least + "{wider}" + by_size.still(enough)
        facts["size"], drops["wider"] = by_size.what, Quantity(by_size.over, "gas_drop")
    beside = second_line(study, name, node, most.run) if most.run else None
    if beside is not None:
        text += " With {second} it would be " + beside.least + "{beside}" + beside.still(enough)
        facts["second"], drops["beside"] = beside.what, Quantity(beside.over, "gas_drop")
    return words(text, **facts, **drops)


def losses(answer: Solution, row: int) -> list[Loss]:
    """What takes pressure at one duty, the most first."""
    found = []
    for name in answer.model.edges:
        edge = answer.model.circuit.edges[name]
        if edge.run is not None:
            for thing, drop in answer.things(name).items():
                of = "" if " at " in thing else f" of {name}"
                found.append(Loss(f"the {thing}{of}", _size(drop, row), name, bored=True))
        elif edge.component is not None:
            mouth, ends = edge.law == "mouth", {edge.start, edge.end}
            joined = [tag for tag, run in answer.model.circuit.runs.items() if ends & {run.start, run.end}]
            port = next((end for end in ends if answer.model.circuit.nodes[end].inner is None), "")
            cost = _size(answer.total(edge.start) - answer.total(edge.end), row)
            thing = f"the opening at {port}" if mouth else edge.component.name
            found.append(Loss(thing, cost, joined[0] if joined else "", bored=mouth))
    return sorted(found, key=lambda loss: -loss.drop)


def _size(drops: Array, row: int) -> float:
    return abs(float(drops[row]))


def as_worn(study: Study, name: str, node: str) -> Cure | None:
    """What a worn engine would leave in its crankcase; None where it is worn, or that has no answer."""
    owner = study.plan.components[node.partition(".")[0]]
    if owner.figures["wear"] == "worn":
        return None
    worn = replace(owner, figures=owner.figures | {"wear": "worn"})
    tried = _tried(_with(study.plan, worn), study.assemblies, {}, name, node)
    return None if tried is None else Cure("worn", tried.over, tried.at_least)


def enlarged(study: Study, name: str, node: str, enough: float) -> Cure | None:
    """The run that costs the most one size up, or where there is none one line more, until it is enough [Pa].

    Ports are taken to match. None where nothing of this can be done; where it is never enough, what the last step
    leaves.
    """
    lines = {tag: (tag,) for tag in study.circuits[name].runs}
    now = start = _tried(study.plan, study.assemblies, lines, name, node)
    for _ in range(STEPS):
        if now is None or now.cures(enough):
            break
        steps = (_step(now, tag, name, node) for tag in _costliest(now))
        after = next((step for step in steps if step is not None), None)
        if after is None:
            break
        now = after
    if now is None or start is None or now is start:
        return None
    changed = [tag for tag in lines if now.plan.runs[tag] != study.plan.runs[tag] or len(now.lines[tag]) > 1]
    return Cure(" and ".join(_said(now, tag) for tag in changed), now.over, now.at_least)


def _said(tried: _Tried, tag: str) -> str:
    """What has become of a run."""
    run, lines = tried.plan.runs[tag], tried.lines[tag]
    if len(lines) == 1:
        return f"{tag} as {run.stock}"
    ends = {ref.partition(".")[0] for ref in (run.start, run.end)}
    copied = sorted(
        ends - {ref.partition(".")[0] for ref in (tried.plan.runs[lines[1]].start, tried.plan.runs[lines[1]].end)}
    )
    return f"{tag} as {len(lines)} lines of {run.stock}" + "".join(
        f", each with a {owner} of its own" for owner in copied
    )


def second_line(study: Study, name: str, node: str, tag: str) -> Cure | None:
    """A second line beside a run, like it and with openings of its own; None where its ends take no second one."""
    start = _tried(study.plan, study.assemblies, {tag: (tag,)}, name, node)
    after = None if start is None else _one_more(start, tag, name, node)
    if after is None:
        return None
    ends = (study.plan.runs[tag].start, study.plan.runs[tag].end)
    own = [o for ref in ends if not study.plan.components[o := ref.partition(".")[0]].kind.free_ports]
    extra = "".join(f" and a second {owner}" for owner in own)
    return Cure(f"a second line like {tag} with openings of its own{extra}", after.over, after.at_least)


def _tried(
    plan: Plan, made: Mapping[str, Assembly], lines: Mapping[str, tuple[str, ...]], name: str, node: str
) -> _Tried | None:
    """The plan solved; None where it has no answer."""
    try:
        found = as_far_as_found(solve_circuit(plan, circuit(plan, name), made))
    except NoAnswerError:
        return None
    if found is None:
        return None
    answer, more_at = found
    over = answer.total(node) - plan.ambient.pressures
    return _Tried(plan, made, lines, answer, int(over.argmax()), float(over.max()), bool(more_at))


def _costliest(tried: _Tried) -> list[str]:
    """The runs of the plan as it was, the one that takes the most with what is joined to it first."""
    costs: dict[str, float] = {}
    for loss in losses(tried.answer, tried.row):
        costs[loss.run] = costs.get(loss.run, 0.0) + loss.drop
    return sorted(tried.lines, key=lambda tag: -costs.get(tag, 0.0))


def _step(tried: _Tried, tag: str, name: str, node: str) -> _Tried | None:
    """One run in the next size of its stock, or one line more: first what relieves the most costly thing of it."""
    most = next((loss for loss in losses(tried.answer, tried.row) if loss.run == tag), None)
    ways = (_size_up, _one_more) if most is None or most.bored else (_one_more, _size_up)
    steps = (way(tried, tag, name, node) for way in ways)
    return next((step for step in steps if step is not None), None)


def _size_up(tried: _Tried, tag: str, name: str, node: str) -> _Tried | None:
    """A run with those beside it in the next size of their stock; None where there is none with ends."""
    plan, made = tried.plan, dict(tried.made)
    stock = next_stock(plan.catalog, plan.catalog.stock(plan.runs[tag].stock))
    if stock is None:
        return None
    for one in tried.lines[tag]:
        for port in (plan.runs[one].start, plan.runs[one].end):
            plan = _opened(plan, port)
        plan, made[one] = made_up_in(plan, one, stock)
        if None in made[one].chosen:
            return None
    return _tried(plan, made, tried.lines, name, node)


def _one_more(tried: _Tried, tag: str, name: str, node: str) -> _Tried | None:
    """One more line like a run, beside it; None where its ends take none, or there are enough."""
    plan, ends = tried.plan, []
    if len(tried.lines[tag]) >= (plan.catalog.limit("breather.lines").caution_above or 1):
        return None
    run = plan.runs[tag]
    for port in (run.start, run.end):
        doubled = _doubled(plan, port)
        if doubled is None:
            return None
        plan, end = doubled
        ends.append(end)
    beside = _free(plan.runs, tag)
    plan = replace(plan, runs=plan.runs | {beside: run.model_copy(update={"start": ends[0], "end": ends[1]})})
    lines = {**tried.lines, tag: (*tried.lines[tag], beside)}
    return _tried(plan, {**tried.made, beside: assembly(plan, beside)}, lines, name, node)


def _with(plan: Plan, component: Component) -> Plan:
    return replace(plan, components=plan.components | {component.name: component})


def _opened(plan: Plan, ref: str) -> Plan:
    """The plan with a port as wide as what goes on it."""
    owner, _, name = ref.partition(".")
    component = plan.components[owner]
    port = component.port(name).model_copy(update={"thread": "", "bore": None})
    return _with(plan, replace(component, ports=component.ports | {name: port}))


def _doubled(plan: Plan, ref: str) -> tuple[Plan, str] | None:
    """The plan with a second port like this one, on a component like its own where that has only one; and its name."""
    owner, _, name = ref.partition(".")
    component = plan.components[owner]
    if component.kind.free_ports:
        port = _free(component.ports, name)
        return _with(plan, replace(component, ports=component.ports | {port: component.port(name)})), f"{owner}.{port}"
    if len(component.kind.ports) != 1:
        return None
    second = _free(plan.components, owner)
    return _with(plan, replace(component, name=second)), f"{second}.{name}"


def _free(taken: Mapping[str, object], name: str) -> str:
    """A name like this one that is not taken."""
    return next(free for n in range(2, len(taken) + 3) if (free := f"{name} {n}") not in taken)
