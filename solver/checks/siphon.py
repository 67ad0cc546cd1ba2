"""What runs out of a fuel tank where a joint of its lines is opened at the bench, or a line breaks."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import STANDARD_GRAVITY, Quantity
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from solver.checks.judging import judge, untold
from solver.fuels import fuel_circuits, pumps, tanks
from solver.liquid import liquid_in
from solver.pool import volume_under
from solver.siphon import SHUT_BY_HAND, before_a_valve, heaviest, outlets, valves_on

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.records import Limit
    from lines.graph import Circuit
    from lines.plan import Component
    from solver.liquid import Liquid
    from solver.siphon import Outlet
    from solver.study import Study

    Array = npt.NDArray[np.float64]

RULE = "fuel.siphon"
WHAT = "What runs out where a joint is opened cannot be told"
LEVEL = np.array([[0.0, 0.0, -1.0]])
ALIKE = 1e-6
"""Volumes that differ by less are alike [m3]."""
SAME = 1e-6
"""Heights that differ by less are one [m]."""


def runs_out(study: Study) -> list[Finding]:
    """`fuel.siphon`: the most that runs out of each fuel tank where a joint is opened.

    The vehicle level, the tank full, every valve shut that can be. Of circuits with a pump; a port of which it cannot
    be told has a finding of its own.
    """
    by_tank: dict[str, list[Finding]] = {}
    for circuit in (one for one in fuel_circuits(study) if pumps(one)):
        for tank in tanks(circuit):
            by_tank.setdefault(tank.name, []).extend(by_port(study, circuit, tank))
    return [found for name, each in by_tank.items() for found in _of_all(name, each)]


def _of_all(tank: str, each: list[Finding]) -> list[Finding]:
    """The finding of a tank: the worst of its ports, with what runs out by the others; beside it what is not known."""
    unknown = [one for one in each if one.verdict is Verdict.UNCHECKED]
    told = [one for one in each if one not in unknown]
    if not told or any(one.place == tank for one in unknown):
        return unknown
    first, *others = sorted(told, key=lambda one: (one.verdict.rank, -(one.value.value if one.value else 0.0)))
    more = {one.place: one.value for one in others if one.verdict is not Verdict.PASS and one.value is not None}
    parts: dict[str, Quantity | str] = dict(first.why.parts)
    for i, (port, size) in enumerate(more.items()):
        parts |= {f"port{i}": port, f"more{i}": size}
    said = ", ".join(f"{{more{i}}} by {{port{i}}}" for i in range(len(more)))
    why = Words(f"{first.why.text} Else {said}." if more else first.why.text, parts)
    return [replace(first, place=tank, why=why, cases=tuple(case for one in told for case in one.cases)), *unknown]


def by_port(study: Study, circuit: Circuit, tank: Component) -> list[Finding]:
    """The same of each port of a tank, whose name is the place."""
    try:
        held, found = liquid_in(tank, "full"), outlets(study.plan, circuit, tank)
        heavy = heaviest(study.plan, circuit)
    except UnknownInputError as error:
        return [untold(RULE, tank.name, error, WHAT)]
    assert held.surface is not None  # without it the heights of its circuit are not known
    return [
        _Opened(study, circuit, held, outlet, held.surface, heavy, before_a_valve(circuit, outlet.port)).finding()
        for outlet in found
    ]


@dataclass(frozen=True)
class _Opened:
    """One port of a full tank."""

    study: Study
    circuit: Circuit
    held: Liquid
    outlet: Outlet
    full: float
    """Height of the fuel [m]."""
    heaviest: float
    """Its density, at the coldest duty [kg/m3]."""
    before: str | None
    """The run from it straight to a valve."""

    @property
    def limit(self) -> Limit:
        return self.study.plan.catalog.limit(RULE)

    def finding(self) -> Finding:
        outlet, place = self.outlet, self.outlet.port
        if outlet.drawn and outlet.mouth >= self.full and self.study.plan.port(place).reaches is None:
            text = "{port} lies over the full fuel and a pump draws by it: where its tube inside ends is not stated."
            return unchecked(RULE, place, words(text, port=place), f"reaches of {place}: where that tube ends")
        if not self._runs(outlet.stops).any():
            return Finding(rule=RULE, place=place, verdict=Verdict.PASS, why=self._why_not(), source=self.limit.source)
        left = np.flatnonzero(self._runs(outlet.shut) & ~self._excused)
        if not left.size:
            return Finding(rule=RULE, place=place, verdict=Verdict.PASS, why=self._shut_off(), source=self.limit.source)
        if self.held.body is None:
            lowest = left[np.lexsort((outlet.heights[left], outlet.shut[left]))[0]]
            text = (
                "Opened at {joint} a full {tank} runs out by {port} until its fuel is down from {full} to {stop}: how "
            )
            why = words(text + "much that is cannot be told, for {reason}.", reason=self.held.lacks, **self._at(lowest))
            return unchecked(RULE, place, why, self.held.needs)
        volumes = self._volumes(outlet.shut)
        order = left[np.lexsort((outlet.heights[left], -np.round(volumes[left] / ALIKE)))]
        cases = [Case(State(station=outlet.joints[i]), Quantity(float(volumes[i]), "volume")) for i in order]
        return judge(self.limit, place, cases, why=self._why, change=self._change, alike=ALIKE)

    def _runs(self, stops: Array) -> npt.NDArray[np.bool_]:
        return stops < self.full - SAME

    def _volumes(self, stops: Array) -> Array:
        """What runs out at each joint [m3]: all fuel over where it stops."""
        assert self.held.body is not None
        down = np.repeat(LEVEL, len(stops), axis=0)
        most = volume_under(self.held.body, np.full(len(stops), self.full), down)
        return np.asarray(most - volume_under(self.held.body, np.minimum(stops, self.full), down))

    @property
    def _near(self) -> Quantity:
        """How long a run to a valve may be [m]."""
        return Quantity(self.study.plan.catalog.limit(f"{RULE}.near").caution_above or 0.0, "length")

    @property
    def _far(self) -> bool:
        """Is the run to the valve longer, or nobody knows how long?"""
        if self.before is None:
            return False
        length = self.study.assemblies[self.before].flowed
        return length is None or length > self._near.value

    @property
    def _excused(self) -> npt.NDArray[np.bool_]:
        """The joints of a short run that leads straight to a valve: no valve can keep in what lies before it."""
        if self.before is None or self._far:
            return np.zeros(len(self.outlet.joints), dtype=bool)
        run = self.circuit.runs[self.before]
        return np.array([joint in {run.start, run.end} for joint in self.outlet.joints])

    # ------------------------------------------------------------ in words

    def _at(self, i: int) -> dict[str, Quantity | str]:
        outlet = self.outlet
        return {
            "tank": outlet.tank.name,
            "port": outlet.port,
            "joint": outlet.joints[i],
            "height": Quantity(float(outlet.heights[i]), "length"),
            "full": Quantity(self.full, "length"),
            "stop": Quantity(float(outlet.shut[i]), "length"),
        }

    def _why_not(self) -> Words:
        outlet = self.outlet
        if outlet.mouth < self.full:
            return words("Every joint that fuel comes to by {port} lies over the full fuel.", port=outlet.port)
        over = Quantity(outlet.mouth - self.full, "length")
        text = "{port} ends {over} over the full fuel, so that air gets in: only what stands in its line runs out."
        return words(text, port=outlet.port, over=over)

    def _shut_off(self) -> Words:
        valves = valves_on(self.circuit, self.outlet.port)
        text = "Nothing runs out by {port} at a joint behind {valves}"
        text += " once it is shut" if any(valve.kind.id == SHUT_BY_HAND for valve in valves) else ""
        near = self.before is not None and not self._far
        text += "; what lies before it, {run}, does: draw the fuel down first." if near else "."
        return words(text, port=self.outlet.port, valves=self._valves, run=self.before or "")

    @property
    def _valves(self) -> str:
        return " and ".join(valve.name for valve in valves_on(self.circuit, self.outlet.port))

    def _why(self, verdict: Verdict, case: Case) -> Words:
        outlet = self.outlet
        i = outlet.joints.index(case.state.station)
        facts = self._at(i) | {"volume": case.value}
        text = "Opened at {joint}, {height} high, a full {tank} runs out by {port} from {full} down to {stop}, "
        if outlet.shut[i] - outlet.mouth < SAME:
            text += "where air gets into its mouth: {volume}."
        elif outlet.shut[i] - outlet.heights[i] < SAME:
            text += "the height of that joint: {volume}."
        else:
            text += "where no more gets through: {volume}."
        if verdict is Verdict.PASS:
            return words(text + " It is the most that does.", **facts)
        much = (self._volumes(outlet.shut) > (self.limit.caution_above or 0.0)) & ~self._excused
        runs = {self.circuit.run_on(outlet.joints[i]) for i in np.flatnonzero(much)}
        facts["runs"] = ", ".join(sorted(runs, key=list(self.circuit.runs).index))
        facts["much"] = Quantity(self.limit.caution_above or 0.0, "volume")
        text += " More than {much} runs out at any joint of {runs}: no valve shuts them off, a standing pump is not "
        text += "counted on, a hump does not stop a full line. A line that breaks lets out as much."
        if self._far and self.before in runs:
            facts |= {"before": self.before, "near": self._near, "valves": self._valves}
            text += " {before}, which leads to {valves}, counts: it is longer than {near}, or how long is not known."
        return words(text, **facts)

    def _change(self, _verdict: Verdict, case: Case) -> Words:
        outlet = self.outlet
        facts = self._at(outlet.joints.index(case.state.station))
        text = "Draw the fuel down to {stop} before one is opened; or a shut-off valve at {port}, within reach, or "
        if not outlet.drawn:
            return words(text + "its mouth over the full fuel, or a check valve there that lets only in.", **facts)
        head = STANDARD_GRAVITY * self.heaviest * (self.full - float(outlet.heights.min()))
        facts["head"] = Quantity(head, "pressure_drop")
        text += "an anti-siphon valve there: a check valve that opens over {head:up}, at the cost of the pump's inlet."
        return words(text, **facts)
