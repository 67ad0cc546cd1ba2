"""Pumps side by side are drawn together; of fuel without a return the curve at full, and the line to its worst rail."""

from pathlib import Path

import numpy as np
import pytest
from fuelled import BOX, CURVE, HOSE, LIQUID, PORTS, fuel_plan
from writing import read, run, tube

import lines
from lines.reading import read_plan
from reports.fuelpage import fuel_pages
from solver.checks import findings
from solver.study import study

SPLIT, JOIN = (
    {"kind": "tee", "bore": "16 mm", "ports": {key: {"at": f"{x}, 0, 250 mm"} for key in ("a", "b", "branch")}}
    for x in (-1700, -1450)
)
SECOND = {"kind": "pump", "curve": "c", "volts": "13 V"}
JOINED = {
    "F1": run("tank.out", "split.a", "wide", **HOSE),
    "S1": run("split.b", "pump.in", "wide", **HOSE),
    "S2": run("split.branch", "second.in", "wide", **HOSE),
    "F2": run("pump.out", "join.a", "wide", **HOSE, rise="0 mm"),
    "S3": run("second.out", "join.b", "wide", **HOSE, rise="0 mm"),
}
AT = {"in": {"at": "-1600, -100, 250 mm"}, "out": {"at": "-1500, -100, 250 mm"}}


def page_of(plan):
    made = study(plan)
    (page,) = fuel_pages(made, findings(made))
    return made, page, {plot.title: plot for plot in page.plots}


def twin_with_return(folder, times=1.0, **changes):
    """Two pumps side by side, each with so many times the flow of the curve at each rise."""
    curve = [{"volts": "13 V", "rise": f"{p} kPa", "flow": f"{times * q} L/h"} for p, q in CURVE.items()]
    more = {"t": {"means": "invented", "points": curve, "source": "invented", "grade": "illustrative"}}
    return fuel_plan(
        folder,
        burn="60 L/h",
        components={"split": SPLIT, "join": JOIN, "second": SECOND | {"curve": "t", "ports": AT}},
        runs=JOINED | {"S4": run("join.branch", "rail.in", "hose", **HOSE, rise="650 mm")},
        pump={"curve": "t"},
        more_curves=more,
        more_stock={"wide": tube("16 mm")},
        **changes,
    )


def without_return(folder, *, pump=None, regulator=True, twin=False, crossover="8 mm", burn=("170 L/h", "240 L/h")):
    """Tank, one pump or two, a feed regulator if there is one, a rail and another one behind it."""
    curve = [{"volts": "13 V", "rise": f"{p} kPa", "flow": f"{q} L/h"} for p, q in CURVE.items()]
    valve = {
        "kind": "feed-regulator",
        "set": "250 kPa",
        "reference": "manifold",
        "slope": "0 kPa per 100 L/h",
        "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["300 L/h"], "drop": ["20 kPa"]},
        "ports": {"in": {"at": "-300, 0, 900 mm"}, "out": {"at": "-280, 0, 900 mm"}},
    }
    components = {
        "tank": {"kind": "tank", "ports": {"out": {"at": PORTS["out"]}}} | BOX,
        "pump": SECOND
        | {"ports": {"in": {"at": "-1600, 100, 250 mm"}, "out": {"at": "-1500, 100, 250 mm"}}}
        | (pump or {}),
        "rail": {"kind": "rail", "bore": "14 mm", "length": "400 mm"},
        "other": {"kind": "rail", "bore": "14 mm", "length": "400 mm"},
    }
    runs = {"F3": run("rail.out", "other.in", "crossover", **HOSE, rise="0 mm")}
    last = "pump.out"
    if twin:
        components |= {"split": SPLIT, "join": JOIN, "second": SECOND | {"ports": AT}}
        last, runs = "join.branch", runs | JOINED
    else:
        runs["F1"] = run("tank.out", "pump.in", "wide", **HOSE)
    if regulator:
        components["valve"] = valve
        runs["F4"] = run(last, "valve.in", "wide", **HOSE, rise="650 mm")
        last = "valve.out"
    runs["F5"] = run(last, "rail.in", "wide", **HOSE, rise="0 mm" if regulator else "650 mm")
    return read(
        folder,
        fluids={"liquid": LIQUID},
        circuits={"line": {"fluid": "liquid", "temperature": "20 C"}},
        duties={"idle": {"boost": "-50 kPa", "burn": burn[0]}, "full": {"boost": "100 kPa", "burn": burn[1]}},
        curves={"c": {"means": "invented", "points": curve, "source": "invented", "grade": "illustrative"}},
        stock={"wide": tube("16 mm"), "crossover": tube(crossover)},
        components=components,
        runs=runs,
    )


def test_pumps_side_by_side_are_told_and_drawn_together(tmp_path):
    _, page, plots = page_of(without_return(tmp_path, twin=True))
    assert page.heads[2] == "pumps give"
    # All that they give is burnt: nothing goes back.
    assert [row[2] for row in page.rows] == [row[1] for row in page.rows] == ["170 L/h", "240 L/h"]
    assert [title for title in plots if title.startswith("What p")] == ["What pump and second give together"]
    (curve,) = plots["What pump and second give together"].lines
    for rise, flow in CURVE.items():
        assert np.interp(rise, curve.points[:, 1], curve.points[:, 0]) == pytest.approx(2 * flow, rel=1e-3)
    for dot, burnt in zip(plots["What pump and second give together"].dots, (170, 240), strict=True):
        assert dot.at[0] == pytest.approx(burnt, rel=1e-3)
        assert np.interp(dot.at[1], curve.points[:, 1], curve.points[:, 0]) == pytest.approx(dot.at[0], rel=0.01)


def test_what_is_asked_of_pumps_side_by_side_is_asked_of_all_of_them_at_once(tmp_path):
    _, _, plots = page_of(twin_with_return(tmp_path))
    drawn = plots["What pump and second give together"]
    (asked,) = [line for line in drawn.lines if line.thin]
    # Both pumps larger, as a plan of its own: that works on the curve that the first one is asked for.
    for times in (1.0, 0.7, 1.5):
        (tmp_path / str(times)).mkdir()
        _, row, other = page_of(twin_with_return(tmp_path / str(times), times))
        works = {dot.text: dot.at for dot in other["What pump and second give together"].dots}
        flow, rise = works[asked.name.removeprefix("asked at ")]
        order = np.argsort(asked.points[:, 0])
        assert np.interp(flow, asked.points[order, 0], asked.points[order, 1]) == pytest.approx(rise, rel=5e-3)
        assert row.rows[0][2] == f"{works['idle'][0]:.0f} L/h"


def test_a_pump_that_lifts_has_a_plot_of_its_own():
    of = study(read_plan(Path(lines.__file__).parent / "examples" / "long-travel" / "plan.toml"))
    (page,) = fuel_pages(of, findings(of))
    plots = [plot.title for plot in page.plots if plot.title.endswith("where it works")]
    assert len(plots) == sum(e.law == "pump" for e in of.circuits["fuel"].edges.values()) == 2


def test_the_curve_of_a_pulsed_pump_says_that_it_is_that_at_full(tmp_path):
    pulsed = {"holds": "300 kPa", "reference": "manifold"}
    _, _, plots = page_of(without_return(tmp_path, pump=pulsed, regulator=False, burn=("5 L/h", "60 L/h")))
    plot = plots["What pump gives, and where it works"]
    (curve,) = plot.lines
    assert curve.name == "at full, 13.0 V"
    assert any(note.startswith("'at full' is") for note in plot.notes)
    for dot in plot.dots:
        assert dot.at[0] < np.interp(dot.at[1], curve.points[:, 1], curve.points[:, 0]) - 1
    # What is burnt and what is given is one point, with one label.
    assert [dot.text for dot in plot.dots] == ["idle", "full, all burnt"]


def test_without_a_return_the_line_ends_at_the_rail_that_is_fed_worst(tmp_path):
    of, _, plots = page_of(without_return(tmp_path, twin=True, crossover="4 mm"))
    along = plots["From the tank to the rail"]
    assert [dot.text for dot in along.dots][-3:] == ["valve", "rail", "other"]
    assert not [dot for dot in along.dots if dot.text.endswith("back")]
    # The thin hose between the two is seen: the pressure at the far rail, which is the least of all.
    answer = of.solutions["line"]
    least = min(answer.total(node)[1] for node in answer.model.circuit.nodes if node.startswith("other"))
    ambient = of.plan.ambient.pressures[1]
    assert along.lines[0].points[-1, 1] == pytest.approx((least - ambient) / 1e3, abs=0.5)
    assert along.lines[0].points[-1, 1] < {dot.text: dot.at[1] for dot in along.dots}["rail"] - 5
