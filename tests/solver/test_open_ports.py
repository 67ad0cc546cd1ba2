"""Ports that no run is on are told, those that a component may do without are not."""

import pytest
from writing import read, run

from lines.finding import Verdict
from solver.checks.openport import open_ports
from solver.study import study

HOSE = "ptfe-braid -6"
TANK = {"kind": "tank", "ports": {"out": {}, "return": {}}}


def found(folder, components, runs):
    plan = read(
        folder,
        circuits={"line": {"fluid": "gasoline-summer", "temperature": "20 C"}},
        components=components,
        runs={f"F{n}": run(*ends, HOSE, length="1 m", length_is="cut", rise="0 m") for n, ends in enumerate(runs)},
    )
    return {f.place: f for f in open_ports(study(plan))}


def test_a_regulator_whose_return_was_forgotten_is_told(tmp_path):
    parts = {"s": {"kind": "source", "pressure": "3 bar"}, "r": {"kind": "regulator", "set": "3 bar"}}
    told = found(tmp_path, parts, [("s.out", "r.in")])
    assert set(told) == {"r"}
    assert told["r"].verdict is Verdict.CAUTION
    assert "r.return" in told["r"].why.say("us")
    # Its second outlet and its reference nipple it may do without.
    assert "r.out" not in told["r"].why.say("us")


@pytest.mark.parametrize(
    ("part", "ports", "lacks"),
    [
        ({"kind": "filter"}, ("p.in",), "p.out"),
        ({"kind": "tee"}, ("p.a", "p.b"), "p.branch"),
        ({"kind": "union"}, ("p.a",), "p.b"),
        ({"kind": "radiator"}, ("p.in", "p.out"), None),
        ({"kind": "thermostat"}, ("p.in", "p.out"), None),
        ({"kind": "thermostat"}, ("p.in",), "p.out"),
        ({"kind": "turbocharger"}, ("p.feed",), None),
        ({"kind": "turbocharger"}, ("p.water_in",), "p.water_out"),
    ],
)
def test_what_the_flow_inside_comes_to_needs_a_run(tmp_path, part, ports, lacks):
    ends = {f"o{n}": {"kind": "open"} for n in range(len(ports))}
    told = found(tmp_path, ends | {"p": part}, [(f"o{n}.in", port) for n, port in enumerate(ports)])
    assert set(told) == ({"p"} if lacks else set())
    if lacks:
        assert lacks in told["p"].why.say("us")


def test_a_port_that_the_plan_places_and_a_component_that_nothing_joins(tmp_path):
    parts = {"t": TANK, "o": {"kind": "open"}, "alone": {"kind": "check-valve"}}
    told = found(tmp_path, parts, [("t.out", "o.in")])
    assert "t.return" in told["t"].why.say("us")
    # A plug in the only vent of a tank would starve its pump.
    assert "Only if nothing breathes, drains or returns by it, plug it" in told["t"].change.say("us")
    assert "No run reaches it" in told["alone"].why.say("us")
