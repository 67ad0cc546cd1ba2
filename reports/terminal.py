"""Findings and flows on a terminal: 80 columns, no colour needed."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from rich.console import Console
from rich.table import Table
from rich.text import Text

from catalogs.units import Quantity, number_in, printed_decimals, printed_unit, show
from lines.finding import Verdict, counts
from reports.byhand import HEAD, by_hand
from reports.gases import as_shown
from reports.verdicts import passes, told, verdict_rows
from solver.fuels import felt, rails

if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import IO

    import numpy.typing as npt

    from catalogs.errors import Fault
    from catalogs.units import System
    from lines.finding import Finding
    from lines.plan import Plan
    from reports.verdicts import Row
    from solver.solution import Solution

    Array = npt.NDArray[np.float64]

NARROWEST = 80
NO_LOSS = 0.5
"""A loss under this is none to speak of [Pa]."""
QUIET = {"mouth", "passage", "leg", "tee"}
"""Laws of ways that a person does not think of as a part with a drop."""

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
    if lines := by_hand(plan):
        out.print()
        _set_in(out, Text("BY HAND", "bold"), [HEAD, *lines])
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
        seen = _Seen(plan, answer, answer.model.duties.index(duty))
        fluid = plan.catalog.fluid(plan.circuits[answer.model.circuit.name].fluid)
        out.print(Text(f"{answer.model.circuit.name} at {duty}: {fluid.means}", "bold"))
        _runs(seen, out)
        _nodes(seen, out)
        _components(seen, out)
        out.print()
    out.print(Text(_balance(answer, duties, plan.system)))
    for said in _together(answer.model.estimates):
        out.print(Text(plain(f"Estimate. {said}.")))
    out.print()


@dataclass(frozen=True)
class _Seen:
    """A circuit at one duty, its figures in the plan's units."""

    plan: Plan
    answer: Solution
    row: int

    def show(self, values: Array, dimension: str, *, finer: bool = False) -> str:
        """The value at this duty; a pressure over ambient. Finer: one decimal more, whatever its size."""
        value, gauge = float(values[self.row]), dimension == "pressure"
        if gauge:
            value -= self.plan.ambient.pressure[self.answer.model.duties[self.row]]
        of = as_shown(self.answer, dimension)
        decimals = printed_decimals(of, self.plan.system) + 1 if finer else None
        return show(Quantity(value, of, "gauge" if gauge else None), self.plan.system, decimals=decimals)


def _runs(seen: _Seen, out: Console) -> None:
    answer = seen.answer
    table = Table(box=None, pad_edge=False)
    columns = ["run", "flow", "velocity", "Reynolds", "loss", "climb", "most of the loss"]
    for name in columns:
        table.add_column(name, justify="left" if name in {columns[0], columns[-1]} else "right", overflow="fold")
    for tag, run in answer.model.circuit.runs.items():
        bore = seen.plan.catalog.stock(run.stock).bore
        things = answer.things(tag)
        loss = np.sum(list(things.values()), axis=0)
        most = max(things, key=lambda name: abs(things[name][seen.row]))
        share = things[most][seen.row] / loss[seen.row] if abs(loss[seen.row]) > NO_LOSS else 0.0
        table.add_row(
            tag,
            seen.show(answer.flow(tag), "volume_flow"),
            seen.show(answer.velocity(tag, bore), "velocity"),
            f"{float(answer.reynolds(tag, bore)[seen.row]):.0f}",
            seen.show(loss, "pressure_drop"),
            seen.show(answer.climb(tag), "pressure_drop"),
            f"{share:.0%} {most}" if share else "",
        )
    out.print(table)


def _nodes(seen: _Seen, out: Console) -> None:
    """Pressures at the ports, and inside where something is drawn or a pressure is known.

    Of the injectors of a rail those with the most and the least.
    """
    table = Table(box=None, pad_edge=False)
    for name in ("place", "a gauge reads", "total"):
        table.add_column(name, justify="left" if name == "place" else "right")
    for port in seen.answer.model.bores:
        static = seen.show(seen.answer.static_at(port), "pressure", finer=True)
        table.add_row(port, static, seen.show(seen.answer.total(port), "pressure", finer=True))
    for name, node in seen.answer.model.circuit.nodes.items():
        if node.inner is not None and (node.inner.pressure or node.inner.gives or node.inner.draw not in {"", "burn"}):
            inside = seen.show(seen.answer.total(name), "pressure", finer=True)
            table.add_row(name.replace(".", ", "), inside, inside)
    for rail in rails(seen.answer.model.circuit).values():
        feels = {name: felt(seen.answer, name) for name in rail}
        # Of many injectors the best and the worst fed tell what a person asks.
        told = sorted(rail, key=lambda name: -feels[name][seen.row])
        for name in dict.fromkeys([told[0], told[-1]]):
            total = seen.show(seen.answer.total(name), "pressure", finer=True)
            table.add_row(name.replace(".", ", "), seen.show(feels[name], "pressure", finer=True), total)
    out.print(table)


def _components(seen: _Seen, out: Console) -> None:
    """What pumps, valves, filters and the like do: flow, and what they lift or cost; of several ways each by name."""
    answer = seen.answer
    edges = [(i, answer.model.circuit.edges[name]) for i, name in enumerate(answer.model.edges)]
    shown = [(i, edge) for i, edge in edges if edge.path is not None and edge.law not in QUIET]
    ways = Counter(edge.component.name for _, edge in shown if edge.component is not None)
    for i, edge in shown:
        assert edge.component is not None
        assert edge.path is not None
        name = edge.component.name if ways[edge.component.name] == 1 else f"{edge.component.name}, {edge.path.name}"
        drop = answer.total(edge.start) - answer.total(edge.end)
        driven = edge.law in {"pump", "engine_pump"}
        does = f"lifts {seen.show(-drop, 'pressure_drop')}" if driven else f"costs {seen.show(drop, 'pressure_drop')}"
        state = answer.switch(edge.name)[seen.row] if i in answer.model.network.devices and not driven else ""
        flow = seen.show(answer.flow(edge.name), "volume_flow")
        out.print(Text(", ".join(filter(None, [f"{name}: {flow}", does, state]))))


def _balance(answer: Solution, duties: list[str], system: System) -> str:
    """How well the answer balances when it is worked out again, at its worst."""
    rows = [answer.model.duties.index(duty) for duty in duties]
    off = [
        Quantity(float(values[rows].max()), as_shown(answer, dimension))
        for values, dimension in zip(answer.imbalance(), ("pressure_drop", "volume_flow"), strict=True)
    ]
    pressure, flow = (f"{number_in(q, system):.1g} {printed_unit(q.dimension, system)}" for q in off)
    return (
        f"Checked: worked out again, every pressure balances within {pressure} and every flow within {flow}. "
        "Total pressure counts the velocity, which a gauge does not read."
    )


def _together(estimates: Iterable[str]) -> list[str]:
    """Estimates, those that say the same of several things in one line."""
    owners: dict[str, list[str]] = {}
    for said in estimates:
        owner, colon, rest = said.partition(": ")
        alone = not colon or " " in owner
        owners.setdefault(said if alone else rest, []).extend([] if alone else [owner])
    return [f"{', '.join(names)}: {rest}" if names else rest for rest, names in owners.items()]
