"""The worked calculation: every printed line typed into a calculator again, and held against other sources."""

import csv
import io
import math
import re
import shutil
from importlib import resources

import fluids.core
import fluids.fittings
import fluids.friction
import pypdf
import pytest
from CoolProp.CoolProp import PropsSI
from writing import read, run

from catalogs.units import Quantity
from lines.reading import read_plan
from reports.cli import main
from reports.equations import Hand, digits, evaluate
from reports.pdfparts import drawable
from reports.sheets import write_sheets
from reports.worked import A_DRAIN, ASK, NO_UNIT, calculations, worked_table
from reports.workedsheet import _listed, _remainder
from solver.checks import findings
from solver.fittings import bend, coefficient, hole
from solver.solution import Solution
from solver.study import study

EXAMPLES = ("fuel-return", "methanol-sideways", "long-travel")
# By definition: inch, pound, gallon of 231 in3, standard gravity; inch of water at 60 F from NIST SP 811, table B.8.
INCH, POUND, GRAVITY = 0.0254, 0.45359237, 9.80665
GALLON = 231 * INCH**3
SI = {
    "in": INCH, "mm": 1e-3, "ft/s": 12 * INCH, "m/s": 1.0, "ft/s2": 12 * INCH, "m/s2": 1.0,
    "gph": GALLON / 3600, "L/h": 1e-3 / 3600, "cfm": (12 * INCH) ** 3 / 60, "L/min": 1e-3 / 60,
    "psi": POUND * GRAVITY / INCH**2, "kPa": 1e3, "inH2O": 248.84,
    "lb/gal": POUND / GALLON, "kg/m3": 1.0, "mm2/s": 1e-6, "cP": 1e-3, "mPa s": 1e-3, "": 1.0,
}  # fmt: skip
UNIT = re.compile(
    r"(?<=[\d.]) (" + "|".join(re.escape(u) for u in sorted(filter(None, SI), key=len)[::-1]) + r")(?![\w/])"
)
CALCULATOR = {"ln": math.log, "sqrt": math.sqrt, "min": min, "pi": math.pi, "__builtins__": {}}
BY_HAND = 0.005
"""What a hand that types in what is printed may miss: asked of the sheet, and ten times what five figures leave."""


def typed_in(numbers):
    """What a pocket calculator makes of printed numbers, their units left aside."""
    bare = UNIT.sub("", numbers)
    assert set(re.findall(r"[A-Za-z]\w*", re.sub(r"\de-?\d", "", bare))) <= {"x", "ln", "sqrt", "min", "pi"}, numbers
    return eval(re.sub(r"(?<= )x(?= )", "*", bare).replace("^", "**"), dict(CALCULATOR))


def studied(folder, name, units=None):
    """The study of a shipped example, in the units that are asked for."""
    with resources.as_file(resources.files("lines") / "examples" / name) as shipped:
        shutil.copytree(shipped, folder / name)
    plan = folder / name / "plan.toml"
    text = plan.read_text(encoding="utf-8")
    if units:
        text = re.sub(r'(?m)^units = "\w+"', f'units = "{units}"', text)
        plan.write_text(text, encoding="utf-8")
    made = study(read_plan(plan))
    assert units in {None, made.plan.system}
    return made


@pytest.fixture(scope="module", params=[(name, units) for name in EXAMPLES for units in ("us", "metric")], ids=str)
def vehicle(request, tmp_path_factory):
    return studied(tmp_path_factory.mktemp("vehicle"), *request.param)


@pytest.fixture(scope="module")
def fuel_return(tmp_path_factory):
    return studied(tmp_path_factory.mktemp("fuel-return"), "fuel-return")


@pytest.fixture(scope="module")
def sheets(vehicle):
    """Every run of a vehicle at every duty."""
    tags = list(vehicle.plan.runs)
    return [one for duty in vehicle.plan.duties for one in calculations(vehicle, tags, duty).sheets]


def section(one, title):
    (only,) = [s for s in one.sections if s.title.startswith(title)]
    return list(only.steps)


def value(step):
    """The printed result in SI."""
    return float(step.result) * SI[step.unit]


def result(one, symbol, n=0):
    return [step for step in one.steps if step.formula.partition(" = ")[0] == symbol][n]


# ---------------------------------------------------------------- typed in again


def test_every_line_typed_into_a_calculator_gives_its_result(sheets):
    lines = 0
    for one in sheets:
        for step in one.steps:
            if step.numbers:
                # A sum is printed to so many decimals: each of its terms and the result is off by half of the last.
                places = len(step.result.partition(".")[2])
                off = 0.5 * 10.0**-places * (2 + step.numbers.count(step.unit or "-"))
                allowed = off if step in section(one, "From A") else 0.0
                assert typed_in(step.numbers) == pytest.approx(float(step.result), rel=BY_HAND, abs=allowed), step
                lines += 1
    assert lines > 300


def test_every_line_of_the_loss_is_that_of_the_solution(vehicle, sheets):
    # The solution's by the solver's own laws, through SI factors of this file.
    compared = 0
    for one in sheets:
        answer = vehicle.solution_of(one.tag)
        row = answer.model.duties.index(one.duty)
        parts = {name: float(values[row]) for name, values in answer.parts(one.tag).items()}
        if answer.flow(one.tag)[row] == 0:
            assert not [s for s in one.sections if s.title.startswith("The loss")]
            continue
        lines = {step.name: step for step in section(one, "The loss")}
        assert lines.keys() == parts.keys()
        for name, step in lines.items():
            assert value(step) == pytest.approx(parts[name], rel=1e-4)
            assert typed_in(step.numbers) * SI[step.unit] == pytest.approx(parts[name], rel=BY_HAND)
            compared += 1
        # A sum is printed to so many decimals: of a mere leak behind a shut valve only two of its digits are left.
        total = result(one, "dp")
        half = 0.5 * 10.0 ** -len(total.result.partition(".")[2]) * SI[total.unit]
        assert value(total) == pytest.approx(sum(parts.values()), rel=1e-3, abs=half)
        shares = [float(step.share.partition(" %")[0]) for step in lines.values()]
        assert sum(shares) == pytest.approx(100, abs=0.05 * len(shares))
        largest = [name for name, step in lines.items() if step.share.endswith("LARGEST")]
        assert max(parts, key=lambda name: abs(parts[name])) in largest
    assert compared > 50


def test_the_sheet_ends_at_the_pressure_that_the_circuit_was_solved_to(vehicle, sheets):
    for one in sheets:
        answer = vehicle.solution_of(one.tag)
        row = answer.model.duties.index(one.duty)
        run_, ambient = vehicle.plan.runs[one.tag], vehicle.plan.ambient.pressure[one.duty]
        for symbol, port in (("pA", run_.start), ("pB", run_.end), ("pS", run_.end)):
            # Pressures are printed to at least hundredths of a psi or kPa, or thousandths of an inch of water.
            assert value(result(one, symbol)) == pytest.approx(float(answer.total(port)[row]) - ambient, abs=40)
        for symbol, port in (("sA", run_.start), ("sB", run_.end)):
            assert value(result(one, symbol)) == pytest.approx(float(answer.static_at(port)[row]) - ambient, abs=40)
        # A solution whose pressures balance by less than 1e-4 Pa is not shown; a sheet adds up a few dozen lines of it.
        assert abs(result(one, "off").quantity.value) <= 1e-3
        assert "DO NOT" not in result(one, "off").note


SUMS = {"dp", "pB", "off", "sA", "sB"}
"""Lines whose numbers are printed to so many decimals."""


def test_numbers_that_are_put_in_were_printed_before(sheets):
    """Nothing with a unit enters a line that the reader has not been told."""
    number = re.compile(r"(-?\d[\d.]*(?:e-?\d+)?)" + UNIT.pattern.replace("(?<=[\\d.])", ""))
    seen = 0
    for one in sheets:
        told = set()
        for step in one.steps:
            if step.formula.partition(" = ")[0] not in SUMS:
                put_in = set(number.findall(step.numbers))
                assert put_in <= told, step
                seen += len(put_in)
            told.add((step.result, step.unit))
    assert seen > 300


# ---------------------------------------------------------------- other sources


def test_a_run_by_a_library_of_hydraulics(fuel_return):
    """F1: a hose and two straight ends, by `fluids` from the sheet's given figures."""
    (one,) = calculations(fuel_return, ["F1"], "full_load").sheets
    q, rho, nu = (value(result(one, symbol)) for symbol in ("Q", "rho", "nu"))
    hose, end = (value(result(one, "D", n)) for n in (0, 1))
    lengths = [value(step) for step in one.steps if step.formula == "L"]
    loss = 0.0
    for bore, long in ((hose, lengths[0]), (end, sum(lengths[1:]))):
        v = q / (math.pi * bore**2 / 4)
        f = fluids.friction.Churchill_1977(fluids.core.Reynolds(V=v, D=bore, nu=nu), 3e-6 / bore)
        loss += fluids.core.dP_from_K(fluids.core.K_from_f(fd=f, L=long, D=bore), rho=rho, V=v)
    v = q / (math.pi * end**2 / 4)
    # Hooper, Chem. Eng., 7 Nov 1988: (160/Re1) (1/beta^4 - 1) on the wide bore's head, once at each end.
    slow = 160 / fluids.core.Reynolds(V=v, D=end, nu=nu) * (1 - (end / hose) ** 4) / (end / hose)
    k = fluids.fittings.contraction_sharp(hose, end) + fluids.fittings.diffuser_sharp(end, hose) + 2 * slow
    loss += fluids.core.dP_from_K(k, rho=rho, V=v)
    # Five figures of each given one.
    assert value(result(one, "dp")) == pytest.approx(loss, rel=5e-4)


def test_a_bend_by_the_laws_of_its_sources(fuel_return):
    """O1 at idle, laminar: White's coil by `fluids`, and where Schmidt ends laminar flow in it."""
    (one,) = calculations(fuel_return, ["O1"], "idle").sheets
    re_, bore, across = (value(result(one, symbol)) for symbol in ("Re", "D", "Dc"))
    assert re_ < 1500
    white = fluids.friction.helical_laminar_fd_White(re_, bore, across)
    # Churchill's mean lifts the laminar branch by less than 1 % so far under its end.
    assert value(result(one, "f", 1)) == pytest.approx(white, rel=0.01)
    assert value(result(one, "w")) * 64 / re_ == pytest.approx(white, rel=1e-3)
    assert value(result(one, "Rc")) == pytest.approx(
        fluids.friction.helical_transition_Re_Schmidt(bore, across), rel=1e-3
    )


def test_air_is_as_dense_as_the_library_of_fluids_has_it(tmp_path):
    made = two_tanks(tmp_path, fluid="air", temperature="70 C", pressure="-900 Pa", ends=["straight", "straight"])
    (one,) = calculations(made, ["H1"]).sheets
    mean = value(result(one, "p"))
    # Between the standard atmosphere, ISO 2533, and 900 Pa less.
    assert mean == pytest.approx(101325 - 450, rel=1e-4)
    # The table's own steps of 20 K and its five figures.
    assert value(result(one, "rho")) == pytest.approx(PropsSI("D", "P", mean, "T", 343.15, "Air"), rel=2e-3)
    viscosity = PropsSI("V", "P", mean, "T", 343.15, "Air") / value(result(one, "rho"))
    assert value(result(one, "nu")) == pytest.approx(viscosity, rel=5e-3)
    assert value(result(one, "dp")) == pytest.approx(900, rel=1e-3)
    assert not [step for step in one.steps if step.formula.startswith("dh")]


def test_the_factor_of_the_units_is_that_of_the_definitions():
    """Gallons, inches, feet, pounds: c by hand."""
    hand = Hand("us")
    q, d, v = Quantity(1e-4, "volume_flow"), Quantity(0.01, "bore"), Quantity(2.0, "velocity")
    rho, nu = Quantity(750.0, "density"), Quantity(1e-6, "kinematic_viscosity")
    found = {
        hand.step("", "v = 4 x Q / (pi x D^2)", "velocity", Q=q, D=d): 231 / 3600 / 12,
        hand.step("", "Re = v x D / nu", "number", v=v, D=d, nu=nu): 12 * 25.4**2,
        hand.step("", "q = rho x v^2 / 2", "pressure_drop", rho=rho, v=v): 12**3 / 231 / (GRAVITY / 0.3048) / 144,
    }.items()
    for step, c in found:
        assert step.factor.startswith(f"c = {digits(c)}: from ")
        assert step.numbers.startswith(f"{digits(c)} x ")
    assert [step.factor.partition("from ")[2] for step, _ in found] == [
        "gph / in^2 to ft/s",
        "ft/s x in / (mm2/s) to a plain number",
        "lb/gal x (ft/s)^2 to psi",
    ]


def test_a_bends_coefficients_follow_from_the_sentence_on_the_sheet():
    part = bend("bend", 0.008, 0.04, math.radians(70), 3e-6)
    g = float(part.figures[0].say("metric").rpartition(" ")[2])
    a, r, h = math.radians(70), 5.0, math.sin(math.radians(35))
    k = (0.1 + 2.4 * g) * h + 6.6 * g * (math.sqrt(h) + h) / r ** (4 * a / math.pi) - 0.029 * a * math.sqrt(r / 2)
    k1 = 1600 * a / math.pi - 64 * a * r
    assert part.coefficients(back=False) == pytest.approx((k, k1), rel=1e-3)
    assert "Rennels (2012) eq. 15.1" in part.sources[0]


def test_a_holes_coefficients_follow_from_the_sentence_beside_it():
    b, c = 0.5, 0.7
    k, k1 = hole("hole", 0.001, 0.003, c, 0.002).coefficients(back=False)
    assert k == pytest.approx((math.sqrt(1 - b**4 * (1 - c**2)) / c - b**2) ** 2)
    assert k1 == pytest.approx(12 * math.pi + 64 * 3)


def test_a_part_gives_back_the_coefficients_that_it_was_made_of():
    part = coefficient("part", 0.0073, 1.7, 430.0, back=0.9)
    assert part.coefficients(back=False) == pytest.approx((1.7, 430.0))
    assert part.coefficients(back=True) == pytest.approx((0.9, 430.0))


# ---------------------------------------------------------------- what it says


def test_the_packet_works_out_the_dearest_run_of_each_circuit(vehicle):
    found = calculations(vehicle)
    assert found.missing == ()
    solved = {name: a for name, a in vehicle.solutions.items() if isinstance(a, Solution)}
    assert [vehicle.plan.runs[one.tag].circuit for one in found.sheets] == list(solved)
    for one, answer in zip(found.sheets, solved.values(), strict=True):
        losses = {
            (tag, duty): abs(sum(float(v[n]) for v in answer.parts(tag).values()))
            for tag in answer.model.circuit.runs
            for n, duty in enumerate(answer.model.duties)
        }
        assert losses[one.tag, one.duty] == max(losses.values())


def test_figures_that_are_extrapolated_say_so(tmp_path):
    # The oil's points are at 40 and 100 C; solver.properties.reach takes ASTM D341 as it is to 20 K under the first.
    for temperature, note in (("5 C", "EXTRAPOLATED"), ("30 C", "")):
        made = two_tanks(tmp_path, fluid="10w-40", temperature=temperature)
        (one,) = calculations(made, ["H1"]).sheets
        assert result(one, "nu").note == note
        assert result(one, "nu").sources[0] == "ASTM D341 through 95 mm2/s at 40 C and 14.2 mm2/s at 100 C"
        assert result(one, "rho").note == ""
        assert result(one, "rho").sources[0].startswith("API MPMS chapter 11.1 (ASTM D1250), petroleum-oil, from ")


def test_each_figure_that_is_given_has_its_source(sheets):
    own = {"zA", "zB", "Dc", "p1"}
    for one in sheets:
        for step in one.steps:
            if not step.numbers and step.formula not in own:
                assert step.sources, step
            assert step.unit in SI


PORTS = {"a": {"height": "0 m"}, "b": {"height": "1 m"}}


def joined(folder, other, port, *, fluid="water", temperature="20 C", duties=None, **facts):
    """A run H1 from an open source up to another component, a metre higher."""
    return study(
        read(
            folder,
            circuits={"line": {"fluid": fluid, "temperature": temperature}},
            duties=duties or {"steady": {}},
            components={
                "a": {"kind": "source", "pressure": "0 kPa", "ports": {"out": PORTS["a"]}},
                "b": other | {"ports": {port: PORTS["b"]}},
            },
            runs={"H1": run("a.out", f"b.{port}", "ptfe-braid -6", length="2 m", length_is="seat-to-seat", **facts)},
        )
    )


def two_tanks(folder, *, pressure="20 kPa", **facts):
    return joined(folder, {"kind": "source", "pressure": pressure}, "out", **facts)


def drawn(folder, flow, **facts):
    return joined(folder, {"kind": "draw", "flow": flow}, "in", **facts)


def test_a_circuit_without_an_answer_has_no_numbers_but_a_reason(tmp_path):
    components = {"a": {"kind": "draw", "flow": "1 L/min"}, "b": {"kind": "draw", "flow": "1 L/min"}}
    runs = {"H1": run("a.in", "b.in", "ptfe-braid -6", length="2 m", length_is="seat-to-seat", rise="0 m")}
    plain = {"line": {"fluid": "water", "temperature": "20 C"}}
    made = study(read(tmp_path, circuits=plain, components=components, runs=runs))
    found = calculations(made, ["H1"])
    assert found.sheets == ()
    (lacking,) = found.missing
    error = made.solutions["line"].error
    assert lacking.why == f"no answer: {error.reason}. Needed: {error.needs}"
    assert worked_table(found).rows == [["H1", "", "not worked", *[""] * 7, lacking.why]]
    assert calculations(made).sheets == ()
    assert write_sheets(made, [], tmp_path / "out", worked=found)
    assert " ".join(error.reason.split()[:4]) in " ".join(" ".join(pages_of(tmp_path / "out")).split())


def test_a_duty_without_an_answer_has_no_numbers_but_a_reason(tmp_path):
    flow = {"slow": "0.1 L/min", "fast": "5000 L/min"}
    made = drawn(tmp_path, flow, duties={"slow": {}, "fast": {}})
    assert list(made.solutions["line"].reasons) == ["fast"]
    (one,) = calculations(made, ["H1"]).sheets
    assert one.duty == "slow"
    found = calculations(made, ["H1"], "fast")
    assert found.sheets == ()
    (lacking,) = found.missing
    assert (lacking.tag, lacking.duty) == ("H1", "fast")
    assert lacking.why == f"no answer: {made.solutions['line'].reasons['fast']}"


def test_a_run_that_flows_from_its_end_to_its_start(tmp_path):
    made = two_tanks(tmp_path, ends=["straight", "90 deg"])
    (one,) = calculations(made, ["H1"]).sheets
    answer = made.solutions["line"]
    assert answer.flow("H1")[0] < 0
    facts = dict(one.facts)
    assert facts["Flow"].startswith("-")
    assert "NEGATIVE: from B to A" in facts["Flow"]
    assert value(result(one, "Q")) == pytest.approx(-answer.flow("H1")[0], rel=1e-4)
    lines = section(one, "The loss")
    assert all(float(step.result) < 0 for step in lines)
    assert all(typed_in(step.numbers) == pytest.approx(float(step.result), rel=BY_HAND) for step in lines)
    # Total pressure falls from B to A by as much as the lines say, less the metre of water on the way: 9.79 kPa.
    assert value(result(one, "dp")) == pytest.approx(-20e3 - 998.2 * GRAVITY, rel=1e-3)
    # The flow comes out of the hose into the narrower end at A: K of a narrowing, Rennels (2012) by `fluids`.
    hose, end = (made.assemblies["H1"].stock.bore, made.assemblies["H1"].chosen[0].bore)
    (at_a,) = [step for step in lines if step.name == "bore of the end at a.out"]
    k = float(re.search(r"\(([\d.]+) \+", at_a.numbers)[1])
    assert k == pytest.approx(fluids.fittings.contraction_sharp(hose, end), rel=1e-4)


def test_a_run_in_which_next_to_nothing_flows(tmp_path):
    # One metre of water at 20 C, 998.2 kg/m3 (IAPWS-95), stands over the source at its foot.
    made = two_tanks(tmp_path, pressure=f"{-998.2 * GRAVITY / 1e3!r} kPa", ends=["straight", "straight"])
    (one,) = calculations(made, ["H1"]).sheets
    slow = abs(made.solutions["line"].flow("H1")[0])
    assert slow < 1e-6
    assert value(result(one, "dh")) == pytest.approx(998.2 * GRAVITY, rel=1e-4)
    assert all(typed_in(s.numbers) == pytest.approx(float(s.result), rel=BY_HAND) for s in section(one, "The loss"))


def test_a_run_in_which_nothing_flows(tmp_path):
    made = drawn(tmp_path, "0 L/min")
    assert made.solutions["line"].flow("H1")[0] == 0
    (one,) = calculations(made, ["H1"]).sheets
    assert dict(one.facts)["Flow"] == "0 L/h, nothing flows"
    assert [s.title for s in one.sections] == ["Given", "Velocity and Reynolds number, for each bore", "From A to B"]
    assert (result(one, "dp").result, one.loss) == ("0.0000", "0 kPa")
    assert value(result(one, "pB")) == pytest.approx(-998.2 * GRAVITY, rel=1e-4)
    assert write_sheets(made, [], tmp_path / "out")


def test_names_of_many_bends_are_said_in_short():
    assert _listed(["hose", "bend 1", "bend 2"]) == "hose, bend 1, bend 2"
    assert _listed(["hose", "bend 1", "bend 2", "bend 3", "the end at a"]) == "hose, bends 1 to 3, the end at a"
    assert _listed(["bend 1", "bend 3", "bend 4"]) == "bend 1, bend 3, bend 4"


def test_a_remainder_that_is_too_large_is_loud():
    hand = Hand("us")
    found, solved = (hand.given("", "p", Quantity(p, "pressure")) for p in (1e5, 1e5 - 50.0))

    class Case:
        drop = "pressure_drop"

    Case.hand = hand
    assert "DO NOT MAKE UP THE SOLUTION" in _remainder(Case, hand, found, solved).note


# ---------------------------------------------------------------- an equation


@pytest.mark.parametrize(
    ("formula", "values", "found"),
    [
        ("a x b^2 / c", {"a": 3.0, "b": 2.0, "c": 4.0}, 3.0),
        ("-a x b", {"a": 3.0, "b": 2.0}, -6.0),
        ("a - b - c", {"a": 9.0, "b": 3.0, "c": 2.0}, 4.0),
        ("(a + b)^-1.5", {"a": 1.0, "b": 3.0}, 0.125),
        ("2^3^2", {}, 512.0),
        ("min(ln(a), sqrt(b))", {"a": math.e, "b": 4.0}, 1.0),
        ("8 x max", {"max": 2.0}, 16.0),
    ],
)
def test_an_equation_is_what_it_reads(formula, values, found):
    assert evaluate(formula, values) == pytest.approx(found)


@pytest.mark.parametrize("formula", ["a if b else c", "__import__('os')", "a.real", "[a]", "a @ b", "'a'"])
def test_an_equation_is_nothing_else(formula):
    with pytest.raises((ValueError, KeyError)):
        evaluate(formula, {"a": 1.0, "b": 1.0, "c": 1.0})


def test_an_equation_that_no_one_factor_serves_is_refused():
    with pytest.raises(ValueError, match="no product of powers"):
        Hand("us").step(
            "", "p = rho x v + v", "pressure_drop", rho=Quantity(1.0, "density"), v=Quantity(1.0, "velocity")
        )


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (0.0, "0"),
        (-0.5, "-0.5"),
        (99999.6, "100000"),
        (999999.6, "1000000"),
        (1e6, "1e6"),
        (1e-4, "0.0001"),
        (9.9e-5, "9.9e-5"),
    ],
)
def test_numbers_stand_to_five_figures(number, text):
    assert digits(number) == text


# ---------------------------------------------------------------- the command and its files


@pytest.fixture
def plan(tmp_path):
    with resources.as_file(resources.files("lines") / "examples" / "fuel-return") as folder:
        shutil.copytree(folder, tmp_path / "vehicle")
    return tmp_path / "vehicle" / "plan.toml"


def command(capsys, plan, *arguments):
    code = main(["sheets", str(plan), "-o", str(plan.parent / "out"), *arguments])
    told = capsys.readouterr()
    return code, told.out, told.err


def rows_of(folder):
    text = (folder / "worked.csv").read_text(encoding="utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def pages_of(folder):
    return [page.extract_text() for page in pypdf.PdfReader(folder / "worked.pdf").pages]


def test_runs_are_worked_out_as_asked(capsys, plan):
    code, out, _ = command(capsys, plan, "--worked", "F3", "--worked", "O1", "--worked", "F3", "--duty", "cruise")
    assert code == 0
    assert out.splitlines()[-2:] == [str(plan.parent / "out" / name) for name in ("worked.pdf", "worked.csv")]
    assert list(dict.fromkeys((row["run"], row["duty"]) for row in rows_of(plan.parent / "out"))) == [
        ("F3", "cruise"),
        ("O1", "cruise"),
    ]


def test_all_runs_are_worked_out_and_a_drain_says_why_not(capsys, plan):
    assert command(capsys, plan, "--worked", "all")[0] == 0
    rows = rows_of(plan.parent / "out")
    assert list(dict.fromkeys(row["run"] for row in rows)) == ["F1", "F2", "F3", "F4", "F5", "O1", "O2"]
    assert rows[-1] | {"note": A_DRAIN, "step": "not worked"} == rows[-1]
    text = "\n".join(pages_of(plan.parent / "out"))
    assert "No numbers" in text


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--worked", "O2"], "no worked calculation of a drain: gravity moves it"),
        (["--worked", "F33"], '"F33" is no run of it'),
        (["--worked", "F3", "--duty", "full-load"], 'did you mean "full_load"?'),
    ],
)
def test_what_cannot_be_worked_out_is_refused_by_its_name(capsys, plan, arguments, says):
    code, _, err = command(capsys, plan, *arguments)
    assert code == 2
    assert says in " ".join(err.split())
    assert not (plan.parent / "out").exists()


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_pages_hold_every_line(fuel_return, tmp_path, paper):
    write_sheets(fuel_return, findings(fuel_return), tmp_path, paper=paper)
    pages = pages_of(tmp_path)
    text = " ".join(" ".join(pages).split())
    assert " ".join(ASK.split()) in text
    assert f"page 1 of {len(pages)}" in pages[0]
    assert "A planning aid" in pages[-1]
    for one in calculations(fuel_return).sheets:
        for step in one.steps:
            assert drawable(step.formula) == step.formula
            assert f"{step.formula.partition(' = ')[0]} = {step.result}" in text
            assert " ".join(step.numbers.split()) in text
        for source in {source for step in one.steps for source in step.sources}:
            assert " ".join(source.split()) in text


def test_the_table_has_a_row_for_each_line_and_units_on_each_result(fuel_return, tmp_path):
    write_sheets(fuel_return, findings(fuel_return), tmp_path)
    rows = rows_of(tmp_path)
    steps = [step for one in calculations(fuel_return).sheets for step in one.steps]
    assert len(rows) == len(steps)
    for row, step in zip(rows, steps, strict=True):
        assert (float(row["result"]), row["step"]) == (float(step.result), step.name)
        assert row["unit"] == (step.unit or NO_UNIT)
