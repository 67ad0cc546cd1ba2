"""Examples in the units of the plan that they are shown in: each reads, and both systems mean the same."""

import re
import tomllib
from fractions import Fraction

import pint
import pytest

from catalogs import units
from catalogs.catalog import Catalog
from catalogs.examples import in_units
from lines.layers import LayerTable
from lines.plan import (
    AmbientTable,
    BendTable,
    CircuitTable,
    LevelsTable,
    PointsTable,
    PortTable,
    PositionTable,
    ReferenceTable,
    SpanTable,
    component_model,
    example_of,
)

CATALOG = Catalog()
TABLES = [
    *(AmbientTable, BendTable, CircuitTable, LayerTable, LevelsTable, PointsTable, PortTable, PositionTable),
    *(ReferenceTable, SpanTable),
]
SHOWN = [(kind, key) for kind in CATALOG.all("kinds") for key, f in kind.figures.items() if example_of(f)]
# What flows in a kind's own points: common practice, no source. Any other kind is of no one system, or of fuel.
FAMILY = {
    "turbocharger": "oil",
    "cooler": "oil",
    "oil-thermostat": "oil",
    "engine-block": "coolant",
    "thermostat": "coolant",
    "radiator": "coolant",
    "heater": "coolant",
    "breather-filter": "gas",
    "roll-over-valve": "gas",
    "residual-valve": "brake",
    "steering-box": "atf",
}
LIBRARY = pint.UnitRegistry()
NAMES = {
    "in": "inch",
    "mm": "mm",
    "ft": "foot",
    "m": "m",
    "psi": "psi",
    "kPa": "kPa",
    "inH2O": "inch_H2O_60F",
    "F": "degF",
    "C": "degC",
    "gph": "gallon/hour",
    "L/h": "L/hour",
    "gpm": "gallon/minute",
    "L/min": "L/minute",
    "cfm": "foot**3/minute",
}
TWO_FIGURES = 0.05
"""Half a unit of the second figure, of 10: 5 % of the value."""


def read(text):
    return tomllib.loads(f"it = {text}")["it"]


def quantities(text):
    """Each number in an example with its unit, for the library."""
    for numbers, unit in re.findall(r'"(-?\d[\d ,./-]*) ([^\s"]+)"', text):
        if unit in NAMES:
            for number in numbers.split(","):
                yield float(sum(Fraction(part) for part in number.split())), NAMES[unit]


# Arithmetic: an inch is 25.4 mm, a psi 6.895 kPa, a US gallon 3.785 L, a foot 0.3048 m, all rounded to two figures.
@pytest.mark.parametrize(
    ("us", "metric"),
    [
        ('{ full = "30 in", low = "19 in" }', '{ full = "760 mm", low = "480 mm" }'),
        ('"20, 8 1/2, 27 in"', '"510, 220, 690 mm"'),
        ('{ temperature = "85 F", altitude = "900 ft" }', '{ temperature = "29 C", altitude = "270 m" }'),
        ('flow = ["30 gph", "60 gph"]', 'flow = ["110 L/h", "230 L/h"]'),
        ('flow = ["4 gpm", "8 gpm"]', 'flow = ["15 L/min", "30 L/min"]'),
        ('move = "0, 0, -7 in"', 'move = "0, 0, -180 mm"'),
        # What is no quantity, and what both systems share.
        (
            'fluid = "10w-40", thread = "flare37 -6", stock = "6 x 1"',
            'fluid = "10w-40", thread = "flare37 -6", stock = "6 x 1"',
        ),
        ('turn = "90 deg", volts = "13.5 V"', 'turn = "90 deg", volts = "13.5 V"'),
    ],
)
def test_an_example_is_said_in_the_plans_own_units(us, metric):
    assert in_units(us, "metric") == metric
    assert in_units(us, "us") == us


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_example_of_a_table_reads(table, system):
    assert table.model_validate(read(in_units(table.example, system)))


@pytest.mark.parametrize(("kind", "key"), SHOWN, ids=lambda x: getattr(x, "id", x))
@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_example_of_a_figure_reads(kind, key, system):
    text = in_units(example_of(kind.figures[key]), system)
    assert getattr(component_model(kind).model_validate({"kind": kind.id, key: read(text)}), key)


@pytest.mark.parametrize("text", [*(t.example for t in TABLES), *(example_of(k.figures[key]) for k, key in SHOWN)])
def test_both_systems_say_the_same(text):
    us, metric = list(quantities(text)), list(quantities(in_units(text, "metric")))
    assert len(us) == len(metric)
    for (here, unit), (there, other) in zip(us, metric, strict=True):
        expected = LIBRARY.Quantity(here, unit).to(other).magnitude
        assert there == pytest.approx(expected, rel=TWO_FIGURES)


@pytest.mark.parametrize(("kind", "key"), SHOWN, ids=lambda x: getattr(x, "id", x))
def test_no_us_unit_is_left_in_a_metric_plan(kind, key):
    there = set(re.findall(r'\d ([^\s"\d]+)"', in_units(example_of(kind.figures[key]), "metric")))
    assert there <= {units.printed_unit(d, "metric") for d in units.dimensions()}


@pytest.mark.parametrize("kind", [k for k, key in SHOWN if key == "points"], ids=lambda kind: kind.id)
def test_points_are_of_the_fluid_that_runs_in_such_a_part(kind):
    fluid = CATALOG.fluid(read(example_of(kind.figures["points"]))["fluid"])
    assert fluid.family == FAMILY.get(kind.id, "gasoline")


def test_the_oil_of_a_sump_stands_in_its_box():
    box = LayerTable.model_validate(read(LayerTable.example)).bounds
    surface = LevelsTable.model_validate(read(example_of(CATALOG.kind("sump").figures["surface"])))
    assert box[0, 2] < surface.low < surface.full < box[1, 2]
