"""The way on which oil comes to a turbocharger: is it filtered ahead of a small hole, and how soon is it there?"""

from __future__ import annotations

import contextlib
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import STANDARD_GRAVITY, Quantity, show
from lines.finding import NOTHING, Case, Finding, Verdict, Words, unchecked, words
from solver.arrival import fronts, longest_filling, open_flows, volume
from solver.checks.feed import STANDS, TURNING, without_answer
from solver.checks.feedcure import next_size
from solver.checks.judging import by_duty, judge, untold, verdict_of
from solver.checks.roles import PUMPS
from solver.devices import MOST_LEAK
from solver.feeds import feeds
from solver.stated import asked_for, figure

if TYPE_CHECKING:
    from catalogs.records import Limit
    from lines.graph import Edge
    from lines.plan import Component
    from solver.arrival import Way
    from solver.feeds import Feed
    from solver.solution import Solution
    from solver.study import Study

# ---------------------------------------------------------------- a filter ahead of a small hole


def filtered(study: Study) -> list[Finding]:
    """`oil.filter`: a filter ahead of each small hole in the oil of a turbocharger, finer than the hole."""
    return [
        _filtered(feed, edge, edge.component)
        for feed in {feed.circuit.name: feed for feed in feeds(study)}.values()
        for edge in feed.circuit.edges.values()
        if edge.law == "orifice" and edge.component is not None
    ]


def _filtered(feed: Feed, edge: Edge, restrictor: Component) -> Finding:
    if feed.answer is None:
        return replace(without_answer("oil.filter", feed), place=restrictor.name)
    limit = feed.study.plan.catalog.limit("oil.filter")
    bore = figure(restrictor, "bore")
    size = Quantity(bore, "bore")
    if verdict_of(limit, bore) is Verdict.PASS:
        why = words("Its hole of {bore} is none that swarf blocks at once.", bore=size)
        return _finding(limit, restrictor, Verdict.PASS, why)
    ways = {i: way for i in feed.running(feed.answer) if (way := _into(feed, feed.answer, edge, i)).edges}
    if not ways:
        why = words("No oil comes to its hole of {bore} at any duty in which the engine turns.", bore=size)
        return unchecked("oil.filter", restrictor.name, why, "a duty with oil pressure ahead of it")
    unfiltered = next((i for i, way in ways.items() if not _cleaned(feed, feed.answer, way)), None)
    if unfiltered is not None:
        why = words(
            "No filter stands ahead of its hole of {bore} at {duty}: one piece of swarf from a new hose shuts off the "
            "oil.",
            bore=size,
            duty=feed.duties[unfiltered],
        )
        change = words(
            "A filter ahead of {restrictor}, and flush every hose before it is fitted; or, where the oil is taken "
            "after the engine's own filter, say filtered = true in the gallery that it comes from.",
            restrictor=restrictor.name,
        )
        return _finding(limit, restrictor, Verdict.CAUTION, why, change)
    # The engine's own filter is finer than any.
    own = [way for way in ways.values() if not _filtered_at_its_source(feed.answer, way)]
    return _by_mesh(feed, restrictor, [_filters(feed, way) for way in own])


def _into(feed: Feed, answer: Solution, edge: Edge, duty: int) -> Way:
    """The way on which oil comes into a restrictor at a duty, from whichever of its sides."""
    return feed.way(answer, edge.start if answer.flow(edge.name)[duty] >= 0 else edge.end, duty)


def _filters(feed: Feed, way: Way) -> list[Component]:
    """The filters on a way."""
    owners = (feed.circuit.edges[name].component for name in way.edges)
    return [one for one in owners if one is not None and "mesh" in one.kind.figures]


def _filtered_at_its_source(answer: Solution, way: Way) -> bool:
    """Does what a way comes from say that its oil is filtered?"""
    return any(source.figures.get("filtered") for source in way.sources(answer))


def _cleaned(feed: Feed, answer: Solution, way: Way) -> bool:
    """Is there a filter on a way, or does what it comes from say that it is filtered?"""
    return bool(_filters(feed, way)) or _filtered_at_its_source(answer, way)


def _by_mesh(feed: Feed, restrictor: Component, filters: list[list[Component]]) -> Finding:
    """The fineness of the filters ahead against the hole: the finest of each duty's way, at the worst duty."""
    limit, bore = feed.study.plan.catalog.limit("oil.filter.mesh"), figure(restrictor, "bore")
    if not filters:
        why = words("The oil is taken after the engine's filter, as the plan says.")
        return _finding(limit, restrictor, Verdict.PASS, why)
    unknown = next((one for each in filters for one in each if one.figures.get("mesh") is None), None)
    if unknown is not None:
        why = words("How fine {filter} is, ahead of the hole, is not stated.", filter=unknown.name)
        return unchecked("oil.filter", restrictor.name, why, asked_for(unknown, "mesh"))

    def mesh(one: Component) -> float:
        return figure(one, "mesh")

    worst = max((min(each, key=mesh) for each in filters), key=mesh)
    ratio = mesh(worst) / bore
    facts: dict[str, Quantity | str] = {
        "filter": worst.name,
        "mesh": Quantity(mesh(worst), "fineness"),
        "bore": Quantity(bore, "bore"),
        "ratio": Quantity(ratio, "ratio"),
    }
    why = words("{filter} ahead of it lets through {mesh}, {ratio} of the hole of {bore}.", **facts)
    found, change = verdict_of(limit, ratio), NOTHING
    if found is not Verdict.PASS:
        assert limit.caution_above is not None
        change = words(
            "A filter ahead of it of {finer:down} or finer.", finer=Quantity(limit.caution_above * bore, "fineness")
        )
    return _finding(limit, restrictor, found, why, change)


def _finding(limit: Limit, restrictor: Component, verdict: Verdict, why: Words, change: Words = NOTHING) -> Finding:
    return Finding(
        rule="oil.filter",
        place=restrictor.name,
        verdict=verdict,
        why=why,
        change=change,
        basis=limit.grade,
        source=limit.source,
    )


# ---------------------------------------------------------------- how soon it is there


def arrival(study: Study) -> list[Finding]:
    """`oil.arrival`: time until oil is at the inlet, at most, from the moment that its source has its pressure."""
    return [_arrival(feed) for feed in feeds(study)]


def _arrival(feed: Feed) -> Finding:
    answer = feed.answer
    if answer is None:
        return without_answer("oil.arrival", feed)
    if not feed.running(answer):
        return unchecked("oil.arrival", feed.turbo.name, STANDS, TURNING)
    try:
        times = _at_most(feed, answer)
    except UnknownInputError as error:
        return untold("oil.arrival", feed.turbo.name, error, "How soon oil arrives is not known")
    cases = by_duty([feed.duties[i] for i in times], times.values(), "time")
    limit, air = (feed.study.plan.catalog.limit(key) for key in ("oil.arrival", "oil.arrival.air"))

    def why(_verdict: Verdict, case: Case) -> Words:
        text = (
            "An empty line is full {time} at most after {from_then}, at {duty}: {air} of the oil's own time is added "
            "for the air ahead of it, an estimate."
        )
        way = _way(feed, answer, feed.duties.index(case.state.duty))
        return words(
            text,
            time=case.value,
            duty=case.state.duty,
            from_then=_from_then(answer, way),
            air=Quantity(_share(air), "ratio"),
        )

    def change(_verdict: Verdict, case: Case) -> Words:
        return _sooner(feed, answer, feed.duties.index(case.state.duty), case.value.value)

    return judge(limit, feed.turbo.name, cases, why=why, change=change, grades=[answer.model.grade, air.grade])


def _way(feed: Feed, answer: Solution, duty: int) -> Way:
    """The way that fills: from where oil has a pressure of its own to the inlet."""
    return feed.way(answer, feed.inlet, duty).behind_its_pump(answer)


def _from_then(answer: Solution, way: Way) -> str:
    """The moment from which an arrival is counted, in words."""
    sources = way.sources(answer)
    pumped = any(path.law in PUMPS for source in sources for path in source.kind.paths)
    return f"{' and '.join(one.name for one in sources)} {'gives its oil' if pumped else 'has its pressure'}"


def _share(limit: Limit) -> float:
    assert limit.caution_above is not None
    return limit.caution_above


def _at_most(feed: Feed, answer: Solution) -> dict[int, float]:
    """Time until oil is at the inlet, at most [s], by the number of the duty: that of the oil, and that of the air.

    Raises:
        UnknownInputError: nothing flows there at some duty, or what is on the way is not known.
    """
    tops, system = feed.tops(answer), feed.study.plan.system
    oil, steadily = dict[int, float](), dict[int, float]()
    for i in feed.running(answer):
        way = _way(feed, answer, i)
        if not way.edges:
            raise UnknownInputError(f"at {feed.duties[i]} no oil comes to {feed.inlet}", needs=TURNING)
        opened = open_flows(answer, way, feed.ambient, tops, system)[i]
        _lifted(feed, answer, way, opened, i)
        oil[i] = longest_filling(answer, way, i, opened)
        own = {name: abs(float(answer.flow(name)[i])) for name in way.edges}
        if min(own.values()) > MOST_LEAK:
            steadily[i] = longest_filling(answer, way, i, own)
    if not steadily:
        raise UnknownInputError(f"next to nothing flows through {feed.turbo.name}", needs="a duty with warm oil")
    share = _share(feed.study.plan.catalog.limit("oil.arrival.air"))
    return {i: time + share * min(steadily.values()) for i, time in oil.items()}


def _lifted(feed: Feed, answer: Solution, way: Way, opened: dict[str, float], duty: int) -> None:
    """Raises UnknownInputError where the oil is not lifted over the highest point of a way, by its flows as opened."""
    first, density = feed.circuit.edges[way.edges[0]], float(answer.model.density[duty])
    start = first.start if answer.model.number[first.start] == way.nodes[0] else first.end
    pressure = float(answer.total(start)[duty] - feed.ambient[duty])
    for name, height in fronts(answer, way, feed.tops(answer)).items():
        climb = height - answer.model.heights[start]
        if opened[name] > MOST_LEAK or density * STANDARD_GRAVITY * climb < pressure:
            continue
        said = show(Quantity(climb, "length"), feed.study.plan.system)
        has = show(Quantity(pressure, "pressure", "gauge"), feed.study.plan.system)
        raise UnknownInputError(
            f"{name} comes {said} over {start.partition('.')[0]}, whose {has} at {feed.duties[duty]} does not lift "
            f"oil into an empty line that high",
            needs=f"a lower way for {name}, or more pressure at {feed.duties[duty]}",
        )


def _sooner(feed: Feed, answer: Solution, duty: int, before: float) -> Words:
    """What fills a feed sooner; with the next size of the run that takes the most time, where that does."""
    text = (
        "Before the first start prime it: pour oil into the inlet and crank without ignition until there is pressure. "
    )
    takes = {
        name: volume(answer, name) / abs(float(answer.flow(name)[duty]))
        for name in _way(feed, answer, duty).edges
        if name in answer.model.edges
    }
    slowest = max(takes, key=lambda name: takes[name])
    owner = feed.circuit.edges[slowest].component
    if owner is not None:
        text += "For every start: a smaller {part}, which takes the longest, or thinner oil."
        return words(text, part=owner.name)
    text += "For every start: a shorter {run}, which takes the longest"
    larger = next_size(feed, slowest)
    then = np.inf
    if larger is not None:
        with contextlib.suppress(UnknownInputError):
            then = _at_most(feed, larger.answer)[duty]
    if larger is None or then >= before:
        return words(text + ", or thinner oil.", run=slowest)
    facts: dict[str, Quantity | str] = {"wider": larger.put, "then": Quantity(then, "time")}
    return words(text + "; with {wider} it is there in {then} at most.", run=slowest, **facts)
