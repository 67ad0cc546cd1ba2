"""The record of a fluid: each property against temperature, with its own source."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Any, ClassVar, Self

from pydantic import Discriminator, Field, Tag, field_validator, model_validator

from catalogs import units
from catalogs.errors import nearest
from catalogs.expansion import expansions
from catalogs.fields import (
    Conductivity,
    Density,
    Dim,
    Factor,
    HeatCapacity,
    Modulus,
    Number,
    Part,
    Temperature,
    Viscosity,
    refuse,
)
from catalogs.grades import Grade
from catalogs.records import Family, Record

VapourPressure = Annotated[float, Dim(("vapour_pressure",))]

D341_LEAST = 0.21e-6
"""The thinnest liquid of ASTM D341 [m2/s]."""
AP_42_REID = ("1 psi", "20 psi")
"""The Reid vapour pressures for which EPA AP-42 section 7.1 gives its equation."""
AP_42_SLOPES = (2.0, 3.5)
"""The slopes of distillation that it names: aviation gasoline, 2, to light naphtha, 3.5 [deg F per %]."""
MEASURED_VAPOUR = (
    'vapour = { law = "log", at = ["20 C", "40 C", "60 C"], is = [absolute pressures measured there], '
    'source = "who measured them", grade = "measured" }'
)
"""How a vapour pressure is entered that no table and no equation gives."""
ITS_SOURCE = 'source = "who measured them", grade = "measured"'
"""What a row of a shop says of itself besides."""
BLENDS = {"ethanol-blend", "ethanol-high"}
"""Families of fluids whose vapour pressure follows from none of what they are blended of."""
MEASURED_BLEND = (
    "absolute vapour pressures of that very fuel at two temperatures or more, from under to over those of its duties, "
    "as by EN 13016-2 (40 to 100 C, from memory); one figure of a certificate, RVP or DVPE at 100 F, is not enough: "
    "from there to 130 F gasoline comes to 1.6 times as much, ethanol to 2.3 times, and a blend to what nobody knows"
)
"""What has to be measured of them, and why no less will do."""


class Property(Part):
    """Values against temperature.

    The law says how to go from them to another temperature: `line`, straight between the points; `log`, the logarithm
    straight against 1/T, as vapour pressures nearly are (Clausius and Clapeyron) and the viscosities of thin liquids
    (Andrade); `walther`, the double logarithm of ASTM D341 for kinematic viscosity; `petroleum-fuel` and
    `petroleum-oil`, a density from one alone by API MPMS chapter 11.1.
    """

    laws: ClassVar[tuple[str, ...]] = ("line", "log")
    """Those that it may have."""

    law: str = "line"
    at: tuple[Temperature, ...] = Field(min_length=1, max_length=100)
    values: tuple[Any, ...] = Field(alias="is", min_length=1, max_length=100)
    source: str = Field(min_length=3)
    grade: Grade

    @field_validator("law")
    @classmethod
    def _one_of_its_laws(cls, law: str) -> str:
        if law not in cls.laws:
            choices = " or ".join(", ".join(f'"{w}"' for w in cls.laws).rsplit(", ", 1))
            raise refuse(f'"{law}" is none of the choices', expected=choices, nearest_word=nearest(law, cls.laws))
        return law

    @model_validator(mode="after")
    def _pairs(self) -> Self:
        if len(self.at) != len(self.values):
            raise refuse(
                f"temperatures {len(self.at)}, values {len(self.values)}", expected="one value for each temperature"
            )
        if list(self.at) != sorted(set(self.at)):
            raise refuse("the temperatures do not rise", expected="rising temperatures")
        if self.law in {"log", "walther"} and len(self.at) < 2:
            raise refuse(f"the law {self.law} needs two points", expected="two points or more")
        return self


class DensityProperty(Property):
    """Densities."""

    laws: ClassVar[tuple[str, ...]] = ("line", "petroleum-fuel", "petroleum-oil")

    values: tuple[Density, ...] = Field(alias="is", min_length=1, max_length=100)

    @model_validator(mode="after")
    def _one_for_petroleum(self) -> Self:
        rows = expansions(self.law)
        if not rows:
            return self
        if len(self.at) != 1:
            expect = 'one density and its temperature; several go with law = "line"'
            raise refuse(f"{len(self.at)} densities for the law {self.law}", expected=expect)
        kg, celsius = units.unit("density", "kg/m3"), units.unit("temperature", "C")
        lightest, heaviest = kg.from_si(rows[0].lightest), kg.from_si(rows[-1].heaviest)
        if not lightest <= kg.from_si(self.values[0]) <= heaviest:
            expect = f"{lightest:g} to {heaviest:g} kg/m3"
            raise refuse(f"{kg.from_si(self.values[0]):g} kg/m3 is no density of the law {self.law}", expected=expect)
        coldest, hottest = celsius.from_si(rows[0].coldest), celsius.from_si(rows[0].hottest)
        if not rows[0].coldest <= self.at[0] <= rows[0].hottest:
            expect = f"{coldest:g} to {hottest:g} C, as a data sheet's 15 C or 60 F"
            raise refuse(f"{celsius.from_si(self.at[0]):g} C is outside the law {self.law}", expected=expect)
        return self


class ViscosityProperty(Property):
    """Viscosities, all kinematic or all dynamic."""

    laws: ClassVar[tuple[str, ...]] = ("line", "log", "walther")

    values: tuple[Viscosity, ...] = Field(alias="is", min_length=1, max_length=100)

    @model_validator(mode="after")
    def _one_sort(self) -> Self:
        if len({v.dimension for v in self.values}) != 1:
            raise refuse("kinematic and dynamic viscosities mixed", expected="one of the two")
        if len(self.at) > 1 and "law" not in self.model_fields_set:
            # Straight between 40 and 100 C an oil would be twice too thick at 70 C.
            expect = 'law = "walther" for kinematic viscosities of a liquid (ASTM D341), law = "log" for dynamic ones'
            raise refuse("is missing: two viscosities and no law between them", expected=expect, at="law")
        return self

    @model_validator(mode="after")
    def _as_d341(self) -> Self:
        if self.law != "walther":
            return self
        if self.values[0].dimension != "kinematic_viscosity":
            raise refuse("ASTM D341 is for kinematic viscosity", expected="values in mm2/s")
        if min(v.value for v in self.values) < D341_LEAST:
            expect = '0.21 mm2/s or more, or law = "log"'
            raise refuse("ASTM D341 is not for viscosities under 0.21 mm2/s", expected=expect)
        return self


class VapourProperty(Property):
    """Absolute vapour pressures."""

    values: tuple[VapourPressure, ...] = Field(alias="is", min_length=1, max_length=100)


class ReidVapour(Part):
    """A gasoline's vapour pressure from its Reid vapour pressure, EPA AP-42 section 7.1."""

    reid: VapourPressure
    slope: Number = 3.0
    """Slope of the ASTM D86 distillation curve at 10 % evaporated [deg F per %]."""
    source: str = Field(min_length=3)
    grade: Grade

    @field_validator("reid")
    @classmethod
    def _of_ap_42(cls, reid: float) -> float:
        low, high = (units.read(text, "vapour_pressure").value for text in AP_42_REID)
        if not low <= reid <= high:
            expect = f"{' to '.join(AP_42_REID)}, or {MEASURED_VAPOUR}"
            raise refuse("is no Reid vapour pressure of EPA AP-42 section 7.1", expected=expect)
        return reid

    @field_validator("slope")
    @classmethod
    def _named_in_ap_42(cls, slope: float) -> float:
        low, high = AP_42_SLOPES
        if not low <= slope <= high:
            expect = f"{low:g} to {high:g} deg F per %; 3 for motor gasoline"
            raise refuse("is no slope of EPA AP-42 section 7.1", expected=expect)
        return slope


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


class AirFuel(Part):
    """The mass of air that burns a mass of fuel without rest."""

    ratio: Factor = Field(alias="is", gt=0)
    source: str = Field(min_length=3)
    grade: Grade


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
    stoichiometric: AirFuel | None = None
    """Of a fuel."""
    freezes: Temperature | None = None
    """Under it there is no liquid whose properties these are."""

    @property
    def vapour_asked(self) -> str:
        """How its vapour pressure is entered, where nobody states it."""
        row = f"{MEASURED_VAPOUR}, and in the same row {ITS_SOURCE}"
        return f"{row}: {MEASURED_BLEND}" if self.family in BLENDS else row

    @model_validator(mode="after")
    def _thins_as_it_warms(self) -> Self:
        thicker = any(hot.value >= cold.value for cold, hot in pairwise(self.viscosity.values))
        if thicker and self.family != "gas":
            expect = "a lower one at each higher temperature, as of every liquid"
            raise refuse("the viscosities do not fall", expected=expect, at="viscosity")
        return self

    @model_validator(mode="after")
    def _laws_of_its_family(self) -> Self:
        rows = expansions(self.density.law)
        if rows and self.family not in rows[0].families:
            families = " or ".join(rows[0].families)
            expect = f'densities at two temperatures or more with law = "line"; {self.density.law} is for {families}'
            raise refuse(f"{self.density.law} is no law for the family {self.family}", expected=expect, at="density")
        if isinstance(self.vapour, ReidVapour) and self.family != "gasoline":
            reason = (
                f"the family {self.family} has no vapour pressure by the Reid vapour pressure: "
                "EPA AP-42 section 7.1 is for gasoline without alcohol, which lifts it by no known law"
            )
            raise refuse(reason, expected=MEASURED_VAPOUR, at="vapour")
        return self
