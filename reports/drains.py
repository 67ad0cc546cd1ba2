"""What a person sees of a turbocharger's drain: one page's content. No drawing."""

from __future__ import annotations

from dataclasses import dataclass
from operator import attrgetter
from typing import TYPE_CHECKING

from catalogs.errors import UnknownInputError
from lines.finding import Verdict
from lines.states import LEVEL, leans
from reports.drainprofile import RUNS_FREE, over_text, profile, slope_text, under_text
from reports.drainstates import RULES, SURFACE, drain_states
from reports.figures import taped, with_basis
from reports.leaning import lean_text, limit_rows, polar
from solver.drains.envelope import COLD, envelope
from solver.drains.stood import stood

if TYPE_CHECKING:
    from collections.abc import Iterable

    from catalogs.units import System
    from lines.finding import Finding
    from lines.plan import Plan
    from reports.drainprofile import Profile
    from reports.drainstates import DrainState, DrainStates
    from reports.leaning import LimitRow, Polar
    from solver.drains.drain import Drain
    from solver.drains.envelope import Envelope
    from solver.study import Study

FULL = 1.0 - 1e-9
NO_STATE = "the oil that it is fed is known at no duty that goes with an attitude"


@dataclass(frozen=True)
class DrainRow:
    """One attitude, as its table prints it: at the duty in which the oil stands highest."""

    number: int
    """As its mark in the envelope has it."""
    state: DrainState
    lean: str
    slope: str
    """Of the flattest piece, and where its upper end lies: the run, and how far from its end A."""
    where: str
    depth: str
    under: str
    over: str
    verdict: str


@dataclass(frozen=True)
class DrainPage:
    """One turbocharger's drain."""

    turbo: str
    way: str
    """From where it leads to where, through which runs."""
    verdict: Verdict
    says: str
    """The worst of it, in a sentence."""
    do: str
    """What would be enough, or what to measure; empty where nothing is wrong."""
    profiles: tuple[Profile, ...]
    """In its worst state, and on level ground where that is another."""
    rows: tuple[DrainRow, ...]
    states: tuple[DrainState, ...]
    """Every attitude at every duty."""
    envelope: Envelope | None
    """None where the oil in the sump is not known but on level ground."""
    no_envelope: str
    """Why there is none."""
    polar: Polar | None
    limits: tuple[LimitRow, ...]
    oils: tuple[str, ...]
    """The columns of the limits."""
    notes: tuple[str, ...]
    """What was estimated, and how sure it is."""
    system: System


@dataclass(frozen=True)
class NoDrain:
    """A drain without a picture: nothing can be told of it, or a pump draws it."""

    turbo: str
    verdict: str
    why: str
    needs: str
    lines: tuple[tuple[str, str], ...] = ()
    """What the findings say of a pump: rule and text."""

    @property
    def says(self) -> str:
        """In a sentence."""
        return f"{self.verdict.upper()}, {self.why}."


def _untold(turbo: str, why: str, needs: str) -> NoDrain:
    return NoDrain(turbo, str(Verdict.UNCHECKED), f"how it drains cannot be told: {why}", needs)


def _pumped(study: Study, drain: Drain, pump: str, found: list[Finding]) -> NoDrain:
    """What the findings say of the scavenge pump and its lines."""
    places = {pump, *(tag for tag, run in study.plan.runs.items() if pump in {_owner(run.start), _owner(run.end)})}
    own = [f for f in found if f.rule.startswith(RULES) and f.place in places]
    lines = tuple((f"{f.verdict.upper()} {f.rule.removeprefix(RULES)}", f.why.say(study.plan.system)) for f in own)
    worst = min((f.verdict for f in own), key=lambda v: v.rank, default=Verdict.UNCHECKED)
    return NoDrain(drain.turbo, str(worst), f"{pump} draws its oil: how the vehicle leans does not decide", "", lines)


def _owner(port: str) -> str:
    return port.partition(".")[0]


def drain_pages(study: Study, found: list[Finding]) -> list[DrainPage | NoDrain]:
    """The pages of the drains of a study and its findings, in the order of the plan."""
    return [_page(study, turbo, drain, found) for turbo, drain in study.drains.items()]


def _page(study: Study, turbo: str, drain: Drain | UnknownInputError, found: list[Finding]) -> DrainPage | NoDrain:
    if isinstance(drain, UnknownInputError):
        return _untold(turbo, drain.reason, drain.needs or "")
    duties = [duty for n, duty in enumerate(study.plan.duties) if n in drain.known]
    if not any(a.duties is None or set(duties) & set(a.duties) for a in study.plan.attitudes.values()):
        return _untold(turbo, NO_STATE, "its feed at a duty that goes with an attitude")
    if drain.pump is not None:
        return _pumped(study, drain, drain.pump.name, found)
    return _drawn(study, drain_states(study.plan, stood(study.plan, drain), found), found)


def _drawn(study: Study, every: DrainStates, found: list[Finding]) -> DrainPage:
    plan, drain = study.plan, every.stood.drain
    worst = min(every.each, key=lambda state: state.worth)
    highest = [min(group, key=attrgetter("stands")) for group in every.attitudes()]
    edges = _envelope(plan, drain)
    return DrainPage(
        turbo=drain.turbo,
        way=f"{drain.line.outlet} to {drain.line.inlet} by {', '.join(drain.line.runs)}",
        verdict=worst.verdict,
        says=_says(worst, plan.system),
        do=_do(worst, [f for f in found if f.place in drain.line.runs], plan.system),
        profiles=tuple(_profiles(plan, every, worst)),
        rows=tuple(_row(n, group, plan.system) for n, group in enumerate(every.attitudes(), 1)),
        states=every.each,
        envelope=edges,
        no_envelope=drain.oil.lacks if edges is None and drain.oil is not None else "",
        polar=None if edges is None else polar(edges, highest),
        limits=() if edges is None else limit_rows(edges),
        oils=() if edges is None else tuple(edges.limits),
        notes=_notes(drain, edges),
        system=plan.system,
    )


def _envelope(plan: Plan, drain: Drain) -> Envelope | None:
    """None where the sump's oil is known on level ground only."""
    if drain.oil is not None and drain.oil.body is None:
        return None
    return envelope(drain, list(plan.duties))


def _profiles(plan: Plan, every: DrainStates, worst: DrainState) -> list[Profile]:
    made = [profile(plan, every, worst, f"WORST: {worst.attitude.name} at {worst.duty}")]
    level = [state for state in every.each if state.attitude.name == LEVEL.name]
    if level and (flat := min(level, key=attrgetter("stands"))) is not worst:
        made.append(profile(plan, every, flat, f"LEVEL GROUND at {flat.duty}"))
    return made


def _says(worst: DrainState, system: System) -> str:
    """The worst state in a sentence."""
    where = f"{_verdict_text(worst.verdict, worst.rules)}: in {worst.attitude.name} at {worst.duty}"
    if worst.clearance is None:
        return f"{where} nobody can tell how high the oil stands"
    says = under_text(worst, system)
    return f"{where} the oil {says}" if says == RUNS_FREE else f"{where} the oil is {says} the flooding point"


def _do(worst: DrainState, found: list[Finding], system: System) -> str:
    """What the finding of the worst state asks for: that on flooding, if it is one of them."""
    own = [f for f in found if f.rule in worst.rules and f.verdict is worst.verdict]
    first = min(own, key=lambda f: f.rule != SURFACE, default=None)
    if first is None:
        return ""
    return first.change.say(system) or first.needs


def _row(number: int, group: list[DrainState], system: System) -> DrainRow:
    highest = min(group, key=attrgetter("stands"))
    worst = min((state.verdict for state in group), key=lambda v: v.rank)
    rules = dict.fromkeys(rule for state in group if state.verdict is worst for rule in state.rules)
    run, far = highest.place
    duty = f", {highest.duty}" if highest.clearance is not None else ""
    return DrainRow(
        number=number,
        state=highest,
        lean=lean_text(*leans(highest.attitude.down)),
        slope=slope_text(highest.fall).removeprefix("falls "),
        where=f"{run} at {taped(far, system).text}",
        depth=depth_text(max(group, key=lambda state: (state.depth is not None, state.depth or state.froude))),
        under=under_text(highest, system) + duty,
        over=over_text(highest.mouth, system),
        verdict=_verdict_text(worst, rules),
    )


def depth_text(state: DrainState) -> str:
    """The deepest even flow over the bore, or the Froude number of a plumb length, in which no depth can be told."""
    if state.depth is None:
        return f"steep, Fr {state.froude:.2f}"
    return "full" if state.depth >= FULL else f"{100 * state.depth:.0f} %"


def _verdict_text(verdict: Verdict, rules: Iterable[str]) -> str:
    loud = "pass" if verdict is Verdict.PASS else verdict.upper()
    return " ".join(filter(None, [loud, ", ".join(rule.removeprefix(RULES) for rule in rules)]))


def _notes(drain: Drain, edges: Envelope | None) -> tuple[str, ...]:
    said = [with_basis("Rests on estimates: " + "; ".join(drain.said), drain.grade)] if drain.said else []
    if edges is None and drain.oil is not None:
        said.append(f"No envelope: {drain.oil.lacks}. Needed: {drain.oil.needs}.")
    if edges is not None:
        said += [f"{name.capitalize()} oil: {', '.join(edges.duties[name])}." for name in edges.duties if name == COLD]
    return tuple(said)
