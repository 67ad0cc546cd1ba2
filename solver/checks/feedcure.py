"""What to do about the oil feed of a turbocharger: every figure from the circuit solved again with the change in it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from catalogs.errors import NoAnswerError
from catalogs.units import Quantity, show
from lines.finding import Words, words
from lines.graph import circuit
from lines.resize import made_up_in, next_stock
from solver.arrival import way_to
from solver.feeds import feeds
from solver.restrictor import WIDEST, Jet, Seat, bore_for, with_holes
from solver.solution import Solution, solve_circuit
from solver.stated import figure

if TYPE_CHECKING:
    from catalogs.records import Limit, Stock
    from solver.arrival import Way
    from solver.feeds import Feed

    Facts = dict[str, Quantity | str]


@dataclass(frozen=True, slots=True)
class Ranges:
    """What the bearings of a turbocharger want."""

    bearing: str
    top: Limit
    """At top engine speed."""
    least: Limit
    """At any duty."""

    @property
    def middle(self) -> float:
        low, high = self.top.caution_below, self.top.caution_above
        assert low is not None
        assert high is not None
        return (low + high) / 2


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
    ranges: Ranges
    running: list[int]
    top: int

    # ---------------------------------------------------------------- too much

    def less(self) -> Words:
        """The hole that brings the pressure at top speed to where it is wanted."""
        hole = self._hole()
        if self.ranges.bearing != "journal":
            return hole
        text = "Journal bearings normally have no restrictor: look first whether the engine's relief valve holds. "
        return words(text + hole.text, **hole.parts)

    def _seats(self) -> list[Seat]:
        """The seat of this feed's hole, and those of the turbochargers with such bearings on the same circuit."""
        alike = (
            other
            for other in feeds(self.feed.study)
            if other.circuit.name == self.feed.circuit.name
            and other.turbo.figures.get("bearing") == self.ranges.bearing
        )
        own = self.feed.seat(self._way(self.top))
        seats = [own, *(other.seat(way_to(self.answer, other.inlet, self.top)) for other in alike)]
        return list(dict.fromkeys(seat for seat in seats if seat.instead == own.instead))

    def _way(self, duty: int) -> Way:
        return way_to(self.answer, self.feed.inlet, duty)

    def _hole(self) -> Words:
        """The hole that serves top speed, as near to the middle of its range as idle allows; or that there is none."""
        seats = self._seats()
        jet = self._jet(seats[0])
        around = min(seat.around for seat in seats)

        def solved(bore: float) -> Solution:
            return with_holes(self.answer, seats, jet, bore, self.feed.study.plan.system)

        def reads(bore: float) -> float:
            return float(self.feed.reads(solved(bore))[self.top])

        bore = bore_for(reads, self.ranges.middle, jet.step, around)
        if bore is None:
            wanted = Quantity(self.ranges.middle, "pressure", "gauge")
            return words("No hole brings it to {wanted} at {top}.", wanted=wanted, top=self.feed.duties[self.top])
        bores = [min(jet.drilled(bore), WIDEST * around)]
        assert self.ranges.top.caution_above is not None
        widest = bore_for(reads, self.ranges.top.caution_above, jet.step, around)
        bores += [] if widest is None else [max(int(widest / jet.step) * jet.step, bores[0])]
        for bore in bores:
            answer = solved(bore)
            if not self._starves(answer):
                text = " brings it to {top_reads} at {top} and leaves {low_reads} at {low}; a gauge behind it tells."
                return words(self._where(seats) + text, bore=_both(bore), **self._facts(answer))
        text = (
            "No one hole serves both: {bore} brings it to {top_reads} at {top} but leaves only {low_reads} at {low}. "
            "More oil pressure at {low}, or less at {top}, is for the engine's pump and relief valve."
        )
        return words(text, bore=_both(bores[0]), **self._facts(solved(bores[0])))

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
            names = " and ".join(seat.edge.partition(":")[0] for seat in seats)
            return f"A hole of {{bore}} in {names} instead of what is there"
        if len(seats) == 1:
            return f"A restrictor of {{bore}} at {self.feed.inlet}, an oil filter ahead of it,"
        return f"A restrictor of {{bore}} at each of the {len(seats)} oil inlets, an oil filter ahead of them,"

    def _facts(self, answer: Solution) -> Facts:
        """What the gauge would read at top speed, and where it reads least of the other duties."""
        reads = self.feed.reads(answer)
        low = min(self.running, key=lambda i: float(reads[i]))
        duties = self.feed.duties
        return {
            "top": duties[self.top],
            "top_reads": Quantity(float(reads[self.top]), "pressure", "gauge"),
            "low": duties[low],
            "low_reads": Quantity(float(reads[low]), "pressure", "gauge"),
        }

    def _starves(self, answer: Solution) -> bool:
        least, reads = self.ranges.least.fail_below, self.feed.reads(answer)
        return least is not None and min(float(reads[i]) for i in self.running) < least

    # ---------------------------------------------------------------- too little

    def more(self, duty: int) -> Words:
        """A restrictor out or wider, or what costs the most in the line and what its next size brings."""
        seats = self._seats()
        if not seats[0].instead:
            return self._line(duty)
        without = with_holes(self.answer, seats, self._jet(seats[0]), None, self.feed.study.plan.system)
        names = " and ".join(seat.edge.partition(":")[0] for seat in seats)
        facts = self._facts(without) | {"restrictor": names}
        wanted = self.ranges.top.caution_below
        if self.ranges.bearing == "journal" or (wanted is not None and self.feed.reads(without)[self.top] < wanted):
            text = "Take out {restrictor}: without it the gauge reads {low_reads} at {low} and {top_reads} at {top}."
            if self.ranges.bearing == "journal":
                text += " If it smokes, cure the drain and the breather first, not the feed."
            return words(text, **facts)
        return self._hole()

    def _line(self, duty: int) -> Words:
        """What costs the most in a line without a restrictor."""
        way = self._way(duty)
        low = (self.ranges.top if duty == self.top else self.ranges.least).caution_below
        loss = most_of_the_loss(self.feed, self.answer, way, duty)
        start = next(name for name, number in self.answer.model.number.items() if number == way.nodes[0])
        there = float(self.answer.total(start)[duty] - self.feed.ambient[duty])
        facts: Facts = {
            "start": start.partition(".")[0],
            "there": Quantity(there, "pressure", "gauge"),
            "duty": self.feed.duties[duty],
        }
        if loss is None or (low is not None and there < low):
            text = (
                "{start} itself has only {there} at {duty}: no line makes it more. Look at the engine's oil pressure."
            )
            return words(text, **facts)
        facts |= {"thing": loss.name, "loss": Quantity(loss.drop, "pressure_drop")}
        text = "{start} has {there} at {duty}; {thing} costs the most, {loss}."
        larger = next_size(self.feed, loss.run) if loss.run else None
        if larger is None:
            return words(text, **facts)
        stock, answer = larger
        facts |= {
            "run": loss.run,
            "stock": stock.id,
            "then": Quantity(float(self.feed.reads(answer)[duty]), "pressure", "gauge"),
        }
        return words(text + " With {run} of {stock} the gauge reads {then}.", **facts)


def next_size(feed: Feed, tag: str) -> tuple[Stock, Solution] | None:
    """The next wider stock of a run's family and the circuit solved with it; None where there is none to be had."""
    plan, before = feed.study.plan, feed.study.assemblies[tag]
    stock = next_stock(plan.catalog, before.stock)
    if stock is None:
        return None
    changed, made = made_up_in(plan, tag, stock)
    if any(end is None and was is not None for end, was in zip(made.chosen, before.chosen, strict=True)):
        return None
    try:
        answer = solve_circuit(changed, circuit(changed, feed.circuit.name), feed.study.assemblies | {tag: made})
    except NoAnswerError:
        return None
    return (stock, answer) if answer.solved.all() else None


def _both(bore: float) -> str:
    """A bore as both shops read it: drills come in millimetres, jets are called by inches."""
    size = Quantity(bore, "bore")
    return f"{show(size, 'metric')} ({show(size, 'us')})"
