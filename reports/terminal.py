"""Findings and flows on a terminal: 80 columns, no colour needed."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
from rich.console import Console
from rich.table import Table
from rich.text import Text

from catalogs.units import Quantity, show
from lines.finding import Verdict, counts
from reports.verdicts import passes, told, verdict_rows

if TYPE_CHECKING:
    from typing import IO

    from catalogs.errors import Fault
    from lines.finding import Finding
    from lines.plan import Plan
    from reports.verdicts import Row
    from solver.solution import Solution

NARROWEST = 80

_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")
_LOUD = {Verdict.FAIL: "FAIL", Verdict.CAUTION: "CAUTION", Verdict.UNCHECKED: "UNCHECKED", Verdict.PASS: "pass"}
_UP = (Verdict.PASS, Verdict.UNCHECKED, Verdict.CAUTION, Verdict.FAIL)


def console(file: IO[str] | None = None) -> Console:
    """A console that stays readable when its output goes to a file or a narrow window."""
    made = Console(file=file, highlight=False, markup=False, emoji=False)
    if not made.is_terminal or made.width < NARROWEST:
        made.width = NARROWEST
    return made


def plain(text: str) -> str:
    """Text without characters that a terminal would obey."""
    return _CONTROL.sub("?", text)


def print_faults(faults: tuple[Fault, ...], out: Console) -> None:
    """The faults of a person's files."""
    out.print(f"{len(faults)} {'fault' if len(faults) == 1 else 'faults'} to mend:")
    for fault in faults:
        out.print(Text("  " + plain(str(fault))), soft_wrap=False)


def print_findings(plan: Plan, found: list[Finding], out: Console) -> None:
    """The findings. Passes first, in a line for each rule; what needs a hand comes last, where the eye is."""
    out.print(Text(plain(f"{plan.head.title}, revision {plan.head.revision}")))
    for line in passes(found, plan.system, plan.circuits):
        _set_in(out, Text(_LOUD[Verdict.PASS]), [f"{line.head}: {_unsure(line.says, line.grade)}"])
    rows = told(verdict_rows(found, plan.system), plan.runs)
    for one in (one for verdict in _UP[1:] for one in rows if one.row.verdict is verdict):
        out.print()
        _set_in(out, Text(_LOUD[one.row.verdict], "bold"), [one.head, *_said(one.row)])
    out.print()
    number = counts(found)
    out.print(Text(", ".join(f"{number[v.value]} {v.value}" for v in reversed(_UP)), "bold"))
    if any(f.basis is not None and f.basis.provisional for f in found):
        out.print(
            Text(
                "(memory): rests on a figure from memory, check it against the standard. "
                "(illustrative): rests on a made-up figure, put your supplier's in the shop's folder."
            )
        )
    out.print(Text("Every pass and every case with its figures: check --json, and findings.csv of the sheets."))


def _set_in(out: Console, word: Text, lines: list[str]) -> None:
    """Lines set in behind a word."""
    table = Table(box=None, show_header=False, pad_edge=False, padding=(0, 1, 0, 0))
    table.add_column("word", width=9)
    table.add_column("lines", overflow="fold")
    for n, line in enumerate(lines):
        table.add_row(Text("") if n else word, Text(plain(line)))
    out.print(table)


def _said(row: Row) -> list[str]:
    """A finding in words: why, what to do, what to measure, and what it rests on."""
    lines = [_unsure(row.why, row.grade)]
    lines += [f"DO: {row.change}"] if row.change else []
    lines += [f"MEASURE: {row.needs}."] if row.needs else []
    return lines


def _unsure(text: str, grade: str) -> str:
    return f"{text} ({grade})" if grade else text


def print_solution(plan: Plan, answer: Solution, duties: list[str], out: Console) -> None:
    """Flows and pressures of one circuit."""
    for duty in duties:
        row = answer.model.duties.index(duty)
        ambient = plan.ambient.pressure[duty]
        fluid = plan.catalog.fluid(plan.circuits[answer.model.circuit.name].fluid)
        out.print(Text(f"{answer.model.circuit.name} at {duty}: {fluid.means}", "bold"))
        _runs(plan, answer, row, out)
        _nodes(plan, answer, row, ambient, out)
        _devices(plan, answer, row, out)
        out.print()
    for said_ in answer.model.estimates:
        out.print(Text(plain(f"Estimate. {said_}.")))


def _runs(plan: Plan, answer: Solution, row: int, out: Console) -> None:
    table = Table(box=None, pad_edge=False)
    for name in ("run", "flow", "velocity", "Reynolds", "loss", "most of it"):
        table.add_column(name, justify="left" if name in {"run", "most of it"} else "right", overflow="fold")
    for tag, run in answer.model.circuit.runs.items():
        bore = plan.catalog.stock(run.stock).bore
        parts = {name: float(values[row]) for name, values in answer.parts(tag).items()}
        most = max(parts, key=lambda name: abs(parts[name]))
        flow = float(answer.flow(tag)[row])
        table.add_row(
            tag,
            show(Quantity(flow, "volume_flow"), plan.system),
            show(Quantity(flow / (np.pi * bore**2 / 4), "velocity"), plan.system),
            f"{float(answer.reynolds(tag, bore)[row]):.0f}",
            show(Quantity(sum(parts.values()), "pressure_drop"), plan.system),
            most,
        )
    out.print(table)


def _nodes(plan: Plan, answer: Solution, row: int, ambient: float, out: Console) -> None:
    table = Table(box=None, pad_edge=False)
    for name in ("place", "static, in the hose", "total"):
        table.add_column(name, justify="left" if name == "place" else "right")
    for tag, run in answer.model.circuit.runs.items():
        bore = plan.catalog.stock(run.stock).bore
        for ref in (run.start, run.end):
            static = float(answer.static(ref, tag, bore)[row]) - ambient
            total = float(answer.total(ref)[row]) - ambient
            table.add_row(
                ref,
                show(Quantity(static, "pressure", "gauge"), plan.system),
                show(Quantity(total, "pressure", "gauge"), plan.system),
            )
    for name, node in answer.model.circuit.nodes.items():
        if node.inner is not None:
            total = float(answer.total(name)[row]) - ambient
            table.add_row(name, "", show(Quantity(total, "pressure", "gauge"), plan.system))
    out.print(table)


def _devices(plan: Plan, answer: Solution, row: int, out: Console) -> None:
    for i in answer.model.network.devices:
        name = answer.model.edges[i]
        flow = show(Quantity(float(answer.flow(name)[row]), "volume_flow"), plan.system)
        out.print(Text(f"{name}: {answer.switch(name)[row]}, {flow}"))
