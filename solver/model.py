"""A circuit of a plan as a network of numbers: nodes merged, edges filled, devices made, for every duty."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.bounds import STANDARD_ATMOSPHERE
from catalogs.errors import UnknownInputError, UnsolvedKindError
from catalogs.grades import Grade, weakest
from catalogs.units import STANDARD_GRAVITY, Quantity, show
from lines.heights import node_heights
from solver.blowby import estimated
from solver.bores import bore_at
from solver.components import NOT_ITS_FLOWS, device
from solver.devices import Pump, Regulator
from solver.fluid import fluid_of
from solver.known import check_references, known_pressures, taken_flows
from solver.network import Batch, Losses, Network, Pipes
from solver.pulsed import PulsedPump
from solver.resistances import Resistance, of_path, of_run
from solver.stated import figure
from solver.tees import Tees

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from lines.assembly import Assembly
    from lines.graph import Circuit, Edge
    from lines.plan import Plan
    from solver.devices import Device

    Array = npt.NDArray[np.float64]

LEGS = ("leg a", "leg b", "branch")
"""Paths of a tee in the order that its law has them."""
RESISTS = {"mouth", "passage", "points", "loss", "leg", "tee", "orifice", "roll_over"}


@dataclass(frozen=True)
class Model:
    """A network with the names of its parts."""

    circuit: Circuit
    duties: list[str]
    network: Network
    batch: Batch
    density: Array
    """Of the fluid [kg/m3], shape (duties,); of a gas at one atmosphere."""
    gas: bool
    number: dict[str, int]
    """Node number of each node name; nodes joined without loss share one."""
    edges: list[str]
    """Names of the edges in the network's order; edges without loss are not in it."""
    reference: int | None
    """The node whose pressure only the circuit's `reference` states: nothing comes in or goes out there."""
    resistances: dict[str, Resistance]
    heights: dict[str, float]
    """Of each node name, the vehicle level [m]; none in a circuit of gas, whose weight is left out."""
    lift: dict[str, Array]
    """rho g z of each node name [Pa], shape (duties,)."""
    bores: dict[str, float]
    """Of each port with a run on it [m]: where its static pressure is told."""
    grade: Grade
    estimates: tuple[str, ...]

    def device(self, edge: str) -> Device:
        """The device that an edge is, by its name."""
        return self.network.devices[self.edges.index(edge)]

    def over(self, rows: npt.NDArray[np.int64]) -> Model:
        """The model with one row for each of these of its own, any of them as often as wanted.

        The reason of a row goes by its duty's name: each row is given its number for one.
        """
        devices = {i: each.over(rows) for i, each in self.network.devices.items()}
        return replace(
            self,
            duties=[str(row) for row in range(len(rows))],
            network=replace(self.network, devices=devices),
            batch=self.batch.rows(rows),
            density=self.density[rows],
            lift={name: lift[rows] for name, lift in self.lift.items()},
        )


def model(plan: Plan, circuit: Circuit, made: Mapping[str, Assembly], *, loaded: bool = False) -> Model:
    """The network of a circuit over all duties of the plan, the vehicle level.

    Args:
        plan: the plan.
        circuit: one of its circuits.
        made: its assemblies by the tag of their run.
        loaded: with every filter as it is when it is due, not clean.

    Raises:
        NoAnswerError: it has no reference pressure, a component without a law, or a figure that nobody gave.
    """
    number = _merged(circuit)
    names = [name for name, edge in circuit.edges.items() if edge.law != "plain"]
    fluid = plan.catalog.fluid(plan.circuits[circuit.name].fluid)
    gas = fluid.family == "gas"
    heights = dict.fromkeys(circuit.nodes, 0.0) if gas else node_heights(plan, circuit)
    rho, mu, beyond = fluid_of(plan, circuit, fluid)
    known, fixed, reference = known_pressures(plan, circuit, number, rho, heights)
    resistances, devices = _filled(plan, circuit, names, made, gas=gas, loaded=loaded)
    check_references(circuit, number, fixed)
    feels = {i: feels_at(circuit.edges[names[i]], each) for i, each in devices.items()}
    network = Network(
        nodes=max(number.values()) + 1,
        start=np.array([number[circuit.edges[n].start] for n in names]),
        end=np.array([number[circuit.edges[n].end] for n in names]),
        fixed=fixed,
        pipes=_pipes(names, resistances),
        losses=_losses(names, resistances),
        devices=devices,
        tees=_tees(plan, circuit, names),
        felt=_felt_elsewhere(circuit, names, number, devices),
    )
    taken = taken_flows(plan, circuit, number, rho, network.nodes)
    if gas:
        taken *= plan.ambient.pressures[:, None] / STANDARD_ATMOSPHERE
        weight = show(Quantity(float(rho.max()) * STANDARD_GRAVITY, "gas_drop"), plan.system)
        beyond.append(f"the weight of the gas left out, at most {weight} for each metre of height")
    felt = np.zeros((len(rho), len(names)))
    for i, node in feels.items():
        felt[:, i] = rho * STANDARD_GRAVITY * heights[node]
    blown, by = estimated(plan, circuit)
    said = [said for r in resistances.values() for said in r.estimates] + _surfaces_said(circuit, heights) + blown
    grades = [g for r in resistances.values() for g in r.grades] + [fluid.density.grade, fluid.viscosity.grade, *by]
    return Model(
        circuit,
        list(plan.duties),
        network,
        Batch(rho[:, None], mu[:, None], known, taken, felt),
        rho,
        gas,
        number,
        names,
        reference,
        resistances,
        heights,
        {name: rho * STANDARD_GRAVITY * height for name, height in heights.items()},
        {
            ref: bore
            for run in circuit.runs.values()
            for ref in (run.start, run.end)
            if (bore := bore_at(plan, made, ref))
        },
        weakest(grades),
        tuple(dict.fromkeys(beyond + said)),
    )


def feels_at(edge: Edge, device: Device) -> str:
    """The node whose pressure a device goes by."""
    if isinstance(device, PulsedPump):
        sensor = edge.component.figures["sensor"] if edge.component is not None else None
        return sensor or edge.end
    return edge.end if isinstance(device, Regulator) and device.behind else edge.start


def _felt_elsewhere(
    circuit: Circuit, names: list[str], number: dict[str, int], devices: Mapping[int, Device]
) -> dict[int, int]:
    """The number of the node whose pressure a pulsed pump holds, where that is not its outlet."""
    found = {}
    for i, each in devices.items():
        edge = circuit.edges[names[i]]
        if isinstance(each, PulsedPump) and (node := feels_at(edge, each)) != edge.end:
            owner = edge.component.name if edge.component else edge.name
            needs = f"sensor in [components.{owner}]: a port behind it with a run of {circuit.name} on it"
            if node not in number:
                raise UnknownInputError(f"the sensor of {owner}, {node}, is in no run of {circuit.name}", needs=needs)
            before = {one.name for one in circuit.edges.values() if one.law in {"pump", "engine_pump", "mouth"}}
            if not circuit.shortest_way([edge.end], node, before):
                raise UnknownInputError(f"the sensor of {owner}, {node}, does not lie behind it", needs=needs)
            found[i] = number[node]
    return found


def _surfaces_said(circuit: Circuit, heights: dict[str, float]) -> list[str]:
    """What is taken for granted at free surfaces: their level, and that a port over it reaches under it."""
    said = []
    for edge in circuit.edges.values():
        inner = circuit.nodes[edge.start].inner
        if inner is not None and inner.height:
            name = circuit.nodes[edge.start].component.name
            said.append(f"{name}: its surface at its low level")
            if heights[edge.end] > heights[edge.start]:
                said.append(f"{edge.end} lies over that surface: taken to reach under it, as by a tube")
    return said


def _filled(
    plan: Plan, circuit: Circuit, names: list[str], made: Mapping[str, Assembly], *, gas: bool, loaded: bool
) -> tuple[dict[str, Resistance], dict[int, Device]]:
    """What is in each edge: resistances by name, devices by number.

    Raises:
        UnknownInputError: naming every figure that nobody gave, all at once.
        UnsolvedKindError: a component has no law.
    """
    resistances: dict[str, Resistance] = {}
    devices: dict[int, Device] = {}
    lacks: list[UnknownInputError] = []
    for i, name in enumerate(names):
        edge = circuit.edges[name]
        try:
            if edge.run is not None or edge.law in RESISTS:
                resistances[name] = _resisting(plan, circuit, edge, made, gas=gas, loaded=loaded)
            else:
                devices[i], said, grade = device(plan, edge, circuit.name)
                resistances[name] = Resistance(estimates=said, grades=(grade,))
        except UnknownInputError as error:
            lacks.append(error)
        if gas and isinstance(devices.get(i), Pump):
            owner = name.partition(":")[0]
            raise UnsolvedKindError(f"{owner} would pump a gas, which is not computed", needs=NOT_ITS_FLOWS)
    if lacks:
        reasons = dict.fromkeys(error.reason for error in lacks)
        needs = dict.fromkeys(error.needs for error in lacks if error.needs)
        raise UnknownInputError("; ".join(reasons), needs="; and ".join(needs))
    return resistances, devices


def _resisting(
    plan: Plan, circuit: Circuit, edge: Edge, made: Mapping[str, Assembly], *, gas: bool, loaded: bool
) -> Resistance:
    """What resists in a run, or in an inner path that is no device.

    Raises:
        UnknownInputError: a figure of it is not stated.
        UnsolvedKindError: the valve of a vent stands in a circuit of liquid.
    """
    if edge.run is not None:
        return of_run(plan, made[edge.name], made)
    _in_its_place(edge, gas=gas)
    bores = [bore for port in (edge.start, edge.end) if (bore := bore_at(plan, made, port)) is not None]
    found = of_path(plan, edge, min(bores, default=None), loaded=loaded)
    if any(edge.name == leg.name for tee in _whole_tees(circuit).values() for leg in tee):
        return _without_inertia(found)
    return Resistance() if edge.path is not None and edge.path.loss == "tee-run" and _turns(circuit, edge) else found


def _in_its_place(edge: Edge, *, gas: bool) -> None:
    """Raises UnsolvedKindError where the valve of a vent stands in a circuit of liquid."""
    if edge.law == "roll_over" and not gas:
        valve = edge.name.partition(":")[0]
        raise UnsolvedKindError(
            f"{valve} is a vent's valve and stands in a circuit of liquid",
            needs=f"the runs of the vent through {valve} in a circuit of air of their own",
        )


def _whole_tees(circuit: Circuit) -> dict[str, list[Edge]]:
    """The legs of every tee of which all three are in use, by its name. With one stopped up it is a mere fitting."""
    legs: dict[str, list[Edge]] = {}
    for edge in circuit.edges.values():
        if edge.component is not None and edge.law == "tee":
            legs.setdefault(edge.component.name, []).append(edge)
    return {name: found for name, found in legs.items() if len(found) == len(LEGS)}


def _turns(circuit: Circuit, leg: Edge) -> bool:
    """Does the flow through a tee with one port stopped up turn its corner, which the branch then counts in whole?"""
    return any(e.component is leg.component and e.path and e.path.loss == "tee-branch" for e in circuit.edges.values())


def _without_inertia(leg: Resistance) -> Resistance:
    """A leg of a tee as far as its walls go: the rest follows from how the flow divides."""
    return replace(leg, parts=tuple(replace(part, inertial=0.0, inertial_back=0.0) for part in leg.parts))


def _tees(plan: Plan, circuit: Circuit, names: list[str]) -> Tees:
    tees = _whole_tees(circuit)
    number = {name: i for i, name in enumerate(names)}
    legs = [[number[f"{name}: {leg}"] for leg in LEGS] for name in tees]
    merging, parting = (plan.catalog.loss(row).k for row in ("tee-merging", "tee-parting"))
    return Tees(
        np.array(legs, dtype=np.int64).reshape(-1, 3),
        np.array([figure(plan.components[name], "bore") for name in tees]),
        merging,
        parting,
    )


def first_guess(found: Model) -> Array:
    """A first flow for each edge [m3/s]: a metre a second in its narrowest bore."""
    guess = np.full(len(found.edges), 1e-5)
    for pipe, edge in zip(found.network.pipes.bore, found.network.pipes.edge, strict=True):
        guess[edge] = np.pi * pipe**2 / 4
    return guess


def _merged(circuit: Circuit) -> dict[str, int]:
    """Nodes joined by a path without loss are one node of the network."""
    group = {name: name for name in circuit.nodes}

    def root(name: str) -> str:
        while group[name] != name:
            name = group[name]
        return name

    for edge in circuit.edges.values():
        if edge.law == "plain":
            group[root(edge.start)] = root(edge.end)
    numbers: dict[str, int] = {}
    for name in circuit.nodes:
        numbers.setdefault(root(name), len(numbers))
    return {name: numbers[root(name)] for name in circuit.nodes}


def _pipes(names: list[str], resistances: dict[str, Resistance]) -> Pipes:
    rows = [(i, pipe) for i, name in enumerate(names) for pipe in resistances[name].pipes]
    return Pipes(
        np.array([i for i, _ in rows], dtype=np.int64),
        np.array([p.length for _, p in rows]),
        np.array([p.bore for _, p in rows]),
        np.array([p.roughness for _, p in rows]),
        np.array([p.curvature for _, p in rows]),
    )


def _losses(names: list[str], resistances: dict[str, Resistance]) -> Losses:
    rows = [(i, part) for i, name in enumerate(names) for part in resistances[name].parts]
    return Losses(
        np.array([i for i, _ in rows], dtype=np.int64),
        np.array([p.viscous for _, p in rows]),
        np.array([p.inertial for _, p in rows]),
        np.array([p.inertial_back for _, p in rows]),
    )
