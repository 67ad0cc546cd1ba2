"""The way on which oil comes to a turbocharger: is it filtered ahead of a small hole, and how soon is it there?"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import NOTHING, Case, Finding, State, Verdict, Words, unchecked, words
from solver.arrival import longest_filling, open_flows, volume, way_to
from solver.checks.feed import without_answer
from solver.checks.feedcure import next_size
from solver.checks.judging import judge, verdict_of
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

AIR = 0.2
"""Time in which air leaves an empty line over that in which as much hot oil would, through the same bearings [-].

By the root of their densities, 840 kg/m3 to 6 at 4 bar, it takes a twelfth; at a quarter of the pressure twice that.
Where viscosity rules, next to nothing.
"""

# ---------------------------------------------------------------- a filter ahead of a small hole


def filtered(study: Study) -> list[Finding]:
    """`oil.filter`: a filter ahead of each small hole in the oil of a turbocharger, finer than the hole."""
    return [
        _filtered(feed, edge, edge.component)
        for feed in {feed.circuit.name: feed for feed in feeds(study)}.values()
        for edge in feed.circuit.edges.values()
        if edge.path is not None and edge.path.law == "orifice" and edge.component is not None
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
    ways = {i: _into(feed.answer, edge, i) for i in feed.running(feed.answer)}
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
    return _by_mesh(feed, restrictor, list(dict.fromkeys(f for way in ways.values() for f in _filters(feed, way))))


def _into(answer: Solution, edge: Edge, duty: int) -> Way:
    """The way on which oil comes into a restrictor at a duty, from whichever of its sides."""
    return way_to(answer, edge.start if answer.flow(edge.name)[duty] >= 0 else edge.end, duty)


def _filters(feed: Feed, way: Way) -> list[str]:
    """The filters on a way."""
    owners = (feed.circuit.edges[name].component for name in way.edges)
    return [one.name for one in owners if one is not None and "mesh" in one.kind.figures]


def _cleaned(feed: Feed, answer: Solution, way: Way) -> bool:
    """Is there a filter on a way, or does what it comes from say that it is filtered?"""
    return bool(_filters(feed, way)) or any(source.figures.get("filtered") for source in way.sources(answer))


def _by_mesh(feed: Feed, restrictor: Component, filters: list[str]) -> Finding:
    """The fineness of the filters ahead against the hole; the engine's own filter is finer than any."""
    limit, bore = feed.study.plan.catalog.limit("oil.filter.mesh"), figure(restrictor, "bore")
    components = [feed.study.plan.components[name] for name in filters]
    unknown = next((c for c in components if c.figures.get("mesh") is None), None)
    if not components:
        why = words("The oil is taken after the engine's filter, as the plan says.")
        return _finding(limit, restrictor, Verdict.PASS, why)
    if unknown is not None:
        why = words("How fine {filter} is, ahead of the hole, is not stated.", filter=unknown.name)
        return unchecked("oil.filter", restrictor.name, why, asked_for(unknown, "mesh"))
    finest = min(components, key=lambda c: figure(c, "mesh"))
    ratio = figure(finest, "mesh") / bore
    facts: dict[str, Quantity | str] = {
        "filter": finest.name,
        "mesh": _microns(figure(finest, "mesh")),
        "bore": Quantity(bore, "bore"),
        "ratio": Quantity(ratio, "ratio"),
    }
    why = words("{filter} ahead of it lets through {mesh}, {ratio} of the hole of {bore}.", **facts)
    found, change = verdict_of(limit, ratio), NOTHING
    if found is not Verdict.PASS:
        assert limit.caution_above is not None
        change = words("A filter ahead of it of {finer} or finer.", finer=_microns(limit.caution_above * bore))
    return _finding(limit, restrictor, found, why, change)


def _microns(size: float) -> str:
    """A size [m] as filters are called everywhere."""
    return f"{1e6 * size:.0f} microns"


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
    """`oil.arrival`: time until oil is at the inlet, at most, from the moment that the gallery has its pressure."""
    return [_arrival(feed) for feed in feeds(study)]


def _arrival(feed: Feed) -> Finding:
    if feed.answer is None:
        return without_answer("oil.arrival", feed)
    running = feed.running(feed.answer)
    if not running:
        stands = words("In no duty is the engine running.")
        return unchecked("oil.arrival", feed.turbo.name, stands, "a duty with pressure in the gallery")
    try:
        times = _at_most(feed, feed.answer)
    except UnknownInputError as error:
        unknown = words("How soon oil arrives is not known: {reason}.", reason=error.reason)
        return unchecked("oil.arrival", feed.turbo.name, unknown, error.needs or "")
    cases = [Case(State(duty=feed.duties[i]), Quantity(t, "time")) for i, t in times.items()]

    sources = way_to(feed.answer, feed.inlet, running[0]).sources(feed.answer)
    source = " and ".join(one.name for one in sources) or "the pump"

    def why(_verdict: Verdict, case: Case) -> Words:
        text = "From an empty line {time} at most at {duty}, counted from when {source} has its pressure."
        return words(text, time=case.value, duty=case.state.duty, source=source)

    def change(_verdict: Verdict, case: Case) -> Words:
        return _sooner(feed, feed.duties.index(case.state.duty), case.value.value)

    limit = feed.study.plan.catalog.limit("oil.arrival")
    return judge(limit, feed.turbo.name, cases, why=why, change=change, grades=[feed.answer.model.grade])


def _at_most(feed: Feed, answer: Solution) -> dict[int, float]:
    """Time until oil is at the inlet, at most [s], by the number of the duty: that of the oil, and that of the air."""
    oil, steadily = dict[int, float](), dict[int, float]()
    for i in feed.running(answer):
        way = way_to(answer, feed.inlet, i)
        opened = open_flows(answer, way, feed.ambient, feed.study.plan.system)[i]
        oil[i] = longest_filling(answer, way, i, opened)
        own = {name: abs(float(answer.flow(name)[i])) for name in way.edges}
        steadily[i] = longest_filling(answer, way, i, own)
    return {i: time + AIR * min(steadily.values()) for i, time in oil.items()}


def _sooner(feed: Feed, duty: int, before: float) -> Words:
    """What fills a feed sooner; with the next size of the run that takes the most time, where that does."""
    assert feed.answer is not None
    answer = feed.answer
    text = (
        "Before the first start prime it: pour oil into the inlet and crank without ignition until there is pressure. "
    )
    runs = [name for name in way_to(answer, feed.inlet, duty).edges if feed.circuit.edges[name].run is not None]
    slowest = max(runs, key=lambda tag: volume(answer, tag) / abs(float(answer.flow(tag)[duty])))
    text += "For every start: a shorter {run}, which takes the longest"
    larger = next_size(feed, slowest)
    if larger is not None and (then := _at_most(feed, larger[1])[duty]) < before:
        facts: dict[str, Quantity | str] = {"stock": larger[0].id, "then": Quantity(then, "time")}
        return words(text + "; of {stock} it is there in {then} at most.", run=slowest, **facts)
    return words(text + ", or thinner oil.", run=slowest)
