"""Circuits as graphs: runs and the inner paths of components are edges, ports and inner nodes are nodes.

The only module that knows networkx.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import networkx as nx

if TYPE_CHECKING:
    from collections.abc import Container, Iterable

    from catalogs.kinds import KindNode, KindPath, Law
    from lines.plan import Component, Plan, RunTable


@dataclass(frozen=True, slots=True)
class Edge:
    """A run, or one inner path of a component. Flow from `start` to `end` is positive."""

    name: str
    start: str
    end: str
    run: RunTable | None = None
    component: Component | None = None
    path: KindPath | None = None

    @property
    def law(self) -> Law | Literal[""]:
        """The law of an inner path; empty of a run."""
        return "" if self.path is None else self.path.law


@dataclass(frozen=True, slots=True)
class Node:
    """A port (`component.port`) or a point inside a component."""

    name: str
    component: Component
    inner: KindNode | None = None


@dataclass(frozen=True)
class Circuit:
    """One fluid's whole system."""

    name: str
    nodes: dict[str, Node]
    edges: dict[str, Edge]
    graph: nx.MultiGraph[str]

    @property
    def runs(self) -> dict[str, RunTable]:
        return {name: edge.run for name, edge in self.edges.items() if edge.run is not None}

    def run_on(self, port: str) -> str:
        """The tag of the run on one of its ports; it has no port without one."""
        return next(tag for tag, run in self.runs.items() if port in {run.start, run.end})

    def parts(self) -> list[set[str]]:
        """The connected parts."""
        return [set(part) for part in nx.connected_components(self.graph)]

    def parts_without(self, edges: Container[str]) -> list[set[str]]:
        """The connected parts that are left without some edges, by their names."""
        kept: nx.MultiGraph[str] = nx.MultiGraph()
        kept.add_nodes_from(self.nodes)
        for name, edge in self.edges.items():
            if name not in edges:
                kept.add_edge(edge.start, edge.end, key=name)
        return [set(part) for part in nx.connected_components(kept)]

    def gravity_ports(self, way: Literal["out", "in"]) -> list[str]:
        """Ports through which nothing but gravity moves the fluid this way."""
        return [name for name, node in self.nodes.items() if _gravity(node) == way]

    @property
    def gravity(self) -> bool:
        """Is it a drain, in which nothing but gravity moves the fluid?"""
        return any(_gravity(node) for node in self.nodes.values())

    def way_down(self, outlet: str) -> list[tuple[str, bool]]:
        """The runs of a drain from an outlet down to where it ends, each with whether it flows from start to end.

        Empty where it leads nowhere, or by two ways.
        """
        return [(edge.name, forward) for edge, forward in self.edges_down(outlet) if edge.run is not None]

    def edges_down(self, outlet: str) -> list[tuple[Edge, bool]]:
        """Every edge of a drain from an outlet down to where it ends, each with whether it flows from start to end.

        It ends at a free surface, in the open air or at the inlet of a pump. Empty where it leads to none of them, or
        to one by two ways.
        """
        ends = {name for name, node in self.nodes.items() if self._ends_a_drain(node)}
        found: list[list[tuple[str, str, str]]] = []
        for end in ends:
            way = self.graph.subgraph((self.nodes.keys() - ends) | {end})
            if outlet in way:
                ways: Iterable[Any] = nx.all_simple_edge_paths(way, outlet, end)
                found += itertools.islice(ways, 2)
        if len(found) != 1:
            return []
        return [(self.edges[name], self.edges[name].start == a) for a, _, name in found[0]]

    def shortest_way(self, starts: Iterable[str], end: str, closed: Container[str]) -> tuple[tuple[Edge, bool], ...]:
        """The edges from the nearest of some nodes to another, each with whether it is passed from start to end.

        Args:
            starts: nodes.
            end: the node to get to.
            closed: names of edges that it does not pass.

        Returns:
            Empty where there is no way.
        """
        kept: nx.MultiGraph[str] = nx.MultiGraph(
            (e.start, e.end, name) for name, e in self.edges.items() if name not in closed
        )
        reached = nx.single_source_shortest_path(kept, end) if end in kept else {}
        found = min((reached[n][::-1] for n in starts if n in reached), key=len, default=[])
        edges = (self.edges[next(iter(kept[a][b]))] for a, b in itertools.pairwise(found))
        return tuple((edge, edge.start == a) for edge, a in zip(edges, found, strict=False))

    def _ends_a_drain(self, node: Node) -> bool:
        if node.inner is not None:
            return bool(node.inner.pressure or node.inner.height)
        scavenged = {path.start for path in node.component.kind.paths if path.law == "scavenge"}
        return _point(node.name) in scavenged

    def drains_forward(self) -> dict[str, bool]:
        """Of each run of a drain: does it drain from its start to its end? Where that is not known it is left out.

        As the way down from an outlet has it; of what lies on none, by walking from where the fluid comes out, or back
        from where it goes in.
        """
        found: dict[str, bool] = {}
        for outlet in self.gravity_ports("out"):
            found |= dict(self.way_down(outlet))
        # A free surface ends a drain: through it lies the drain of another turbocharger into the same sump.
        drains = self.graph.subgraph(n for n, node in self.nodes.items() if node.inner is None or not node.inner.height)
        ways: tuple[Literal["out", "in"], ...] = ("out", "in")
        for way in ways:
            for port in self.gravity_ports(way):
                for start, end in nx.bfs_edges(drains, port):
                    for name in self.graph[start][end]:
                        edge = self.edges[name]
                        if edge.run is not None:
                            found.setdefault(name, (edge.start == start) == (way == "out"))
        return found


def _gravity(node: Node) -> str:
    port = node.component.kind.ports.get(_point(node.name))
    return port.gravity if node.inner is None and port is not None else ""


def circuit(plan: Plan, name: str) -> Circuit:
    """The circuit of this name: its runs and every inner path that they reach."""
    edges: dict[str, Edge] = {
        tag: Edge(tag, run.start, run.end, run=run) for tag, run in plan.runs.items() if run.circuit == name
    }
    gas = plan.catalog.fluid(plan.circuits[name].fluid).family == "gas"
    used = list(dict.fromkeys(ref for edge in edges.values() for ref in (edge.start, edge.end)))
    for component_name in dict.fromkeys(ref.partition(".")[0] for ref in used):
        component = plan.components[component_name]
        here = {ref.partition(".")[2] for ref in used if ref.partition(".")[0] == component_name}
        edges |= {edge.name: edge for edge in _inner_edges(component, here, gas=gas)}
    nodes = {}
    graph: nx.MultiGraph[str] = nx.MultiGraph()
    for edge in edges.values():
        graph.add_edge(edge.start, edge.end, key=edge.name)
        for ref in (edge.start, edge.end):
            owner, _, point = ref.partition(".")
            component = plan.components[owner]
            nodes[ref] = Node(ref, component, _inner_nodes(component).get(point))
    return Circuit(name, nodes, edges, graph)


def circuits(plan: Plan) -> dict[str, Circuit]:
    """Every circuit of a plan that has runs."""
    return {name: circuit(plan, name) for name in plan.circuits if any(r.circuit == name for r in plan.runs.values())}


def _inner_edges(component: Component, ports: set[str], *, gas: bool) -> list[Edge]:
    """The inner paths that the used ports reach; a path to a port that no run uses is left out."""
    paths = [edge for path in _paths(component) for edge in _spelled_out(component, path, ports, gas=gas)]
    unused = {p for p in [*component.kind.ports, *component.ports] if p not in ports}
    open_paths = [e for e in paths if not unused & {_point(e.start), _point(e.end)}]
    reached, before = set(ports), -1
    while len(reached) != before:
        before = len(reached)
        for edge in open_paths:
            ends = {_point(edge.start), _point(edge.end)}
            if ends & reached:
                reached |= ends
    return [e for e in open_paths if {_point(e.start), _point(e.end)} <= reached]


def _each(component: Component, point: str) -> list[str]:
    """The names of a point inside a component: several where a figure that is stated counts how many there are."""
    node = component.kind.nodes[point]
    count = component.figures.get(node.repeated)
    return [point] if count is None else [f"{node.each} {i}" for i in range(1, count + 1)]


def _inner_nodes(component: Component) -> dict[str, KindNode]:
    """The points inside a component by their names."""
    return {name: node for point, node in component.kind.nodes.items() for name in _each(component, point)}


def _paths(component: Component) -> list[KindPath]:
    """The paths of a component; a way through a repeated point in one stretch from each to the next.

    They lie evenly spaced, the first and the last half a space from where the way comes in and goes on.
    """
    paths = list(component.kind.paths)
    for point in component.kind.nodes:
        names = _each(component, point)
        if names == [point]:
            continue
        into = next(i for i, path in enumerate(paths) if path.end == point)
        on = next(i for i, path in enumerate(paths) if path.start == point)
        shares, first, last = paths[into].share + paths[on].share, names[0], names[-1]
        between = [
            paths[into].model_copy(update={"name": f"{a} to {b}", "start": a, "end": b, "share": shares / len(names)})
            for a, b in itertools.pairwise(names)
        ]
        half = {i: paths[i].share / len(names) for i in (into, on)}
        paths[on] = paths[on].model_copy(update={"name": f"from {last}", "start": last, "share": half[on]})
        paths[into] = paths[into].model_copy(update={"name": f"to {first}", "end": first, "share": half[into]})
        paths[into + 1 : into + 1] = between
    return paths


def _spelled_out(component: Component, path: KindPath, ports: set[str], *, gas: bool) -> list[Edge]:
    start, end = (_reached(component, point, gas=gas) for point in (path.start, path.end))
    if "each" not in {start, end}:
        return [_edge(component, path, start, end, path.name)]
    each = [p for p in [*component.kind.ports, *component.ports] if p in ports]
    return [
        _edge(
            component,
            path,
            port if start == "each" else start,
            port if end == "each" else end,
            f"{path.name} {port}",
        )
        for port in dict.fromkeys(each)
    ]


def _reached(component: Component, point: str, *, gas: bool) -> str:
    """A point of a path; for a circuit of gas the air over a liquid instead of its surface."""
    node = component.kind.nodes.get(point)
    return node.gas if gas and node is not None and node.gas else point


def _edge(component: Component, path: KindPath, start: str, end: str, name: str) -> Edge:
    owner = component.name
    return Edge(f"{owner}: {name}", f"{owner}.{start}", f"{owner}.{end}", component=component, path=path)


def _point(ref: str) -> str:
    return ref.partition(".")[2]
