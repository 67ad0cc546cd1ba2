"""What a fitting costs: coefficients of elbows, bends, changes of bore, holes and rows of the losses table.

Every loss is of total pressure, rho v^2 / 2 with v the mean velocity, and has the one form of a `Part`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from catalogs.units import Quantity
from lines.finding import Words, words
from solver.friction import ITO, darcy_factor

if TYPE_CHECKING:
    from catalogs.catalog import Catalog
    from catalogs.grades import Grade
    from catalogs.records import HoseEnd, Loss

SHARP_ENTRANCE = 160.0
"""Laminar part of K out of a large space, Hooper, Chem. Eng., 24 Aug 1981, from memory."""
BENT = {45: "elbow-45-long", 90: "elbow-90", 180: "elbow-180-bend"}
"""Rows of the losses table for an end of bent tube, by its angle [deg]: radii of one and a half bores to two."""
FORGED = {45: "elbow-45", 90: "elbow-90-threaded", 180: "elbow-180"}
"""… and for one of one bore's radius, or whose radius is not stated."""
TIGHT = 1.25
"""Radius over bore that is nearer to the one than to the other."""
NARROWING = (
    "narrowing: K = 0.0696 (1 - b^5) m^2 + (m - 1)^2, m = 1 + 0.622 (1 - 0.215 b^2 - 0.785 b^5), b the narrow bore "
    "over the wide one, Rennels (2012) eqs. 10.3 and 10.4"
)
WIDENING = "widening: K = (1 - b^2)^2, Borda and Carnot"
SLOWLY = "K1 = 160 (1 - b^4)/b, 160 at most: the viscous part of Hooper, Chem. Eng., 7 Nov 1988, from memory"
BENDING = (
    "bend: K = (0.1 + 2.4 g) h + 6.6 g (sqrt(h) + h)/r^(4 a/pi), h = sin(a/2), 1 over 180 deg, g the factor of the "
    "straight bore at Re 1e5, r the radius over the bore, a the angle in radians, Rennels (2012) eq. 15.1 without its "
    "friction along the arc; less 0.029 a sqrt(r/2), what the arc costs more at Re 1e5, Ito (1959)"
)
BENDING_SLOWLY = (
    "K1 = 1600 a/pi, Silverberg and Darby, Chem. Eng. 106(7), 1999, less 64 a r of the arc; K and K1 no less than 0"
)
THREE_K = "K = k (1 + kd/d^0.3), d the bore in inches"
DRAWN = "between two angles, or none and the first, K and K1 drawn in straight lines: an estimate"
HOLE = (
    "K = (sqrt(1 - b^4 (1 - C^2))/C - b^2)^2, b the hole over its line, ISO 5167-2; K1 = 12 pi + 64 L/d, Sampson "
    "(1891) and Poiseuille"
)


@dataclass(frozen=True, slots=True)
class Part:
    """drop = viscous mu q + inertial rho q|q|, with its own inertial coefficient for flow the other way."""

    name: str
    viscous: float
    inertial: float
    inertial_back: float
    bore: float | None = None
    """On whose velocity head its K and K1 stand [m]; None where it has none, as by measured points."""
    figures: tuple[Words, ...] = ()
    """What its coefficients follow from …"""
    sources: tuple[str, ...] = ()
    """… and by which law."""

    @property
    def costs(self) -> bool:
        return max(self.viscous, self.inertial, self.inertial_back) > 0.0

    def coefficients(self, *, back: bool) -> tuple[float, float]:
        """K and K1 [-] on the velocity head in its bore, for flow its own way or back: `coefficient` undone."""
        assert self.bore is not None
        area = math.pi * self.bore**2 / 4
        inertial = self.inertial_back if back else self.inertial
        return 2.0 * area**2 * inertial, 2.0 * self.bore * area * self.viscous


def coefficient(name: str, bore: float, k: float, k1: float = 0.0, *, back: float | None = None) -> Part:
    """A loss K + K1/Re on the velocity head in a bore [m] as a part.

    With v = q/A: K rho v|v|/2 is inertial, (K1/Re) rho v|v|/2 = K1 mu v / (2 D) is viscous.

    >>> part = coefficient("elbow", 0.01, 2.0)
    >>> round(part.inertial * 800 * (1e-4)**2)
    1297
    """
    area = math.pi * bore**2 / 4
    each = 1.0 / (2.0 * area**2)
    return Part(name, k1 / (2.0 * bore * area), k * each, (k if back is None else back) * each, bore)


def from_loss(name: str, loss: Loss, bore: float) -> Part:
    """A row of the losses table on a bore [m].

    >>> from catalogs.catalog import Catalog
    >>> from_loss("tee", Catalog().loss("tee-run"), 0.0127).viscous > 0
    True
    """
    part = coefficient(name, bore, loss.turbulent(bore), loss.k1)
    return replace(part, figures=(_row(loss),), sources=(loss.source, THREE_K))


def _row(loss: Loss) -> Words:
    return words(
        "{means}: k {k}, kd {kd}, K1 {k1}", means=loss.means, k=f"{loss.k:g}", kd=f"{loss.kd:g}", k1=f"{loss.k1:g}"
    )


def turned(part: Part) -> Part:
    """The same part met from its other side."""
    return replace(part, inertial=part.inertial_back, inertial_back=part.inertial)


def in_series(name: str, *parts: Part) -> Part:
    """Parts one after the other as one, on the narrowest of their bores."""
    return Part(
        name,
        viscous=sum(p.viscous for p in parts),
        inertial=sum(p.inertial for p in parts),
        inertial_back=sum(p.inertial_back for p in parts),
        bore=min((p.bore for p in parts if p.bore is not None), default=None),
        figures=tuple(said for p in parts for said in p.figures),
        sources=tuple(dict.fromkeys(source for p in parts for source in p.sources)),
    )


# ---------------------------------------------------------------- a change of bore


def contraction(name: str, wide: float, narrow: float) -> Part:
    """A sharp change of bore from `wide` to `narrow` in the direction of flow [m], and its widening the other way.

    All on the velocity in the narrow bore. Narrowing by Rennels (2012) eqs. 10.3 and 10.4; widening by Borda and
    Carnot, (1 - beta^2)^2. At low Reynolds numbers either adds 160/Re (1 - beta^4) on the wide bore's Re, the viscous
    part of Hooper's law for narrowing (Chem. Eng., 7 Nov 1988), but no more than his 160/Re for a sharp entrance.

    The whole of that law in laminar flow is (1.2 + 160/Re) (1 - beta^4). Its inertial part makes the long profile of
    laminar flow, by 0.4 of a head more than here at the bores of hose ends; a widening behind gives most of that back.
    So in and out of a neck together this is half too much at Re 100, right at 300 and 40 % too little at 2000.

    >>> contraction("none", 0.01, 0.01).inertial
    0.0
    """
    if narrow >= wide:
        return Part(name, 0.0, 0.0, 0.0, wide)
    from fluids.fittings import contraction_sharp, diffuser_sharp

    beta = narrow / wide
    narrowing = float(contraction_sharp(Di1=wide, Di2=narrow))
    widening = float(diffuser_sharp(Di1=narrow, Di2=wide))
    viscous = SHARP_ENTRANCE * min((1.0 - beta**4) / beta, 1.0)
    part = coefficient(name, narrow, narrowing, viscous, back=widening)
    bores = {"wide": Quantity(wide, "bore"), "narrow": Quantity(narrow, "bore")}
    return replace(part, figures=(words("bores {wide} and {narrow}", **bores),), sources=(NARROWING, WIDENING, SLOWLY))


def change(name: str, before: float, after: float) -> Part:
    """A sharp change of bore [m] in the direction of flow, whichever is the wider."""
    return contraction(name, before, after) if before >= after else turned(contraction(name, after, before))


# ---------------------------------------------------------------- bends and elbows


def curvature(bore: float, radius: float) -> float:
    """Bore over the diameter of the centreline's curve [-], for the radius of that [m]; 1 at most."""
    return 1.0 / (2.0 * _ratio(bore, radius))


def _ratio(bore: float, radius: float) -> float:
    return max(radius / bore, 0.5)


def bend(name: str, bore: float, radius: float, turn: float, roughness: float) -> Part:
    """What a bend of a hose or tube costs beyond the friction along its arc, which is that of a curved bore.

    A long arc costs what a coil does: friction at the factor of a curved bore, which is right at every Reynolds number
    and grows with the arc. A sharp bend costs more than its short arc can show: the flow leaves its inner wall and
    settles only behind it. So this is a bend's coefficient by Rennels (2012) eq. 15.1 without its friction along the
    arc, less what the curve adds to that friction at Re 1e5 (Ito 1959). In slow flow it is 800/Re for a quarter turn
    (Silverberg and Darby 1999) less 64/Re of the arc. Either is never below none: then the arc is all of it.

    Args:
        name: its name.
        bore: [m].
        radius: of the centreline [m].
        turn: [rad].
        roughness: [m].

    >>> bend("gentle", 0.01, 0.2, 1.57, 1e-6).viscous
    0.0
    """
    ratio = _ratio(bore, radius)
    f = float(darcy_factor(np.array([1e5]), np.array([roughness / bore]))[0])
    half = math.sin(min(turn, math.pi) / 2)
    sharp = (0.1 + 2.4 * f) * half + 6.6 * f * (math.sqrt(half) + half) / ratio ** (4.0 * turn / math.pi)
    coil = ITO * math.sqrt(curvature(bore, radius)) * turn * ratio
    k1 = 800.0 * turn / (math.pi / 2) - 64.0 * turn * ratio
    part = coefficient(name, bore, max(0.0, sharp - coil), max(0.0, k1))
    a, r = Quantity(turn, "angle"), Quantity(radius, "bore")
    said = words("{a} at a radius of {r}, g {g}", a=a, r=r, g=f"{f:.5f}")
    return replace(part, figures=(said,), sources=(BENDING, BENDING_SLOWLY))


def elbow(catalog: Catalog, name: str, end: HoseEnd) -> tuple[Part, Grade, str]:
    """The elbow of an angled end on its own bore, the grade of its figures, and what of it is an estimate.

    Between no angle and the published 45, 90 and 180 deg it is drawn in straight lines. A banjo is taken for a mitred
    corner.
    """
    if catalog.thread(end.thread).seat == "banjo":
        row = catalog.loss("elbow-90-mitre")
        return (
            from_loss(name, row, end.bore),
            row.grade,
            "taken for a mitred corner, as the loss of a banjo is published nowhere",
        )
    table = BENT if end.bend_ratio is not None and end.bend_ratio >= TIGHT else FORGED
    rows, at = [catalog.loss(key) for key in table.values()], [0, *table]
    degrees = math.degrees(end.angle)
    k = float(np.interp(degrees, at, [0.0, *(row.turbulent(end.bore) for row in rows)]))
    k1 = float(np.interp(degrees, at, [0.0, *(row.k1 for row in rows)]))
    above = next(i for i, angle in enumerate(at) if degrees < angle + 0.5)
    published = degrees > at[above] - 0.5
    said = f"its loss drawn between those published for {at[above - 1]} and {at[above]} deg"
    used = rows[above - 1 : above] if published else rows[max(above - 2, 0) : above]
    turn = words("drawn to {angle}", angle=Quantity(end.angle, "angle"))
    part = replace(
        coefficient(name, end.bore, k, k1),
        figures=(*map(_row, used), *([] if published else [turn])),
        sources=(*(row.source for row in used), THREE_K, *([] if published else [DRAWN])),
    )
    return part, rows[above - 1].grade, "" if published else said


# ---------------------------------------------------------------- a hole


def hole(name: str, bore: float, length: float, discharge: float, around: float | None) -> Part:
    """A hole with a length between two lines.

    Viscous: mu q (24/d^3 + 128 L/(pi d^4)), the loss of a thin hole between large spaces by Sampson (1891) and
    Poiseuille's along it, which together are within 1 % of the exact answer for any length (Dagan, Weinbaum and
    Pfeffer, J. Fluid Mech. 115, 1982). Inertial: what ISO 5167-2 leaves lost after the line behind has recovered its
    part, (sqrt(1 - beta^4 (1 - C^2)) / (C beta^2) - 1)^2 on the velocity head in the line.

    Args:
        name: its name.
        bore: d [m].
        length: L [m].
        discharge: C, the discharge coefficient at high Reynolds numbers [-], 0 to 1.
        around: bore of the line [m], wider than the hole; None for large spaces, where nothing is recovered.

    >>> open_space, line = (hole("hole", 0.001, 0.002, 0.7, around) for around in (None, 0.002))
    >>> round(line.inertial / open_space.inertial, 2)
    0.65
    """
    area = math.pi * bore**2 / 4
    beta = 0.0 if around is None else bore / around
    # K of the line over its area squared, with the area taken into the brackets: nothing left that 1/beta would spoil.
    root = math.sqrt(1.0 - beta**4 * (1.0 - discharge**2)) / discharge - beta**2
    inertial = root**2 / (2.0 * area**2)
    viscous = 24.0 / bore**3 + 128.0 * length / (math.pi * bore**4)
    d, long = Quantity(bore, "bore"), Quantity(length, "bore")
    said = words("d {d}, L {long}, b {b}, C {c}", d=d, long=long, b=f"{beta:.4f}", c=f"{discharge:g}")
    return Part(name, viscous, inertial, inertial, bore, (said,), (HOLE,))
