"""Pipes and a pump of E. Maurer, R package hydraulics, whose vignette prints what it computes; of which version, is
not noted."""

import math

import numpy as np
from fluids.friction import Churchill_1977, Colebrook
from published.building import (
    FOOT,
    GALLON,
    GRAVITY,
    INCH,
    MINUTE,
    drop,
    flow_through,
    head_of,
    joined,
    kinematic,
    solved,
    source,
)
from published.figures import Example, Margin, laws, reynolds, rounded
from scipy.optimize import brentq
from writing import fluid

CUBIC_FOOT = FOOT**3
DENSITY = 999.0
"""Of the water [kg/m3]: heads and flows do not feel it."""
WATER_60F = 1.23e-5 * FOOT**2
"""Kinematic viscosity of the source at 60 F [m2/s], as it prints it with the pump."""


def maurer(number):
    return Example("Maurer, R package hydraulics", "vignette", number)


def loss(flow, viscosity, bore, roughness, length):
    """The solution of one pipe with a known flow [m3/s], and its head loss [m]."""
    found = flow_through(
        flow,
        liquid=fluid(f"{DENSITY} kg/m3", kinematic(viscosity)),
        bore=f"{bore!r} m",
        roughness=f"{roughness * 1e3!r} mm",
        length=length,
    )
    return found, head_of(found, "pipe", drop(found, "source.out", "end.in"))


def long_main():
    """4 ft3/s of water at 60 F through 10 560 ft of 20 in pipe, 0.0005 ft rough."""
    bore, rough, flow = 20 * INCH, 0.0005 * FOOT, 4 * CUBIC_FOOT
    found, head = loss(flow, WATER_60F, bore, rough, 10_560 * FOOT)
    example = maurer("head loss of a main")
    viscosity = rounded("the viscosity in ft2/s", 1.23e-5, 0.01e-5)
    yield example.figure("Reynolds number", "-", "248625", found.reynolds("pipe", bore)[0], viscosity)
    at = reynolds(flow, bore, WATER_60F), rough / bore
    # The factor falls with a small power of the Reynolds number, so the viscosity behind it tells a little.
    power = math.log(Colebrook(0.9 * at[0], at[1]) / Colebrook(*at)) / -math.log(0.9)
    viscosity = rounded("the viscosity in ft2/s", 1.23e-5, 0.01e-5, power)
    yield example.figure("head loss", "ft", "5.72", head / FOOT, laws(*at), viscosity)


def sized_main():
    """The bore for 37.5 ft3/s over 8000 ft, 0.0008 ft rough, water at 68 F: 1.85 ft, through which 215 ft are lost.

    Its Reynolds number is left out: nothing says the viscosity behind it.
    """
    # At this Reynolds number the roughness decides, and the viscosity hardly tells.
    bore, rough, flow, viscosity = 1.85 * FOOT, 0.0008 * FOOT, 37.5 * CUBIC_FOOT, 1.08e-5 * FOOT**2
    head = loss(flow, viscosity, bore, rough, 8000 * FOOT)[1]
    apart = laws(reynolds(flow, bore, viscosity), rough / bore)
    # Loss goes with the fifth power of the bore.
    printed = rounded("the bore in ft", 1.85, 0.01, 5)
    yield maurer("bore of a main").figure("head lost at the bore", "ft", "215", head / FOOT, printed, apart)


def rough_pipe():
    """The roughness of 3 m of 25 mm pipe at 20 C from three losses that were measured."""
    bore, length, viscosity = 0.025, 3.0, 1.0034e-6
    measured = [(0.20e-3, 0.052), (0.24e-3, 0.073), (0.30e-3, 0.110)]
    found = [
        brentq(lambda e, q=q, h=h: loss(q, viscosity, bore, e, length)[1] - h, 1e-4, 1e-3, xtol=1e-8)
        for q, h in measured
    ]
    example = maurer("roughness of a pipe")
    for what, printed, (flow, head), value in (
        ("roughness by the first", "0.000473", measured[0], found[0]),
        ("roughness, mean of three", "0.000434", measured[1], np.mean(found)),
    ):
        rough, number = float(printed), reynolds(flow, bore, viscosity)
        like_churchill = roughness_of(Churchill_1977(number, rough / bore), number) * bore
        higher = roughness_of(Colebrook(number, rough / bore) * (1 + 0.5e-3 / head), number) * bore
        yield example.figure(
            what,
            "m",
            printed,
            value,
            Margin("Churchill's factor there is Colebrook's of a wall rougher by", share=like_churchill / rough - 1),
            Margin(f"the loss of {head:g} m is printed to a millimetre", share=higher / rough - 1),
        )


def roughness_of(factor, number):
    """Roughness over bore [-] at which Colebrook's equation gives a factor."""
    return brentq(lambda e: Colebrook(number, e) - factor, 1e-4, 0.1)


def operating_point():
    """A pump through 0 gpm 81 ft, 5000 gpm 60 ft and 7850 gpm 20 ft, on 30 ft of lift and 3884 ft of 20 in pipe."""
    bore, rough, gpm = 20 * INCH, 0.0005 * FOOT, GALLON / MINUTE
    # The source takes the loss of the pipe at 1 ft3/s, and its square law from there on.
    k = loss(CUBIC_FOOT, WATER_60F, bore, rough, 3884 * FOOT)[1] / FOOT
    squares = [(q * gpm / CUBIC_FOOT) ** 2 for q in (0, 5000, 7850)]
    c, a = (float(x) for x in np.polyfit(squares, [81, 60, 20], 1))
    foot_of_water = DENSITY * GRAVITY * FOOT
    curve = [
        {"volts": "12 V", "rise": f"{(a + c * q**2) * foot_of_water!r} Pa", "flow": f"{q * CUBIC_FOOT!r} m3/s"}
        for q in np.linspace(6.0, 18.0, 25).tolist()
    ]
    point = {
        "fluid": "liquid",
        "temperature": "20 C",
        "flow": [f"{CUBIC_FOOT!r} m3/s"],
        "drop": [f"{k * foot_of_water!r} Pa"],
    }
    found = solved(
        {
            "lower": source(0.0),
            "pump": {"kind": "pump", "curve": "main", "volts": "12 V"},
            "main": {"kind": "resistance", "points": point},
            "upper": source(30 * foot_of_water),
        },
        {
            "suction": joined("lower.out", "pump.in"),
            "pressure": joined("pump.out", "main.in"),
            "end": joined("main.out", "upper.out"),
        },
        curves={"main": {"means": "a pump", "points": curve, "source": "for the test", "grade": "published"}},
        fluids={"liquid": fluid(f"{DENSITY} kg/m3", kinematic(WATER_60F))},
    )
    head = drop(found, "pump.out", "pump.in") / foot_of_water
    flow = found.flow("pressure")[0] / CUBIC_FOOT
    # Of a part more in K, the flow loses half the part that K has in K - c, and the head c Q^2 twice that.
    at = reynolds(CUBIC_FOOT, bore, WATER_60F), rough / bore
    printed = rounded("K", 0.160, 0.001, 0.5 * k / (k - c))
    apart = laws(*at, 0.5 * k / (k - c)), printed
    rise = (a - 53.285) / 53.285 * 2
    example = maurer("pump and system")
    yield example.figure("K of the pipe", "s2/ft5", "0.160", k, laws(*at))
    yield example.figure("flow", "ft3/s", "12.051", flow, *apart)
    yield example.figure("head", "ft", "53.285", head, *(Margin(m.why, share=m.share * rise) for m in apart))


CIRCUITS = (long_main, sized_main, rough_pipe, operating_point)
