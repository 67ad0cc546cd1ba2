"""Plans that a test writes to a file and reads back: `from writing import read, run, tube`."""

import json
import math

from catalogs import units
from lines.reading import read_plan
from solver.solution import Solution, solve_plan

HEAD = {
    "title": "for a test (invented)",
    "units": "metric",
    "zero": "the floor",
    "ambient": {"temperature": "20 C", "altitude": "0 m"},
}
FLUID = {"source": "for the test", "grade": "published"}


def toml(value):
    """A value as TOML writes it on one line."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(k)} = {toml(v)}" for k, v in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(toml(v) for v in value) + "]"
    return json.dumps(value)


def text_of(sections):
    """The TOML text of a plan or table: {section: {key: {...}}}."""
    lines = ["schema = 1"]
    for section, rows in sections.items():
        tables = {section: rows} if section == "plan" else {f"{section}.{json.dumps(k)}": v for k, v in rows.items()}
        for name, table in tables.items():
            lines += [f"[{name}]", *(f"{json.dumps(k)} = {toml(v)}" for k, v in table.items())]
    return "\n".join(lines) + "\n"


def read(folder, *, fluids=None, **sections):
    """Write a plan into a folder, its own fluids into a shop's folder beside it, and read it."""
    head = HEAD | sections.pop("plan", {})
    if fluids:
        (folder / "shop").mkdir(exist_ok=True)
        rows = [f"[{json.dumps(k)}]\n" + "\n".join(f"{f} = {toml(x)}" for f, x in v.items()) for k, v in fluids.items()]
        (folder / "shop" / "fluids.toml").write_text("\n".join(rows), encoding="utf-8")
        head |= {"shop": "shop"}
    path = folder / "plan.toml"
    path.write_text(text_of({"plan": head, "duties": {"steady": {}}} | sections), encoding="utf-8")
    return read_plan(path)


def fluid(density, viscosity, *, family="oil"):
    """A liquid of one density and viscosity at every temperature."""
    return FLUID | {
        "means": "a liquid for the test",
        "family": family,
        "flammable": False,
        "density": FLUID | {"at": ["20 C"], "is": [density]},
        "viscosity": FLUID | {"at": ["20 C"], "is": [viscosity]},
    }


def tube(bore, roughness="0.0001 mm", **facts):
    """A row of stock: rigid tube of this bore, 20 mm outside or what a wider bore takes."""
    wide = 1.1 * units.read(bore, "bore").value
    return {
        "family": "tube for a test",
        "dash": 8,
        "means": "tube for a test",
        "liner": "steel",
        "outside": f"{max(wide, 0.020)!r} m",
        "bore": bore,
        "working_pressure": "200 bar",
        "coldest": "-40 C",
        "hottest": "200 C",
        "bend_radius": "20 mm",
        "radius_to": "centreline",
        "roughness": roughness,
        "rigid": True,
        "source": "for the test",
        "grade": "illustrative",
    } | facts


def run(start, end, stock, circuit="line", **facts):
    """A run between two ports."""
    return {"circuit": circuit, "from": start, "to": end, "stock": stock} | facts


def straight(length, fall=0.0):
    """Two places this far apart [m], the second lower by `fall` [m]."""
    return f"0, 0, {fall!r} m", f"{math.sqrt(length**2 - fall**2)!r}, 0, 0 m"


def line(plan):
    """The solution of the circuit `line` of a plan, which has one at every duty."""
    answer = solve_plan(plan)["line"]
    assert isinstance(answer, Solution), answer.error
    assert answer.reasons == {}
    return answer
