"""A return-style fuel system: `from fuelled import BOX, fuel_plan`. Invented."""

from writing import FLUID, fluid, read, run, tube

RHO = 750.0
_ALIKE = FLUID | {"at": ["0 C", "60 C"]}
LIQUID = fluid("750 kg/m3", "0.5 mPa s", family="gasoline") | {
    "density": _ALIKE | {"is": ["750.001 kg/m3", "749.998 kg/m3"]},
    "viscosity": _ALIKE | {"law": "log", "is": ["0.5001 mPa s", "0.4998 mPa s"]},
}
"""Of one density and viscosity at every temperature of a fuel."""
BOX = {
    "corner": "-2200, -200, 200 mm",
    "opposite": "-1800, 200, 900 mm",
    "surface": {"full": "800 mm", "low": "450 mm"},
}
PORTS = {"out": "-1800, 100, 310 mm", "return": "-1800, -100, 590 mm"}
HOSE = {"length": "3 m", "length_is": "overall"}
CURVE = {0: 300, 300: 200, 600: 80}
"""Of the pump: rise [kPa] to flow [L/h]."""


def fuel_plan(
    folder,
    *,
    burn="1 L/h",
    attitudes=None,
    tank=None,
    place=True,
    liquid=LIQUID,
    temperature="20 C",
    components=None,
    runs=None,
    pump=None,
    bore="8 mm",
    duties=None,
    more_curves=None,
    more_stock=None,
    more_circuits=None,
    **sections,
):
    """Tank, pump, rail, regulator and back; without `place` only the heights of the pump and the rail are known."""

    def at(text):
        return {"at": text} if place else {"height": text.rpartition(", ")[2]}

    curve = [{"volts": "13 V", "rise": f"{p} kPa", "flow": f"{q} L/h"} for p, q in CURVE.items()]
    ports = {"in": at("-1600, 100, 250 mm"), "out": at("-1500, 100, 250 mm")}
    return read(
        folder,
        fluids={"liquid": liquid},
        circuits={"line": {"fluid": "liquid", "temperature": temperature}} | (more_circuits or {}),
        duties=duties or {"idle": {"boost": "-50 kPa", "burn": burn}, "full": {"boost": "100 kPa", "burn": burn}},
        attitudes=attitudes or {},
        curves={"c": {"means": "invented", "points": curve, "source": "invented", "grade": "illustrative"}}
        | (more_curves or {}),
        stock={"hose": tube("8 mm"), "inlet": tube(bore)} | (more_stock or {}),
        components={
            "tank": {"kind": "tank", "ports": {k: {"at": v} for k, v in PORTS.items()}}
            | (BOX if tank is None else tank),
            "pump": {"kind": "pump", "curve": "c", "volts": "13 V", "ports": ports} | (pump or {}),
            "rail": {"kind": "rail", "bore": "14 mm", "length": "400 mm"},
            "regulator": {
                "kind": "regulator",
                "set": "300 kPa",
                "reference": "manifold",
                "slope": "0 kPa per 100 L/h",
                "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["300 L/h"], "drop": ["20 kPa"]},
                "ports": {"in": {"at": "200, 0, 900 mm"}, "return": {"at": "200, 0, 880 mm"}},
            },
        }
        | (components or {}),
        runs={
            "F1": run("tank.out", "pump.in", "inlet", **HOSE),
            "F2": run("pump.out", "rail.in", "hose", **HOSE, rise="650 mm"),
            "F3": run("rail.out", "regulator.in", "hose", **HOSE, rise="0 mm"),
            "F4": run("regulator.return", "tank.return", "hose", **HOSE),
        }
        | (runs or {}),
        **sections,
    )
