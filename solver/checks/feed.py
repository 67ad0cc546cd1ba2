"""Does the oil get to a turbocharger with the pressure that its bearings want?"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from catalogs.units import Quantity, show
from lines.finding import Case, Finding, Verdict, Words, unchecked, words
from solver.checks import feedcure, roles
from solver.checks.feedwants import Wanted
from solver.checks.judging import by_duty, judge
from solver.feeds import Feed, feeds
from solver.stated import asked_for

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from catalogs.records import Limit
    from solver.solution import Solution
    from solver.study import Study

    Array = npt.NDArray[np.float64]

STANDS = words("In no duty does the engine turn.")
TURNING = "a duty in which the engine turns: its engine_speed, and the oil pressure that it has then"


def pressure(study: Study) -> list[Finding]:
    """`oil.feed`: what a gauge at a turbocharger's oil inlet reads, at every duty, against what its bearings want.

    At top engine speed it has a range, by the bearing. No warm duty is to read more than that range, and none, hot idle
    above all, less than a least; only the high pressure of cold oil is usual. A duty in which the engine stands is not
    looked at.
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
    running = feed.running(answer)
    if not running:
        return unchecked("oil.feed", name, STANDS, TURNING)
    catalog, warm = feed.study.plan.catalog, [i for i in feed.warm() if i in running]
    tops, assumed = _tops(feed, feed.reads(answer), warm)
    top, least = (catalog.limit(f"oil.feed.{bearing}{at}") for at in ("", ".idle"))
    wanted = Wanted(bearing, top, least, tops, warm, running)
    told = _Told(feed, answer, wanted, feed.reads(answer), assumed=assumed)
    cold, rest = ([i for i in running if (i in warm) is hot and i not in tops] for hot in (False, True))
    found = [told.judged(alike) for alike in (tops, rest, cold) if alike]
    worst = min(found, key=lambda f: (f.verdict.rank, f.margin.value if f.margin else 0.0))
    if not warm and worst.verdict is not Verdict.FAIL:
        why = words("In no duty is the oil warm and the engine running: hot idle and top speed are what counts.")
        return unchecked("oil.feed", name, why, f"duties with warm oil: temperature in [circuits.{feed.circuit.name}]")
    cases = (case for one in found for case in one.cases)
    return replace(worst, cases=tuple(sorted(cases, key=lambda case: feed.duties.index(case.state.duty))))


def _tops(feed: Feed, reads: Array, warm: list[int]) -> tuple[list[int], bool]:
    """The warm duties of top engine speed; and whether one is only taken for it, as that which reads most."""
    speeds = {i: feed.study.plan.duties[feed.duties[i]].engine_speed for i in warm}
    known = {i: speed for i, speed in speeds.items() if speed is not None}
    if not warm or len(known) == len(speeds):
        return [i for i, speed in known.items() if speed == max(known.values())], False
    return [max(warm, key=lambda i: float(reads[i]))], True


@dataclass(frozen=True)
class _Told:
    """The judgement of one feed in words."""

    feed: Feed
    answer: Solution
    wanted: Wanted
    reads: Array
    assumed: bool

    def judged(self, duties: list[int]) -> Finding:
        """The finding over duties of one range."""
        cases = by_duty([self.feed.duties[i] for i in duties], self.reads[duties], "pressure", "gauge")
        limit, name, grades = self.wanted.limit(duties[0]), self.feed.turbo.name, [self.answer.model.grade]
        found = judge(limit, name, cases, why=self.why, change=self.change, grades=grades)
        sides = {
            side: replace(value, reference="gauge")
            for side in ("low", "high")
            if (value := getattr(found, side)) is not None
        }
        return replace(found, **sides)

    def why(self, verdict: Verdict, case: Case) -> Words:
        """What is wrong, and what a gauge reads and how much goes through at every duty in which the engine runs."""
        flow, running = self.answer.flow(self.feed.bearings.name), self.wanted.running
        text, parts = "", dict[str, Quantity | str]()
        if verdict is not Verdict.PASS:
            text, parts = self._wrong(verdict, case)
        text += "A gauge at {inlet} reads " + "; ".join(f"{{p{i}}} at {{d{i}}}, {{q{i}}}" for i in running) + "."
        parts["inlet"] = self.feed.inlet
        for i in running:
            parts |= {
                f"d{i}": self.feed.duties[i],
                f"p{i}": Quantity(float(self.reads[i]), "pressure", "gauge"),
                f"q{i}": Quantity(float(flow[i]), "oil_flow"),
            }
        taken, more = self._taken()
        return words(text + taken, **parts, **more)

    def _taken(self) -> tuple[str, dict[str, Quantity | str]]:
        """What is taken for granted of the duties."""
        text, parts, catalog = "", dict[str, Quantity | str](), self.feed.study.plan.catalog
        duties, most = self.feed.duties, self.wanted.top.caution_above
        if self.assumed:
            text += " {top} is taken for top speed, as not every warm duty states its engine_speed."
            parts["top"] = duties[self.wanted.tops[0]]
        cold = [i for i in self.wanted.running if i not in self.wanted.warm]
        high = [duties[i] for i in cold if most is not None and self.reads[i] > most]
        if high:
            text += " Under {warm} oil may read high: {cold}."
            parts |= {"warm": _limit(catalog.limit("oil.feed.warm"), "temperature"), "cold": " and ".join(high)}
        if still := self.feed.taken_to_stand(self.wanted.running):
            text += " Without an engine_speed and under {stands}, the engine is taken to stand: {still}."
            parts |= {"stands": _limit(catalog.limit("oil.feed.stands"), "pressure"), "still": " and ".join(still)}
        return text, parts

    def _wrong(self, verdict: Verdict, case: Case) -> tuple[str, dict[str, Quantity | str]]:
        i, value = self.feed.duties.index(case.state.duty), case.value.value
        low, high = self.wanted.broken(i, value)
        parts: dict[str, Quantity | str] = {
            "value": case.value,
            "duty": case.state.duty,
            "bearing": self.wanted.bearing,
        }
        if high is not None:
            parts["high"] = Quantity(high, "pressure", "gauge")
            up, down = self._apart(parts, "high", ("up", "down"))
            return f"{{value{up}}} at {{duty}} is too much: {{bearing}} bearings want {{high{down}}} at most. ", parts
        assert low is not None
        parts["low"] = Quantity(low, "pressure", "gauge")
        down, up = self._apart(parts, "low", ("down", "up"))
        text = f"{{value{down}}} at {{duty}} is little: {{bearing}} bearings want {{low{up}}} or more there. "
        if verdict is Verdict.FAIL:
            text = f"{{value{down}}} at {{duty}} starves it: {{bearing}} bearings want {{low{up}}} at the very least. "
        way = self.feed.way(self.answer, self.feed.inlet, i).behind_its_pump(self.answer)
        taken = feedcure.most_of_the_loss(self.feed, self.answer, way, i)
        if taken is not None and value + taken.drop >= low:
            parts |= {"thing": taken.name, "taken": Quantity(taken.drop, "pressure_drop")}
            text += "{thing} takes {taken} of what the oil has. "
        return text, parts

    def _apart(self, parts: dict[str, Quantity | str], limit: str, ways: tuple[str, str]) -> tuple[str, str]:
        """How a value and the limit that it breaks are rounded, so that they never read alike."""
        value, broken = (
            show(q, self.feed.study.plan.system) for q in (parts["value"], parts[limit]) if isinstance(q, Quantity)
        )
        return (f":{ways[0]}", f":{ways[1]}") if value == broken else ("", "")

    def change(self, _verdict: Verdict, case: Case) -> Words:
        i, cure = self.feed.duties.index(case.state.duty), feedcure.Cure(self.feed, self.answer, self.wanted)
        low, _ = self.wanted.broken(i, case.value.value)
        return cure.less() if low is None else cure.more(i, low)


def _limit(limit: Limit, dimension: str) -> Quantity:
    """A threshold of the limits, to be told."""
    assert limit.caution_below is not None
    return Quantity(limit.caution_below, dimension, "gauge" if dimension == "pressure" else None)
