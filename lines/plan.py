"""What a plan says, read and in SI. Data only: what follows from it stands in the modules around."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self

from pydantic import Field, create_model, model_validator

from catalogs.fields import (
    Angle,
    Bore,
    Bsfc,
    Flow,
    Length,
    Part,
    Point,
    Power,
    Pressure,
    PressureDrop,
    Ratio,
    Speed,
    Temperature,
    Time,
    Velocity,
    refuse,
)
from catalogs.kinds import Kind, KindFigure
from catalogs.units import Quantity, System
from lines.directions import Direction
from lines.states import ByDuty, VariesBy

if TYPE_CHECKING:
    from pathlib import Path

    from catalogs.catalog import Catalog
    from lines.states import Attitude
    from lines.zones import ZoneTable

Temperatures = Annotated[ByDuty[float], VariesBy(("temperature",))]
Lengths = Annotated[ByDuty[float], VariesBy(("length",))]
Pressures = Annotated[ByDuty[Quantity], VariesBy(("pressure",))]
Text = Annotated[str, Field(max_length=200, pattern=r"^[^\x00-\x1f\x7f-\x9f]*$")]
"""Text that may be printed: no control characters, which a terminal would obey."""


class AmbientTable(Part):
    """The air around the vehicle."""

    temperature: Temperatures
    altitude: Lengths


class PlanTable(Part):
    """The head of a plan."""

    title: Text
    revision: Text = "A"
    units: System
    zero: Text
    ambient: AmbientTable
    shop: Text = ""
    note: Text = ""


class ReferenceTable(Part):
    """The known pressure of a closed loop."""

    port: Text
    pressure: Pressures


class CircuitTable(Part):
    """One fluid's whole system."""

    fluid: Text
    temperature: Temperatures
    reference: ReferenceTable | None = None
    highest: Pressures | None = None
    """Highest pressure anywhere in it, where it is known from elsewhere: a relief valve, a pressure cap, a pedal."""
    seals: Text = ""
    """What its O-rings and gaskets are made of: a material of the materials table."""


class DutyTable(Part):
    """One operating condition. What is not stated is unknown, never zero."""

    boost: Pressure | None = None
    burn: Flow | None = None
    crank_power: Power | None = None
    wheel_power: Power | None = None
    driveline_loss: Ratio | None = None
    bsfc: Bsfc | None = None
    engine_speed: Speed | None = None
    road_speed: Velocity | None = None
    lasts: Time | None = None


class PortTable(Part):
    """A port: where it is, which way it points, its thread and seat."""

    at: Point | None = None
    height: Length | None = None
    """Its height over the plan's zero, where a tape gave no more."""
    points: Direction | None = None
    thread: Text = ""
    bore: Bore | None = None
    made_of: Text = ""
    """The metal of the port or bung: a material of the materials table."""

    @property
    def z(self) -> float | None:
        return self.at[2] if self.at is not None else self.height

    @model_validator(mode="after")
    def _one_height(self) -> Self:
        if self.at is not None and self.height is not None and abs(self.at[2] - self.height) > 1e-9:
            raise refuse(f"at is {self.at[2]:.3f} m high and height says {self.height:.3f} m", expected="one of them")
        return self


class PointsTable(Part):
    """Points of flow and pressure drop, with the fluid and temperature at which they were taken."""

    fluid: Text
    temperature: Temperature
    flow: tuple[Flow, ...] = Field(min_length=1, max_length=50)
    drop: tuple[PressureDrop, ...] = Field(min_length=1, max_length=50)

    @model_validator(mode="after")
    def _pairs(self) -> Self:
        if len(self.flow) != len(self.drop):
            raise refuse(f"{len(self.flow)} flows and {len(self.drop)} drops", expected="one drop for each flow")
        if any(f.value <= 0 for f in self.flow) or any(d < 0 for d in self.drop):
            raise refuse("a flow of zero or a drop below zero", expected="flows over 0 and drops of 0 or more")
        return self


class LevelsTable(Part):
    """Heights of a free surface over the plan's zero."""

    full: Length
    low: Length

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.full < self.low:
            raise refuse("full lies under low", expected="the higher figure as full")
        return self


class BendTable(Part):
    """One bend of a run, as measured on its inside."""

    turn: Angle
    inside_radius: Length


class SpanTable(Part):
    """What a tape gives between the two ends."""

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

    circuit: Text
    line: Text = ""
    start: Text = Field(alias="from")
    end: Text = Field(alias="to")
    stock: Text
    via: tuple[Point, ...] | None = Field(default=None, max_length=200)
    path: Text = ""
    span: SpanTable | None = None
    length: Length | None = None
    length_is: Literal["seat-to-seat", "overall", "cut"] | None = None
    rise: Length | None = None
    bends: tuple[BendTable, ...] | None = Field(default=None, max_length=50)
    radius: Length | None = None
    """Radius to which it is bent, as its stock defines a radius; the stock's least where none is said."""
    ends: tuple[Text, Text] = ("auto", "auto")
    clock: Angle | None = None
    chords: dict[str, Length] = Field(default_factory=dict)
    highest: Pressures | None = None
    """Highest pressure in it, where it is known from elsewhere; that of its circuit where none is said."""
    was: Text = ""
    note: Text = ""

    @model_validator(mode="after")
    def _says_which_length(self) -> Self:
        if self.length is not None and self.length_is is None:
            raise refuse("length without length_is", expected='length_is = "seat-to-seat", "overall" or "cut"')
        if self.length is not None and not 0 < self.length < 100:
            raise refuse(f"length of {self.length:.3f} m", expected="a length over 0 and under 100 m")
        if self.path and self.via is not None:
            raise refuse("both via and path", expected="one of them")
        return self


class PositionTable(Part):
    """Where a moving body goes in one position of the suspension."""

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

    def port(self, port: str) -> PortTable:
        return self.ports.get(port, PortTable())


@dataclass(frozen=True, slots=True)
class Ambient:
    """Ambient temperature [K] and absolute pressure [Pa] by duty."""

    temperature: dict[str, float]
    pressure: dict[str, float]


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
    "curve": Text,
    "name": Text,
    "flag": bool,
    "points": PointsTable,
    "levels": LevelsTable,
    "areas": dict[str, Any],
    "points_of_state": dict[str, Any],
}


def _annotation(figure: KindFigure) -> Any:
    if figure.choice:
        return Literal[tuple(figure.choice)]
    if figure.sort != "quantity":
        return _PLAIN[figure.sort]
    return Annotated[ByDuty[Any], VariesBy((figure.dimension,))]


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
        fields[name] = (kept, ...) if figure.needed else (kept | None, None)
    return create_model(f"{kind.id} component", __base__=Part, **fields)
