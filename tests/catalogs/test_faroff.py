"""A shop's figure that is far from the one that it overrides is told as a slip of the hand.

The figures of the shop are invented; ours are read from the tables, whatever they are.
"""

import pytest

from catalogs import units
from catalogs.catalog import Catalog
from catalogs.errors import TableError

END, STOCK, ADAPTER = "ptfe-braid -6 90 deg", "ptfe-braid -6", "orb -8 to flare37 -8"
INCH = 0.0254
OURS = Catalog()


@pytest.fixture
def lay(tmp_path):
    def lay(table, key, **figures):
        cells = {"id": key, **figures, "source": "bench", "grade": "measured"}
        (tmp_path / f"{table}.csv").write_text(
            f"{','.join(cells)}\n{',' * (len(cells) - 1)}\n{','.join(cells.values())}\n"
        )
        return Catalog(tmp_path)

    return lay


@pytest.fixture
def faults(lay):
    def faults(*args, **figures):
        with pytest.raises(TableError) as caught:
            lay(*args, **figures)
        return caught.value.faults

    return faults


COMPARED = [
    *[("ends", END, key) for key in ("cutoff", "drop", "insertion", "bore")],
    *[("stock", STOCK, key) for key in ("outside", "bore", "bend_radius")],
    ("adapters", ADAPTER, "bore"),
]


@pytest.mark.parametrize(("table", "key", "figure"), COMPARED)
@pytest.mark.parametrize("times", [5.2, 0.19])
def test_more_than_five_times_or_less_than_a_fifth_is_a_fault(faults, table, key, figure, times):
    inches = getattr(OURS.get(table, key), figure) / INCH
    found = {fault.key: fault for fault in faults(table, key, **{figure: f"{inches * times:.6f} in"})}
    fault = found[figure]
    assert (fault.file, fault.line, fault.table) == (f"shop/{table}.csv", 3, key)
    shown = units.in_unit_of("1 in", inches * INCH, "length")
    assert f"the table has {shown}" in fault.message
    assert fault.expected == f"about {shown}"


@pytest.mark.parametrize("times", [0.25, 0.9, 1.0, 4.0])
def test_what_may_differ_from_one_maker_to_the_next_is_taken(lay, times):
    ours = OURS.end(END).cutoff
    over = lay("ends", END, cutoff=f"{ours / INCH * times:.6f} in").end(END)
    assert over.cutoff == pytest.approx(ours * times, rel=1e-5)


@pytest.mark.parametrize(
    ("factor", "unit", "slip"),
    [
        (1.0, "mm", "mm typed for in?"),  # the number of inches with mm behind it
        (25.4, "in", "in typed for mm?"),
        (10.0, "in", "is the point in its place?"),
        (0.1, "in", "is the point in its place?"),
        (100.0, "in", "is the point in its place?"),
        (-1.0, "in", "is the sign right?"),
    ],
)
def test_the_likely_slip_is_named(faults, factor, unit, slip):
    inches = OURS.end(END).cutoff / INCH
    (fault,) = faults("ends", END, cutoff=f"{inches * factor:.4f} {unit}")
    assert fault.message.endswith(f": {slip}")


def test_a_slip_that_nobody_knows_is_told_without_one(faults):
    (fault,) = faults("ends", END, cutoff=f"{OURS.end(END).cutoff / INCH * 50:.4f} in")
    assert "?" not in fault.message


def test_another_end_like_one_of_ours_is_held_to_its_sign_only(lay, faults):
    ours = OURS.end(END).cutoff / INCH
    assert lay("ends", "mine", like=END, cutoff=f"{ours * 8:.4f} in").end("mine")
    (fault,) = faults("ends", "mine", like=END, cutoff=f"{-ours:.4f} in")
    assert fault.message.endswith("is the sign right?")


def test_no_overhang_is_a_statement(lay):
    assert lay("ends", "a", like=END, overhang="0.16 in").end("a").overhang == pytest.approx(0.16 * INCH)
    assert lay("ends", END, overhang="0 in").end(END).overhang == 0


def test_a_figure_that_cannot_be_is_told_as_that(faults):
    (fault,) = faults("stock", STOCK, bore="-0.3 in")
    assert fault.message == '"-0.3 in" is 0 or less'
