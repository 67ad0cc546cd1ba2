"""Static electricity: fuel charges a plastic that it flows through; a liner that conducts carries the charge off."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from catalogs.grades import weakest
from lines.finding import NOTHING, Finding, Verdict, unchecked, words
from solver.checks.judging import sentence
from solver.checks.material import VERDICTS

if TYPE_CHECKING:
    from catalogs.materials import Charging
    from catalogs.records import Stock
    from lines.assembly import Assembly
    from solver.study import Study

RULE = "run.static"
_BARE = re.compile(r"[A-Za-z0-9_-]+")


def charging(study: Study, made: Assembly) -> Charging | None:
    """What the fluid of a run does in its liner; None where that is no plastic or no such fluid flows in it."""
    catalog = study.plan.catalog
    if made.stock.liner not in catalog.materials("plastic"):
        return None
    return catalog.charging(catalog.fluid(study.plan.circuits[made.run.circuit].fluid).family)


def carried(study: Study) -> list[Finding]:
    """`run.static`: whether the plastic liner of each run of fuel carries off the charge that the fuel leaves in it."""
    runs = ((made, charging(study, made)) for made in study.assemblies.values())
    return [_static(made, row) for made, row in runs if row is not None]


def _static(made: Assembly, row: Charging) -> Finding:
    stock = made.stock
    if stock.conducts is None:
        text = "{why}. Whether the liner of {family} conducts is not known."
        why = words(text, why=sentence(row.why), family=stock.family)
        return unchecked(RULE, made.tag, why, _asked(stock))
    good = stock.conducts
    text = "The liner of {stock}, of {liner}, conducts."
    if not good:
        text = "The liner of {stock}, of {liner}, does not conduct: {why}."
    return Finding(
        rule=RULE,
        place=made.tag,
        verdict=Verdict.PASS if good else VERDICTS[row.verdict],
        why=words(text, stock=stock.id, liner=stock.liner, why=row.why),
        change=NOTHING if good else words("A hose with a conductive liner, one with carbon black in it."),
        basis=weakest([row.grade, stock.grade_of("conducts")]),
        source="; ".join(dict.fromkeys([row.source, stock.origin("conducts").source])),
    )


def _asked(stock: Stock) -> str:
    family = stock.family if _BARE.fullmatch(stock.family) else f'"{stock.family}"'
    return (
        f"the supplier's word whether the liner of {stock.family} conducts (of SAE J517 100R14 type B does, from "
        f'memory), as [stock.{family}] in the plan: conducts = true or false, source = "who says so", grade = '
        '"published". A row of that name in stock.csv of the shop\'s folder does too, or that of one size'
    )
