"""What a plan says, read and in SI. Data only: what follows from it stands in the modules around."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, Self

import numpy as np
from pydantic import Field, ValidationInfo, create_model, field_validator, model_validator

from catalogs.fields import (
    AirRatio,
    Angle,
    Boost,
    Bore,
    Bsfc,
    Count,
    Demand,
    Flow,
    FluidTemperature,
    Length,
    MassFlow,
    Part,
    Point,
    Power,
    PressureDrop,
    Share,
    Size,
    Speed,
    Time,
    Turn,
    Velocity,
    refuse,
)
from catalogs.kinds import Kind, KindFigure
from catalogs.units import Quantity, System, show_tape
from lines.directions import Direction, from_dial
from lines.layers import Layers, LayerTable
from lines.states import ByDuty, VariesBy

if TYPE_CHECKING:
    from pathlib import Path

    import numpy.typing as npt

    from catalogs.catalog import Catalog
    from lines.states import Attitude
    from lines.zones import ZoneTable

AirTemperatures = Annotated[ByDuty[float], VariesBy(("air_temperature",))]
Temperatures = Annotated[ByDuty[float], VariesBy(("fluid_temperature",))]
BayTemperatures = Annotated[ByDuty[float], VariesBy(("bay_temperature",))]
Velocities = Annotated[ByDuty[float], VariesBy(("velocity",))]
Altitudes = Annotated[ByDuty[float], VariesBy(("altitude",))]
TopPressures = Annotated[ByDuty[Quantity], VariesBy(("top_pressure",))]
Pressures = Annotated[ByDuty[Quantity], VariesBy(("pressure",))]
Text = Annotated[str, Field(max_length=200, pattern=r"^[^\x00-\x1f\x7f-\x9f]*$")]
"""Text that may be printed: no control characters, which a terminal would obey."""


class AmbientTable(Part):
    """The air around the vehicle."""

    example: ClassVar[str] = '{ temperature = "85 F", altitude = "900 ft" }'

    temperature: AirTemperatures
    altitude: Altitudes


class PlanTable(Part):
    """The head of a plan."""

    title: Text = Field(examples=['"what it is"'])
    revision: Text = "A"
    units: System
    zero: Text = Field(examples=['"ground below the front axle; x forward, y left, z up"'])
    ambient: AmbientTable
    shop: Text = ""
    rulebooks: tuple[Text, ...] = Field(default=(), max_length=20, examples=['["fia-appendix-j"]'])
    """Rulebooks that it is built to: names of the rules table."""
    note: Text = ""


class ReferenceTable(Part):
    """The known pressure of a closed loop."""

    example: ClassVar[str] = '{ port = "component.port", pressure = "15 psi" }'

    port: Text = Field(examples=['"component.port"'])
    pressure: Pressures


class CircuitTable(Part):
    """One fluid's whole system."""

    example: ClassVar[str] = '{ fluid = "gasoline-summer", temperature = "105 F" }'

    fluid: Text = Field(examples=['"gasoline-summer"'])
    temperature: Temperatures
    reference: ReferenceTable | None = None
    highest: TopPressures | None = None
    """Highest pressure anywhere in it, where it is known from elsewhere: a relief valve, a pressure cap, a pedal."""
    seals: Text = ""
    """What its O-rings and gaskets are made of: a material of the materials table."""


class DutyTable(Part):
    """One operating condition. What is not stated is unknown, never zero."""

    boost: Boost | None = None
    burn: Demand | None = None
    crank_power: Power | None = None
    wheel_power: Power | None = None
    driveline_loss: Share | None = None
    bsfc: Bsfc | None = None
    air_flow: MassFlow | None = None
    """What the engine breathes, as measured."""
    air_ratio: AirRatio | None = Field(default=None, alias="lambda")
    """Air over that which burns the fuel without rest, as measured in the exhaust."""
    engine_speed: Speed | None = None
    road_speed: Velocity | None = None
    lasts: Time | None = None


class PortTable(Part):
    """A port: where it is, which way it points, its thread and seat."""

    example: ClassVar[str] = '{ at = "20, 8 1/2, 27 in", points = "forward", thread = "flare37 -6" }'

    at: Point | None = None
    height: Length | None = None
    """Its height over the plan's zero, where a tape gave no more."""
    points: Direction | None = None
    thread: Text = ""
    bore: Bore | None = None
    made_of: Text = ""
    """The metal of the port or bung: a material of the materials table."""
    reaches: Point | None = None
    """Where a tube inside a tank ends that this port has: a pickup's mouth."""

    @property
    def z(self) -> float | None:
        return self.at[2] if self.at is not None else self.height

    @model_validator(mode="after")
    def _one_height(self, info: ValidationInfo) -> Self:
        if self.at is not None and self.height is not None and abs(self.at[2] - self.height) > 1e-9:
            system = (info.context or {}).get("units", "metric")
            by_at, by_height = show_tape(self.at[2], system), show_tape(self.height, system)
            raise refuse(f"at is {by_at} high and height says {by_height}", expected="one of them", at="height")
        return self


class PointsTable(Part):
    """Points of flow and pressure drop, with the fluid and temperature at which they were taken."""

    example: ClassVar[str] = (
        '{ fluid = "gasoline-summer", temperature = "70 F", flow = ["30 gph", "60 gph"], '
        'drop = ["1.1 psi", "4.2 psi"] }'
    )

    fluid: Text = Field(examples=['"gasoline-summer"'])
    temperature: FluidTemperature
    flow: tuple[Flow, ...] = Field(min_length=1, max_length=50, examples=['["30 gph", "60 gph", "90 gph"]'])
    drop: tuple[PressureDrop, ...] = Field(min_length=1, max_length=50, examples=['["1.1 psi", "4.2 psi", "9.3 psi"]'])

    @model_validator(mode="after")
    def _pairs(self) -> Self:
        if len(self.flow) != len(self.drop):
            raise refuse(f"{len(self.flow)} flows and {len(self.drop)} drops", expected="one drop for each flow")
        low = next((i for i, flow in enumerate(self.flow) if flow.value <= 0), None)
        if low is not None:
            raise refuse(f"flow {low + 1} is 0 or less", expected="flows over 0", at="flow")
        if len({flow.dimension for flow in self.flow}) == 1:
            drops = [drop for _, drop in sorted(zip((f.value for f in self.flow), self.drop, strict=True))]
            if drops != sorted(drops):
                raise refuse("a drop falls as the flow rises", expected="more drop at each larger flow", at="drop")
        return self


class LevelsTable(Part):
    """Heights of a free surface over the plan's zero."""

    example: ClassVar[str] = '{ full = "30 in", low = "19 in" }'

    full: Length
    low: Length

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.full < self.low:
            raise refuse("full lies under low", expected="the higher figure as full")
        return self


class BendTable(Part):
    """One bend of a run, as measured on its inside."""

    example: ClassVar[str] = '{ turn = "90 deg", inside_radius = "5 in" }'

    turn: Turn
    inside_radius: Size


class SpanTable(Part):
    """What a tape gives between the two ends."""

    example: ClassVar[str] = '{ back = "11 in", down = "4 in" }'

    forward: Length | None = None
    back: Length | None = None
    left: Length | None = None
    right: Length | None = None
    up: Length | None = None
    down: Length | None = None

    @property
    def vector(self) -> tuple[float, float, float]:
        """From the start to the end, in vehicle axes [m]."""
        return (
            (self.forward or 0.0) - (self.back or 0.0),
            (self.left or 0.0) - (self.right or 0.0),
            (self.up or 0.0) - (self.down or 0.0),
        )


class RunTable(Part):
    """One hose or tube assembly from port to port."""

    circuit: Text = Field(examples=['"fuel"'])
    line: Text = ""
    start: Text = Field(alias="from", examples=['"component.port"'])
    end: Text = Field(alias="to", examples=['"component.port"'])
    stock: Text = Field(examples=['"ptfe-braid -6"'])
    via: tuple[Point, ...] | None = Field(default=None, max_length=200, examples=['["20, 8 1/2, 27 in"]'])
    path: Text = ""
    span: SpanTable | None = None
    length: Size | None = None
    length_is: Literal["seat-to-seat", "overall", "cut"] | None = None
    rise: Length | None = None
    bends: tuple[BendTable, ...] | None = Field(
        default=None, max_length=50, examples=['[{ turn = "90 deg", inside_radius = "5 in" }]']
    )
    radius: Size | None = None
    """Radius to which it is bent, as its stock defines a radius; the stock's least where none is said."""
    ends: tuple[Text, Text] = Field(default=("auto", "auto"), examples=['["auto", "90 deg"]'])
    clock: Angle | None = None
    chords: dict[str, Size] = Field(default_factory=dict, examples=['{ ride = "14 5/8 in", bump = "12 3/4 in" }'])
    highest: TopPressures | None = None
    """Highest pressure in it, where it is known from elsewhere; that of its circuit where none is said."""
    air: BayTemperatures | None = None
    """Temperature of the air around it, as measured: in the engine bay, beside the exhaust."""
    air_speed: Velocities | None = None
    """How fast that air blows across it; still where none is said."""
    was: Text = ""
    note: Text = ""

    @field_validator("clock", mode="before")
    @classmethod
    def _in_degrees(cls, text: Any) -> Any:
        degrees = from_dial(text)
        if degrees is not None:
            expect = "an angle, counter-clockwise from 6 o'clock, where the near end's outlet points"
            raise refuse(f'"{text}" is read off a dial', expected=expect, nearest_word=f"{degrees:g} deg")
        return text

    @model_validator(mode="after")
    def _says_which_length(self) -> Self:
        if self.length is not None and self.length_is is None:
            raise refuse(
                "length without length_is", expected='length_is = "seat-to-seat", "overall" or "cut"', at="length"
            )
        if self.path and self.via is not None:
            raise refuse("both via and path", expected="one of them", at="path")
        if self.air_speed is not None and self.air is None:
            raise refuse("air_speed without air", expected="the temperature of that air as air", at="air_speed")
        return self


class PositionTable(Part):
    """Where a moving body goes in one position of the suspension."""

    example: ClassVar[str] = '{ move = "0, 0, 7 in" }'

    move: Point = (0.0, 0.0, 0.0)
    turn: Angle = 0.0
    about: Direction | None = None
    through: Point | None = None


@dataclass(frozen=True, slots=True)
class Component:
    """A component: its kind, its ports as placed, its own figures as read."""

    name: str
    kind: Kind
    ports: dict[str, PortTable]
    figures: dict[str, Any]
    stated: frozenset[str] = frozenset()
    """Figures that the plan gives itself; the others are the kind's defaults."""
    on: str = ""
    system: System = "metric"
    """That of its plan, in which examples are shown."""

    def port(self, port: str) -> PortTable:
        return self.ports.get(port, PortTable())


@dataclass(frozen=True, slots=True)
class Ambient:
    """Ambient temperature [K] and absolute pressure [Pa] by duty."""

    temperature: dict[str, float]
    pressure: dict[str, float]

    @property
    def pressures(self) -> npt.NDArray[np.float64]:
        """The pressure at every duty [Pa absolute], shape (duties,)."""
        return np.array(list(self.pressure.values()))


@dataclass(frozen=True)
class Plan:
    """A plan that reads well: its names resolve and its figures have their units."""

    file: str
    folder: Path
    head: PlanTable
    ambient: Ambient
    circuits: dict[str, CircuitTable]
    duties: dict[str, DutyTable]
    attitudes: dict[str, Attitude]
    components: dict[str, Component]
    runs: dict[str, RunTable]
    zones: dict[str, ZoneTable]
    bodies: dict[str, dict[str, PositionTable]]
    catalog: Catalog

    @property
    def system(self) -> System:
        return self.head.units

    def port(self, ref: str) -> PortTable:
        """The port that a run names as `component.port`."""
        component, _, port = ref.partition(".")
        return self.components[component].port(port)


_PLAIN: dict[str, Any] = {
    "count": Count,
    "curve": Text,
    "name": Text,
    "flag": bool,
    "points": PointsTable,
    "levels": LevelsTable,
    "areas": Layers,
    "point": Point,
    "direction": Direction,
    "points_of_state": dict[str, Any],
    "port": Text,
}
_EXAMPLES = {"points": PointsTable.example, "levels": LevelsTable.example, "areas": f"[{LayerTable.example}]"}


def example_of(figure: KindFigure) -> str | None:
    """How a figure of a component is written, in US units; None where neither its kind nor its sort has an example."""
    return figure.written or _EXAMPLES.get(figure.sort)


def _annotation(figure: KindFigure) -> Any:
    if figure.choice:
        return Literal[tuple(figure.choice)]
    if figure.sort != "quantity":
        return _PLAIN[figure.sort]
    return Annotated[ByDuty[Any], VariesBy(tuple(filter(None, (figure.dimension, figure.also))))]


def component_model(kind: Kind) -> type[Part]:
    """The table in which a plan describes a component of this kind."""
    fields: dict[str, Any] = {
        "kind": (str, ...),
        "ports": (dict[str, PortTable], Field(default_factory=dict, max_length=40)),
        "on": (Text, ""),
        "note": (Text, ""),
    }
    for name, figure in kind.figures.items():
        kept = _annotation(figure)
        example = Field(default=None, examples=[shown] if (shown := example_of(figure)) else None)
        fields[name] = (kept, ...) if figure.needed else (kept | None, example)
    return create_model(f"{kind.id} component", __base__=Part, **fields)
