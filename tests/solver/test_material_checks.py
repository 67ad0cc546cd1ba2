"""What the checks say of liners and metals in a fluid."""

import pytest
from writing import read, run, text_of, tube

from catalogs.catalog import Catalog
from catalogs.grades import Grade
from lines.finding import Verdict
from solver.checks import findings
from solver.fuels import FUELS
from solver.study import study

TOLD = {"source": "invented for a test", "grade": "illustrative"}


def judged(
    folder, *, liner="ptfe", liquid="10w-40", celsius=60, metals=("", ""), rows=None, port=None, own=None, **facts
):
    """Findings of one hose of this liner whose two ends are of these metals, by rule."""
    ends = {
        f"end {i}": {
            "fits": "hose",
            "means": "end for a test",
            "angle": "0 deg",
            "thread": "flare37 -8",
            "cutoff": "20 mm",
            "bore": "6 mm",
            "attaches": "crimped",
        }
        | ({"made_of": metal} if metal else {})
        for i, metal in enumerate(metals)
    }
    stock = {"hose": tube("8 mm", liner=liner, rigid=False, radius_to="inside", **facts)}
    (folder / "shop").mkdir(exist_ok=True)
    for table, held in ({"ends": ends, "stock": stock} | (rows or {})).items():
        text = text_of({table: {key: TOLD | row for key, row in held.items()}})
        path = folder / "shop" / f"{table}.toml"
        path.write_text(text.replace("schema = 1\n", "").replace(f"[{table}.", "["), encoding="utf-8")
    plan = read(
        folder,
        plan={"shop": "shop"},
        circuits={"line": {"fluid": liquid, "temperature": f"{celsius} C"}},
        components={"a": {"kind": "source", "pressure": "3 bar", "ports": {"out": port or {}}}, "b": {"kind": "open"}},
        runs={"H1": run("a.out", "b.in", "hose", length="1 m", length_is="cut", rise="0 m", ends=["end 0", "end 1"])},
        **(own or {}),
    )
    return {f.rule: f for f in findings(study(plan))}


def said(finding):
    return finding.why.say("metric"), finding.change.say("metric")


# ---------------------------------------------------------------- liners


@pytest.mark.parametrize(
    ("liner", "liquid", "verdict"),
    [
        # From memory, as the trade has it: alcohol in PTFE, nitrile for oil, EPDM for coolant and brakes.
        ("nbr", "methanol", Verdict.FAIL),
        ("nbr", "dot-4", Verdict.FAIL),
        # Nitrile carries a tenth of ethanol, not E85: common practice, no source.
        ("nbr", "e10", Verdict.CAUTION),
        ("nbr", "e85", Verdict.FAIL),
        ("nbr", "10w-40", Verdict.PASS),
        ("epdm", "glycol-50", Verdict.PASS),
        ("epdm", "diesel", Verdict.FAIL),
        # It stands pure alcohol, not the gasoline or top lube that goes with it.
        ("epdm", "methanol", Verdict.CAUTION),
        ("silicone", "10w-40", Verdict.FAIL),
        ("ptfe", "e85", Verdict.PASS),
        # Abstract of a laboratory study with SAE J1681 fuels: polyurethane degrades, fluoroelastomer swells least.
        ("polyurethane", "e85", Verdict.FAIL),
        ("fkm", "e85", Verdict.PASS),
        ("unobtainium", "10w-40", Verdict.UNCHECKED),
    ],
)
def test_a_liner_stands_its_fluid(tmp_path, liner, liquid, verdict):
    found = judged(tmp_path, liner=liner, liquid=liquid)["run.liner"]
    assert found.verdict is verdict
    assert liner in said(found)[0]
    assert bool(found.change) == (verdict in {Verdict.FAIL, Verdict.CAUTION})


@pytest.mark.parametrize(
    ("celsius", "stands", "verdict"),
    [
        # Nitrile in mineral oil: 120 C, from memory. A hose may be rated for more.
        (120, 200, Verdict.PASS),
        (121, 200, Verdict.CAUTION),
        (121, 100, Verdict.CAUTION),
    ],
)
def test_hot_fluid_is_held_against_the_liners_own_limit(tmp_path, celsius, stands, verdict):
    every = judged(tmp_path, liner="nbr", celsius=celsius, hottest=f"{stands} C")
    found = every["run.liner"]
    assert found.verdict is verdict
    assert found.high.value == pytest.approx(120 + 273.15)
    # What the hose itself is rated for is judged by its own rule.
    assert (every["run.temperature"].verdict is Verdict.FAIL) == (stands < celsius)
    # Nitrile is no cure for hot oil.
    assert "nbr" not in said(found)[1]


@pytest.mark.parametrize(
    ("serves", "liquid", "verdict"),
    [
        # A coolant hose is no fuel hose, whatever its rubber stands: common practice, no source.
        (["coolant"], "methanol", Verdict.CAUTION),
        ("coolant; alcohol", "methanol", Verdict.PASS),
        (["brake"], "glycol-50", Verdict.CAUTION),
        ([], "methanol", Verdict.PASS),
    ],
)
def test_hose_that_is_made_for_one_fluid_is_not_passed_for_another(tmp_path, serves, liquid, verdict):
    found = judged(tmp_path, liquid=liquid, serves=serves)["run.liner"]
    assert found.verdict is verdict
    assert ("is made for" in said(found)[0]) == bool(found.change) == (verdict is Verdict.CAUTION)


def test_a_hose_for_air_alone_is_no_cure_for_fuel(tmp_path):
    # Nylon stands gasoline, from memory; the nylon tube of the tables is air tube.
    change = said(judged(tmp_path, liner="epdm", liquid="gasoline-summer")["run.liner"])[1]
    assert "ptfe" in change
    assert "nylon" not in change


def test_a_liner_that_fails_still_says_what_the_hose_is_made_for(tmp_path):
    found = judged(tmp_path, liner="epdm", liquid="diesel", serves=["coolant"])["run.liner"]
    assert found.verdict is Verdict.FAIL
    assert "swells" in said(found)[0]
    assert "made for coolant, not for diesel" in said(found)[0]


# ---------------------------------------------------------------- static


@pytest.mark.parametrize(
    ("liquid", "conducts", "verdict"),
    [
        # SAE J1273 lists static discharge among the hazards of hose. That hydrocarbons hardly conduct and alcohols do,
        # and that a liner that conducts is the cure, from memory.
        ("gasoline-summer", "yes", Verdict.PASS),
        ("gasoline-summer", "no", Verdict.FAIL),
        ("gasoline-summer", None, Verdict.UNCHECKED),
        ("e10", False, Verdict.FAIL),
        ("diesel", False, Verdict.FAIL),
        ("e85", True, Verdict.PASS),
        ("e85", False, Verdict.CAUTION),
        ("e85", None, Verdict.UNCHECKED),
        ("methanol", False, Verdict.CAUTION),
        ("methanol", None, Verdict.UNCHECKED),
    ],
)
@pytest.mark.parametrize("liner", ["ptfe", "nylon"])
def test_a_plastic_liner_for_fuel_is_to_conduct(tmp_path, liner, liquid, conducts, verdict):
    stated = {} if conducts is None else {"conducts": conducts}
    found = judged(tmp_path, liner=liner, liquid=liquid, **stated)["run.static"]
    assert found.verdict is verdict
    assert bool(found.change) == (verdict in {Verdict.FAIL, Verdict.CAUTION})
    assert found.basis in {None, Grade.ILLUSTRATIVE}
    assert (liner in said(found)[0]) == (conducts is not None)


@pytest.mark.parametrize(
    ("liner", "liquid"),
    [("nbr", "gasoline-summer"), ("fkm", "e85"), ("steel", "diesel"), ("ptfe", "10w-40"), ("ptfe", "dot-4")],
)
def test_of_rubber_of_metal_and_of_what_is_no_fuel_nothing_is_asked(tmp_path, liner, liquid):
    assert "run.static" not in judged(tmp_path, liner=liner, liquid=liquid, conducts=False)


def test_every_family_of_fuel_has_its_row_and_no_hose_of_the_tables_claims_to_conduct():
    assert set(Catalog().ids("static")) == FUELS
    assert all(stock.conducts is None for stock in Catalog().all("stock"))


def test_what_is_asked_for_answers_it_as_it_is_written(tmp_path):
    found = judged(tmp_path, liquid="gasoline-summer", family="braid")["run.static"]
    assert "[stock.braid]" in found.needs
    told = {"stock": {"braid": {"conducts": True, "source": "who says so", "grade": "published"}}}
    found = judged(tmp_path, liquid="gasoline-summer", family="braid", own=told)["run.static"]
    assert found.verdict is Verdict.PASS
    assert "who says so" in found.source


# ---------------------------------------------------------------- metals


@pytest.mark.parametrize(
    ("metals", "liquid", "verdict", "says"),
    [
        # Bare aluminium and methanol, from memory: anodised, and flushed.
        (("aluminium", "aluminium"), "methanol", Verdict.CAUTION, "anodised"),
        (("stainless", "aluminium"), "methanol", Verdict.CAUTION, "stainless stands it"),
        (("stainless", "stainless"), "methanol", Verdict.PASS, "stands it"),
        # Brass loses zinc in ethanol, copper ages fuel, from memory.
        (("brass", "steel"), "e85", Verdict.CAUTION, "zinc"),
        (("copper", ""), "gasoline-summer", Verdict.CAUTION, "gum"),
        (("aluminium", "steel"), "10w-40", Verdict.PASS, "aluminium stands it"),
        # Fittings of aluminium are in the trade, tube of it is no brake tube: common practice, no source.
        (("steel", "aluminium"), "dot-4", Verdict.CAUTION, "steel is usual"),
    ],
)
def test_metals_stand_the_fluid(tmp_path, metals, liquid, verdict, says):
    found = judged(tmp_path, metals=metals, liquid=liquid)["run.metal"]
    assert found.verdict is verdict
    assert says in said(found)[0]
    assert all(metal in said(found)[0] for metal in metals)


@pytest.mark.parametrize(
    ("bung", "liquid", "verdict", "says"),
    [
        # Bare aluminium and methanol, from memory.
        ("aluminium", "methanol", Verdict.CAUTION, "aluminium (the port a.out): methanol corrodes"),
        # Calipers and cylinders are of aluminium, tube of it is no brake tube: common practice, no source.
        ("aluminium", "dot-4", Verdict.PASS, "calipers and cylinders"),
        ("copper", "dot-4", Verdict.FAIL, "cracks"),
    ],
)
def test_the_metal_of_a_port_stands_the_fluid(tmp_path, bung, liquid, verdict, says):
    found = judged(tmp_path, liquid=liquid, port={"made_of": bung})["run.metal"]
    assert found.verdict is verdict
    assert says in said(found)[0]


def test_tube_of_aluminium_is_no_brake_tube(tmp_path):
    # Common practice, no source: steel or copper-nickel.
    found = judged(tmp_path, liner="aluminium", liquid="dot-4")["run.liner"]
    assert found.verdict is Verdict.FAIL
    assert "no brake tube" in said(found)[0]
    assert "steel" in said(found)[1]


def test_the_worst_part_is_named(tmp_path):
    found = judged(tmp_path, metals=("stainless", "aluminium"), liquid="methanol")["run.metal"]
    assert found.worst.station == "end 1"
    assert "stainless" in said(found)[1]


def test_a_metal_without_a_row_is_never_passed(tmp_path):
    metal = {"material": "odd", "sort": "metal", "fluid": "gas", "verdict": "good", "why": "stands it"}
    rows = {"materials": {"odd/gas": metal}}
    found = judged(tmp_path, metals=("odd", "steel"), rows=rows)["run.metal"]
    assert found.verdict is Verdict.UNCHECKED
    assert "odd" in found.needs


def test_a_metal_too_hot_in_its_fluid_fails(tmp_path):
    # Two limits of two metals in one sentence stay apart.
    metal = {"material": "odd", "sort": "metal", "fluid": "oil", "verdict": "good", "why": "stands it"}
    rows = {
        "materials": {
            "odd/oil": metal | {"hottest": "100 C"},
            "even/oil": metal | {"material": "even", "hottest": "80 C"},
        }
    }
    found = judged(tmp_path, metals=("odd", "even"), celsius=120, rows=rows)["run.metal"]
    assert found.verdict is Verdict.FAIL
    assert "odd stands 100 " in said(found)[0]
    assert "even stands 80 " in said(found)[0]


def test_metals_that_nobody_knows_are_not_judged(tmp_path):
    assert "run.metal" not in judged(tmp_path)


# ---------------------------------------------------------------- the table


def test_what_hose_and_tube_are_lined_with_is_judged_in_every_fluid():
    catalog = Catalog()
    families = {fluid.family for fluid in catalog.all("fluids")}
    named = {stock.liner for stock in catalog.all("stock")}
    named |= {part.made_of for table in ("ends", "adapters") for part in catalog.all(table) if part.made_of}
    assert [f"{n}/{f}" for n in named for f in families if f"{n}/{f}" not in catalog.ids("materials")] == []


def test_every_fluid_has_a_rubber_and_a_metal_that_stand_it():
    catalog = Catalog()
    good = {(row.fluid, row.sort) for row in catalog.all("materials") if row.verdict == "good"}
    families = {fluid.family for fluid in catalog.all("fluids")}
    # Alcohol has no rubber that stands it whatever goes with it: from memory, the trade takes PTFE.
    wanted = {(f, sort) for f in families for sort in ("rubber", "metal")} - {("alcohol", "rubber")}
    assert wanted <= good
