"""What runs out of a tank where a joint is opened: by the floor of its box, and kept in by what is said."""

import re

import pytest
from fuelled import BOX, HOSE, LIQUID, PORTS, fuel_plan
from writing import FLUID, run

from lines.finding import Verdict
from solver.checks.siphon import by_port, runs_out
from solver.fuels import tanks
from solver.study import study

FLOOR = 0.4 * 0.4  # m2, of the tank
LITRE = 1e-3
CHECK = {
    "kind": "check-valve",
    "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["200 L/h"], "drop": ["30 kPa"]},
}
NEAR = {"length": "250 mm", "length_is": "overall"}
VALVE = {"kind": "valve", "k": "0.5", "bore": "8 mm"}


def judged(folder, **facts):
    made = study(fuel_plan(folder, **facts))
    circuit = made.circuits["line"]
    return {f.place: f for tank in tanks(circuit) for f in by_port(made, circuit, tank)}


def tank(**ports):
    return BOX | {"ports": {k: v if isinstance(v, dict) else {"at": v} for k, v in (PORTS | ports).items()}}


def test_a_low_joint_empties_the_tank_down_to_the_mouth(tmp_path):
    found = judged(tmp_path)["tank.out"]
    assert (found.id, found.verdict, found.worst.station) == ("fuel.siphon/tank.out", Verdict.CAUTION, "pump.in")
    # From 800 mm down to the outlet at 310 mm: the pump lies lower, but air gets in first.
    assert found.value.value == pytest.approx(FLOOR * (0.800 - 0.310), rel=1e-9)
    assert "runs out by tank.out from 800 mm down to 310 mm, where air gets into its mouth" in found.why.say("metric")
    # Joints that lie over the full fuel let nothing out.
    assert {c.state.station for c in found.cases} == {"tank.out", "pump.in", "pump.out"}


def test_a_tank_is_told_once_by_the_port_that_lets_the_most_out(tmp_path):
    made = study(fuel_plan(tmp_path))
    (found,) = runs_out(made)
    assert (found.id, found.value.value) == ("fuel.siphon/tank", pytest.approx(FLOOR * 0.490))
    # 0.4 x 0.4 m from 800 mm down to the return at 590 mm.
    assert f"Else {FLOOR * 210:.1f} L by tank.return." in found.why.say("metric")
    assert len(found.cases) == 4


def test_a_joint_over_the_mouth_empties_it_down_to_itself(tmp_path):
    pump = {"ports": {"in": {"at": "-1600, 100, 500 mm"}, "out": {"at": "-1500, 100, 500 mm"}}}
    found = judged(tmp_path, pump=pump, tank=tank(out={"at": "-1800, 100, 900 mm", "reaches": "-2000, 0, 220 mm"}))
    volumes = {c.state.station: c.value.value for c in found["tank.out"].cases}
    # It goes over the hump at the tank, for the line is full; the joint on top of the tank lets nothing out.
    assert volumes == pytest.approx(dict.fromkeys(("pump.in", "pump.out"), FLOOR * 0.300))
    assert "the height of that joint" in found["tank.out"].why.say("metric")


def test_a_regulator_without_pressure_lets_nothing_back_to_the_rail(tmp_path):
    found = judged(tmp_path)["tank.return"]
    assert [c.state.station for c in found.cases] == ["tank.return"]
    assert found.value.value == pytest.approx(FLOOR * (0.800 - 0.590))
    # Nor through the pump's line: the tank itself is no way from one of its ports to another.
    assert "or a check valve there that lets only in" in found.change.say("metric")


def test_a_return_that_ends_over_the_full_fuel_lets_air_in(tmp_path):
    found = judged(tmp_path, tank=tank(**{"return": "-1800, -100, 830 mm"}))["tank.return"]
    assert found.verdict is Verdict.PASS
    assert "ends 30 mm over the full fuel" in found.why.say("metric")


def valved(part, before=NEAR, **ports):
    ports = {k: {"at": v} for k, v in ports.items()}
    runs = {"F1": run("tank.out", "tap.in", "hose", **before), "F5": run("tap.out", "pump.in", "hose", **HOSE)}
    return {"components": {"tap": part | {"ports": ports}}, "runs": runs}


AT_TANK = {"in": "-1780, 100, 310 mm", "out": "-1750, 100, 310 mm"}


def test_a_shut_off_valve_at_the_tank_keeps_all_but_its_own_run_in(tmp_path):
    found = judged(tmp_path, **valved(VALVE, **AT_TANK))["tank.out"]
    assert found.verdict is Verdict.PASS
    assert "behind tap once it is shut; what lies before it, F1, does" in found.why.say("metric")


def test_a_long_run_to_the_valve_counts(tmp_path):
    far = valved(VALVE, HOSE, **AT_TANK)
    found = judged(tmp_path, **far)["tank.out"]
    assert (found.verdict, found.value.value) == (Verdict.CAUTION, pytest.approx(FLOOR * (0.800 - 0.310)))
    assert "at any joint of F1: no valve shuts them off" in found.why.say("metric")
    assert "F1, which leads to tap, counts: it is longer than 300 mm" in found.why.say("metric")


def test_a_valve_beyond_the_pump_keeps_nothing_in_before_it(tmp_path):
    ports = {"in": {"at": "-1000, 0, 250 mm"}, "out": {"at": "-900, 0, 250 mm"}}
    runs = {
        "F2": run("pump.out", "tap.in", "hose", **HOSE),
        "F5": run("tap.out", "rail.in", "hose", **HOSE, rise="650 mm"),
    }
    found = judged(tmp_path, components={"tap": VALVE | {"ports": ports}}, runs=runs)["tank.out"]
    assert found.verdict is Verdict.CAUTION
    # Behind it the same height lets nothing out.
    assert {c.state.station for c in found.cases} == {"tank.out", "pump.in", "pump.out", "tap.in"}
    assert "at any joint of F1, F2: no valve shuts them off" in found.why.say("metric")


def test_the_spring_of_a_check_valve_holds_as_much_fuel_as_it_opens_at(tmp_path):
    found = judged(tmp_path, **valved(CHECK | {"crack": "2 kPa"}, **AT_TANK))["tank.out"]
    # 2 kPa are 272 mm of 750 kg/m3 over the pump at 250 mm.
    stop = 0.250 + 2000 / (750 * 9.80665)
    assert found.value.value == pytest.approx(FLOOR * (0.800 - stop), rel=1e-4)
    # As much as is said holds it all.
    head = float(re.search(r"opens over ([\d.]+) kPa", found.change.say("metric"))[1])
    assert head == pytest.approx(1e-3 * 750 * 9.80665 * 0.550, abs=1.0)
    held = judged(tmp_path, **valved(CHECK | {"crack": f"{head} kPa"}, **AT_TANK))["tank.out"]
    assert held.verdict is Verdict.PASS
    assert "behind tap; what lies before it, F1, does" in held.why.say("metric")


def test_a_check_valve_lets_nothing_back(tmp_path):
    ports = {"in": {"at": "-1770, 0, 400 mm"}, "out": {"at": "-1780, 0, 590 mm"}}
    runs = {
        "F4": run("regulator.return", "check.in", "hose", **HOSE),
        "F5": run("check.out", "tank.return", "hose", **NEAR),
    }
    check = {"check": CHECK | {"crack": "2 kPa", "ports": ports}}
    assert judged(tmp_path, components=check, runs=runs)["tank.return"].verdict is Verdict.PASS
    turned = {"in": ports["out"], "out": ports["in"]}
    runs = {
        "F4": run("regulator.return", "check.out", "hose", **HOSE),
        "F5": run("check.in", "tank.return", "hose", **NEAR),
    }
    check = {"check": CHECK | {"crack": "1 kPa", "ports": turned}}
    found = judged(tmp_path, components=check, runs=runs)["tank.return"]
    assert (found.verdict, found.worst.station) == (Verdict.CAUTION, "check.out")
    assert found.value.value == pytest.approx(FLOOR * (0.800 - 0.590))


def test_through_another_tank_it_runs_down_to_where_it_enters_that_one(tmp_path):
    surge = {
        "kind": "surge-tank",
        "surface": {"full": "780 mm", "low": "760 mm"},
        "ports": {
            "in": {"at": "-1700, 0, 700 mm"},
            "out": {"at": "-1700, 0, 300 mm"},
            "over": {"at": "-1700, 0, 820 mm"},
        },
    }
    ports = {"in": {"at": "-1780, 0, 250 mm"}, "out": {"at": "-1750, 0, 250 mm"}}
    lift = {"kind": "pump", "curve": "c", "volts": "13 V", "ports": ports}
    runs = {
        "F1": run("tank.out", "lift.in", "hose", **HOSE),
        "F5": run("lift.out", "surge.in", "hose", **HOSE),
        "F6": run("surge.out", "pump.in", "hose", **HOSE),
        "F4": run("regulator.return", "tank.return", "hose", **HOSE),
        "F7": run("surge.over", "tank.over", "hose", **HOSE),
    }
    found = judged(
        tmp_path,
        tank=tank(over="-1800, 0, 850 mm", **{"return": "-1800, -100, 830 mm"}),
        components={"surge": surge, "lift": lift},
        runs=runs,
    )
    volumes = {c.state.station: c.value.value for c in found["tank.out"].cases}
    assert volumes["lift.in"] == pytest.approx(FLOOR * 0.490)
    for joint in ("surge.in", "surge.out", "pump.in", "pump.out"):
        assert volumes[joint] == pytest.approx(FLOOR * 0.100), joint
    assert found["surge.over"].verdict is Verdict.PASS
    assert found["surge.out"].verdict is Verdict.UNCHECKED  # its box is not stated


def test_a_spill_is_none(tmp_path):
    found = judged(tmp_path, tank=tank(**{"return": "-1800, -100, 799 mm"}))["tank.return"]
    assert found.verdict is Verdict.PASS
    assert found.value.value == pytest.approx(FLOOR * 0.001)


def test_without_the_box_only_the_height_is_told(tmp_path):
    bare = {"surface": BOX["surface"], "ports": {k: {"at": v} for k, v in PORTS.items()}}
    found = judged(tmp_path, tank=bare)["tank.out"]
    assert found.verdict is Verdict.UNCHECKED
    assert "from 800 mm to 310 mm" in found.why.say("metric")
    assert "corner and opposite in [components.tank]" in found.needs


def test_where_the_tube_of_an_outlet_on_top_ends_is_asked_for(tmp_path):
    found = judged(tmp_path, tank=tank(out="-1800, 100, 900 mm"))["tank.out"]
    assert found.verdict is Verdict.UNCHECKED
    assert "reaches of tank.out" in found.needs


def test_heights_by_tape_are_enough(tmp_path):
    found = judged(tmp_path, place=False)["tank.out"]
    assert found.value.value == pytest.approx(FLOOR * 0.490)


RHOS = ["825 kg/m3", "750 kg/m3", "600 kg/m3"]


def test_a_spring_counts_by_the_duty_at_which_it_opens_least_and_the_heaviest_fuel(tmp_path):
    # At 20 C and at 60 C: the column that 2 kPa hold is shorter of the heavy one.
    liquid = LIQUID | {"density": FLUID | {"at": ["0 C", "20 C", "60 C"], "is": RHOS}}
    more = {"temperature": {"idle": "20 C", "full": "60 C"}, "liquid": liquid}
    part = valved(CHECK | {"crack": {"idle": "3 kPa", "full": "2 kPa"}}, **AT_TANK)
    found = judged(tmp_path, **part, **more)["tank.out"]
    stop = 0.250 + 2000 / (750 * 9.80665)
    assert found.value.value == pytest.approx(FLOOR * (0.800 - stop), rel=1e-4)
