"""Circuits solved by linewright against the figures that are published for them."""

import subprocess
import sys
from pathlib import Path

import pytest
from published import table
from published.circuits import CIRCUITS
from published.crane_pipes import air_to_the_open
from published.figures import Example, Figure, Margin, Standing

LOOSEST = 1 / 8
"""Share of a figure over which a tolerance would make its check worth nothing."""


def cases():
    for circuit in CIRCUITS:
        try:
            figures = list(circuit())
        except Exception as error:  # noqa: BLE001 - a circuit without an answer fails alone, and stops no other test
            yield pytest.param(error, id=circuit.__name__)
        else:
            yield from (pytest.param(figure, id=figure.name) for figure in figures)


CASES = list(cases())
FIGURES = [case.values[0] for case in CASES if isinstance(case.values[0], Figure)]


@pytest.mark.parametrize("figure", CASES)
def test_a_published_figure_is_met(figure):
    if isinstance(figure, Exception):
        raise figure
    assert figure.holds, (
        f"{figure.computed:g} for {figure.printed} {figure.unit}, within {figure.tolerance:g}: {figure.why}"
    )


def test_there_are_forty_published_figures_of_fifteen_circuits():
    # What is remembered or was converged for this test comes on top.
    published = [figure for figure in FIGURES if figure.standing is Standing.PUBLISHED]
    assert len(published) >= 40
    assert len({(figure.source, figure.example) for figure in published}) >= 15


def test_every_figure_says_where_it_stands_and_why_it_may_differ():
    for figure in FIGURES:
        assert all((figure.source, figure.edition, figure.example, figure.quantity, figure.unit)), figure
        assert all(margin.why and (margin.share > 0) != (margin.amount > 0) for margin in figure.margins), figure
    assert len({figure.name for figure in FIGURES}) == len(FIGURES)


@pytest.mark.parametrize("figure", FIGURES, ids=lambda figure: figure.name)
def test_no_tolerance_is_so_wide_that_it_says_nothing(figure):
    assert 0 < figure.tolerance < LOOSEST * abs(figure.published)


@pytest.mark.parametrize(("printed", "half"), [("0.0230", 5e-5), ("421", 0.5), ("1.006e5", 50.0), ("-0.04026", 5e-6)])
def test_the_last_digit_says_how_a_figure_was_rounded(printed, half):
    figure = Example("a book", "first", "1").figure("a figure", "-", printed, 0.0)
    assert figure.half_digit == pytest.approx(half, rel=1e-12)


def test_a_figure_is_met_within_its_margins_and_not_beyond():
    book, margins = Example("a book", "first", "1"), (Margin("a chart", share=0.01), Margin("a gauge", amount=0.2))
    for computed, holds in ((101.69, True), (101.71, False), (98.31, True), (98.29, False), (float("nan"), False)):
        assert book.figure("a figure", "m", "100", computed, *margins).holds is holds


def test_air_that_loses_most_of_its_pressure_is_refused():
    # Crane, TP-410, 7-22: 3762 scfh, in a law of gas that expands along the pipe. linewright takes one density for it,
    # which a drop of 19.3 of 34 psi does not allow, and says so instead of a number.
    answer = air_to_the_open()
    assert set(answer.reasons) == {"steady"}
    assert "more than a tenth of its pressure in pipe" in answer.reasons["steady"]


def rows_of(text, figure):
    return [row for row in text.splitlines() if figure.quantity in row and figure.example in row]


def test_one_command_prints_the_table():
    script = Path(table.__file__)
    done = subprocess.run([sys.executable, script], capture_output=True, text=True, check=True)
    assert all(rows_of(done.stdout, figure) for figure in FIGURES)
    assert done.stderr == ""


def test_the_table_in_markdown_gives_its_reasons(capsys):
    assert table.main(["--markdown", "--why"]) == 0
    text = capsys.readouterr().out
    assert all(any(figure.why in row for row in rows_of(text, figure)) for figure in FIGURES)
    cells = {row.count("|") for row in text.splitlines() if row.startswith("|")}
    assert cells == {len(table.HEADER) + 2}
