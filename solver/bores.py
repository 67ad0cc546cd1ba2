"""The bore of a port, where what is on it and the way inside its component meet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solver.stated import figure

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lines.assembly import Assembly
    from lines.plan import Plan

BORED = {"tee", "leg", "passage"}
"""Laws of ways inside a component that have a bore of their own."""


def port_bore(plan: Plan, made: Assembly, side: int, others: Mapping[str, Assembly]) -> tuple[float, str]:
    """The bore of the port at one end of a run [m], 0 its start, and where it is from.

    Where none is stated it is that of the way inside the component, where that has one; of a union the wider of what
    is on its two ports; else that of what goes into it.
    """
    port = made.joints[side].port
    stated, own = plan.port(port).bore, _own_bore(plan, made, side)
    if stated is not None:
        return stated, "as the plan says"
    if (inside := _way_inside(plan, port)) is not None:
        return inside, f"that of {port.partition('.')[0]}"
    beyond = _joined_to(plan, port)
    if (there := _on(beyond, others)) is not None:
        return max(own, plan.port(beyond).bore or _own_bore(plan, *there)), "the wider of its two sides"
    return own, "not stated, no narrower than what goes on it"


def way_on(plan: Plan, made: Assembly, side: int, others: Mapping[str, Assembly]) -> float | None:
    """The bore that a port of stated bore opens into [m], where it is known and not counted from its other side."""
    port = made.joints[side].port
    if plan.port(port).bore is None:
        return None
    if (inside := _way_inside(plan, port)) is not None:
        return inside
    beyond = _joined_to(plan, port)
    there = _on(beyond, others)
    # Where both are stated, the first of the two ports counts the step between them.
    if there is None or (plan.port(beyond).bore is not None and beyond < port):
        return None
    return port_bore(plan, *there, others)[0]


def _on(port: str, made: Mapping[str, Assembly]) -> tuple[Assembly, int] | None:
    """The assembly on a port, and with which of its sides, 0 its start; None where there is none."""
    for one in made.values():
        for side, joint in enumerate(one.joints):
            if joint.port == port:
                return one, side
    return None


def _own_bore(plan: Plan, made: Assembly, side: int) -> float:
    """What one end of a run is open by [m].

    Into a large space its adapter or else its end; an adapter to a port that leads on is taken to be a neck between.
    """
    port, end, adapter = made.joints[side].port, made.chosen[side], made.joints[side].adapter
    own = made.stock.bore if end is None else end.bore
    if adapter is None:
        return own
    return adapter.bore if _opens_into_a_space(plan, port) else max(adapter.bore, own)


def _way_inside(plan: Plan, port: str) -> float | None:
    """The bore [m] of the way on inside a component, where it has one of its own."""
    owner, _, point = port.partition(".")
    component = plan.components[owner]
    leads = any(path.law in BORED and {path.start, path.end} & {point, "each"} for path in component.kind.paths)
    return figure(component, "bore") if leads and component.figures.get("bore") is not None else None


def _joined_to(plan: Plan, port: str) -> str:
    """The other port of a union; empty where a port is on none."""
    owner, _, point = port.partition(".")
    kind = plan.components[owner].kind
    for path in kind.paths:
        ends = [path.start, path.end]
        if path.law == "plain" and point in ends and all(end in kind.ports for end in ends):
            return f"{owner}.{ends[1 - ends.index(point)]}"
    return ""


def _opens_into_a_space(plan: Plan, port: str) -> bool:
    owner, _, point = port.partition(".")
    paths = plan.components[owner].kind.paths
    return any(path.law == "mouth" and {path.start, path.end} & {point, "each"} for path in paths)


def bore_at(plan: Plan, made: Mapping[str, Assembly], port: str) -> float | None:
    """The bore at which a run meets a port [m]; None where no run does.

    Args:
        plan: the plan.
        made: its assemblies by the tag of their run.
        port: `component.port`.
    """
    found = _on(port, made)
    return None if found is None else port_bore(plan, *found, made)[0]
