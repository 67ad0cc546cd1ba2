"""Whether the air in a surge tank gets out: its overflow leaves from its highest place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalogs.errors import UnknownInputError
from catalogs.units import Quantity
from lines.finding import Case, Finding, State, Verdict, Words, unchecked, words
from solver.checks.judging import judge
from solver.fuels import fuel_circuits, tanks
from solver.liquid import liquid_in
from solver.surging import KIND, mouths_of

if TYPE_CHECKING:
    from lines.graph import Circuit
    from lines.plan import Component
    from solver.study import Study

RULE = "fuel.surge.air"


def gets_out(study: Study) -> list[Finding]:
    """`fuel.surge.air`: how high the top of each surge tank stands over the mouth of its overflow.

    Of those that have one; the vehicle level.
    """
    found = []
    for circuit in fuel_circuits(study):
        for tank in (one for one in tanks(circuit) if one.kind.id == KIND):
            finding = _of_tank(study, circuit, tank)
            found += [finding] if finding is not None else []
    return found


def _of_tank(study: Study, circuit: Circuit, tank: Component) -> Finding | None:
    over = [edge.end for edge in mouths_of(circuit, tank).over]
    if not over:
        return None
    placed = {port: height for port in tank.ports if (height := _mouth(study, f"{tank.name}.{port}")) is not None}
    known = [placed[ref.partition(".")[2]] for ref in over if ref.partition(".")[2] in placed]
    try:
        body = liquid_in(tank, "full").body
    except UnknownInputError:
        body = None
    if len(known) < len(over) or body is None:
        text = "Whether the air in {tank} gets out by {over} cannot be told: {lacks}."
        lacks = "how high its top is is not known" if len(known) == len(over) else "how high that lies is not known"
        needs = f"corner and opposite of the box in [components.{tank.name}], up to its top"
        needs += "" if len(known) == len(over) else f"; `at` or `height` of {' and '.join(over)}"
        return unchecked(RULE, tank.name, words(text, tank=tank.name, over=" and ".join(over), lacks=lacks), needs)
    top = max(float(body[:, 1, 2].max()), *placed.values())
    limit = study.plan.catalog.limit(RULE)

    def why(verdict: Verdict, case: Case) -> Words:
        text = "{over}, by which {tank} runs over, lies {high} under its top"
        text += "." if verdict is Verdict.PASS else ": air stays over it, and the tank never comes full."
        return words(text, over=" and ".join(over), tank=tank.name, high=case.value)

    change = words("The overflow of {tank} from its highest place, rising to where it leaves.", tank=tank.name)
    cases = [Case(State(), Quantity(top - max(known), "length"))]
    return judge(limit, tank.name, cases, why=why, change=lambda _verdict, _case: change)


def _mouth(study: Study, port: str) -> float | None:
    """How high a port begins [m]: where a tube inside ends, else where it lies; None where that is not known."""
    table = study.plan.port(port)
    return table.reaches[2] if table.reaches is not None else table.z
