"""What a drain's bore carries, and what in its shape stands in the way: depth, steep lengths, dips, necks."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from lines.resize import next_sizes
from solver.checks.flooding import drains_of, known
from solver.checks.judging import judge
from solver.drains.causes import dip
from solver.drains.cures import SIZES
from solver.drains.relaid import laid_again, with_stock
from solver.drains.surface import STEEP, channels, one

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from catalogs.records import Limit, Stock
    from solver.drains.drain import Drain
    from solver.drains.stood import Stood
    from solver.study import Study

    Array = npt.NDArray[np.float64]
    Booleans = npt.NDArray[np.bool_]


def depth(study: Study) -> list[Finding]:
    """`drain.depth`: how full the hose of a drain runs, where it is not so steep that no depth can be told."""
    limit = study.plan.catalog.limit("drain.depth")
    found = []
    for tag, stands in known(study):
        here = stands.drain.line.in_hose & ((stands.surface.fall < STEEP) | (stands.surface.normal >= 1.0))
        value = np.where(here, stands.surface.normal, -np.inf)
        if here.any():
            found.append(_over_pieces(study, tag, stands, value, limit, _Told(_why_depth, _less_deep)))
    return found


def _why_depth(stands: Stood, row: int, piece: int) -> Words:
    drain, found = stands.drain, stands.surface
    state, foam = stands.names[row], drain.foams[int(drain.line.run[piece])]
    facts: dict[str, Quantity | str] = {
        "attitude": state.attitude,
        "duty": state.duty,
        "flow": Quantity(float(foam.flow[stands.states.duty[row]]), "oil_flow"),
        "fall": Quantity(math.asin(float(found.fall[row, piece])), "slope"),
        "share": Quantity(float(found.normal[row, piece]), "ratio"),
    }
    if found.fall[row, piece] <= 0:
        return Words("In attitude {attitude} a length of it does not fall ({fall}): it stands full.", facts)
    if found.normal[row, piece] >= 1.0:
        return Words("In attitude {attitude} at {duty} {flow} of foam fill its bore where it falls {fall}.", facts)
    return Words("In attitude {attitude} at {duty} {flow} of foam run {share} deep where it falls {fall}.", facts)


def _less_deep(study: Study, stands: Stood, row: int, piece: int) -> Words:
    """The fall at which the same bore runs as deep as the limit has it, and what the next sizes would make of it."""
    drain, duty = stands.drain, stands.states.duty[row : row + 1]
    wanted = study.plan.catalog.limit("drain.depth").caution_above or 1.0
    kinds, which = channels(drain.line, drain.foams)
    channel, size = kinds[int(which[piece])], float(np.linalg.norm(stands.states.gravity[row]))
    sine = float(channel.slope_at(np.array([wanted]), duty)[0]) / size
    facts: dict[str, Quantity | str] = {"wanted": Quantity(wanted, "ratio")}
    texts = []
    if sine < 1.0:
        facts["fall"] = Quantity(math.asin(sine), "slope")
        texts.append("where it fell {fall:up} it would run {wanted} deep")
    fall = float(stands.surface.fall[row, piece])
    for stock in _sizes(study, drain) if fall > 0 else []:
        wide = replace(channel, bore=stock.bore)
        deep = float(wide.normal(np.array([size * fall]), duty)[0])
        if deep <= wanted:
            facts |= {"stock": stock.id, "deep": Quantity(deep, "ratio")}
            texts.append("{stock} would run {deep} deep there")
            break
    texts.append("drain.surface tells whether it floods")
    said = "; ".join(texts)
    return Words(said[0].upper() + said[1:] + "." if said[0] != "{" else said + ".", facts)


def vertical(study: Study) -> list[Finding]:
    """`drain.vertical`: the Froude number of the foam in the steep lengths of a drain, the necks of its ends too."""
    limit = study.plan.catalog.limit("drain.vertical")
    found = []
    for tag, stands in known(study):
        here = stands.surface.fall >= STEEP
        value = np.where(here, stands.surface.froude, -np.inf)
        if here.any():
            found.append(_over_pieces(study, tag, stands, value, limit, _Told(_why_vertical, _slower)))
    return found


def _why_vertical(stands: Stood, row: int, piece: int) -> Words:
    drain = stands.drain
    state, foam = stands.names[row], drain.foams[int(drain.line.run[piece])]
    number = float(stands.surface.froude[row, piece])
    text = "At {duty} {flow} of foam run down its steep part, {bore} at its narrowest: "
    text += (
        "gas still goes up beside it (Froude number {number})."
        if number <= 1
        else "too much for gas to go up beside it, so that foam stands over the hole that it runs into (Froude number "
        "{number})."
    )
    return words(
        text,
        duty=state.duty,
        flow=Quantity(float(foam.flow[stands.states.duty[row]]), "oil_flow"),
        bore=Quantity(float(drain.line.bore[piece]), "bore"),
        number=Quantity(number, "number"),
    )


def _slower(study: Study, stands: Stood, row: int, piece: int) -> Words:
    """The next size of hose with ends that brings it within the limit, its bores wider all alike."""
    drain, limit = stands.drain, study.plan.catalog.limit("drain.vertical")
    number, own = float(stands.surface.froude[row, piece]), study.plan.catalog.stock(drain.stock).bore
    most = limit.caution_above or limit.fail_above or 1.0
    sizes = _sizes(study, drain)
    enough = [s for s in sizes if number * (own / s.bore) ** 2.5 <= most] or sizes[-1:]
    if not enough:
        return words(
            "Less oil through the turbocharger; or a wider hose with other ports: none of its kind lies there and goes "
            "onto these."
        )
    there = number * (own / enough[0].bore) ** 2.5
    return words(
        "{stock} with its ends brings it to {there}; less oil through the turbocharger does it too.",
        stock=enough[0].id,
        there=Quantity(there, "number"),
    )


def _sizes(study: Study, drain: Drain) -> list[Stock]:
    """The next sizes of its hose that lie where it does and go onto its ports."""
    return [
        stock
        for stock in next_sizes(study.plan.catalog, study.plan.catalog.stock(drain.stock), SIZES)
        if laid_again(study, drain, with_stock(study.plan, drain, stock)) is not None
    ]


@dataclass(frozen=True)
class _Told:
    """How a finding over pieces is worded, from the state and the piece of its worst case."""

    why: Callable[[Stood, int, int], Words]
    change: Callable[[Study, Stood, int, int], Words]


def _over_pieces(study: Study, tag: str, stands: Stood, value: Array, limit: Limit, told: _Told) -> Finding:
    """The finding of a limit on the largest value over the pieces of a drain; -inf where a piece has none."""
    worst = value.argmax(axis=1)
    rows = [i for i in range(len(value)) if np.isfinite(value[i, worst[i]])]
    cases = []
    for i in rows:
        state = stands.names[i]
        here = State(state.duty, state.attitude, station=_place(study, stands, int(worst[i])))
        cases.append(Case(here, Quantity(float(value[i, worst[i]]), limit.dimension)))

    def why(_verdict: Verdict, case: Case) -> Words:
        i = rows[cases.index(case)]
        return told.why(stands, i, int(worst[i]))

    def change(_verdict: Verdict, case: Case) -> Words:
        i = rows[cases.index(case)]
        return told.change(study, stands, i, int(worst[i]))

    return judge(limit, tag, cases, why=why, change=change, grades=[stands.drain.grade], transient=stands.transient)


# ---------------------------------------------------------------- its shape


def dips(study: Study) -> list[Finding]:
    """`drain.dip`: the deepest low loop of a drain over its bore, in every attitude: from a bore on it shuts it."""
    return [_dip(study, tag, stands) for tag, stands in known(study)]


def _dip(study: Study, tag: str, stands: Stood) -> Finding:
    first = {s.attitude: i for i, s in reversed(list(enumerate(stands.names)))}
    lows = {attitude: dip(stands.drain, one(stands.states, i)) for attitude, i in first.items()}
    bore_ = stands.drain.line.bore
    cases = []
    for attitude, low in lows.items():
        over = 0.0 if low is None else low.depth / float(bore_[min(low.low, len(bore_) - 1)])
        where = "" if low is None else _place(study, stands, low.low)
        cases.append(Case(State(attitude=attitude, station=where), Quantity(over, "ratio")))

    def why(_verdict: Verdict, case: Case) -> Words:
        low = lows[case.state.attitude]
        if low is None:
            return words("It has no low loop in any attitude.")
        text = "In attitude {attitude} it has a low loop of {depth}, lowest {place}: oil stands there"
        text += ", and no gas gets by." if case.value.value >= 1 else "."
        return words(text, attitude=case.state.attitude, depth=Quantity(low.depth, "length"), place=case.state.station)

    def change(_verdict: Verdict, case: Case) -> Words:
        low = lows[case.state.attitude]
        assert low is not None
        line, depth = stands.drain.line, Quantity(low.depth, "length")
        if not line.in_hose[max(low.low - 1, 0) : low.low + 1].any():
            run, along = line.place(low.low)
            made = study.assemblies[run]
            near = along < (made.cut or 0.0) / 2
            text = "That is in the metal of its end at {port}, which no clamp lifts: an end of another angle there, or "
            text += "the port turned, so that the hose leaves it falling."
            return words(text, port=made.run.start if near else made.run.end)
        text = "Lift it there by {depth:up} or more with a clamp, or shorten the hose so that it falls all the way."
        return words(text, depth=depth)

    limit = study.plan.catalog.limit("drain.dip")
    return judge(limit, tag, cases, why=why, change=change, transient=stands.transient)


def _place(study: Study, stands: Stood, point: int) -> str:
    run, along = stands.drain.line.place(point)
    return words("{along} from end A of {run}", run=run, along=Quantity(along, "length")).say(study.plan.system)


def bore(study: Study) -> list[Finding]:
    """`drain.bore`: whether a drain is necked down below the hole in the turbocharger."""
    return [_bore(study, tag, drain) for tag, drain in drains_of(study) if not isinstance(drain, UnknownInputError)]


def _bore(study: Study, tag: str, drain: Drain) -> Finding:
    hole = study.plan.components[drain.turbo].figures.get("drain_bore")
    if hole is None:
        why_not = words("The bore of the drain hole in {turbo} is not known.", turbo=drain.turbo)
        return unchecked("drain.bore", tag, why_not, f"drain_bore in [components.{drain.turbo}]")
    piece = int(drain.line.bore.argmin())
    narrow, wide = float(drain.line.bore[piece]), float(max(hole.values.values()))
    run, along = drain.line.place(piece)

    def why(_verdict: Verdict, _case: Case) -> Words:
        return words(
            "Its narrowest bore is {narrow}, {along} from end A of {run}; the hole in {turbo} is {wide}.",
            narrow=Quantity(narrow, "bore"),
            wide=Quantity(wide, "bore"),
            run=run,
            along=Quantity(along, "length"),
            turbo=drain.turbo,
        )

    def change(_verdict: Verdict, _case: Case) -> Words:
        text = "Ends and hose of {wide:up} or wider, with an adapter on the flange."
        return words(text, wide=Quantity(wide, "bore"))

    limit = study.plan.catalog.limit("drain.bore")
    case = Case(State(), Quantity(narrow / wide, "ratio"))
    return judge(limit, tag, [case], why=why, change=change, grades=[drain.grade])
