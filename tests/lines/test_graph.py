"""Circuits as graphs: what belongs to one, where it falls apart, which way it drains, how high it lies."""

from importlib import resources

import networkx as nx
import pytest
from writing import read, run

from catalogs.errors import UnknownInputError
from lines.graph import circuits
from lines.heights import disagreements, node_heights
from lines.reading import read_plan

HOSE = "ptfe-braid -6"


@pytest.fixture(scope="module")
def example():
    with resources.as_file(resources.files("lines") / "examples/fuel-return/plan.toml") as path:
        return read_plan(path)


def plan_of(folder, components, runs, circuit="line"):
    return read(
        folder,
        circuits={circuit: {"fluid": "10w-40", "temperature": "90 C"}},
        components=components,
        runs={tag: run(*ends, HOSE, circuit=circuit, **facts) for tag, (*ends, facts) in runs.items()},
    )


# ---------------------------------------------------------------- the example


def test_the_example_has_three_circuits(example):
    assert {name: sorted(c.runs) for name, c in circuits(example).items()} == {
        "fuel": ["F1", "F2", "F3", "F4", "F5"],
        "oil": ["O1"],
        "drain": ["O2"],
    }


def test_the_fuel_goes_round_and_comes_back(example):
    # Tank, pump, filter, rail, regulator, tank: one loop through the tank's surface.
    fuel = circuits(example)["fuel"]
    assert len(fuel.parts()) == 1
    (loop,) = nx.cycle_basis(nx.Graph(fuel.graph))
    assert set(fuel.nodes) - set(loop) == set()
    assert "cell.surface" in loop
    assert "regulator.body" in loop


def test_the_oil_ends_inside_the_housing(example):
    # The turbocharger's oil path is in the feed's circuit, its drain port is not; its water path is in neither.
    oil = circuits(example)["oil"]
    assert nx.shortest_path(oil.graph, "gallery.end", "turbo.housing") == [
        "gallery.end",
        "gallery.turbo",
        "turbo.feed",
        "turbo.housing",
    ]
    assert set(oil.nodes) == {"gallery.end", "gallery.turbo", "turbo.feed", "turbo.housing"}


def test_gravity_moves_the_drain_alone(example):
    assert {name: c.gravity for name, c in circuits(example).items()} == {"fuel": False, "oil": False, "drain": True}


def test_every_edge_of_a_circuit_joins_two_of_its_nodes(example):
    for circuit in circuits(example).values():
        for name, edge in circuit.edges.items():
            assert {edge.start, edge.end} <= set(circuit.nodes)
            assert circuit.graph.has_edge(edge.start, edge.end, key=name)
            assert (edge.run is None) != (edge.component is None)


# ---------------------------------------------------------------- inner paths


def test_a_port_without_a_hose_has_no_path(tmp_path):
    # The branch of the tee is plugged: its leg is not in the circuit.
    components = {"a": {"kind": "open"}, "b": {"kind": "open"}, "t": {"kind": "tee", "bore": "8 mm"}}
    plan = plan_of(tmp_path, components, {"H1": ("a.in", "t.a", {}), "H2": ("t.b", "b.in", {})})
    names = set(circuits(plan)["line"].edges)
    assert {"t: leg a", "t: leg b"} <= names
    assert "t: branch" not in names


def test_two_paths_inside_one_component_stay_apart(tmp_path):
    # Oil and water of one turbocharger meet nowhere.
    components = {
        "gallery": {"kind": "gallery", "pressure": "4 bar", "ports": {"out": {}}},
        "turbo": {
            "kind": "turbocharger",
            "points": {"fluid": "10w-40", "temperature": "90 C", "flow": ["1 L/min"], "drop": ["2 bar"]},
        },
        "cold": {"kind": "open"},
        "hot": {"kind": "open"},
    }
    plan = read(
        tmp_path,
        circuits={
            "oil": {"fluid": "10w-40", "temperature": "90 C"},
            "water": {"fluid": "glycol-50", "temperature": "90 C"},
        },
        components=components,
        runs={
            "O1": run("gallery.out", "turbo.feed", "ptfe-braid -4", circuit="oil"),
            "W1": run("cold.in", "turbo.water_in", HOSE, circuit="water"),
            "W2": run("turbo.water_out", "hot.in", HOSE, circuit="water"),
        },
    )
    found = circuits(plan)
    assert not set(found["oil"].nodes) & set(found["water"].nodes)
    assert len(found["water"].parts()) == 1
    assert "turbo: water" in found["water"].edges


def test_two_hoses_side_by_side_are_two_edges(tmp_path):
    components = {
        "a": {"kind": "manifold", "bore": "8 mm", "ports": {"1": {}, "2": {}}},
        "b": {"kind": "manifold", "bore": "8 mm", "ports": {"1": {}, "2": {}}},
    }
    plan = plan_of(tmp_path, components, {"H1": ("a.1", "b.1", {}), "H2": ("a.2", "b.2", {})})
    found = circuits(plan)["line"]
    assert len(found.parts()) == 1
    assert found.graph.number_of_edges() == 2 + 4


def test_what_no_hose_joins_falls_apart(tmp_path):
    components = {name: {"kind": "open"} for name in "abcd"}
    plan = plan_of(tmp_path, components, {"H1": ("a.in", "b.in", {}), "H2": ("c.in", "d.in", {})})
    parts = [{name[0] for name in part} for part in circuits(plan)["line"].parts()]
    assert sorted(parts, key=min) == [{"a", "b"}, {"c", "d"}]


# ---------------------------------------------------------------- which way a drain drains

TURBO = {"kind": "turbocharger"}
POINTS = {"points": {"fluid": "10w-40", "temperature": "90 C", "flow": ["1 L/min"], "drop": ["2 bar"]}}


@pytest.mark.parametrize(
    ("ends", "forward"), [(("turbo.drain", "sump.drain"), True), (("sump.drain", "turbo.drain"), False)]
)
def test_a_drain_drains_from_the_turbocharger_however_it_is_named(tmp_path, ends, forward):
    components = {"turbo": TURBO | POINTS, "sump": {"kind": "sump"}}
    plan = plan_of(tmp_path, components, {"D1": (*ends, {})})
    assert circuits(plan)["line"].drains_forward() == {"D1": forward}


def test_every_hose_of_a_drain_knows_its_way(tmp_path):
    components = {"turbo": TURBO | POINTS, "sump": {"kind": "sump"}, "panel": {"kind": "bulkhead-union"}}
    plan = plan_of(tmp_path, components, {"D2": ("sump.drain", "panel.b", {}), "D1": ("turbo.drain", "panel.a", {})})
    assert circuits(plan)["line"].drains_forward() == {"D1": True, "D2": False}


# ---------------------------------------------------------------- heights


def test_heights_follow_from_one_port_and_the_rises(tmp_path):
    components = {
        "tank": {
            "kind": "tank",
            "surface": {"full": "600 mm", "low": "350 mm"},
            "ports": {"out": {"height": "300 mm"}},
        },
        "pump": {"kind": "pump", "curve": "electric-small", "volts": "13.5 V"},
        "end": {"kind": "open"},
    }
    runs = {
        "H1": ("tank.out", "pump.in", {"length": "1 m", "length_is": "cut", "rise": "-100 mm"}),
        "H2": (
            "end.in",
            "pump.out",
            {"length": "1 m", "length_is": "cut", "span": {"back": "0.9 m", "down": "250 mm"}},
        ),
    }
    plan = plan_of(tmp_path, components, runs)
    found = node_heights(plan, circuits(plan)["line"])
    # The low level is what suction is judged by; a pump's two ports lie level.
    heights = {"tank.out": 0.300, "tank.surface": 0.350, "pump.in": 0.200, "pump.out": 0.200}
    assert found == pytest.approx(heights | {"end.in": 0.450, "end.end": 0.450})


def test_a_rise_that_nobody_gave_is_asked_for(tmp_path):
    components = {"a": {"kind": "open"}, "b": {"kind": "union"}, "c": {"kind": "open"}}
    tape = {"length": "1 m", "length_is": "cut"}
    runs = {"H1": ("a.in", "b.a", tape | {"rise": "0 m"}), "H2": ("b.b", "c.in", tape)}
    plan = plan_of(tmp_path, components, runs)
    with pytest.raises(UnknownInputError) as refusal:
        node_heights(plan, circuits(plan)["line"])
    assert "H2" in refusal.value.needs
    assert "H1" not in refusal.value.needs


@pytest.mark.parametrize(("rise", "far"), [("-245 mm", False), ("-230 mm", True)])
def test_a_rise_may_differ_from_its_ports_by_a_tapes_width(tmp_path, rise, far):
    # 10 mm, as two readings of a tape differ.
    components = {
        "a": {"kind": "open", "ports": {"in": {"height": "500 mm"}}},
        "b": {"kind": "open", "ports": {"in": {"height": "250 mm"}}},
    }
    facts = {"length": "1 m", "length_is": "cut"}
    plan = plan_of(tmp_path, components, {"H1": ("a.in", "b.in", facts)})
    told = plan.runs["H1"].model_copy(update={"rise": float(rise.removesuffix(" mm")) / 1000})
    plan.runs["H1"] = told
    assert bool(disagreements(plan, circuits(plan)["line"])) == far


def test_two_drains_into_one_sump_each_keep_their_way(tmp_path):
    # Through the sump's surface lies the other drain: its oil does not come back up.
    plan = plan_of(
        tmp_path,
        {
            "left": {"kind": "turbocharger"},
            "right": {"kind": "turbocharger"},
            "sump": {"kind": "sump", "surface": {"full": "200 mm", "low": "150 mm"}, "ports": {"other": {}}},
        },
        {
            "D1": ("left.drain", "sump.drain", {"rise": "-0.2 m"}),
            "D2": ("sump.other", "right.drain", {"rise": "0.2 m"}),
        },
    )
    assert circuits(plan)["line"].drains_forward() == {"D1": True, "D2": False}
