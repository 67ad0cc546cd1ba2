"""The front of a liquid that a pump drives along empty lines: at each of its places the least flow.

At each place the flow is that at which the pump's rise is what lifts the liquid there, and what friction and fittings
take in the part that is full; see `solver/priming.py`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import STANDARD_GRAVITY
from solver.devices import Check, Pump, Regulator
from solver.network import at_tees

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.graph import Edge
    from solver.priming import Filling

    Array = npt.NDArray[np.float64]
    Integers = npt.NDArray[np.int64]

PLACES, WEIGHTS = np.polynomial.legendre.leggauss(4)
PLACES, WEIGHTS = (PLACES + 1) / 2, WEIGHTS / 2
"""Of the front in each edge, from where it enters to where it leaves, and what each counts for."""
STIFF = 1e8
"""What of a pressure counts for a flow where the lesser of both is looked for [Pa s/m3]; their zero does not ask it."""
OUTSIDE_DATA = 1.0
"""By how much a rise may pass a pump's last point: rounding [Pa]."""


@dataclass(frozen=True)
class Fronts:
    """The places of the front in the edges that fill, one after the other."""

    filling: Filling
    sign: Array
    """Which way the flow passes each edge, 0 where it does not, shape (places, edges)."""
    full: Array
    """Which share of each edge is full, likewise."""
    height: Array
    """To which the liquid has come [m], shape (places,)."""
    behind: dict[int, Array]
    """Of each feed regulator, by its number: `sign` of the edges behind it where it is passed, else 0."""

    @classmethod
    def of(cls, filling: Filling, some: list[Edge]) -> Fronts:
        number = {name: i for i, name in enumerate(filling.answer.model.edges)}
        ways, before = filling.ways(), filling.before
        sign, full = (np.zeros((len(some), len(PLACES), len(number))) for _ in range(2))
        supplies = [number[e.name] for e in filling.edges if e.law == "supply"]
        behind = {supply: np.zeros_like(sign) for supply in supplies}
        for i, edge in enumerate(some):
            for step, onward in (*before, *ways[edge.name]):
                if step.name in number:
                    sign[i, :, number[step.name]] = 1.0 if onward else -1.0
                    full[i, :, number[step.name]] = 1.0
                    for supply in supplies:
                        after = (sign[i, :, supply] != 0) & (number[step.name] != supply)
                        behind[supply][i, :, number[step.name]] = np.where(after, sign[i, :, number[step.name]], 0.0)
            full[i, :, number[edge.name]] = PLACES
        heights = [filling.risen(ways[edge.name]) for edge in some]
        places = len(some) * len(PLACES)
        return cls(
            filling,
            sign.reshape(places, -1),
            full.reshape(places, -1),
            np.concatenate(heights) if heights else np.zeros(0),
            {supply: each.reshape(places, -1) for supply, each in behind.items()},
        )

    def flows(self) -> Array:
        """The least flow at every duty with the front at each place [m3/s], shape (duties, places).

        Raises:
            UnknownInputError: the pump does not lift so high by its data.
        """
        from scipy.optimize import elementwise

        model, pump = self.filling.answer.model, self._pump
        first, last = pump.ends()
        duty, place = (grid.ravel() for grid in np.indices((len(model.duties), len(self.height))))
        most = pump.at(first, np.arange(len(first)))

        def spare(flow: Array, row: Array) -> Array:
            """What the pump gives over a flow, for the rows that are not yet found, by their numbers."""
            i = row.astype(np.int64)
            rise = self._rise(flow, duty[i], place[i])
            given = pump.at(np.maximum(rise, first[duty[i]]), duty[i]) - flow
            return np.minimum(given, self._let_by(flow, duty[i], place[i]) / STIFF)

        rows, none = np.arange(len(duty)), np.zeros(len(duty))
        self._lifts(self._rise(none, duty, place), last[duty], duty)
        self._opens(self._let_by(none, duty, place), duty)
        flow = np.asarray(elementwise.find_root(spare, (np.zeros(len(duty)), 1.001 * most[duty]), args=(rows,)).x)
        self._lifts(self._rise(flow, duty, place), last[duty], duty)
        for before in self._pumps_before:
            flow = np.minimum(flow, before.most()[duty])
        return flow.reshape(len(model.duties), -1)

    @property
    def _pumps_before(self) -> list[Pump]:
        model = self.filling.answer.model
        found = [model.device(edge.name) for edge, _ in self.filling.before if edge.law == "pump"]
        return [device for device in found if isinstance(device, Pump)]

    @property
    def _pump(self) -> Pump:
        device = self.filling.answer.model.device(self.filling.pump.name)
        assert isinstance(device, Pump)
        return device

    def _rise(self, flow: Array, duty: Integers, place: Integers) -> Array:
        """What the pump has to raise its liquid by [Pa] at flows [m3/s], each at a duty with the front at a place."""
        answer = self.filling.answer
        edge, onward = self.filling.before[0]
        source = answer.model.number[edge.start if onward else edge.end]
        needed = self._stands(duty, place) + self._taken(flow, duty, place, self.sign[place])
        return np.asarray(needed - answer.batch.known[duty, source])

    def _stands(self, duty: Integers, place: Integers) -> Array:
        """What stands over the liquid with the front at a place, as high as it has come [Pa]."""
        lifted = self.filling.answer.model.density[duty] * STANDARD_GRAVITY * self.height[place]
        return np.asarray(lifted + self.filling.outside[duty])

    def _let_by(self, flow: Array, duty: Integers, place: Integers) -> Array:
        """What feed regulators on the way hold behind them over what is asked for there [Pa]; inf without one."""
        model, left = self.filling.answer.model, np.full(len(flow), np.inf)
        for i, counted in self.behind.items():
            device = model.network.devices[i]
            assert isinstance(device, Regulator)
            low = model.density[duty] * STANDARD_GRAVITY * model.heights[model.circuit.edges[model.edges[i]].end]
            asked = self._stands(duty, place) - low + self._taken(flow, duty, place, counted[place])
            spare = device.held[duty] - device.slope[duty] * flow - asked
            left = np.minimum(left, np.where(self.sign[place, i] != 0, spare, np.inf))
        return left

    def _taken(self, flow: Array, duty: Integers, place: Integers, sign: Array) -> Array:
        """What is taken of flows by the edges that count, by the sign in which they are passed [Pa]."""
        answer = self.filling.answer
        model, net = answer.model, answer.model.network
        full, through = self.full[place], self.sign[place] * flow[:, None]
        density, viscosity = (table[duty] for table in (model.density[:, None], answer.batch.viscosity))
        pipes = net.pipes.drops(through, density, viscosity)[0] * sign[:, net.pipes.edge] * full[:, net.pipes.edge]
        losses = net.losses.drops(through, density, viscosity)[0] * sign[:, net.losses.edge]
        tees = net.tees.drops(through[:, net.tees.legs], at_tees(density, net.tees.legs))[0] * sign[:, net.tees.legs]
        taken = pipes.sum(axis=1) + losses.sum(axis=1) + tees.sum(axis=(1, 2))
        for i, device in net.devices.items():
            if isinstance(device, Check | Regulator):
                own = device.bore.drop(flow, density[:, 0], viscosity[:, 0])[0]
                own = own + (device.crack[duty] if isinstance(device, Check) else 0.0)
                taken += np.where(sign[:, i] != 0, own, 0.0)
        return np.asarray(taken)

    def _opens(self, left: Array, duty: Integers) -> None:
        """Raises UnknownInputError where a feed regulator holds less [Pa] than the height behind it asks for."""
        if (left <= 0).any():
            model = self.filling.answer.model
            names = " and ".join(model.edges[i].partition(":")[0] for i in self.behind)
            at = model.duties[int(duty[int((left <= 0).argmax())])]
            raise UnknownInputError(
                f"{names} holds less at {at} than the height of the line behind it asks for",
                needs=f"set of {names}, and the heights behind it",
            )

    def _lifts(self, rise: Array, last: Array, duty: Integers) -> None:
        """Raises UnknownInputError where a rise [Pa] is over the last that the pump's curve has."""
        over = rise > last + OUTSIDE_DATA
        if over.any():
            name = self.filling.pump.name.partition(":")[0]
            at = self.filling.answer.model.duties[int(duty[int(over.argmax())])]
            raise UnknownInputError(
                f"to fill its lines {name} has to raise the liquid by more than its curve has at {at}",
                needs=f"the curve of {name} up to where it gives nothing, or more volts at {at}",
            )
