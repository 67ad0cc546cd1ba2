"""The joint list: both ends of each run together, the runs with what fails first."""

from __future__ import annotations

import re
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
    "Seals none: the tables name no loose sealing part for it. * from memory, ** illustrative: check the spanner."
)


@dataclass(frozen=True, slots=True)
class JointRow:
    """One joint."""

    verdict: Verdict | None
    """None: no check has looked at it."""
    tag: str
    stock: str
    end: str
    """A at `from`, B at `to`."""
    port: str
    seat: str
    """Of the port, with its thread; empty where it is not known."""
    hose_end: str
    form: str
    """The same without its stock's name."""
    adapter: str
    seals: str
    hex: str
    """Of the nut, with the grade of a figure that is not sure; empty where it is not known."""
    why: str
    """What is wrong or not known, and what to do; empty where it passes."""


def joint_list(study: Study, found: list[Finding]) -> list[JointRow]:
    """Every joint, A and B of a run together: runs with a fail first, then cautions, what is not known, passes."""
    fits = {finding.place: finding for finding in found if finding.rule == RULE}
    rows = []
    for made in study.assemblies.values():
        for n, which in enumerate(("from", "to")):
            rows.append(_row(study, made, n, fits.get(f"{made.tag}.{which}")))
    rank = {verdict: n for n, verdict in enumerate((Verdict.FAIL, Verdict.CAUTION, Verdict.UNCHECKED, None))}
    worst: dict[str, int] = {}
    for row in rows:
        worst[row.tag] = min(worst.get(row.tag, len(rank)), rank.get(row.verdict, len(rank)))
    return sorted(rows, key=lambda row: worst[row.tag])


def _row(study: Study, made: Assembly, n: int, fit: Finding | None) -> JointRow:
    joint, end = made.joints[n], made.ends[n].end
    return JointRow(
        verdict=fit.verdict if fit is not None else None,
        tag=made.tag,
        stock=made.stock.id,
        end="AB"[n],
        port=joint.port,
        seat=_seat(joint),
        hose_end=end.id if end is not None else "",
        form=end.id.removeprefix(f"{made.stock.id} ") if end is not None else "",
        adapter=joint.adapter.id if joint.adapter is not None else "",
        seals=_seals(joint),
        hex=_hex(end, joint),
        why=_why(study, fit),
    )


def _seat(joint: Joint) -> str:
    """Seat and size of a port with its thread, where the name does not say it."""
    thread = joint.port_thread
    if thread is None:
        return ""
    size = re.sub(r" UN\w*$", "", thread.thread)
    return (
        thread.id if size.replace(" ", "").removesuffix(".0") in thread.id or "barb" in size else f"{thread.id}, {size}"
    )


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
