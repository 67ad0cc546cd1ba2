"""A shop's own oil or fuel as its data sheet states it: it reads, or the fault names the key and what belongs there."""

import itertools
import json

import numpy as np
import pytest

from catalogs.catalog import Catalog
from catalogs.errors import TableError
from catalogs.expansion import expansions
from catalogs.grades import Grade

SHEET = {"source": "data sheet of the batch", "grade": "measured"}
# Invented, in the way of a data sheet.
DENSITY = {"law": "petroleum-oil", "at": ["15 C"], "is": ["0.854 kg/L"]}
VISCOSITY = {"law": "walther", "at": ["40 C", "100 C"], "is": ["84.5 cSt", "13.9 cSt"]}
OIL = {
    "means": "our 5W-40",
    "family": "oil",
    "flammable": True,
    "density": SHEET | DENSITY,
    "viscosity": SHEET | VISCOSITY,
} | SHEET
FUEL = OIL | {
    "family": "gasoline",
    "density": SHEET | DENSITY | {"law": "petroleum-fuel", "is": ["0.745 kg/L"]},
    "viscosity": SHEET | VISCOSITY | {"at": ["-20 C", "20 C"], "is": ["0.9 cSt", "0.55 cSt"]},
}
MEASURED = SHEET | {"law": "log", "at": ["20 C", "40 C"], "is": ["45 kPa", "92 kPa"]}


def inline(value):
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{k} = {inline(v)}" for k, v in value.items()) + " }"
    return json.dumps(value)


@pytest.fixture
def shop(tmp_path):
    """A shop whose fluid `ours` is this one."""

    def shop(fluid):
        lines = ["[ours]", *(f"{key} = {inline(value)}" for key, value in fluid.items())]
        (tmp_path / "fluids.toml").write_text("\n".join(lines) + "\n", encoding="utf-8")
        return Catalog(tmp_path)

    return shop


@pytest.fixture
def fault(shop):
    """The one fault of a fluid, with its line."""

    def fault(fluid):
        with pytest.raises(TableError) as caught:
            shop(fluid)
        (found,) = caught.value.faults
        assert (found.file, found.table) == ("shop/fluids.toml", "ours")
        assert found.line == 2 + list(fluid).index(found.key.split(".")[0])
        return found

    return fault


# ---------------------------------------------------------------- what a data sheet states is enough


def test_two_viscosities_and_one_density_are_a_fluid(shop):
    ours = shop(OIL).fluid("ours")
    assert ours.density.values == pytest.approx([854.0], rel=1e-12)
    assert [v.value for v in ours.viscosity.values] == pytest.approx([84.5e-6, 13.9e-6], rel=1e-12)
    assert ours.viscosity.grade is Grade.MEASURED
    assert ours.vapour is None


def test_a_base_of_60_f_and_pounds_per_gallon_read_as_well(shop):
    stated = SHEET | DENSITY | {"at": ["60 F"], "is": ["7.13 lb/gal"]}
    table = shop(OIL | {"density": stated}).fluid("ours").density
    # Pound and US gallon (231 in3) are exact by definition; 60 F is (60 + 459.67)/1.8 K.
    assert table.values[0] == pytest.approx(7.13 * 0.45359237 / (231 * 0.0254**3), rel=1e-12)
    assert table.at[0] == pytest.approx(519.67 / 1.8, rel=1e-12)


def test_an_oil_like_one_of_ours_states_only_its_own_figures(tmp_path):
    text = (
        f'[ours]\nlike = "10w-40"\nviscosity = {inline(SHEET | VISCOSITY)}\nsource = "data sheet"\ngrade = "measured"\n'
    )
    (tmp_path / "fluids.toml").write_text(text, encoding="utf-8")
    catalog = Catalog(tmp_path)
    ours, theirs = catalog.fluid("ours"), catalog.fluid("10w-40")
    assert ours.density == theirs.density
    assert ours.viscosity.grade is Grade.MEASURED


@pytest.mark.parametrize("unit", ["psi", "psia", "psi abs"])
def test_a_vapour_pressure_is_absolute_whether_it_says_so_or_not(shop, unit):
    measured = MEASURED | {"is": [f"6.5 {unit}", f"13.3 {unit}"]}
    ours = shop(FUEL | {"family": "gasoline", "vapour": measured}).fluid("ours")
    assert ours.vapour.values[0] == pytest.approx(6.5 * 4.4482216152605 / 0.0254**2, rel=1e-12)


@pytest.mark.parametrize("family", ["ethanol-blend", "ethanol-high", "alcohol"])
def test_a_blend_takes_its_vapour_pressure_as_measured(shop, family):
    two = SHEET | {"at": ["0 C", "40 C"], "is": ["800 kg/m3", "766 kg/m3"]}
    ours = shop(FUEL | {"family": family, "density": two, "vapour": MEASURED}).fluid("ours")
    assert ours.vapour.law == "log"


# ---------------------------------------------------------------- slips of the hand

FAULTS = {
    "a law misspelt": (
        {"density": SHEET | DENSITY | {"law": "petrolium-oil"}},
        "density.law",
        "none of the choices",
        '"line", "petroleum-fuel" or "petroleum-oil"',
    ),
    "a law of viscosities for a density": (
        {"density": SHEET | DENSITY | {"law": "walther"}},
        "density.law",
        "none of the choices",
        '"petroleum-oil"',
    ),
    "two densities by the law of one": (
        {"density": SHEET | DENSITY | {"at": ["15 C", "40 C"], "is": ["0.854 kg/L", "0.839 kg/L"]}},
        "density",
        "2 densities",
        "one density",
    ),
    "kg/m3 typed for kg/L": (
        {"density": SHEET | DENSITY | {"is": ["0.854 kg/m3"]}},
        "density",
        "0.854 kg/m3",
        "800.9 to 1163.5 kg/m3",
    ),
    "K typed for C": (
        {"density": SHEET | DENSITY | {"at": ["15 K"]}},
        "density.at[1]",
        "less than can be",
        "a temperature",
    ),
    "a base that no data sheet has": (
        {"density": SHEET | DENSITY | {"at": ["288 C"]}},
        "density",
        "288 C is outside",
        "-50 to 150 C",
    ),
    "the law of oils for a fuel": (
        {"family": "diesel"},
        "density",
        "no law for the family diesel",
        "oil or atf",
    ),
    "the law of petroleum for brake fluid": (
        {"family": "brake"},
        "density",
        "no law for the family brake",
        "densities at two temperatures",
    ),
    "no law between two viscosities": (
        {"viscosity": {k: v for k, v in (SHEET | VISCOSITY).items() if k != "law"}},
        "viscosity.law",
        "is missing",
        'law = "walther"',
    ),
    "one viscosity by ASTM D341": (
        {"viscosity": SHEET | VISCOSITY | {"at": ["40 C"], "is": ["84.5 cSt"]}},
        "viscosity",
        "needs two points",
        "two points or more",
    ),
    "dynamic viscosities by ASTM D341": (
        {"viscosity": SHEET | VISCOSITY | {"is": ["72 cP", "11.2 cP"]}},
        "viscosity",
        "kinematic",
        "mm2/s",
    ),
    "thinner than ASTM D341 goes": (
        {"viscosity": SHEET | VISCOSITY | {"is": ["0.3 cSt", "0.2 cSt"]}},
        "viscosity",
        "under 0.21 mm2/s",
        "0.21 mm2/s or more",
    ),
    "the two viscosities in the wrong order": (
        {"viscosity": SHEET | VISCOSITY | {"is": ["13.9 cSt", "84.5 cSt"]}},
        "viscosity",
        "do not fall",
        "a lower one at each higher temperature",
    ),
    "m2/s typed for mm2/s": (
        {"viscosity": SHEET | VISCOSITY | {"is": ["84.5 m2/s", "13.9 mm2/s"]}},
        "viscosity.is[1]",
        "more than can be",
        "at most 20 m2/s",
    ),
    "a gauge pressure for a vapour pressure": (
        {"vapour": MEASURED | {"is": ["45 kPa gauge", "92 kPa"]}},
        "vapour.is[1]",
        "unit of pressure, not of vapour pressure",
        "absolute",
    ),
    "no pressure at all": (
        {"vapour": MEASURED | {"is": ["0 kPa", "92 kPa"]}},
        "vapour.is[1]",
        "0 or less",
        "over 0",
    ),
}


@pytest.mark.parametrize("case", FAULTS)
def test_a_slip_is_told_with_its_key_and_what_belongs_there(fault, case):
    changed, key, says, expects = FAULTS[case]
    found = fault(OIL | changed)
    assert found.key == key
    assert says in found.message
    assert expects in found.expected


def test_the_nearest_law_is_offered(fault):
    assert fault(OIL | {"density": SHEET | DENSITY | {"law": "petrolium-oil"}}).nearest == "petroleum-oil"


# ---------------------------------------------------------------- vapour pressure of gasoline, EPA AP-42 section 7.1


@pytest.mark.parametrize("reid", ["1 psi", "7.8 psi", "62 kPa", "20 psi"])
def test_a_reid_pressure_within_ap_42_reads(shop, reid):
    assert shop(FUEL | {"vapour": SHEET | {"reid": reid}}).fluid("ours").vapour.slope == 3.0


# AP-42 figure 7.1-14b is for 1 to 20 psi of Reid vapour pressure; the slopes that it names go from 2 to 3.5 (the latter
# from memory).
@pytest.mark.parametrize(
    ("stated", "key", "expects"),
    [
        ({"reid": "0.9 psi"}, "vapour.reid", "1 psi to 20 psi"),
        ({"reid": "20.1 psi"}, "vapour.reid", "1 psi to 20 psi"),
        ({"reid": "9 bar"}, "vapour.reid", "1 psi to 20 psi"),
        ({"reid": "9 psi", "slope": 30}, "vapour.slope", "2 to 3.5"),
        ({"reid": "9 psi", "slope": 0}, "vapour.slope", "2 to 3.5"),
    ],
)
def test_outside_ap_42_its_equation_is_refused(fault, stated, key, expects):
    found = fault(FUEL | {"vapour": SHEET | stated})
    assert found.key == key
    assert "EPA AP-42 section 7.1" in found.message
    assert expects in found.expected


@pytest.mark.parametrize("family", ["ethanol-blend", "ethanol-high", "alcohol"])
def test_the_reid_pressure_of_a_blend_is_refused_with_what_to_enter(fault, family):
    two = SHEET | {"at": ["0 C", "40 C"], "is": ["800 kg/m3", "766 kg/m3"]}
    found = fault(FUEL | {"family": family, "density": two, "vapour": SHEET | {"reid": "9 psi"}})
    assert found.key == "vapour"
    assert f"the family {family} has no vapour pressure by the Reid vapour pressure" in found.message
    assert 'vapour = { law = "log", at = ["20 C", "40 C", "60 C"]' in found.expected


# ---------------------------------------------------------------- the constants of the expansion of petroleum

# API MPMS chapter 11.1 (2004), of 60 F and degrees Fahrenheit, from memory: K0, K1, K2.
FAHRENHEIT = {
    "fuel-gasoline": (192.4571, 0.2438, 0.0),
    "fuel-between": (1489.0670, 0.0, -0.0018684),
    "fuel-jet": (330.3010, 0.0, 0.0),
    "fuel-diesel": (103.8720, 0.2701, 0.0),
    "oil": (0.0, 0.34878, 0.0),
}


def test_the_constants_in_kelvin_are_those_in_fahrenheit():
    # 9/5 by the size of the degree, to the figures printed.
    rows = {row.id: (row.k0, row.k1, row.k2) for row in expansions()}
    assert set(rows) == set(FAHRENHEIT)
    for key, constants in FAHRENHEIT.items():
        assert rows[key] == pytest.approx([1.8 * k for k in constants], rel=1e-4, abs=1e-12)


def test_neighbouring_rows_meet_at_their_borders():
    # The standard's borders are where its curves cross: 1 in 20 000 is their printed figures.
    fuels = expansions("petroleum-fuel")
    assert len(fuels) == 4
    for light, heavy in itertools.pairwise(fuels):
        border = light.heaviest
        assert heavy.lightest == border
        assert light.coefficient(border) == pytest.approx(heavy.coefficient(border), rel=5e-5)


def test_every_row_of_the_expansion_says_where_it_is_from():
    for row in expansions():
        assert row.grade is Grade.MEMORY
        assert "from memory" in row.source
        assert row.families
        # Petroleum grows by 0.5 to 2 per mille a kelvin: common practice, no source.
        for density in np.linspace(row.lightest, min(row.heaviest, 1100.0), 20):
            assert 5e-4 < row.coefficient(density) < 2e-3


def test_a_law_that_nobody_states_has_no_rows():
    assert expansions("line") == ()
