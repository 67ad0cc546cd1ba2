"""Figures that cannot be are refused where they are read, with the bound in the unit that was written.

The bounds themselves are common sense and have no source, but for absolute zero and a vacuum.
"""

import pytest
from pydantic import ValidationError

from catalogs import bounds, units
from catalogs.errors import QuantityError
from catalogs.fields import Bore, Dim, Part, Point, Pressure, Temperature

BOUNDED = [(d, which) for d in units.dimensions() for which in ("least", "over", "most") if units.bound(d, which)]


class Sample(Part):
    temperature: Temperature | None = None
    bore: Bore | None = None
    pressure: Pressure | None = None
    at: Point | None = None


def held(text, *dimensions):
    return Dim(dimensions).read(text)


def refusal(text, *dimensions):
    with pytest.raises(QuantityError) as caught:
        bounds.hold(text, units.read(text, *dimensions), *dimensions)
    return caught.value


def beside(dimension, which, part):
    """A text a little outside or inside a bound."""
    text = units.bound(dimension, which)
    number, _, unit = text.partition(" ")
    step = max(abs(float(number)), 1.0) * part
    return f"{float(number) + step:.6f} {unit}".strip()


@pytest.mark.parametrize(("dimension", "which"), BOUNDED)
def test_a_bound_parts_what_can_be_from_what_cannot(dimension, which):
    outward = 1e-3 if which == "most" else -1e-3
    refusal(beside(dimension, which, outward), dimension)
    held(beside(dimension, which, -outward), dimension)
    if which == "over":
        refusal(units.bound(dimension, which), dimension)
    else:
        held(units.bound(dimension, which), dimension)


@pytest.mark.parametrize("dimension", units.dimensions())
def test_the_least_is_under_the_most(dimension):
    least, over, most = bounds._bounds(dimension)
    low = least if least is not None else over
    assert low is None or most is None or low < most
    assert least is None or over is None


@pytest.mark.parametrize(
    ("text", "dimension", "message", "expected"),
    [
        ("-18 in", "size", '"-18 in" is 0 or less', "a length over 0"),
        ("0 mm", "bore", '"0 mm" is 0 or less', "a bore over 0"),
        ("-4 lb/h", "mass_flow", '"-4 lb/h" is less than 0', "a flow by mass of 0 or more"),
        ("-20 mm", "gap", '"-20 mm" is less than 0', "a length of 0 or more"),
        # 70 C is 158 F, -70 C is -94 F; 9000 m is 29 528 ft
        (
            "850 F",
            "air_temperature",
            '"850 F" is more than can be',
            "a temperature of the air from -94 F to 158 F",
        ),
        ("90000 ft", "altitude", '"90000 ft" is more than can be', "an altitude from -1640 ft to 29500 ft"),
        ("-90 psi", "boost", '"-90 psi" is less than can be', "a boost from -14.8 psi to 145 psi"),
        ("62 in", "bore", '"62 in" is more than can be', "a bore of at most 47.2 in"),
        ("120 %", "share", '"120 %" is more than can be', "a share of at most 100 %"),
        ("1.2", "share", '"1.2" is more than can be', "a share of at most 1"),
    ],
)
def test_a_refusal_speaks_in_the_unit_that_was_written(text, dimension, message, expected):
    error = refusal(text, dimension)
    assert (str(error), error.expected) == (message, expected)


@pytest.mark.parametrize("text", ["0 psi abs", "3 bar abs", "-14.7 psi", "-29.92 inHg", "14.7 psia"])
def test_a_vacuum_is_a_pressure(text):
    # 29.92 inHg and 14.696 psi are the standard atmosphere, ISO 2533: 101 325 Pa
    assert held(text, "pressure").dimension == "pressure"


@pytest.mark.parametrize("text", ["-16 psi", "-1.2 bar", "-30.5 inHg"])
def test_no_gauge_pressure_is_under_a_vacuum(text):
    assert "less than can be" in str(refusal(text, "pressure"))


def test_no_absolute_pressure_is_under_0():
    with pytest.raises(QuantityError, match="below a vacuum"):
        units.read("-1 psi abs", "pressure")


def test_a_field_of_two_dimensions_is_held_to_the_one_that_was_written():
    assert held("-4 gph", "volume_flow", "mass_flow").value < 0  # a flow put in
    with pytest.raises(QuantityError, match="less than 0"):
        bounds.hold("-4 gph", units.read("-4 gph", "demand", "mass_flow"), "demand", "mass_flow")


def test_a_point_names_the_number_that_cannot_be():
    with pytest.raises(ValidationError) as caught:
        Sample.model_validate({"at": "1, -30000 1/2, 3 m"})
    assert caught.value.errors()[0]["ctx"]["reason"] == '"-30000 1/2 m" is less than can be'
    assert caught.value.errors()[0]["ctx"]["expected"] == "a length from -20000 m to 20000 m"


@pytest.mark.parametrize(
    "facts",
    [
        {"temperature": "-459.67 F"},
        {"temperature": "3000 F"},
        {"bore": "-3 mm"},
        {"pressure": "-20 psi"},
        {"at": "1, 2, 300000 ft"},
    ],
)
def test_every_field_that_reads_a_quantity_is_held(facts):
    with pytest.raises(ValidationError):
        Sample.model_validate(facts)
