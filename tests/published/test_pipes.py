"""Plans of one pipe, read from files and solved, against worked examples of the literature.

Crane: Crane Co., Flow of Fluids Through Valves, Fittings and Pipe, TP-410, chapter 7, inputs and answers as the
notebooks of an open library restate them. White: F. White, Fluid Mechanics, chapter 6, from memory; every answer was
worked again with Colebrook's equation and found right.
"""

import math

import pytest
from writing import fluid, line, read, run, straight, tube

FOOT, INCH = 0.3048, 0.0254
GALLON = 231 * INCH**3
POUND = 0.45359237
GRAVITY = 9.80665
PSI = POUND * GRAVITY / INCH**2


def single(folder, *, liquid, bore, roughness, length, flow, fall=0.0):
    """A source at 10 bar, one straight pipe, a known flow taken at its end."""
    here, there = straight(length, fall)
    return line(
        read(
            folder,
            fluids={"liquid": liquid},
            circuits={"line": {"fluid": "liquid", "temperature": "20 C"}},
            components={
                "source": {"kind": "source", "pressure": "10 bar", "ports": {"out": {"at": here}}},
                "end": {"kind": "draw", "flow": flow, "ports": {"in": {"at": there}}},
            },
            stock={"pipe": tube(bore, roughness)},
            runs={"P1": run("source.out", "end.in", "pipe", via=[])},
        )
    )


def fall_of_total(solution):
    """Fall of total pressure along the pipe [Pa]."""
    return float((solution.total("source.out") - solution.total("end.in"))[0])


def test_crane_7_1_reynolds_number_and_friction_factor(tmp_path):
    # Water at 30 C, smooth pipe of 52.5 mm, 200 L/min: Re 100 600, f 0.0179 (read from a chart): 1.5 %.
    found = single(
        tmp_path,
        liquid=fluid("995.65 kg/m3", "0.7972 mPa s"),
        bore="52.5 mm",
        roughness="1e-6 mm",
        length=10.0,
        flow="200 L/min",
    )
    assert found.reynolds("P1", 0.0525)[0] == pytest.approx(100_600, rel=0.015)
    assert found.friction("P1", 0.0525, 1e-9)[0] == pytest.approx(0.0179, rel=0.015)


def test_crane_7_13_oil_in_a_long_pipe(tmp_path):
    # Oil of 0.815, 2.7 mm2/s, 2 US gal/s, 100 ft of 2 in schedule 40, 0.0018 in rough: 9.65 psi, with f read from
    # a chart as 0.0230: 1.5 %. By Colebrook 9.54.
    found = single(
        tmp_path,
        liquid=fluid("815 kg/m3", "2.7 mm2/s"),
        bore="2.067 in",
        roughness="0.0018 in",
        length=100 * FOOT,
        flow=f"{2 * GALLON * 60000!r} L/min",
    )
    assert fall_of_total(found) / PSI == pytest.approx(9.65, rel=0.015)
    assert found.friction("P1", 2.067 * INCH, 0.0018 * INCH)[0] == pytest.approx(0.0230, rel=0.015)


def test_white_water_in_a_horizontal_pipe(tmp_path):
    # 200 ft of 6 in asphalted cast iron (0.0004 ft), 6 ft/s, water of 62.4 lb/ft3 and 1.1e-5 ft2/s: f 0.02, head loss
    # 4.5 ft, both rounded from a chart: 2 %.
    rho, nu = 62.4 * POUND / FOOT**3, 1.1e-5 * FOOT**2
    flow = 6 * FOOT * math.pi * (6 * INCH) ** 2 / 4
    found = single(
        tmp_path,
        liquid=fluid(f"{rho!r} kg/m3", f"{nu * 1e6!r} mm2/s"),
        bore="6 in",
        roughness="0.0048 in",
        length=200 * FOOT,
        flow=f"{flow * 60000!r} L/min",
    )
    assert fall_of_total(found) / (rho * GRAVITY * FOOT) == pytest.approx(4.5, rel=0.02)


def test_white_oil_downhill(tmp_path):
    # 0.2 m3/s of oil (900 kg/m3, 10 mm2/s) down 500 m of 200 mm cast iron (0.26 mm) at 10 deg: f 0.0225, head loss 116
    # to 117 m, pressure drop 265 kPa. f is read from a chart, Colebrook's root is 0.0227: 1 %, and 1 % for Churchill's;
    # the pressure drop is the small difference of fall and friction.
    found = single(
        tmp_path,
        liquid=fluid("900 kg/m3", "10 mm2/s"),
        bore="200 mm",
        roughness="0.26 mm",
        length=500.0,
        flow="12000 L/min",
        fall=500.0 * math.sin(math.radians(10)),
    )
    assert found.friction("P1", 0.2, 0.26e-3)[0] == pytest.approx(0.0225, rel=0.02)
    head = found.parts("P1")["friction in hose"][0] / (900 * GRAVITY)
    assert head == pytest.approx(116.5, rel=0.02)
    assert fall_of_total(found) == pytest.approx(265e3, abs=0.02 * 116.5 * 900 * GRAVITY)


def test_maurer_a_long_main(tmp_path):
    # E. Maurer, R package `hydraulics`, vignette: 20 in, 10 560 ft, 4 ft3/s, water at 60 F (1.2293e-5 ft2/s), 0.0005 ft
    # rough: Re 248 625, head loss 5.72 ft. Its factors are Colebrook's: 1.2 %, as the friction tests find.
    found = single(
        tmp_path,
        liquid=fluid("999 kg/m3", f"{1.2293e-5 * FOOT**2 * 1e6!r} mm2/s"),
        bore="20 in",
        roughness="0.006 in",
        length=10_560 * FOOT,
        flow=f"{4 * FOOT**3 * 60000!r} L/min",
    )
    assert found.reynolds("P1", 20 * INCH)[0] == pytest.approx(248_625, rel=1e-3)
    assert fall_of_total(found) / (999 * GRAVITY * FOOT) == pytest.approx(5.72, rel=0.012)


def test_white_laminar_flow_uphill(tmp_path):
    # Oil of 900 kg/m3 and 200 mm2/s in 10 m of 60 mm pipe at 40 deg, 350 kPa below and 250 kPa above: it flows up,
    # 0.0076 m3/s at Re 810, head loss 4.9 m, all printed with two figures or three: 1 %.
    lower, upper = straight(10.0, -10.0 * math.sin(math.radians(40)))
    found = line(
        read(
            tmp_path,
            fluids={"liquid": fluid("900 kg/m3", "200 mm2/s")},
            circuits={"line": {"fluid": "liquid", "temperature": "20 C"}},
            components={
                "below": {"kind": "source", "pressure": "350 kPa", "ports": {"out": {"at": lower}}},
                "above": {"kind": "source", "pressure": "250 kPa", "ports": {"out": {"at": upper}}},
            },
            stock={"pipe": tube("60 mm")},
            runs={"P1": run("above.out", "below.out", "pipe", via=[])},
        )
    )
    # The run is named from above to below: what flows up it is negative.
    assert found.flow("P1")[0] == pytest.approx(-0.0076, rel=0.01)
    assert found.reynolds("P1", 0.06)[0] == pytest.approx(810, rel=0.01)
    assert found.parts("P1")["friction in hose"][0] / (900 * GRAVITY) == pytest.approx(-4.9, rel=0.01)


def test_crane_7_11_a_coil_with_seven_return_bends(tmp_path):
    # Water at 80 C, 60 L/min in 1 in schedule 40 (26.64 mm, 0.0018 in rough): 9 m of straight pipe and seven bends of
    # 180 deg with four bores radius: 19 609 Pa, of which the bends are some 40 %. Crane counts a return bend as two
    # quarters, Rennels' equation much lower: the two correlations differ by a fifth of the bends' part, 10 % in all.
    bore, quarter = 26.64e-3, 4 * 26.64e-3 * math.pi / 2
    found = line(
        read(
            tmp_path,
            circuits={"line": {"fluid": "water", "temperature": "80 C"}},
            components={
                "source": {"kind": "source", "pressure": "10 bar"},
                "end": {"kind": "draw", "flow": "60 L/min"},
            },
            stock={"pipe": tube("26.64 mm", "0.04572 mm", outside="33.4 mm")},
            runs={
                "P1": run(
                    "source.out",
                    "end.in",
                    "pipe",
                    length=f"{9 + 7 * 2 * quarter!r} m",
                    length_is="overall",
                    rise="0 m",
                    bends=[{"turn": "180 deg", "inside_radius": f"{(4 * bore - 0.0334 / 2) * 1e3!r} mm"}] * 7,
                )
            },
        )
    )
    assert fall_of_total(found) == pytest.approx(19_609, rel=0.10)
