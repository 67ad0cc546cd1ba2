"""Tables of texts: columns by what is in them, words whole, the width filled."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.pdfgrid import AROUND, columns, grid
from reports.pdfparts import BOLD, PLAIN, broken, wide


@pytest.mark.parametrize(
    ("text", "fits", "said"),
    [
        ("brake_master.primary", "brake_master.primary", "brake_master.primary"),
        ("brake_master.primary", "brake_master.prim", "brake_master. primary"),
        ("right_turbo.water_out", "right_turbo.wate", "right_turbo. water_out"),
        ("steering_reservoir.return", "steering_r", "steering_ reservoir. return"),
        ("the port clutch_master.out", "clutch_mas", "the port clutch_ master.out"),
        ("no long word", "no l", "no long word"),
    ],
)
def test_a_name_is_broken_behind_a_point_or_low_line_and_only_where_it_must(text, fits, said):
    assert broken(text, PLAIN, 8, wide(fits, PLAIN, 8)) == said


ROWS = [
    ["tag", "port", "what"],
    [
        "F1",
        "steering_reservoir.return",
        "a text of some length that may well take more than one line where room is short",
    ],
    ["F2", "tank.out", "short"],
]


def test_what_fits_stands_on_one_line():
    needs = [wide(text, PLAIN, 8) for text in ROWS[1]]
    widths = columns(ROWS, sum(needs) + 3 * AROUND + 40)
    assert all(has - AROUND >= need for has, need in zip(widths, needs, strict=True))


def test_where_room_is_short_a_sentence_breaks_before_a_name():
    tag, port, what = (has - AROUND for has in columns(ROWS, 420))
    assert tag >= wide("tag", BOLD, 8)
    assert port >= wide("steering_reservoir.return", PLAIN, 8)
    assert what < wide(ROWS[1][2], PLAIN, 8)


def test_a_column_to_write_in_is_kept():
    assert columns([["a", "torque"], ["b" * 30, ""]], 200, least={1: 60.0})[1] >= 60.0


WORDS = st.text("abcdefg_. 123", max_size=60)


@given(st.lists(st.tuples(WORDS, WORDS, WORDS), min_size=1, max_size=6), st.floats(80, 600))
def test_columns_fill_their_width_whatever_is_in_them(rows, width):
    widths = columns(rows, width)
    assert sum(widths) == pytest.approx(width)
    assert min(widths) > 0
    assert grid(rows, widths=widths).wrap(width, 700)[0] == pytest.approx(width)
