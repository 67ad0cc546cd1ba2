"""A gas is shown in units of its own: its pressures are small and its flows are large."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from solver.solution import Solution

_OF_A_GAS = {"volume_flow": "gas_flow", "pressure": "gas_pressure", "pressure_drop": "gas_drop"}


def as_shown(answer: Solution, dimension: str) -> str:
    """The dimension whose printed unit suits the fluid of a circuit."""
    return _OF_A_GAS.get(dimension, dimension) if answer.model.gas else dimension
