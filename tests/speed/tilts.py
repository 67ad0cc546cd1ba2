"""How long a drain takes over every tilt, beside a plain peer: `.venv/bin/python tests/speed/tilts.py`.

The drain is that of a plan with one turbocharger, its sump's oil kept by volume. The whole grid of its envelope is
solved at every duty, the sump's level among it. Beside it the plain peer solves twenty of those states, one after the
other, with the level given. Both have the drain as pieces beforehand, and no table of theirs is kept from one repeat to
the next. Times are medians of several repeats in this process.
"""

import os
import platform
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

if __name__ == "__main__":
    ROOT = Path(__file__).parents[2]
    sys.path[0] = str(ROOT)
    sys.path.append(str(ROOT / "tests"))
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as in bench.py

import numpy as np
import scipy
from rich.console import Console
from speed.bench import SAMPLE, duration, load
from speed.plaindrain import every
from turbocharged import plan_of

from catalogs.units import STANDARD_GRAVITY
from lines.states import leaning
from solver.drains.envelope import BEARINGS, TILTS
from solver.study import study

VIA = ((60.0, 20.0, 400.0), (110.0, 0.0, 340.0))
"""Two corners on the way of the drain [mm], between which it falls by 40 to 50 degrees."""
REPEATS = 9


@dataclass
class Timed:
    """A drain over every tilt at every duty."""

    states: int
    pieces: int
    whole: float
    """[s]"""
    plain: float
    """The peer's, for one state [s]."""
    difference: float
    """The largest, of a clearance [m]."""

    @property
    def times(self):
        """How many times the solver's time per state the peer takes."""
        return self.plain / (self.whole / self.states)


def drain_of(folder):
    return study(plan_of(folder, via=VIA)).drains["turbo"]


def every_state(drain, tilts=TILTS, bearings=BEARINGS):
    """Its states over a grid of tilts toward bearings [rad], at all duties that are known."""
    tilt, bearing = (x.ravel() for x in np.meshgrid(tilts, bearings, indexing="ij"))
    gravity = np.tile(STANDARD_GRAVITY * leaning(tilt, bearing), (len(drain.known), 1))
    return drain.states(gravity, np.repeat(drain.known, len(tilt)))


def timed(drain, tilts=TILTS, bearings=BEARINGS):
    """Time it and its peer, and hold the one against the other."""
    states = every_state(drain, tilts, bearings)
    rows = np.unique(np.linspace(0, len(states) - 1, min(SAMPLE, len(states))).astype(int)).tolist()
    whole, plain = [], []
    for _ in range(REPEATS):  # by turns, so that a busy machine slows both
        begun = time.perf_counter()
        clearance = drain.clearance(every_state(drain, tilts, bearings))
        between = time.perf_counter()
        found = every(drain, states, rows)
        plain.append((time.perf_counter() - between) / len(rows))
        whole.append(between - begun)
    off = float(np.abs(found - clearance[rows]).max())
    return Timed(len(states), len(drain.line.bore), float(np.median(whole)), float(np.median(plain)), off)


def row_of(found):
    """As it stands in a table."""
    one = found.whole / found.states
    cells = (
        f"{found.states:,}",
        f"{found.pieces}",
        *(duration(t) for t in (found.whole, one, found.plain)),
        f"{found.times:,.0f}",
    )
    return f"| drain over every tilt | {' | '.join(cells)} |"


def main():
    before = load()
    with tempfile.TemporaryDirectory() as folder:
        found = timed(drain_of(Path(folder)))
    console = Console(width=170)
    console.print("| case | states | pieces | time | per state | plain peer | times |")
    console.print("| --- | ---: | ---: | ---: | ---: | ---: | ---: |")
    console.print(row_of(found))
    console.print(
        f"largest difference {1e3 * found.difference:.1e} mm; python {platform.python_version()}, "
        f"numpy {np.__version__}, scipy {scipy.__version__}, {os.cpu_count()} cores, "
        f"{os.environ['OPENBLAS_NUM_THREADS']} thread for linear algebra, "
        f"load before and after {before:.1f} and {load():.1f}"
    )


if __name__ == "__main__":
    main()
