"""What components and hoses cost inside a plan, against closed forms."""

import math

import fluids.fittings
import numpy as np
import pytest
from writing import fluid, line, read, run, tube

from lines.assembly import assemblies
from solver.solution import Unsolved, solve_plan


def law_of(a, b, flows, rho, mu):
    """Drop [Pa] = a mu q + b rho q^2 at flows [L/min]."""
    q = np.array(flows) / 60_000
    return a * mu * q + b * rho * q**2


def through(folder, liquid, *, circuit="20 C", **component):
    """Drop [Pa] of one component that carries a known flow of a liquid."""
    flow = component.pop("flow")
    plan = read(
        folder,
        fluids={"liquid": liquid},
        circuits={"line": {"fluid": "liquid", "temperature": circuit}},
        components={
            "source": {"kind": "source", "pressure": "10 bar"},
            "part": component,
            "end": {"kind": "draw", "flow": flow},
        },
        stock={"pipe": tube("10 mm")},
        runs={
            "P1": run("source.out", "part.in", "pipe", length="10 mm", length_is="overall", rise="0 m"),
            "P2": run("part.out", "end.in", "pipe", length="10 mm", length_is="overall", rise="0 m"),
        },
    )
    found = line(plan)
    return float((found.total("part.in") - found.total("part.out"))[0])


@pytest.mark.parametrize(("flow", "kilopascal"), [("0.51 L/min", 100), ("0.88 L/min", 300)])
def test_a_sharp_hole_of_1_mm(tmp_path, flow, kilopascal):
    # q = Cd A sqrt(2 dp / rho), Cd 0.7, oil of 840 kg/m3: 0.51 and 0.88 L/min. Two figures: 1 % of flow, 2 % of drop.
    hole = {"kind": "restrictor", "bore": "1.0 mm", "length": "0 mm", "cd": "0.7", "flow": flow}
    found = through(tmp_path, fluid("840 kg/m3", "8 mPa s"), **hole)
    assert found / 1e3 == pytest.approx(kilopascal, rel=0.02)


def test_cold_oil_through_a_long_hole_is_laminar(tmp_path):
    # 10 mm of 1.0 mm bore, 1 Pa s: Sampson's entry loss, 24 mu q / D^3, and 128 mu L q / (pi D^4) of Hagen and
    # Poiseuille (Dagan, Weinbaum and Pfeffer, J. Fluid Mech. 115, 1982); the inertial part is 0.02 %.
    hole = {"kind": "restrictor", "bore": "1.0 mm", "length": "10 mm", "flow": "0.01 L/min"}
    found = through(tmp_path, fluid("880 kg/m3", "1 Pa s"), **hole)
    assert found == pytest.approx((24e9 + 128 * 0.01 / (math.pi * 1e-12)) * (0.01 / 60_000), rel=1e-3)


@pytest.mark.parametrize(
    ("viscosity", "scale"), [("1.0016 mPa s", (1, 0.85)), ("10.016 mPa s", (10, 0.85)), ("0.10016 mPa s", (0.1, 0.85))]
)
def test_points_taken_with_water_serve_another_liquid(tmp_path, viscosity, scale):
    # The viscous part goes with the viscosity, the inertial part with the density.
    rho, mu, flows = 998.21, 1.0016e-3, [2.0, 5.0, 10.0]
    drops = law_of(3e10, 4e9, flows, rho, mu)
    stated = {"fluid": "water", "temperature": "20 C", "flow": [f"{q} L/min" for q in flows]}
    stated |= {"drop": [f"{p!r} Pa" for p in drops.tolist()]}
    found = through(tmp_path, fluid(f"{0.85 * rho!r} kg/m3", viscosity), kind="filter", points=stated, flow="8 L/min")
    thin, dense = scale
    assert found == pytest.approx(law_of(3e10, 4e9, [8.0], rho * dense, mu * thin)[0], rel=1e-4)


def test_the_two_halves_of_a_rail_are_its_whole_length(tmp_path):
    # No fuel taken, so that all of it passes: Hagen and Poiseuille over 300 mm of 6 mm bore, Re 100.
    plan = read(
        tmp_path,
        fluids={"thick": fluid("800 kg/m3", "0.1 Pa s")},
        circuits={"line": {"fluid": "thick", "temperature": "20 C"}},
        duties={"off": {"burn": "0 lb/h"}},
        components={
            "source": {"kind": "source", "pressure": "10 bar"},
            "rail": {"kind": "rail", "bore": "6 mm", "length": "300 mm"},
            "end": {"kind": "draw", "flow": "3 L/min"},
        },
        stock={"pipe": tube("10 mm")},
        runs={
            "P1": run("source.out", "rail.in", "pipe", length="10 mm", length_is="overall", rise="0 m"),
            "P2": run("rail.out", "end.in", "pipe", length="10 mm", length_is="overall", rise="0 m"),
        },
    )
    found = line(plan)
    lost = float((found.total("rail.in") - found.total("rail.out"))[0])
    assert lost == pytest.approx(128 * 0.1 * 0.3 * (3 / 60_000) / (math.pi * 0.006**4), rel=1e-4)


def test_a_hose_widens_behind_its_first_end_and_narrows_before_its_second(tmp_path):
    # -6 hose, 5/16 in, with ends of 0.261 in: by Borda and Carnot at the start, by Rennels at the end, both on the end.
    plan = read(
        tmp_path,
        circuits={"line": {"fluid": "water", "temperature": "20 C"}},
        components={"source": {"kind": "source", "pressure": "10 bar"}, "end": {"kind": "draw", "flow": "10 L/min"}},
        runs={
            "P1": run(
                "source.out",
                "end.in",
                "ptfe-braid -6",
                ends=["straight", "straight"],
                length="1 m",
                length_is="overall",
                rise="0 m",
            )
        },
    )
    parts = line(plan).parts("P1")
    hose, end = 0.3125 * 0.0254, 0.261 * 0.0254
    head = 998.21 * (10 / 60_000 / (math.pi * end**2 / 4)) ** 2 / 2
    # The laminar parts, 160 / Re (1 - beta^4) / beta at Re 32 000, are 0.003 of a head each.
    widening, narrowing = (1 - (end / hose) ** 2) ** 2, fluids.fittings.contraction_sharp(Di1=hose, Di2=end)
    found = [float(parts[f"bore of the end at {port}"][0]) / head for port in ("source.out", "end.in")]
    assert found == pytest.approx([widening, narrowing], abs=4e-3)


# ---------------------------------------------------------------- losses of the tables

SHORT = {"length": "10 mm", "length_is": "overall", "rise": "0 m"}
THIN = fluid("1000 kg/m3", "0.001 mPa s")  # laminar parts vanish at these flows


def head(litres, bore):
    """Velocity head [Pa] of so many L/min of 1000 kg/m3 in a bore [m]."""
    return 1000 * (litres / 60_000 / (math.pi * bore**2 / 4)) ** 2 / 2


def three_k(k, kd, bore):
    """Silverberg and Darby, Chem. Eng. 106(7), 1999, at high Reynolds numbers: K (1 + Kd / D^0.3), D in inches."""
    return k * (1 + kd / (bore / 0.0254) ** 0.3)


def plan_of(folder, components, runs, **sections):
    """A plan of thin fluid; a run is a row, or its two ports joined by a short pipe of 8 mm."""
    return read(
        folder,
        fluids={"thin": THIN},
        circuits={"line": {"fluid": "thin", "temperature": "20 C"}},
        components=components,
        stock={"pipe": tube("8 mm")},
        runs={tag: row if isinstance(row, dict) else run(*row, "pipe", **SHORT) for tag, row in runs.items()},
        **sections,
    )


def at_a_tee(folder, *, used=("a", "b", "branch")):
    """Total pressures [Pa] at the ports of a tee that gets 10 L/min by a, of which 4 L/min leave by its branch."""
    components = {
        "source": {"kind": "source", "pressure": "10 bar"},
        "tee": {"kind": "tee", "bore": "8 mm"},
        "on": {"kind": "draw", "flow": "6 L/min"},
        "off": {"kind": "draw", "flow": "4 L/min"},
    }
    runs = {"P1": ("source.out", "tee.a"), "P2": ("tee.b", "on.in"), "P3": ("tee.branch", "off.in")}
    kept = {
        tag: ends for tag, ends in runs.items() if all(f"tee.{p}" not in ends for p in {"a", "b", "branch"} - {*used})
    }
    alive = {ref.partition(".")[0] for ends in kept.values() for ref in ends}
    found = line(plan_of(folder, {k: v for k, v in components.items() if k in alive}, kept))
    return {port: float(found.total(f"tee.{port}")[0]) for port in used}, found


def test_through_a_tee_and_round_its_corner(tmp_path):
    # Crane TP-410 (2009), a diverging tee of one bore at 90 deg, 0.4 of the flow by its branch, on the whole velocity
    # head: run 2 (0.8 - 1) 0.4^2 = -0.064, branch (1 + 0.3 x 0.4^2)^2 = 1.0983. Its walls cost K1/Re besides, up to
    # 600 over Re 2.6e5 on that head.
    total, found = at_a_tee(tmp_path)
    walls = 0.003 * head(10, 0.008)
    assert total["a"] - total["b"] == pytest.approx(-0.064 * head(10, 0.008), abs=walls)
    assert total["a"] - total["branch"] == pytest.approx(1.0983 * head(10, 0.008), abs=walls)
    divides = [float(found.parts(f"tee: {leg}")["how the flow divides"][0]) for leg in ("leg a", "leg b", "branch")]
    assert divides[0] - divides[2] == pytest.approx(1.0983 * head(10, 0.008), rel=1e-4)


def test_a_tee_with_one_port_stopped_up_is_a_fitting(tmp_path):
    # Silverberg and Darby, tee run: 0.091 (1 + 4.0 / D^0.3).
    total, _ = at_a_tee(tmp_path, used=("a", "b"))
    assert total["a"] - total["b"] == pytest.approx(three_k(0.091, 4.0, 0.008) * head(6, 0.008), rel=0.01)


def test_a_tee_whose_branch_leads_says_that_its_loss_is_from_memory(tmp_path):
    components = {
        "source": {"kind": "source", "pressure": "10 bar"},
        "tee": {"kind": "tee", "bore": "8 mm"},
        "on": {"kind": "draw", "flow": "5 L/min"},
        "off": {"kind": "draw", "flow": "5 L/min"},
    }
    runs = {"P1": ("source.out", "tee.branch"), "P2": ("tee.b", "on.in"), "P3": ("tee.a", "off.in")}
    found = line(plan_of(tmp_path, components, runs))
    assert any("tee: its branch carries the whole flow" in said for said in found.model.estimates)
    assert found.model.grade in {"memory", "illustrative"}
    _, divided = at_a_tee(tmp_path)
    assert not any("its branch" in said for said in divided.model.estimates)


def test_out_into_the_open_the_velocity_head_is_lost(tmp_path):
    # Crane TP-410, exit: 1.0. In the mouth stands the air's own pressure; the total one is a velocity head over it.
    components = {"source": {"kind": "draw", "flow": "-10 L/min"}, "end": {"kind": "open"}}
    found = line(plan_of(tmp_path, components, {"P1": ("source.in", "end.in")}))
    assert found.static("end.in", "P1", 0.008)[0] == pytest.approx(101_325, abs=1)
    assert found.total("end.in")[0] - 101_325 == pytest.approx(head(10, 0.008), rel=1e-3)


def test_in_from_the_open_half_a_velocity_head_is_lost(tmp_path):
    # Crane TP-410, sharp entrance: 0.5.
    components = {"sink": {"kind": "draw", "flow": "10 L/min"}, "end": {"kind": "open"}}
    found = line(plan_of(tmp_path, components, {"P1": ("end.in", "sink.in")}))
    assert 101_325 - found.total("end.in")[0] == pytest.approx(0.5 * head(10, 0.008), rel=0.01)


@pytest.mark.parametrize(("loaded", "times"), [(False, 1.0), (True, 3.0)])
def test_a_filter_that_is_due_costs_as_many_times_as_it_says(tmp_path, loaded, times):
    points = {"fluid": "thin", "temperature": "20 C", "flow": ["5 L/min", "10 L/min"], "drop": ["5 kPa", "20 kPa"]}
    components = {
        "source": {"kind": "source", "pressure": "10 bar"},
        "filter": {"kind": "filter", "points": points, "loaded": 3},
        "end": {"kind": "draw", "flow": "10 L/min"},
    }
    runs = {"P1": ("source.out", "filter.in"), "P2": ("filter.out", "end.in")}
    answer = solve_plan(plan_of(tmp_path, components, runs), loaded=loaded)["line"]
    drop = answer.total("filter.in") - answer.total("filter.out")
    assert drop[0] == pytest.approx(times * 20e3, rel=1e-6)


# ---------------------------------------------------------------- where bores meet

SIXES = {"narrow": tube("6 mm", outside="8 mm"), "wide": tube("12 mm", outside="15 mm")}


def borda(narrow, wide):
    """K of a sudden widening on the narrow bore, (1 - b^2)^2: Borda and Carnot."""
    return (1 - (narrow / wide) ** 2) ** 2


def test_a_change_of_hose_at_a_union_between_ends_is_counted_once(tmp_path):
    # The tables' straight ends of a -4 and a -8 hose.
    components = {
        "source": {"kind": "source", "pressure": "10 bar"},
        "union": {"kind": "union"},
        "end": {"kind": "draw", "flow": "6 L/min"},
    }
    straight = {"ends": ["straight", "straight"], **SHORT}
    for first, second, widens in (("ptfe-braid -4", "ptfe-braid -8", True), ("ptfe-braid -8", "ptfe-braid -4", False)):
        plan = read(
            tmp_path,
            fluids={"thin": THIN},
            circuits={"line": {"fluid": "thin", "temperature": "20 C"}},
            components=components,
            runs={
                "P1": run("source.out", "union.a", first, **straight),
                "P2": run("union.b", "end.in", second, **straight),
            },
        )
        found = line(plan)
        ends = {tag: a.chosen for tag, a in ((a.tag, a) for a in assemblies(plan))}
        narrow, wide = sorted((ends["P1"][1].bore, ends["P2"][0].bore))
        k = borda(narrow, wide) if widens else fluids.fittings.contraction_sharp(Di1=wide, Di2=narrow)
        lost = [
            float(found.parts(tag).get(f"bore of the port at union.{p}", [0.0])[0])
            for tag, p in (("P1", "a"), ("P2", "b"))
        ]
        # Its laminar part, 160/Re or less, besides.
        assert sum(lost) == pytest.approx(k * head(6, narrow), rel=0.02)
        assert min(lost) == 0.0


def test_into_a_rail_and_out_of_it_the_bore_changes(tmp_path):
    components = {
        "source": {"kind": "source", "pressure": "10 bar"},
        "rail": {"kind": "rail", "bore": "14 mm", "length": "300 mm"},
        "end": {"kind": "draw", "flow": "6 L/min"},
    }
    straight = {"ends": ["straight", "straight"], **SHORT}
    plan = read(
        tmp_path,
        fluids={"thin": THIN},
        circuits={"line": {"fluid": "thin", "temperature": "20 C"}},
        components=components,
        duties={"steady": {"burn": "0 L/h"}},
        runs={
            "P1": run("source.out", "rail.in", "ptfe-braid -6", **straight),
            "P2": run("rail.out", "end.in", "ptfe-braid -6", **straight),
        },
    )
    found = line(plan)
    bore = 0.261 * 0.0254
    into, out = (
        found.parts("P1")["bore of the port at rail.in"][0],
        found.parts("P2")["bore of the port at rail.out"][0],
    )
    assert into == pytest.approx(borda(bore, 0.014) * head(6, bore), rel=0.02)
    assert out == pytest.approx(fluids.fittings.contraction_sharp(Di1=0.014, Di2=bore) * head(6, bore), rel=0.02)


def test_through_an_engine_block_its_points_are_counted_once(tmp_path):
    points = {"fluid": "thin", "temperature": "20 C", "flow": ["5 L/min", "10 L/min"], "drop": ["5 kPa", "20 kPa"]}
    components = {
        "source": {"kind": "source", "pressure": "10 bar"},
        "block": {"kind": "engine-block", "points": points, "ports": {"cold": {}, "hot": {}}},
        "end": {"kind": "draw", "flow": "10 L/min"},
    }
    found = line(plan_of(tmp_path, components, {"P1": ("source.out", "block.cold"), "P2": ("block.hot", "end.in")}))
    assert (found.total("block.cold") - found.total("block.hot"))[0] == pytest.approx(20e3, rel=1e-6)


def test_the_water_of_a_turbocharger_does_not_go_by_the_points_of_its_oil(tmp_path):
    # K 4 on 8 mm at 10 L/min; its oil's points would be another drop by far.
    points = {"fluid": "10w-40", "temperature": "100 C", "flow": ["1 L/min", "2 L/min"], "drop": ["90 kPa", "300 kPa"]}
    turbo = {"kind": "turbocharger", "points": points, "k": 4, "bore": "8 mm"}
    components = {
        "source": {"kind": "source", "pressure": "10 bar"},
        "turbo": turbo,
        "end": {"kind": "draw", "flow": "10 L/min"},
    }
    runs = {"P1": ("source.out", "turbo.water_in"), "P2": ("turbo.water_out", "end.in")}
    found = line(plan_of(tmp_path, components, runs))
    assert (found.total("turbo.water_in") - found.total("turbo.water_out"))[0] == pytest.approx(4 * head(10, 0.008))
    lacking = {key: turbo[key] for key in ("kind", "points")}
    answer = solve_plan(plan_of(tmp_path, components | {"turbo": lacking}, runs))["line"]
    assert isinstance(answer, Unsolved)
    assert answer.error.needs.startswith("k = ")


def test_a_check_valve_has_the_drop_of_its_points(tmp_path):
    # 20 kPa at 10 L/min, of which the spring takes 8.
    points = {"fluid": "thin", "temperature": "20 C", "flow": ["10 L/min"], "drop": ["20 kPa"]}
    components = {
        "source": {"kind": "source", "pressure": "10 bar"},
        "valve": {"kind": "check-valve", "crack": "8 kPa", "points": points},
        "end": {"kind": "draw", "flow": "10 L/min"},
    }
    found = line(plan_of(tmp_path, components, {"P1": ("source.out", "valve.in"), "P2": ("valve.out", "end.in")}))
    assert (found.total("valve.in") - found.total("valve.out"))[0] == pytest.approx(20e3, rel=1e-6)


def test_points_of_a_thin_liquid_are_told_where_a_thick_one_flows(tmp_path):
    points = {"fluid": "10w-40", "temperature": "100 C", "flow": ["1 L/min", "2 L/min"], "drop": ["79 kPa", "300 kPa"]}
    plan = read(
        tmp_path,
        circuits={"line": {"fluid": "10w-40", "temperature": {"steady": "0 C"}}},
        components={
            "source": {"kind": "source", "pressure": "6 bar"},
            "part": {"kind": "resistance", "points": points},
            "end": {"kind": "source", "pressure": "0 bar"},
        },
        stock=SIXES,
        runs={"P1": run("source.out", "part.in", "wide", **SHORT), "P2": run("part.out", "end.out", "wide", **SHORT)},
    )
    (said,) = (s for s in line(plan).model.estimates if s.startswith("part: at steady the liquid is"))
    assert "times as thick as that of its points" in said


# ---------------------------------------------------------------- regulators and pumps that an engine drives


def fed(folder, supply, draw, **facts):
    """Pressure [Pa over ambient] behind a feed regulator of 3 bar between a source and a draw, and its state."""
    points = {"fluid": "thin", "temperature": "20 C", "flow": ["10 L/min"], "drop": ["20 kPa"]}
    components = {
        "source": {"kind": "source", "pressure": supply},
        "valve": {"kind": "feed-regulator", "set": "3 bar", "reference": "open air", "slope": "2 kPa per 100 L/h"}
        | {"points": points}
        | facts,
        "end": {"kind": "draw", "flow": draw},
    }
    runs = {"P1": ("source.out", "valve.in"), "P2": ("valve.out", "end.in")}
    found = line(plan_of(folder, components, runs))
    return found.total("valve.out")[0] - 101_325, found.switch("valve: valve")[0]


def test_a_feed_regulator_holds_the_pressure_behind_it(tmp_path):
    pressure, state = fed(tmp_path, "6 bar", "10 L/min")
    assert state == "holding"
    assert pressure == pytest.approx(3e5 - 12e3, rel=1e-6)


def test_a_starved_feed_regulator_is_wide_open(tmp_path):
    # 2.5 bar before it, 20 kPa over it at 10 L/min, and the short pipe before it.
    pressure, state = fed(tmp_path, "2.5 bar", "10 L/min")
    assert state == "wide open"
    assert pressure == pytest.approx(2.5e5 - 20e3, abs=3e3)


def test_a_feed_regulator_feels_the_pressure_where_its_outlet_stands(tmp_path):
    # Its outlet 2 m over its inlet: what it holds is the pressure up there.
    points = {"fluid": "thin", "temperature": "20 C", "flow": ["10 L/min"], "drop": ["20 kPa"]}
    valve = {"kind": "feed-regulator", "set": "3 bar", "reference": "open air", "slope": "0 psi/gph", "points": points}
    components = {
        "source": {"kind": "source", "pressure": "6 bar", "ports": {"out": {"height": "0 m"}}},
        "valve": valve | {"ports": {"in": {"height": "0 m"}, "out": {"height": "2 m"}}},
        "end": {"kind": "draw", "flow": "10 L/min", "ports": {"in": {"height": "2 m"}}},
    }
    runs = {"P1": ("source.out", "valve.in"), "P2": ("valve.out", "end.in")}
    found = line(plan_of(tmp_path, components, runs))
    assert found.total("valve.out")[0] - 101_325 == pytest.approx(3e5, abs=5)


def driven(folder, rpm, rise, *speeds):
    """Flow [L/min] of a pump with curves at these speeds, driven at half the engine's speed, and what is estimated."""
    points = [
        {"speed": f"{n} rpm", "rise": f"{p * (n / 3000) ** 2} bar", "flow": f"{q * n / 3000} L/min"}
        for n in speeds
        for p, q in ((0, 30), (4, 28), (8, 24))
    ]
    components = {
        "source": {"kind": "source", "pressure": "1 bar"},
        "pump": {"kind": "oil-pump", "curve": "main", "ratio": 0.5},
        "end": {"kind": "source", "pressure": f"{1 + rise} bar"},
    }
    curve = {"means": "for the test", "points": points, "source": "for the test", "grade": "published"}
    runs = {"P1": ("source.out", "pump.in"), "P2": ("pump.out", "end.out")}
    duties = {"steady": {"engine_speed": f"{2 * rpm} rpm"}}
    found = line(plan_of(folder, components, runs, curves={"main": curve}, duties=duties))
    return found.flow("P1")[0] * 60_000, found.model.estimates


@pytest.mark.parametrize("speeds", [(3000,), (1500, 4500), (1500, 3000, 4500)])
@pytest.mark.parametrize("rpm", [1500, 2000, 3000, 4000])
def test_a_pump_that_the_engine_drives_follows_the_affinity_laws(tmp_path, rpm, speeds):
    # Flow with speed, rise with its square: 28 L/min at 4 bar and 3000 rpm. The curves of every speed are one.
    flow, said = driven(tmp_path, rpm, 4 * (rpm / 3000) ** 2, *speeds)
    # The short pipes cost some kPa of 4 bar, along a curve that falls by 1 L/min a bar.
    assert flow == pytest.approx(28 * rpm / 3000, rel=0.004)
    assert any("affinity" in s for s in said) == (not min(speeds) <= rpm <= max(speeds))


def test_into_a_tank_all_of_the_velocity_head_is_lost(tmp_path):
    # Crane TP-410, exit: 1.0.
    tank = {"kind": "tank", "surface": {"full": "0 m", "low": "0 m"}, "ports": {"return": {"height": "0 m"}}}
    components = {"source": {"kind": "draw", "flow": "-10 L/min"}, "tank": tank}
    found = line(plan_of(tmp_path, components, {"P1": ("source.in", "tank.return")}))
    lost = found.total("tank.return") - found.total("tank.surface")
    assert lost[0] == pytest.approx(head(10, 0.008), rel=1e-3)


@pytest.mark.parametrize(("word", "k", "kd"), [("straight", 0.0, 0.0), ("45 deg", 0.052, 4.0), ("90 deg", 0.056, 3.9)])
def test_an_angled_end_is_an_elbow_on_its_own_bore(tmp_path, word, k, kd):
    # The same paper's bends: 45 deg (0.052, 4.0), 90 deg of two bores radius (0.056, 3.9); -6 ends of 0.261 in.
    components = {"source": {"kind": "source", "pressure": "10 bar"}, "end": {"kind": "draw", "flow": "10 L/min"}}
    hose = run("source.out", "end.in", "ptfe-braid -6", ends=["straight", word], **SHORT)
    parts = line(plan_of(tmp_path, components, {"P1": hose})).parts("P1")
    bore = 0.261 * 0.0254
    elbows = [float(drop[0]) for name, drop in parts.items() if name.startswith("elbow")]
    assert sum(elbows) == pytest.approx(three_k(k, kd, bore) * head(10, bore), rel=5e-3)


# ---------------------------------------------------------------- two rails


def twin_rails(folder, *shares):
    """A plan of two rails off one manifold, which burn 60 L/h between them."""
    rail = {"kind": "rail", "bore": "14 mm", "length": "300 mm"}
    components = {
        "source": {"kind": "source", "pressure": "10 bar"},
        "block": {"kind": "manifold", "bore": "10 mm", "ports": {"in": {}, "left": {}, "right": {}}},
        "left": rail | ({"share": shares[0]} if shares else {}),
        "right": rail | ({"share": shares[1]} if shares[1:] else {}),
    }
    runs = {"P1": ("source.out", "block.in"), "L": ("block.left", "left.in"), "R": ("block.right", "right.in")}
    return plan_of(folder, components, runs, duties={"full": {"burn": "60 L/h"}})


@pytest.mark.parametrize(("shares", "litres"), [((), [30, 30]), (("40 %", "60 %"), [24, 36])])
def test_two_rails_share_the_fuel(tmp_path, shares, litres):
    found = line(twin_rails(tmp_path, *shares))
    assert [found.flow(tag)[0] * 3.6e6 for tag in ("L", "R")] == pytest.approx(litres, rel=1e-6)


@pytest.mark.parametrize("shares", [("40 %",), ("40 %", "50 %")])
def test_shares_that_leave_fuel_over_are_refused(tmp_path, shares):
    answer = solve_plan(twin_rails(tmp_path, *shares))["line"]
    assert isinstance(answer, Unsolved)
    assert "share" in answer.error.needs


def stated_bores(folder, first, second):
    """The parts of two -6 hoses at a union whose ports are stated, by run."""
    components = {
        "source": {"kind": "source", "pressure": "10 bar"},
        "union": {"kind": "union", "ports": {"a": first, "b": second}},
        "end": {"kind": "draw", "flow": "6 L/min"},
    }
    straight = {"ends": ["straight", "straight"], **SHORT}
    plan = read(
        folder,
        fluids={"thin": THIN},
        circuits={"line": {"fluid": "thin", "temperature": "20 C"}},
        components=components,
        runs={
            "P1": run("source.out", "union.a", "ptfe-braid -6", **straight),
            "P2": run("union.b", "end.in", "ptfe-braid -6", **straight),
        },
    )
    found = line(plan)
    return sum(float(d[0]) for tag in ("P1", "P2") for name, d in found.parts(tag).items() if "at union" in name)


def test_a_narrow_port_is_met_from_both_sides(tmp_path):
    # From -6 ends of 0.261 in into 4 mm and out of it, whichever port is stated, and once where both are.
    bore = 0.261 * 0.0254
    neck = fluids.fittings.contraction_sharp(Di1=bore, Di2=0.004) + borda(0.004, bore)
    plain = stated_bores(tmp_path, {}, {})
    for first, second in (({"bore": "4 mm"}, {}), ({}, {"bore": "4 mm"}), ({"bore": "4 mm"}, {"bore": "4 mm"})):
        found = stated_bores(tmp_path, first, second) - plain
        # The laminar parts, 160/Re or less each, besides.
        assert found == pytest.approx(neck * head(6, 0.004), rel=0.02)
