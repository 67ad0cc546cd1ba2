"""Ruled tables of texts: each column as wide as its words ask for."""

from __future__ import annotations

import math
import re
from collections import Counter
from typing import TYPE_CHECKING, Any

from reportlab.lib.colors import black
from reportlab.platypus import TableStyle

from reports.pdfparts import BOLD, PLAIN, Measured, brief, broken, drawable, padding, para, wide

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

SIZE = 8.0
ACROSS, DOWN = 3.0, 2.0  # pt, inside a cell
AROUND = 2 * ACROSS + 0.2
RAGGED = 1.2
"""How much wider a column has to be than the share of a text that is broken in lines."""
LONGEST = 30
"""Lines of the longest text of a cell: more of it stands in the table of that name."""


def columns(
    rows: Sequence[Sequence[str]], width: float, *, size: float = SIZE, least: Mapping[int, float] | None = None
) -> list[float]:
    """The widths of columns, which fill a width [pt]: every text on one line if that can be, else no word broken.

    Args:
        rows: the texts, the first row in bold.
        width: of all columns.
        size: of the type [pt].
        least: the least width of columns that are to be written in, by their number.
    """
    fonts = [BOLD, *[PLAIN] * (len(rows) - 1)]
    whole, words = [], []
    for n, column in enumerate(zip(*rows, strict=True)):
        floor, texts = (least or {}).get(n, 0.0), list(zip(column, fonts, strict=True))
        parts = [wide(part, font, size) for text, font in texts for part in re.split(r"\s|(?<=[._/])", text)]
        whole.append(Counter(round(wide(text, font, size), 1) + 0.1 for text, font in texts))
        words.append(max(floor, 1.0, *(min(part, width / 4) for part in parts)))
    return _shared(whole, words, width - AROUND * len(words))


def _shared(whole: Sequence[Mapping[float, int]], widths: list[float], width: float) -> list[float]:
    """Widths that fill a width [pt]: from what words need on, where each point saves most lines.

    Args:
        whole: how long the texts of each column are on one line, and how many are.
        widths: what the words of each column need.
        width: of all columns, without the room around their texts.
    """
    widths, left = list(widths), width - sum(widths)
    worth = [_worth(texts, has) for texts, has in zip(whole, widths, strict=True)]
    while left > 0:
        next_ = [
            (saved, need, j)
            for j, (steps, has) in enumerate(zip(worth, widths, strict=True))
            for saved, need in steps
            if need - has <= left
        ]
        if not next_:
            break
        _, need, j = max(next_)
        left -= need - widths[j]
        widths[j], worth[j] = need, _worth(whole[j], need)
    more = max(left, 0.0) / len(widths)
    scale = min(1.0, width / sum(widths))
    return [scale * has + more + AROUND for has in widths]


def _worth(texts: Mapping[float, int], has: float) -> list[tuple[float, float]]:
    """The lines that a column loses for each point that it gets wider, and how wide it then is."""
    more = {text: number for text, number in texts.items() if text > has}
    needs = {text / lines * (1.0 if lines == 1 else RAGGED) for text in more for lines in range(1, 5)}
    found = [(_saved(more, has, need) / (need - has), need) for need in needs if need > has]
    return [(saved, need) for saved, need in found if saved > 0]


def _saved(texts: Mapping[float, int], has: float, need: float) -> int:
    return sum(
        number * (math.ceil(text * RAGGED / has) - (1 if text <= need else math.ceil(text * RAGGED / need)))
        for text, number in texts.items()
    )


def cell(text: str, width: float, *, bold: bool = False, size: float = SIZE) -> Any:
    """A text of a column: as it is where it fits on one line, else in lines that break behind a point or low line."""
    font, room = BOLD if bold else PLAIN, width - 2 * ACROSS
    if wide(text, font, size) <= room:
        return drawable(text)
    return para(broken(brief(text, int(LONGEST * width / size)), font, size, room), size, bold=bold)


def grid(rows: Sequence[Sequence[str]], *, widths: Sequence[float], room: float = DOWN, size: float = SIZE) -> Measured:
    """A ruled table of texts, its first row, in bold, repeated on each page.

    Args:
        rows: the texts.
        widths: of the columns [pt].
        room: above and below each row but the first [pt].
        size: of the type [pt].
    """
    cells = [
        [cell(text, w, bold=not n, size=size) for text, w in zip(row, widths, strict=True)]
        for n, row in enumerate(rows)
    ]
    table = Measured(cells, colWidths=list(widths), repeatRows=1)
    table.setStyle(TableStyle([*ruled(size), ("GRID", (0, 0), (-1, -1), 0.5, black), *roomy(room)]))
    return table


def ruled(size: float) -> list[tuple[Any, ...]]:
    """The commands for the type and the room of the cells of such a table."""
    return [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("FONT", (0, 0), (-1, -1), PLAIN, size, 1.2 * size),
        ("FONT", (0, 0), (-1, 0), BOLD, size, 1.2 * size),
        *padding(ACROSS, DOWN),
    ]


def roomy(room: float) -> list[tuple[Any, ...]]:
    """The commands for the room [pt] above and below each row but the first."""
    return [(side, (0, 1), (-1, -1), room) for side in ("TOPPADDING", "BOTTOMPADDING")]
