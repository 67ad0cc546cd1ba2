"""Pumps of Crane, TP-410, chapter 7: what they must raise, and the affinity laws."""

import math
from dataclasses import replace

from fluids.fittings import K_gate_valve_Crane, K_lift_check_valve_Crane
from fluids.friction import Colebrook, ft_Crane
from published.building import (
    BARREL,
    FOOT,
    GALLON,
    GRAVITY,
    HORSEPOWER,
    HOUR,
    INCH,
    MILE,
    MINUTE,
    POUND,
    draw,
    drop,
    head_of,
    joined,
    piped,
    pumped,
    solved,
    source,
)
from published.crane_parts import WATER_60F
from published.crane_pipes import crane
from published.figures import Margin, laws, reynolds, rounded
from writing import fluid, tube


def power(solution, edge, gained, efficiency):
    """Power [W] that a pump takes to raise the flow of an edge by a pressure [Pa]."""
    return float(solution.flow(edge)[0]) * gained / efficiency


def water_up_a_hill():
    """7-15: water at 70 F, 100 US gal/min through 500 ft of 3 in schedule 40, 400 ft up.

    In it are a gate valve, four standard elbows, a 2 1/2 in lift check, and its exit.
    """
    bore, rough, flow, rho = 3.068 * INCH, 0.0022 * INCH, 100 * GALLON / MINUTE, 62.298 * POUND / FOOT**3
    k = K_gate_valve_Crane(D1=bore, D2=bore, angle=0.0) + 4 * 30 * ft_Crane(bore)
    k += K_lift_check_valve_Crane(D1=2.469 * INCH, D2=bore, angled=False)
    found = pumped(
        flow,
        420 * FOOT * rho * GRAVITY,
        liquid=fluid(f"{rho!r} kg/m3", "0.95 cP"),
        bore="3.068 in",
        roughness="0.0022 in",
        length=500 * FOOT,
        rise=400 * FOOT,
        k=k,
    )
    gained = drop(found, "pump.out", "pump.in")
    v = flow / (math.pi * bore**2 / 4)
    at = reynolds(flow, bore, 0.95e-3 / rho), rough / bore
    # Most of the head is lift. The book's factor of 3 in fittings is printed as 0.017 (in 7-5).
    fittings = k * v**2 / (2 * GRAVITY) / FOOT
    pipe = Colebrook(*at) * 500 * FOOT / bore * v**2 / (2 * GRAVITY) / FOOT
    apart = [
        Margin("the fittings' factor of 0.017 is printed to 0.001", amount=0.0005 / 0.017 * fittings),
        laws(*at, pipe / 421),
    ]
    yield crane("7-15").figure("head of the pump", "ft", "421", head_of(found, "pipe", gained) / FOOT, *apart)
    apart[0] = replace(apart[0], amount=apart[0].amount * 15.2 / 421)
    yield crane("7-15").figure(
        "power of the pump", "hp", "15.2", power(found, "pipe", gained, 0.70) / HORSEPOWER, *apart
    )


def crude_over_fifty_miles():
    """7-17: crude oil, 1900 barrels/h through 50 miles of 12 in schedule 30 that rise 2000 ft, in five lengths."""
    bore, rough, flow, rho = 12.09 * INCH, 0.0022 * INCH, 1900 * BARREL / HOUR, 54.64 * POUND / FOOT**3
    middle = [f"station {i}" for i in range(1, 5)]
    starts = ["source.out", *(f"{name}.b" for name in middle)]
    ends = [*(f"{name}.a" for name in middle), "end.in"]
    found = solved(
        {"source": source(150e5), "end": draw(flow)} | {n: {"kind": "union"} for n in middle},
        {
            f"length {i}": piped(a, b, length=10 * MILE, rise=400 * FOOT)
            for i, (a, b) in enumerate(zip(starts, ends, strict=True))
        },
        stock={"pipe": tube("12.09 in", "0.0022 in")},
        fluids={"liquid": fluid(f"{rho!r} kg/m3", "12.5 cP")},
    )
    gained = drop(found, "source.out", "end.in")
    v, at = flow / (math.pi * bore**2 / 4), (reynolds(flow, bore, 12.5e-3 / rho), rough / bore)
    pipe = Colebrook(*at) * 50 * MILE / bore * v**2 / (2 * GRAVITY) / FOOT
    apart = (
        Margin(
            f"its shortcut formula, where Darcy's with Colebrook's factor has {2000 + pipe:.1f} ft",
            share=(2000 + pipe) / 3406.5 - 1,
        ),
        laws(*at, pipe / 3406.5),
    )
    yield crane("7-17").figure("head of the pump", "ft", "3406.5", head_of(found, "length 0", gained) / FOOT, *apart)
    needed = power(found, "length 0", gained, 0.67) / HORSEPOWER
    yield crane("7-17").figure("power of the pump", "hp", "1496", needed, *apart)


def turned(speed, to, flow, head):
    """A pump whose curve at one speed goes through a point, turned at another, against the square of the flow.

    The curve beside its point is made up: the affinity laws say the same of any.

    Args:
        speed, to: of the curve, and what it is turned at, as a plan writes them.
        flow: of the point [m3/s], and of the resistance.
        head: at that flow [Pa], of both.
    """
    points = [(1.2 * head, 0.5 * flow), (head, flow), (0.6 * head, 1.5 * flow)]
    rows = [{"speed": speed, "rise": f"{r!r} Pa", "flow": f"{q!r} m3/s"} for r, q in points]
    point = {"fluid": "liquid", "temperature": "20 C", "flow": [f"{flow!r} m3/s"], "drop": [f"{head!r} Pa"]}
    return solved(
        {
            "before": source(1e6),
            "pump": {"kind": "oil-pump", "curve": "trim", "ratio": "1"},
            "rest": {"kind": "resistance", "points": point},
            "after": source(1e6),
        },
        {
            "suction": joined("before.out", "pump.in"),
            "pressure": joined("pump.out", "rest.in"),
            "return": joined("rest.out", "after.out"),
        },
        duties={"steady": {"engine_speed": to}},
        curves={"trim": {"means": "a pump", "points": rows, "source": "for the test", "grade": "published"}},
        fluids={"liquid": WATER_60F},
    )


FOOT_OF_WATER = 62.364 * POUND / FOOT**3 * GRAVITY * FOOT
GPM = GALLON / MINUTE


def slower_pump():
    """7-33: a pump that gives 400 US gal/min at 126 ft and takes 17.5 hp at 3500 rpm, turned at 1700 rpm."""
    flow, head = 400 * GPM, 126 * FOOT_OF_WATER
    found = turned("3500 rpm", "1700 rpm", flow, head)
    gained, efficiency = drop(found, "pump.out", "pump.in"), flow * head / (17.5 * HORSEPOWER)
    yield crane("7-33").figure("flow", "US gal/min", "194.3", found.flow("pressure")[0] / GPM)
    yield crane("7-33").figure("head", "ft", "29.73", gained / FOOT_OF_WATER)
    yield crane("7-33").figure("power", "hp", "2.005", power(found, "pressure", gained, efficiency) / HORSEPOWER)


def cost_of_pumping():
    """7-34: 700 US gal/min of water at 428 ft, efficiencies of 0.707, 0.95 and 0.96, 8000 h a year at 0.12 $/kWh.

    Pump and resistance meet at the flow and head that are given: what is held here is the product, in its units.
    """
    found = turned("3500 rpm", "3500 rpm", 700 * GPM, 428 * FOOT_OF_WATER)
    used = power(found, "pressure", drop(found, "pump.out", "pump.in"), 0.707 * 0.95 * 0.96)
    constant = rounded("the constant of its formula of power (from memory)", 247_000, 1000)
    yield crane("7-34").figure("cost of a year", "$", "83970", used / 1000 * 8000 * 0.12, constant)


CIRCUITS = (water_up_a_hill, crude_over_fifty_miles, slower_pump, cost_of_pumping)
