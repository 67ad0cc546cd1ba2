"""What to do about the oil feed of a turbocharger: every figure from the circuit solved again with the change in it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from catalogs.units import Quantity, show
from lines.finding import Verdict, Words, words
from lines.resize import next_stock
from solver.checks.judging import sentence
from solver.feeds import feeds
from solver.restrictor import WIDEST, Jet, Seat, bore_for, with_holes
from solver.stated import figure
from solver.wider import widened

if TYPE_CHECKING:
    from solver.arrival import Way
    from solver.checks.feedwants import Wanted
    from solver.feeds import Feed
    from solver.solution import Solution
    from solver.wider import Wider

    Facts = dict[str, Quantity | str]


@dataclass(frozen=True, slots=True)
class Loss:
    """What costs the most on a way."""

    name: str
    drop: float
    """[Pa]."""
    run: str
    """The run that it belongs to; empty where it is a component."""


def most_of_the_loss(feed: Feed, answer: Solution, way: Way, duty: int) -> Loss | None:
    """What a person would change that costs the most on a way at a duty: a component, or a part of a run."""
    found = []
    for name in way.edges:
        edge = feed.circuit.edges[name]
        if edge.run is None:
            drop = sum(float(part[duty]) for part in answer.parts(name).values())
            found.append(Loss(name.partition(":")[0], abs(drop), ""))
        else:
            named = ((thing, float(drop[duty])) for thing, drop in answer.things(name).items())
            found += [Loss(f"{name}, its {thing},", abs(drop), name) for thing, drop in named]
    return max(found, key=lambda loss: loss.drop, default=None)


@dataclass(frozen=True)
class Cure:
    """What may be done about one feed."""

    feed: Feed
    answer: Solution
    wanted: Wanted

    @property
    def _top(self) -> int:
        """The warm duty that reads most: what a hole is bored for."""
        reads = self.feed.reads(self.answer)
        return max(self.wanted.warm, key=lambda i: float(reads[i]))

    # ---------------------------------------------------------------- too much

    def less(self) -> Words:
        """The hole that brings the pressure at top speed to where it is wanted."""
        hole = self._hole("No one hole serves both")
        if self.wanted.bearing != "journal":
            return hole
        text = "Journal bearings normally have no restrictor: look first whether the engine's relief valve holds. "
        return words(text + hole.text, **hole.parts)

    def _seats(self, duty: int) -> list[Seat]:
        """The seat of this feed's hole, and those of the turbochargers with such bearings on the same circuit."""
        alike = (
            other
            for other in feeds(self.feed.study)
            if other.circuit.name == self.feed.circuit.name
            and other.turbo.figures.get("bearing") == self.wanted.bearing
        )
        own = self.feed.seat(self.feed.way(self.answer, self.feed.inlet, duty))
        seats = [own, *(other.seat(other.way(self.answer, other.inlet, duty)) for other in alike)]
        return list(dict.fromkeys(seat for seat in seats if seat.instead == own.instead))

    def _hole(self, none_serves: str) -> Words:
        """The hole that serves best; or that there is none, if none makes it better than it is."""
        top, wanted = self._top, self.wanted
        seats = self._seats(top)
        jet = self._jet(seats[0])
        around = min(seat.around for seat in seats)

        def solved(bore: float) -> Solution:
            return with_holes(self.answer, seats, jet, bore, self.feed.study.plan.system)

        def reads(bore: float) -> float:
            return float(self.feed.reads(solved(bore))[top])

        assert wanted.top.caution_above is not None
        bore = bore_for(reads, wanted.middle, jet.step, around)
        widest = bore_for(reads, wanted.top.caution_above, jet.step, around)
        bores = [] if bore is None else [min(jet.drilled(bore), WIDEST * around)]
        bores += [] if widest is None else [max(int(widest / jet.step), 1) * jet.step]
        answers = {bore: answer for bore in bores if (answer := solved(bore)).solved.all()}
        if not answers:
            middle = Quantity(wanted.middle, "pressure", "gauge")
            return words("No hole brings it to {wanted} at {top}.", wanted=middle, top=self.feed.duties[top])
        best = min(answers, key=lambda bore: self._ails(answers[bore]))
        ails = self._ails(answers[best])
        if ails[0] == 0 and ails < self._ails(self.answer):
            brings, facts = self._brings(answers[best])
            taken = "drills by {step}" if seats[0].instead else "a hole {hole} long, drills by {step}"
            facts |= {"step": f"{1e3 * jet.step:g} mm", "hole": show(Quantity(jet.length, "gap"), "metric")}
            text = f"{self._where(seats)} {brings}; a gauge behind it tells. Taken: {taken}."
            return words(text, bore=_both(best), **facts)
        widest = max(answers)
        low = self._lowest(answers[widest])
        brings, facts = self._brings(answers[widest])
        text = f"{none_serves}: {{bore}} {brings}. More oil pressure at {{low}}"
        text += ", or less at {top}," if low != top else ""
        facts |= {"bore": _both(widest), "low": self.feed.duties[low], "top": self.feed.duties[top]}
        return words(text + " is for the engine's pump and relief valve.", **facts)

    def _jet(self, seat: Seat) -> Jet:
        """The hole that is proposed for a seat: of practice, or of the restrictor whose place it takes."""
        jet = Jet.of(self.feed.study.plan.catalog)
        if not seat.instead:
            return jet
        own = self.feed.circuit.edges[seat.edge].component
        assert own is not None
        return replace(jet, length=figure(own, "length"), cd=figure(own, "cd"))

    def _where(self, seats: list[Seat]) -> str:
        if seats[0].instead:
            return f"A hole of {{bore}} in {_names(seats)} instead of what is there"
        if len(seats) == 1:
            return f"A restrictor of {{bore}} at {self.feed.inlet}, an oil filter ahead of it,"
        return f"A restrictor of {{bore}} at each of the {len(seats)} oil inlets, an oil filter ahead of them,"

    def _lowest(self, answer: Solution) -> int:
        """The duty that reads least."""
        reads = self.feed.reads(answer)
        return min(self.wanted.running, key=lambda i: float(reads[i]))

    def _ails(self, answer: Solution) -> tuple[int, int]:
        """At how many duties an answer fails, and at how many it is a caution."""
        found = list(self.wanted.ailing(self.feed.reads(answer)).values())
        return found.count(Verdict.FAIL), found.count(Verdict.CAUTION)

    # ---------------------------------------------------------------- what a gauge would read

    def _brings(self, answer: Solution) -> tuple[str, Facts]:
        """What a change makes of the reading at top speed, of the least, and of each that stays out of its range."""
        first, *others = dict.fromkeys([self._top, self._lowest(answer), *self.wanted.ailing(self.feed.reads(answer))])
        text, facts = self._reading(answer, first)
        text = f"brings it to {text}"
        for i in others:
            said, more = self._reading(answer, i)
            text += f" and leaves {said}" if i == others[0] else f", {said}"
            facts |= more
        return text, facts

    def _reading(self, answer: Solution, duty: int) -> tuple[str, Facts]:
        """What the gauge would read at a duty, and that it is still out of its range, if so."""
        value = float(self.feed.reads(answer)[duty])
        low, high = self.wanted.broken(duty, value)
        before = self.wanted.broken(duty, float(self.feed.reads(self.answer)[duty]))
        text = f"{{p{duty}}} at {{d{duty}}}"
        facts: Facts = {f"p{duty}": Quantity(value, "pressure", "gauge"), f"d{duty}": self.feed.duties[duty]}
        for side, limit, was in zip(("under", "over"), (low, high), before, strict=True):
            if limit is not None:
                text += f" ({'' if was is None else 'still '}{side} the {{l{duty}}} asked for)"
                facts[f"l{duty}"] = Quantity(limit, "pressure", "gauge")
        return text, facts

    # ---------------------------------------------------------------- too little

    def more(self, duty: int, low: float) -> Words:
        """A restrictor out or wider, or what costs the most in the line and what its next size brings.

        Args:
            duty: at which it reads too little.
            low: what it does not come to there [Pa over ambient].
        """
        way = self.feed.way(self.answer, self.feed.inlet, duty).behind_its_pump(self.answer)
        source = self._source(way, duty)
        if source is None:
            inlet = self.feed.inlet
            return words("No pressure is stated from which oil comes to {inlet}: a gallery, or a pump.", inlet=inlet)
        facts: Facts = {
            "start": source[0],
            "there": Quantity(source[1], "pressure", "gauge"),
            "duty": self.feed.duties[duty],
        }
        if source[1] < low:
            text = "{start} itself has only {there} at {duty}: no line and no hole makes it more. Look at the engine's "
            return words(text + "oil pressure.", **facts)
        seats = self._seats(duty)
        if not seats[0].instead or not self.wanted.warm:
            return self._line(way, duty, facts)
        without = with_holes(self.answer, seats, self._jet(seats[0]), None, self.feed.study.plan.system)
        reads = self.feed.reads(without)
        too_much = any(self.wanted.broken(i, float(reads[i]))[1] is not None for i in self.wanted.warm)
        if without.solved.all() and (self.wanted.bearing == "journal" or not too_much):
            return self._out(seats, without, self._wide_enough(seats, duty, low))
        return self._hole("No other hole helps")

    def _wide_enough(self, seats: list[Seat], duty: int, low: float) -> float | None:
        """The least bore by a drill with which no duty reads too little or too much; None where there is none [m]."""
        jet, system = self._jet(seats[0]), self.feed.study.plan.system

        def solved(bore: float) -> Solution:
            return with_holes(self.answer, seats, jet, bore, system)

        around = min(seat.around for seat in seats)
        bore = bore_for(lambda bore: float(self.feed.reads(solved(bore))[duty]), low, jet.step, around)
        if bore is None:
            return None
        drilled = math.ceil(bore / jet.step) * jet.step
        answer = solved(drilled)
        return drilled if answer.solved.all() and self._ails(answer)[0] == 0 else None

    def _out(self, seats: list[Seat], without: Solution, bore: float | None) -> Words:
        """Take the restrictors out, or widen them to the least bore that is enough."""
        (low, facts), (top, more) = (self._reading(without, i) for i in (self._lowest(without), self._top))
        said = low if low == top else f"{low} and {top}"
        text = f"Take out {{restrictor}}: without it the gauge reads {said}"
        if bore is not None:
            text += "; or bore it to {bore}, the least that is enough"
            facts["bore"] = _both(bore)
        text += ". More oil then comes down the drain: look at drain.surface again."
        if self.wanted.bearing == "journal":
            text += " If it smokes, cure the drain and the breather first, not the feed."
        return words(text, **facts | more, restrictor=_names(seats))

    def _source(self, way: Way, duty: int) -> tuple[str, float] | None:
        """What the oil comes from, and what it has there [Pa over ambient]: of a pump, at its outlet."""
        number = self.answer.model.number
        found = {name: float(over[duty]) for name, over in self.feed.sources(self.answer).items()}
        here = {name: over for name, over in found.items() if number[name] == way.nodes[0]} or found
        start = max(here, key=lambda name: here[name], default=None)
        return None if start is None else (start.partition(".")[0], here[start])

    def _line(self, way: Way, duty: int, facts: Facts) -> Words:
        """What costs the most in a line without a restrictor."""
        loss = most_of_the_loss(self.feed, self.answer, way, duty)
        if loss is None:
            return words("{start} has {there} at {duty}, and none of it comes here: look what shuts the way.", **facts)
        facts = facts | {"thing": loss.name, "loss": Quantity(loss.drop, "pressure_drop")}
        text = "{start} has {there} at {duty}; {thing} costs the most, {loss}."
        larger = next_size(self.feed, loss.run) if loss.run else None
        if larger is None:
            other = "no wider hose of its kind lies there: shorten it" if loss.run else "one that costs less"
            return words(f"{text} {sentence(other)}, or look for more oil pressure at {{duty}}.", **facts)
        said, more = self._reading(larger.answer, duty)
        return words(f"{text} With {larger.put} the gauge reads {said}.", **facts, **more)


def _names(seats: list[Seat]) -> str:
    """The restrictors whose place is taken."""
    return " and ".join(seat.edge.partition(":")[0] for seat in seats)


def next_size(feed: Feed, tag: str) -> Wider | None:
    """A run in the next wider stock of its family; None where there is none to be had, or none that lies there."""
    stock = next_stock(feed.study.plan.catalog, feed.study.assemblies[tag].stock)
    return None if stock is None else widened(feed.study, feed.circuit.name, {tag: stock})


def _both(bore: float) -> str:
    """A bore as both shops read it: drills come in millimetres, jets are called by inches."""
    size = Quantity(bore, "bore")
    return f"{show(size, 'metric')} ({show(size, 'us')})"
