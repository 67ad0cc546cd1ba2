"""What components and hoses cost inside a plan, against closed forms."""

import math

import fluids.fittings
import numpy as np
import pytest
from writing import fluid, line, read, run, tube

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
    # 10 mm of 1.0 mm bore, 1 Pa s: Hagen and Poiseuille, 128 mu L q / (pi D^4); the inertial part is 0.02 %.
    hole = {"kind": "restrictor", "bore": "1.0 mm", "length": "10 mm", "flow": "0.01 L/min"}
    found = through(tmp_path, fluid("880 kg/m3", "1 Pa s"), **hole)
    assert found == pytest.approx(128 * 1.0 * 0.01 * (0.01 / 60_000) / (math.pi * 1e-12), rel=1e-3)


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


def test_through_a_tee_and_round_its_corner(tmp_path):
    # Tee run (0.091, 4.0) for the straight way; round the corner half of that and the whole branch (0.274, 4.0), which
    # is a little too much and never too little.
    components = {
        "source": {"kind": "source", "pressure": "10 bar"},
        "tee": {"kind": "tee", "bore": "8 mm"},
        "on": {"kind": "draw", "flow": "6 L/min"},
        "off": {"kind": "draw", "flow": "4 L/min"},
    }
    runs = {"P1": ("source.out", "tee.a"), "P2": ("tee.b", "on.in"), "P3": ("tee.branch", "off.in")}
    found = line(plan_of(tmp_path, components, runs))
    run_k, branch_k = three_k(0.091, 4.0, 0.008), three_k(0.274, 4.0, 0.008)
    straight = run_k / 2 * (head(10, 0.008) + head(6, 0.008))
    corner = run_k / 2 * head(10, 0.008) + branch_k * head(4, 0.008)
    total = {port: float(found.total(f"tee.{port}")[0]) for port in ("a", "b", "branch")}
    assert total["a"] - total["b"] == pytest.approx(straight, rel=5e-3)
    assert total["a"] - total["branch"] == pytest.approx(corner, rel=5e-3)


def test_into_a_tank_all_of_the_velocity_head_is_lost(tmp_path):
    # Crane TP-410, exit: 1.0.
    tank = {"kind": "tank", "surface": {"full": "0 m", "low": "0 m"}, "ports": {"return": {"height": "0 m"}}}
    components = {"source": {"kind": "draw", "flow": "-10 L/min"}, "tank": tank}
    found = line(plan_of(tmp_path, components, {"P1": ("source.in", "tank.return")}))
    lost = found.total("tank.return") - found.total("tank.surface")
    assert lost[0] == pytest.approx(head(10, 0.008), rel=1e-3)


@pytest.mark.parametrize(("word", "k", "kd"), [("straight", 0.0, 0.0), ("45 deg", 0.071, 4.2), ("90 deg", 0.056, 3.9)])
def test_an_angled_end_is_an_elbow_on_its_own_bore(tmp_path, word, k, kd):
    # 45 deg (0.071, 4.2) and 90 deg of two bores radius (0.056, 3.9) of the same paper; -6 ends of 0.261 in.
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
