"""A circuit of a plan as a network of numbers: nodes merged, edges filled, devices made, for every duty."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from catalogs.errors import NoReferenceError, UnknownInputError, UnsolvedKindError
from catalogs.grades import Grade, weakest
from catalogs.units import STANDARD_GRAVITY
from lines.heights import node_heights
from solver.demand import fuel_demand
from solver.devices import Bypass, Check, Device, Pump
from solver.network import Batch, Losses, Network, Pipes
from solver.properties import density, dynamic_viscosity, outside
from solver.resistances import Resistance, fitted, of_path, of_run, points_estimates

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from lines.assembly import Assembly
    from lines.graph import Circuit, Edge, Node
    from lines.plan import Component, Plan
    from lines.states import ByDuty

    Array = npt.NDArray[np.float64]

NOT_ITS_FLOWS = "nothing: its lengths, joints and ratings are checked, only not its flows"
RESISTS = {"mouth", "passage", "points", "loss", "leg", "orifice"}


@dataclass(frozen=True)
class Model:
    """A network with the names of its parts."""

    circuit: Circuit
    duties: list[str]
    network: Network
    batch: Batch
    number: dict[str, int]
    """Node number of each node name; nodes joined without loss share one."""
    edges: list[str]
    """Names of the edges in the network's order; edges without loss are not in it."""
    resistances: dict[str, Resistance]
    heights: dict[str, float]
    """Of each node name [m]."""
    grade: Grade
    estimates: tuple[str, ...]


def model(plan: Plan, circuit: Circuit, made: Mapping[str, Assembly]) -> Model:
    """The network of a circuit over all duties of the plan, the vehicle level.

    Args:
        plan: the plan.
        circuit: one of its circuits.
        made: its assemblies by the tag of their run.

    Raises:
        NoAnswerError: it has no reference pressure, a component without a law, or a figure that nobody gave.
    """
    duties = list(plan.duties)
    heights = node_heights(plan, circuit)
    number = _merged(circuit)
    names = [name for name, edge in circuit.edges.items() if not _is_plain(edge)]
    table = plan.circuits[circuit.name]
    temperature = np.array(table.temperature.over(duties))
    fluid = plan.catalog.fluid(table.fluid)
    if fluid.family == "gas":
        raise UnsolvedKindError(
            f"{fluid.means} is a gas, whose flow is not computed by this version", needs=NOT_ITS_FLOWS
        )
    rho = density(fluid, temperature)
    if (rho <= 0).any():
        off = duties[int(rho.argmin())]
        raise UnknownInputError(
            f"{fluid.means} has no density so hot as in {off}", needs=f"temperature of {circuit.name} in {off}"
        )
    mu = dynamic_viscosity(fluid, temperature)
    known, fixed = _known(plan, circuit, number, rho, heights)
    resistances, devices = _filled(plan, circuit, names, made)
    _check_references(circuit, number, fixed)
    network = Network(
        nodes=max(number.values()) + 1,
        start=np.array([number[circuit.edges[n].start] for n in names]),
        end=np.array([number[circuit.edges[n].end] for n in names]),
        fixed=fixed,
        pipes=_pipes(names, resistances),
        losses=_losses(names, resistances),
        devices=devices,
    )
    over = np.array([heights[circuit.edges[n].start] for n in names])
    lift = rho[:, None] * STANDARD_GRAVITY * over
    batch = Batch(rho, mu, known, _taken(plan, circuit, number, rho, network.nodes), lift)
    tables = ((fluid.density, "density"), (fluid.viscosity, "viscosity"))
    beyond = [f"{what} of {fluid.means} taken beyond its table" for t, what in tables if outside(t, temperature).any()]
    said = [said for r in resistances.values() for said in r.estimates] + _surfaces_said(circuit, heights)
    grade = weakest([g for r in resistances.values() for g in r.grades] + [t.grade for t, _ in tables])
    return Model(
        circuit, duties, network, batch, number, names, resistances, heights, grade, tuple(dict.fromkeys(beyond + said))
    )  # fmt: skip


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
    plan: Plan, circuit: Circuit, names: list[str], made: Mapping[str, Assembly]
) -> tuple[dict[str, Resistance], dict[int, Device]]:
    """What is in each edge: resistances by name, devices by number."""
    resistances: dict[str, Resistance] = {}
    devices: dict[int, Device] = {}
    for i, name in enumerate(names):
        edge = circuit.edges[name]
        if edge.run is not None:
            resistances[name] = of_run(plan, made[name])
        elif edge.path is not None and edge.path.law in RESISTS:
            resistances[name] = of_path(plan, edge, _mouth_bore(plan, made, circuit, edge))
        else:
            devices[i], said, grade = _device(plan, edge)
            resistances[name] = Resistance(estimates=said, grades=(grade,))
    return resistances, devices


def first_guess(found: Model) -> Array:
    """A first flow for each edge [m3/s]: a metre a second in its narrowest bore."""
    guess = np.full(len(found.edges), 1e-5)
    for pipe, edge in zip(found.network.pipes.bore, found.network.pipes.edge, strict=True):
        guess[edge] = np.pi * pipe**2 / 4
    return guess


def _is_plain(edge: Edge) -> bool:
    return edge.path is not None and edge.path.law == "plain"


def _merged(circuit: Circuit) -> dict[str, int]:
    """Nodes joined by a path without loss are one node of the network."""
    group = {name: name for name in circuit.nodes}

    def root(name: str) -> str:
        while group[name] != name:
            name = group[name]
        return name

    for edge in circuit.edges.values():
        if _is_plain(edge):
            group[root(edge.start)] = root(edge.end)
    numbers: dict[str, int] = {}
    for name in circuit.nodes:
        numbers.setdefault(root(name), len(numbers))
    return {name: numbers[root(name)] for name in circuit.nodes}


def _known(
    plan: Plan, circuit: Circuit, number: dict[str, int], rho: Array, heights: dict[str, float]
) -> tuple[Array, npt.NDArray[np.bool_]]:
    nodes = max(number.values()) + 1
    known, fixed = np.zeros((len(plan.duties), nodes)), np.zeros(nodes, dtype=bool)

    def fix(name: str, pressure: Array) -> None:
        i = number[name]
        value = pressure + rho * STANDARD_GRAVITY * heights[name]
        if fixed[i] and not np.allclose(known[:, i], value):
            raise NoReferenceError(f"two known pressures meet at {name}", needs="a hose between them")
        known[:, i], fixed[i] = value, True

    for name, node in circuit.nodes.items():
        pressure = _node_pressure(plan, node)
        if pressure is not None:
            fix(name, pressure)
    reference = plan.circuits[circuit.name].reference
    if reference is not None and reference.port in number:
        fix(reference.port, _absolute(plan, reference.pressure))
    return known, fixed


def _node_pressure(plan: Plan, node: Node) -> Array | None:
    if node.inner is None or not node.inner.pressure:
        return None
    if node.inner.pressure == "ambient":
        return np.array(list(plan.ambient.pressure.values()))
    stated = node.component.figures.get(node.inner.pressure)
    return None if stated is None else _absolute(plan, stated)


def _absolute(plan: Plan, pressures: ByDuty[Any]) -> Array:
    duties = list(plan.duties)
    return np.array([p.absolute(plan.ambient.pressure[d]) for d, p in zip(duties, pressures.over(duties), strict=True)])


def _check_references(circuit: Circuit, number: dict[str, int], fixed: npt.NDArray[np.bool_]) -> None:
    for part in circuit.parts():
        if not any(fixed[number[name]] for name in part):
            names = ", ".join(sorted({name.partition(".")[0] for name in part}))
            raise NoReferenceError(
                f"no pressure is known in the part of {circuit.name} with {names}",
                needs=f"a tank, a source or an open end in it, or reference in circuits.{circuit.name}",
            )


def _taken(plan: Plan, circuit: Circuit, number: dict[str, int], rho: Array, nodes: int) -> Array:
    taken = np.zeros((len(rho), nodes))
    draws = [(name, node) for name, node in circuit.nodes.items() if node.inner is not None and node.inner.draw]
    burning = [node.component for _, node in draws if node.inner is not None and node.inner.draw == "burn"]
    for name, node in draws:
        assert node.inner is not None
        if node.inner.draw == "burn":
            demand = [fuel_demand(d, t, float(r)) for (d, t), r in zip(plan.duties.items(), rho, strict=True)]
            taken[:, number[name]] += np.array(demand) * _share(plan, node.component, burning)
        else:
            flow = node.component.figures.get(node.inner.draw)
            if flow is None:
                key = f"{node.inner.draw} of {node.component.name}"
                raise UnknownInputError(f"{key} is not known", needs=key)
            taken[:, number[name]] += np.array(flow.over(list(plan.duties)))
    return taken


def _share(plan: Plan, component: Component, burning: list[Component]) -> Array:
    stated = [c.figures.get("share") for c in burning]
    if all(s is None for s in stated):
        return np.full(len(plan.duties), 1.0 / len(burning))
    own = component.figures.get("share")
    if any(s is None for s in stated) or own is None:
        raise UnknownInputError("only some rails say their share of the fuel", needs="share of every rail, or of none")
    total = sum(np.array(s.over(list(plan.duties))) for s in stated if s is not None)
    if not np.allclose(total, 1.0):
        raise UnknownInputError("the rails' shares of the fuel do not make 100 %", needs="shares that make 100 %")
    return np.array(own.over(list(plan.duties)))


def _mouth_bore(plan: Plan, made: Mapping[str, Assembly], circuit: Circuit, edge: Edge) -> float | None:
    """The bore at which a run joins a large space: the port's, else the smaller of hose and end."""
    for tag, run in circuit.runs.items():
        for ref, end in zip((run.start, run.end), made[tag].chosen, strict=True):
            if ref in {edge.start, edge.end}:
                stated = plan.port(ref).bore
                hose = made[tag].stock.bore
                return stated or (hose if end is None else min(hose, end.bore))
    return None


def _pipes(names: list[str], resistances: dict[str, Resistance]) -> Pipes:
    rows = [(i, pipe) for i, name in enumerate(names) for pipe in resistances[name].pipes]
    return Pipes(
        np.array([i for i, _ in rows], dtype=np.int64),
        np.array([p.length for _, p in rows]),
        np.array([p.bore for _, p in rows]),
        np.array([p.roughness for _, p in rows]),
    )


def _losses(names: list[str], resistances: dict[str, Resistance]) -> Losses:
    rows = [(i, part) for i, name in enumerate(names) for part in resistances[name].parts]
    return Losses(
        np.array([i for i, _ in rows], dtype=np.int64),
        np.array([p.viscous for _, p in rows]),
        np.array([p.inertial for _, p in rows]),
        np.array([p.inertial_back for _, p in rows]),
    )


def _device(plan: Plan, edge: Edge) -> tuple[Device, tuple[str, ...], Grade]:
    component, path = edge.component, edge.path
    assert component is not None
    assert path is not None
    if path.law == "pump":
        return _pump(plan, component)
    if path.law == "check":
        _needed(component, "crack", "points")
        law, miss = fitted(plan.catalog, component.figures["points"])
        crack = np.array(component.figures["crack"].over(list(plan.duties)))
        return Check(crack, law), points_estimates(component, miss), Grade.MEASURED
    if path.law == "bypass":
        return _bypass(plan, component)
    raise UnsolvedKindError(
        f"{component.name} is of kind {component.kind.id}, whose flow is not computed by this version",
        needs=NOT_ITS_FLOWS,
    )


def _needed(component: Component, *keys: str) -> None:
    for key in keys:
        if component.figures.get(key) is None:
            raise UnknownInputError(f"{key} of {component.name} is not known", needs=f"{key} of {component.name}")


def _bypass(plan: Plan, component: Component) -> tuple[Device, tuple[str, ...], Grade]:
    duties = list(plan.duties)
    _needed(component, "set", "reference", "points", "slope")
    law, miss = fitted(plan.catalog, component.figures["points"])
    ambient = np.array([plan.ambient.pressure[d] for d in duties])
    reference = ambient
    if component.figures["reference"] == "manifold":
        unknown = [d for d in duties if plan.duties[d].boost is None]
        if unknown:
            names = " and ".join(unknown)
            raise UnknownInputError(
                f"the boost in {names} is not known", needs=f"boost in {names}: {component.name} feels it"
            )
        reference = np.array([b.absolute(plan.ambient.pressure[d]) for d in duties if (b := plan.duties[d].boost)])
    held = reference + np.array(component.figures["set"].over(duties))
    slope = np.array(component.figures["slope"].over(duties))
    if (slope < 0).any():
        raise UnknownInputError(
            f"slope of {component.name} is below zero", needs=f"slope of {component.name}, 0 or more"
        )
    own = component.kind.figures["slope"].grade
    grade = Grade.MEASURED if "slope" in component.stated or own is None else own
    return Bypass(held, slope, law), points_estimates(component, miss), grade


def _pump(plan: Plan, component: Component) -> tuple[Device, tuple[str, ...], Grade]:
    from scipy.interpolate import PchipInterpolator

    _needed(component, "curve", "volts")
    curve = plan.catalog.curve(component.figures["curve"])
    volts = np.array(component.figures["volts"].over(list(plan.duties)))
    if (volts <= 0).any():
        off = list(plan.duties)[int(volts.argmin())]
        raise UnknownInputError(f"{component.name} has no voltage in {off}", needs=f"volts of {component.name} over 0")
    at = np.array(sorted({p.volts for p in curve.points}))
    laws = []
    for v in at:
        rows = sorted((p.rise, p.flow) for p in curve.points if p.volts == v)
        laws.append(PchipInterpolator([r for r, _ in rows], [q for _, q in rows]))
    weights, speed = np.zeros((len(volts), len(at))), np.ones(len(volts))
    said: tuple[str, ...] = ()
    for row, v in enumerate(volts):
        if at[0] <= v <= at[-1]:
            high = int(np.searchsorted(at, v))
            low = max(high - 1, 0)
            part = 1.0 if high == low else (v - at[low]) / (at[high] - at[low])
            weights[row, low] += 1.0 - part
            weights[row, high] += part
        else:
            nearest = int(np.argmin(np.abs(at - v)))
            weights[row, nearest], speed[row] = 1.0, v / at[nearest]
            own = f"{at[nearest]:.1f} V"
            said += (f"{component.name}: {v:.1f} V is outside its curves, scaled from {own} by the affinity laws",)
    return Pump(tuple(laws), weights, speed), said, curve.grade
