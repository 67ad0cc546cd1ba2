"""Findings and flows on a terminal: 80 columns, no colour needed."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table
from rich.text import Text

from catalogs.units import Quantity, number_in, printed_unit, show
from lines.finding import Verdict, counts
from reports.gases import as_shown
from reports.verdicts import passes, told, verdict_rows

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import IO

    from catalogs.errors import Fault
    from catalogs.units import System
    from lines.finding import Finding
    from lines.plan import Plan
    from reports.verdicts import Row
    from solver.solution import Solution

NARROWEST = 80
NO_LOSS = 0.5
"""A loss under this is none to speak of [Pa]."""

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
        fluid = plan.catalog.fluid(plan.circuits[answer.model.circuit.name].fluid)
        show = _shower(plan, answer, plan.ambient.pressure[duty])
        out.print(Text(f"{answer.model.circuit.name} at {duty}: {fluid.means}", "bold"))
        _runs(plan, answer, row, show, out)
        _nodes(plan, answer, row, show, out)
        for i in answer.model.network.devices:
            name = answer.model.edges[i]
            flow = show(float(answer.flow(name)[row]), "volume_flow")
            out.print(Text(f"{name}: {answer.switch(name)[row]}, {flow}"))
        out.print(Text(_balance(answer, row, plan.system)))
        out.print()
    for said_ in answer.model.estimates:
        out.print(Text(plain(f"Estimate. {said_}.")))


def _shower(plan: Plan, answer: Solution, ambient: float) -> Callable[[float, str], str]:
    """Shows an SI value of a dimension in the plan's unit; a pressure over ambient."""

    def shown(value: float, dimension: str) -> str:
        gauge = dimension == "pressure"
        number = value - ambient if gauge else value
        return show(Quantity(number, as_shown(answer, dimension), "gauge" if gauge else None), plan.system)

    return shown


def _runs(plan: Plan, answer: Solution, row: int, show: Callable[[float, str], str], out: Console) -> None:
    table = Table(box=None, pad_edge=False)
    for name in ("run", "flow", "velocity", "Reynolds", "loss", "most of it"):
        table.add_column(name, justify="left" if name in {"run", "most of it"} else "right", overflow="fold")
    for tag, run in answer.model.circuit.runs.items():
        bore = plan.catalog.stock(run.stock).bore
        parts = {name: float(values[row]) for name, values in answer.parts(tag).items()}
        loss = sum(parts.values())
        most = max(parts, key=lambda name: abs(parts[name]))
        share = f"{parts[most] / loss:.0%} " if abs(loss) > NO_LOSS else ""
        table.add_row(
            tag,
            show(float(answer.flow(tag)[row]), "volume_flow"),
            show(float(answer.velocity(tag, bore)[row]), "velocity"),
            f"{float(answer.reynolds(tag, bore)[row]):.0f}",
            show(loss, "pressure_drop"),
            share + most if share else "",
        )
    out.print(table)


def _nodes(plan: Plan, answer: Solution, row: int, show: Callable[[float, str], str], out: Console) -> None:
    table = Table(box=None, pad_edge=False)
    for name in ("place", "static, in the hose", "total"):
        table.add_column(name, justify="left" if name == "place" else "right")
    for tag, run in answer.model.circuit.runs.items():
        bore = plan.catalog.stock(run.stock).bore
        for ref in (run.start, run.end):
            static = show(float(answer.static(ref, tag, bore)[row]), "pressure")
            table.add_row(ref, static, show(float(answer.total(ref)[row]), "pressure"))
    for name, node in answer.model.circuit.nodes.items():
        if node.inner is not None:
            table.add_row(name, "", show(float(answer.total(name)[row]), "pressure"))
    out.print(table)


def _balance(answer: Solution, row: int, system: System) -> str:
    """How well the answer balances when it is worked out again."""
    dimensions = ("pressure_drop", "volume_flow")
    off = [
        Quantity(float(values[row]), as_shown(answer, dimension))
        for values, dimension in zip(answer.imbalance(), dimensions, strict=True)
    ]
    pressure, flow = (f"{number_in(q, system):.1g} {printed_unit(q.dimension, system)}" for q in off)
    return f"Worked out again, every pressure balances within {pressure} and every flow within {flow}."
