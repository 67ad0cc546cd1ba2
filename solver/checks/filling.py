"""What a drain's bore carries, and what in its shape stands in the way: depth, steep lengths, dips, necks."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from solver.checks.flooding import drains_of, known
from solver.checks.judging import judge
from solver.drains.causes import dip
from solver.drains.surface import STEEP, one

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from catalogs.records import Limit
    from solver.drains.causes import Dip
    from solver.drains.stood import Stood
    from solver.study import Study

    Array = npt.NDArray[np.float64]
    Booleans = npt.NDArray[np.bool_]


def _hose(stands: Stood) -> Booleans:
    """Which pieces lie in hose or tube and not in the metal of an end, shape (pieces,)."""
    line = stands.drain.line
    widest = np.array([line.bore[line.run == i].max() for i in line.run])
    return np.asarray(line.bore == widest)


def depth(study: Study) -> list[Finding]:
    """`drain.depth`: how full the hose of a drain runs, where it is not so steep that no depth can be told."""
    limit = study.plan.catalog.limit("drain.depth")
    found = []
    for tag, stands in known(study):
        here = _hose(stands) & ((stands.surface.fall < STEEP) | (stands.surface.normal >= 1.0))
        value = np.where(here, stands.surface.normal, -np.inf)
        if here.any():
            found.append(_over_pieces(study, tag, stands, value, limit, _why_depth))
    return found


def _why_depth(stands: Stood, row: int, piece: int) -> Words:
    drain, found = stands.drain, stands.surface
    state, foam = stands.names[row], drain.foams[int(drain.line.run[piece])]
    facts: dict[str, Quantity | str] = {
        "attitude": state.attitude,
        "duty": state.duty,
        "flow": Quantity(float(foam.flow[stands.states.duty[row]]), "volume_flow"),
        "fall": Quantity(math.asin(float(found.fall[row, piece])), "slope"),
        "share": Quantity(float(found.normal[row, piece]), "ratio"),
    }
    if found.fall[row, piece] <= 0:
        return Words("In attitude {attitude} a length of it does not fall ({fall}): it stands full.", facts)
    if found.normal[row, piece] >= 1.0:
        return Words("In attitude {attitude} at {duty} {flow} of foam fill its bore where it falls {fall}.", facts)
    return Words("In attitude {attitude} at {duty} {flow} of foam run {share} deep where it falls {fall}.", facts)


def vertical(study: Study) -> list[Finding]:
    """`drain.vertical`: the Froude number of the foam in the steep lengths of a drain, the necks of its ends too."""
    limit = study.plan.catalog.limit("drain.vertical")
    found = []
    for tag, stands in known(study):
        here = stands.surface.fall >= STEEP
        value = np.where(here, stands.surface.froude, -np.inf)
        if here.any():
            found.append(_over_pieces(study, tag, stands, value, limit, _why_vertical))
    return found


def _why_vertical(stands: Stood, row: int, piece: int) -> Words:
    drain = stands.drain
    state, foam = stands.names[row], drain.foams[int(drain.line.run[piece])]
    number = float(stands.surface.froude[row, piece])
    text = "At {duty} {flow} of foam run down its steep part: Q/(A sqrt(g D)) is {number}, "
    text += (
        "so that gas goes up beside it."
        if number <= 1
        else "too much for gas to go up beside it, and foam stands over the hole that it runs into."
    )
    return words(
        text,
        duty=state.duty,
        flow=Quantity(float(foam.flow[stands.states.duty[row]]), "volume_flow"),
        number=Quantity(number, "number"),
    )


def _over_pieces(
    study: Study,
    tag: str,
    stands: Stood,
    value: Array,
    limit: Limit,
    why: Callable[[Stood, int, int], Words],
) -> Finding:
    """The finding of a limit on the largest value over the pieces of a drain; -inf where a piece has none."""
    worst = value.argmax(axis=1)
    rows = [i for i in range(len(value)) if np.isfinite(value[i, worst[i]])]
    cases = []
    for i in rows:
        here = _place(study, stands, int(worst[i]))
        state = stands.names[i]
        cases.append(
            Case(State(state.duty, state.attitude, station=here), Quantity(float(value[i, worst[i]]), limit.dimension))
        )

    def told(_verdict: Verdict, case: Case) -> Words:
        i = rows[cases.index(case)]
        return why(stands, i, int(worst[i]))

    def change(_verdict: Verdict, _case: Case) -> Words:
        return words("A wider hose, steeper there, or less oil through the turbocharger: see drain.surface.")

    return judge(
        limit,
        tag,
        cases,
        why=told,
        change=change,
        grades=[stands.drain.grade],
        transient=stands.transient,
    )


# ---------------------------------------------------------------- its shape


def dips(study: Study) -> list[Finding]:
    """`drain.dip`: the deepest low loop of a drain over its bore, in every attitude: from a bore on it shuts it."""
    limit = study.plan.catalog.limit("drain.dip")
    found = []
    for tag, stands in known(study):
        first = {s.attitude: i for i, s in reversed(list(enumerate(stands.names)))}
        lows = {attitude: dip(stands.drain, one(stands.states, i)) for attitude, i in first.items()}
        line = stands.drain.line
        cases = []
        for attitude, low in lows.items():
            depth_ = 0.0 if low is None else low.depth / float(line.bore[min(low.low, len(line.bore) - 1)])
            where = "" if low is None else _place(study, stands, low.low)
            cases.append(Case(State(attitude=attitude, station=where), Quantity(depth_, "ratio")))

        def why(_verdict: Verdict, case: Case, lows: dict[str, Dip | None] = lows) -> Words:
            low = lows[case.state.attitude]
            if low is None:
                return words("It has no low loop in any attitude.")
            text = "In attitude {attitude} it has a low loop of {depth}, lowest {place}: oil stands there"
            text += ", and no gas gets by." if case.value.value >= 1 else "."
            return words(
                text, attitude=case.state.attitude, depth=Quantity(low.depth, "length"), place=case.state.station
            )

        def change(_verdict: Verdict, case: Case, lows: dict[str, Dip | None] = lows) -> Words:
            low = lows[case.state.attitude]
            assert low is not None
            text = "Lift it there by {depth:up} or more with a clamp, or shorten the hose so that it falls all the way."
            return words(text, depth=Quantity(low.depth, "length"))

        found.append(judge(limit, tag, cases, why=why, change=change, transient=stands.transient))
    return found


def _place(study: Study, stands: Stood, point: int) -> str:
    run, along = stands.drain.line.place(point)
    return words("{along} from end A of {run}", run=run, along=Quantity(along, "length")).say(study.plan.system)


def bore(study: Study) -> list[Finding]:
    """`drain.bore`: whether a drain is necked down below the hole in the turbocharger."""
    limit = study.plan.catalog.limit("drain.bore")
    found = []
    for tag, drain in drains_of(study):
        if isinstance(drain, UnknownInputError):
            continue
        hole = study.plan.components[drain.turbo].figures.get("drain_bore")
        if hole is None:
            why = words("The bore of the drain hole in {turbo} is not known.", turbo=drain.turbo)
            found.append(unchecked("drain.bore", tag, why, f"drain_bore in [components.{drain.turbo}]"))
            continue
        piece = int(drain.line.bore.argmin())
        narrow, wide = float(drain.line.bore[piece]), float(max(hole.values.values()))
        run, along = drain.line.place(piece)
        facts: dict[str, Quantity | str] = {
            "narrow": Quantity(narrow, "bore"),
            "wide": Quantity(wide, "bore"),
            "run": run,
            "along": Quantity(along, "length"),
            "turbo": drain.turbo,
        }
        text = "Its narrowest bore is {narrow}, {along} from end A of {run}; the hole in {turbo} is {wide}."
        case = Case(State(), Quantity(narrow / wide, "ratio"))
        found.append(
            judge(
                limit,
                tag,
                [case],
                why=lambda _v, _c, text=text, facts=facts: Words(text, facts),  # type: ignore[misc]
                change=lambda _v, _c, facts=facts: Words(  # type: ignore[misc]
                    "Ends and hose of {wide} or wider, with an adapter on the flange.", facts
                ),
                grades=[drain.grade],
            )
        )
    return found
