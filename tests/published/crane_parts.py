"""Valves, a nozzle and a tee of Crane, TP-410, chapter 7: loss coefficients from the solved total pressures."""

from fluids.fittings import K_branch_converging_Crane, K_run_converging_Crane
from published.building import FOOT, GALLON, HOUR, INCH, MINUTE, POUND, PSI, draw, drop, joined, piped, solved, source
from published.crane_pipes import crane
from published.figures import Margin, reynolds, rounded
from writing import fluid, tube

BAR = 1e5
WATER_60F = fluid(f"{62.364 * POUND / FOOT**3!r} kg/m3", "1.1 cP")


def coefficient(solution, edge, bore, pressure):
    """Loss coefficient of a drop [Pa] on the velocity in a bore [m] of an edge."""
    return pressure / (solution.density(edge)[0] * solution.velocity(edge, bore)[0] ** 2 / 2)


def across(part, pressure):
    """A component between two known pressures, by this much apart [Pa], both through wide bores."""
    return solved(
        {"before": source(pressure), "part": part, "after": source(0.0)},
        {"first": joined("before.out", "part.in"), "last": joined("part.out", "after.out")},
        fluid="water",
        temperature="15 C",
    )


def globe_valve():
    """7-2: a valve that passes 500 m3/h of water at 1 bar, on 154 mm, beside pipe whose factor is 0.015."""
    bore, factor = 0.154, 0.015
    points = {"fluid": "water", "temperature": "15 C", "flow": ["500 m3/h"], "drop": ["1 bar"]}
    found = across({"kind": "valve", "points": points}, 0.4 * BAR)
    k = coefficient(found, "part: way", bore, drop(found, "part.in", "part.out"))
    yield crane("7-2").figure("loss coefficient", "-", "3.6", k)
    yield crane("7-2").figure("equivalent length over bore", "-", "240", k / factor)
    yield crane("7-2").figure("equivalent length", "m", "37.0", k / factor * bore)


def angle_valve():
    """7-3: an angle valve with a full seat of 97.2 mm, 150 times its factor of 0.0165: K 2.475 is an input here."""
    bore, factor = 97.2e-3, 0.0165
    found = across({"kind": "valve", "k": 150 * factor, "bore": "97.2 mm"}, BAR)
    k = coefficient(found, "part: way", bore, drop(found, "part.in", "part.out"))
    # A flow coefficient is the flow at 1 bar. The source's constant stands for a round density of the water.
    density = Margin("water of 999.1 kg/m3 at 15 C, where its constant has 1000", share=0.9e-3 / 2)
    yield crane("7-3").figure("flow coefficient Kv", "m3/h", "240.2", found.flow("first")[0] * HOUR, density)
    yield crane("7-3").figure("equivalent length", "m", "14.6", k / factor * bore)


def nozzle():
    """7-31: what a nozzle of 2.40 in (7-30) costs for good in 6 in schedule 40, water at 60 F, 225 US gal/min."""
    bore, flow = 6.065 * INCH, 225 * GALLON / MINUTE
    nozzle = {"kind": "restrictor", "bore": "2.40 in", "length": "0 mm", "cd": 0.984}
    found = solved(
        {"source": source(1e6), "nozzle": nozzle, "end": draw(flow)},
        {
            "before": piped("source.out", "nozzle.in", length=bore),
            "after": piped("nozzle.out", "end.in", length=bore),
        },
        stock={"pipe": tube("6.065 in", "0.0018 in")},
        fluids={"liquid": WATER_60F},
    )
    yield crane("7-31").figure(
        "permanent loss",
        "psi",
        "1.272",
        drop(found, "nozzle.in", "nozzle.out") / PSI,
        rounded("the throat in inches", 2.40, 0.01, 4),
    )


def converging_tee():
    """7-35: a tee of 4 in schedule 40, 1135 L/min along its run and 380 L/min joining from its branch."""
    bore, run, branch = 102.3e-3, 1.135 / MINUTE, 0.380 / MINUTE
    found = solved(
        {"first": draw(-run), "side": draw(-branch), "tee": {"kind": "tee", "bore": "102.3 mm"}, "out": source(0.0)},
        {
            "run": piped("first.in", "tee.a", length=0.01),
            "branch": piped("side.in", "tee.branch", length=0.01),
            "whole": piped("tee.b", "out.out", length=0.01),
        },
        stock={"pipe": tube("102.3 mm", "0.0018 in")},
        fluid="water",
        temperature="60 F",
    )
    # The legs' own laminar parts by Silverberg and Darby (1999), 200/Re along the run, half in each leg, and 500/Re
    # round the corner, are no part of Crane's coefficients.
    re, share = reynolds(run + branch, bore, 1.121e-6), branch / (run + branch)
    legs = (
        ("branch", "tee.branch", "-0.04026", K_branch_converging_Crane, 500 * share + 100),
        ("run", "tee.a", "0.3258", K_run_converging_Crane, 100 * (1 - share) + 100),
    )
    for leg, port, printed, equation, laminar in legs:
        exact = equation(bore, bore, run, branch)
        yield crane("7-35").figure(
            f"loss coefficient of the {leg}",
            "-",
            printed,
            coefficient(found, "whole", bore, drop(found, port, "tee.b")),
            Margin(f"its own equation gives {exact:.5f} for these flows", amount=abs(exact - float(printed))),
            Margin("laminar parts of the legs, which linewright adds", amount=laminar / re),
        )


CIRCUITS = (globe_valve, angle_valve, nozzle, converging_tee)
