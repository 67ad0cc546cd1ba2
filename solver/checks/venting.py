"""The vent of each fuel tank with the vehicle lying any way: does fuel run out of it?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from solver.checks.judging import judge, untold
from solver.fuels import fuel_tanks
from solver.vents import LYING, vents

if TYPE_CHECKING:
    from catalogs.records import Limit
    from lines.plan import Component
    from solver.study import Study
    from solver.vents import Vent

RULE = "fuel.vent"
ALIKE = 1e-3
"""Ways of lying that differ by less are alike [m]."""
_SIDES = {
    "on its left side": "right",
    "on its right side": "left",
    "on its roof": "bottom",
    "on its nose": "rear",
    "on its tail": "front",
    "upright": "top",
}
"""The side of the tank that is uppermost as the vehicle lies."""


def runs_out(study: Study) -> list[Finding]:
    """`fuel.vent`: how far some part of each vent lies over the fuel of its tank, however the vehicle lies.

    Of the tanks of circuits with a pump.
    """
    return [found for tank in fuel_tanks(study) for found in _of_tank(study, tank)]


def _of_tank(study: Study, tank: Component) -> list[Finding]:
    worst: dict[str, Finding] = {}
    for vent in vents(study.plan, study.circuits, study.assemblies, tank):
        try:
            if isinstance(vent, UnknownInputError):
                raise vent
            found = _judged(study, vent)
        except UnknownInputError as error:
            found = untold(RULE, tank.name, error, "Whether fuel runs out of its vent cannot be told")
        before = worst.get(found.place)
        if before is None or found.verdict.rank < before.verdict.rank:
            worst[found.place] = found
    if worst:
        return list(worst.values())
    why = words("No vent of {tank} is in the plan: whether fuel runs out of it cannot be told.", tank=tank.name)
    needs = f"a circuit of air from a port of {tank.name}, through a roll-over-valve, to a component of kind open"
    return [unchecked(RULE, tank.name, why, needs)]


def _judged(study: Study, vent: Vent) -> Finding:
    limit = study.plan.catalog.limit(RULE)
    lies = _Lies.of(vent, limit)
    if "upright" in lies.shut:
        text = "{valves} is shut with the vehicle upright, by its shuts_at: the tank does not breathe."
        why = words(text, valves=" and ".join(lies.shut["upright"]))
        change = words("A valve that is open upright and shut from some 45 deg on; its tilt as shuts_at.")
        return Finding(rule=RULE, place=vent.port, verdict=Verdict.FAIL, why=why, change=change, source=limit.source)
    judged = judge(limit, vent.port, lies.cases, why=lies.why, change=lies.change, alike=ALIKE)
    unknown = [v.name for v in vent.valves if v.figures.get("shuts_at") is None]
    if unknown and judged.verdict is not Verdict.PASS:
        why_not = words("At which tilt {valves} is shut is not stated.", valves=" and ".join(unknown))
        return unchecked(RULE, vent.port, why_not, f"shuts_at in [components.{unknown[0]}]: an angle, like 60 deg")
    return judged


@dataclass(frozen=True)
class _Lies:
    """One vent with the vehicle lying each way."""

    vent: Vent
    limit: Limit
    over: dict[str, float]
    """How far the highest of it lies over the fuel [m]."""
    shut: dict[str, list[str]]
    """The valves that are shut, where some are."""

    @classmethod
    def of(cls, vent: Vent, limit: Limit) -> _Lies:
        names, down = list(LYING), np.array(list(LYING.values()))
        over = dict(zip(names, vent.over(down).tolist(), strict=True))
        tilts = np.arccos(np.clip(-down[:, 2], -1.0, 1.0)).tolist()
        shut = {name: valves for name, tilt in zip(names, tilts, strict=True) if (valves := vent.shut(tilt))}
        return cls(vent, limit, over, shut)

    @property
    def cases(self) -> list[Case]:
        return [
            Case(State(attitude=name), Quantity(height, "length"))
            for name, height in self.over.items()
            if name not in self.shut
        ]

    def _runs_out(self, name: str) -> bool:
        return self.over[name] < (self.limit.fail_below or 0.0)

    def why(self, verdict: Verdict, case: Case) -> Words:
        lying, vent = case.state.attitude, self.vent
        facts: dict[str, Quantity | str] = {
            "lying": lying,
            "tank": vent.tank.name,
            "end": vent.end,
            "place": vent.highest(np.array(LYING[lying])),
            "height": Quantity(abs(case.value.value), "length"),
        }
        if verdict is Verdict.FAIL:
            text = "With the vehicle {lying} all of the vent lies under the fuel of a full {tank}, its highest part, "
            text += "at {place}, by {height}: fuel runs out of {end}"
            text += " (its valve is not shut there)." if vent.valves else "."
            if others := [name for name in self.over if name not in {lying, *self.shut} and self._runs_out(name)]:
                facts["others"] = " and ".join(others)
                text += " So it does {others}."
        else:
            text = "Some part of the vent is over the fuel "
            text += "where no valve is shut" if self.shut else "however the vehicle lies"
            text += "; the least with it {lying}, {height} at {place}."
        said, more = self._valves()
        return words(text + said, **facts, **more)

    def _valves(self) -> tuple[str, dict[str, Quantity | str]]:
        """What its valves do."""
        if not self.vent.valves:
            return " It has no valve that shuts.", {}
        if not self.shut:
            return "", {}
        valves = " and ".join(dict.fromkeys(valve for each in self.shut.values() for valve in each))
        kept = " and ".join(name for name in self.shut if self._runs_out(name))
        text = " {valves} shuts it with the vehicle {ways}."
        text += " Without it fuel would run out {kept}." if kept else ""
        return text, {"valves": valves, "ways": ", ".join(self.shut), "kept": kept}

    def change(self, _verdict: Verdict, _case: Case) -> Words:
        wanted = self.limit.least or 0.0
        short = {name: over for name, over in self.over.items() if name not in self.shut and over < wanted}
        facts: dict[str, Quantity | str] = {"lying": " and ".join(short)}
        ways = []
        for i, (name, over) in enumerate(short.items()):
            facts |= {f"side{i}": _SIDES[name], f"more{i}": Quantity(wanted - over, "length")}
            ways.append(f"by the {{side{i}}} of the tank, {{more{i}:up}} farther that way than it goes now")
        text = "Lead the vent round " + ", and ".join(ways) + ", so that a part of it is over the fuel; or a roll-over "
        text += (
            "valve at the tank that is shut with the vehicle {lying} (a ball that falls shut only upside down is not)."
        )
        return words(text, **facts)
