"""Every published figure beside what linewright computes: `python tests/published/table.py [--markdown] [--why]`."""

import argparse
import sys
from decimal import Decimal
from pathlib import Path

if __name__ == "__main__":
    # Last, so that an installed linewright comes before the work tree, and neither hides a library.
    sys.path += [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from published.circuits import CIRCUITS
from published.figures import Standing

HEADER = ("source, edition", "example", "quantity", "published", "computed", "difference", "tolerance", "unit")
RIGHT = {"published", "computed", "difference", "tolerance"}
NOTES = (
    "Crane: inputs and answers as the example notebooks of the library fluids 1.3.1 restate them.",
    f"* {Standing.MEMORY}. + {Standing.OURS}: the source stopped short or printed no answer.",
)
MARKS = {Standing.PUBLISHED: "", Standing.MEMORY: " *", Standing.OURS: " +"}


def row(figure):
    """One figure as texts, with a digit more than its source prints."""
    last = Decimal(figure.printed).as_tuple().exponent - 1

    def shown(value):
        return f"{round(value, -last):z.{max(-last, 0)}f}"

    return (
        f"{figure.source}, {figure.edition}",
        figure.example,
        figure.quantity,
        f"{Decimal(figure.printed):f}" + MARKS[figure.standing],
        shown(figure.computed),
        f"{shown(figure.difference)} ({figure.difference / abs(figure.published):+z.1%})",
        shown(figure.tolerance) if figure.tolerance > 10.0**last else f"{figure.tolerance:.1g}",
        figure.unit,
    )


def markdown(header, rows):
    rule = ["---:" if name in RIGHT else "---" for name in header]
    return [f"| {' | '.join(cells)} |" for cells in (header, rule, *rows)]


def plain(header, rows):
    """Columns of one width each; the last is as long as it is."""
    wide = [max(len(cells[i]) for cells in (header, *rows)) for i in range(len(header))]

    def line(cells):
        put = [c.rjust(w) if name in RIGHT else c.ljust(w) for c, w, name in zip(cells, wide, header, strict=True)]
        return "  ".join(put).rstrip()

    return [line(header), "  ".join("-" * min(w, 40) for w in wide), *map(line, rows)]


def main(arguments=None):
    """Print the table; 1 if a figure is beyond its tolerance."""
    parser = argparse.ArgumentParser(description="Published figures beside what linewright computes.")
    parser.add_argument("--markdown", action="store_true", help="as a table of markdown")
    parser.add_argument("--why", action="store_true", help="with the reason of each tolerance")
    asked = parser.parse_args(arguments)
    by_circuit = [list(circuit()) for circuit in CIRCUITS]
    figures = [figure for some in by_circuit for figure in some]
    header, rows = HEADER, [row(figure) for figure in figures]
    if asked.why:
        header, rows = (*header, "why"), [(*cells, figure.why) for cells, figure in zip(rows, figures, strict=True)]
    lines = (markdown if asked.markdown else plain)(header, rows)
    missed = sum(not figure.holds for figure in figures)
    count = f"{len(figures)} figures of {len(by_circuit)} circuits; {missed} beyond their tolerance."
    sys.stdout.write("\n".join([*lines, "", *NOTES, count, ""]))
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
