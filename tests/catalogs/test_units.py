"""The grammar of quantities, its conversion factors, and how lengths are printed for a tape."""

import datetime as dt
import math
import sys
import time
import unicodedata
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import hostile_texts, tape_numbers

from catalogs import units
from catalogs.errors import QuantityError

INCH = 0.0254  # exact: international yard and pound agreement, 1959

# One unit of each dimension, in the words of the unit library: what the name of the dimension promises.
REFERENCE = {
    "length": "m",
    "bore": "m",
    "area": "m**2",
    "volume": "m**3",
    "angle": "radian",
    "slope": "radian",
    "acceleration": "m/s**2",
    "velocity": "m/s",
    "speed": "radian/s",
    "time": "s",
    "duration": "s",
    "pressure": "Pa",
    "pressure_drop": "Pa",
    "vapour_pressure": "Pa",
    "modulus": "Pa",
    "temperature": "K",
    "temperature_difference": "K",
    "mass": "kg",
    "force": "N",
    "torque": "N*m",
    "volume_flow": "m**3/s",
    "oil_flow": "m**3/s",
    "oil_volume": "m**3",
    "line_volume": "m**3",
    "displacement": "m**3",
    "gas_flow": "m**3/s",
    "heat": "W",
    "held_pressure": "Pa",
    "gas_pressure": "Pa",
    "gas_drop": "Pa",
    "mass_flow": "kg/s",
    "power": "W",
    "bsfc": "kg/J",
    "voltage": "V",
    "current": "A",
    "ratio": "",
    "number": "",
    "price": "",
    "density": "kg/m**3",
    "kinematic_viscosity": "m**2/s",
    "dynamic_viscosity": "Pa*s",
    "heat_capacity": "J/(kg*K)",
    "conductivity": "W/(m*K)",
    "heat_transfer": "W/(m**2*K)",
    "expansion": "m**3/m",
    "pressure_per_flow": "Pa/(m**3/s)",
}
# Fields with bounds of their own: they have the units of another dimension.
OF = {
    "oil_flow": "volume_flow",
    "oil_volume": "volume",
    "line_volume": "volume",
    "displacement": "volume",
    "gas_flow": "volume_flow",
    "heat": "power",
    "held_pressure": "pressure_drop",
    "gas_pressure": "pressure",
    "gas_drop": "pressure_drop",
    "size": "length",
    "gap": "length",
    "altitude": "length",
    "roughness": "bore",
    "fineness": "bore",
    "air_ratio": "number",
    "turn": "angle",
    "air_temperature": "temperature",
    "bay_temperature": "temperature",
    "fluid_temperature": "temperature",
    "boost": "pressure",
    "top_pressure": "pressure",
    "demand": "volume_flow",
    "share": "ratio",
    "factor": "number",
    "count": "number",
}
REFERENCE |= {name: REFERENCE[of] for name, of in OF.items()}
LIBRARY = pint.UnitRegistry()
EVERY_UNIT = [(d, s) for d in units.dimensions() for s in units.spellings(d)]


def si(text, *dimensions):
    return units.read(text, *dimensions).value


def refusal(text, *dimensions):
    with pytest.raises(QuantityError) as caught:
        units.read(text, *dimensions)
    return caught.value


# Numbers as a tape is read. Expected values are exact multiples of the inch.
@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("14 5/8 in", 14.625),
        ('38-1/2"', 38.5),
        ('38 1/2"', 38.5),
        ("11 ft 3 in", 135),
        ("11ft3in", 135),
        ("11' 3\"", 135),
        ("11' 3-1/2\"", 135.5),
        ("5 1/2 ft", 66),
        ("7/16 in", 0.4375),
        ("14.625 in", 14.625),
        (".5 in", 0.5),
        ("+3 in", 3),
        ("-3 1/2 in", -3.5),
        ("-3-1/2 in", -3.5),
        ("-1 ft 6 in", -18),
        ("1.2e1 inches", 12),
        ("  14\t5/8   in ", 14.625),
        ("14\u00a0in", 14),  # a no-break space, as word processors put it
        ("12 IN", 12),
        ("14 1/2 inch", 14.5),
        ("3 feet", 36),
    ],
)
def test_number_as_a_tape_is_read(text, inches):
    assert si(text, "length") == pytest.approx(inches * INCH, rel=1e-14)


@given(tape_numbers(), st.sampled_from([" in", '"', " inch"]))
def test_every_mixed_number_reads_as_its_fraction(number, unit):
    text, value = number
    assert si(text + unit, "length") == pytest.approx(float(value) * INCH, rel=1e-14)


@given(st.integers(0, 99), tape_numbers(), st.sampled_from([("ft", "in"), ("'", '"')]))
def test_feet_and_inches_add_up(feet, number, marks):
    text, value = number
    expected = float(12 * feet + value) * INCH
    assert si(f"{feet} {marks[0]} {text} {marks[1]}", "length") == pytest.approx(expected, rel=1e-14)


@pytest.mark.parametrize(
    "text",
    [
        "2*7 in",
        "14+5/8 in",
        "14 - 5/8 in",  # a mixed number or a difference: nobody can tell
        "14 -5/8 in",
        "14- 5/8 in",
        "14 5/8 in + 1 in",
        "1/2/4 in",
        "(14) in",
        "2**3 in",
        "9**9**9**9",
        "2^3 in",
        "14 5 in",
        "1.5/2 in",
        "14 5/8.5 in",
        "14 1/0 in",
        "1/0 in",
        "0/0 in",
        "1/\u0660 in",
        "5 ft -3 in",
        "5 ft 3 in 2 in",
        "5 ft 3 m",
        "0x10 in",
        "1_000 in",
        "1,000 in",
        "1e400 in",
        "--5 in",
        "in",
        "in 14",
        "",
        " ",
        "=1+1",
        "__import__('os').getcwd()",
        "{0} in",
        "%s in",
        "14 in\x00",
        "14 5/8 in; rm",
        "14 in in",
        "14 in2",
    ],
)
def test_arithmetic_and_nonsense_are_refused(text):
    error = refusal(text, "length")
    assert "14 5/8 in" in error.expected
    assert error.text == text


def test_unit_expressions_of_a_person_never_reach_the_unit_library(monkeypatch):
    units.unit.cache_clear()
    monkeypatch.setattr(units, "_registry", lambda: pytest.fail("the unit library was asked"))
    for text in (
        "2 psi**9",
        "2 pound_force_per_square_inch",
        "9**9**9 psi",
        "2 megapascal",
        "2 kilofoot*inch",
    ):
        refusal(text, "pressure", "length")


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("20 C", "temperature", 293.15),
        ("0.5 g", "acceleration", 4.903325),  # half of 9.80665 m/s2, ISO 80000-3
        ("0.5 g", "mass", 0.0005),
        ("100 %", "slope", math.pi / 4),
        ("31 deg", "slope", math.radians(31)),
        ("60 %", "ratio", 0.6),
        ("0.6", "ratio", 0.6),
        (0.6, "ratio", 0.6),
        (2, "number", 2.0),
        (1 / 3, "number", 1 / 3),  # seventeen digits, as Python and a spreadsheet write them
        (5e-324, "number", None),
        ("12.50", "price", 12.5),
        ("6500 1/min", "speed", 6500 * 2 * math.pi / 60),
        ("2 psi per 100 gph", "pressure_per_flow", 0.02 * 6894.757293 / (231 * INCH**3 / 3600)),
    ],
)
def test_the_field_decides_what_a_unit_means(text, dimension, value):
    if value is None:
        refusal(text, dimension)
    else:
        assert si(text, dimension) == pytest.approx(value, rel=1e-8)


# Of grade: the angle whose tangent is that many hundredths, to the two decimals of a table of tangents.
@pytest.mark.parametrize(
    ("percent", "degrees"), [(30, 16.70), (60, 30.96), (75, 36.87), (100, 45), (-60, -30.96), (0, 0)]
)
def test_a_grade_is_an_angle(percent, degrees):
    assert math.degrees(si(f"{percent} %", "slope")) == pytest.approx(degrees, abs=0.005)
    assert si(f"{percent} % grade", "slope") == si(f"{percent} %", "slope")


@pytest.mark.parametrize(
    ("text", "pascal", "reference"),
    [
        ("43.5 psi", 43.5 * 6894.757293, "gauge"),
        ("43.5 psig", 43.5 * 6894.757293, "gauge"),
        ("14.7 psia", 14.7 * 6894.757293, "absolute"),
        ("14.7 psi abs", 14.7 * 6894.757293, "absolute"),
        ("14.7 psi  abs", 14.7 * 6894.757293, "absolute"),
        ("3 bar", 3e5, "gauge"),
        ("101.325 kPa abs", 101325.0, "absolute"),
        ("1013.25 mbar abs", 101325.0, "absolute"),
        ("-9 PSI", -9 * 6894.757293, "gauge"),
    ],
)
def test_pressure_knows_its_reference(text, pascal, reference):
    read = units.read(text, "pressure")
    assert (read.value, read.reference) == (pytest.approx(pascal, rel=1e-9), reference)


def test_gauge_pressure_stands_on_the_ambient_and_absolute_does_not():
    ambient = 101325.0
    assert units.read("0 psi", "pressure").absolute(ambient) == ambient
    assert units.read("3 bar abs", "pressure").absolute(ambient) == pytest.approx(3e5)


@pytest.mark.parametrize("text", ["5 psig", "5 psia", "5 psi abs"])
def test_a_difference_of_pressure_has_no_reference(text):
    refusal(text, "pressure_drop")


def test_megapascal_and_millipascal_are_told_apart_by_case():
    assert si("1 MPa", "pressure") == pytest.approx(1e6)
    refusal("1 mPa", "pressure")
    assert si("1 mPa s", "dynamic_viscosity") == pytest.approx(1e-3)
    refusal("1 MPa s", "dynamic_viscosity")
    refusal("1 Mm", "length")


# NIST Special Publication 811 (2008), appendix B.8, factors to SI; the digits are written from memory of that
# table, and EXACT below does not rest on them. Printed to seven figures, so half of the last one: 5e-7.
NIST = {
    ("length", "in"): 2.54e-02,
    ("length", "ft"): 3.048e-01,
    ("area", "in2"): 6.4516e-04,
    ("volume", "gal"): 3.785412e-03,
    ("volume", "qt"): 9.463529e-04,
    ("volume", "pt"): 4.731765e-04,
    ("volume", "fl oz"): 2.957353e-05,
    ("volume", "in3"): 1.638706e-05,
    ("volume", "cu in"): 1.638706e-05,
    ("angle", "deg"): 1.745329e-02,
    ("acceleration", "g"): 9.80665,
    ("acceleration", "ft/s2"): 3.048e-01,
    ("velocity", "mph"): 4.4704e-01,
    ("velocity", "km/h"): 2.777778e-01,
    ("speed", "rpm"): 1.047198e-01,
    ("pressure", "psi"): 6.894757e03,
    ("pressure", "bar"): 1.0e05,
    ("pressure", "mbar"): 1.0e02,
    ("pressure", "inHg"): 3.386389e03,  # conventional inch of mercury
    ("mass", "lb"): 4.535924e-01,
    ("mass", "oz"): 2.834952e-02,  # avoirdupois
    ("force", "lbf"): 4.448222,
    ("torque", "ft-lb"): 1.355818,
    ("torque", "in-lb"): 1.129848e-01,
    ("volume_flow", "gpm"): 6.309020e-05,
    ("mass_flow", "lb/h"): 1.259979e-04,
    ("mass_flow", "lb/min"): 7.559873e-03,
    ("power", "hp"): 7.456999e02,  # 550 ft lbf/s
    ("power", "PS"): 7.354988e02,  # metric horsepower
    ("bsfc", "lb/(hp h)"): 1.689659e-07,
    ("density", "lb/gal"): 1.198264e02,
    ("density", "lb/ft3"): 1.601846e01,
    ("kinematic_viscosity", "cSt"): 1.0e-06,
    ("dynamic_viscosity", "cP"): 1.0e-03,
    ("heat_capacity", "Btu/lbF"): 4.1868e03,  # International Table Btu
}


@pytest.mark.parametrize(("dimension", "spelling"), NIST)
def test_factor_is_that_of_nist_sp_811(dimension, spelling):
    assert units.unit(dimension, spelling).factor == pytest.approx(NIST[dimension, spelling], rel=5e-7)


def test_inch_of_water_at_60_f_is_that_of_nist_sp_811():
    # The same table prints 2.4884E+02, five figures.
    assert units.unit("pressure", "inH2O").factor == pytest.approx(248.84, rel=2.5e-5)


# Exact from the definitions alone: inch and pound by the agreement of 1959, standard gravity by ISO 80000-3,
# the US gallon as 231 cubic inches (NIST Handbook 44, appendix C), horsepower as 550 ft lbf/s.
_IN, _LB, _G = Fraction("0.0254"), Fraction("0.45359237"), Fraction("9.80665")
_FT, _GAL, _LBF = 12 * _IN, 231 * _IN**3, _LB * _G
_HP = 550 * _FT * _LBF
EXACT = {
    ("length", "in"): _IN,
    ("length", "ft"): _FT,
    ("bore", "um"): Fraction("1e-6"),
    ("volume", "gal"): _GAL,
    ("volume", "qt"): _GAL / 4,
    ("volume", "fl oz"): _GAL / 128,
    ("volume", "cc"): Fraction("1e-6"),
    ("force", "lb"): _LBF,
    ("pressure", "psi"): _LBF / _IN**2,
    ("pressure_drop", "psi"): _LBF / _IN**2,
    ("modulus", "psi"): _LBF / _IN**2,
    ("torque", "ft-lb"): _FT * _LBF,
    ("volume_flow", "gph"): _GAL / 3600,
    ("volume_flow", "gal/min"): _GAL / 60,
    ("volume_flow", "lph"): Fraction("1e-3") / 3600,
    ("volume_flow", "cc/min"): Fraction("1e-6") / 60,
    ("mass_flow", "lb/hr"): _LB / 3600,
    ("mass_flow", "g/min"): Fraction("1e-3") / 60,
    ("power", "hp"): _HP,
    ("bsfc", "lb/hp-h"): _LB / (_HP * 3600),
    ("bsfc", "g/kWh"): Fraction("1e-3") / 3_600_000,
    ("density", "lb/gal"): _LB / _GAL,
    ("temperature_difference", "F"): Fraction(5, 9),
    ("expansion", "cc/ft"): Fraction("1e-6") / _FT,
    ("pressure_per_flow", "psi/gph"): _LBF / _IN**2 / (_GAL / 3600),
    ("pressure_per_flow", "kPa per 100 L/h"): 10 / (Fraction("1e-3") / 3600),
}


@pytest.mark.parametrize(("dimension", "spelling"), EXACT)
def test_factor_follows_from_the_definitions(dimension, spelling):
    assert units.unit(dimension, spelling).factor == pytest.approx(float(EXACT[dimension, spelling]), rel=1e-12)


# The scales by definition: T/K = (t/F + 459.67)/1.8 = t/C + 273.15 (NIST SP 811, B.8).
@pytest.mark.parametrize(
    ("text", "kelvin"),
    [
        ("32 F", 273.15),
        ("212 °F", 373.15),
        ("-40 deg F", 233.15),
        ("-40 degC", 233.15),
        ("0 C", 273.15),
        ("300 K", 300),
    ],
)
def test_temperature_scales(text, kelvin):
    assert si(text, "temperature") == pytest.approx(kelvin, abs=1e-9)


@pytest.mark.parametrize("text", ["-460 F", "-274 C", "-1 K"])
def test_nothing_is_colder_than_absolute_zero(text):
    assert "absolute zero" in str(refusal(text, "temperature"))


@pytest.mark.parametrize(("dimension", "spelling"), EVERY_UNIT)
def test_every_unit_has_the_dimension_that_it_is_listed_under(dimension, spelling):
    row = units._table()[dimension]["units"][spelling]
    expression = row if isinstance(row, str) else row["is"]
    measured = LIBRARY.Quantity(1.0, expression)
    assert measured.dimensionality == LIBRARY.Quantity(1.0, REFERENCE[dimension]).dimensionality
    found = units.unit(dimension, spelling)
    assert math.isfinite(found.factor)
    assert found.factor > 0
    assert found.offset == 0 or units.base(dimension) == "temperature"


def test_every_dimension_is_known_here():
    assert set(units.dimensions()) == set(REFERENCE)
    assert {d: units.base(d) for d in units.dimensions() if units.base(d) != d} == OF


@pytest.mark.parametrize(("name", "of"), OF.items())
def test_a_field_with_bounds_of_its_own_has_the_units_of_its_dimension(name, of):
    assert units.spellings(name) == units.spellings(of)
    text = units.expected(of).split(", like ")[1].split(" or ")[0].split(", ")[0]
    assert units.read(text, name) == units.read(text, of)


@pytest.mark.parametrize("dimension", units.dimensions())
@pytest.mark.parametrize("system", ["us", "metric"])
def test_reports_print_a_unit_that_can_be_read_again(dimension, system):
    spelling = units.printed_unit(dimension, system)
    assert spelling in units.spellings(dimension) or (spelling == "" and units._table()[dimension]["bare"])


@pytest.mark.parametrize("dimension", units.dimensions())
def test_spellings_that_differ_by_case_alone_mean_the_same(dimension):
    meanings = {}
    for spelling in units.spellings(dimension):
        if spelling[0] not in "mM":
            found = units.unit(dimension, spelling)
            meaning = (found.factor, found.offset, found.reference)
            assert meanings.setdefault(spelling.casefold(), meaning) == meaning


def test_what_an_error_names_as_an_example_can_be_read():
    for dimension in units.dimensions():
        examples = units.expected(dimension).split(", like ")[1].replace(" or ", ", ").split(", ")
        for example in examples:
            units.read(example.replace("of grade", "grade"), dimension)


def test_a_unit_of_another_dimension_is_refused_by_name():
    for _, spelling in EVERY_UNIT:
        for other in units.dimensions():
            if spelling.casefold() not in map(str.casefold, units.spellings(other)):
                error = refusal(f"2 {spelling}", other)
                assert f'"{spelling}" is a unit of ' in str(error)
                assert str(error).endswith(f"not of {units.base(other).replace('_', ' ')}")
                assert error.expected == units.expected(other)


def test_the_refusal_names_where_the_unit_belongs():
    assert str(refusal("20 C", "acceleration")) == '"C" is a unit of temperature, not of acceleration'


@pytest.mark.parametrize(
    ("text", "dimension", "near"),
    [
        ("43 pis", "pressure", "psi"),
        ("3 barr", "pressure", "bar"),
        ("90 gal/hr", "volume_flow", "gal/h"),
        ("90 deegrees", "angle", "degrees"),
        ("58 lbs", "pressure_drop", "psi"),
        ("4 lb", "mass_flow", "lb/h"),
        ("500 whp", "power", None),  # wheel power: another key
        ("58 psi abs", "pressure_drop", None),  # an absolute pressure is no difference
        ("43 psig", "pressure_drop", "psi"),
        ("3 zzzz", "length", None),
    ],
)
def test_the_nearest_unit_is_offered(text, dimension, near):
    assert refusal(text, dimension).nearest == near


def test_a_field_of_two_dimensions_takes_either_and_names_both():
    assert units.read("4 lb/h", "volume_flow", "mass_flow").dimension == "mass_flow"
    assert units.read("90 gph", "volume_flow", "mass_flow").dimension == "volume_flow"
    expected = refusal("90 psi", "volume_flow", "mass_flow").expected
    assert "340 L/h" in expected
    assert "4 lb/h" in expected


def test_no_spelling_is_in_both_dimensions_of_such_a_field():
    for one, two in (("volume_flow", "mass_flow"), ("kinematic_viscosity", "dynamic_viscosity")):
        assert not {s.casefold() for s in units.spellings(one)} & {s.casefold() for s in units.spellings(two)}


@pytest.mark.parametrize("bare", ["14", " 14 5/8 ", 14, 14.5, 0, -3, "1e3"])
def test_a_bare_number_is_told_which_unit_was_expected(bare):
    error = refusal(bare, "length")
    assert "has no unit" in str(error) or "bare number" in str(error)
    assert error.expected == units.expected("length")


@pytest.mark.parametrize(
    "thing", [None, True, False, [], ["14 in"], {}, {"value": 14}, b"14 in", dt.date(2020, 1, 1), 1j]
)
@pytest.mark.parametrize("dimension", ["length", "number"])
def test_what_is_no_text_is_refused(thing, dimension):
    refusal(thing, dimension)


@pytest.mark.parametrize("number", [math.inf, -math.inf, math.nan, 10**60, "inf", "nan", "infinity", "-inf", "1e999"])
def test_numbers_that_are_not_finite_are_refused(number):
    refusal(number, "number")
    refusal(number, "length")


def test_a_whole_number_that_python_will_not_print_is_refused():
    refusal(16**9999, "number")
    refusal(16**9999, "length")


def test_a_text_may_have_64_characters_and_no_more():
    assert si("1 in".ljust(64), "length") == pytest.approx(INCH)
    assert "64" in str(refusal("1 in".ljust(65), "length"))
    assert len(refusal("1 in" + " " * 10**6, "length").text) <= 64


@pytest.mark.parametrize("text", ["1,5 in", " -14,25 psi", "3,0bar"])
def test_a_decimal_comma_is_told_to_be_a_point(text):
    assert "write a point" in str(refusal(text, "length", "pressure"))


NUMERALS = [c for c in map(chr, range(0x80, sys.maxunicode + 1)) if unicodedata.category(c) in {"Nd", "Nl", "No"}]


def test_no_numeral_of_unicode_is_read_wrongly():
    # 14½ must never be 14, nor 1⅝ be 18: what is read is a decimal digit, or nothing is.
    for numeral in NUMERALS:
        try:
            inches = si(f"14{numeral} in", "length") / INCH
        except QuantityError:
            continue
        assert inches == pytest.approx(140 + unicodedata.digit(numeral))


@pytest.mark.parametrize(
    "text",
    ["14 ½ in", "½ in", "14 5\u20448 in", "\u22123 in", "38-1/2\u2033", "14 5\u22158 in", "1\u00b2 in"],
)
def test_typeset_fractions_and_signs_are_refused(text):
    refusal(text, "length")


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("36½ in", "36 1/2 in"),
        ("36 ½ in", "36 1/2 in"),
        ("14⅝ in", "14 5/8 in"),
        ("\u221210 in", "-10 in"),
        ("\u201310 in", "-10 in"),
        ("18\u2033", '18"'),
        ("1\u2032 6\u2033", "1' 6\""),
        ("18\u201d", '18"'),
        ("14 5\u20448 in", "14 5/8 in"),
    ],
)
def test_a_typeset_length_is_told_what_to_write(text, plain):
    assert refusal(text, "length").expected == f"plain ones: {plain}"
    units.read(plain, "length")


def test_a_typeset_point_is_told_what_to_write():
    with pytest.raises(QuantityError) as caught:
        units.read_vector("6, \u201310, 36½ in")
    assert caught.value.expected == "plain ones: 6, -10, 36 1/2 in"


def test_feet_and_a_bare_number_are_told_apart():
    assert "without its unit" in str(refusal("1'6", "length"))


@pytest.mark.parametrize("text", ["10 micron", "10 microns", "10 um"])
def test_a_micron_is_a_millionth_of_a_metre(text):
    assert si(text, "size") == pytest.approx(1e-5)


@pytest.mark.parametrize(
    ("text", "value", "dimension", "shown"),
    [
        ("850 F", 273.15 + 70, "temperature", "158 F"),
        ("11 ft 3 in", 1.0, "length", "3.28 ft"),
        ("0.95 mm", 0.0236, "length", "23.6 mm"),
        ("90000 ft", 9000.0, "length", "29500 ft"),
        ("5", 0.25, "ratio", "0.25"),
    ],
)
def test_a_figure_is_shown_in_the_unit_of_another(text, value, dimension, shown):
    assert units.in_unit_of(text, value, dimension) == shown


@given(hostile_texts(), st.sampled_from(units.dimensions()))
def test_any_text_is_a_finite_quantity_or_refused(text, dimension):
    try:
        value = si(text, dimension)
    except QuantityError:
        return
    assert math.isfinite(value)


def test_no_text_takes_long():
    si("1 psi", "pressure")
    texts = [
        (piece * 64)[:64]
        for piece in ("9", " ", "1 ", "1/", "-", "1-", "1.", "e", "1e", "ft", "1 ft ", "'", '"', "9**")
    ]
    start = time.perf_counter()
    for text in texts:
        for tail in ("", "!", " in"):
            refusal(text[: 64 - len(tail)] + tail, "length")
    assert time.perf_counter() - start < 1.0  # a few milliseconds where nothing backtracks


SHOWN = [d for d in units.dimensions() if d == units.base(d) and d not in {"temperature", "length"}]


@given(st.sampled_from(SHOWN), st.sampled_from(["us", "metric"]), st.floats(-800, 800), st.booleans())
def test_what_reports_print_reads_as_the_value_to_the_printed_decimals(dimension, system, number, absolute):
    spelling = units.printed_unit(dimension, system)
    size = units.unit(dimension, spelling) if spelling else units.Unit("", 1.0)
    reference = {"pressure": "absolute" if absolute else "gauge"}.get(dimension)
    number = abs(number) if reference == "absolute" else number  # nothing is below a vacuum
    written = units.Quantity(size.to_si(number), dimension, reference)
    text = units.show(written, system)
    read = units.read(text, dimension)
    half = 0.5 * 10.0 ** -len(text.split()[0].partition(".")[2])
    assert abs(read.value - written.value) <= half * size.factor * (1 + 1e-9) + 1e-15
    assert read.reference == reference
    # Never coarser than the unit's decimals unless that still leaves three figures.
    assert half <= max(0.5 * 10.0 ** -units._table()[dimension][system]["decimals"], 0.005 * abs(number), 1e-15) * (
        1 + 1e-9
    )


@given(st.floats(-30, 30), st.sampled_from(["us", "metric"]))
def test_a_length_prints_as_a_tape_reads_it(length, system):
    assert units.show(units.Quantity(length, "length"), system) == units.show_tape(length, system)


@given(st.floats(0, 2000), st.sampled_from([("us", 0.5 / 1.8), ("metric", 0.5)]))
def test_a_printed_temperature_reads_as_itself_to_half_a_degree(kelvin, system):
    shown = units.show(units.Quantity(kelvin, "temperature"), system[0])
    if shown in {"-460 F", "-273 C"}:  # the whole degree below absolute zero
        return
    assert abs(si(shown, "temperature") - kelvin) <= system[1] + 1e-9


def test_nothing_prints_as_minus_zero():
    assert units.show(units.Quantity(-1e-9, "length"), "us") == "0 in"
    assert units.show(units.Quantity(-1e-9, "bore"), "us") == "0.000 in"


# A US gallon is 3.785411784 L and four quarts (NIST Handbook 44, appendix C): 2 gpm are 7.57 L/min.
@pytest.mark.parametrize(
    ("written", "us", "metric"),
    [
        ("2 gpm", "2.00 gpm", "7.57 L/min"),
        ("8 qt/min", "2.00 gpm", "7.57 L/min"),
        ("29.5 L/h", "0.130 gpm", "0.49 L/min"),
        ("40 L/min", "10.6 gpm", "40.0 L/min"),
    ],
)
def test_a_flow_of_oil_is_spoken_of_by_the_minute(written, us, metric):
    flow = units.Quantity(si(written, "oil_flow"), "oil_flow")
    assert (units.show(flow, "us"), units.show(flow, "metric")) == (us, metric)


@pytest.mark.parametrize(
    ("litres", "rounding", "us", "metric"),
    [
        (4.0, round, "4.23 qt", "4.00 L"),
        (3.001, math.ceil, "3.18 qt", "3.01 L"),
        (3.001, math.floor, "3.17 qt", "3.00 L"),
    ],
)
def test_what_has_to_be_enough_is_shown_as_enough(litres, rounding, us, metric):
    # 1 L = 1.056688 US quarts (NIST SP 811, appendix B.8).
    oil = units.Quantity(litres / 1e3, "oil_volume")
    assert (units.show(oil, "us", rounding=rounding), units.show(oil, "metric", rounding=rounding)) == (us, metric)


def test_a_flow_of_fuel_is_spoken_of_by_the_hour():
    flow = units.read("2 gpm", "volume_flow")
    assert (units.show(flow, "us"), units.show(flow, "metric")) == ("120 gph", "454 L/h")


def test_an_altitude_is_said_in_feet_or_metres():
    # 3000 ft are 914.4 m: the foot is exact, 1959.
    high = units.Quantity(si("3000 ft", "altitude"), "altitude")
    assert (units.show(high, "us"), units.show(high, "metric")) == ("3000 ft", "914 m")


def test_decimals_may_be_asked_for():
    assert units.show(units.Quantity(0.0254, "length"), "metric", decimals=1) == "25.4 mm"


@given(st.floats(-30, 30))
def test_a_tape_reading_is_at_most_half_a_mark_off(length):
    assert abs(si(units.show_tape(length, "us"), "length") - length) <= INCH / 32 + 1e-8
    assert abs(si(units.show_tape(length, "us", parts=32), "length") - length) <= INCH / 64 + 1e-8
    assert abs(si(units.show_tape(length, "metric"), "length") - length) <= 0.0005 + 1e-8


@given(st.floats(0, 30))
def test_a_length_to_order_is_never_short(length):
    over = si(units.show_tape(length, "us", rounding=math.ceil), "length") - length
    assert -1e-8 <= over < INCH / 16 + 1e-8


@given(st.integers(1, 16 * 600))
def test_a_length_on_a_mark_stays_on_it(sixteenths):
    for rounding in (round, math.ceil, math.floor):
        shown = units.show_tape(si(f"{sixteenths}/16 in", "length"), "us", rounding=rounding)
        assert si(shown, "length") == pytest.approx(sixteenths / 16 * INCH, rel=1e-12)
        assert units.show_tape(si(f"{sixteenths} mm", "length"), "metric", rounding=rounding) == f"{sixteenths} mm"


@pytest.mark.parametrize(
    ("inches", "shown"),
    [
        (14.625, "14 5/8 in"),
        (0.5, "1/2 in"),
        (12, "12 in"),
        (0, "0 in"),
        (-3.25, "-3 1/4 in"),
        (15.99, "16 in"),
        (-0.01, "0 in"),
    ],
)
def test_a_tape_is_read_in_lowest_terms(inches, shown):
    assert units.show_tape(inches * INCH, "us") == shown


@pytest.mark.parametrize(
    ("text", "point"),
    [
        ("-78, 6, 14 in", (-78 * INCH, 6 * INCH, 14 * INCH)),
        ("1.90, -0.25, 0.38 m", (1.90, -0.25, 0.38)),
        ("20, 8 1/2, 27-1/16 in", (20 * INCH, 8.5 * INCH, 27.0625 * INCH)),
        ("0,0,0 mm", (0.0, 0.0, 0.0)),
    ],
)
def test_a_point_shares_one_unit(text, point):
    assert units.read_vector(text) == pytest.approx(point, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("20, 8, 27", "no unit"),
        ("20 in, 8 in, 27 in", "after the last"),
        ("20, 8 in", "2 numbers"),
        ("1, 2, 3, 4 in", "4 numbers"),
        ("1,90, -0,25, 0,38 m", "6 numbers"),
        ("20, 8, 27 psi", "unit of pressure"),
        ("20, x, 27 in", "does not begin with a number"),
        ("20, , 27 in", "does not begin with a number"),
        (("1, 2, 3 in").ljust(65), "64"),
        ([20, 8, 27], "not a point"),
        (None, "not a point"),
    ],
)
def test_what_is_no_point_is_refused(text, words):
    with pytest.raises(QuantityError) as caught:
        units.read_vector(text)
    assert words in str(caught.value)


@given(hostile_texts())
def test_any_text_is_a_finite_point_or_refused(text):
    try:
        point = units.read_vector(text)
    except QuantityError:
        return
    assert all(map(math.isfinite, point))
