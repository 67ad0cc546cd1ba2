"""One record for each table: hose, ends, threads, adapters, curves, losses, limits, tolerances, cautions …"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Literal, Self

from pydantic import AfterValidator, BeforeValidator, Field, ValidationInfo, field_validator, model_validator

from catalogs import units
from catalogs.errors import QuantityError, nearest
from catalogs.fields import (
    Angle,
    Bore,
    Dim,
    Gap,
    Length,
    Number,
    Part,
    Point,
    PressureDrop,
    Price,
    Roughness,
    Size,
    Speed,
    Temperature,
    Voltage,
    VolumeFlow,
    refuse,
)
from catalogs.grades import Grade

__all__ = ["Point"]

Family = Literal[
    "gasoline", "ethanol-blend", "ethanol-high", "alcohol", "diesel", "oil", "atf", "coolant", "brake", "gas"
]
"""A family of fluids: what a material, a support or a caution speaks of."""

Allowed = Annotated[units.Quantity, Dim(("length", "angle", "time", "ratio"))]


def _over_zero(figure: float) -> float:
    if figure <= 0:
        raise refuse("is 0 or less", expected="a figure over 0")
    return figure


def _stated(text: Any, like: str, at: str = "") -> Any:
    """A figure with its unit. A bare number would be read as a ratio, and 3 as 300 %."""
    if str(text).strip()[-1:].isdigit():
        raise refuse(f'"{text}" has no unit', expected=f"a figure with its unit, like {like}", at=at)
    return text


def several(text: Any) -> Any:
    """Several words in one cell of a CSV, with a semicolon between them."""
    return [word.strip() for word in text.split(";") if word.strip()] if isinstance(text, str) else text


def _not_negative(figure: float) -> float:
    if figure < 0:
        raise refuse("is less than 0", expected="0 or more")
    return figure


OVER_ZERO, NOT_NEGATIVE = AfterValidator(_over_zero), AfterValidator(_not_negative)


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a figure comes from."""

    grade: Grade
    source: str


class Record(Part):
    """A row of a table: its id, where its figures come from, and who stated which of them."""

    repeats: ClassVar[tuple[str, ...]] = ()
    """Fields that a CSV gives on several rows of one id; they make the list `points`."""
    compared: ClassVar[tuple[str, ...]] = ()
    """Figures that a shop's row cannot give far from the one that it overrides."""
    together: ClassVar[str] = ""
    """A field by whose value a shop's row speaks of every row of that value at once."""
    words: ClassVar[str] = "key"
    """The sort of the trade's words for its fields."""

    id: str
    source: str = Field(min_length=3)
    grade: Grade
    note: str = ""
    origins: dict[str, Origin] = Field(default_factory=dict, exclude=True)

    def origin(self, field: str) -> Origin:
        """Who stated this field: the row itself, or the shop's table laid over it."""
        return self.origins.get(field, Origin(self.grade, self.source))

    def grade_of(self, *fields: str) -> Grade:
        """The weakest grade among these fields."""
        order = list(Grade)
        return max((self.origin(f).grade for f in fields), key=order.index, default=self.grade)


class Stock(Record):
    """Hose or tube, by construction and dash size.

    A dash size names the matching tube, not the bore; of hose that goes over a spigot, and of brake and steering
    hose, it names the bore.
    """

    compared: ClassVar[tuple[str, ...]] = ("outside", "bore", "bend_radius")
    together: ClassVar[str] = "family"

    family: str
    dash: int = Field(ge=1, le=48)
    means: str
    liner: str
    outside: Size
    bore: Bore
    working_pressure: Annotated[PressureDrop, OVER_ZERO]
    burst_pressure: Annotated[PressureDrop, OVER_ZERO] | None = None
    suction: Annotated[PressureDrop, NOT_NEGATIVE] | None = None
    """How far below ambient the hose stands without collapsing."""
    coldest: Temperature
    hottest: Temperature
    bend_radius: Size
    radius_to: Literal["inside", "centreline"]
    roughness: Roughness
    rigid: bool = False
    serves: Annotated[tuple[Family, ...], BeforeValidator(several)] = ()
    """Families of fluid that it is made for; empty for every one that its liner stands."""
    conducts: bool | None = None
    """Does a liner of plastic carry a charge to the ends, as one with carbon black does? None: not known."""
    part: str = ""
    price: Price | None = None

    @field_validator("bore")
    @classmethod
    def _under_the_outside(cls, bore: float, info: ValidationInfo) -> float:
        if bore >= info.data.get("outside", math.inf):
            raise refuse("is as wide as the outside, or wider", expected="a bore under the outside")
        return bore

    @field_validator("burst_pressure")
    @classmethod
    def _over_the_working_pressure(cls, burst: float | None, info: ValidationInfo) -> float | None:
        if burst is not None and burst < info.data.get("working_pressure", 0.0):
            raise refuse("is under the working pressure", expected="the working pressure or more")
        return burst

    @field_validator("hottest")
    @classmethod
    def _over_the_coldest(cls, hottest: float, info: ValidationInfo) -> float:
        if hottest <= info.data.get("coldest", 0.0):
            raise refuse("is no higher than the coldest", expected="a temperature over the coldest")
        return hottest

    @field_validator("roughness")
    @classmethod
    def _under_the_bore(cls, roughness: float, info: ValidationInfo) -> float:
        if roughness >= info.data.get("bore", math.inf):
            raise refuse("is as large as the bore, or larger", expected="a roughness under the bore")
        return roughness

    def to_centreline(self, radius: float) -> float:
        """The radius of the centreline [m] for a radius as this stock defines it."""
        return radius + (self.outside / 2 if self.radius_to == "inside" else 0.0)

    def as_defined(self, radius: float) -> float:
        """A centreline's radius [m] as this stock defines a radius, 0 where it is less than that."""
        return max(radius - (self.outside / 2 if self.radius_to == "inside" else 0.0), 0.0)


class HoseEnd(Record):
    """One hose end that fits one stock."""

    compared: ClassVar[tuple[str, ...]] = ("cutoff", "drop", "overhang", "insertion", "bore")

    fits: str
    means: str
    angle: Angle
    thread: str
    """Thread and seat that it offers, an id of the threads table."""
    cutoff: Length
    """Along the hose's axis from its cut edge to the level of the seat's centre: under 0 where it goes past it."""
    drop: Gap = 0.0
    """Square to the hose's axis, from it to the seat's centre: 0 for a straight end."""
    overhang: Gap | None = None
    """How far the nut reaches over the seat of a straight end; 0 where the seat is the outermost point."""
    bore: Bore
    """The smallest bore inside the end."""
    made_of: str = ""
    """A material of the materials table."""
    bend_ratio: Annotated[Number, OVER_ZERO] | None = None
    """Centreline radius of an elbow over its bore."""
    working_pressure: Annotated[PressureDrop, OVER_ZERO] | None = None
    attaches: Literal["crimped", "reusable", "push-on", "clamped", "flared"]
    hex: Size | None = None
    crimp_diameter: Size | None = None
    insertion: Gap | None = None
    """Length of hose inside the collar, or on a spigot."""
    part: str = ""
    price: Price | None = None

    @property
    def straight(self) -> bool:
        """Does it turn by so little that nothing lies aside?"""
        return self.angle < math.radians(1)

    @field_validator("angle")
    @classmethod
    def _half_a_turn(cls, angle: float) -> float:
        if not 0.0 <= angle <= math.pi * (1 + 1e-12):
            raise refuse("is no angle of a hose end", expected="0 deg for a straight end, up to 180 deg")
        return angle


class Thread(Record):
    """A size of a seat: its thread, its tube and its nut."""

    seat: str
    dash: int | None = Field(default=None, ge=1)
    thread: str
    tube: Size | None = None
    hex: Size | None = None
    ring: str = ""
    """The sealing part of a joint without an adapter: an id of the seals table."""


class Seat(Record):
    """A form of sealing face."""

    means: str
    seals: str
    mates: tuple[str, ...] = ()
    male: bool = False
    """Does a port of it stand out, so that what goes on it goes over it?"""


class Adapter(Record):
    """Goes into a port and offers another seat to the hose end."""

    compared: ClassVar[tuple[str, ...]] = ("bore", "length")

    port: str
    offers: str
    means: str
    bore: Bore
    length: Size | None = None
    """From the port's face to the seat that it offers."""
    needs: str = ""
    """The sealing part it needs: an id of the seals table."""
    made_of: str = ""
    """A material of the materials table."""
    part: str = ""
    price: Price | None = None


class Seal(Record):
    """A sealing part, counted by the joint."""

    sort: Literal["o-ring", "washer", "gasket", "sealant", "clamp", "bolt"]
    means: str
    inside: Size | None = None
    section: Size | None = None
    """Thickness of a washer, or of a ring's cord."""
    each_joint: int = Field(default=1, ge=1, le=4)
    """How many one joint takes."""
    once: bool = True
    """New at every assembly."""
    rubber: bool | None = None
    """Is there rubber in it, which the fluid has to suit? Every O-ring is of rubber where nothing is stated."""
    part: str = ""
    price: Price | None = None

    @property
    def of_rubber(self) -> bool:
        return self.sort == "o-ring" if self.rubber is None else self.rubber


class Mixup(Record):
    """Two threads or seats that start in each other and do not belong together."""

    a: str
    b: str
    why: str


class Support(Record):
    """How far apart a line is held."""

    of: Literal["hose", "tube"]
    material: str = ""
    """What the stock is lined with, or made of: empty for every one."""
    fluid: str = ""
    """A family of fluids: empty for every one."""
    above: Length = 0.0
    """The row holds for outsides over this …"""
    up_to: Length | None = None
    """… and up to this [m]."""
    spacing: Length


class Loss(Record):
    """A loss coefficient that depends on the Reynolds number: K = k1/Re + k (1 + kd/Dn^0.3), Dn in inches."""

    means: str
    k1: Number = 0.0
    k: Number
    kd: Number = 0.0

    def turbulent(self, bore: float) -> float:
        """The part of K that stays at high Reynolds numbers, for a bore [m]."""
        inches = units.unit("bore", "in").from_si(bore)
        return float(self.k * (1.0 + self.kd / inches**0.3))


class CurvePoint(Part):
    """One point of a pump's data sheet, at a voltage or, of a pump that the engine drives, at a speed."""

    example: ClassVar[str] = '{ volts = "13.5 V", rise = "40 psi", flow = "250 L/h" }'
    words: ClassVar[str] = "curve"

    volts: Voltage | None = None
    speed: Speed | None = None
    rise: PressureDrop
    flow: VolumeFlow

    @property
    def at(self) -> float:
        """The voltage [V] or speed [rad/s] of the point."""
        return self.volts if self.volts is not None else float(self.speed or 0.0)

    @field_validator("flow")
    @classmethod
    def _forward(cls, flow: float) -> float:
        if flow < 0:
            raise refuse("is a flow under 0, backward through the pump", expected="flows of 0 or more")
        return flow

    @model_validator(mode="after")
    def _driven_one_way(self) -> Self:
        expect = "volts of an electric pump, or speed of a pump that the engine drives"
        if self.volts is None and self.speed is None:
            raise refuse("is missing, and so is speed", expected=expect, at="volts")
        if self.volts is not None and self.speed is not None:
            raise refuse("stands beside volts: a point has one of the two", expected=expect, at="speed")
        return self


class PumpCurve(Record):
    """A pump's flow against its pressure rise at one voltage or more, or at one speed or more."""

    repeats: ClassVar[tuple[str, ...]] = ("volts", "speed", "rise", "flow")
    words: ClassVar[str] = "curve"

    means: str
    points: tuple[CurvePoint, ...] = Field(min_length=3, max_length=200)

    @property
    def by_speed(self) -> bool:
        """Is it driven by the engine, so that its points stand at speeds?"""
        return self.points[0].speed is not None

    @model_validator(mode="after")
    def _driven_one_way(self) -> Self:
        if any((point.speed is not None) != self.by_speed for point in self.points):
            raise refuse(
                "some of its points have volts and some have speed",
                expected="volts at every point, or speed at every point of a pump that the engine drives",
            )
        return self

    @model_validator(mode="after")
    def _falls(self) -> Self:
        for at in sorted({p.at for p in self.points}):
            rows = sorted((p for p in self.points if p.at == at), key=lambda p: p.rise)
            shown = f"{at * 30 / math.pi:.0f} rpm" if self.by_speed else f"{at:g} V"
            if at <= 0:
                raise refuse(f"has a curve at {shown}", expected=f"a {'speed' if self.by_speed else 'voltage'} over 0")
            if len(rows) < 3:
                counted = f"{len(rows)} point{'s' * (len(rows) > 1)}"
                raise refuse(f"the curve at {shown} has only {counted}", expected="3 points or more")
            for low, high in itertools.pairwise(rows):
                if high.rise <= low.rise or high.flow >= low.flow:
                    raise refuse(
                        f"the curve at {shown} is not a falling one",
                        expected="less flow at each higher pressure rise; of a humped curve only the branch on the far "
                        "side of its highest rise, on which the pump runs steadily",
                    )
        return self


class Caution(Record):
    """A caution as the sheet prints it."""

    applies: tuple[str, ...]
    """Families of fluid, `all`, or `test`."""
    text: str


class Limit(Record):
    """A limit of practice. A shop lays its own over it."""

    in_words: ClassVar[bool] = False
    """May it limit nothing, and only say what is asked?"""

    means: str
    dimension: str
    fail_below: float | None = None
    caution_below: float | None = None
    caution_above: float | None = None
    fail_above: float | None = None
    disagree: tuple[str, ...] = ()
    """What others of the trade say."""

    @property
    def least(self) -> float | None:
        """What a value passes from, on its low side [SI]; None where it has none."""
        return max((x for x in (self.fail_below, self.caution_below) if x is not None), default=None)

    @property
    def most(self) -> float | None:
        """What a value passes up to, on its high side [SI]; None where it has none."""
        return min((x for x in (self.fail_above, self.caution_above) if x is not None), default=None)

    @model_validator(mode="before")
    @classmethod
    def _by_dimension(cls, data: Any) -> Any:
        if not isinstance(data, dict) or (cls.in_words and not data.get("dimension")):
            return data
        dimension = data.get("dimension")
        if dimension not in units.dimensions():
            raise refuse(
                f'"{dimension}" is no dimension',
                expected="a dimension of units.toml",
                nearest_word=nearest(str(dimension), units.dimensions()),
            )
        read = dict(data)
        for side in ("fail_below", "caution_below", "caution_above", "fail_above"):
            if data.get(side) is not None:
                text = _stated(data[side], "10 %", side) if dimension == "ratio" else data[side]
                try:
                    read[side] = units.read(text, dimension).value
                except QuantityError as error:
                    raise refuse(str(error), expected=error.expected, nearest_word=error.nearest, at=side) from None
        return read

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        stated = [
            x for x in (self.fail_below, self.caution_below, self.caution_above, self.fail_above) if x is not None
        ]
        if not stated and not self.in_words:
            raise refuse(
                "a limit that limits nothing",
                expected="fail_below, caution_below, caution_above or fail_above",
            )
        if stated != sorted(stated):
            raise refuse("the limits cross", expected="fail_below <= caution_below <= caution_above <= fail_above")
        return self


class Tolerance(Record):
    """What the bench works to: how far a figure may be under and over, or between which two it lies."""

    of: Literal["cut-length", "clock-angle", "pressurised-length", "proof-pressure", "proof-time"]
    above: Length = 0.0
    """The row holds for lengths over this …"""
    up_to: Length | None = None
    """… and up to this [m]."""
    low: Allowed
    high: Allowed

    @field_validator("low", "high", mode="before")
    @classmethod
    def _with_unit(cls, text: Any) -> Any:
        return text if isinstance(text, units.Quantity) else _stated(text, "3.2 mm, 3 deg or 1 %")

    @model_validator(mode="after")
    def _low_under_high(self) -> Self:
        if self.low.dimension != self.high.dimension or self.low.value > self.high.value:
            raise refuse("low and high are no range", expected="two figures of one dimension, the lower first")
        return self

    def holds(self, length: float) -> bool:
        """Is this a row for such a length [m]?"""
        return self.above < length and (self.up_to is None or length <= self.up_to)
