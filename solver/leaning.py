"""A circuit that pressure moves, solved in every attitude of its plan, all at once.

Heights are along effective gravity. The surface of a tank or sump stands as its low level has it, its volume kept. What
counts is how high the known pressures lie, what a regulator feels, and where a pressure is asked for: other places of
the circuit need not be known. The answer on level ground is where the steps begin.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import STANDARD_GRAVITY
from lines.finding import State
from solver.devices import Regulator
from solver.liquid import liquid_in
from solver.model import feels_at
from solver.newton import solve
from solver.pulsed import PulsedPump
from solver.reasons import reasons
from solver.solution import Solution

if TYPE_CHECKING:
    import numpy.typing as npt

    from lines.graph import Node
    from lines.plan import Plan
    from lines.states import Attitude
    from solver.model import Model

    Array = npt.NDArray[np.float64]
    Integers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Leaning:
    """A circuit in the states of its plan that can be told, one row for each; level ground is among them."""

    names: tuple[State, ...]
    """Duty and attitude of each row."""
    lasts: npt.NDArray[np.bool_]
    """Is the attitude a sustained one? Shape (rows,)."""
    down: Array
    """Unit vectors of effective gravity, shape (rows, 3)."""
    level: Solution
    """With the vehicle level, by duty."""
    answer: Solution
    """By row."""
    lacks: dict[str, UnknownInputError]
    """The attitudes that cannot be told, and why."""

    @property
    def transient(self) -> set[str]:
        """The attitudes that do not last."""
        return {name.attitude for name, lasts in zip(self.names, self.lasts, strict=True) if not lasts}


def leaning(plan: Plan, answer: Solution) -> Leaning:
    """A circuit in every attitude of its plan, at every duty that the attitude goes with.

    Args:
        plan: the plan.
        answer: its solution with the vehicle level, at every duty.

    Raises:
        UnknownInputError: it can be told in no attitude, not even on level ground.
    """
    duties = answer.model.duties
    told, lacks, heights = [], {}, []
    for attitude in plan.attitudes.values():
        try:
            heights.append(_heights(plan, answer.model, attitude))
            told.append(attitude)
        except UnknownInputError as error:
            lacks[attitude.name] = error
    if not told:
        raise next(iter(lacks.values()))
    rows = [
        (i, k)
        for i, attitude in enumerate(told)
        for k, duty in enumerate(duties)
        if attitude.duties is None or duty in attitude.duties
    ]
    of, at = (np.array(column, dtype=np.int64) for column in zip(*rows, strict=True))
    model = _leant(plan, answer.model, at, {name: np.array([h[name] for h in heights])[of] for name in heights[0]})
    state = solve(model.network, model.batch, answer.state.flow[at])
    return Leaning(
        tuple(State(duty=duties[k], attitude=told[i].name) for i, k in rows),
        np.array([told[i].sustained for i, _ in rows]),
        np.stack([told[i].down for i, _ in rows]),
        answer,
        Solution(model, model.batch, state, reasons(model, model.batch, state, plan.system)),
        lacks,
    )


def _heights(plan: Plan, model: Model, attitude: Attitude) -> dict[str, float]:
    """Height of each node along effective gravity, in metres of standard gravity; nan where it is not known.

    Raises:
        UnknownInputError: that of a known pressure, or where a regulator feels one, is not.
    """
    nodes = model.circuit.nodes
    found = {name: attitude.weight * _height(plan, model, node, attitude) for name, node in nodes.items()}
    bare = [name for name in _counting(plan, model) if np.isnan(found[name])]
    if bare:
        ports = sorted({ref for name in bare for ref in _ports(model, nodes[name])})
        raise UnknownInputError(
            f"where {' and '.join(bare)} lies is not known, only how high",
            needs=f"`at` of {' and '.join(port for port in ports if plan.port(port).at is None)}",
        )
    return found


def _counting(plan: Plan, model: Model) -> list[str]:
    """The nodes whose height decides the answer."""
    circuit = model.circuit
    known = [name for name, node in circuit.nodes.items() if node.inner is not None and node.inner.pressure]
    if model.reference is not None and (reference := plan.circuits[circuit.name].reference) is not None:
        known.append(reference.port)
    return known + list(_felt(model).values())


def _felt(model: Model) -> dict[int, str]:
    """The node whose pressure decides what a device does, by its edge's number."""
    devices = model.network.devices.items()
    going_by_it = ((i, device) for i, device in devices if isinstance(device, Regulator | PulsedPump))
    return {i: feels_at(model.circuit.edges[model.edges[i]], device) for i, device in going_by_it}


def _height(plan: Plan, model: Model, node: Node, attitude: Attitude) -> float:
    """Height of a node along -down [m]; nan where it is not known.

    Raises:
        UnknownInputError: how a surface stands cannot be told.
    """
    if node.inner is not None and node.inner.height:
        levels = liquid_in(node.component, "low").levels(attitude.down[None])
        if np.isnan(levels.heights[0]):
            why = f"how the surface in {node.component.name} stands cannot be told: {levels.why}"
            raise UnknownInputError(why, needs=levels.needs)
        return float(levels.heights[0])
    places = [plan.port(ref).at for ref in _ports(model, node)]
    across = [(np.nan, np.nan) if at is None else at[:2] for at in places]
    at = np.array([*np.mean(across, axis=0), model.heights[node.name]])
    # Where the vehicle stands level, what is not known of a place across does not count.
    return float(-np.where(attitude.down == 0, 0.0, at * attitude.down).sum())


def _ports(model: Model, node: Node) -> list[str]:
    """The port that a node is, or those of this circuit around a point inside a component."""
    if node.inner is None:
        return [node.name]
    return [name for name, n in model.circuit.nodes.items() if n.inner is None and n.component is node.component]


def _leant(plan: Plan, model: Model, at: Integers, heights: dict[str, Array]) -> Model:
    """A model by duty as one by row: row r has the duty at[r], and each node the height of that row [m]."""
    rows = model.over(at)
    lift = {name: rows.density * STANDARD_GRAVITY * height for name, height in heights.items()}
    known, felt = rows.batch.known.copy(), np.zeros_like(rows.batch.lift)
    # Of nodes that are one node of the network any one tells how far it has moved.
    for i, name in {model.number[name]: name for name in _counting(plan, model)}.items():
        if model.network.fixed[i]:
            known[:, i] += lift[name] - rows.lift[name]
    for i, node in _felt(model).items():
        felt[:, i] = lift[node]
    return replace(rows, batch=replace(rows.batch, known=known, lift=felt), lift=lift)
