"""The record of a fluid: each property against temperature, with its own source."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import Discriminator, Field, Tag, model_validator

from catalogs.fields import (
    Conductivity,
    Density,
    HeatCapacity,
    Modulus,
    Number,
    Part,
    PressureDrop,
    Temperature,
    Viscosity,
    refuse,
)
from catalogs.grades import Grade
from catalogs.records import Family, Record


class Property(Part):
    """Values against temperature.

    The law says how to go between them: `line`, straight; `log`, straight in the logarithm; `walther`, the
    double logarithm of ASTM D341 for kinematic viscosity.
    """

    law: Literal["line", "log", "walther"] = "line"
    at: tuple[Temperature, ...] = Field(min_length=1, max_length=100)
    values: tuple[Any, ...] = Field(alias="is", min_length=1, max_length=100)
    source: str = Field(min_length=3)
    grade: Grade

    @model_validator(mode="after")
    def _pairs(self) -> Self:
        if len(self.at) != len(self.values):
            raise refuse(f"{len(self.at)} temperatures and {len(self.values)} values", expected="one value for each")
        if list(self.at) != sorted(set(self.at)):
            raise refuse("the temperatures do not rise", expected="rising temperatures")
        if self.law != "line" and len(self.at) < 2:
            raise refuse(f"the law {self.law} needs two points", expected="two points or more")
        return self


class DensityProperty(Property):
    """Densities."""

    values: tuple[Density, ...] = Field(alias="is", min_length=1, max_length=100)


class ViscosityProperty(Property):
    """Viscosities, all kinematic or all dynamic."""

    values: tuple[Viscosity, ...] = Field(alias="is", min_length=1, max_length=100)

    @model_validator(mode="after")
    def _one_sort(self) -> Self:
        if len({v.dimension for v in self.values}) != 1:
            raise refuse("kinematic and dynamic viscosities mixed", expected="one of the two")
        if self.law == "walther" and self.values[0].dimension != "kinematic_viscosity":
            raise refuse("ASTM D341 is for kinematic viscosity", expected="values in mm2/s")
        return self


class VapourProperty(Property):
    """Absolute vapour pressures."""

    values: tuple[PressureDrop, ...] = Field(alias="is", min_length=1, max_length=100)


class ReidVapour(Part):
    """A gasoline's vapour pressure from its Reid vapour pressure, EPA AP-42 section 7.1."""

    reid: PressureDrop
    slope: Number = 3.0
    """Slope of the ASTM D86 distillation curve at 10 % evaporated [deg F per %]."""
    source: str = Field(min_length=3)
    grade: Grade


def _vapour_model(given: Any) -> str:
    by_reid = isinstance(given, ReidVapour) or (isinstance(given, dict) and "reid" in given)
    return (ReidVapour if by_reid else VapourProperty).__name__


Vapour = Annotated[
    Annotated[VapourProperty, Tag(VapourProperty.__name__)] | Annotated[ReidVapour, Tag(ReidVapour.__name__)],
    Discriminator(_vapour_model),
]


class HeatCapacityProperty(Property):
    """Heat capacities."""

    values: tuple[HeatCapacity, ...] = Field(alias="is", min_length=1, max_length=100)


class ConductivityProperty(Property):
    """Thermal conductivities."""

    values: tuple[Conductivity, ...] = Field(alias="is", min_length=1, max_length=100)


class ModulusProperty(Property):
    """Isothermal bulk moduli."""

    values: tuple[Modulus, ...] = Field(alias="is", min_length=1, max_length=100)


class Fluid(Record):
    """A fluid and its properties; a property that nobody stated is None, and what needs it is not computed."""

    means: str
    family: Family
    flammable: bool
    density: DensityProperty
    viscosity: ViscosityProperty
    vapour: Vapour | None = None
    heat_capacity: HeatCapacityProperty | None = None
    conductivity: ConductivityProperty | None = None
    modulus: ModulusProperty | None = None
