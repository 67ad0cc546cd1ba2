"""Plans with a gallery, a turbocharger and what is between: `from oilfeeds import BALL, HOT, feed_plan`.

The points of the bearings are invented. Their flows are of the order that the trade gives hot at 3 to 4 bar (ball 0.5
to 1.5 L/min, journal 2 to 4 L/min: common practice, no source).
"""

from writing import fluid, read, run


def steady(density, viscosity):
    """A liquid of one density and viscosity about 80 C, so that a hand can follow."""
    told = fluid(density, viscosity)
    return told | {key: told[key] | {"at": ["80 C"]} for key in ("density", "viscosity")}


OIL = steady("840 kg/m3", "8 mPa s")
"""Hot oil."""
HOT = {"fluid": "oil", "temperature": "80 C"}
BALL = {"bearing": "ball", "points": HOT | {"flow": ["0.5 L/min", "0.9 L/min"], "drop": ["1.5 bar", "2.9 bar"]}}
JOURNAL = {"bearing": "journal", "points": HOT | {"flow": ["1.5 L/min", "3 L/min"], "drop": ["1.4 bar", "3.4 bar"]}}
DUTIES = {"idle": {"engine_speed": "800 rpm"}, "red_line": {"engine_speed": "7000 rpm"}}
ENGINE = {"idle": "25 psi", "red_line": "85 psi"}
HOSE = {"length": "600 mm", "length_is": "seat-to-seat", "rise": "0 mm", "bends": [], "ends": ["straight", "straight"]}


def feed_plan(folder, turbo, *, pressure=None, duties=None, between=(), oil=None, gallery=None, hose=None):
    """A plan in which oil comes from the gallery to one turbocharger, through what is between, one hose to each.

    Args:
        folder: where to write it.
        turbo: figures of the turbocharger.
        pressure: of the gallery by duty.
        duties: the plan's.
        between: (name, table) of each component between, in the order of the flow, with ports in and out.
        oil: the circuit's fluid and temperature.
        gallery: more figures of the gallery.
        hose: what else is said of every hose.
    """
    components = {
        "gallery": {"kind": "gallery", "pressure": pressure or ENGINE, "ports": {"turbo": {}}} | (gallery or {}),
        "turbo": {"kind": "turbocharger"} | turbo,
    } | dict(between)
    stops = ["gallery.turbo"] + [f"{name}.{port}" for name, _ in between for port in ("in", "out")] + ["turbo.feed"]
    hoses = zip(stops[::2], stops[1::2], strict=True)
    return read(
        folder,
        fluids={"oil": OIL},
        plan={"units": "us"},
        circuits={"line": oil or HOT},
        duties=duties or DUTIES,
        components=components,
        runs={f"O{i}": run(a, b, "ptfe-braid -4", **HOSE | (hose or {})) for i, (a, b) in enumerate(hoses, 1)},
    )


def pumped_plan(folder, turbo, suction="600 mm", **sump):
    """A plan in which the engine's own pump feeds one turbocharger out of a sump; the pump's curve is invented.

    Args:
        folder: where to write it.
        turbo: figures of the turbocharger.
        suction: length of the hose from the sump to the pump.
        sump: more figures of the sump.
    """
    points = [
        {"speed": f"{n} rpm", "rise": f"{rise * (n / 3000) ** 2} bar", "flow": f"{flow * n / 3000} L/min"}
        for n in (400, 3000)
        for rise, flow in ((0, 1.3), (4, 0.7), (8, 0.01))
    ]
    return read(
        folder,
        fluids={"oil": OIL},
        circuits={"line": HOT},
        duties={"steady": {"engine_speed": "2500 rpm"}},
        curves={"gears": {"means": "for the test", "points": points, "source": "for the test", "grade": "published"}},
        components={
            "pan": {
                "kind": "sump",
                "surface": {"full": "150 mm", "low": "120 mm"},
                "ports": {"pickup": {"height": "0 mm"}},
            }
            | sump,
            "pump": {"kind": "oil-pump", "ratio": 1, "curve": "gears"},
            "turbo": {"kind": "turbocharger"} | turbo,
        },
        runs={
            "O0": run("pan.pickup", "pump.in", "ptfe-braid -10", **HOSE | {"length": suction}),
            "O1": run("pump.out", "turbo.feed", "ptfe-braid -4", **HOSE),
        },
    )


def jet(bore):
    """A restrictor of this bore, drilled through 2 mm."""
    return ("jet", {"kind": "restrictor", "bore": bore, "length": "2 mm"})
