"""One run at one duty worked out by hand: what is given, each line of its loss, and the pressures at both ends."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import STANDARD_GRAVITY, Quantity, show
from reports.equations import FIGURES, Hand, Step
from reports.gases import as_shown
from reports.workedsteps import fluid_steps, friction_steps, velocity_steps
from solver.balance import WORST_PRESSURE
from solver.bores import port_bore

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from reports.workedsteps import Properties
    from solver.fittings import Part
    from solver.resistances import Pipe, Resistance
    from solver.solution import Solution
    from solver.study import Study

    Wall = tuple[float, float, float]
    """Bore [m], roughness [m], curvature [-]."""
    ByBore = dict[float, list[Step]]
    """Bore, velocity and Reynolds number by bore [m]."""
    ByWall = dict[Wall, list[Step]]
    """Friction factors by wall; the last line of each."""

DARCY = "Darcy and Weisbach"
TO_THE_TAPE = 8
"""Figures of a height: two of them may differ by little."""
MOST_PLACES = 7
"""Decimals of a sum."""
ENERGY = "balance of total pressure: Bernoulli, with the losses"


@dataclass(frozen=True, slots=True)
class Section:
    """Lines that belong together."""

    title: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Worked:
    """One run at one duty."""

    tag: str
    line: str
    duty: str
    loss: str
    """Its lines added up, of total pressure."""
    facts: tuple[tuple[str, str], ...]
    """What the sheet is about, each by its name."""
    notes: tuple[str, ...]
    sections: tuple[Section, ...]

    @property
    def steps(self) -> list[Step]:
        return [step for section in self.sections for step in section.steps]


@dataclass(frozen=True)
class Case:
    """A run at a duty that has an answer."""

    study: Study
    answer: Solution
    tag: str
    duty: str

    @property
    def hand(self) -> Hand:
        return Hand(self.study.plan.system)

    @property
    def row(self) -> int:
        return self.answer.model.duties.index(self.duty)

    @property
    def circuit(self) -> str:
        return self.answer.model.circuit.name

    @property
    def resistance(self) -> Resistance:
        return self.answer.model.resistances[self.tag]

    @property
    def ports(self) -> tuple[str, str]:
        """A and B."""
        run = self.study.plan.runs[self.tag]
        return run.start, run.end

    @cached_property
    def flow(self) -> float:
        """From A to B [m3/s]."""
        return float(self.answer.flow(self.tag)[self.row])

    @cached_property
    def totals(self) -> tuple[float, float]:
        """Total pressures at A and B [Pa absolute]."""
        a, b = (float(self.answer.total(port)[self.row]) for port in self.ports)
        return a, b

    @cached_property
    def fluid(self) -> Properties:
        plan = self.study.plan
        stated = plan.circuits[self.circuit]
        mean = sum(self.totals) / 2 if self.answer.model.gas else None
        return fluid_steps(self.hand, plan.catalog.fluid(stated.fluid), stated.temperature.at(self.duty), mean)

    @property
    def solved(self) -> str:
        """Where a figure of the solution is from."""
        return f"the solution of the circuit {self.circuit} at {self.duty}"

    @property
    def drop(self) -> str:
        """The dimension of a drop that suits the fluid."""
        return as_shown(self.answer, "pressure_drop")

    @property
    def pressure(self) -> str:
        """The same of a pressure."""
        return as_shown(self.answer, "pressure")

    def gauge(self, pressure: float) -> Quantity:
        """A pressure [Pa absolute] over ambient."""
        return Quantity(pressure - self.study.plan.ambient.pressure[self.duty], self.pressure)

    def volume(self, flow: float) -> Quantity:
        """A flow [m3/s]."""
        return Quantity(flow, as_shown(self.answer, "volume_flow"))


def sheet(case: Case) -> Worked:
    """The whole calculation of a case."""
    gas = ", as it is at the mean pressure" if case.answer.model.gas else ""
    flow = case.hand.given(f"flow{gas}", "Q", case.volume(abs(case.flow)), case.solved)
    bores = _bores(case, flow)
    factors = _factors(case, bores)
    lines = _shared(_lines(case, bores, factors))
    sections = {
        "Given": [*case.fluid.steps, flow, *(_length(case, pipe) for pipe in case.resistance.pipes)],
        "Velocity and Reynolds number, for each bore": [step for steps in bores.values() for step in steps],
        "Friction factor, for each bore and curve": [step for steps in factors.values() for step in steps],
        "The loss, line by line": lines,
        "From A to B": _ends(case, bores, lines),
    }
    return Worked(
        case.tag,
        case.study.plan.runs[case.tag].line,
        case.duty,
        case.hand.says(Quantity(sum(_drops(lines)), case.drop)),
        _facts(case),
        (f"The weakest figure of the circuit is {case.answer.model.grade.says}", *case.resistance.estimates),
        tuple(Section(title, tuple(steps)) for title, steps in sections.items() if steps),
    )


def _facts(case: Case) -> tuple[tuple[str, str], ...]:
    plan = case.study.plan
    circuit = plan.circuits[case.circuit]
    air = show(Quantity(plan.ambient.pressure[case.duty], "pressure", "absolute"), plan.system)
    temperature = show(Quantity(circuit.temperature.at(case.duty), "temperature"), plan.system)
    ways = {1: "from A to B", -1: "NEGATIVE: from B to A, so the drop from A to B is less than 0", 0: "nothing flows"}
    a, b = case.ports
    return (
        ("A", a),
        ("B", b),
        ("Circuit", f"{case.circuit} at {case.duty}"),
        ("Fluid", f"{plan.catalog.fluid(circuit.fluid).means}, {temperature}"),
        ("Air around it", f"{air}; gauge pressures are over that"),
        ("Flow", f"{case.hand.says(case.volume(case.flow))}, {ways[int(np.sign(case.flow))]}"),
    )


def _length(case: Case, pipe: Pipe) -> Step:
    source = [pipe.sources["length"]] if "length" in pipe.sources else []
    return case.hand.given(f"length, {pipe.name}", "L", Quantity(pipe.length, "length"), *source)


# ---------------------------------------------------------------- the lines of the loss


def _bores(case: Case, flow: Step) -> ByBore:
    pipes = {pipe.bore: [p for p in case.resistance.pipes if p.bore == pipe.bore] for pipe in case.resistance.pipes}
    alone = {part.bore: part.name for part in case.resistance.parts if part.bore not in pipes}
    bores = [_given(case, "bore", "D", bore, group) for bore, group in pipes.items()]
    bores += [case.hand.given(f"bore, {name}", "D", Quantity(b, "bore")) for b, name in alone.items() if b is not None]
    return {d.quantity.value: [d, *velocity_steps(case.hand, d, flow, case.fluid.viscosity)] for d in bores}


def _factors(case: Case, bores: ByBore) -> ByWall:
    found: ByWall = {}
    for wall in dict.fromkeys(map(_wall, case.resistance.pipes)) if case.flow else ():
        bore, roughness, curvature = wall
        pipes = [pipe for pipe in case.resistance.pipes if _wall(pipe) == wall]
        given = [_given(case, "roughness", "e", roughness, pipes)]
        if curvature:
            given.append(case.hand.given("diameter of the curve", "Dc", Quantity(bore / curvature, "bore")))
        d, _, re = bores[bore]
        found[wall] = [*given, *friction_steps(case.hand, re, d, given[0], given[1] if curvature else None)]
    return found


def _given(case: Case, what: str, symbol: str, size: float, pipes: Sequence[Pipe]) -> Step:
    """A figure that several pieces have."""
    sources = dict.fromkeys(pipe.sources[what] for pipe in pipes if what in pipe.sources)
    return case.hand.given(f"{what}, {_listed(p.name for p in pipes)}", symbol, Quantity(size, "bore"), *sources)


def _wall(pipe: Pipe) -> Wall:
    return pipe.bore, pipe.roughness, pipe.curvature


def _listed(names: Iterable[str]) -> str:
    """Names in a row, a row of bends as `bends 1 to 7`."""
    kept = list(names)
    bends = [name.removeprefix("bend ") for name in kept if name.startswith("bend ")]
    if len(bends) < 3 or int(bends[-1]) - int(bends[0]) >= len(bends):
        return ", ".join(kept)
    all_bends = f"bends {bends[0]} to {bends[-1]}"
    return ", ".join(dict.fromkeys(all_bends if name.startswith("bend ") else name for name in kept))


def _lines(case: Case, bores: ByBore, factors: ByWall) -> list[Step]:
    """Each part of the loss by its name, as the solution has it."""
    if not case.flow:
        return []
    return [
        *(_friction(case, pipe, factors[_wall(pipe)][-1], bores[pipe.bore][-2]) for pipe in case.resistance.pipes),
        *(_loss(case, part, bores) for part in case.resistance.parts),
    ]


def _friction(case: Case, pipe: Pipe, f: Step, v: Step) -> Step:
    long, wide = Quantity(pipe.length, "length"), Quantity(pipe.bore, "bore")
    equation = f"dp = {_sign(case)}f x L / D x rho x v^2 / 2"
    name = f"friction in {pipe.name}"
    return case.hand.step(name, equation, case.drop, DARCY, f=f, L=long, D=wide, rho=case.fluid.density, v=v)


def _loss(case: Case, part: Part, bores: ByBore) -> Step:
    assert part.bore is not None  # what is in a run stands on a bore
    v, re = bores[part.bore][-2:]
    k, k1 = part.coefficients(back=case.flow < 0)
    rho, equation = case.fluid.density, f"dp = {_sign(case)}(K + K1 / Re) x rho x v^2 / 2"
    line = case.hand.step(part.name, equation, case.drop, *part.sources, K=k, K1=k1, Re=re, rho=rho, v=v)
    bore = case.hand.says(Quantity(part.bore, "bore"))
    return replace(line, note="; ".join([f"on the bore of {bore}", *(s.say(case.hand.system) for s in part.figures)]))


def _drops(steps: list[Step]) -> list[float]:
    return [step.quantity.value for step in steps]


def _sign(case: Case) -> str:
    return "-" if case.flow < 0 else ""


def _shared(lines: list[Step]) -> list[Step]:
    """The lines, numbered, each with its share of the whole; the largest says so."""
    drops = _drops(lines)
    total = sum(drops) or 1.0
    most = max(drops, key=abs, default=0.0)
    return [
        replace(
            line,
            formula=line.formula.replace("dp", f"d{n}", 1),
            share=f"{100 * drop / total:.1f} %" + (", THE LARGEST" if drop == most else ""),
        )
        for n, (line, drop) in enumerate(zip(lines, drops, strict=True), 1)
    ]


# ---------------------------------------------------------------- from one end to the other


def _ends(case: Case, bores: ByBore, lines: list[Step]) -> list[Step]:
    """The lines added up, the height, the pressures at both ends, and what the sum misses of the solution."""
    height = _height(case)
    rise = height[-1:]
    sums = replace(case.hand, decimals=_places(case, [sum(_drops(lines)), *_drops(rise)]))
    numbered = {f"d{n}": line for n, line in enumerate(lines, 1)}
    dp = sums.step("all lines of the loss", f"dp = {' + '.join(numbered) or '0'}", case.drop, **numbered)
    a, b = (case.gauge(total) for total in case.totals)
    pa = sums.given("total pressure at A, gauge", "pA", a, case.solved)
    terms = {"pA": pa, **({"dh": rise[0]} if rise else {}), "dp": dp}
    pb = sums.step("total pressure at B, gauge", f"pB = {' - '.join(terms)}", case.pressure, ENERGY, **terms)
    solved = sums.given("the same, as the circuit was solved", "pS", b, case.solved)
    static = [step for end, p in (("A", pa), ("B", pb)) for step in _static(case, bores, sums, end, p)]
    return [*height, dp, pa, pb, solved, _remainder(case, sums, pb, solved), *static]


def _static(case: Case, bores: ByBore, sums: Hand, end: str, total: Step) -> list[Step]:
    """What a gauge in the port at an end reads: the total pressure there less the velocity head in the port's bore."""
    side, made = "AB".index(end), case.study.assemblies
    bore, why = port_bore(case.study.plan, made[case.tag], side, made)
    known = bores.get(bore)
    d = known[0] if known else case.hand.given(f"bore of {case.ports[side]}", "D", Quantity(bore, "bore"), why)
    flow = case.hand.given("flow", "Q", case.volume(abs(case.flow)), case.solved)
    v = known[-2] if known else velocity_steps(case.hand, d, flow, case.fluid.viscosity)[0]
    name = f"velocity head at {end}, in the port's bore of {case.hand.says(d.quantity)}"
    head = case.hand.step(name, f"q{end} = rho x v^2 / 2", case.drop, rho=case.fluid.density, v=v)
    values = {f"p{end}": total, f"q{end}": head}
    static = sums.step(f"static pressure at {end}, gauge", f"s{end} = p{end} - q{end}", case.pressure, **values)
    return [*([] if known else [d, v]), head, static]


def _height(case: Case) -> list[Step]:
    """What the height costs, the last line; of a gas nothing, for its weight is left out."""
    if case.answer.model.gas:
        return []
    hand, heights = case.hand, case.answer.model.heights
    exact = replace(hand, figures=TO_THE_TAPE)
    za, zb = (
        exact.given(f"height of {end} over the plan's zero", f"z{end}", Quantity(heights[port], "length"))
        for end, port in zip("AB", case.ports, strict=True)
    )
    z = exact.step("B over A", "z = zB - zA", "length", zB=zb, zA=za)
    z = replace(z, result=hand.printed(z.quantity)[0])
    g = hand.given("standard gravity", "g", Quantity(STANDARD_GRAVITY, "acceleration"), "ISO 80000-3")
    return [za, zb, z, g, hand.step("the height", "dh = rho x g x z", case.drop, rho=case.fluid.density, g=g, z=z)]


def _remainder(case: Case, sums: Hand, found: Step, solved: Step) -> Step:
    """What the sheet misses of the solution."""
    step = sums.step("remainder", "off = pB - pS", case.drop, pB=found, pS=solved)
    off, allowed = (case.hand.says(Quantity(p, case.drop)) for p in (step.quantity.value, WORST_PRESSURE))
    if abs(step.quantity.value) > WORST_PRESSURE:
        return replace(step, note=f"{off}: THE LINES DO NOT MAKE UP THE SOLUTION. Do not use this sheet")
    return replace(step, note=f"unrounded {off}; a solution is shown where it balances within {allowed}")


def _places(case: Case, drops: list[float]) -> int:
    """Decimals of a sum that leave five figures to the first of its drops [Pa] that is more than none."""
    drop = next((abs(case.hand.unit(case.drop).from_si(drop)) for drop in drops if drop), 1.0)
    return min(max(FIGURES - 1 - math.floor(math.log10(drop)), 2), MOST_PLACES)
