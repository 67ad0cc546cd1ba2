"""What rulebooks of classes ask for: nothing until a plan names one, then each verdict from the plan's own figures."""

import re
from itertools import pairwise

import pytest
from writing import read, run, tube

from catalogs.errors import PlanError, TableError
from catalogs.grades import Grade
from lines.finding import Verdict
from lines.reading import read_plan
from lines.supports import clamps
from reports.byhand import by_hand
from solver.checks import classrules
from solver.study import study

TOLD = {"source": "invented for a test", "grade": "measured"}
SHOP = {"source": '"invented for a test"', "grade": '"practice"'}
POINTS = {"fluid": "air", "temperature": "20 C", "flow": ["300 L/min", "600 L/min"], "drop": ["0.2 kPa", "0.6 kPa"]}


def built(
    folder, *books, liquid="gasoline-summer", length="1 m", shop=None, of="hose", components=None, runs=None, **hose
):
    """A plan to these rulebooks: one hose of fuel with a pump behind its tank, and what else is given."""
    (folder / "shop").mkdir(exist_ok=True)
    for name, text in (shop or {}).items():
        (folder / "shop" / name).write_text(text, encoding="utf-8")
    stock = tube("8 mm", liner="ptfe", rigid=False, radius_to="inside", burst_pressure="600 bar") | TOLD | hose
    ends = {} if of == "hose" else {"ends": ["straight", "straight"]}
    rows = {"F1": run("cell.out", "pump.in", of, **ends)}
    rows["R1"] = run("pump.out", "cell.return", "hose", length="1 m", length_is="cut", rise="0 m")
    rows["F1"] |= {"length": length, "length_is": "cut", "rise": "0 m"} if length else {}
    parts = {
        "cell": {
            "kind": "tank",
            "surface": {"full": "1 m", "low": "0.5 m"},
            "ports": {"out": {}, "return": {}, "vent": {}},
        },
        "pump": {"kind": "pump"},
    }
    return read(
        folder,
        plan={"shop": "shop", "rulebooks": list(books)},
        circuits={"line": {"fluid": liquid, "temperature": "20 C"}, "air": {"fluid": "air", "temperature": "20 C"}},
        components=parts | (components or {}),
        runs=rows | (runs or {}),
        stock={"hose": {k: v for k, v in stock.items() if v is not None}},
    )


def found(plan):
    made = study(plan)
    return {f.id: f for f in [*classrules.lines(made), *classrules.tanks(made)]}


def said(finding):
    return finding.why.say("metric")


# ---------------------------------------------------------------- lines


def test_nothing_is_asked_for_until_a_plan_names_a_rulebook(tmp_path):
    plan = built(tmp_path)
    assert found(plan) == {}
    assert by_hand(plan) == ()


@pytest.mark.parametrize(
    ("bursts", "verdict"),
    [
        # The clause gives 70 bar and 1000 psi, 68.9 bar: between the two nobody can tell which holds.
        ("68 bar", Verdict.FAIL),
        ("1000 psi", Verdict.CAUTION),
        ("69.5 bar", Verdict.CAUTION),
        ("70 bar", Verdict.PASS),
        (None, Verdict.UNCHECKED),
    ],
)
def test_a_hose_bursts_no_lower_than_the_clause_asks(tmp_path, bursts, verdict):
    one = found(built(tmp_path, "fia-appendix-j", burst_pressure=bursts, working_pressure="20 bar"))["class.burst/F1"]
    assert one.verdict is verdict
    for words in ("art. 253-3.2 asks for", "70 bar (1000 psi)", "Local rules and the current year's text come first"):
        assert words in said(one)
    assert "legal" not in said(one)
    assert one.basis is (None if verdict is Verdict.UNCHECKED else Grade.MEMORY)
    assert ("burst_pressure" in one.needs) == (verdict is Verdict.UNCHECKED)


@pytest.mark.parametrize(
    ("hottest", "verdict"), [("120 C", Verdict.FAIL), ("125 C", Verdict.CAUTION), ("135 C", Verdict.PASS)]
)
def test_a_hose_stands_the_heat_that_the_clause_asks(tmp_path, hottest, verdict):
    # The clause gives 135 C and 250 F, 121.1 C.
    assert found(built(tmp_path, "fia-appendix-j", hottest=hottest))["class.temperature/F1"].verdict is verdict


@pytest.mark.parametrize(
    ("facts", "asked"),
    [({"liquid": "10w-40"}, True), ({"liquid": "glycol-50"}, False), ({"rigid": True, "liner": "steel"}, False)],
)
def test_it_speaks_of_flexible_lines_of_fuel_and_oil(tmp_path, facts, asked):
    ids = {"class.burst/F1", "class.temperature/F1"}
    assert ids & found(built(tmp_path, "fia-appendix-j", **facts)).keys() == (ids if asked else set())


def test_a_line_of_fuel_is_held_as_the_clause_asks_and_a_shops_wider_clamps_are_not(tmp_path):
    plan = built(tmp_path, "nz-speedway", of="ptfe-braid -8")
    made = study(plan).assemblies["F1"]
    one = found(plan)["class.spacing/F1"]
    stations = [0.0, *(hold.station for hold in clamps(plan, made)), made.cut]
    apart = max(b - a for a, b in pairwise(stations))
    assert one.verdict is Verdict.PASS
    # Between the collars, which reach over the hose's own ends.
    assert 0.2 < one.value.value <= min(0.300, apart)
    wide = '["hose of gasoline"]\nspacing = "500 mm"\nsource = "invented"\ngrade = "practice"\n'
    one = found(built(tmp_path, "nz-speedway", of="ptfe-braid -8", shop={"supports.toml": wide}))["class.spacing/F1"]
    assert one.verdict is Verdict.FAIL
    assert one.high.value == pytest.approx(0.300)
    assert one.value.value > 0.3


def test_where_a_hose_of_no_known_length_is_held_is_not_told(tmp_path):
    one = found(built(tmp_path, "nz-speedway", length=""))["class.spacing/F1"]
    assert one.verdict is Verdict.UNCHECKED
    assert one.needs


def test_of_two_rulebooks_the_stricter_decides(tmp_path):
    own = {
        "rulebook": '"ours"',
        "edition": '"Our series (invented)"',
        "means": '"lines that burst at 700 bar or more"',
        "about": '"burst"',
        "dimension": '"pressure_drop"',
        "fail_below": '"700 bar"',
    } | SHOP
    text = '["ours/burst"]\n' + "\n".join(f"{k} = {v}" for k, v in own.items())
    one = found(built(tmp_path, "fia-appendix-j", "ours", shop={"rules.toml": text}))["class.burst/F1"]
    assert one.verdict is Verdict.FAIL
    assert "Our series (invented) asks for lines that burst at 700 bar" in said(one)


def test_a_shop_lays_its_own_figure_over_a_clause(tmp_path):
    text = '["fia-appendix-j/burst"]\nfail_below = "650 bar"\ncaution_below = "650 bar"\n'
    text += 'source = "this year\'s text (invented)"\ngrade = "published"\n'
    one = found(built(tmp_path, "fia-appendix-j", shop={"rules.toml": text}))["class.burst/F1"]
    assert one.verdict is Verdict.FAIL


# ---------------------------------------------------------------- tanks


def vented(folder, *between):
    """The vent of the cell through these: (kind, its port toward the cell, its port toward the open end)."""
    components = {"end": {"kind": "open"}} | {f"v{i}": {"kind": kind} for i, (kind, _, _) in enumerate(between)}
    ports = ["cell.vent", *(p for i, (_, near, far) in enumerate(between) for p in (f"v{i}.{near}", f"v{i}.{far}"))]
    pairs = list(zip(ports[::2], [*ports[1::2], "end.in"], strict=True))
    facts = {"circuit": "air", "length": "0.3 m", "length_is": "cut", "rise": "0 m"}
    runs = {f"V{i}": run(a, b, "hose", **facts) for i, (a, b) in enumerate(pairs)}
    return found(built(folder, "us-circuit", components=components, runs=runs))


@pytest.mark.parametrize(
    ("between", "verdict", "words"),
    [
        ([], Verdict.FAIL, "No valve is in the vent at cell.vent"),
        ([("roll-over-valve", "in", "out")], Verdict.PASS, "v0 is in the vent"),
        ([("check-valve", "out", "in")], Verdict.PASS, "v0 is in the vent"),
        # One that opens outward lets the fuel out.
        ([("check-valve", "in", "out")], Verdict.FAIL, "v0, which opens outward"),
        ([("check-valve", "in", "out"), ("roll-over-valve", "in", "out")], Verdict.PASS, "v1 is in the vent"),
    ],
)
def test_a_vent_has_a_valve_that_holds_fuel_back(tmp_path, between, verdict, words):
    one = vented(tmp_path, *between)["class.vent/cell.vent"]
    assert one.verdict is verdict
    assert words in said(one)
    assert bool(one.change) == (verdict is Verdict.FAIL)


def test_a_tank_whose_vent_is_not_in_the_plan_is_not_passed(tmp_path):
    one = found(built(tmp_path, "us-circuit"))["class.vent/cell"]
    assert one.verdict is Verdict.UNCHECKED
    assert "kind open" in one.needs


@pytest.mark.parametrize(
    ("engine", "holds", "place", "verdict"),
    [
        # 2 L up to an engine of 2.0 L, 3 L above.
        ("2.0 L", "2 L", "can", Verdict.PASS),
        ("2.0 L", "1.9 L", "can", Verdict.FAIL),
        ("2.1 L", "2.9 L", "can", Verdict.FAIL),
        ("6.2 L", "3 L", "can", Verdict.PASS),
        ("6.2 L", None, "can", Verdict.UNCHECKED),
        (None, "3 L", "engine", Verdict.UNCHECKED),
    ],
)
def test_a_catch_tank_by_the_size_of_its_engine(tmp_path, engine, holds, place, verdict):
    facts = {"circuit": "air", "length": "0.6 m", "length_is": "cut"}
    components = {
        "engine": {"kind": "crankcase", "ports": {"out": {}}} | ({"displacement": engine} if engine else {}),
        "can": {"kind": "catch-tank", "ports": {"in": {}, "out": {}}} | ({"volume": holds} if holds else {}),
        "filter": {"kind": "breather-filter", "points": POINTS},
    }
    runs = {"B1": run("engine.out", "can.in", "hose", **facts), "B2": run("can.out", "filter.in", "hose", **facts)}
    one = found(built(tmp_path, "fia-appendix-k", components=components, runs=runs))[f"class.catch-tank/{place}"]
    assert one.verdict is verdict


@pytest.mark.parametrize(
    ("holds", "verdict"), [("0.4 L", Verdict.FAIL), ("0.5 L", Verdict.PASS), (None, Verdict.UNCHECKED)]
)
def test_what_catches_the_coolant_holds_a_pint(tmp_path, holds, verdict):
    tank = {"kind": "recovery-tank", "ports": {"in": {}}} | ({"volume": holds} if holds else {})
    one = found(built(tmp_path, "drag", components={"can": tank}))["class.overflow/can"]
    assert one.verdict is verdict


def test_coolant_without_a_tank_for_what_overflows_is_not_passed(tmp_path):
    one = found(built(tmp_path, "drag", liquid="glycol-50"))["class.overflow/line"]
    assert (one.verdict, "recovery-tank" in one.needs) == (Verdict.UNCHECKED, True)


# ---------------------------------------------------------------- what a person writes, and what is left to do by hand


def test_a_misspelt_rulebook_is_told_the_nearest(tmp_path):
    with pytest.raises(PlanError) as caught:
        built(tmp_path, "fia-apendix-j")
    (fault,) = caught.value.faults
    assert (fault.table, fault.key, fault.nearest) == ("plan", "rulebooks[1]", "fia-appendix-j")
    assert "uk-national" in fault.expected


@pytest.mark.parametrize(
    ("about", "more", "words"),
    [
        ("burst", 'dimension = "length"\nfail_below = "1 m"', "another figure"),
        ("burst", 'dimension = "pressure_drop"', "states none"),
        ("", 'dimension = "length"\nfail_below = "1 m"', "another figure"),
        ("colour", "", "none of the choices"),
    ],
)
def test_a_clause_has_the_figure_of_what_it_is_about(tmp_path, about, more, words):
    text = f'["ours/x"]\nrulebook = "ours"\nedition = "ours"\nmeans = "it"\nabout = "{about}"\n{more}\n'
    text += 'source = "invented"\ngrade = "practice"\n'
    with pytest.raises((PlanError, TableError), match=words):
        built(tmp_path, "fia-appendix-j", shop={"rules.toml": text})


def test_what_the_figures_cannot_decide_is_listed_for_the_hand(tmp_path):
    plan = built(tmp_path, "uk-national", "drag")
    lines = by_hand(plan)
    assert len(lines) == 2
    assert any("250 mm behind the cockpit" in line for line in lines)
    assert any("152 mm" in line for line in lines)
    assert found(plan).keys() == set()


def test_every_clause_names_the_year_of_its_text_or_says_that_it_is_not_told(tmp_path):
    clauses = built(tmp_path).catalog.clauses()
    assert all(re.search(r"\b20\d\d\b|year not told", row.edition) for row in clauses)
    assert all(row.grade in {Grade.PUBLISHED, Grade.MEMORY} for row in clauses)
    assert read_plan(tmp_path / "plan.toml").head.rulebooks == ()
