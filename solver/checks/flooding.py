"""How high the oil stands in each turbocharger's drain, in every attitude, at every duty."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from solver.checks.judging import judge, untold
from solver.drains.drainage import BEARINGS
from solver.drains.scavenging import scavenged
from solver.drains.stood import Stood, stood
from solver.drains.surface import TOUCHES
from solver.drains.telling import cure_words, safe_words, where_it_floods, why_it_floods

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy.typing as npt

    from solver.drains.drain import Drain
    from solver.study import Study

    Array = npt.NDArray[np.float64]
    Booleans = npt.NDArray[np.bool_]


FILM = 0.002
"""What runs down a steep outlet differs by less than this from duty to duty [m]."""


def drains_of(study: Study) -> Iterator[tuple[str, Drain | UnknownInputError]]:
    """Each drain that gravity alone moves, with the tag of the run that hangs on its turbocharger."""
    for circuit in study.circuits.values():
        pumped = scavenged(circuit)
        for outlet in circuit.gravity_ports("out"):
            tag = circuit.run_on(outlet)
            if tag not in pumped:
                yield tag, study.drains[outlet.partition(".")[0]]


def known(study: Study) -> Iterator[tuple[str, Stood]]:
    """Each drain that can be told with the tag of its first run, in the states of the plan."""
    for tag, drain in drains_of(study):
        if not isinstance(drain, UnknownInputError) and drain.known:
            yield tag, stood(study.plan, drain)


def missing(study: Study) -> list[Finding]:
    """`drain.missing`: a turbocharger that is fed with oil and has no drain."""
    fed = {
        edge.component.name
        for circuit in study.circuits.values()
        for edge in circuit.edges.values()
        if edge.component is not None and edge.name == f"{edge.component.name}: {BEARINGS}"
    }
    return [
        Finding(
            rule="drain.missing",
            place=turbo,
            verdict=Verdict.FAIL,
            why=words("{turbo} is fed with oil and no hose is on its drain.", turbo=turbo),
            change=words("A run from {turbo}.drain to the drain port of a sump or a scavenge pump.", turbo=turbo),
        )
        for turbo in sorted(fed - study.drains.keys())
    ]


def surface(study: Study) -> list[Finding]:
    """`drain.surface`: how far the oil stays under the turbocharger's outlet."""
    found = []
    for tag, drain in drains_of(study):
        if isinstance(drain, UnknownInputError):
            found.append(untold("drain.surface", tag, drain, "How high the oil stands in it cannot be told"))
        else:
            found.append(_surface(study, tag, stood(study.plan, drain)))
    return found


def _surface(study: Study, tag: str, stands: Stood) -> Finding:
    drain, limit = stands.drain, study.plan.catalog.limit("drain.surface")
    failing = bool((stands.clearance[stands.told & stands.lasts] < 0).any())
    if not stands.told.all() and not failing:
        attitudes = dict.fromkeys(s.attitude for s, told in zip(stands.names, stands.told, strict=True) if not told)
        level = drain.oil.levels(stands.states.down) if drain.oil is not None else None
        why = words(
            "How high the oil stands in {sump} in {attitudes} cannot be told: {why}.",
            sump=drain.sump,
            attitudes=", ".join(attitudes),
            why=level.why if level is not None else "",
        )
        return unchecked("drain.surface", tag, why, level.needs if level is not None else "")
    if drain.at_least and not failing and stands.surface.sealed.any():
        why = words("It does not flood by what is known of the crankcase's pressure; but that is more than computed.")
        return unchecked("drain.surface", tag, why, "crankcase of the sump, measured; see breather.pressure first")
    # Of states that run past the outlet alike, that in which the oil stands highest comes first.
    rows = [int(i) for i in np.argsort(stands.standing, kind="stable") if stands.told[i]]
    cases = [Case(stands.names[i], Quantity(float(stands.clearance[i]), "length")) for i in rows]

    def row(case: Case) -> int:
        return rows[cases.index(case)]

    def why_(_verdict: Verdict, case: Case) -> Words:
        first = why_it_floods(study.plan, stands, row(case)) if case.value.value < 0 else _clear(stands, row(case))
        return _joined(first, safe_words(drain), _said(drain))

    return judge(
        limit,
        tag,
        cases,
        why=why_,
        change=lambda verdict, case: cure_words(study, stands, row(case), lasting=verdict is Verdict.FAIL),
        grades=[drain.grade],
        transient=stands.transient,
        alike=FILM,
    )


def _clear(stands: Stood, row: int) -> Words:
    """How high the oil comes where it does not flood: how far up the bore is full, in the worst state."""
    state, drain = stands.names[row], stands.drain
    facts: dict[str, Quantity | str] = {"attitude": state.attitude, "duty": state.duty, "turbo": drain.turbo}
    full = np.flatnonzero(stands.surface.surface[0][row] > stands.surface.crown[0][row] + TOUCHES)
    where = "In attitude {attitude} at {duty}, the worst,"
    if not full.size:
        return Words(f"{where} nothing stands in the drain of {{turbo}}: it runs part full from end to end.", facts)
    run, along = drain.line.place(int(full[0]))
    facts |= {"run": run, "along": Quantity(along, "length"), "clear": Quantity(float(stands.standing[row]), "length")}
    text = "oil fills the bore up to {along} from end A of {run}, {clear:down} under "
    return Words(f"{where} {text}{where_it_floods(drain)}.", facts)


def _said(drain: Drain) -> Words:
    return words("Estimated: {said}.", said="; ".join(drain.said)) if drain.said else Words("")


def _joined(*parts: Words) -> Words:
    """Sentences one after the other; each keeps its own quantities."""
    text, facts = [], dict[str, Quantity | str]()
    for i, part in enumerate(p for p in parts if p):
        names = {name: f"{name}_{i}" for name in part.parts}
        own = part.text
        for name, new in names.items():
            own = own.replace("{" + name + "}", "{" + new + "}").replace("{" + name + ":", "{" + new + ":")
        text.append(own)
        facts |= {new: part.parts[name] for name, new in names.items()}
    return Words(" ".join(text), facts)


# ---------------------------------------------------------------- its end


def outlet(study: Study) -> list[Finding]:
    """`drain.outlet`: whether a drain's end stays over the oil in the sump."""
    limit = study.plan.catalog.limit("drain.outlet")
    found = []
    for tag, stands in known(study):
        told = np.isfinite(stands.outlet)
        first = {s.attitude: i for i, s in reversed(list(enumerate(stands.names))) if told[i]}
        if not stands.drain.sump or not first:
            continue
        cases = [Case(State(attitude=a), Quantity(float(stands.outlet[i]), "length")) for a, i in first.items()]
        covered = {attitude for attitude, i in first.items() if stands.surface.covered[i]}

        def why(verdict: Verdict, case: Case, stands: Stood = stands, covered: set[str] = covered) -> Words:
            text = "In attitude {attitude} its end at {port} lies {height} over the oil in {sump}."
            if verdict is not Verdict.PASS:
                text = "In attitude {attitude} the middle of its end at {port} lies {height} under the oil in {sump}"
                text += ": no gas gets by." if case.state.attitude in covered else "."
            drain = stands.drain
            height = Quantity(abs(case.value.value), "length")
            return words(text, attitude=case.state.attitude, port=drain.line.inlet, height=height, sump=drain.sump)

        # Higher by h the end lies higher along gravity by h of its share that is vertical.
        upright = np.abs(stands.states.down[:, 2])
        higher = float(np.max(-stands.outlet[told] / np.maximum(upright[told], 1e-3)))

        def change(_verdict: Verdict, _case: Case, stands: Stood = stands, higher: float = higher) -> Words:
            return _bung(stands, higher)

        found.append(judge(limit, tag, cases, why=why, change=change, transient=stands.transient))
    return found


def _bung(stands: Stood, higher: float) -> Words:
    """The end that much higher [m], as far as the drain can still fall to it then."""
    line = stands.drain.line
    way = line.points[-1] - line.points[0] + np.array([0.0, 0.0, higher])
    fall = math.asin(-way[2] / float(np.linalg.norm(way)))
    facts: dict[str, Quantity | str] = {"more": Quantity(higher, "length")}
    if fall <= 0:
        over = Quantity(float(way[2]), "length")
        text = (
            "No bung: {more:up} higher, where it stays clear in every attitude, it lies {over} over the turbocharger's "
        )
        text += "outlet. Nearer to the middle of the oil, less oil in the sump, or the turbocharger higher; "
        return words(text + "drain.surface tells whether it floods at all.", over=over, **facts)
    facts["fall"] = Quantity(fall, "slope")
    text = (
        "A bung {more:up} higher keeps it clear in every attitude, and leaves the drain a fall of {fall} from end to "
    )
    text += "end on level ground; or nearer to the middle of the oil, or less oil in the sump. drain.surface tells "
    return words(text + "whether the turbocharger floods.", **facts)
