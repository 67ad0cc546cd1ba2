"""What the rulebooks that a plan names ask for, where its own figures decide it. Never a verdict of legality."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

from catalogs.units import Quantity
from lines.assembly import inside
from lines.finding import NOTHING, Case, Finding, State, Verdict, Words, unchecked, words
from lines.supports import clamps
from solver.blowby import sources
from solver.checks.judging import judge
from solver.crankcase import breathers
from solver.fuels import fuel_tanks
from solver.vents import VALVE, vent_ways

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from catalogs.grades import Grade
    from catalogs.rules import Clause
    from lines.assembly import Assembly
    from lines.plan import Component, Plan
    from solver.along import Steps
    from solver.study import Study

FIRST = "Local rules and the current year's text come first."


def asked(plan: Plan, about: str) -> list[Clause]:
    """The clauses about something in the rulebooks that a plan names; about "" those to be checked by hand."""
    return [row for row in plan.catalog.clauses() if row.rulebook in plan.head.rulebooks and row.about == about]


def _judged(
    row: Clause, place: str, value: Quantity, says: str, change: str, grades: Iterable[Grade] = (), **parts: str
) -> Finding:
    """A value against the figure of a clause."""

    def why(verdict: Verdict, _case: Case) -> Words:
        text = f"{says}. {{clause}} asks for {{means}}. {FIRST}"
        if verdict is Verdict.CAUTION:
            text = text.replace("{means}", "{means}: between its own two figures, so ask which holds")
        return words(text, value=value, clause=row.named, means=row.means, **parts)

    def cure(_verdict: Verdict, _case: Case) -> Words:
        return words(change, **parts)

    found = judge(row, place, [Case(State(), value)], why=why, change=cure, grades=grades)
    return replace(found, rule=f"class.{row.about}")


def _unknown(row: Clause, place: str, why: str, needs: str) -> Finding:
    text = "{clause} asks for {means}. {why}. {first}"
    said = words(text, clause=row.named, means=row.means, why=why, first=FIRST)
    return unchecked(f"class.{row.about}", place, said, needs)


def _strictest(found: Iterable[Finding]) -> list[Finding]:
    """One finding for each rule and place where several rulebooks ask: the worst, and of those alike the tightest."""
    worst: dict[str, Finding] = {}
    for one in found:
        before = worst.get(one.id)
        if before is None or _order(one) < _order(before):
            worst[one.id] = one
    return list(worst.values())


def _order(found: Finding) -> tuple[int, float]:
    return found.verdict.rank, found.margin.value if found.margin is not None else 0.0


# ---------------------------------------------------------------- lines


def lines(study: Study) -> list[Finding]:
    """`class.burst`, `class.temperature` and `class.spacing` of the runs whose fluid a clause speaks of."""
    found = []
    for made in study.assemblies.values():
        family = study.plan.catalog.fluid(study.plan.circuits[made.run.circuit].fluid).family
        for about, judged in (("burst", _burst), ("temperature", _temperature), ("spacing", _spacing)):
            rows = [row for row in asked(study.plan, about) if not row.fluids or family in row.fluids]
            found += [one for row in rows if (one := judged(study.plan, made, row)) is not None]
    return _strictest(found)


def _burst(_plan: Plan, made: Assembly, row: Clause) -> Finding | None:
    stock = made.stock
    if stock.rigid:
        return None
    if stock.burst_pressure is None:
        needs = f"the burst pressure of {stock.id} from its supplier: burst_pressure in the shop's stock table"
        return _unknown(row, made.tag, f"At what {stock.id} bursts is in no table", needs)
    value, change = Quantity(stock.burst_pressure, "pressure_drop"), "A stock with a higher burst pressure."
    grades = [stock.grade_of("burst_pressure")]
    return _judged(row, made.tag, value, "{stock} bursts at {value}", change, grades, stock=stock.id)


def _temperature(_plan: Plan, made: Assembly, row: Clause) -> Finding | None:
    stock = made.stock
    if stock.rigid:
        return None
    value, change = Quantity(stock.hottest, "temperature"), "A stock that stands more heat."
    return _judged(row, made.tag, value, "{stock} stands {value}", change, [stock.grade_of("hottest")], stock=stock.id)


def _spacing(plan: Plan, made: Assembly, row: Clause) -> Finding:
    if made.cut is None or made.free is None:
        needs = "; ".join(made.needs) or f"its length and both its ends, in [runs.{made.tag}]"
        return _unknown(row, made.tag, "Its length or its ends are not known, and so not where it is held", needs)
    ends = inside(made.chosen[0]), made.cut - inside(made.chosen[1])
    held = [ends[0], *(hold.station for hold in clamps(plan, made)), ends[1]]
    widest = Quantity(max(after - before for before, after in pairwise(held)), "length")
    change = "Clamps that stand closer: spacing in the shop's table of supports."
    return _judged(row, made.tag, widest, "As its sheet has it, it is held every {value} at the widest", change)


# ---------------------------------------------------------------- tanks


def tanks(study: Study) -> list[Finding]:
    """`class.vent`, `class.catch-tank` and `class.overflow`."""
    plan = study.plan
    found = [one for row in asked(plan, "vent") for tank in fuel_tanks(study) for one in _vent(study, tank, row)]
    found += [one for row in asked(plan, "catch-tank") for one in _catch_tanks(study, row)]
    found += [one for row in asked(plan, "overflow") for one in _overflow(plan, row)]
    return _strictest(found)


def _vent(study: Study, tank: Component, row: Clause) -> list[Finding]:
    ways = list(vent_ways(study.circuits, tank))
    if not ways:
        needs = f"a circuit of air from a port of {tank.name}, with its valve, to a component of kind open"
        return [_unknown(row, tank.name, f"No vent of {tank.name} is in the plan", needs)]
    return [_one_vent(row, way) for way in ways]


def _one_vent(row: Clause, way: Steps) -> Finding:
    first, onward = way[0]
    port = first.end if onward else first.start
    passed = [(edge, outward) for edge, outward in way if edge.component is not None]
    valves = [e.component.name for e, _ in passed if e.component is not None and e.component.kind.id == VALVE]
    checks = [(e.component.name, outward) for e, outward in passed if e.component is not None and e.law == "check"]
    # A check valve that opens outward lets out the fuel that it is to hold.
    shut = [*valves, *(name for name, outward in checks if not outward)]
    turned = [name for name, outward in checks if outward]
    text, change = "{valves} is in the vent at {port}", NOTHING
    if not shut:
        text = "No valve is in the vent at {port}"
        text += " but {turned}, which opens outward and holds nothing back" if turned else ""
        change = words("Turn {turned} round, or a roll-over valve at the tank.", turned=" and ".join(turned))
        change = change if turned else words("A roll-over valve at the tank.")
    facts = {"valves": " and ".join(shut), "turned": " and ".join(turned), "port": port}
    return Finding(
        rule="class.vent",
        place=port,
        verdict=Verdict.PASS if shut else Verdict.FAIL,
        why=words(f"{text}. {{clause}} asks for {{means}}. {FIRST}", clause=row.named, means=row.means, **facts),
        change=change,
        basis=row.grade,
        source=row.source,
    )


def _catch_tanks(study: Study, row: Clause) -> Iterator[Finding]:
    """Of each engine that breathes in the plan: its cans, where the clause is about an engine of its size."""
    for circuit in breathers(study):
        for part in circuit.parts():
            nodes = [node for name, node in circuit.nodes.items() if name in part]
            owners = {node.component.name: node.component for node in nodes}
            engines = list(dict.fromkeys(circuit.nodes[n].component.name for n in sources(circuit) if n in part))
            cans = [owner for owner in owners.values() if owner.kind.holds == "gas"]
            if engines:
                yield from _of_engine(row, [owners[name] for name in engines], cans)


def _of_engine(row: Clause, engines: list[Component], cans: list[Component]) -> Iterator[Finding]:
    place = engines[0].name
    unsized = [engine.name for engine in engines if engine.figures["displacement"] is None]
    if unsized:
        needs = " and ".join(f"displacement in [components.{name}]" for name in unsized)
        yield _unknown(row, place, "The engine's displacement is not known", needs)
        return
    swept = sum(max(engine.figures["displacement"].values.values()) for engine in engines)
    if not (row.engine_above < swept and (row.engine_up_to is None or swept <= row.engine_up_to)):
        return
    if not cans:
        yield _unknown(row, place, "No catch tank is in the plan", "a component of kind catch-tank, with its volume")
    for can in cans:
        yield _volume(row, can)


def _volume(row: Clause, can: Component) -> Finding:
    if can.figures["volume"] is None:
        return _unknown(row, can.name, "Its volume is not known", f"volume in [components.{can.name}]")
    value = Quantity(min(can.figures["volume"].values.values()), row.dimension)
    return _judged(row, can.name, value, "It holds {value}", "A larger one.")


def _overflow(plan: Plan, row: Clause) -> list[Finding]:
    cans = [component for component in plan.components.values() if component.kind.id == "recovery-tank"]
    coolant = [name for name, table in plan.circuits.items() if plan.catalog.fluid(table.fluid).family == "coolant"]
    if cans or not coolant:
        return [_volume(row, can) for can in cans]
    needs = "a component of kind recovery-tank, with its volume"
    return [_unknown(row, name, "No tank for what overflows is in the plan", needs) for name in coolant]
