"""What a pump draws: the pressure at its inlet in every state, over that at which the liquid boils."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity, show
from solver.along import line_ends, line_to, losses
from solver.properties import beyond, outside, reach, vapour_pressure

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from catalogs.fluids import Fluid
    from lines.graph import Circuit, Edge
    from lines.plan import Plan
    from solver.along import Steps
    from solver.leaning import Leaning

    Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Suction:
    """The inlet of one pump in every state of its plan; arrays by the rows of `stands`."""

    pump: Edge
    stands: Leaning
    """Its circuit in those states."""
    fluid: Fluid
    temperature: Array
    """Of the liquid [K]."""
    vapour: Array
    """Pressure at which it boils there [Pa absolute]."""
    need: Array
    """What the pump asks for over that [Pa]."""
    under: Mapping[str, float]
    """By duty, how far the air over what it draws from lies under what its circuit was solved with [Pa]."""
    way: Steps
    """From what it draws from to its inlet: each edge, and whether it is passed from its start to its end."""

    @property
    def inlet(self) -> str:
        return self.pump.start

    @property
    def pressure(self) -> Array:
        """Static, in the bore of its inlet [Pa absolute]."""
        return self.stands.answer.static_at(self.inlet) - self.lacking

    @property
    def margin(self) -> Array:
        """What is left at its inlet over what boils and what the pump asks for [Pa]."""
        return self.pressure - self.vapour - self.need

    @property
    def source(self) -> str:
        """The node that it draws from: a surface, another known pressure, or the outlet of the pump before it."""
        return _begins(self.way)

    @property
    def brought(self) -> bool:
        """Does a pump before it bring what it draws?"""
        return self.stands.answer.model.circuit.nodes[self.source].inner is None

    @property
    def over_source(self) -> Array:
        """Pressure of the air over what it draws from, or of what is brought to it [Pa absolute]."""
        return self.stands.answer.total(self.source) - self.lacking

    @property
    def lacking(self) -> Array:
        """What the vent of its tank takes of that [Pa]; as small as it is, it changes no flow."""
        return np.array([self.under.get(name.duty, 0.0) for name in self.stands.names])

    @property
    def column(self) -> Array:
        """What the liquid that stands over its inlet adds [Pa]; below 0 where the pump has to lift it."""
        lift = self.stands.answer.model.lift
        return np.asarray(lift[self.source] - lift[self.inlet])

    def losses(self) -> dict[str, Array]:
        """What each thing on the way takes [Pa]: hoses, bends and ends of runs, components, and the speed at the inlet.

        Over what it draws from less these and with the column it is the pressure at its inlet.
        """
        answer = self.stands.answer
        found = losses(answer, self.way)
        found["the speed at its inlet"] = answer.total(self.inlet) - answer.static_at(self.inlet)
        return found

    def filters(self) -> list[str]:
        """The inner paths of the filters on the way."""
        return [e.name for e, _ in self.way if e.component is not None and e.component.kind.id == "filter"]

    def runs(self) -> list[str]:
        """The tags of the runs on the way."""
        return [edge.name for edge, _ in self.way if edge.run is not None]


def suction(
    plan: Plan,
    pump: Edge,
    stands: Leaning,
    need: float,
    under: Mapping[str, float],
    vapour: Array | None = None,
) -> Suction:
    """The inlet of a pump in every state.

    Args:
        plan: the plan.
        pump: its inner path.
        stands: its circuit in those states.
        need: what a pump asks for over the pressure at which its liquid boils, where it does not say [Pa].
        under: by duty, how far the air over what it draws from lies under what the circuit was solved with [Pa].
        vapour: the pressure at which the liquid boils in each state [Pa absolute]; its own where none is said.

    Raises:
        UnknownInputError: at what pressure the liquid boils is not known, or what it draws from.
    """
    circuit, duties = stands.answer.model.circuit, [name.duty for name in stands.names]
    table, component = plan.circuits[circuit.name], pump.component
    assert component is not None
    fluid, temperature = plan.catalog.fluid(table.fluid), np.array(table.temperature.over(duties))
    own = component.figures.get("inlet_need")
    return Suction(
        pump=pump,
        stands=stands,
        fluid=fluid,
        temperature=temperature,
        vapour=boiling(plan, fluid, temperature, duties) if vapour is None else vapour,
        need=np.full(len(duties), need) if own is None else np.array(own.over(duties)),
        under=under,
        way=drawn_by(circuit, pump),
    )


def boiling(plan: Plan, fluid: Fluid, temperature: Array, duties: list[str]) -> Array:
    """The pressure at which a liquid boils at temperatures [K], shape (n,) [Pa absolute].

    Args:
        plan: in whose units errors are worded.
        fluid: the liquid.
        temperature: of it, shape (n,).
        duties: the name of the duty of each, for the error.

    Raises:
        UnknownInputError: nobody states it, or not near this temperature.
    """
    if fluid.vapour is None:
        reason = f"at what pressure {fluid.means} boils is in no table"
        raise UnknownInputError(
            reason, needs=f"its vapour pressure in the shop's fluids, [{fluid.id}]: {fluid.vapour_asked}"
        )
    far = beyond(fluid.vapour, temperature)
    if far.any():
        off = int(far.argmax())
        limits = reach(fluid.vapour)
        here, low, high = (
            show(Quantity(t, "temperature"), plan.system) for t in (temperature[off], limits.coldest, limits.hottest)
        )
        raise UnknownInputError(
            f"at what pressure {fluid.means} boils at {here}, in {duties[off]}, is not known: {low} to {high} is",
            needs=f"a vapour pressure of {fluid.id} measured near {here}",
        )
    return vapour_pressure(fluid, temperature)


def extrapolated(found: Suction) -> bool:
    """Is the pressure at which the liquid boils taken beyond the range of its law?"""
    return found.fluid.vapour is not None and bool(outside(found.fluid.vapour, found.temperature).any())


def drawn_through(circuit: Circuit, pump: Edge) -> Steps:
    """The way from a known pressure to a pump's inlet, through the pumps before it.

    Raises:
        UnknownInputError: there is none.
    """
    way, first, seen = drawn_by(circuit, pump), pump, {pump.name}
    while circuit.nodes[source := _begins(way)].inner is None:
        first = next(one for one in circuit.edges.values() if one.law == "pump" and one.end == source)
        if first.name in seen:
            name = first.name.partition(":")[0]
            raise UnknownInputError(f"{name} draws what it gives itself", needs=f"a tank before {name}")
        seen.add(first.name)
        way = (*drawn_by(circuit, first), (first, True), *way)
    return way


def _begins(way: Steps) -> str:
    edge, onward = way[0]
    return edge.start if onward else edge.end


def drawn_by(circuit: Circuit, pump: Edge) -> Steps:
    """The way from what a pump draws from to its inlet: a known pressure, or else the outlet of the pump before it.

    Raises:
        UnknownInputError: there is none.
    """
    before = [edge.end for edge in circuit.edges.values() if edge.law == "pump" and edge is not pump]
    found = line_to(circuit, pump.start) or circuit.shortest_way(before, pump.start, line_ends(circuit))
    if not found:
        owner = pump.start.partition(".")[0]
        needs = f"a tank, another known pressure, or a pump with a curve, before {owner}"
        raise UnknownInputError(f"what {owner} draws from is not known", needs=needs)
    return found
