"""Scavenge pumps: the suction of foam against closed forms, and whole plans."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq
from writing import read, run, tube

from lines.finding import Verdict
from lines.graph import circuit
from solver.checks import findings, scavenge, scavengelines
from solver.drains.drain import Drain
from solver.drains.foam import foam
from solver.drains.pieces import DrainLine, Fitting
from solver.drains.scavenging import pressure_at_end, scavenged, sized
from solver.study import study

ATMOSPHERE = 101325.0

# ---------------------------------------------------------------- foam that is drawn through a bore


def straight(bore=0.010, length=1.0, fittings=()):
    points = np.array([[0.0, 0, 0], [length / 2, 0, 0], [length, 0, 0]])
    pieces = np.full(2, bore)
    nothing = np.zeros(2, dtype=int)
    return DrainLine("a", "b", ("D1",), (True,), points, nothing, pieces, 0 * pieces, tuple(fittings), nothing > 0)


def end_of(line, made, share, lowest=20e3):
    one = np.ones(1)
    found, short = pressure_at_end(line, [made], [share * one], ATMOSPHERE * one, lowest * one)
    return found[0], bool(short[0])


def of(flow, share, viscosity=0.1, density=850.0):
    return foam(*(np.array([x]) for x in (flow, density, viscosity, 1.0 - share)))


def test_oil_without_gas_loses_what_a_bore_does():
    # Hagen and Poiseuille: 128 mu L Q / (pi D^4). Churchill's factor is 64/Re there to 0.8 %.
    found, short = end_of(straight(), of(1e-5, 1.0), 1.0)
    assert ATMOSPHERE - found == pytest.approx(128 * 0.1 * 1.0 * 1e-5 / (math.pi * 0.010**4), rel=0.008)
    assert not short


@pytest.mark.parametrize("share", [0.3, 0.5, 0.8])
@pytest.mark.parametrize("flow", [1e-6, 5e-6, 2e-5])
def test_foam_grows_as_it_is_drawn(flow, share):
    # In laminar flow the loss of each metre goes with mu Q, and both go with the volume e of the foam:
    # -dp/dx = G0 e^2, e = s + (1 - s) p0/p, integrated and solved by scipy.
    made = of(flow, share)
    lost = 128 * made.viscosity[0] * made.flow[0] / (math.pi * 0.010**4)

    def over(p):
        return quad(lambda x: (share + (1 - share) * ATMOSPHERE / x) ** -2, p, ATMOSPHERE)[0] / lost - 1.0

    found, short = end_of(straight(), made, share)
    assert short == (over(20e3) < 0)
    if not short:
        wanted = ATMOSPHERE - brentq(over, 20e3, ATMOSPHERE)
        # Churchill to 0.8 %, which the growing foam makes a little more of where most of the air's pressure is taken.
        assert ATMOSPHERE - found == pytest.approx(wanted, rel=0.02)


def test_more_than_the_air_has_to_give_is_told_and_not_a_number():
    found, short = end_of(straight(0.004), of(2e-5, 0.5), 0.5)
    assert short
    assert found == pytest.approx(20e3)


def test_a_fitting_takes_its_own():
    # drop = viscous mu Q + inertial rho Q^2 of the foam, 0.7 % of the air's pressure: it grows by half a per cent.
    made = of(2e-6, 0.5)
    fitting = Fitting(0, "elbow", 0, 1e7, 1e11)
    without, with_it = (end_of(straight(0.02, fittings=f), made, 0.5)[0] for f in ((), (fitting,)))
    drop = 1e7 * made.viscosity[0] * made.flow[0] + 1e11 * made.density[0] * made.flow[0] ** 2
    assert without - with_it == pytest.approx(drop, rel=0.005)


@given(flow=st.floats(1e-7, 1e-5), share=st.floats(0.2, 1.0), times=st.floats(1.1, 3.0))
def test_a_wider_line_takes_less_and_more_foam_takes_more(flow, share, times):
    made, more = of(flow, share), of(flow * times, share)
    line = straight(0.014)
    taken = end_of(line, made, share)[0]
    assert end_of(line.wider(times), made, share)[0] > taken
    assert end_of(line, more, share)[0] < taken


# ---------------------------------------------------------------- as a plan

POINTS = {"fluid": "10w-40", "temperature": "90 C", "flow": ["1 L/min"], "drop": ["2 bar"]}
BOX = {"surface": {"full": "-150 mm", "low": "-170 mm"}, "corner": "0, -200, -300 mm", "opposite": "600, 200, 0 mm"}
HEAT = {"cold": "20 C", "hot": "100 C"}
CIRCUITS = {"oil": {"fluid": "10w-40", "temperature": HEAT}, "drain": {"fluid": "10w-40", "temperature": HEAT}}
CLIMB = {"climb": {"nose_up": "60 %"}}
GIVES = {"flow": "8 L/min", "vacuum": "0.4 bar"}
PIPE = tube("12.7 mm", rigid=False, suction="0.6 bar")


def turbo(at="0, 0, 0 mm", **facts):
    return {"kind": "turbocharger", "points": POINTS, "ports": {"drain": {"at": at}}} | facts


def fed(*names):
    """A gallery and the runs from it to turbochargers, at 4 bar cold and hot."""
    gallery = {"kind": "gallery", "pressure": "4 bar", "ports": {f"to_{n}": {"height": "100 mm"} for n in names}}
    facts = {"length": "400 mm", "length_is": "seat-to-seat", "rise": "0 mm"}
    runs = {f"F_{n}": run(f"main.to_{n}", f"{n}.feed", "ptfe-braid -4", "oil", **facts) for n in names}
    return {"main": gallery}, runs


def pump(inlet="150, 20, -60 mm", outlet="180, 20, -40 mm", **facts):
    ports = {"in": {"at": inlet}, "out": {"at": outlet}}
    return {"kind": "scavenge-pump", "ports": ports} | GIVES | facts


def whole(
    folder, *, given=None, hose="pipe", back="ptfe-braid -8", end="200, 40, -45 mm", more=None, runs=None, **plan
):
    """A turbocharger fed by a gallery, its drain to a scavenge pump, and the return to the sump."""
    gallery, feed = fed("turbo")
    sump = {"kind": "sump", "ports": {"drain": {"at": end}}} | BOX
    own = {"turbo": turbo(), "pump": given or pump(), "sump": sump}
    lines = {"D1": run("turbo.drain", "pump.in", hose, "drain", via=[]),
             "D2": run("pump.out", "sump.drain", back, "drain", via=[])}  # fmt: skip
    read_as = {"duties": {"cold": {}, "hot": {}}, "circuits": CIRCUITS, "attitudes": CLIMB, "stock": {"pipe": PIPE}}
    return study(
        read(
            folder,
            **read_as | plan,
            components=gallery | own | (more or {}),
            runs=feed | (lines if runs is None else runs),
        )
    )


def whole_of(folder, pipe):
    """The same with a line of this stock to the pump."""
    return whole(folder, stock={"pipe": pipe})


def by_rule(found):
    return {f.id: f for f in found}


def every(looked_at):
    checks = scavenge.flow, scavenge.suction, scavengelines.hoses, scavengelines.size, scavengelines.returns
    return by_rule([f for check in checks for f in check(looked_at)])


def test_a_drain_that_climbs_passes_with_a_pump(tmp_path):
    found = every(whole(tmp_path, given=pump(outlet="180, 20, -30 mm")))
    assert {f.id: f.verdict for f in found.values()} == {
        "drain.scavenge/pump": Verdict.PASS,
        "drain.suction/pump": Verdict.PASS,
        "run.suction/D1": Verdict.PASS,
        "drain.scavenge.size/pump": Verdict.PASS,
        "drain.scavenge.return/pump": Verdict.PASS,
    }
    assert "lamp that warns" in found["drain.scavenge/pump"].why.say("metric")


def test_its_findings_are_among_those_of_the_plan(tmp_path):
    looked_at = whole(tmp_path)
    assert every(looked_at).keys() <= by_rule(findings(looked_at)).keys()


def test_half_gas_is_twice_the_oil(tmp_path):
    looked_at = whole(tmp_path)
    drain = looked_at.drains["turbo"]
    found = every(looked_at)["drain.scavenge/pump"]
    # 8 L/min over twice the oil, by hand; at 1 kPa or less of suction when hot the foam grows by 1 % at most.
    hot = next(c.value.value for c in found.cases if (c.state.duty, c.state.attitude) == ("hot", "level"))
    assert hot == pytest.approx(8e-3 / 60 / (2 * drain.oil_flow[1]) - 1, rel=0.01)


def test_a_pump_too_small_fails_and_the_flow_that_is_asked_for_passes(tmp_path):
    found = every(whole(tmp_path, given=pump(flow="2 L/min")))["drain.scavenge/pump"]
    assert (found.place, found.verdict, found.worst.duty) == ("pump", Verdict.FAIL, "hot")
    wanted = found.change.parts["wanted"].value
    assert found.change.say("metric").startswith("A pump that takes ")
    assert (
        every(whole(tmp_path, given=pump(flow=f"{wanted * 1.001!r} m3/s")))["drain.scavenge/pump"].verdict
        is Verdict.PASS
    )
    # What falls short of it is a caution: it takes the foam, without the room that practice asks for.
    assert (
        every(whole(tmp_path, given=pump(flow=f"{wanted * 0.9!r} m3/s")))["drain.scavenge/pump"].verdict
        is Verdict.CAUTION
    )


def test_a_pump_that_stands_still_at_a_duty_fails_there(tmp_path):
    found = every(whole(tmp_path, given=pump(flow={"cold": "0 L/min", "hot": "8 L/min"})))["drain.scavenge/pump"]
    assert (found.verdict, found.worst.duty) == (Verdict.FAIL, "cold")


THIN = tube("5 mm", rigid=False, suction="0.9 bar")


def test_cold_foam_does_not_come_through_a_thin_hose_and_the_bore_that_is_asked_for_passes(tmp_path):
    looked_at = whole_of(tmp_path, THIN)
    found = every(looked_at)["drain.suction/pump"]
    assert (found.verdict, found.worst.duty) == (Verdict.FAIL, "cold")
    assert "draw" in found.why.say("metric")
    bore = found.change.parts["wide"].value
    again = every(whole_of(tmp_path, tube(f"{bore!r} m", rigid=False, suction="0.9 bar")))
    assert again["drain.suction/pump"].verdict is Verdict.PASS
    narrower = every(whole_of(tmp_path, tube(f"{bore * 0.9!r} m", rigid=False, suction="0.9 bar")))
    assert narrower["drain.suction/pump"].verdict is not Verdict.PASS


def test_foam_that_nothing_draws_is_not_given_a_vacuum(tmp_path):
    found = every(whole_of(tmp_path, tube("3 mm", rigid=False, suction="0.9 bar")))["drain.suction/pump"]
    assert found.verdict is Verdict.FAIL
    assert "no vacuum draws" in found.why.say("metric")


def test_an_attitude_of_one_duty_is_judged_at_that_alone(tmp_path):
    found = every(whole(tmp_path, attitudes={"climb": {"nose_up": "60 %", "duties": ["cold"]}}))["drain.suction/pump"]
    assert {(c.state.attitude, c.state.duty) for c in found.cases} == {
        ("level", "cold"),
        ("level", "hot"),
        ("climb", "cold"),
    }


def test_a_lift_takes_its_own(tmp_path):
    # A pump half a metre over the outlet: rho g h of half-gas oil, of about 850 kg/m3 at 20 C and 800 at 100 C.
    low, high = (
        every(whole(tmp_path, attitudes={}, given=pump(inlet=f"1, 0, {z} mm")))["drain.suction/pump"] for z in (0, 500)
    )
    duty = {c.state.duty: c.value.value for c in low.cases}
    raised = {c.state.duty: c.value.value for c in high.cases}
    assert duty["hot"] - raised["hot"] > 0.5 * 400 * 9.81 * 0.9


def test_a_hose_that_nobody_rated_is_unchecked_and_one_that_folds_fails(tmp_path):
    found = every(whole(tmp_path, hose="ptfe-braid -10"))["run.suction/D1"]
    assert found.verdict is Verdict.UNCHECKED
    assert "vacuum rating" in found.needs
    weak = tube("12.7 mm", rigid=False, suction="0.3 bar")
    assert every(whole_of(tmp_path, weak))["run.suction/D1"].verdict is Verdict.FAIL
    # A tube does not fold, and the hose behind the pump is under no suction.
    assert not any(f.startswith("run.suction") for f in every(whole_of(tmp_path, tube("12.7 mm"))))


def test_a_figure_that_nobody_stated_is_asked_for(tmp_path):
    silent = {key: value for key, value in pump().items() if key not in GIVES}
    found = every(whole(tmp_path, given=silent))
    for rule, key in (("drain.scavenge/pump", "flow"), ("drain.suction/pump", "vacuum"), ("run.suction/D1", "vacuum")):
        assert found[rule].verdict is Verdict.UNCHECKED
        assert found[rule].needs.startswith(f"{key} in [components.pump]")


def test_a_vacuum_deeper_than_the_air_is_refused(tmp_path):
    found = every(whole(tmp_path, given=pump(vacuum="1.2 bar")))["drain.suction/pump"]
    assert found.verdict is Verdict.UNCHECKED


def test_a_line_out_wider_than_the_line_in_cautions(tmp_path):
    found = every(whole(tmp_path, back="ptfe-braid -12"))["drain.scavenge.size/pump"]
    assert found.verdict is Verdict.CAUTION
    assert found.value.value == pytest.approx(12.7 / 15.875)  # 12.7 mm over 5/8 in


# ---------------------------------------------------------------- its return


def test_a_return_under_the_oil_cautions_by_how_much(tmp_path):
    # The oil stands at -150 mm on the level.
    found = every(whole(tmp_path, attitudes={}, end="200, 40, -190 mm"))["drain.scavenge.return/pump"]
    assert found.verdict is Verdict.CAUTION
    assert found.value.value == pytest.approx(-0.040, abs=1e-6)
    assert "check valve" in found.change.say("metric")


def test_a_return_over_the_oil_on_the_level_may_lie_under_it_on_a_climb(tmp_path):
    # 270 mm behind the middle of the surface a 60 % climb raises the oil by about 160 mm, and it ends 105 mm over it.
    facts = {"end": "30, 0, -45 mm", "given": pump(outlet="30, 0, -20 mm")}
    assert every(whole(tmp_path, attitudes={}, **facts))["drain.scavenge.return/pump"].verdict is Verdict.PASS
    found = every(whole(tmp_path, **facts))["drain.scavenge.return/pump"]
    assert (found.verdict, found.worst.attitude) == (Verdict.CAUTION, "climb")


def test_a_pump_under_the_end_of_its_return_wants_a_check_valve(tmp_path):
    low = pump(inlet="150, 20, -120 mm", outlet="180, 20, -120 mm")
    found = every(whole(tmp_path, given=low))["drain.scavenge.return/pump"]
    assert found.verdict is Verdict.CAUTION
    assert "runs back" in found.why.say("metric")
    at = {"in": {"at": "185, 20, -100 mm"}, "out": {"at": "190, 20, -90 mm"}}
    runs = {
        "D1": run("turbo.drain", "pump.in", "pipe", "drain", via=[]),
        "D2": run("pump.out", "valve.in", "ptfe-braid -8", "drain", via=[]),
        "D3": run("valve.out", "sump.drain", "ptfe-braid -8", "drain", via=[]),
    }
    valve = {"valve": {"kind": "check-valve", "crack": "0.05 bar", "points": POINTS, "ports": at}}
    found = every(whole(tmp_path, given=low, more=valve, runs=runs))["drain.scavenge.return/pump"]
    assert found.verdict is Verdict.PASS


def test_a_pump_without_a_return_is_told(tmp_path):
    runs = {"D1": run("turbo.drain", "pump.in", "pipe", "drain", via=[])}
    found = by_rule(findings(whole(tmp_path, runs=runs)))
    assert found["drain.scavenge.return/pump"].verdict is Verdict.UNCHECKED
    assert "pump.out" in found["drain.scavenge.return/pump"].needs
    assert "pump.out" in found["port.open/pump"].why.say("metric")


def test_oil_that_is_pumped_overboard_fails(tmp_path):
    runs = {
        "D1": run("turbo.drain", "pump.in", "pipe", "drain", via=[]),
        "D2": run("pump.out", "air.in", "ptfe-braid -8", "drain", via=[]),
    }
    air = {"air": {"kind": "open", "ports": {"in": {"at": "200, 40, -45 mm"}}}}
    assert every(whole(tmp_path, more=air, runs=runs))["drain.scavenge.return/pump"].verdict is Verdict.FAIL


def test_a_pump_that_no_turbocharger_drains_to_asks_for_one(tmp_path):
    runs = {"D2": run("pump.out", "sump.drain", "ptfe-braid -8", "drain", via=[])}
    assert every(whole(tmp_path, runs=runs))["drain.scavenge/pump"].verdict is Verdict.UNCHECKED


# ---------------------------------------------------------------- two turbochargers, a screen


def test_two_turbochargers_at_one_pump_are_counted_together(tmp_path):
    gallery, feed = fed("turbo", "other")
    tee = {"kind": "tee", "bore": "12 mm", "ports": {"a": {"at": "100, 0, -40 mm"}, "b": {"at": "120, 0, -40 mm"},
                                                     "branch": {"at": "110, 20, -40 mm"}}}  # fmt: skip
    runs = feed | {
        "D1": run("turbo.drain", "tee.a", "pipe", "drain", via=[]),
        "D3": run("other.drain", "tee.branch", "pipe", "drain", via=[]),
        "D4": run("tee.b", "pump.in", "pipe", "drain", via=[]),
        "D2": run("pump.out", "sump.drain", "ptfe-braid -8", "drain", via=[]),
    }
    twins = gallery | {"other": turbo("100, 200, 0 mm"), "tee": tee}
    looked_at = whole(tmp_path, more=twins, runs=runs)
    alone = every(whole(tmp_path))["drain.scavenge/pump"]
    found = every(looked_at)["drain.scavenge/pump"]
    # Twice the oil, as alike as the two are fed: 1 + over is halved.
    assert (1 + alone.value.value) / (1 + found.value.value) == pytest.approx(2.0, rel=0.05)
    assert "turbo and other" in every(whole(tmp_path, given=pump(flow="1 L/min"), more=twins, runs=runs))[
        "drain.scavenge/pump"
    ].why.say("metric")
    assert scavenged(circuit(looked_at.plan, "drain")) == {"D1", "D2", "D3", "D4"}


def test_a_screen_ahead_of_the_pump_takes_its_drop(tmp_path):
    # One point alone is inertial: drop = 0.1 bar (q / 2 L/min)^2 (rho / rho of the point).
    ports = {"in": {"at": "70, 10, -30 mm"}, "out": {"at": "80, 10, -32 mm"}}
    taken_at = {"fluid": "10w-40", "temperature": "100 C", "flow": ["2 L/min"], "drop": ["0.1 bar"]}
    screen = {"screen": {"kind": "filter", "points": taken_at, "ports": ports}}
    union = {"screen": {"kind": "union", "ports": {"a": ports["in"], "b": ports["out"]}}}

    def taken(part, a, b):
        runs = {
            "D1": run("turbo.drain", f"screen.{a}", "pipe", "drain", via=[]),
            "D4": run(f"screen.{b}", "pump.in", "pipe", "drain", via=[]),
            "D2": run("pump.out", "sump.drain", "ptfe-braid -8", "drain", via=[]),
        }
        looked_at = whole(tmp_path, attitudes={}, more=part, runs=runs)
        cases = every(looked_at)["drain.suction/pump"].cases
        return looked_at, next(0.4e5 - c.value.value for c in cases if c.state.duty == "hot")

    looked_at, with_screen = taken(screen, "in", "out")
    _, without = taken(union, "a", "b")
    oil = looked_at.drains["turbo"].oil_flow[1] * 60e3
    # Twice the volume at half the density. Grown by the suction, which takes part of a tenth of the air's pressure.
    wanted = 0.1e5 * (2 * oil / 2.0) ** 2 * 0.5
    assert wanted < with_screen - without < 1.1 * wanted


# ---------------------------------------------------------------- what to fit


def test_what_situation_5_needs_is_said_and_passes(tmp_path):
    # The crawler's drain that falls forward: 260 forward, 40 left, 95 down, and uphill on a 60 % climb.
    gallery, feed = fed("turbo")
    sump = {"kind": "sump", "ports": {"drain": {"at": "260, 40, -95 mm"}}} | BOX
    runs = feed | {"D1": run("turbo.drain", "sump.drain", "ptfe-braid -10", "drain", via=[])}
    looked_at = study(
        read(
            tmp_path,
            duties={"cold": {}, "hot": {}},
            circuits=CIRCUITS,
            attitudes=CLIMB,
            components=gallery | {"turbo": turbo(), "sump": sump},
            runs=runs,
        )
    )
    drain = looked_at.drains["turbo"]
    assert isinstance(drain, Drain)
    said = sized(looked_at.plan, drain)
    assert said.say("metric").startswith("a scavenge pump: at least ")
    # Twice the oil when hot, by half more, and no more than a few per cent for what the suction adds.
    assert said.parts["flow"].value == pytest.approx(1.5 * 2 * drain.oil_flow[1], rel=0.05)
    # A pump of just these figures at the end of the same line passes.
    fits = pump(
        inlet="260, 40, -95 mm",
        outlet="290, 40, -30 mm",
        flow=f"{said.parts['flow'].value * 1.001!r} m3/s",
        vacuum=f"{said.parts['vacuum'].value * 1.001!r} Pa",
    )
    found = every(whole(tmp_path, given=fits, hose="ptfe-braid -10", end="300, 40, -45 mm"))
    assert found["drain.scavenge/pump"].verdict is Verdict.PASS
    assert found["drain.suction/pump"].verdict is Verdict.PASS


def test_sizing_says_where_no_pump_draws_cold_foam_through_the_line(tmp_path):
    looked_at = whole_of(tmp_path, tube("4 mm", rigid=False, suction="0.9 bar"))
    said = sized(looked_at.plan, looked_at.drains["turbo"]).say("metric")
    assert "at cold not even" in said
    assert "bore or more" in said


def test_a_gravity_drain_is_moved_by_no_pump(tmp_path):
    runs = {"D1": run("turbo.drain", "sump.drain", "pipe", "drain", via=[])}
    looked_at = whole(tmp_path, runs=runs)
    assert scavenged(circuit(looked_at.plan, "drain")) == set()
    assert every(looked_at) == {}
