"""The same circuits through `scipy.optimize.root` with the friction factors of `fluids`, one point at a time.

Unknowns are the flows of a cycle basis and the drops of the devices. Of the ways tried this was the quickest: as
quick as flows and pressures together on the fuel circuit, three times quicker on a grid of 112 edges and ten times on
one of 480. Without a Jacobian it takes about twice as long, flows and pressures five times. Levenberg and Marquardt's
method is no quicker, and can stop at a least that is no root.
"""

from bisect import bisect_right
from dataclasses import dataclass

import networkx as nx
import numpy as np
from fluids.friction import Churchill_1977
from scipy.optimize import root
from speed.cases import GRAVITY, LEAK, CheckAt, Part, Pipe, PumpAt

FLOW, PRESSURE = 1e-5, 1e5
"""What unknowns and residuals are measured by [m3/s, Pa]."""


@dataclass(frozen=True)
class Point:
    """One point of the batch as the equations need it; arrays are by edge or by pipe."""

    row: int
    rho: float
    mu: float
    base: np.ndarray
    """Flows that satisfy the mass balances [m3/s]."""
    between: np.ndarray
    """Difference of the known pressures at an edge's ends [Pa]."""
    known: np.ndarray
    """P of the fixed nodes [Pa], zero elsewhere; by node."""
    reynolds: np.ndarray
    """Reynolds number of a flow in a pipe [s/m3]."""
    friction: np.ndarray
    """What the friction factor times the Reynolds number times the flow is multiplied by [Pa s/m3]."""
    linear: np.ndarray
    ahead: np.ndarray
    back: np.ndarray
    """Drop of the parts of an edge: linear q + (ahead or back) q|q|."""


class Peer:
    """A case laid out for the peer."""

    def __init__(self, case):
        self.case = case
        pipes = [(i, part) for i, edge in enumerate(case.edges) for part in edge[2:] if isinstance(part, Pipe)]
        self.at = np.array([i for i, _ in pipes])
        self.length, self.bore, rough = (
            np.array([getattr(p, k) for _, p in pipes]) for k in ("length", "bore", "roughness")
        )
        self.rough = (rough / self.bore).tolist()
        self.viscous, self.ahead, self.back = (
            np.array([sum(getattr(p, k) for p in edge[2:] if isinstance(p, Part)) for edge in case.edges], dtype=float)
            for k in ("viscous", "inertial", "inertial_back")
        )
        self.devices = [(i, case.edges[i][0], spec) for i, spec in case.devices.items()]
        self.device_at = np.array(list(case.devices), dtype=int)
        self._lay_cycles()

    def _lay_cycles(self):
        """The cycle basis of a spanning tree, with all fixed nodes as one."""
        case, every = self.case, np.arange(len(self.case.edges))
        graph = nx.MultiGraph()
        for i, (start, end, *parts) in enumerate(case.edges):
            ends = (-1 if node in case.known else node for node in (start, end))
            graph.add_edge(*ends, key=i, weight=sum(p.length / p.bore**5 for p in parts if isinstance(p, Pipe)))
        self.tree = [k for _, _, k in nx.minimum_spanning_edges(graph, keys=True, data=False)]
        chords = np.setdiff1d(every, self.tree)
        self.free = ~np.isin(np.arange(case.nodes), list(case.known))
        self.leaving = np.zeros((case.nodes, len(every)))
        self.leaving[[edge[0] for edge in case.edges], every] = 1.0
        self.leaving[[edge[1] for edge in case.edges], every] = -1.0
        self.inverse = np.linalg.inv(self.leaving[self.free][:, self.tree])
        self.cycles = np.zeros((len(every), len(chords)))
        self.cycles[chords, np.arange(len(chords))] = 1.0
        self.cycles[self.tree] = -self.inverse @ self.leaving[self.free][:, chords]
        self.paths = np.zeros((case.nodes, len(every)))
        """Which drops lead from the fixed nodes to each node."""
        self.paths[np.ix_(self.free, self.tree)] = self.inverse.T
        self.loops = len(chords)

    def point(self, row):
        case = self.case
        rho, mu = case.density[row], case.viscosity[row]
        known, taken = np.zeros(case.nodes), np.zeros(case.nodes)
        known[list(case.known)] = [values[row] for values in case.known.values()]
        taken[list(case.taken)] = [values[row] for values in case.taken.values()]
        base = np.zeros(len(case.edges))
        base[self.tree] = -self.inverse @ taken[self.free]
        area = np.pi * self.bore**2 / 4
        return Point(
            row,
            float(rho),
            float(mu),
            base,
            self.leaving.T @ known,
            known,
            self.bore / area * rho / mu,
            mu * self.length / (2 * self.bore**2 * area),
            self.viscous * mu,
            self.ahead * rho,
            self.back * rho,
        )

    def drops(self, point, flow):
        """Drop of what resists in each edge [Pa]."""
        size = np.abs(flow)
        drop = (point.linear + np.where(flow >= 0, point.ahead, point.back) * size) * flow
        drop[self.at] += point.friction * self._product(point.reynolds * size[self.at]) * flow[self.at]
        return drop

    def slopes(self, point, flow):
        """Slope of `drops` [Pa s/m3]; the friction factor is differenced by itself."""
        size = np.abs(flow)
        slope = point.linear + 2 * np.where(flow >= 0, point.ahead, point.back) * size
        reynolds = point.reynolds * size[self.at]
        product = self._product(reynolds)
        slope[self.at] += point.friction * (product + (self._product(reynolds * (1 + 1e-6)) - product) * 1e6)
        return slope

    def _product(self, reynolds):
        """Friction factor times Reynolds number, which is 64 long before a Reynolds number of 1."""
        reynolds = np.maximum(reynolds, 1.0)
        return reynolds * [Churchill_1977(re, rough) for re, rough in zip(reynolds.tolist(), self.rough, strict=True)]

    def equations(self, unknowns, point):
        flow, drop = self._at(unknowns, point)
        misses = np.empty(len(unknowns))
        misses[: self.loops] = (drop - point.between) @ self.cycles / PRESSURE
        misses[self.loops :] = [law[0] for law in self._laws(point, flow, drop)]
        return misses

    def jacobian(self, unknowns, point):
        flow, drop = self._at(unknowns, point)
        slope = self.slopes(point, flow)
        slope[self.device_at] = 0.0
        n = self.loops
        whole = np.zeros((len(unknowns), len(unknowns)))
        whole[:n, :n] = self.cycles.T @ (slope[:, None] * self.cycles) * (FLOW / PRESSURE)
        whole[:n, n:] = self.cycles[self.device_at].T
        laws = self._laws(point, flow, drop)
        for i, ((edge, start, _), (_, to_flow, to_drop, to_start)) in enumerate(
            zip(self.devices, laws, strict=True), n
        ):
            path = self.paths[start]
            whole[i, :n] = (to_flow * self.cycles[edge] + to_start * (path * slope) @ self.cycles) * FLOW
            whole[i, n:] = to_start * path[self.device_at] * PRESSURE
            whole[i, i] += to_drop * PRESSURE
        return whole

    def _at(self, unknowns, point):
        flow = point.base + self.cycles @ (unknowns[: self.loops] * FLOW)
        drop = self.drops(point, flow)
        drop[self.device_at] = unknowns[self.loops :] * PRESSURE
        return flow, drop

    def _laws(self, point, flow, drop):
        """Each device's law as an equation over `FLOW` or `PRESSURE`, and its slopes to flow, drop and start."""
        for edge, start, spec in self.devices:
            q, fall = float(flow[edge]), float(drop[edge])
            if isinstance(spec, PumpAt):
                yield pump(spec, point, q, fall)
                continue
            leaks = (q - LEAK * fall) / FLOW, 1 / FLOW, -LEAK / FLOW, 0.0
            wide = opened(spec, point, q, fall)
            if isinstance(spec, CheckAt):
                yield min(leaks, wide, key=first)
                continue
            pressure = point.known[start] + self.paths[start] @ (drop - point.between)
            over = float(pressure) - self.case.heights.get(start, 0.0) * GRAVITY * point.rho - spec.held[point.row]
            holds = (q - over / spec.slope - LEAK * fall) / FLOW, 1 / FLOW, -LEAK / FLOW, -1 / spec.slope / FLOW
            yield min(leaks, max(holds, wide, key=first), key=first)

    def solve(self, point, start):
        """Unknowns of one point from a start, or None where no root is found."""
        found = root(self.equations, start, args=(point,), jac=self.jacobian, method="hybr")
        return found.x if found.success else None

    def middle(self):
        """The mean of the roots of all points, each found from the one before: a good start for another batch."""
        found = [np.ones(self.loops + len(self.devices))]
        for row in range(self.case.points):
            unknowns = self.solve(self.point(row), found[-1])
            if unknowns is not None:
                found.append(unknowns)
        return np.mean(found[1:] or found, axis=0)

    def answer(self, point, unknowns):
        """Flows [m3/s] and pressures P [Pa] of one point."""
        flow, drop = self._at(unknowns, point)
        return flow, point.known + self.paths @ (drop - point.between)


class Plain(Peer):
    """The same with every flow and every pressure as an unknown and no Jacobian, as one writes it down first."""

    def equations(self, unknowns, point):
        flow, pressure = self._unpacked(unknowns, point)
        across = self.leaving.T @ pressure
        misses = (across - self.drops(point, flow)) / PRESSURE
        misses[self.device_at] = [law[0] for law in self._laws(point, flow, across)]
        taken = self.leaving @ (flow - point.base)
        return np.concatenate([misses, taken[self.free] / FLOW])

    def _unpacked(self, unknowns, point):
        edges = len(self.case.edges)
        pressure = point.known.copy()
        pressure[self.free] = unknowns[edges:] * PRESSURE
        return unknowns[:edges] * FLOW, pressure

    def solve(self, point, start):
        found = root(self.equations, start, args=(point,), method="hybr")
        return found.x if found.success else None

    def middle(self):
        """The mean of the same points, from the quicker peer."""
        quick = Peer(self.case)
        unknowns = quick.middle()
        middle = quick.point(self.case.points // 2)
        flow, pressure = quick.answer(middle, quick.solve(middle, unknowns))
        return np.concatenate([flow / FLOW, pressure[self.free] / PRESSURE])

    def answer(self, point, unknowns):
        return self._unpacked(unknowns, point)


def first(law):
    return law[0]


def pump(spec, point, flow, drop):
    speed = spec.speed[point.row]
    given, slope = along(spec, -drop / speed**2)
    return (flow - speed * given) / FLOW, 1 / FLOW, slope / speed / FLOW, 0.0


def opened(spec, point, flow, drop):
    """A check valve or a regulator that is open as far as it goes."""
    linear, square = spec.viscous * point.mu, spec.inertial * point.rho * abs(flow)
    miss = (spec.crack + (linear + square) * flow - drop) / PRESSURE
    return miss, (linear + 2 * square) / PRESSURE, -1 / PRESSURE, 0.0


def along(spec, rise):
    """A pump's curve and its slope, going on straight past its ends with a slope that stays below zero."""
    at = spec.rises
    inside = min(max(rise, at[0]), at[-1])
    i = min(bisect_right(at, inside), len(at) - 1) - 1
    c3, c2, c1, c0 = spec.coefficients[i]
    t = inside - at[i]
    slope = min((3 * c3 * t + 2 * c2) * t + c1, -1e-13)
    return ((c3 * t + c2) * t + c1) * t + c0 + slope * (rise - inside), slope
