"""What seals a joint holds rubber, and that has to suit the fluid too."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from lines.finding import Finding, unchecked, words
from solver.checks.joint import joints_of
from solver.checks.material import Wetted, good_for, of_material

if TYPE_CHECKING:
    from catalogs.catalog import Catalog
    from lines.joints import Joint
    from solver.study import Study

NAMES = {
    "o-ring": ("O-ring", "O-rings"),
    "washer": ("bonded washer", "bonded washers"),
    "gasket": ("gasket", "gaskets"),
}


def seals(study: Study) -> list[Finding]:
    """`joint.seals`: in each circuit whose joints hold rubber, whether that stands the fluid and its heat."""
    parts: dict[str, Counter[str]] = {circuit: Counter() for circuit in study.plan.circuits}
    for _, made, _, met in joints_of(study):
        parts[made.run.circuit].update(_rubber(study.plan.catalog, met))
    return [_seals(study, circuit, numbers) for circuit, numbers in parts.items() if numbers]


def _rubber(catalog: Catalog, met: Joint) -> Counter[str]:
    """How many parts of each sort hold rubber; a part that no table knows goes by its name."""
    known, numbers = set(catalog.ids("seals")), Counter[str]()
    for name, number in met.seals:
        if name not in known:
            numbers["o-ring"] += number if name.startswith("O-ring") else 0
        elif (seal := catalog.seal(name)).of_rubber:
            numbers[seal.sort] += number
    return +numbers


def _seals(study: Study, circuit: str, numbers: Counter[str]) -> Finding:
    catalog, table = study.plan.catalog, study.plan.circuits[circuit]
    fluid = catalog.fluid(table.fluid)
    good = " or ".join(good_for(study.plan, circuit, "rubber")) or "another rubber than the tables hold"
    sorts = {sort: NAMES.get(sort, (sort, f"{sort}s")) for sort in numbers}
    parts = " and ".join(f"{number} {sorts[sort][number > 1]}" for sort, number in numbers.items())
    names = " and ".join(sorts[sort][1] for sort in numbers)
    if not table.seals:
        text = "{parts} in it, of a material that the plan does not say. Good for {fluid}: {good}."
        needs = f'what its {names} are made of: ask, and say seals = "..." in [circuits.{circuit}]'
        return unchecked("joint.seals", circuit, words(text, parts=parts, fluid=fluid.id, good=good), needs)
    wetted = Wetted(table.seals, f"{parts} of {table.seals}", f"{names[0].upper()}{names[1:]} of {good}")
    return of_material(study.plan, circuit, "joint.seals", circuit, wetted)
