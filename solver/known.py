"""What a plan states of a circuit that its network starts from: known pressures, flows taken, flows that come in."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import NoReferenceError, UnknownInputError
from catalogs.units import STANDARD_GRAVITY
from solver.blowby import BLOW_BY, blow_by
from solver.components import absolute
from solver.demand import fuel_demand
from solver.stated import needed

if TYPE_CHECKING:
    import numpy.typing as npt

    from catalogs.kinds import KindNode
    from lines.graph import Circuit, Node
    from lines.plan import Component, Plan

    Array = npt.NDArray[np.float64]


def known_pressures(
    plan: Plan, circuit: Circuit, number: dict[str, int], rho: Array, heights: dict[str, float]
) -> tuple[Array, npt.NDArray[np.bool_], int | None]:
    """Known piezometric pressures.

    Args:
        plan: the plan.
        circuit: one of its circuits.
        number: the network's number of each node name.
        rho: density at every duty [kg/m3], shape (duties,).
        heights: of each node name [m].

    Returns:
        p + rho g z of the nodes where it is known [Pa absolute], zero elsewhere, shape (duties, nodes); which they are;
        and the node that only the circuit's reference gives, if there is one.

    Raises:
        NoReferenceError: two known pressures meet, or the reference stands beside one.
        UnknownInputError: a component does not say its pressure.
    """
    nodes = max(number.values()) + 1
    known, fixed = np.zeros((len(plan.duties), nodes)), np.zeros(nodes, dtype=bool)

    def fix(name: str, pressure: Array) -> None:
        i = number[name]
        value = pressure + rho * STANDARD_GRAVITY * heights[name]
        if fixed[i] and not np.allclose(known[:, i], value):
            raise NoReferenceError(f"two known pressures meet at {name}", needs="a hose between them")
        known[:, i], fixed[i] = value, True

    reference = plan.circuits[circuit.name].reference
    own = None if reference is None else number.get(reference.port)
    for name, node in circuit.nodes.items():
        pressure = _node_pressure(plan, node, excused=own is not None)
        if pressure is not None:
            fix(name, pressure)
    if reference is not None and own is not None:
        _alone(circuit, reference.port, number, fixed)
        fix(reference.port, absolute(plan, reference.pressure))
    return known, fixed, own


def _alone(circuit: Circuit, port: str, number: dict[str, int], fixed: npt.NDArray[np.bool_]) -> None:
    """Raises NoReferenceError where a known pressure stands beside the reference of a circuit."""
    for part in circuit.parts():
        if port in part and (known := sorted(name for name in part if fixed[number[name]])):
            owner = known[0].partition(".")[0]
            raise NoReferenceError(
                f"two pressures are known in {circuit.name}: the reference at {port} and that of {owner}",
                needs=f"no reference in circuits.{circuit.name}: {owner} gives the pressure",
            )


def _node_pressure(plan: Plan, node: Node, *, excused: bool) -> Array | None:
    """The pressure of a node whose component knows it; excused from it where the circuit names its own reference."""
    if node.inner is None or not node.inner.pressure:
        return None
    if node.inner.pressure == "ambient":
        return plan.ambient.pressures
    if excused and node.component.figures.get(node.inner.pressure) is None:
        return None
    needed(node.component, node.inner.pressure)
    return absolute(plan, node.component.figures[node.inner.pressure])


def check_references(circuit: Circuit, number: dict[str, int], fixed: npt.NDArray[np.bool_]) -> None:
    """Raises NoReferenceError where a connected part of a circuit has no known pressure."""
    for part in circuit.parts():
        if not any(fixed[number[name]] for name in part):
            names = ", ".join(sorted({name.partition(".")[0] for name in part}))
            raise NoReferenceError(
                f"no pressure is known in the part of {circuit.name} with {names}",
                needs="a tank, a source, an open end or a breather filter in it, or reference in "
                f"circuits.{circuit.name}",
            )


def taken_flows(plan: Plan, circuit: Circuit, number: dict[str, int], rho: Array, nodes: int) -> Array:
    """Flow taken at each node [m3/s], shape (duties, nodes); below zero where it comes in.

    Args:
        plan: the plan.
        circuit: one of its circuits.
        number: the network's number of each node name.
        rho: density at every duty [kg/m3], shape (duties,).
        nodes: how many the network has.

    Raises:
        UnknownInputError: a flow, or the rails' shares of the fuel, are not known.
    """
    taken = np.zeros((len(rho), nodes))
    draws = [(name, node) for name, node in circuit.nodes.items() if node.inner is not None and _moved(node.inner)]
    burning = {n.component.name: n.component for _, n in draws if n.inner is not None and n.inner.draw == "burn"}
    among = Counter((node.component.name, node.inner) for _, node in draws)
    for name, node in draws:
        assert node.inner is not None
        each = among[node.component.name, node.inner]
        if node.inner.draw == "burn":
            ideal = plan.catalog.fluid(plan.circuits[circuit.name].fluid).stoichiometric
            by = None if ideal is None else ideal.ratio
            demand = [fuel_demand(d, t, float(r), by) for (d, t), r in zip(plan.duties.items(), rho, strict=True)]
            taken[:, number[name]] += np.array(demand) * _share(plan, node.component, list(burning.values())) / each
        elif node.inner.gives == BLOW_BY:
            taken[:, number[name]] -= blow_by(plan, circuit, node.component) / each
        else:
            key = _moved(node.inner)
            needed(node.component, key)
            flow = np.array(node.component.figures[key].over(list(plan.duties))) / each
            taken[:, number[name]] += flow if node.inner.draw else -flow
    return taken


def _moved(node: KindNode) -> str:
    """The figure of the flow that is taken, or comes in, at a point inside a component; empty where there is none."""
    return node.draw or node.gives


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
