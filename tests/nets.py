"""Networks of numbers, as tests of the solver build them: `from nets import network, conditions, solved`."""

import numpy as np

from solver.network import Batch, Losses, Network, Pipes
from solver.newton import solve
from solver.resistances import Part, Pipe

WATER = {"density": 998.2, "viscosity": 1.002e-3}
GRAVITY = 9.80665


def pipe(length, bore, roughness=0.0):
    return Pipe("pipe", length, bore, roughness)


def viscous(resistance):
    """A drop of this resistance [Pa s/m3] times the flow, if the viscosity is 1 Pa s."""
    return Part("viscous", resistance, 0.0, 0.0)


def inertial(coefficient, back=None):
    """A drop of density times this coefficient [1/m4] times the flow squared."""
    return Part("inertial", 0.0, coefficient, coefficient if back is None else back)


def network(edges, fixed):
    """A network from (start, end, parts and at most one device ...) and the nodes of known pressure."""
    nodes = 1 + max(node for start, end, *_ in edges for node in (start, end))
    pipes = [(i, p) for i, edge in enumerate(edges) for p in edge[2:] if isinstance(p, Pipe)]
    parts = [(i, p) for i, edge in enumerate(edges) for p in edge[2:] if isinstance(p, Part)]
    return Network(
        nodes=nodes,
        start=np.array([edge[0] for edge in edges]),
        end=np.array([edge[1] for edge in edges]),
        fixed=np.isin(np.arange(nodes), list(fixed)),
        pipes=Pipes(
            np.array([i for i, _ in pipes], dtype=np.int64),
            *(np.array([getattr(p, k) for _, p in pipes]) for k in ("length", "bore", "roughness", "curvature")),
        ),
        losses=Losses(
            np.array([i for i, _ in parts], dtype=np.int64),
            *(np.array([getattr(p, k) for _, p in parts]) for k in ("viscous", "inertial", "inertial_back")),
        ),
        devices={i: p for i, edge in enumerate(edges) for p in edge[2:] if not isinstance(p, (Pipe, Part))},
    )


def conditions(net, known, *, taken=None, heights=None, density=1000.0, viscosity=1e-3, size=1):
    """A batch; any figure may be one number or one for each point of the batch."""

    def over_nodes(values):
        table = np.zeros((size, net.nodes))
        for node, value in (values or {}).items():
            table[:, node] = value
        return table

    rho, mu = (np.broadcast_to(x, size).copy()[:, None] for x in (density, viscosity))
    lift = over_nodes(heights)[:, net.start] * GRAVITY * rho
    return Batch(rho, mu, over_nodes(known), over_nodes(taken), lift)


def solved(net, batch, guess=1e-5):
    """The solution, in which no point of the batch has failed."""
    state = solve(net, batch, np.full(net.edges, guess))
    assert not any(state.failed), state.failed
    return state
