"""A shop's row whose figures cannot be is refused by name, with what was expected.

The figures of the shop in these tests are invented.
"""

import pytest

from catalogs.catalog import Catalog
from catalogs.errors import TableError
from catalogs.grades import Grade

SAID = "source,grade"
FROM = "bench,measured"
STOCK, HOSE_END, PORT, ADAPTER, SEAL = (
    "ptfe-braid -8",
    "ptfe-braid -8 90 deg",
    "flare37 -8",
    "orb -8 to flare37 -8",
    "O-ring AS568-908",
)


@pytest.fixture
def faults(tmp_path):
    def faults(table, key, **figures):
        (tmp_path / f"{table}.csv").write_text(
            f"id,{','.join(figures)},{SAID}\n{',' * (len(figures) + 2)}\n{key},{','.join(figures.values())},{FROM}\n"
        )
        with pytest.raises(TableError) as caught:
            Catalog(tmp_path)
        return caught.value.faults

    return faults


OVER_ZERO, NOT_NEGATIVE = "over 0", "0 or more"
IMPOSSIBLE = [
    *[("stock", STOCK, key, "0 in", OVER_ZERO) for key in ("outside", "bore", "bend_radius")],
    *[("stock", STOCK, key, "-1 in", OVER_ZERO) for key in ("outside", "bore", "bend_radius")],
    ("stock", STOCK, "bore", "13.5 mm", "a bore under the outside"),
    ("stock", STOCK, "bore", "1 in", "a bore under the outside"),
    ("stock", STOCK, "roughness", "-3 um", NOT_NEGATIVE),
    ("stock", STOCK, "roughness", "13/32 in", "a roughness of at most 0.0394 in"),
    ("stock", STOCK, "roughness", "3 in", "a roughness of at most 0.0394 in"),
    *[("stock", STOCK, key, "-100 psi", NOT_NEGATIVE) for key in ("working_pressure", "burst_pressure")],
    ("stock", STOCK, "working_pressure", "0 psi", OVER_ZERO),
    ("stock", STOCK, "burst_pressure", "900 psi", "the working pressure or more"),
    ("stock", STOCK, "suction", "-5 psi", NOT_NEGATIVE),
    ("stock", STOCK, "hottest", "-65 F", "a temperature over the coldest"),
    ("stock", STOCK, "hottest", "-80 F", "a temperature over the coldest"),
    *[("ends", HOSE_END, "angle", text, "up to 180 deg") for text in ("-1 deg", "180.1 deg", "270 deg")],
    *[("ends", HOSE_END, "bore", text, OVER_ZERO) for text in ("0 in", "-0.3 in")],
    *[("ends", HOSE_END, key, "-0.1 in", NOT_NEGATIVE) for key in ("drop", "overhang", "insertion")],
    *[("ends", HOSE_END, key, "0 in", OVER_ZERO) for key in ("hex", "crimp_diameter")],
    ("ends", HOSE_END, "bend_ratio", "0", OVER_ZERO),
    ("ends", HOSE_END, "working_pressure", "-1 psi", NOT_NEGATIVE),
    *[("threads", PORT, key, "0 in", OVER_ZERO) for key in ("tube", "hex")],
    *[("adapters", ADAPTER, key, "-1 in", OVER_ZERO) for key in ("bore", "length")],
    *[("seals", SEAL, key, "0 in", OVER_ZERO) for key in ("inside", "section")],
]


@pytest.mark.parametrize(("table", "row", "key", "text", "expected"), IMPOSSIBLE)
def test_a_figure_that_cannot_be_is_refused_by_name(faults, table, row, key, text, expected):
    found = {fault.key: fault for fault in faults(table, row, **{key: text})}
    fault = found[key]
    assert (fault.file, fault.line, fault.table) == (f"shop/{table}.csv", 3, row)
    assert expected in fault.expected
    assert " is " in f" {fault.message}"
    assert set(found) == {key}


@pytest.mark.parametrize(
    ("figures", "key"),
    [
        ({"outside": "10 mm"}, "bore"),
        ({"coldest": "400 F"}, "hottest"),
        ({"working_pressure": "9000 psi"}, "burst_pressure"),
    ],
)
def test_a_figure_that_cannot_be_beside_ours_is_refused(faults, figures, key):
    # Our row gives the other of the two: bore 13/32 in, hottest 400 F, burst 8000 psi.
    (fault,) = faults("stock", STOCK, **figures)
    assert (fault.key, fault.line) == (key, 3)
    assert str(fault).startswith(f"shop/stock.csv, line 3, [{STOCK}] {key}: is ")


def test_all_of_a_row_that_cannot_be_is_told_at_once(faults):
    found = faults("stock", STOCK, outside="0 in", bend_radius="0 in", hottest="-80 F", suction="-1 psi")
    assert [fault.key for fault in found] == ["bend_radius", "hottest", "outside", "suction"]


@pytest.mark.parametrize(
    ("table", "row", "key", "word", "near"),
    [("ends", HOSE_END, "attaches", "clampt", "clamped"), ("seals", SEAL, "sort", "clmp", "clamp")],
)
def test_a_word_that_is_no_choice_is_told_the_nearest(faults, table, row, key, word, near):
    (fault,) = faults(table, row, **{key: word})
    assert (fault.key, fault.nearest) == (key, near)


@pytest.mark.parametrize(
    ("table", "row", "key", "text"),
    [
        ("ends", HOSE_END, "angle", "180 deg"),
        ("ends", HOSE_END, "angle", "0 deg"),
        ("ends", HOSE_END, "cutoff", "0.3 in"),
        ("ends", HOSE_END, "overhang", "0 in"),
        ("ends", HOSE_END, "drop", "0 in"),
        ("stock", STOCK, "suction", "0 psi"),
        ("stock", STOCK, "burst_pressure", "1000 psi"),
        ("stock", STOCK, "roughness", "0 um"),
    ],
)
def test_the_outermost_figure_that_can_be_is_taken(tmp_path, table, row, key, text):
    (tmp_path / f"{table}.csv").write_text(f"id,{key},{SAID}\n,,,\n{row},{text},{FROM}\n")
    assert Catalog(tmp_path).get(table, row).grade_of(key) is Grade.MEASURED
