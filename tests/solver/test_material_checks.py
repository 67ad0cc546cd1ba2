"""What the checks say of liners and metals in a fluid."""

import pytest
from writing import read, run, text_of, tube

from catalogs.catalog import Catalog
from lines.finding import Verdict
from solver.checks import findings
from solver.study import study

TOLD = {"source": "invented for a test", "grade": "illustrative"}


def judged(folder, *, liner="ptfe", liquid="10w-40", celsius=60, metals=("", ""), hottest="200 C", rows=None):
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
    stock = {"hose": tube("8 mm", liner=liner, hottest=hottest, rigid=False, radius_to="inside")}
    (folder / "shop").mkdir(exist_ok=True)
    for table, own in ({"ends": ends, "stock": stock} | (rows or {})).items():
        text = text_of({table: {key: TOLD | row for key, row in own.items()}})
        path = folder / "shop" / f"{table}.toml"
        path.write_text(text.replace("schema = 1\n", "").replace(f"[{table}.", "["), encoding="utf-8")
    plan = read(
        folder,
        plan={"shop": "shop"},
        circuits={"line": {"fluid": liquid, "temperature": f"{celsius} C"}},
        components={"a": {"kind": "source", "pressure": "3 bar"}, "b": {"kind": "open"}},
        runs={"H1": run("a.out", "b.in", "hose", length="1 m", length_is="cut", rise="0 m", ends=["end 0", "end 1"])},
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
        ("nbr", "10w-40", Verdict.PASS),
        ("epdm", "glycol-50", Verdict.PASS),
        ("epdm", "diesel", Verdict.FAIL),
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


@pytest.mark.parametrize("liquid", ["gasoline-summer", "e85", "methanol", "diesel"])
def test_ptfe_for_fuel_is_to_conduct(tmp_path, liquid):
    # Static discharge is among the hazards that lists after SAE J1273 name; the liner that conducts from memory.
    assert "static" in said(judged(tmp_path, liquid=liquid)["run.liner"])[0]


@pytest.mark.parametrize(
    ("celsius", "stands", "verdict"),
    [
        # Nitrile: 250 F, MIL-H-8794 in FAA AC 43.13-1B (1998) Table 9-3. A hose may be rated for more.
        (121, 200, Verdict.PASS),
        (122, 200, Verdict.CAUTION),
        (122, 100, Verdict.CAUTION),
    ],
)
def test_hot_fluid_is_held_against_the_liners_own_limit(tmp_path, celsius, stands, verdict):
    every = judged(tmp_path, liner="nbr", celsius=celsius, hottest=f"{stands} C")
    found = every["run.liner"]
    assert found.verdict is verdict
    assert found.high.value == pytest.approx((250 + 459.67) / 1.8)
    # What the hose itself is rated for is judged by its own rule.
    assert (every["run.temperature"].verdict is Verdict.FAIL) == (stands < celsius)
    # Nitrile is no cure for hot oil.
    assert "nbr" not in said(found)[1]


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
        (("steel", "aluminium"), "dot-4", Verdict.FAIL, "steel or copper-nickel"),
    ],
)
def test_metals_stand_the_fluid(tmp_path, metals, liquid, verdict, says):
    found = judged(tmp_path, metals=metals, liquid=liquid)["run.metal"]
    assert found.verdict is verdict
    assert says in said(found)[0]
    assert all(metal in said(found)[0] for metal in metals)


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
    assert {(f, sort) for f in families for sort in ("rubber", "metal")} <= good
