"""How long empty lines take to fill: by closed forms of a linear pump, and by a front that is followed step by step."""

import re

import numpy as np
import pytest
from fluids import fittings
from fuelled import BOX, HOSE, LIQUID, PORTS, fuel_plan
from writing import FLUID, run, tube

from lines.finding import Verdict
from solver.checks.priming import fills
from solver.fuels import pumps
from solver.priming import Filling, far_ends, held, line_at
from solver.study import study

LH, KPA, RHO, G = 1e-3 / 3600, 1e3, 750.0, 9.80665
MOST, LOSES = 300 * LH, 0.4 * LH / KPA  # m3/s at no rise, and m3/s for each Pa of it
POINTS = {0: 300, 300: 180, 600: 60}
THICK = 0.05  # Pa s
OIL = LIQUID | {"viscosity": FLUID | {"law": "log", "at": ["0 C", "60 C"], "is": ["50.001 mPa s", "49.999 mPa s"]}}
LOW = 0.450  # m, the fuel
AT = {"in": {"at": "-1600, 100, 450 mm"}, "out": {"at": "-1500, 100, 450 mm"}}


def primed(folder, *, points=POINTS, heights=(450, 450), bore="40 mm", tubes=None, **facts):
    """The plain system with a linear pump at the height of the low fuel; rail and regulator at these heights [mm]."""
    curve = [{"volts": "13 V", "rise": f"{p} kPa", "flow": f"{q} L/h"} for p, q in points.items()]
    rail, regulator = heights
    components = {
        "rail": {"kind": "rail", "bore": "14 mm", "length": "400 mm", "ports": {"in": {"height": f"{rail} mm"}}},
        "regulator": {
            "kind": "regulator",
            "set": "300 kPa",
            "reference": "manifold",
            "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["300 L/h"], "drop": ["20 kPa"]},
            "ports": {"in": {"height": f"{regulator} mm"}, "return": {"height": f"{regulator} mm"}},
        },
    }
    runs = {
        "F2": run("pump.out", "rail.in", "hose", **HOSE),
        "F3": run("rail.out", "regulator.in", "hose", **HOSE),
    }
    return study(
        fuel_plan(
            folder,
            bore=bore,
            pump={"curve": "line", "ports": AT} | facts.pop("pump", {}),
            components=components | facts.pop("components", {}),
            runs=runs | facts.pop("runs", {}),
            more_stock=tubes,
            more_curves=facts.pop("more", {})
            | {"line": {"means": "invented", "points": curve, "source": "invented", "grade": "illustrative"}},
            **facts,
        )
    )


def filling(made):
    (pump,) = pumps(made.circuits["line"])
    return Filling(made.solutions["line"], made.assemblies, pump, made.plan.ambient.pressures)


def judged(made):
    (found,) = fills(made)
    return found


def volume(bore, length):
    return np.pi * bore**2 / 4 * length


def resists(bore, length):
    """Of a laminar bore [Pa s/m3], by Hagen and Poiseuille."""
    return 128 * THICK * length / (np.pi * bore**4)


def test_lines_hold_their_bores(tmp_path):
    made = primed(tmp_path)
    circuit, answer = made.circuits["line"], made.solutions["line"]
    both = volume(0.008, 3.0)
    assert held(answer, line_at(circuit, "pump.out")) == pytest.approx(2 * both + volume(0.014, 0.4))
    assert held(answer, line_at(circuit, "pump.in")) == pytest.approx(volume(0.040, 3.0))
    assert held(answer, line_at(circuit, "regulator.return")) == pytest.approx(both)
    assert far_ends(circuit, "pump.out") == ["regulator"]
    said = judged(made).why.say("metric")
    assert f"to regulator take {1e6 * (2 * both + volume(0.014, 0.4)):.0f} mL" in said


def test_against_friction_alone_it_is_the_integral_along_the_line(tmp_path):
    # flow = a/(1 + b R) with R of what is full: over a bore that fills, the integral of dV (1 + b (R0 + R x))/a.
    bores = [(0.008, 3.0), (0.014, 0.4), (0.008, 3.0)]
    before, time = resists(0.040, 3.0), 0.0
    for bore, length in bores:
        own = resists(bore, length)
        time += volume(bore, length) * (1 + LOSES * (before + own / 2)) / MOST
        before += own
    made = primed(tmp_path, liquid=OIL)
    assert filling(made).times() == pytest.approx(time, rel=2e-3)
    assert time > 1.1 * sum(volume(*one) for one in bores) / MOST


def test_against_its_height_alone_it_is_a_logarithm(tmp_path):
    # 20 m up in a wide tube; the rail and what follows fill at what the pump gives up there.
    runs = {"F2": run("pump.out", "rail.in", "wide", length="20 m", length_is="overall")}
    made = primed(tmp_path, heights=(20450, 20450), runs=runs, tubes={"wide": tube("30 mm")})
    by_height = LOSES * RHO * G
    least = MOST - by_height * 20
    time = volume(0.030, 20.0) / (by_height * 20) * np.log(MOST / least)
    time += (volume(0.014, 0.4) + volume(0.008, 3.0)) / least
    assert filling(made).times() == pytest.approx(time, rel=5e-3)
    assert judged(made).verdict is Verdict.CAUTION
    turns = int(re.search(r"(\d+) times key on of 2.0 s", judged(made).why.say("metric"))[1])
    assert 2 * (turns - 1) < filling(made).times()[0] <= 2 * turns


def test_over_a_hump_it_lifts_to_the_top_of_it(tmp_path):
    # Down from the hump the liquid falls ahead of its front: the pump is taken to lift to the top all the same.
    components = {
        "rail": {
            "kind": "rail",
            "bore": "14 mm",
            "length": "1 mm",
            "ports": {"in": {"at": "-500, 100, 450 mm"}, "out": {"at": "-400, 100, 450 mm"}},
        }
    }
    via = ["-1000, 100, 450 mm", "-1000, 100, 20450 mm", "-900, 100, 20450 mm", "-900, 100, 450 mm"]
    short = {"length": "0.01 m", "length_is": "overall"}
    runs = {
        "F2": run("pump.out", "rail.in", "wide", via=via),
        "F3": run("rail.out", "regulator.in", "hose", **short),
    }
    made = primed(tmp_path, components=components, runs=runs, tubes={"wide": tube("30 mm")})
    by_height = LOSES * RHO * G
    least = MOST - by_height * 20
    up = volume(0.030, 20.0) / (by_height * 20) * np.log(MOST / least)
    time = up + volume(0.030, 0.5) / MOST + volume(0.030, 0.1 + 20.0 + 0.4) / least
    assert filling(made).times() == pytest.approx(time, rel=0.02)


def test_a_curve_is_carried_no_farther_than_its_first_point(tmp_path):
    made = primed(tmp_path, points={100: 260, 300: 180, 600: 60})
    assert filling(made).times() == pytest.approx((2 * volume(0.008, 3.0) + volume(0.014, 0.4)) / (260 * LH), rel=1e-6)


def test_what_it_does_not_lift_is_told(tmp_path):
    found = judged(primed(tmp_path, points={0: 300, 300: 180, 590: 60}, heights=(90450, 450)))
    assert found.verdict is Verdict.UNCHECKED
    assert "more than its curve has at idle" in found.why.say("metric")


def test_a_check_valve_takes_what_opens_it(tmp_path):
    points = {"fluid": "liquid", "temperature": "20 C", "flow": ["300 L/h"], "drop": ["100.001 kPa"]}
    check = {"kind": "check-valve", "crack": "100 kPa", "points": points}
    runs = {
        "F2": run("pump.out", "check.in", "hose", **HOSE),
        "F5": run("check.out", "rail.in", "hose", **HOSE, rise="0 mm"),
    }
    made = primed(tmp_path, components={"check": check}, runs=runs, tubes={"hose": tube("30 mm")})
    # Before it the pump gives its most; behind it 40 L/h less.
    after = 2 * volume(0.030, 3.0) + volume(0.014, 0.4)
    time = volume(0.030, 3.0) / MOST + after / (MOST - LOSES * 100 * KPA)
    assert filling(made).times() == pytest.approx(time, rel=5e-3)


def test_lines_that_part_fill_no_later_than_is_said(tmp_path):
    # Followed step by step: the pump's line a - b p, a trunk, two branches whose fronts see the same pressure.
    tiny = {"kind": "rail", "bore": "8 mm", "length": "1 mm", "ports": {"in": {"height": "450 mm"}}}
    rails = dict.fromkeys(("l", "r", "rail"), tiny)
    split = {"kind": "manifold", "bore": "8 mm", "ports": {k: {"height": "450 mm"} for k in ("feed", "l", "r", "on")}}
    long, short = {"length": "3 m", "length_is": "overall"}, {"length": "1 m", "length_is": "overall"}
    runs = {
        "F2": run("pump.out", "split.feed", "hose", **long),
        "F3": run("split.on", "rail.in", "hose", **short),
        "F7": run("rail.out", "regulator.in", "hose", length="10 mm", length_is="overall"),
        "F5": run("split.l", "l.in", "hose", **long),
        "F6": run("split.r", "r.in", "hose", **short),
    }
    made = primed(tmp_path, liquid=OIL, components=rails | {"split": split}, runs=runs)
    assert not filling(made).comes_together
    lengths, full = np.array([1.0, 3.0, 1.0]), np.zeros(3)
    trunk, step, time = resists(0.040, 3.0) + resists(0.008, 3.0), 1e-3, 0.0
    while (full < lengths).any():
        open_ = np.where(full < lengths, 1 / np.maximum(resists(0.008, 1.0) * full, 1e3), 0.0)
        # a - b p = p_node open, p = p_node + trunk q.
        node = MOST / (open_.sum() * (1 + LOSES * trunk) + LOSES)
        full, time = full + step * node * open_ / volume(0.008, 1.0), time + step
    time += volume(0.008, 3.0) * (1 + LOSES * (resists(0.040, 3.0) + resists(0.008, 3.0) / 2)) / MOST
    said = filling(made).times()
    assert (said >= 0.995 * time).all()
    assert said == pytest.approx(time, rel=0.25)


def test_a_pump_over_the_low_fuel_has_to_lift_dry(tmp_path):
    high = {"in": {"at": "-1600, 100, 600 mm"}, "out": {"at": "-1500, 100, 600 mm"}}
    found = judged(primed(tmp_path, pump={"ports": high}))
    assert found.verdict is Verdict.UNCHECKED
    assert "comes 150 mm over the low fuel" in found.why.say("metric")
    assert "dry_lift in [components.pump]" in found.needs
    assert judged(primed(tmp_path, pump={"ports": high, "dry_lift": "0.2 m"})).verdict is Verdict.PASS
    found = judged(primed(tmp_path, pump={"ports": high, "dry_lift": "0.1 m"}))
    assert found.verdict is Verdict.CAUTION
    assert "50 mm lower" in found.change.say("metric")


def test_what_a_filter_holds_is_asked_for(tmp_path):
    points = {"fluid": "liquid", "temperature": "20 C", "flow": ["300 L/h"], "drop": ["1 kPa"]}
    runs = {
        "F2": run("pump.out", "filter.in", "hose", **HOSE),
        "F5": run("filter.out", "rail.in", "hose", **HOSE, rise="0 mm"),
    }

    def found(**facts):
        return primed(tmp_path, components={"filter": {"kind": "filter", "points": points} | facts}, runs=runs)

    assert judged(found()).verdict is Verdict.UNCHECKED
    assert "volume in [components.filter]" in judged(found()).needs
    # A litre more takes 12 s at 300 L/h.
    more = filling(found(volume="2 L")).times() - filling(found(volume="1 L")).times()
    assert more == pytest.approx(12.0, rel=0.03)


# ---------------------------------------------------------------- tees, humps, altitude


def test_air_at_each_duty_is_that_of_its_altitude(tmp_path):
    # The tank is vented: the air over the fuel and that at the front are one, so that altitude changes nothing.
    altitude = {"idle": "0 m", "full": "3000 m"}
    made = primed(tmp_path, plan={"ambient": {"temperature": "20 C", "altitude": altitude}})
    idle, full = filling(made).times()
    assert made.plan.ambient.pressures[0] > made.plan.ambient.pressures[1] + 25e3
    assert full == pytest.approx(idle, rel=1e-6)


def test_a_hump_in_the_first_run_is_lifted_over_by_all_that_follow(tmp_path):
    via = ["-1000, 100, 450 mm", "-1000, 100, 20450 mm", "-900, 100, 20450 mm", "-900, 100, 450 mm"]
    rail = {"kind": "rail", "bore": "14 mm", "length": "1 mm"}
    rail |= {"ports": {"in": {"at": "-500, 100, 450 mm"}, "out": {"at": "-400, 100, 450 mm"}}}
    runs = {
        "F2": run("pump.out", "rail.in", "wide", via=via),
        "F3": run("rail.out", "regulator.in", "wide", length="30 m", length_is="overall"),
    }
    made = primed(tmp_path, components={"rail": rail}, runs=runs, tubes={"wide": tube("30 mm")})
    by_height = LOSES * RHO * G
    least = MOST - by_height * 20
    up = volume(0.030, 20.0) / (by_height * 20) * np.log(MOST / least)
    # The second run lies low: it fills at what the pump gives up there all the same.
    time = up + volume(0.030, 0.5) / MOST + volume(0.030, 20.5 + 30.0) / least
    assert filling(made).times() == pytest.approx(time, rel=0.02)


def teed(folder, branch):
    """A run to a tee of a 4 mm bore, on to the regulator by its branch or straight, and a stub at the other leg."""
    tee = {"kind": "tee", "bore": "4 mm", "ports": {k: {"height": "450 mm"} for k in ("a", "b", "branch")}}
    stub = {"kind": "rail", "bore": "14 mm", "length": "1 mm", "ports": {"in": {"height": "450 mm"}}}
    on, off = ("branch", "b") if branch else ("b", "branch")
    runs = {
        "F2": run("pump.out", "tee.a", "wide", **HOSE),
        "F5": run(f"tee.{on}", "rail.in", "wide", length="30 m", length_is="overall"),
        "F6": run(f"tee.{off}", "stub.in", "wide", length="10 mm", length_is="overall"),
        "F3": run("rail.out", "regulator.in", "wide", length="10 mm", length_is="overall"),
    }
    return primed(folder, components={"tee": tee, "stub": stub}, runs=runs, tubes={"wide": tube("30 mm")})


def test_a_tee_takes_what_its_coefficient_says(tmp_path):
    long, straight = (filling(teed(tmp_path, branch)).times()[0] for branch in (True, False))
    # Crane, TP-410 (2009), chapter 2, equal bores: 1.69 into the branch with all of the flow, straight on none of it.
    head = RHO / 2 / (np.pi * 0.004**2 / 4) ** 2
    into, on = fittings.K_branch_diverging_Crane(1, 1, 0.0, 1.0), fittings.K_run_diverging_Crane(1, 1, 1.0, 0.0)
    assert into == pytest.approx(1.69)
    # All else that it takes goes with the square of the flow; what fills before the tee alone takes nothing.
    before, after = volume(0.030, 3.0) / MOST, volume(0.030, 30.02) + volume(0.014, 0.4)
    flow = after / (straight - before)
    rest = (MOST - flow) / LOSES / flow**2
    steep = LOSES * (rest + (into - on) * head)
    less = (np.sqrt(1 + 4 * steep * MOST) - 1) / (2 * steep)
    assert less < 0.98 * flow
    assert long - straight == pytest.approx(after / less - after / flow, rel=0.03)


# ---------------------------------------------------------------- what others do


def test_a_pump_that_another_feeds_draws_from_the_tank_before_that(tmp_path):
    # Both have the one line; the first gives 150 L/h at most, so that no more comes.
    def lift(most):
        rises = {0: most, 50: 60, 90: 20}
        points = [{"volts": "13 V", "rise": f"{p} kPa", "flow": f"{q} L/h"} for p, q in rises.items()]
        ports = {"in": {"at": "-1780, 0, 450 mm"}, "out": {"at": "-1750, 0, 450 mm"}}
        return primed(
            tmp_path,
            components={"lift": {"kind": "pump", "curve": "lift", "volts": "13 V", "ports": ports}},
            runs={
                "F1": run("tank.out", "lift.in", "wide", **HOSE),
                "F5": run("lift.out", "pump.in", "wide", **HOSE),
                "F2": run("pump.out", "rail.in", "wide", length="20 m", length_is="overall"),
                "F3": run("rail.out", "regulator.in", "wide", length="1 m", length_is="overall"),
            },
            tubes={"wide": tube("30 mm")},
            heights=(20450, 20450),
            more={"lift": {"means": "invented", "points": points, "source": "invented", "grade": "illustrative"}},
        )

    def main(made):
        pump = next(pump for pump in pumps(made.circuits["line"]) if pump.name.startswith("pump"))
        return Filling(made.solutions["line"], made.assemblies, pump, made.plan.ambient.pressures).times()

    by_height = LOSES * RHO * G
    least = MOST - by_height * 20
    time = volume(0.030, 20.0) / (by_height * 20) * np.log(MOST / least)
    time += (volume(0.014, 0.4) + volume(0.030, 1.0)) / least
    assert main(lift(400)) == pytest.approx(time, rel=5e-3)
    whole = volume(0.030, 21.0) + volume(0.014, 0.4)
    assert main(lift(150)) == pytest.approx(whole / (150 * LH), rel=1e-6)


def test_it_fills_nothing_back_through_the_check_valve_of_another_pump(tmp_path):
    points = {"fluid": "liquid", "temperature": "20 C", "flow": ["300 L/h"], "drop": ["1 kPa"]}

    def at(height, *names):
        return {"ports": {name: {"height": height} for name in names}}

    check = {"kind": "check-valve", "crack": "0.5 kPa", "points": points} | at("450 mm", "in", "out")
    parts = {
        "pump2": {"kind": "pump", "curve": "line", "volts": "13 V"} | at("450 mm", "in", "out"),
        "cv1": check,
        "cv2": check,
        "join": {"kind": "manifold", "bore": "8 mm"} | at("450 mm", "a", "b", "c"),
    }
    tank = BOX | {"ports": {k: {"at": v} for k, v in (PORTS | {"out2": "-1800, 150, 310 mm"}).items()}}
    runs = {
        "P2": run("tank.out2", "pump2.in", "inlet", **HOSE),
        "F2": run("pump.out", "cv1.in", "hose", **HOSE),
        "B2": run("pump2.out", "cv2.in", "hose", **HOSE),
        "F5": run("cv1.out", "join.a", "hose", **HOSE),
        "B5": run("cv2.out", "join.b", "hose", **HOSE),
        "F6": run("join.c", "rail.in", "hose", **HOSE),
    }
    made = primed(tmp_path, components=parts, runs=runs, tank=tank)
    circuit, answer = made.circuits["line"], made.solutions["line"]
    filled = {edge.name for edge in line_at(circuit, "pump.out") if edge.run is not None}
    assert filled == {"F2", "F5", "B5", "F6", "F3"}
    assert far_ends(circuit, "pump.out") == ["regulator", "cv2"]
    (pump,) = (pump for pump in pumps(circuit) if pump.name == "pump: pump")
    found = Filling(answer, made.assemblies, pump, made.plan.ambient.pressures)
    assert held(answer, found.edges) == pytest.approx(volume(0.008, 15.0) + volume(0.014, 0.4))


def fed(folder, set_, drop="0.001 kPa", height=450, **facts):
    """The line behind a feed regulator, which takes so much at 300 L/h wide open."""
    feed = {
        "kind": "feed-regulator",
        "set": set_,
        "reference": "open air",
        "slope": "0 kPa per 100 L/h",
        "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["300 L/h"], "drop": [drop]},
        "ports": {"in": {"height": "450 mm"}, "out": {"height": "450 mm"}},
    }
    runs = {
        "F2": run("pump.out", "feed.in", "wide", **HOSE),
        "F5": run("feed.out", "rail.in", "hose", length="8 m", length_is="overall"),
        "F3": run("rail.out", "regulator.in", "hose", length="10 mm", length_is="overall"),
    }
    return primed(
        folder,
        components={"feed": feed},
        runs=runs,
        heights=(height, height),
        tubes={"wide": tube("30 mm")},
        **facts,
    )


def test_it_fills_through_a_feed_regulator_that_is_wide_open(tmp_path):
    made = fed(tmp_path, "300 kPa")
    circuit = made.circuits["line"]
    assert far_ends(circuit, "pump.out") == ["regulator"]
    whole = volume(0.030, 3.0) + volume(0.008, 8.01) + volume(0.014, 0.4)
    assert held(made.solutions["line"], line_at(circuit, "pump.out")) == pytest.approx(whole)
    assert whole / MOST < filling(made).times()[0] < 1.1 * whole / MOST
    # 100 kPa at 300 L/h, by the square of the flow: it takes that as soon as it is passed.
    flow = (np.sqrt(1 + 4 * LOSES * 100 * KPA / MOST) - 1) / (2 * LOSES * 100 * KPA / MOST**2)
    more = filling(fed(tmp_path, "300 kPa", "100 kPa")).times() - filling(made).times()
    assert more == pytest.approx((volume(0.008, 8.0) + volume(0.014, 0.4)) * (1 / flow - 1 / MOST), rel=0.1)


def test_no_more_comes_than_leaves_a_feed_regulator_what_it_holds(tmp_path):
    before, behind = resists(0.040, 3.0) + resists(0.030, 3.0), resists(0.008, 1.0)
    full = (np.arange(4000) + 0.5) / 4000 * 8.0
    alone = MOST / (1 + LOSES * (before + behind * full))
    flow = np.minimum(alone, 100 * KPA / (behind * full))
    assert 0.2 < (flow < alone).mean() < 0.9
    time = volume(0.008, 8.0) * (1 / flow).mean() + (volume(0.014, 0.4) + volume(0.008, 0.01)) / flow[-1]
    time += volume(0.030, 3.0) * (1 + LOSES * (before - resists(0.030, 1.5))) / MOST
    assert filling(fed(tmp_path, "100 kPa", liquid=OIL)).times() == pytest.approx(time, rel=0.01)
    assert filling(fed(tmp_path, "900 kPa", liquid=OIL)).times()[0] < 0.99 * time
    high = judged(fed(tmp_path, "10 kPa", height=2450))
    assert high.verdict is Verdict.UNCHECKED
    assert "feed holds less at idle than the height" in high.why.say("metric")
