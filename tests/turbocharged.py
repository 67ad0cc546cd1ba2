"""Plans with one turbocharger, its feed, its drain and a sump: `from turbocharged import plan_of`. Invented."""

from writing import read, run

# Bearings that take about 0.5 L/min of hot oil at 2.5 bar.
POINTS = {
    "fluid": "10w-40",
    "temperature": "100 C",
    "flow": ["0.2 L/min", "0.5 L/min"],
    "drop": ["1 bar", "2.5 bar"],
}
BOX = {"corner": "-200, -150, 0 mm", "opposite": "200, 150, 250 mm", "surface": {"full": "120 mm", "low": "90 mm"}}
TEMPERATURE = {"hot": "110 C", "cold": "40 C"}


def place(xyz):
    return ", ".join(f"{x!r}" for x in xyz) + " mm"


def plan_of(
    folder,
    *,
    outlet=(0.0, 0.0, 500.0),
    bung=(150.0, 0.0, 200.0),
    via=(),
    attitudes=None,
    stock="ptfe-braid -10",
    sump=None,
    turbo=None,
    duties=None,
    temperature=None,
    pressure="3 bar",
    circuits=None,
    components=None,
    runs=None,
    thread=None,
):
    """A plan of two duties, hot and cold; with a thread its drain has ends, on ports that look at each other."""
    made = circuits or {}
    way = ", ".join(f"{b - a!r}" for a, b in zip(outlet, bung, strict=True))
    back = ", ".join(f"{a - b!r}" for a, b in zip(outlet, bung, strict=True))
    seats = [{"thread": thread, "points": points} if thread else {} for points in (way, back)]
    oil = {"fluid": "10w-40", "temperature": temperature or TEMPERATURE}
    ports = {
        "feed": {"at": place((outlet[0], outlet[1], outlet[2] + 80.0)), "points": "up"},
        "drain": {"at": place(outlet)} | seats[0],
    }
    return read(
        folder,
        duties=duties or {"hot": {}, "cold": {}},
        circuits={"oil": oil, "drain": oil} | made,
        attitudes=attitudes or {},
        components={
            "gallery": {"kind": "gallery", "pressure": pressure, "ports": {"out": {"at": "0, 300, 500 mm"}}},
            "turbo": {"kind": "turbocharger", "bearing": "ball", "points": POINTS, "ports": ports} | (turbo or {}),
            "sump": {"kind": "sump", "ports": {"drain": {"at": place(bung)} | seats[1]}}
            | (BOX if sump is None else sump),
        }
        | (components or {}),
        runs={
            "O1": run("gallery.out", "turbo.feed", "ptfe-braid -4", circuit="oil", length="500 mm", length_is="cut"),
            "D1": run("turbo.drain", "sump.drain", stock, circuit="drain", via=[place(p) for p in via]),
        }
        | (runs or {}),
    )
