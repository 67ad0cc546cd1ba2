"""Plans of several pipes, pumps and fittings, read from files and solved, against worked examples.

Crane: Crane Co., Flow of Fluids Through Valves, Fittings and Pipe, TP-410, chapter 7, inputs and answers as the
notebooks of an open library restate them. White: F. White, Fluid Mechanics, chapter 6, from memory; every answer was
worked again with Colebrook's equation and found right.
"""

import math

import fluids.fittings
import pytest
from writing import fluid, line, read, run, straight, tube

FOOT, INCH = 0.3048, 0.0254
GALLON = 231 * INCH**3
POUND = 0.45359237
GRAVITY = 9.80665

# White, three cast-iron pipes, water (1000 kg/m3, 1.02 mm2/s), 150 kPa and 5 m of fall between the same two places.
WHITE = {
    "a": (100.0, tube("80 mm", "0.24 mm")),
    "b": (150.0, tube("60 mm", "0.12 mm")),
    "c": (80.0, tube("40 mm", "0.20 mm")),
}
HOUR = 3600.0
# Churchill's factors are within 1.2 % of his, which are Colebrook's; flow goes with the root.
COLEBROOK = 6e-3


def white(folder, components, runs):
    return line(
        read(
            folder,
            fluids={"liquid": fluid("1000 kg/m3", "1.02 mm2/s")},
            circuits={"line": {"fluid": "liquid", "temperature": "20 C"}},
            components=components,
            stock={f"pipe {name}": row for name, (_, row) in WHITE.items()},
            runs=runs,
        )
    )


def test_white_parallel_pipes(tmp_path):
    # 62.5, 25.9 and 11.4 m3/h, 99.8 in all.
    upper = {name: {"at": straight(length, 5.0)[0]} for name, (length, _) in WHITE.items()}
    components = {"upper": {"kind": "gallery", "pressure": "150 kPa", "ports": upper}}
    for name, (length, _) in WHITE.items():
        components[f"lower {name}"] = {"kind": "open", "ports": {"in": {"at": straight(length, 5.0)[1]}}}
    runs = {name: run(f"upper.{name}", f"lower {name}.in", f"pipe {name}", via=[]) for name in WHITE}
    found = white(tmp_path, components, runs)
    flow = [found.flow(name)[0] * HOUR for name in WHITE]
    assert flow == pytest.approx([62.5, 25.9, 11.4], rel=COLEBROOK, abs=0.05)
    assert sum(flow) == pytest.approx(99.8, rel=COLEBROOK)


def test_white_series_pipes(tmp_path):
    # 10.2 m3/h, 0.565 m/s in the first.
    ends, x = [], 0.0
    for length, _ in WHITE.values():
        ends.append((f"{x!r}, 0, 0 m", f"{x + length!r}, 0, 0 m"))
        x += length
    # The fall of 5 m is 5 m of water over the 150 kPa: the pipes themselves lie level.
    components = {
        "upper": {"kind": "source", "pressure": f"{150 + GRAVITY * 5!r} kPa", "ports": {"out": {"at": ends[0][0]}}},
        "ab": {"kind": "union", "ports": {"a": {"at": ends[0][1]}, "b": {"at": ends[1][0]}}},
        "bc": {"kind": "union", "ports": {"a": {"at": ends[1][1]}, "b": {"at": ends[2][0]}}},
        "lower": {"kind": "open", "ports": {"in": {"at": ends[2][1]}}},
    }
    runs = {
        "a": run("upper.out", "ab.a", "pipe a", via=[]),
        "b": run("ab.b", "bc.a", "pipe b", via=[]),
        "c": run("bc.b", "lower.in", "pipe c", via=[]),
    }
    found = white(tmp_path, components, runs)
    assert [found.flow(name)[0] * HOUR for name in WHITE] == pytest.approx([10.2] * 3, rel=COLEBROOK, abs=0.05)
    assert found.flow("a")[0] / (math.pi * 0.08**2 / 4) == pytest.approx(0.565, rel=COLEBROOK)


# ---------------------------------------------------------------- pumps and fittings


def lifted(folder, *, liquid, bore, roughness, length, rise, losses, curve):
    """A pump at the foot of a rising pipe with fittings: tank level, pump, pipe, fittings, open air."""
    foot, top = straight(length, -rise)
    return line(
        read(
            folder,
            fluids={"liquid": liquid},
            circuits={"line": {"fluid": "liquid", "temperature": "20 C"}},
            components={
                "supply": {"kind": "open", "ports": {"in": {"at": foot}}},
                "pump": {
                    "kind": "pump",
                    "curve": "main",
                    "volts": "12 V",
                    "ports": {"in": {"at": foot}, "out": {"at": foot}},
                },
                "fittings": {"kind": "resistance", "k": losses, "bore": bore, "ports": {"in": {"at": top}}},
                "end": {"kind": "open", "ports": {"in": {"at": top}}},
            },
            stock={"pipe": tube(bore, roughness), "wide": tube("1 m", outside="1.1 m")},
            curves={"main": {"means": "for the test", "points": curve, "source": "for the test", "grade": "published"}},
            runs={
                "P0": run("supply.in", "pump.in", "wide", length="0.01 m", length_is="overall", rise="0 m"),
                "P1": run("pump.out", "fittings.in", "pipe", via=[]),
                "P2": run("fittings.out", "end.in", "wide", length="0.01 m", length_is="overall", rise="0 m"),
            },
        )
    )


def through(flow, rise):
    """A falling pump curve [m3/s, Pa] that goes through this point."""
    return [
        {"volts": "12 V", "rise": f"{rise * r!r} Pa", "flow": f"{flow * q * 60000!r} L/min"}
        for r, q in ((0.7, 1.3), (1.0, 1.0), (1.3, 0.6))
    ]


def test_crane_7_15_head_of_a_pump(tmp_path):
    # Water at 70 F (62.298 lb/ft3, 0.95 cP), 100 US gpm, 3 in schedule 40 (3.068 in, 0.0022 in rough), 500 ft in all,
    # 400 ft up; a gate valve, four standard elbows, a 2 1/2 in lift check, the exit: a head of 421 ft. A pump with
    # just that head at that flow must give it: 0.3 % of head, 1 % of flow along this curve.
    rho, bore = 62.298 * POUND / FOOT**3, 3.068 * INCH
    k = fluids.fittings.K_gate_valve_Crane(D1=bore, D2=bore, angle=0.0)
    k += 4 * 30 * fluids.fittings.ft_Crane(bore)
    k += fluids.fittings.K_lift_check_valve_Crane(D1=2.469 * INCH, D2=bore, angled=False) + 1.0
    flow, rise = 100 * GALLON / 60, 421 * FOOT * rho * GRAVITY
    found = lifted(
        tmp_path,
        liquid=fluid(f"{rho!r} kg/m3", "0.95 cP"),
        bore="3.068 in",
        roughness="0.0022 in",
        length=500 * FOOT,
        rise=400 * FOOT,
        losses=k,
        curve=through(flow, rise),
    )
    assert found.flow("P1")[0] == pytest.approx(flow, rel=0.01)
    gained = found.total("pump.out") - found.total("pump.in")
    assert gained[0] / (rho * GRAVITY * FOOT) == pytest.approx(421, rel=3e-3)


def test_white_pump_with_minor_losses(tmp_path):
    # Water (1.94 slug/ft3, 1.1e-5 ft2/s), 0.2 ft3/s, 400 ft of 2 in with e/D 0.001, 100 ft up, loss coefficients of
    # 12.2 in all: f 0.0216, a head of 184 ft. 1.2 % of the 68 ft of friction is 0.5 % of the head.
    rho = 1.94 * 14.59390 / FOOT**3
    flow, rise = 0.2 * FOOT**3, 184 * FOOT * rho * GRAVITY
    found = lifted(
        tmp_path,
        liquid=fluid(f"{rho!r} kg/m3", f"{1.1e-5 * FOOT**2 * 1e6!r} mm2/s"),
        bore="2 in",
        roughness="0.002 in",
        length=400 * FOOT,
        rise=100 * FOOT,
        losses=12.2,
        curve=through(flow, rise),
    )
    assert found.friction("P1", 2 * INCH, 0.002 * INCH)[0] == pytest.approx(0.0216, rel=0.012)
    gained = found.total("pump.out") - found.total("pump.in")
    assert gained[0] / (rho * GRAVITY * FOOT) == pytest.approx(184, rel=5e-3)
    assert found.flow("P1")[0] == pytest.approx(flow, rel=0.01)
