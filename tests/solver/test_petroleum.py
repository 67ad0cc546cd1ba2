"""The thermal expansion of petroleum by API MPMS chapter 11.1, against mixtures of the library and a textbook's oil."""

import math

import numpy as np
import pytest
from oils import ENGINE_OIL, GASOLINES, kelvin, own, rho

from solver.petroleum import expanded


@pytest.fixture(scope="module")
def library():
    return pytest.importorskip("CoolProp.CoolProp")


@pytest.mark.parametrize(
    ("law", "at_15", "celsius"),
    [
        ("petroleum-fuel", 745, 40),
        ("petroleum-fuel", 800, -10),
        ("petroleum-fuel", 850, 90),
        ("petroleum-oil", 870, 120),
    ],
)
def test_the_volume_correction_factor_by_hand(law, at_15, celsius):
    # exp(-a dT (1 + 0.8 a dT)) with a of ASTM D1250 tables 54B and 54D, constants from memory, worked here by row.
    k0, k1 = {745: (346.42278, 0.43884), 800: (594.54180, 0), 850: (186.96960, 0.48618), 870: (0, 0.62780)}[at_15]
    grown = (k0 / at_15**2 + k1 / at_15) * (celsius - 15)
    found = expanded(law, float(at_15), 288.15, kelvin(c=celsius))[0]
    assert found == pytest.approx(at_15 * math.exp(-grown * (1 + 0.8 * grown)), rel=1e-12)


KEROSENE = {"n-Dodecane": 0.5, "n-Undecane": 0.2, "o-Xylene": 0.3}


@pytest.mark.parametrize("mixture", [*GASOLINES, KEROSENE])
def test_mixtures_of_hydrocarbons_grow_as_the_law_says(library, mixture):
    # CoolProp's equations of state of the parts, under 15 bar so that none boils, mixed without a change of volume
    # (0.1 % or less for such parts). 0.5 % over -30 to 80 C is what a law of the density alone can give: the constant
    # density of one point would be 9 % off.
    def parts(celsius):
        return {f: library.PropsSI("D", "T", celsius + 273.15, "P", 1.5e6, f) for f in mixture}

    at_15 = parts(15)
    stated = sum(share * at_15[f] for f, share in mixture.items())
    for celsius in (-30, -10, 15, 35, 60, 80):
        warm = parts(celsius)
        volume = sum(share * at_15[f] / warm[f] for f, share in mixture.items())
        found = expanded("petroleum-fuel", stated, 288.15, kelvin(c=celsius))[0]
        assert found == pytest.approx(stated / volume, rel=0.005)


def test_a_textbook_s_engine_oil_grows_as_the_law_says():
    # From 300 K, 884.1 kg/m3: 0.8 % up to 157 C. Constant it would be 9.6 % off there.
    at = np.array(list(ENGINE_OIL), dtype=float)
    expected = np.array([r for _, r in ENGINE_OIL.values()])
    assert expanded("petroleum-oil", 884.1, 300.0, at) == pytest.approx(expected, rel=0.008)


def test_the_trade_s_rule_for_oil_is_near():
    # From memory: oil loses 0.00065 kg/L for each C.
    fluid = own({40: 95.0, 100: 14.2})
    assert (rho(fluid, 40) - rho(fluid, 100)) / 60 == pytest.approx(0.65, rel=0.03)


@pytest.mark.parametrize("at_15", [700.0, 760.0, 771.0, 780.0, 800.0, 837.0, 850.0])
def test_the_base_temperature_does_not_matter(at_15):
    # The same liquid stated at 60 F, 20 C or 40 C is the same liquid: 1e-6 where a border of the rows lies between.
    whole = np.linspace(223.15, 423.15, 60)
    expected = expanded("petroleum-fuel", at_15, 288.15, whole)
    for base in (kelvin(f=60), kelvin(c=20), kelvin(c=40), kelvin(c=-20)):
        stated = expanded("petroleum-fuel", at_15, 288.15, base)[0]
        assert expanded("petroleum-fuel", stated, base[0], base)[0] == pytest.approx(stated, rel=1e-12)
        assert expanded("petroleum-fuel", stated, base[0], whole) == pytest.approx(expected, rel=1e-6)
