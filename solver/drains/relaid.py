"""A drain of a changed plan: its runs laid again, with the ends and bends that they take then."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.errors import UnknownInputError
from lines.assembly import assembly
from solver.drains.line import drain_line, flooding_point

if TYPE_CHECKING:
    from typing import Any

    import numpy.typing as npt

    from catalogs.records import Stock
    from lines.plan import Plan
    from solver.drains.drain import Drain
    from solver.study import Study

    Array = npt.NDArray[np.float64]


def laid_again(study: Study, drain: Drain, plan: Plan) -> Drain | None:
    """A drain of a study as it lies in another plan; None where a hose of it cannot lie there or join its ports."""
    tags = drain.line.runs
    made = study.assemblies | {tag: assembly(plan, tag) for tag in tags}
    if any((route := made[tag].route) is None or not route.fits for tag in tags):
        return None
    if any(joint.fits is False for tag in tags for joint in made[tag].joints):
        return None
    try:
        line = drain_line(plan, study.circuits[plan.runs[tags[0]].circuit], drain.line.outlet, made)
        floods = flooding_point(plan, line)
    except UnknownInputError:
        return None
    return replace(drain, line=line, stock=made[tags[0]].stock.id, floods=floods)


def with_outlet_raised(plan: Plan, drain: Drain, by: float) -> Plan:
    """The plan with a turbocharger's outlet, and the height at which it floods, higher by a length [m]."""
    component = plan.components[drain.turbo]
    figures = component.figures
    if figures.get("floods_at") is not None:
        values = {duty: height + by for duty, height in figures["floods_at"].values.items()}
        figures = figures | {"floods_at": type(figures["floods_at"])(values)}
    raised = replace(plan, components=plan.components | {drain.turbo: replace(component, figures=figures)})
    return _drawn_along(_moved(raised, drain.line.outlet, np.array([0.0, 0.0, by])), drain, np.array([0.0, 0.0, by]), 0)


def with_end_moved(plan: Plan, drain: Drain, by: Array) -> Plan:
    """The plan with the port that a drain ends at moved by a way, shape (3,) [m]."""
    return _drawn_along(_moved(plan, drain.line.inlet, by), drain, by, -1)


def with_hose_straight(plan: Plan, drain: Drain) -> Plan | None:
    """The plan with a drain's one hose straight, both ports pointing along it; None where it is of several runs."""
    if len(drain.line.runs) != 1:
        return None
    tag = drain.line.runs[0]
    ends = [np.array(plan.port(ref).at) for ref in (drain.line.outlet, drain.line.inlet)]
    way = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    plan = with_port(plan, drain.line.outlet, points=tuple(way.tolist()))
    plan = with_port(plan, drain.line.inlet, points=tuple((-way).tolist()))
    run = plan.runs[tag].model_copy(update={"via": (), "path": "", "ends": ("auto", "auto"), "clock": None})
    return replace(plan, runs=plan.runs | {tag: run})


def with_stock(plan: Plan, drain: Drain, stock: Stock) -> Plan:
    """The plan with a drain's runs in another stock, and ports of its size where theirs was that of the old one."""
    old = plan.catalog.stock(drain.stock).dash
    runs = {
        tag: plan.runs[tag].model_copy(update={"stock": stock.id, "ends": ("auto", "auto")}) for tag in drain.line.runs
    }
    plan = replace(plan, runs=plan.runs | runs)
    for run in runs.values():
        for ref in (run.start, run.end):
            family, _, dash = plan.port(ref).thread.rpartition(" -")
            if dash == str(old):
                plan = with_port(plan, ref, thread=f"{family} -{stock.dash}")
    return plan


def with_port(plan: Plan, ref: str, **facts: Any) -> Plan:
    """The plan with other facts of a port."""
    name, _, port = ref.partition(".")
    component = plan.components[name]
    ports = component.ports | {port: component.port(port).model_copy(update=facts)}
    return replace(plan, components=plan.components | {name: replace(component, ports=ports)})


def _moved(plan: Plan, ref: str, by: Array) -> Plan:
    x, y, z = (np.array(plan.port(ref).at) + by).tolist()
    return with_port(plan, ref, at=(x, y, z))


def _drawn_along(plan: Plan, drain: Drain, by: Array, end: int) -> Plan:
    """The points of the run at an end that was moved drawn along with it, less and less to the run's other end.

    Args:
        plan: with the port moved.
        drain: as it was.
        by: how far it was moved, shape (3,) [m].
        end: 0 the upper end of the drain, -1 its lower end.
    """
    tag = drain.line.runs[end]
    run = plan.runs[tag]
    if not run.via:
        return plan
    share = np.arange(1, len(run.via) + 1) / (len(run.via) + 1)
    # Counted from the run's start: the share grows toward the end that was moved.
    grows = drain.line.forward[end] == (end == -1)
    shares = share if grows else share[::-1]
    via = tuple(tuple((np.array(p) + s * by).tolist()) for p, s in zip(run.via, shares, strict=True))
    return replace(plan, runs=plan.runs | {tag: run.model_copy(update={"via": via})})
