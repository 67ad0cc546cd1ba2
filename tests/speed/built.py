"""A case as the solver takes it: the one place that knows how a network is built and solved."""

import numpy as np
from nets import conditions, network
from speed.cases import CheckAt, PumpAt

from solver.devices import Bore, Check, Pump, Regulator
from solver.newton import solve

GUESS = 1e-5
"""First flow of every edge [m3/s]."""


def device(spec, points):
    if isinstance(spec, PumpAt):
        return Pump((spec.curve,), np.ones((points, 1)), spec.speed[:, None])
    bore = Bore(spec.viscous, spec.inertial)
    if isinstance(spec, CheckAt):
        return Check(np.full(points, spec.crack), bore)
    return Regulator(spec.held, np.full(points, spec.slope), bore)


def ready(case):
    """A function that solves the whole case: flows (points, edges), pressures P (points, nodes), points unsolved."""
    devices = {i: (device(spec, case.points),) for i, spec in case.devices.items()}
    net = network([(*edge, *devices.get(i, ())) for i, edge in enumerate(case.edges)], case.known)
    batch = conditions(
        net,
        case.known,
        taken=case.taken,
        heights=case.heights,
        density=case.density,
        viscosity=case.viscosity,
        size=case.points,
    )
    guess = np.full(len(case.edges), GUESS)

    def run():
        state = solve(net, batch, guess)
        return state.flow, state.pressure, sum(bool(why) for why in state.failed)

    return run
