"""How long the solver takes, beside a general root finder: `.venv/bin/python tests/speed/bench.py [fuel] [grid]`.

Every time is the median of several repeats in this process. The solver starts from the same flow in every edge, on a
network that has not been solved before. Two peers stand beside it: the plain one, as one writes the equations down
first, and the quickest that was found. Both start from the mean of twenty solved points that are not among their own,
with their equations laid out beforehand, and solve twenty points of the batch. A case that would take more than
2 GB of memory is skipped (where the system can hold a process to that). Linear algebra runs on one thread, unless
OPENBLAS_NUM_THREADS says otherwise.
"""

import argparse
import functools
import importlib.util
import os
import platform
import sys
import time
from dataclasses import dataclass
from pathlib import Path

if __name__ == "__main__":
    ROOT = Path(__file__).parents[2]
    sys.path.insert(0, str(ROOT))
    sys.path.append(str(ROOT / "tests"))
    # Two threads of it that wait for a busy core made one solution take 1 s in place of 20 ms.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import fluids
import numpy as np
import scipy
from rich.console import Console
from rich.table import Table
from speed.built import ready
from speed.cases import fuel, grid
from speed.peer import Peer, Plain

MEMORY = 2 * 1024**3
SAMPLE = 20
SEED, OTHER_SEED = 1, 2
LEAST_REPEATS, MOST_REPEATS, LONG_ENOUGH = 3, 50, 1.0
"""Repeats of one case go on until they have taken so long together [s]."""

ERRORS = Console(stderr=True)

CASES = {
    "fuel": [(fuel, points, True) for points in (1, 100, 1_000, 10_000)],
    "grid": [
        *((functools.partial(grid, side), points, True) for side in (8, 16) for points in (1, 100)),
        *((functools.partial(grid, side), 1, False) for side in (23, 71)),
    ],
}
"""What makes the case, how many points it is solved for, and whether the peer solves it too."""


@dataclass
class Timed:
    """One row of the table; what was not measured is None."""

    case: str
    points: int
    nodes: int
    edges: int
    whole: float | None = None
    plain: float | None = None
    peer: float | None = None
    difference: float | None = None
    """Largest, of a flow over the largest flow of its point or of a pressure over the spread of pressures of its
    point."""
    note: str = ""


def timed(make, points, *, beside):
    """Time one case.

    Args:
        make: gives a case for a number of points and a seed.
        points: how many.
        beside: whether the peer solves a sample of it too.
    """
    case = make(points, SEED)
    row = Timed(case.name, points, case.nodes, len(case.edges))
    try:
        row.whole, (flow, pressure, unsolved) = median_time(case)
    except MemoryError:
        row.note = "skipped: over 2 GB of memory"
        return row
    notes = [f"{unsolved} unsolved"] if unsolved else []
    if beside:
        for kind, name in ((Plain, "plain"), (Peer, "peer")):
            peer, start = kind(case), kind(make(SAMPLE, OTHER_SEED)).middle()
            taken, off, failed = compared(peer, start, flow, pressure)
            setattr(row, name, taken)
            row.difference = max(row.difference or 0.0, off)
            notes += [f"{failed} that the {name} did not solve"] if failed else []
    row.note = ", ".join(notes)
    return row


def median_time(case):
    """Median time of a whole solution [s], and what the last gave."""
    taken = []
    while len(taken) < LEAST_REPEATS or (len(taken) < MOST_REPEATS and sum(taken) < LONG_ENOUGH):
        run = ready(case)
        begun = time.perf_counter()
        answer = run()
        taken.append(time.perf_counter() - begun)
        if taken[-1] > LONG_ENOUGH:
            ERRORS.print(f"{case.name}, {len(case.edges)} edges, {case.points} points: {taken[-1]:.1f} s")
    return float(np.median(taken)), answer


def compared(peer, start, flow, pressure):
    """The peer's median time for a point [s], its largest difference, and how many points it did not solve."""
    size = len(flow)
    rows = np.unique(np.linspace(0, size - 1, min(SAMPLE, size)).astype(int))
    taken, worst, failed = [], 0.0, 0
    for row in rows.tolist():
        point = peer.point(row)
        for _ in range(LEAST_REPEATS):
            begun = time.perf_counter()
            unknowns = peer.solve(point, start)
            taken.append(time.perf_counter() - begun)
        if unknowns is None:
            failed += 1
            continue
        its_flow, its_pressure = peer.answer(point, unknowns)
        of_flow = np.abs(its_flow - flow[row]).max() / np.abs(flow[row]).max()
        of_pressure = np.abs(its_pressure - pressure[row]).max() / np.ptp(pressure[row])
        worst = max(worst, float(of_flow), float(of_pressure))
    return float(np.median(taken)), worst, failed


def held_to(memory):
    """Hold this process to so much memory [bytes], so that more of it is an error and not a stall."""
    if importlib.util.find_spec("resource"):
        import resource

        resource.setrlimit(resource.RLIMIT_DATA, (memory, resource.getrlimit(resource.RLIMIT_DATA)[1]))


def load():
    """How many processes want a core: more than there are, and the times are those of a busy machine."""
    return os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")


def shown(rows):
    table = Table(
        title="Time to solve",
        caption="plain: every flow and pressure an unknown, no Jacobian. quick: cycle flows and a Jacobian. times: how "
        "many times the solver's time per point.",
    )
    headings = ("case", "points", "nodes", "edges", "time", "per point", "per edge", "plain peer", "times")
    for heading in (*headings, "quick peer", "times"):
        table.add_column(heading, justify="left" if heading == "case" else "right", no_wrap=True)
    table.add_column("largest difference", justify="right")
    table.add_column("note")
    for row in rows:
        one = None if row.whole is None else row.whole / row.points
        table.add_row(
            row.case,
            *(f"{n:,}" for n in (row.points, row.nodes, row.edges)),
            duration(row.whole),
            duration(one),
            duration(None if one is None else one / row.edges),
            *(
                text
                for peer in (row.plain, row.peer)
                for text in (duration(peer), "" if peer is None or one is None else f"{peer / one:.1f}")
            ),
            "" if row.difference is None else f"{row.difference:.1e}",
            row.note,
        )
    return table


def duration(seconds):
    if seconds is None:
        return ""
    for unit, scale in (("s", 1.0), ("ms", 1e-3)):
        if seconds >= scale:
            return f"{seconds / scale:.3g} {unit}"
    return f"{seconds * 1e6:.3g} us"


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("cases", nargs="*", help=" or ".join(CASES), metavar="case")
    wanted = parser.parse_args().cases or list(CASES)
    if unknown := set(wanted) - set(CASES):
        parser.error(f"no case {', '.join(sorted(unknown))}; there are {' and '.join(CASES)}")
    held_to(MEMORY)
    rows, before = [], load()
    for make, points, beside in (case for name in wanted for case in CASES[name]):
        rows.append(timed(make, points, beside=beside))
        ERRORS.print(f"{rows[-1].case}, {rows[-1].edges} edges, {points} points: done")
    console = Console(width=170)
    console.print(shown(rows))
    console.print(
        f"python {platform.python_version()}, numpy {np.__version__}, scipy {scipy.__version__}, "
        f"fluids {fluids.__version__}, {os.cpu_count()} cores, "
        f"{os.environ['OPENBLAS_NUM_THREADS']} thread for linear algebra, "
        f"load before and after {before:.1f} and {load():.1f}"
    )


if __name__ == "__main__":
    main()
