"""The record of a kind of component: ports, inner paths, own figures."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from catalogs.fields import Part
from catalogs.grades import Grade
from catalogs.records import Record

Law = Literal[
    "plain",  # no loss of its own
    "mouth",  # out of or into a large space
    "passage",  # a drilled passage of bore and length
    "points",  # by own points of flow and pressure drop
    "loss",  # by a loss coefficient on a bore, or by points
    "tee",  # one leg of a tee, by how the flow divides
    "leg",  # one port of a gallery
    "pump",  # by a data-sheet curve
    "bypass",  # holds the pressure before it by letting the rest go by
    "check",  # one way
    "orifice",  # a bore with a length, laminar and inertial
    "supply",  # holds the pressure after it
    "thermostat",
    "engine_pump",  # driven by the engine, by a curve against speed
    "piston",  # moves a volume against a pressure
    "proportion",  # lets a share of the pressure rise through
    "higher",  # lets the higher of two pressures through
    "roll_over",  # by own points as long as it stands; shuts when it lies over, which is not in the flow
    "scavenge",  # a pump for foam
]


class KindPort(Part):
    """A port of a kind."""

    means: str
    gravity: Literal["", "out", "in"] = ""
    """Nothing but gravity moves the fluid, out of it or into it."""
    may_close: bool = False
    """May it go without a run: a second outlet, a bleed, a by-pass?"""
    inside: bool = False
    """Is it a place inside the component: no hole where no run is on it?"""


class KindNode(Part):
    """A point inside a component where paths meet."""

    means: str
    pressure: str = ""
    """`ambient`, or the figure that gives it; empty where the circuit decides it."""
    draw: str = ""
    """The figure that gives the flow taken here, or `burn`: this component's share of the fuel demand."""
    gives: str = ""
    """The figure that gives the flow that comes in here."""
    height: str = ""
    """The figure that gives its height; empty: as the ports."""
    gas: str = ""
    """The node that a circuit of gas reaches instead: the air over a liquid."""
    repeated: str = ""
    """The figure that counts how many of it there are, evenly spaced along the way through it; one if not stated."""
    each: str = ""
    """What each of them is then called, before its number, from where the way comes in."""


class KindPath(Part):
    """An inner path, which is one edge of a circuit."""

    name: str
    start: str = Field(alias="from")
    end: str = Field(alias="to")
    """A port or node; `each` stands for every port of a kind with free ports."""
    law: Law
    loss: str = ""
    """The row of the losses table that the law uses."""
    share: Annotated[float, Field(gt=0, le=1)] = 1.0
    """Of the drop that its points or its row of losses state, or of a passage's length; a half where the flow passes
    two such paths."""


class KindFigure(Part):
    """A figure that the plan states for a component."""

    means: str
    dimension: str = ""
    also: str = ""
    """Another dimension in which it may be written."""
    choice: tuple[str, ...] = ()
    sort: Literal[
        "quantity",
        "count",
        "choice",
        "curve",
        "points",
        "name",
        "flag",
        "levels",
        "areas",
        "point",
        "direction",
        "points_of_state",
        "port",
    ] = "quantity"
    needed: bool = False
    written: str = ""
    """How it is written, in US units, where its sort has none that suits."""
    default: str | None = None
    source: str = ""
    grade: Grade | None = None


class Kind(Record):
    """A kind of component. Its shape is the tool's own; only a figure's default has a source."""

    source: str = "the tool's own definition"
    grade: Grade = Grade.STANDARD
    means: str
    ports: dict[str, KindPort] = Field(default_factory=dict)
    free_ports: str = ""
    """What the ports are that a plan names itself; empty where there are none."""
    nodes: dict[str, KindNode] = Field(default_factory=dict)
    paths: tuple[KindPath, ...] = ()
    figures: dict[str, KindFigure] = Field(default_factory=dict)
    holds: str = ""
    """What it holds, in a word; `gas` where that is no liquid."""
