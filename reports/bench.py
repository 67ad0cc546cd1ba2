"""The cut-and-crimp sheet: for each assembly what the bench needs, the cut length before all else."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from lines.finding import Verdict
from reports import allowed
from reports.bending import bend_table
from reports.cutting import cut_of
from reports.ends import bench_ends
from reports.figures import BLANK, CONDUCTIVE, basis, dash_size, pressure, short
from reports.marks import bends_say, mark_table, marks
from reports.views import run_shape

if TYPE_CHECKING:
    from catalogs.grades import Grade
    from catalogs.units import System
    from lines.assembly import Assembly
    from lines.finding import Finding
    from reports.allowed import Clock
    from reports.cutting import Cut
    from reports.ends import BenchEnd
    from reports.figures import Figure
    from reports.marks import Mark, Marks
    from reports.views import RunShape
    from solver.study import Study

CONVENTION = "Seat: sealing face, centre line of an angled outlet, tip of a spigot. Overall: over the nuts."
BEFORE = "on the hose before its second end: sleeve, label, grommet, bulkhead nut, clamps"
BEFORE_FLARES = (
    "on the tube before it is bent and flared: both nuts and their sleeves, grommet, bulkhead nut, clamps, label"
)
TICKS = ("cut square", "ends clean", "A fitted", "B fitted")
LAST_TICKS = ("flushed", "proof tested", "capped", "labelled")


@dataclass(frozen=True, slots=True)
class Block:
    """One assembly on the bench sheet."""

    tag: str
    line: str
    circuit: str
    fluid: str
    stock: str
    means: str
    size: str
    liner: str
    cut: Cut
    ends: tuple[BenchEnd, BenchEnd]
    tolerance: str
    tolerance_source: str
    slack: str
    under_pressure: str
    before: str
    """What goes on first."""
    clock: Clock
    bends: tuple[Mark, ...]
    bends_say: str
    """What stands in place of marks, or what they are by."""
    table: Marks
    """Bends and clamps of a hose, or the bend table of a tube, as it is printed."""
    shape: RunShape | None
    """Its way in space; None where that is not known."""
    rigid: bool
    working: Figure
    """Rated pressure of the weakest part."""
    working_says: str
    """The same, never without the ends that have no rating."""
    proof: Figure
    proof_how: str
    rating_basis: str
    """What is not sure of both pressures, or empty."""
    checks: tuple[str, ...]
    """What the checks found that is no pass, and what else to look at before the hose is cut."""
    ticks: tuple[str, ...]
    label: str
    note: str


def blocks(study: Study, found: list[Finding]) -> list[Block]:
    """A block for each assembly, in the plan's order."""
    return [_block(study, made, found) for made in study.assemblies.values()]


def _block(study: Study, made: Assembly, found: list[Finding]) -> Block:
    plan, stock = study.plan, made.stock
    system, catalog = plan.system, plan.catalog
    fluid = catalog.fluid(plan.circuits[made.run.circuit].fluid)
    clock = allowed.clock(catalog, made)
    rating, grade, lacking = weakest_rating(made)
    rests = "; ".join(filter(None, [basis(grade), lacking]))
    working = pressure(rating, system)
    return Block(
        tag=made.tag,
        line=made.run.line,
        circuit=made.run.circuit,
        fluid=fluid.means,
        stock=stock.id,
        means=f"{stock.means}{CONDUCTIVE[stock.conducts]}",
        size=dash_size(stock.dash),
        liner=stock.liner,
        cut=cut_of(made, system),
        ends=bench_ends(made, catalog, system),
        tolerance=allowed.cut_tolerance(catalog, made, system),
        tolerance_source=allowed.cut_tolerance_source(catalog, made),
        slack=_slack(made, found, system),
        under_pressure=allowed.under_pressure(catalog, made, system),
        before=_before(made),
        clock=clock,
        bends=tuple(marks(plan, made, system)),
        bends_say=bends_say(made),
        table=bend_table(plan, made, system) if stock.rigid else mark_table(plan, made, system),
        shape=run_shape(plan, made),
        rigid=stock.rigid,
        working=working,
        working_says=_working(working, short(grade) if grade.provisional else "", lacking.partition(":")[0]),
        proof=_proof(made, rating * allowed.proof_factor(catalog), system, unsure=bool(rests)),
        proof_how=allowed.proof_how(catalog, system),
        rating_basis=rests,
        checks=tuple(_checks(made, found)),
        ticks=TICKS + (("clock set",) if clock.state != "none" else ()) + LAST_TICKS,
        label=_label(study, made, working, sure=not rests),
        note=made.run.note,
    )


def _proof(made: Assembly, value: float, system: System, *, unsure: bool) -> Figure:
    """A proof pressure; where a rating is unsure or unknown it is no more than an upper bound."""
    figure = pressure(value, system)
    alone = "tube" if made.stock.rigid else "hose"
    return replace(figure, text=f"{alone} alone at most {figure.text}: confirm first") if unsure else figure


def weakest_rating(made: Assembly) -> tuple[float, Grade, str]:
    """The rated working pressure [Pa] of the weakest part of an assembly, its grade, and which parts have none."""
    ratings = [(made.stock.working_pressure, made.stock.grade_of("working_pressure"))]
    unrated = []
    for mark, chosen in zip("AB", made.ends, strict=True):
        if chosen.end is None or chosen.end.working_pressure is None:
            unrated.append(mark)
        else:
            ratings.append((chosen.end.working_pressure, chosen.end.grade_of("working_pressure")))
    rating, grade = min(ratings, key=lambda r: r[0])
    lacking = f"rating of end {' and '.join(unrated)} not known: the lowest counts" if unrated else ""
    return rating, grade, lacking


def _before(made: Assembly) -> str:
    """What goes on first: nothing of it goes over a finished end."""
    if made.stock.rigid:
        return BEFORE_FLARES
    ends = [(mark, end.attaches) for mark, end in zip("AB", made.chosen, strict=True) if end is not None]
    sockets = [mark for mark, attaches in ends if attaches in {"crimped", "reusable"}]
    clamped = [mark for mark, attaches in ends if attaches == "clamped"]
    return ", ".join([BEFORE, *_of_ends("socket", sockets), *_of_ends("hose clamp", clamped)])


def _of_ends(what: str, marks: list[str]) -> list[str]:
    """`both sockets` or `the socket of end B`."""
    return [f"both {what}s" if len(marks) > 1 else f"the {what} of end {marks[0]}"] if marks else []


def _working(working: Figure, rests: str, lacking: str) -> str:
    rated = f"{working.text} ({rests})" if rests else working.text
    return f"NOT KNOWN for the assembly, {lacking}. Of what is rated: {rated}" if lacking else rated


def _slack(made: Assembly, found: list[Finding], system: System) -> str:
    """What the check of its slack says."""
    mine = [f for f in found if f.rule == "run.slack" and f.place == made.tag]
    return " ".join(f"{f.why.say(system)} {f.needs and f'Measure {f.needs}.'}".strip() for f in mine)


SAID = {"run.length"}
"""Rules whose cautions the cut length itself says: provisional, or not known."""


def _checks(made: Assembly, found: list[Finding]) -> list[str]:
    here = [f for f in found if f.place == made.tag or f.place.startswith(f"{made.tag}.")]

    def rules(verdict: Verdict) -> str:
        told = set() if verdict is Verdict.FAIL else SAID
        return ", ".join(dict.fromkeys(f.rule for f in here if f.verdict is verdict and f.rule not in told))

    lines = [f"FAILS, see findings before you cut: {rules(Verdict.FAIL)}"] if rules(Verdict.FAIL) else []
    others = [f"{verdict}: {rules(verdict)}" for verdict in (Verdict.CAUTION, Verdict.UNCHECKED) if rules(verdict)]
    lines += ["; ".join(others).capitalize()] if others else []
    return lines


def _label(study: Study, made: Assembly, working: Figure, *, sure: bool) -> str:
    parts = [
        " ".join(filter(None, [made.tag, made.run.line])),
        study.plan.circuits[made.run.circuit].fluid,
        f"{made.stock.id}{CONDUCTIVE[made.stock.conducts]}",
        f"working {working.text if sure else BLANK}",
        f"rev {study.plan.head.revision}",
        f"date {BLANK}",
    ]
    return " | ".join(parts)
