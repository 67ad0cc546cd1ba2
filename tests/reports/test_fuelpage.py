"""The page of a fuel system: every figure as the solver has it, every curve through its pump's points, drawn whole."""

import io
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdf
import pytest
from fuelled import fuel_plan
from writing import run

import lines
from catalogs.units import Quantity, show
from lines.finding import Verdict
from lines.reading import read_plan
from reports.front import front
from reports.fuelpage import OF_IT, fuel_pages
from reports.pdf import PAPERS, bound, room_of
from reports.pdffuel import fuel_story
from solver.checks import findings
from solver.study import study

EXAMPLES = Path(lines.__file__).parent / "examples"
GPH, PSI = 3.785411784e-3 / 3600, 6894.757293168


@pytest.fixture(scope="module", params=["fuel-return", "long-travel"])
def made(request):
    of = study(read_plan(EXAMPLES / request.param / "plan.toml"))
    found = findings(of)
    (page,) = fuel_pages(of, found)
    return of, found, page


def test_its_rows_are_what_the_solver_has(made):
    of, found, page = made
    answer = of.solutions["fuel"]
    assert [row[0] for row in page.rows] == list(of.plan.duties)
    main = page.heads[2].removesuffix(" gives")
    flows = answer.flow(f"{main}: pump")
    for row, flow in zip(page.rows, flows, strict=True):
        assert row[2] == show(Quantity(float(flow), "volume_flow"), of.plan.system)
    for rule, column, most in (("fuel.suction", -1, min), ("fuel.injector", -2, max)):
        cases = [c for f in found if f.rule == rule for c in f.cases]
        for row in page.rows:
            worst = most((c.value for c in cases if c.state.duty == row[0]), key=lambda quantity: quantity.value)
            assert row[column] == show(worst, of.plan.system)


def test_a_pumps_curve_goes_through_its_points_and_it_works_on_it(made):
    of, _, page = made
    curves = [plot for plot in page.plots if plot.title.endswith("where it works")]
    assert len(curves) == sum(e.law == "pump" for e in of.circuits["fuel"].edges.values())
    for plot in curves:
        name = plot.title.split()[1].rstrip(",")
        component = of.plan.components[name]
        points = of.plan.catalog.curve(component.figures["curve"]).points
        for line in plot.lines:
            at = [p for p in points if f"{p.at:.1f} V" == line.name]
            for point in at:
                flow = np.interp(point.rise / PSI, line.points[:, 1], line.points[:, 0])
                assert flow == pytest.approx(point.flow / GPH, rel=2e-3)
        for dot in plot.dots:
            if dot.filled:
                near = min(abs(np.interp(dot.at[1], c.points[:, 1], c.points[:, 0]) - dot.at[0]) for c in plot.lines)
                assert near < 0.02 * dot.at[0]


def test_what_is_burnt_stands_left_of_the_curve_where_it_is_enough(made):
    of, _, page = made
    curves = [plot for plot in page.plots if plot.title.endswith("where it works")]
    (need,) = [dot for plot in curves for dot in plot.dots if not dot.filled]
    burn = of.solutions["fuel"].model.batch.taken.sum(axis=1).max()
    assert need.at[0] == pytest.approx(burn / GPH)
    assert need.text == "full_load burns"


def test_what_is_asked_of_a_pump_crosses_its_curve_where_it_works(made):
    _, _, page = made
    for plot in page.plots:
        for line in (line for line in plot.lines if line.thin):
            (works,) = [dot for dot in plot.dots if dot.filled and line.name == f"asked at {dot.text}"]
            order = np.argsort(line.points[:, 0])
            high = np.interp(works.at[0], line.points[order, 0], line.points[order, 1])
            assert high == pytest.approx(works.at[1], rel=0.02)


def test_over_boost_the_duty_stands_on_what_is_needed_at_its_power(made):
    of, _, page = made
    (plot,) = [plot for plot in page.plots if plot.title.endswith("by boost")]
    lines = {line.name: line.points for line in plot.lines}
    duty = of.plan.duties["full_load"]
    (planned,) = [dot for dot in plot.dots if dot.filled]
    assert planned.at[1] == pytest.approx(duty.crank_power / (550 * 0.3048 * 0.45359237 * 9.80665))
    assert planned.at == pytest.approx((duty.boost.value / PSI, np.interp(planned.at[0], *lines["needed"].T)))
    (ends,) = [dot for dot in plot.dots if not dot.filled]
    has = min(np.interp(ends.at[0], *lines[name].T) for name in ("pump feeds", "injectors pass"))
    assert ends.at[1] == pytest.approx(has, rel=1e-3)
    # What is hatched lies between the two.
    for x, y in plot.shaded:
        low, high = (np.interp(x, *lines[name].T) for name in ("needed", "pump feeds"))
        assert low - 1 <= y <= high + 1


def test_the_line_begins_at_the_tank_and_ends_there(made):
    _, _, page = made
    (along,) = [plot for plot in page.plots if plot.title.startswith("From the tank")]
    for line in along.lines:
        assert line.points[0, 1] == pytest.approx(0, abs=0.01)
        assert line.points[-1, 1] == pytest.approx(0, abs=0.01)
        assert (np.diff(line.points[:, 0]) >= 0).all()
        assert line.points[:, 1].max() > 35
    # Only the tank that it comes from is passed twice.
    names = [dot.text for dot in along.dots]
    assert [name for name in names if name.endswith(" back")] == [f"{names[0]} back"]


def test_along_it_every_run_is_as_long_as_the_fuel_flows_in_it(tmp_path):
    # Of a stock without ends no cut length is known, and seat to seat it is.
    long = {"length": "3 m", "length_is": "seat-to-seat"}
    runs = {"F1": run("tank.out", "pump.in", "ptfe-braid -8", **long)}
    made = study(fuel_plan(tmp_path, runs=runs))
    (page,) = fuel_pages(made, findings(made))
    (along,) = [plot for plot in page.plots if plot.title.startswith("From the tank")]
    assert made.assemblies["F1"].cut is None
    assert along.lines[0].points[:, 0].max() == pytest.approx(
        sum(made.assemblies[t].flowed for t in ("F1", "F2", "F3", "F4")) * 1e3
    )
    assert {dot.text: dot.at[0] for dot in along.dots}["pump"] == pytest.approx(3000)


def test_the_sum_at_an_inlet_adds_up(made):
    _, _, page = made

    def psi(text):
        return float(text.replace(" psi abs", "").replace(" psi", "").replace("- ", "-").replace("+ ", ""))

    for _, rows in page.sums:
        own = [row for row in rows if not row[0].startswith(OF_IT)]
        over, height, lost, here, boils, need, left = (psi(text) for _, text in own[1:])
        assert over + height + lost == pytest.approx(here, abs=0.11)
        assert here + boils + need == pytest.approx(left, abs=0.11)


def test_what_lines_hold_and_what_runs_out_is_what_is_found(made):
    of, found, page = made
    lines_hold, runs_out = page.held
    prime = next(f for f in found if f.rule == "fuel.prime" and f.place in {"pump", "main_pump"})
    if prime.value is None:
        assert prime.needs == "volume in [components.filter]"
        assert "? (what filter holds is not known) from it to regulator" in lines_hold
    else:
        assert f"filled in {show(prime.value, of.plan.system)} at {prime.worst.duty}" in lines_hold
    opened = [f for f in found if f.rule == "fuel.siphon" and f.value is not None]
    for most in opened:
        assert f"{show(most.value, of.plan.system)} of {most.place} at {most.worst.station}" in runs_out
    answer = of.solutions["fuel"]
    returns = re.search(r"([\d.]+) fl oz back from regulator", lines_hold)[1]
    bores = sum(
        np.pi * pipe.bore**2 / 4 * pipe.length
        for tag, run in answer.model.circuit.runs.items()
        if run.line == "RETURN"
        for pipe in answer.model.resistances[tag].pipes
    )
    assert float(returns) == pytest.approx(bores / 2.95735295625e-5, abs=0.06)


def said(page, found):
    """The texts on top of a page with their findings; what a joint lets out stands in a sentence of its own."""
    loud = {f.id: f for f in found if f.rule.startswith("fuel.") and f.verdict is not Verdict.PASS}
    told = {rule.partition(" ")[2]: text for rule, text in page.told}
    assert set(told) == {key for key, f in loud.items() if f.rule != "fuel.siphon" or f.value is None}
    return [(loud[key], text) for key, text in told.items()]


def test_what_does_not_pass_stands_on_top_and_says_what_to_do(made):
    of, found, page = made
    for finding, text in said(page, found):
        assert text
        assert finding.change.say(of.plan.system) in text
        assert finding.needs in text


def test_what_to_do_is_told_apart_from_why_and_from_what_to_measure(tmp_path):
    of = study(fuel_plan(tmp_path, burn="190 L/h"))
    found = findings(of)
    (page,) = fuel_pages(of, found)
    verdicts = set()
    for finding, text in said(page, found):
        why, change = finding.why.say("metric"), finding.change.say("metric")
        asks = [f"DO: {change}"] * bool(change) + [f"MEASURE: {finding.needs}."] * bool(finding.needs)
        if finding.verdict is Verdict.FAIL or not asks:
            asks = [why, *asks]
        assert text == " ".join(asks)
        verdicts.add(finding.verdict)
    assert {Verdict.FAIL, Verdict.UNCHECKED} <= verdicts


# ---------------------------------------------------------------- on paper


@pytest.mark.parametrize("paper", PAPERS)
def test_it_is_drawn_on_one_sheet_of_both_papers(made, paper):
    of, found, page = made
    drawn = bound(front(of, found), fuel_story([page], room_of(paper)), paper, "Fuel")
    (sheet,) = pypdf.PdfReader(io.BytesIO(drawn)).pages
    text = sheet.extract_text()
    assert all(plot.title in text for plot in page.plots)
    for name, _ in page.sums:
        assert f"At the inlet of {name}" in text
    assert "From the tank to the rail and back" in text


def test_three_sums_stand_beside_each_other_on_its_one_sheet(made):
    of, found, page = made
    three = replace(page, sums=(page.sums * 3)[:3], plots=(page.plots * 2)[:4])
    drawn = bound(front(of, found), fuel_story([three], room_of("letter")), "letter", "Fuel")
    (sheet,) = pypdf.PdfReader(io.BytesIO(drawn)).pages
    assert sheet.extract_text().count("At the inlet of") == 3
