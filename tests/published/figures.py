"""A published figure, what linewright computes for it, and by how much the two may differ.

A figure is written as its source prints it, so that its last digit says how it was rounded: half of that digit is
always allowed. What else may lie between is a `Margin` with its reason: two laws that differ, an input that the source
read from a chart or rounded. No margin is taken from linewright's own answer: where two laws are compared, both are
worked out by the library `fluids` or in closed form.
"""

import math
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from fluids.friction import Churchill_1977, Colebrook


class Standing(StrEnum):
    """Where the figure comes from."""

    PUBLISHED = "published"
    MEMORY = "from memory"
    OURS = "converged for this test"
    """A check by other means than linewright's, where the source stopped short or printed no answer."""


@dataclass(frozen=True)
class Margin:
    """What may lie between, as a share of the figure or in its own unit, and why."""

    why: str
    share: float = 0.0
    amount: float = 0.0


@dataclass(frozen=True)
class Figure:
    """One figure of one example."""

    source: str
    edition: str
    example: str
    quantity: str
    unit: str
    printed: str
    """As the source prints it; 1.006e5 where the last noughts of 100 600 are none of its digits."""
    computed: float
    margins: tuple[Margin, ...] = ()
    standing: Standing = Standing.PUBLISHED

    @property
    def published(self):
        return float(self.printed)

    @property
    def half_digit(self):
        return 0.5 * 10.0 ** Decimal(self.printed).as_tuple().exponent

    @property
    def tolerance(self):
        return self.half_digit + sum(m.share * abs(self.published) + m.amount for m in self.margins)

    @property
    def difference(self):
        return self.computed - self.published

    @property
    def holds(self):
        return abs(self.difference) <= self.tolerance

    @property
    def why(self):
        sizes = ((m, f"{m.share:.2%}" if m.share else f"{m.amount:.2g}") for m in self.margins)
        return "; ".join([f"half its last digit: {self.half_digit:g}", *(f"{m.why}: {size}" for m, size in sizes)])

    @property
    def name(self):
        return f"{self.source}, {self.example}: {self.quantity} [{self.unit}]"


@dataclass(frozen=True)
class Example:
    """One worked example: where it stands, so that its figures need not say it again."""

    source: str
    edition: str
    number: str
    standing: Standing = Standing.PUBLISHED

    def figure(self, quantity, unit, printed, computed, *margins, standing=None):
        return Figure(
            self.source,
            self.edition,
            self.number,
            quantity,
            unit,
            printed,
            float(computed),
            margins,
            standing or self.standing,
        )


# ---------------------------------------------------------------- two laws of friction


def laws(reynolds, roughness, power=1.0):
    """Churchill's factor, which linewright uses, against Colebrook's, which the sources use.

    Args:
        reynolds: Reynolds number [-].
        roughness: over the bore [-].
        power: with which the figure goes with the factor; a flow under a known head goes with its root.
    """
    apart = Churchill_1977(reynolds, roughness) / Colebrook(reynolds, roughness) - 1.0
    why = f"Churchill's factor against Colebrook's at Re {reynolds:.2g} and e/D {roughness:.2g}"
    return Margin(why + ("" if power == 1.0 else f", to the power {power:.2g}"), share=abs(apart * power))


def chart(read, reynolds, roughness, power=1.0):
    """A factor that the source read from a chart, against Colebrook's root for the same inputs."""
    root = Colebrook(reynolds, roughness)
    return Margin(f"its factor of {read:g}, where Colebrook's root is {root:.4g}", share=abs(read / root - 1.0) * power)


def rounded(what, value, last, power=1.0):
    """An input that the source prints to this last digit only: half of it."""
    return Margin(f"{what} is {value:g}, printed to {last:g}", share=0.5 * last / value * power)


def reynolds(flow, bore, viscosity):
    """Reynolds number [-] of a flow [m3/s] in a bore [m], by the kinematic viscosity [m2/s]."""
    return 4.0 * flow / (math.pi * bore * viscosity)
