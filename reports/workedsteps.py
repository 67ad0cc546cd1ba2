"""The lines of a worked calculation that are the same for every run: the fluid, the velocity, the friction factor."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from catalogs.bounds import STANDARD_ATMOSPHERE
from catalogs.expansion import expansions
from catalogs.units import Quantity, show
from reports.equations import NUMBER, Hand, Step
from solver.friction import ITO, ROUGHEST, SLOWEST
from solver.properties import density, dynamic_viscosity, kinematic_viscosity, outside

if TYPE_CHECKING:
    from catalogs.fluids import Fluid, Property

CHURCHILL = "Churchill, Chem. Eng. 84(24), 1977, pp. 91-92, as the Darcy factor"
HELD = f"s is held under {ROUGHEST}, where no flow is turbulent"
SLOW = "Poiseuille, which is Churchill's factor at so low a Reynolds number"
WHITE = "White, Proc. R. Soc. A 123, 1929: laminar flow in a curve; 1 up to a Dean number of 11.6"
SCHMIDT = "Schmidt, Chem. Ing. Tech. 39, 1967: where laminar flow in a curve ends"
LATER = (
    "Churchill's onset of turbulence, moved so that his two branches cross as much later as laminar flow lasts longer"
)
CURVED = f"Churchill's turbulent factor and what a curve adds, {ITO} sqrt(D/Dc), Ito, J. Basic Eng. 81, 1959"


# ---------------------------------------------------------------- the fluid


class Properties(NamedTuple):
    """The fluid at one temperature, with the lines that say so."""

    steps: list[Step]
    density: Step
    viscosity: Step
    """Kinematic."""


def fluid_steps(hand: Hand, fluid: Fluid, temperature: float, mean: float | None) -> Properties:
    """Density and kinematic viscosity.

    Args:
        hand: works in the reader's units.
        fluid: the fluid.
        temperature: [K].
        mean: of a gas, the mean pressure along the run [Pa absolute]; None for a liquid.
    """
    at = np.array([temperature])
    stated = Quantity(float(density(fluid, at)[0]), "density")
    name, symbol = ("density", "rho") if mean is None else ("density at one atmosphere", "rho1")
    steps = [_of_table(hand, name, symbol, stated, fluid.density, temperature)]
    if mean is not None:
        steps += _of_gas(hand, steps[0], mean)
    rho = steps[-1]
    sort = fluid.viscosity.values[0].dimension
    if sort == "kinematic_viscosity" and mean is None:
        found = Quantity(float(kinematic_viscosity(fluid, at)[0]), sort)
        steps.append(_of_table(hand, "kinematic viscosity", "nu", found, fluid.viscosity, temperature))
    else:
        found = Quantity(float(dynamic_viscosity(fluid, at)[0]), "dynamic_viscosity")
        mu = _of_table(hand, "dynamic viscosity", "mu", found, fluid.viscosity, temperature)
        steps += [mu, hand.step("kinematic viscosity", "nu = mu / rho", "kinematic_viscosity", mu=mu, rho=rho)]
    return Properties(steps, rho, steps[-1])


def _of_gas(hand: Hand, stated: Step, mean: float) -> list[Step]:
    """The density of a gas at the mean pressure of its run."""
    p = hand.given("mean pressure of the run, absolute", "p", Quantity(mean, "pressure"), "the solution of the circuit")
    p1 = hand.given("one atmosphere", "p1", Quantity(STANDARD_ATMOSPHERE, "pressure"))
    rho = hand.step("density", "rho = rho1 x p / p1", "density", "ideal gas", rho1=stated, p=p, p1=p1)
    return [p, p1, rho]


def _of_table(hand: Hand, name: str, symbol: str, found: Quantity, table: Property, temperature: float) -> Step:
    sources = (law_of(hand, table, temperature), f"{table.source} ({table.grade})")
    far = bool(outside(table, np.array([temperature]))[0])
    return replace(hand.given(name, symbol, found, *sources), note="EXTRAPOLATED" if far else "")


def law_of(hand: Hand, table: Property, temperature: float) -> str:
    """How a table of a fluid goes to a temperature [K], and from which of its points."""
    points = [
        f"{hand.says(value)} at {show(Quantity(t, 'temperature'), hand.system)}"
        for t, value in zip(table.at, (_quantity(value) for value in table.values), strict=True)
    ]
    if expansions(table.law):
        return f"API MPMS chapter 11.1 (ASTM D1250), {table.law}, from {points[0]}"
    if len(points) == 1:
        return f"{points[0]}, the one value that is known"
    i = int(np.clip(np.searchsorted(table.at, temperature, side="right") - 1, 0, len(points) - 2))
    ways = {
        "walther": "ASTM D341 through",
        "log": "its logarithm straight against 1/T, T absolute, through",
        "line": "straight through",
    }
    return f"{ways[table.law]} {points[i]} and {points[i + 1]}"


def _quantity(value: float | Quantity) -> Quantity:
    return value if isinstance(value, Quantity) else Quantity(value, "density")


# ---------------------------------------------------------------- flow in a bore


def velocity_steps(hand: Hand, d: Step, flow: Step, viscosity: Step) -> list[Step]:
    """Velocity and Reynolds number in a bore."""
    v = hand.step("velocity", "v = 4 x Q / (pi x D^2)", "velocity", Q=flow, D=d)
    return [v, hand.step("Reynolds number", "Re = v x D / nu", NUMBER, v=v, D=d, nu=viscosity)]


def friction_steps(hand: Hand, re: Step, d: Step, e: Step, dc: Step | None) -> list[Step]:
    """The Darcy friction factor in a bore; it is the last line.

    Args:
        hand: works in the reader's units.
        re: Reynolds number.
        d: bore.
        e: roughness.
        dc: diameter of the centreline's curve; None for straight.
    """
    if re.quantity.value <= SLOWEST:
        return [hand.step("friction factor", "f = 64 / Re", NUMBER, SLOW, Re=re)]
    r = hand.step("relative roughness", "r = e / D", NUMBER, e=e, D=d)
    s = hand.step("wall and Reynolds number", "s = (7 / Re)^0.9 + 0.27 x r", NUMBER, CHURCHILL, Re=re, r=r)
    if s.quantity.value > ROUGHEST:
        equation = f"s = min((7 / Re)^0.9 + 0.27 x r, {ROUGHEST})"
        s = hand.step("wall and Reynolds number", equation, NUMBER, CHURCHILL, HELD, Re=re, r=r)
    if dc is None:
        return [r, s, *_straight(hand, re, s)]
    k = hand.step("curve", "k = D / Dc", NUMBER, D=d, Dc=dc)
    return [r, s, k, *_curved(hand, re, s, k)]


def _straight(hand: Hand, re: Step, s: Step) -> list[Step]:
    a = hand.step("Churchill's A", "A = (2.457 x ln(1 / s))^16", NUMBER, CHURCHILL, s=s)
    b = hand.step("Churchill's B", "B = (37530 / Re)^16", NUMBER, CHURCHILL, Re=re)
    equation = "f = 8 x ((8 / Re)^12 + (A + B)^-1.5)^(1 / 12)"
    return [a, b, hand.step("friction factor", equation, NUMBER, CHURCHILL, Re=re, A=a, B=b)]


def _curved(hand: Hand, re: Step, s: Step, k: Step) -> list[Step]:
    dean = hand.step("Dean number", "De = Re x sqrt(k)", NUMBER, Re=re, k=k)
    w = _white(hand, "laminar branch, times", "w", "De", dean)
    rc = hand.step("Re where laminar flow ends", "Rc = 2300 x (1 + 8.6 x k^0.45)", NUMBER, SCHMIDT, k=k)
    there = hand.step("Dean number there", "Dk = Rc x sqrt(k)", NUMBER, Rc=rc, k=k)
    wc = _white(hand, "laminar branch there, times", "wc", "Dk", there)
    n = hand.step("what 37530 becomes", "N = 37530 x sqrt((Rc / 2300)^3 / wc)", NUMBER, LATER, Rc=rc, wc=wc)
    equation = f"A = (1 / (2.457 x ln(1 / s))^2 + {ITO} / 8 x sqrt(k))^-8"
    a = hand.step("A in the curve", equation, NUMBER, CURVED, s=s, k=k)
    b = hand.step("B in the curve", "B = (N / Re)^16", NUMBER, LATER, N=n, Re=re)
    equation = "f = 8 x ((8 x w / Re)^12 + (A + B)^-1.5)^(1 / 12)"
    f = hand.step("friction factor", equation, NUMBER, CHURCHILL, w=w, Re=re, A=a, B=b)
    return [dean, w, rc, there, wc, n, a, b, f]


def _white(hand: Hand, name: str, symbol: str, number: str, dean: Step) -> Step:
    """White's factor: what a curve makes of laminar flow at a Dean number of that symbol."""
    if dean.quantity.value <= 11.6:
        return hand.step(name, f"{symbol} = 1", NUMBER, WHITE)
    equation = f"{symbol} = 1 / (1 - (1 - (11.6 / {number})^0.45)^(1 / 0.45))"
    return hand.step(name, equation, NUMBER, WHITE, **{number: dean})
