"""Does the oil get to a turbocharger with the pressure that its bearings want?"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from solver.arrival import way_to
from solver.checks import feedcure, roles
from solver.checks.judging import judge
from solver.feeds import Feed, feeds
from solver.stated import asked_for

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.records import Limit
    from solver.solution import Solution
    from solver.study import Study

    Array = npt.NDArray[np.float64]

_WORST_FIRST = [Verdict.FAIL, Verdict.CAUTION, Verdict.PASS]


def pressure(study: Study) -> list[Finding]:
    """`oil.feed`: what a gauge at a turbocharger's oil inlet reads, at every duty, against what its bearings want.

    At top engine speed it has a range, by the bearing; at every other duty, hot idle above all, only a least: the
    high pressure of cold oil is usual. A duty in which the engine stands is not looked at.
    """
    return [_judged(feed) for feed in feeds(study)]


def without_answer(rule: str, feed: Feed) -> Finding:
    """The finding of a feed whose circuit has no answer at every duty."""
    name = feed.turbo.name
    if feed.circuit.gravity:
        why = words("{circuit} holds the feed and the drain of {turbo}.", circuit=feed.circuit.name, turbo=name)
        return unchecked(rule, name, why, "a circuit of its own for the drain")
    return roles.without_answer(rule, name, feed.circuit)


def _judged(feed: Feed) -> Finding:
    bearing, name = feed.turbo.figures.get("bearing"), feed.turbo.name
    if bearing is None:
        why = words("What pressure {turbo} wants goes by its bearings, which are not stated.", turbo=name)
        return unchecked("oil.feed", name, why, asked_for(feed.turbo, "bearing"))
    answer = feed.answer
    if answer is None:
        return without_answer("oil.feed", feed)
    reads, running = feed.reads(answer), feed.running(answer)
    warm = [i for i in feed.warm() if i in running]
    if not warm:
        why = words("In no duty is the oil warm and the engine running: hot idle and top speed are what counts.")
        return unchecked("oil.feed", name, why, f"duties with warm oil: temperature in [circuits.{feed.circuit.name}]")
    catalog = feed.study.plan.catalog
    top, assumed = _top(feed, reads, warm)
    ranges = feedcure.Ranges(bearing, catalog.limit(f"oil.feed.{bearing}"), catalog.limit(f"oil.feed.{bearing}.idle"))
    told = _Told(feed, answer, ranges, reads, running, top, assumed)
    # At top speed both hold: the range, and under it the least.
    at_top = ranges.top.model_copy(update={"id": "oil.feed", "fail_below": ranges.least.fail_below})
    elsewhere = ranges.least.model_copy(update={"id": "oil.feed"})
    found = [told.judged(at_top, [top])]
    found += [told.judged(elsewhere, others)] if (others := [i for i in running if i != top]) else []
    worst = min(found, key=lambda f: (_WORST_FIRST.index(f.verdict), f.margin.value if f.margin else 0.0))
    cases = (case for one in found for case in one.cases)
    return replace(worst, cases=tuple(sorted(cases, key=lambda case: feed.duties.index(case.state.duty))))


def _top(feed: Feed, reads: Array, warm: list[int]) -> tuple[int, bool]:
    """The duty of top engine speed, and whether it is only taken for it, as the one that reads most."""
    speeds = [feed.study.plan.duties[feed.duties[i]].engine_speed for i in warm]
    known = [speed for speed in speeds if speed is not None]
    if len(known) == len(speeds):
        return warm[int(np.argmax(known))], False
    return max(warm, key=lambda i: float(reads[i])), True


@dataclass(frozen=True)
class _Told:
    """The judgement of one feed in words."""

    feed: Feed
    answer: Solution
    ranges: feedcure.Ranges
    reads: Array
    running: list[int]
    top: int
    assumed: bool

    def judged(self, limit: Limit, duties: list[int]) -> Finding:
        cases = [
            Case(State(duty=self.feed.duties[i]), Quantity(float(self.reads[i]), "pressure", "gauge")) for i in duties
        ]
        name, grades = self.feed.turbo.name, [self.answer.model.grade]
        found = judge(limit, name, cases, why=self.why, change=self.change, grades=grades)
        sides = {
            side: replace(value, reference="gauge")
            for side in ("low", "high")
            if (value := getattr(found, side)) is not None
        }
        return replace(found, **sides)

    def why(self, verdict: Verdict, case: Case) -> Words:
        """What is wrong, and what a gauge reads and how much goes through at every duty in which the engine runs."""
        flow = self.answer.flow(self.feed.bearings.name)
        text, parts = "", dict[str, Quantity | str]()
        if verdict is not Verdict.PASS:
            text, parts = self._wrong(verdict, case)
        text += "A gauge at {inlet} reads " + "; ".join(f"{{p{i}}} at {{d{i}}}, {{q{i}}}" for i in self.running) + "."
        parts["inlet"] = self.feed.inlet
        for i in self.running:
            parts |= {
                f"d{i}": self.feed.duties[i],
                f"p{i}": Quantity(float(self.reads[i]), "pressure", "gauge"),
                f"q{i}": Quantity(float(flow[i]), "volume_flow"),
            }
        if self.assumed:
            text += " {top} is taken for top speed, as not every warm duty states its engine_speed."
            parts["top"] = self.feed.duties[self.top]
        return words(text, **parts)

    def _wrong(self, verdict: Verdict, case: Case) -> tuple[str, dict[str, Quantity | str]]:
        i = self.feed.duties.index(case.state.duty)
        limit = self.ranges.top if i == self.top else self.ranges.least
        parts: dict[str, Quantity | str] = {
            "value": case.value,
            "duty": case.state.duty,
            "bearing": self.ranges.bearing,
        }
        if self.too_much(case) and limit.caution_above is not None:
            parts["high"] = Quantity(limit.caution_above, "pressure", "gauge")
            return "{value} at {duty} is too much: {bearing} bearings want {high} at most at top speed. ", parts
        starved = verdict is Verdict.FAIL and self.ranges.least.fail_below is not None
        low = self.ranges.least.fail_below if starved else limit.caution_below
        assert low is not None
        parts["low"] = Quantity(low, "pressure", "gauge")
        text = "{value} at {duty} is little: {bearing} bearings want {low} or more there. "
        if starved:
            text = "{value} at {duty} starves it: {bearing} bearings want {low} at the very least. "
        taken = feedcure.most_of_the_loss(self.feed, self.answer, way_to(self.answer, self.feed.inlet, i), i)
        if taken is not None and case.value.value + taken.drop >= low:
            parts |= {"thing": taken.name, "taken": Quantity(taken.drop, "pressure_drop")}
            text += "{thing} takes {taken} of what the oil has. "
        return text, parts

    def too_much(self, case: Case) -> bool:
        above = self.ranges.top.caution_above
        return case.state.duty == self.feed.duties[self.top] and above is not None and case.value.value > above

    def change(self, _verdict: Verdict, case: Case) -> Words:
        cure = feedcure.Cure(self.feed, self.answer, self.ranges, self.running, self.top)
        return cure.less() if self.too_much(case) else cure.more(self.feed.duties.index(case.state.duty))
