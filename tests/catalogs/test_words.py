"""The trade's words lead to words that exist, and are none of them."""

import re

import pytest

from catalogs import units, words
from catalogs.attitudes import AttitudePreset
from catalogs.catalog import Catalog
from catalogs.records import CurvePoint, PumpCurve
from lines.directions import WORDS
from lines.plan import AmbientTable, CircuitTable, DutyTable, PlanTable, PointsTable, PortTable, PositionTable, RunTable
from lines.states import AttitudeTable
from lines.zones import ZoneTable

CATALOG = Catalog()
KINDS = [CATALOG.kind(key) for key in CATALOG.ids("kinds")]
TABLES = [
    *(AmbientTable, CircuitTable, DutyTable, PlanTable, PointsTable, PortTable, PositionTable, RunTable, ZoneTable),
]
KEYS = {f.alias or n for table in TABLES for n, f in table.model_fields.items()}
CHOICES = {
    "units": {"us", "metric"},
    "nature": {"hot", "moving", "still"},
    "form": {"box", "cylinder", "sphere"},
    "lasts": {"sustained", "transient"},
    "length_is": {"seat-to-seat", "overall", "cut"},
    "reference": {c for kind in KINDS for n, f in kind.figures.items() if n == "reference" for c in f.choice},
    "bearing": {c for kind in KINDS for n, f in kind.figures.items() if n == "bearing" for c in f.choice},
}
EXIST = CHOICES | {
    "material": set(CATALOG.materials()),
    "fluid": set(CATALOG.ids("fluids")),
    "stock": {CATALOG.stock(key).family for key in CATALOG.ids("stock")},
    "thread": set(CATALOG.ids("seats")),
    "direction": set(WORDS),
    "kind": set(CATALOG.ids("kinds")),
    "port": {port for kind in KINDS for port in kind.ports},
    "curve": {*CurvePoint.model_fields, *PumpCurve.model_fields},
    "attitude": {*AttitudeTable.model_fields, *AttitudePreset.model_fields},
    "like": set(CATALOG.ids("attitudes")),
    "key": KEYS | {figure for kind in KINDS for figure in kind.figures},
    "unit": {spelling for d in units.dimensions() for spelling in units.spellings(d)} | {"hp of wheel_power"},
}
# A plan names its positions itself; these are the usual ones.
NAMED_BY_THE_PLAN = {"position"}
# Nothing here is one, and what looks like it is not.
NOTHING = {"bspt", "supercharger"}


@pytest.mark.parametrize("sort", [*EXIST, *NAMED_BY_THE_PLAN])
def test_there_are_words_of_every_sort(sort):
    assert words.of_the_trade(sort)


def test_every_sort_is_known_here():
    assert set(words._table()) == {*EXIST, *NAMED_BY_THE_PLAN}


@pytest.mark.parametrize("sort", EXIST)
def test_a_word_leads_to_words_that_exist(sort):
    for word, meant in words.of_the_trade(sort).items():
        assert meant or word in NOTHING, word
        if sort == "unit":
            assert set(meant) & EXIST[sort], word
        else:
            assert set(meant) <= EXIST[sort], word


@pytest.mark.parametrize("sort", [s for s in EXIST if s not in {"key", "unit", "thread"}])
def test_a_word_is_none_of_those_that_exist(sort):
    assert not {w for w in words.of_the_trade(sort) if w in EXIST[sort]}


@pytest.mark.parametrize("sort", [*EXIST, *NAMED_BY_THE_PLAN])
def test_a_word_is_found_as_it_may_be_written(sort):
    for word, meant in words.of_the_trade(sort).items():
        assert words.meant(sort, word.upper(), meant) == meant
        if re.fullmatch(r"\w+( \w+)+", word):
            assert words.meant(sort, word.replace(" ", "-"), meant) == meant


@pytest.mark.parametrize(
    ("sort", "word", "near", "expected"),
    [
        ("fluid", "petrol", None, '"gasoline-summer" or "gasoline-winter"'),
        ("fluid", "Antifreeze", "glycol-50", None),
        ("material", "aluminum", "aluminium", None),
        ("material", "titanum", "titanium", None),
        ("kind", "FPR", None, '"regulator" or "feed-regulator"'),
        ("units", "imperial", "us", None),
        ("direction", "aft", "back", None),
        ("port", "inlet", "in", None),
        ("kind", "coolant pump", None, '"water-pump" or "electric-water-pump"'),
        # A curve's rise is a pressure, a run's is a height; the engine's speed is a duty's.
        ("curve", "pressure", "rise", None),
        ("curve", "head", "rise", None),
        ("curve", "rpm", "speed", None),
        ("curve", "Voltage", "volts", None),
        ("attitude", "climb", "nose_up", None),
        ("attitude", "Pitch", None, '"nose_up" or "nose_down"'),
        ("like", "corner", None, '"corner-left" or "corner-right"'),
        ("like", "corner left", "corner-left", None),
    ],
)
def test_one_meaning_is_offered_and_two_are_both_named(sort, word, near, expected):
    valid = sorted(EXIST[sort])
    assert (words.near(sort, word, valid), words.offer(sort, word, valid)) == (near, expected)


# The trade's own spellings: common practice, no source.
@pytest.mark.parametrize(
    ("spelled", "kind"),
    [
        (
            "dead head regulator; dead-head regulator; deadhead-regulator; deadhead regulator; Deadhead",
            "feed-regulator",
        ),
        ("feed regulator; feed_regulator; FeedRegulator; returnless regulator", "feed-regulator"),
        ("wye; Y; y-piece; Y piece; ypiece; y-fitting; T; T-piece; t piece; tpiece; tee-piece; t-fitting", "tee"),
        ("catch can; catch-can; catchcan; Catch_Can; oil catch can; breather can", "catch-tank"),
        (
            "check valve; checkvalve; non-return valve; nonreturn valve; one way valve; one-way-valve; NRV",
            "check-valve",
        ),
        ("relief valve; pressure relief valve; pressure-relief-valve; pop-off valve", "relief-valve"),
        ("surge tank; surgetank; swirl-pot; swirl pot; swirlpot", "surge-tank"),
        ("fuel cell; fuel-cell; fuelcell; gas tank; fuel-tank; dry-sump tank", "tank"),
        ("heater core; heater-core; heatercore", "heater"),
        ("oil thermostat; oil_thermostat", "oil-thermostat"),
        ("roll over valve; rollover valve; roll-over valve", "roll-over-valve"),
        ("bulkhead; bulkhead fitting; bulkhead union", "bulkhead-union"),
        ("coupler; coupling; joiner", "union"),
        ("power steering pump; power-steering pump", "steering-pump"),
        ("in-tank pump; fuel pump; lift-pump", "pump"),
        ("tap; petcock; shut-off; ball valve", "valve"),
    ],
)
def test_a_kind_is_found_with_dashes_with_spaces_or_with_neither(spelled, kind):
    valid = sorted(EXIST["kind"])
    assert {word: words.near("kind", word, valid) for word in spelled.split("; ")} == dict.fromkeys(
        spelled.split("; "), kind
    )


@pytest.mark.parametrize(
    ("sort", "word", "valid", "near"),
    [
        # A dash before a direction is none of a word.
        ("direction", "-x", sorted(EXIST["direction"]), "back"),
        ("stock", "ptfe braid", sorted(EXIST["stock"]), "ptfe-braid"),
        ("fluid", "5w30", sorted(EXIST["fluid"]), "5w-30"),
        ("fluid", "10w-30", ["10w-40", "5w-30"], None),
        # A run has a rise, and no pressure.
        ("key", "pressure", sorted(RunTable.model_fields), None),
        ("key", "pressure", sorted(PointsTable.model_fields), "drop"),
        ("key", "rpm", sorted(DutyTable.model_fields), "engine_speed"),
    ],
)
def test_a_word_run_together_means_no_other(sort, word, valid, near):
    assert words.near(sort, word, valid) == near
