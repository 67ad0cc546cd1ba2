"""What is in each edge of a circuit: named bores with friction, and named losses.

Every part keeps its name, so that a person sees what costs the most.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from catalogs.errors import UnknownInputError
from catalogs.grades import Grade
from catalogs.units import Quantity, show, show_tape
from solver.bores import port_bore, way_on
from solver.fittings import Part, bend, change, coefficient, curvature, elbow, from_loss, hole, in_series, turned
from solver.points import fitted, points_estimates
from solver.stated import asked_for, by, figure, how_it_resists

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catalogs.kinds import KindPath
    from catalogs.records import HoseEnd, Record
    from lines.assembly import Assembly
    from lines.graph import Edge
    from lines.plan import Component, Plan


@dataclass(frozen=True, slots=True)
class Pipe:
    """A bore, straight or curved."""

    name: str
    length: float
    bore: float
    roughness: float
    curvature: float = 0.0
    """Bore over the diameter of the centreline's curve, 0 for straight."""
    sources: Mapping[str, str] = field(default_factory=dict)
    """Where its length, bore and roughness are from."""


@dataclass(frozen=True)
class Resistance:
    """The parts of one edge, what they rest on, and what was estimated."""

    pipes: tuple[Pipe, ...] = ()
    parts: tuple[Part, ...] = ()
    grades: tuple[Grade, ...] = ()
    estimates: tuple[str, ...] = ()

    def __add__(self, other: Resistance) -> Resistance:
        return Resistance(
            self.pipes + other.pipes,
            self.parts + other.parts,
            self.grades + other.grades,
            self.estimates + other.estimates,
        )


# ---------------------------------------------------------------- a run


def of_run(plan: Plan, made: Assembly, others: Mapping[str, Assembly]) -> Resistance:
    """The parts of a run: friction along its hose, its bends, its ends and their adapters, and each change of bore.

    Args:
        plan: the plan.
        made: the run's assembly.
        others: all assemblies by the tag of their run, for the bore of what it is joined to.

    Raises:
        UnknownInputError: the length is not known, or its ends leave none.
    """
    tag = made.tag
    length = made.flowed
    if length is None:
        raise UnknownInputError(
            f"the length of {tag} is not known", needs=f"length of {tag} with length_is, or its points"
        )
    if length <= 0:
        raise UnknownInputError(f"the two ends of {tag} overlap", needs=f"the places of its ports, or length of {tag}")
    narrow = [_in_metal(end, made.stock.bore) for end in made.chosen]
    share = min(1.0, length / max(sum(narrow), 1e-9))
    first, last = (_end(plan, made, side, share * narrow[side], others) for side in (0, 1))
    return _hose(plan, made, length - share * sum(narrow)) + first + last


def _in_metal(end: HoseEnd | None, hose: float) -> float:
    """Length of a run that lies in the bore of an end and not in that of the hose [m]."""
    if end is None or end.bore == hose:
        return 0.0
    return max(end.cutoff + (end.insertion or 0.0), 0.0)


def _hose(plan: Plan, made: Assembly, length: float) -> Resistance:
    """The hose between its two ends: what is straight of it, and its bends."""
    stock, tag = made.stock, made.tag
    arcs = made.bends or ()
    curved = sum(arc.length for arc in arcs)
    estimates = [f"{tag}: its bends were not measured, so their loss is left out"] if made.bends is None else []
    if curved > length + 1e-6:
        said, there = (show_tape(x, plan.system) for x in (curved, length))
        estimates.append(f"{tag}: its bends would take {said} of hose where there is {there}, and count as that")
    share = min(1.0, length / max(curved, 1e-9))
    sources = _origins(stock, "bore", "roughness") | {"length": f"length of {tag}: {made.how} ({made.grade})"}
    pipes = [Pipe("hose", length - share * curved, stock.bore, stock.roughness, sources=sources)]
    parts = []
    for i, arc in enumerate(arcs, 1):
        curve = curvature(stock.bore, arc.radius)
        pipes.append(Pipe(f"bend {i}", share * arc.length, stock.bore, stock.roughness, curve, sources))
        parts.append(bend(f"bend {i}", stock.bore, arc.radius, arc.turn, stock.roughness))
    return Resistance(tuple(pipes), _that_cost(parts), (stock.grade_of("bore", "roughness"),), tuple(estimates))


def _end(plan: Plan, made: Assembly, side: int, length: float, others: Mapping[str, Assembly]) -> Resistance:
    """One end and the adapter before it, of which this length lies in the end's own bore.

    From the port inward the bore changes at the adapter, at the end and at the hose.
    """
    tag, stock, port = made.tag, made.stock, made.joints[side].port
    end, adapter = made.chosen[side], made.joints[side].adapter
    if end is None:
        return Resistance(estimates=(f"{tag}: no end chosen at {port}, so its loss is left out",))
    cutoff = "; ".join(_origins(end, "cutoff", "insertion").values())
    sources = _origins(stock, "roughness") | _origins(end, "bore") | {"length": cutoff}
    pipes = [Pipe(f"the end at {port}", length, end.bore, stock.roughness, sources=sources)] if length else []
    grades = [end.grade_of("bore", "angle")]
    said: tuple[str, ...] = ()
    outside, stated = port_bore(plan, made, side, others)
    if adapter is None:
        before = [change(f"bore of the port at {port}", outside, end.bore)]
    else:
        steps = change("in", outside, adapter.bore), change("out", adapter.bore, end.bore)
        before = [in_series(f"adapter at {port}", *steps)]
        grades += [adapter.grade_of("bore")] if before[0].costs else []
        if adapter.length is not None:
            sources = _origins(stock, "roughness") | _origins(adapter, "bore", "length")
            pipes.append(Pipe(f"the adapter at {port}", adapter.length, adapter.bore, stock.roughness, sources=sources))
        stated += f"; {_origins(adapter, 'bore')['bore']}"
    on = way_on(plan, made, side, others)
    before[:0] = [] if on is None else [change(f"way on at {port}", on, outside)]
    before = [replace(part, sources=(*part.sources, f"bore of {port}: {stated}")) for part in before]
    if not end.straight:
        turn, grade, guess = elbow(plan.catalog, f"elbow of the end at {port}", end)
        before.append(turn)
        grades.append(grade)
        said = (f"{tag}, elbow of the end at {port}: {guess}",) if guess else ()
    inward = [*before, change(f"bore of the end at {port}", end.bore, stock.bore)]
    parts = inward if side == 0 else [turned(part) for part in inward]
    return Resistance(tuple(pipes), _that_cost(parts), tuple(grades), said)


def _origins(record: Record, *fields: str) -> dict[str, str]:
    """Where fields of a row are from, in a sentence each."""
    return {key: f"{key} of {record.id}: {(own := record.origin(key)).source} ({own.grade})" for key in fields}


def _that_cost(parts: list[Part]) -> tuple[Part, ...]:
    return tuple(part for part in parts if part.costs)


# ---------------------------------------------------------------- a component's inner path


def of_path(plan: Plan, edge: Edge, around: float | None, *, loaded: bool = False) -> Resistance:
    """The parts of a component's inner path that resists.

    Args:
        plan: the plan.
        edge: an inner path with one of the laws mouth, passage, points, loss, leg, tee, orifice or roll_over.
        around: the smaller bore of the lines on its two sides [m], None where none is known; for the laws mouth and
            orifice.
        loaded: with a filter as it is when it is due, not clean.

    Raises:
        UnknownInputError: a figure that the law needs is missing or cannot be.
    """
    component, path = edge.component, edge.path
    assert component is not None
    assert path is not None
    if path.law == "mouth":
        if around is None:
            raise UnknownInputError(f"the bore at {edge.end} is not known", needs=f"the hose end at {edge.end}")
        leaving, entering = plan.catalog.loss("mouth-in"), plan.catalog.loss("mouth-out")
        part = coefficient(f"mouth of {component.name}", around, leaving.k, leaving.k1, back=entering.k)
        part = replace(part, sources=(leaving.source, entering.source))
        return Resistance(parts=(part,), grades=(leaving.grade, entering.grade))
    if path.law == "passage":
        bore, length, rough = (figure(component, key) for key in ("bore", "length", "roughness"))
        return Resistance(
            pipes=(Pipe(path.name, length * path.share, bore, rough),),
            grades=(_default_grade(component, "roughness"),),
        )
    if path.law in {"leg", "tee"}:
        loss = plan.catalog.loss(path.loss)
        leg = _times(from_loss(path.name, loss, figure(component, "bore")), path.share)
        return Resistance(parts=(leg,), grades=(loss.grade,))
    if path.law == "orifice":
        return _orifice(plan, component, around)
    found = _points_or_coefficient(plan, component, path)
    found = replace(found, parts=tuple(_times(part, path.share) for part in found.parts))
    return _when_due(component, found) if loaded and "loaded" in component.kind.figures else found


def _default_grade(component: Component, key: str) -> Grade:
    """The grade of a figure: the kind's default has its own; what the plan states is measured."""
    stated = component.kind.figures[key]
    value = component.figures[key]
    if stated.grade is None or value is None:
        return Grade.MEASURED
    return stated.grade if key not in component.stated else Grade.MEASURED


def _orifice(plan: Plan, component: Component, around: float | None) -> Resistance:
    bore, length, cd = (figure(component, key) for key in ("bore", "length", "cd"))
    name = component.name
    if cd > 1:
        raise UnknownInputError(f"cd of {name} cannot be {cd:g}", needs=f"{asked_for(component, 'cd')}, and 1 or less")
    if around is not None and bore >= around:
        its, line = (show(Quantity(x, "bore"), plan.system) for x in (bore, around))
        reason = f"the hole of {name} is {its} wide and the line beside it {line}: nothing is restricted"
        raise UnknownInputError(reason, needs=f"{asked_for(component, 'bore')}, under that of the line")
    said = f"{name}: the bore of the line beside it is not known, so no pressure is recovered behind it"
    return Resistance(
        parts=(hole("hole", bore, length, cd, around),),
        grades=(_default_grade(component, "cd"),),
        estimates=(said,) if around is None else (),
    )


def _points_or_coefficient(plan: Plan, component: Component, path: KindPath) -> Resistance:
    """By points or by a coefficient; the points of a kind whose other way goes by points are not this way's."""
    name, resists = component.name, by(component, path)
    points = component.figures.get("points") if "points" in resists else None
    if points is not None:
        law, miss = fitted(plan.catalog, points, owner=name)
        own = "drop = a mu q + b rho q^2 nearest to its own points of flow and drop"
        part = Part("by its points", law.viscous, law.inertial, law.inertial, sources=(own,))
        return Resistance(parts=(part,), estimates=points_estimates(component, miss))
    if "k" not in resists or component.figures.get("k") is None:
        raise UnknownInputError(f"how {name} resists is not known", needs=how_it_resists(component, path))
    part = coefficient("by its coefficient", figure(component, "bore"), figure(component, "k"))
    return Resistance(parts=(replace(part, sources=("k and bore as the plan says",)),))


def _when_due(component: Component, clean: Resistance) -> Resistance:
    """The same with so many times the clean drop as the component has when it is due."""
    name = component.name
    if component.figures.get("loaded") is None:
        said = f"{name}: its drop when due is not known, and counts as when clean"
        return Resistance(clean.pipes, clean.parts, clean.grades, (*clean.estimates, said))
    times = figure(component, "loaded")
    if times < 1:
        raise UnknownInputError(
            f"loaded of {name} cannot be {times:g}", needs=f"{asked_for(component, 'loaded')}, and 1 or more"
        )
    said = f"{times:g} times as much when due"
    parts = tuple(replace(_times(part, times), sources=(*part.sources, said)) for part in clean.parts)
    return Resistance(clean.pipes, parts, clean.grades, clean.estimates)


def _times(part: Part, times: float) -> Part:
    """So many times the drop of a part [-]."""
    laws = {key: times * getattr(part, key) for key in ("viscous", "inertial", "inertial_back")}
    return replace(part, **laws)
