"""Fuel demand of a duty."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalogs.errors import UnknownInputError

if TYPE_CHECKING:
    from lines.plan import DutyTable


def fuel_demand(duty: str, table: DutyTable, density: float, stoichiometric: float | None = None) -> float:
    """Volume flow of fuel that the engine burns [m3/s].

    As stated (`burn`); or what the air that it breathes burns at its measured lambda, or crank power times brake
    specific fuel consumption, crank power from wheel power and the share lost in the driveline: the larger where both
    are stated.

    Args:
        duty: its name, for the error.
        table: what the plan says of it.
        density: of the fuel at its temperature [kg/m3].
        stoichiometric: mass of air that burns a mass of the fuel without rest [-]; None where nobody states it.

    Raises:
        UnknownInputError: none of them is stated.
    """
    if table.burn is not None:
        return table.burn.value / density if table.burn.dimension == "mass_flow" else table.burn.value
    found = [flow for flow in (_by_air(duty, table, stoichiometric), _by_power(duty, table)) if flow is not None]
    if not found:
        lacks = [key for key in ("driveline_loss", "bsfc") if getattr(table, key) is None]
        if table.wheel_power is not None and table.crank_power is None:
            raise UnknownInputError(f"the fuel demand in {duty} is not known", needs=f"{' and '.join(lacks)} in {duty}")
        raise UnknownInputError(
            f"the fuel demand in {duty} is not known",
            needs=f"burn in {duty}, or crank_power (or wheel_power with driveline_loss) and bsfc, or air_flow and "
            "lambda",
        )
    return max(found) / density


def _by_air(duty: str, table: DutyTable, stoichiometric: float | None) -> float | None:
    """Mass flow of fuel by the air and its lambda [kg/s]; None where they are not stated."""
    if table.air_flow is None or table.air_ratio is None:
        return None
    if stoichiometric is None:
        raise UnknownInputError(
            f"what the air of {duty} burns is not known: the stoichiometric ratio of its fuel is in no table",
            needs="stoichiometric of the fuel in the shop's fluids, as the mass of air over that of fuel",
        )
    return table.air_flow / (table.air_ratio * stoichiometric)


def _by_power(duty: str, table: DutyTable) -> float | None:
    """Mass flow of fuel by power and consumption [kg/s]; None where they are not stated."""
    power = crank_power(duty, table)
    return None if power is None or table.bsfc is None else power * table.bsfc


def crank_power(duty: str, table: DutyTable) -> float | None:
    """Power at the crank, as stated or from that at the wheels [W]; None where neither is stated.

    Args:
        duty: its name, for the error.
        table: what the plan says of it.

    Raises:
        UnknownInputError: the driveline takes all of it.
    """
    power = table.crank_power
    if power is None and table.wheel_power is not None and table.driveline_loss is not None:
        if not 0 <= table.driveline_loss < 1:
            raise UnknownInputError(f"no power arrives in {duty}", needs=f"driveline_loss in {duty}, under 100 %")
        power = table.wheel_power / (1.0 - table.driveline_loss)
    return power
