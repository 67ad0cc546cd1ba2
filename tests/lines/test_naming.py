"""Threads and hoses by the names that the trade has for them, against what the tables hold.

AN and JIC name the 37 deg flare by its dash (SAE J514, from memory); G is the parallel pipe thread of ISO 228-1; which
seats share a thread stands in published lists of sizes.
"""

import pytest

from catalogs.catalog import Catalog
from lines.naming import stock_meant, thread_meant

CATALOG = Catalog()


@pytest.mark.parametrize(
    ("word", "near"),
    [
        *[
            (word, "flare37 -8")
            for word in ("AN-8", "AN8", "8AN", "AN 8", "an -8", "JIC 8", "jic-8", "JIC -8", "-8 AN")
        ],
        *[(word, "flare37 -8") for word in ("flare37 8", "flare37-8", "Flare37 -8", "37 deg flare -8")],
        ("AN-10", "flare37 -10"),
        ("ORB-8", "orb -8"),
        ("8 ORB", "orb -8"),
        ("o-ring boss -6", "orb -6"),
        ("1/8 NPT", "npt 1/8"),
        ("NPT 1/8", "npt 1/8"),
        ("1/8-27 NPT", "npt 1/8"),
        ("npt1/2", "npt 1/2"),
        ("1 1/4 NPT", "npt 1 1/4"),
        ("G1/4", "bspp 1/4"),
        ("g 1/4", "bspp 1/4"),
        ("1/4 BSP", "bspp 1/4"),
        ("bsp 1/4", "bspp 1/4"),
        ("BSPP 1/4", "bspp 1/4"),
        ("m10 x 1.0 banjo", "banjo M10x1"),
        ("banjo M10x1.0", "banjo M10x1"),
        ("inverted flare 3/16", "inverted45 3/16"),
        ("hose barb 3/8", "barb 3/8"),
        ("ORFS-8", "face-seal -8"),
        ("BSPT 1/4", "bspt 1/4"),
        ("falre37 -8", "flare37 -8"),
    ],
)
def test_a_thread_by_another_name_is_told_what_to_write(word, near):
    assert thread_meant(CATALOG, word).near == near


@pytest.mark.parametrize(
    ("word", "seats"),
    [
        ("-8", {"flare37 -8", "orb -8", "barb 1/2", "face-seal -8"}),
        ("8", {"flare37 -8", "orb -8", "barb 1/2", "face-seal -8"}),
        ("M10x1", {"orb-metric M10x1", "bubble M10x1", "banjo M10x1"}),
        ("M10 x 1.0", {"orb-metric M10x1", "bubble M10x1", "banjo M10x1"}),
        ("3/4-16 UNF", {"flare37 -8", "orb -8", "flare45 1/2"}),
        ("3/4-16", {"flare37 -8", "orb -8", "flare45 1/2"}),
        ("1 1/16-12", {"flare37 -12", "orb -12"}),
    ],
)
def test_a_thread_that_several_seats_have_names_them_all(word, seats):
    meant = thread_meant(CATALOG, word)
    assert meant.near is None
    assert set(meant.expected.removeprefix("one of ").split(", ")) == seats


@pytest.mark.parametrize("word", ["AN-7", "JIC 9", "flare37 -11"])
def test_a_size_that_is_not_made_lists_those_that_are(word):
    meant = thread_meant(CATALOG, word)
    assert meant.near is None
    assert meant.expected.startswith("one of flare37 -2, flare37 -3")
    assert "orb" not in meant.expected


@pytest.mark.parametrize("word", ["acme 1/4", "zzz", "gas", "x", "", "AN", "-", "1/0", "g", "+" * 60])
def test_what_is_no_thread_is_never_taken_for_one(word):
    assert thread_meant(CATALOG, word).near is None


@pytest.mark.parametrize("key", CATALOG.ids("threads"))
def test_every_thread_is_found_by_its_own_name_in_other_letters(key):
    assert thread_meant(CATALOG, key.upper()).near == key


@pytest.mark.parametrize(
    ("word", "near"),
    [
        ("ptfe -8", "ptfe-braid -8"),
        ("AN-8 PTFE", "ptfe-braid -8"),
        ("PTFE-Braid -8", "ptfe-braid -8"),
        ("ptfe-braid 8", "ptfe-braid -8"),
        ("ptfe-braid-8", "ptfe-braid -8"),
        ("ptfe-brade -8", "ptfe-braid -8"),
        ("heater hose -10", "coolant -10"),
        ("steel tube -3", "tube-steel -3"),
        ("aluminum -8", "tube-aluminium -8"),
    ],
)
def test_a_hose_by_another_name_is_told_what_to_write(word, near):
    assert stock_meant(CATALOG, word).near == near


@pytest.mark.parametrize(
    ("word", "expected"),
    [
        ("hardline -8", "one of tube-steel -8, tube-stainless -8, tube-aluminium -8"),
        ("rubber -8", "one of rubber-braid -8, push-on -8, fuel-inject -8"),
        ("braided", "one of ptfe-braid, rubber-braid, each with its size, like ptfe-braid -8"),
    ],
)
def test_a_hose_that_may_be_several_names_them(word, expected):
    assert stock_meant(CATALOG, word) == (None, expected)


@pytest.mark.parametrize("dash", [7, 24, 9])
def test_no_other_size_of_a_hose_is_guessed(dash):
    meant = stock_meant(CATALOG, f"ptfe-braid -{dash}")
    assert meant.near is None
    assert meant.expected.startswith("one of ptfe-braid -3, ptfe-braid -4")
    assert "rubber" not in meant.expected


@pytest.mark.parametrize("word", ["vinyl -8", "-8", "garden", "", "8 8 8"])
def test_no_other_hose_is_guessed(word):
    assert stock_meant(CATALOG, word).near is None
