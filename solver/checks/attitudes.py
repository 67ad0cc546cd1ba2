"""Gravity drains are judged in the attitudes that a plan names: which of the usual ones are not among them?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalogs.grades import weakest
from catalogs.units import Quantity
from lines.finding import Finding, Verdict, Words, unchecked, words
from solver.checks.judging import listed

if TYPE_CHECKING:
    from collections.abc import Iterable

    from lines.plan import Plan
    from lines.states import Attitude
    from solver.study import Study

WANTED = {
    "nose_up": ("climb", "a climb"),
    "nose_down": ("descent", "a descent"),
    "left_low": ("left_low", "a slope with the left side low"),
    "right_low": ("right_low", "a slope with the right side low"),
    "forward": ("launch", "a launch"),
    "braking": ("braking", "braking"),
    "turn_left": ("corner_left", "a turn to the left"),
    "turn_right": ("corner_right", "a turn to the right"),
}
"""Of each key of an attitude: what a plan may call such an attitude, and what a person does."""


def named(study: Study) -> list[Finding]:
    """`drain.attitudes`: do a drain's attitudes lean and push the vehicle every way that it can go?"""
    return [_named(study.plan, name) for name, circuit in study.circuits.items() if circuit.gravity]


def _named(plan: Plan, circuit: str) -> Finding:
    least = plan.catalog.limit("drain.attitudes.lean").caution_below or 0.0
    said = {key for attitude in plan.attitudes.values() if attitude.tilt >= least for key in attitude.says}
    missing = [key for key in WANTED if key not in said]
    if missing:
        why = words(
            "A drain works or not by how the vehicle leans. This one is judged in {judged}, and in nothing else. Not "
            "among them: {missing}.",
            judged=listed(plan.attitudes),
            missing=listed(WANTED[key][1] for key in missing),
        )
        return unchecked("drain.attitudes", circuit, why, _to_write(plan, missing))
    presets = [plan.catalog.attitude(a.like) for a in plan.attitudes.values() if a.like]
    return Finding(
        rule="drain.attitudes",
        place=circuit,
        verdict=Verdict.PASS,
        why=_judged(plan.attitudes.values()),
        basis=weakest(preset.grade for preset in presets),
        source="; ".join(dict.fromkeys(preset.source for preset in presets)),
    )


def _to_write(plan: Plan, missing: list[str]) -> str:
    """The lines of the plan that name what is missing, by the first preset that is that and nothing else."""
    lines = []
    for key in missing:
        preset = next(p for p in plan.catalog.all("attitudes") if list(plan.catalog.attitude(p.id).figures) == [key])
        name = WANTED[key][0] if WANTED[key][0] not in plan.attitudes else preset.id
        lines.append(f'{name} = {{ like = "{preset.id}" }}')
    figure = f', {missing[0]} = "{_small(missing[0])}" }}'
    own = f"if it never leans or pushes so far, say your own figure beside it: {lines[0].replace(' }', figure)}"
    return f"name them under [attitudes], one line each: {', then '.join(lines)} ({own})"


def _small(key: str) -> str:
    return "10 %" if key in {"nose_up", "nose_down", "left_low", "right_low"} else "0.3 g"


def _judged(attitudes: Iterable[Attitude]) -> Words:
    """Every attitude with how far effective gravity is turned in it."""
    parts: dict[str, Quantity | str] = {}
    texts = []
    for i, attitude in enumerate(attitudes):
        parts |= {f"name{i}": attitude.name, f"tilt{i}": Quantity(attitude.tilt, "slope")}
        notes = [*([] if attitude.sustained else ["for moments"]), *_only(attitude, parts, i)]
        texts.append(f"{{name{i}}} {{tilt{i}}}" + (f" ({', '.join(notes)})" if notes else ""))
    text = "Judged in these attitudes, by how far gravity leans in each, accelerations with it: "
    return Words(text + "; ".join(texts) + ".", parts)


def _only(attitude: Attitude, parts: dict[str, Quantity | str], i: int) -> list[str]:
    if attitude.duties is None:
        return []
    parts[f"duties{i}"] = listed(attitude.duties)
    return [f"{{duties{i}}} only"]
