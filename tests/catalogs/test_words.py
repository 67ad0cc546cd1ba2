"""The trade's words lead to words that exist, and are none of them."""

import re

import pytest

from catalogs import units, words
from catalogs.catalog import Catalog
from lines.directions import WORDS
from lines.plan import AmbientTable, CircuitTable, DutyTable, PlanTable, PortTable, PositionTable, RunTable
from lines.zones import ZoneTable

CATALOG = Catalog()
KINDS = [CATALOG.kind(key) for key in CATALOG.ids("kinds")]
TABLES = [AmbientTable, CircuitTable, DutyTable, PlanTable, PortTable, PositionTable, RunTable, ZoneTable]
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
    "key": KEYS | {figure for kind in KINDS for figure in kind.figures},
    "unit": {spelling for d in units.dimensions() for spelling in units.spellings(d)} | {"hp of wheel_power"},
}
# A plan names its positions itself; these are the usual ones.
NAMED_BY_THE_PLAN = {"position"}


@pytest.mark.parametrize("sort", [*EXIST, *NAMED_BY_THE_PLAN])
def test_there_are_words_of_every_sort(sort):
    assert words.of_the_trade(sort)


def test_every_sort_is_known_here():
    assert set(words._table()) == {*EXIST, *NAMED_BY_THE_PLAN}


@pytest.mark.parametrize("sort", EXIST)
def test_a_word_leads_to_words_that_exist(sort):
    for word, meant in words.of_the_trade(sort).items():
        assert meant or word == "bspt", word
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
    ],
)
def test_one_meaning_is_offered_and_two_are_both_named(sort, word, near, expected):
    valid = sorted(EXIST[sort])
    assert (words.near(sort, word, valid), words.offer(sort, word, valid)) == (near, expected)
