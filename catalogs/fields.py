"""Typed fields of a file that a person wrote: each reads its text by the one grammar of quantities."""

from __future__ import annotations

import re
import typing
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from pydantic import BaseModel, ConfigDict
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from catalogs import bounds, units
from catalogs.errors import QuantityError
from catalogs.units import Quantity

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler
    from pydantic.fields import FieldInfo


def refuse(
    reason: str, *, expected: str | None = None, nearest_word: str | None = None, at: str = ""
) -> PydanticCustomError:
    """The error that a validator raises, with the facts that a `Fault` shows.

    Args:
        reason: what is wrong.
        expected: what would be right.
        nearest_word: the valid word most like what was written.
        at: the key that is at fault, for a validator of a whole table.
    """
    facts = {"reason": reason, "expected": expected, "nearest": nearest_word, "at": at}
    return PydanticCustomError("refused", "{reason}", facts)


@dataclass(frozen=True)
class Dim:
    """Reads one quantity of the named dimensions.

    The value is a float in SI; with several dimensions, or for a pressure, it is a `Quantity`.
    """

    dimensions: tuple[str, ...]

    def __get_pydantic_core_schema__(self, _source: Any, _handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def read(self, text: object) -> float | Quantity:
        if isinstance(text, Quantity):
            return text
        try:
            quantity = units.read(text, *self.dimensions)
            bounds.hold(text, quantity, *self.dimensions)
        except QuantityError as error:
            raise refuse(str(error), expected=error.expected, nearest_word=error.nearest) from None
        return quantity if self.keeps_quantity else quantity.value

    @property
    def keeps_quantity(self) -> bool:
        return len(self.dimensions) > 1 or units.base(self.dimensions[0]) == "pressure"


@dataclass(frozen=True)
class Whole(Dim):
    """Reads how many there are of something, as an int."""

    def read(self, text: object) -> int:
        found = text if isinstance(text, int) else super().read(text)
        assert not isinstance(found, Quantity)
        if found != int(found):
            raise refuse(f'"{text}" is no whole number', expected=units.expected(self.dimensions[0]))
        return int(found)


_NUMBER = re.compile(r"^\s*[+-]?[\s\d./-]*(?:[eE][+-]?\d+)?\s*")


def _read_point(text: object) -> tuple[float, float, float]:
    try:
        point = units.read_vector(text)
        *firsts, last = str(text).split(",")
        unit = _NUMBER.sub("", last)
        for said, number in zip([*(f"{first.strip()} {unit}" for first in firsts), last.strip()], point, strict=True):
            bounds.hold(said, Quantity(number, "length"), "length")
    except QuantityError as error:
        raise refuse(str(error), expected=error.expected, nearest_word=error.nearest) from None
    return point


class _PointReader:
    def __get_pydantic_core_schema__(self, _source: Any, _handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(_read_point)


Length = Annotated[float, Dim(("length",))]
Bore = Annotated[float, Dim(("bore",))]
Size = Annotated[float, Dim(("size",))]
Gap = Annotated[float, Dim(("gap",))]
Roughness = Annotated[float, Dim(("roughness",))]
Turn = Annotated[float, Dim(("turn",))]
Boost = Annotated[Quantity, Dim(("boost",))]
Demand = Annotated[Quantity, Dim(("demand", "mass_flow"))]
Share = Annotated[float, Dim(("share",))]
FluidTemperature = Annotated[float, Dim(("fluid_temperature",))]
Volume = Annotated[float, Dim(("volume",))]
Angle = Annotated[float, Dim(("angle",))]
Slope = Annotated[float, Dim(("slope",))]
Acceleration = Annotated[float, Dim(("acceleration",))]
Time = Annotated[float, Dim(("time",))]
Pressure = Annotated[Quantity, Dim(("pressure",))]
PressureDrop = Annotated[float, Dim(("pressure_drop",))]
Modulus = Annotated[float, Dim(("modulus",))]
Temperature = Annotated[float, Dim(("temperature",))]
Flow = Annotated[Quantity, Dim(("volume_flow", "mass_flow"))]
VolumeFlow = Annotated[float, Dim(("volume_flow",))]
MassFlow = Annotated[float, Dim(("mass_flow",))]
Power = Annotated[float, Dim(("power",))]
Bsfc = Annotated[float, Dim(("bsfc",))]
Speed = Annotated[float, Dim(("speed",))]
Velocity = Annotated[float, Dim(("velocity",))]
Voltage = Annotated[float, Dim(("voltage",))]
Density = Annotated[float, Dim(("density",))]
Viscosity = Annotated[Quantity, Dim(("kinematic_viscosity", "dynamic_viscosity"))]
HeatCapacity = Annotated[float, Dim(("heat_capacity",))]
Conductivity = Annotated[float, Dim(("conductivity",))]
Expansion = Annotated[float, Dim(("expansion",))]
Ratio = Annotated[float, Dim(("ratio",))]
Number = Annotated[float, Dim(("number",))]
Factor = Annotated[float, Dim(("factor",))]
Count = Annotated[int, Whole(("count",))]
AirRatio = Annotated[float, Dim(("air_ratio",))]
Price = Annotated[float, Dim(("price",))]
Point = Annotated[tuple[float, float, float], _PointReader()]


def dimensions_of(field: FieldInfo) -> tuple[str, ...]:
    """The dimensions of a field that reads a quantity; none of another field."""
    return next((m.dimensions for m in [*field.metadata, *_inside(field.annotation)] if hasattr(m, "dimensions")), ())


def _inside(annotation: Any) -> list[Any]:
    arguments = typing.get_args(annotation)
    return [*getattr(annotation, "__metadata__", ()), *(x for a in arguments for x in _inside(a))]


class Part(BaseModel):
    """A table of a person's file. Unknown keys are faults; a record never changes."""

    example: ClassVar[str] = "{ ... }"
    """How it is written, for a fault where something else stands."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, populate_by_name=True, arbitrary_types_allowed=True, strict=False
    )
