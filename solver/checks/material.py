"""What touches the fluid: the liner of the stock, the metals of ends and adapters."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from catalogs.grades import Grade, weakest
from catalogs.records import Stock
from catalogs.units import Quantity
from lines.finding import NOTHING, Finding, State, Verdict, Words, unchecked, words

if TYPE_CHECKING:
    from collections.abc import Iterable

    from catalogs.records import Adapter, HoseEnd
    from lines.assembly import Assembly
    from lines.plan import Plan
    from solver.study import Study

VERDICTS = {"good": Verdict.PASS, "caution": Verdict.CAUTION, "no": Verdict.FAIL}


def hottest(plan: Plan, circuit: str) -> tuple[str, Quantity]:
    """The duty at which a circuit is hottest, and how hot."""
    by_duty = dict(zip(plan.duties, plan.circuits[circuit].temperature.over(list(plan.duties)), strict=True))
    duty = max(by_duty, key=lambda d: by_duty[d])
    return duty, Quantity(by_duty[duty], "temperature")


def good_for(plan: Plan, circuit: str, *sorts: str, use: str = "") -> list[str]:
    """The materials of these sorts that are good for a use in a circuit's fluid, as hot as it gets there."""
    catalog, hot = plan.catalog, hottest(plan, circuit)[1].value
    family = catalog.fluid(plan.circuits[circuit].fluid).family
    rows = [catalog.material_in(name, family, use) for name in catalog.materials(*sorts)]
    good = [row for row in rows if row is not None and row.verdict == "good"]
    return sorted(row.material for row in good if row.hottest is None or row.hottest >= hot)


# ---------------------------------------------------------------- one material in one fluid


@dataclass(frozen=True, slots=True)
class Wetted:
    """A thing that the fluid touches."""

    made_of: str
    """A material of the materials table."""
    name: str
    """As a sentence calls it."""
    instead: str
    """What to take where it is not good."""
    grade: Grade = Grade.MEASURED
    """How sure it is what it is made of."""
    too_hot: Verdict = Verdict.FAIL
    """Where the fluid is hotter than the material stands in it."""
    use: str = ""
    """What it is used as, where the materials table tells that apart."""


def of_material(plan: Plan, circuit: str, rule: str, place: str, wetted: Wetted) -> Finding:
    """The finding of one rule at one place: a thing in a circuit's fluid, at the duty at which that is hottest."""
    catalog, fluid = plan.catalog, plan.catalog.fluid(plan.circuits[circuit].fluid)
    row = catalog.material_in(wetted.made_of, fluid.family, wetted.use)
    if row is None:
        why = words("What {fluid} does to {has} is in no table.", fluid=fluid.means, has=wetted.name)
        return unchecked(rule, place, why, f"the supplier's word on {wetted.made_of} and {fluid.means}")
    duty, hot = hottest(plan, circuit)
    verdict, text, stands = VERDICTS[row.verdict], "{fluid} in {has}: {reason}.", None
    facts: dict[str, Quantity | str] = {
        "fluid": fluid.id,
        "has": wetted.name,
        "reason": row.why.rstrip("."),
        "hot": hot,
    }
    if row.hottest is not None:
        stands = Quantity(row.hottest, "temperature")
        facts |= {"duty": duty, "made_of": wetted.made_of, "stands": stands}
        if hot.value > stands.value:
            verdict = min(verdict, wetted.too_hot, key=lambda v: v.rank)
            text += " At {duty} it is {hot}: {made_of} stands {stands} in it."
    return Finding(
        rule=rule,
        place=place,
        verdict=verdict,
        why=words(text, **facts),
        change=NOTHING if verdict is Verdict.PASS else words("{instead}.", instead=wetted.instead),
        value=hot if stands is not None else None,
        high=stands,
        worst=State(duty=duty) if stands is not None else State(),
        basis=weakest([row.grade_of("verdict", *(["hottest"] if stands is not None else [])), wetted.grade]),
        source=row.source,
    )


def liner(study: Study) -> list[Finding]:
    """`run.liner`: what touches the fluid, and whether it stands it as hot as it gets."""
    return [_liner(study, made) for made in study.assemblies.values()]


def _liner(study: Study, made: Assembly) -> Finding:
    plan, circuit, lined = study.plan, made.run.circuit, made.stock.liner
    family = plan.catalog.fluid(plan.circuits[circuit].fluid).family
    stocks = [stock for stock in plan.catalog.all("stock") if isinstance(stock, Stock)]
    sold = {stock.liner for stock in stocks if not stock.serves or family in stock.serves}
    good = [name for name in good_for(plan, circuit, "plastic", "rubber", "metal") if name in sold]
    take = f"A stock with a liner of {' or '.join(good) or 'another sort'}"
    # Too hot for its rubber but not for its own rating: that of the stock is not of this fluid alone, so ask.
    wetted = Wetted(lined, f"a liner of {lined}", take, made.stock.grade_of("liner"), too_hot=Verdict.CAUTION)
    return _made_for(plan, made, of_material(plan, circuit, "run.liner", made.tag, wetted))


def _made_for(plan: Plan, made: Assembly, found: Finding) -> Finding:
    """The same finding, with what the stock is made for where that is not the fluid in it."""
    family, serves = plan.catalog.fluid(plan.circuits[made.run.circuit].fluid).family, made.stock.serves
    if not serves or family in serves:
        return found
    says = words(
        "{stock} is made for {serves}, not for {family}: its strength, its cover and what passes through its wall.",
        stock=made.stock.id,
        serves=" or ".join(serves),
        family=family,
    )
    take = words("A stock that is made for {family}.", family=family)
    return replace(
        found,
        verdict=min(found.verdict, Verdict.CAUTION, key=lambda v: v.rank),
        why=joined([found.why, says]),
        change=joined([found.change, take]) if found.change else take,
        basis=weakest([found.basis or Grade.MEASURED, made.stock.grade_of("serves")]),
        source="; ".join(part for part in (found.source, made.stock.origin("serves").source) if part),
    )


# ---------------------------------------------------------------- metals


@dataclass(frozen=True, slots=True)
class Piece:
    """A thing of metal in a run: an end, an adapter or a port."""

    name: str
    made_of: str
    grade: Grade
    use: str


def metal(study: Study) -> list[Finding]:
    """`run.metal`: the metals of the ports, ends and adapters of each run against its fluid, where they are known."""
    plan = study.plan
    pieces = ((made, _pieces(plan, made)) for made in study.assemblies.values())
    return [_metal(plan, made, known) for made, known in pieces if known]


def _pieces(plan: Plan, made: Assembly) -> list[Piece]:
    """Its ends and adapters, each once, then its ports."""
    chosen = [end.end for end in made.ends] + [joint.adapter for joint in made.joints]
    parts: list[HoseEnd | Adapter] = [part for part in chosen if part is not None and part.made_of]
    pieces = {part.id: Piece(part.id, part.made_of, part.grade_of("made_of"), "fitting") for part in parts}
    ports = {joint.port: plan.port(joint.port).made_of for joint in made.joints}
    bungs = [Piece(f"the port {name}", of, Grade.MEASURED, "port") for name, of in ports.items() if of]
    return [*pieces.values(), *bungs]


def _metal(plan: Plan, made: Assembly, pieces: list[Piece]) -> Finding:
    """The worst of its metals decides; the reasons of all are said."""
    judged = []
    for made_of, use in dict.fromkeys((piece.made_of, piece.use) for piece in pieces):
        own = [piece for piece in pieces if (piece.made_of, piece.use) == (made_of, use)]
        good = " or ".join(good_for(plan, made.run.circuit, "metal", use=use)) or "another material"
        take = (
            f"Ends and adapters of {good}"
            if use == "fitting"
            else f"Heed that, or a port of {good} where it can still be chosen"
        )
        has = f"{made_of} ({', '.join(piece.name for piece in own)})"
        wetted = Wetted(made_of, has, take, weakest(piece.grade for piece in own), use=use)
        judged.append((own[0].name, of_material(plan, made.run.circuit, "run.metal", made.tag, wetted)))
    station, worst = min(judged, key=lambda pair: pair[1].verdict.rank)
    return replace(
        worst,
        why=joined(found.why for _, found in judged),
        worst=replace(worst.worst, station=station),
        basis=worst.basis and weakest(found.basis for _, found in judged if found.basis is not None),
        source="; ".join(dict.fromkeys(found.source for _, found in judged if found.source)),
    )


def joined(several: Iterable[Words]) -> Words:
    """Several sentences as one text; their quantities keep apart."""
    text: list[str] = []
    parts: dict[str, Quantity | str] = {}
    for i, said in enumerate(several):
        text.append(re.sub(r"\{(\w+)", rf"{{\1_{i}", said.text))
        parts |= {f"{name}_{i}": value for name, value in said.parts.items()}
    return Words(" ".join(text), parts)
