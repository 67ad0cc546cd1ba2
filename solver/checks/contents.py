"""What a plan says that a sump holds, against the box that it says holds it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, words
from solver.checks.judging import judge
from solver.liquid import liquid_in
from solver.stated import figure

if TYPE_CHECKING:
    from lines.plan import Component
    from solver.study import Study


def volume(study: Study) -> list[Finding]:
    """`sump.volume`: the oil in each sump by its volume over that by its box up to the full mark, less 1.

    Only where the plan states both.
    """
    sumps = [c for c in study.plan.components.values() if c.kind.id == "sump"]
    return [found for sump in sumps if (found := _volume(study, sump)) is not None]


def _volume(study: Study, sump: Component) -> Finding | None:
    if sump.figures.get("volume") is None or sump.figures.get("surface") is None:
        return None
    try:
        said, oil = figure(sump, "volume"), liquid_in(sump, "full")
    except UnknownInputError:  # sump.pickup says so
        return None
    if oil.volume is None or oil.volume <= 0:
        return None
    facts = {"said": Quantity(said, "oil_volume"), "held": Quantity(oil.volume, "oil_volume")}

    def why(verdict: Verdict, _case: Case) -> Words:
        text = "Its box holds {held} up to the full mark, and its volume is said to be {said}"
        text += "." if verdict is Verdict.PASS else ": one of them is wrong, and it is the box that counts here."
        return words(text, **facts)

    def change(_verdict: Verdict, _case: Case) -> Words:
        return words(
            "Measure the box and the full mark of {sump} again, the engine running. Its volume is the oil in the sump "
            "alone, without that in the filter, the cooler and the engine.",
            sump=sump.name,
        )

    case = Case(State(), Quantity(said / oil.volume - 1.0, "ratio"))
    return judge(study.plan.catalog.limit("sump.volume"), sump.name, [case], why=why, change=change)
