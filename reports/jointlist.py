"""The joint list: one row for each end of each run, what fails first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lines.finding import Verdict
from reports.figures import across_flats
from reports.lengths import way_on

if TYPE_CHECKING:
    from catalogs.records import HoseEnd
    from lines.assembly import Assembly
    from lines.finding import Finding
    from lines.joints import Joint
    from solver.study import Study

RULE = "joint.fit"
SPANNERS = (
    "Two spanners at every joint: one holds the port or its adapter, the other turns the nut, so that neither turns "
    "and the hose is not twisted. Torque is left open: write in what the maker of the weaker part states. "
    "Seals none: the tables name no loose sealing part for it."
)


@dataclass(frozen=True, slots=True)
class JointRow:
    """One joint."""

    verdict: Verdict | None
    """None: no check has looked at it."""
    tag: str
    end: str
    """A at `from`, B at `to`."""
    port: str
    seat: str
    """Of the port, with its thread; empty where it is not known."""
    hose_end: str
    adapter: str
    seals: str
    hex: str
    """Of the nut, with the grade of a figure that is not sure; empty where it is not known."""
    why: str
    """What is wrong or not known, and what to do; empty where it passes."""


def joint_list(study: Study, found: list[Finding]) -> list[JointRow]:
    """Every joint, fails first, then cautions, what is not known and passes, each in the plan's order."""
    fits = {finding.place: finding for finding in found if finding.rule == RULE}
    rows = []
    for made in study.assemblies.values():
        for n, which in enumerate(("from", "to")):
            rows.append(_row(study, made, n, fits.get(f"{made.tag}.{which}")))
    rank = {verdict: n for n, verdict in enumerate((Verdict.FAIL, Verdict.CAUTION, Verdict.UNCHECKED, None))}
    return sorted(rows, key=lambda row: rank.get(row.verdict, len(rank)))


def _row(study: Study, made: Assembly, n: int, fit: Finding | None) -> JointRow:
    joint, end = made.joints[n], made.ends[n].end
    return JointRow(
        verdict=fit.verdict if fit is not None else None,
        tag=made.tag,
        end="AB"[n],
        port=joint.port,
        seat=_seat(joint),
        hose_end=end.id if end is not None else "",
        adapter=joint.adapter.id if joint.adapter is not None else "",
        seals=_seals(joint),
        hex=_hex(end, joint),
        why=_why(study, fit),
    )


def _seat(joint: Joint) -> str:
    thread = joint.port_thread
    return "" if thread is None else f"{thread.id}, {thread.thread}"


def _seals(joint: Joint) -> str:
    """`2 x washer M10`; empty where it is not known what meets there."""
    if not joint.fits:
        return ""
    return ", ".join(f"{number} x {name}" for name, number in joint.seals) or "none"


def _hex(end: HoseEnd | None, joint: Joint) -> str:
    if end is not None and way_on(end) == "spigot":
        return "no nut"
    for record in (end, joint.end_thread):
        if record is not None and record.hex is not None:
            grade = record.grade_of("hex")
            return across_flats(record.hex) + (f" ({grade})" if grade.provisional else "")
    return ""


def _why(study: Study, fit: Finding | None) -> str:
    if fit is None or fit.verdict is Verdict.PASS:
        return ""
    system = study.plan.system
    needs = f"Needed: {fit.needs}." if fit.needs else ""
    return " ".join(filter(None, [fit.why.say(system), fit.change.say(system), needs]))
