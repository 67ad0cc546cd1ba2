"""Pipes of White, Fluid Mechanics, chapter 6.

Inputs and answers are from memory, and so are the numbers of the examples, by the 4th edition; each was worked again
with Colebrook's equation and found right.
"""

import math

from fluids.friction import Colebrook
from published.building import (
    FOOT,
    GRAVITY,
    HORSEPOWER,
    HOUR,
    INCH,
    POUND,
    SLUG,
    drop,
    flow_through,
    head_of,
    kinematic,
    piped,
    pumped,
    solved,
    source,
)
from published.figures import Example, Margin, Standing, chart, laws, reynolds, rounded
from writing import fluid, tube


def white(number):
    return Example("White, Fluid Mechanics", "4th, from memory", number, Standing.MEMORY)


def oil_uphill():
    """6.4: oil of 900 kg/m3 and 200 mm2/s in 10 m of 60 mm pipe at 40 deg, 350 kPa below and 250 kPa above."""
    bore = 0.06
    found = solved(
        {"below": source(350e3), "above": source(250e3)},
        {"pipe": piped("below.out", "above.out", length=10.0, rise=10 * math.sin(math.radians(40)))},
        stock={"pipe": tube("60 mm")},
        fluids={"liquid": fluid("900 kg/m3", "200 mm2/s")},
    )
    lost = found.parts("pipe")["friction in hose"][0]
    # What flows up is positive: that it does is a question of the example.
    yield white("6.4").figure("head loss", "m", "4.9", head_of(found, "pipe", lost))
    yield white("6.4").figure("flow upward", "m3/s", "0.0076", found.flow("pipe")[0])
    yield white("6.4").figure("velocity", "m/s", "2.7", found.velocity("pipe", bore)[0])
    speed = rounded("the velocity behind it", 2.7, 0.1)
    yield white("6.4").figure("Reynolds number", "-", "810", found.reynolds("pipe", bore)[0], speed)


def water_in_cast_iron():
    """6.6: water, 6 ft/s through 200 ft of 6 in asphalted cast iron, 0.0004 ft rough."""
    bore, rough, nu = 0.5 * FOOT, 0.0004 * FOOT, 1.1e-5 * FOOT**2
    flow = 6 * FOOT * math.pi * bore**2 / 4
    found = flow_through(
        flow,
        liquid=fluid(f"{62.4 * POUND / FOOT**3!r} kg/m3", kinematic(nu)),
        bore="6 in",
        roughness="0.0048 in",
        length=200 * FOOT,
    )
    at = reynolds(flow, bore, nu), rough / bore
    lost = drop(found, "source.out", "end.in")
    apart = chart(0.02, *at), laws(*at)
    # It prints 0.02, from a chart; its head loss says that the next digit is a nought.
    yield white("6.6").figure("friction factor", "-", "0.020", found.friction("pipe", bore, rough)[0], *apart)
    yield white("6.6").figure("head loss", "ft", "4.5", head_of(found, "pipe", lost) / FOOT, *apart)
    carried = rounded("the head loss behind it", 4.5, 0.1)
    pressure = lost / (POUND * GRAVITY / FOOT**2)
    yield white("6.6").figure("pressure drop", "lbf/ft2", "2.8e2", pressure, *apart, carried)


def oil_downhill():
    """6.7: oil of 900 kg/m3 and 10 mm2/s, 0.2 m3/s through 500 m of 200 mm cast iron that falls at 10 deg."""
    bore, rough, nu, flow = 0.2, 0.26e-3, 1e-5, 0.2
    found = flow_through(
        flow,
        liquid=fluid("900 kg/m3", kinematic(nu)),
        bore="200 mm",
        roughness="0.26 mm",
        length=500.0,
        rise=-500 * math.sin(math.radians(10)),
    )
    at = reynolds(flow, bore, nu), rough / bore
    apart = chart(0.0225, *at), laws(*at)
    lost = found.parts("pipe")["friction in hose"][0]
    yield white("6.7").figure("friction factor", "-", "0.0225", found.friction("pipe", bore, rough)[0], *apart)
    yield white("6.7").figure("head loss", "m", "117", head_of(found, "pipe", lost), *apart)
    # The drop is what the friction of 117 m leaves of a fall of 87 m: a hundredth of the one is four of the other.
    over = 117 * 900 * GRAVITY / 265e3
    apart = (
        chart(0.0225, *at, over),
        laws(*at, over),
        Margin(
            "friction and fall behind it are whole metres, half a metre of either",
            amount=(0.5 + 0.5) * 900 * GRAVITY / 1e3,
        ),
    )
    fallen = drop(found, "source.out", "end.in") / 1e3
    yield white("6.7").figure("pressure drop", "kPa", "265", fallen, *apart)


def pump_and_fittings():
    """6.16: a pump lifts 0.2 ft3/s of water 100 ft, through 400 ft of 2 in pipe of e/D 0.001 and losses of 12.2."""
    bore, nu, rho, flow = 2 * INCH, 1.1e-5 * FOOT**2, 1.94 * SLUG / FOOT**3, 0.2 * FOOT**3
    found = pumped(
        flow,
        184 * FOOT * rho * GRAVITY,
        liquid=fluid(f"{rho!r} kg/m3", kinematic(nu)),
        bore="2 in",
        roughness="0.002 in",
        length=400 * FOOT,
        rise=100 * FOOT,
        k=12.2 - 0.5 - 1.0,
        supply={"kind": "open"},
    )
    at = reynolds(flow, bore, nu), 0.001
    v = flow / (math.pi * bore**2 / 4)
    friction = Colebrook(*at) * 400 * FOOT / bore * v**2 / (2 * GRAVITY) / FOOT
    lift = drop(found, "pump.out", "pump.in")
    speed = rounded("the velocity behind it in ft/s", 9.17, 0.01)
    yield white("6.16").figure("velocity", "ft/s", "9.17", found.velocity("pipe", bore)[0] / FOOT)
    yield white("6.16").figure("Reynolds number", "-", "1.39e5", found.reynolds("pipe", bore)[0], speed)
    yield white("6.16").figure(
        "friction factor", "-", "0.0216", found.friction("pipe", bore, 0.001 * bore)[0], laws(*at)
    )
    part = laws(*at, friction / 184)
    yield white("6.16").figure("head of the pump", "ft", "184", head_of(found, "pipe", lift) / FOOT, part)
    taken = found.flow("pipe")[0] * lift / HORSEPOWER
    yield white("6.16").figure("power of the pump", "hp", "4.2", taken, part)


# Three cast-iron pipes [m] and their roughness, water of 1000 kg/m3 and 1.02 mm2/s, 150 kPa and 5 m of fall along them.
THREE = {"1": (100.0, 0.080, 0.24e-3), "2": (150.0, 0.060, 0.12e-3), "3": (80.0, 0.040, 0.20e-3)}
VISCOSITY = 1.02e-6
STOCK = {f"pipe {n}": tube(f"{bore!r} m", f"{rough!r} m") for n, (_, bore, rough) in THREE.items()}
WATER = {"liquid": fluid("1000 kg/m3", kinematic(VISCOSITY))}


def by_its_own(number, flow, power):
    """Margin of the laws at a flow [m3/h] in one of the three."""
    _, bore, rough = THREE[number]
    return laws(reynolds(flow / HOUR, bore, VISCOSITY), rough / bore, power)


def series():
    """6.17: the three one after the other. The fall is put into the pressure before them."""
    found = solved(
        {
            "upper": source(150e3 + 5 * 1000 * GRAVITY),
            "first": {"kind": "union"},
            "second": {"kind": "union"},
            "lower": source(0.0),
        },
        {
            "1": piped("upper.out", "first.a", "pipe 1", length=100.0),
            "2": piped("first.b", "second.a", "pipe 2", length=150.0),
            "3": piped("second.b", "lower.out", "pipe 3", length=80.0),
        },
        stock=STOCK,
        fluids=WATER,
    )
    # Four fifths of the head go in the third pipe. The laws differ most in the first: for all, a little too much.
    apart = max((by_its_own(n, 10.2, 0.5) for n in THREE), key=lambda margin: margin.share)
    yield white("6.17").figure("velocity in the first pipe", "m/s", "0.565", found.velocity("1", 0.080)[0], apart)
    yield white("6.17").figure("flow", "m3/h", "10.2", found.flow("3")[0] * HOUR, apart)


def parallel():
    """6.18: the three side by side."""
    upper, lower = ({"kind": "gallery", "pressure": f"{p} kPa"} for p in (150, 0))
    found = solved(
        {"upper": upper, "lower": lower},
        {
            n: piped(f"upper.{n}", f"lower.{n}", f"pipe {n}", length=length, rise=-5.0)
            for n, (length, *_) in THREE.items()
        },
        stock=STOCK,
        fluids=WATER,
    )
    flow, printed = {n: found.flow(n)[0] * HOUR for n in THREE}, {"1": "62.5", "2": "25.9", "3": "11.4"}
    apart = {n: by_its_own(n, float(printed[n]), 0.5) for n in THREE}
    for n in THREE:
        yield white("6.18").figure(f"flow in pipe {n}", "m3/h", printed[n], flow[n], apart[n])
    most = max(apart.values(), key=lambda margin: margin.share)
    yield white("6.18").figure("flow in all", "m3/h", "99.8", sum(flow.values()), most)


CIRCUITS = (oil_uphill, water_in_cast_iron, oil_downhill, pump_and_fittings, series, parallel)
