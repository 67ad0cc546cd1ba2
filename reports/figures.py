"""Figures as a sheet prints them: in the plan's units, each with its unit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from catalogs import units
from catalogs.units import Quantity, System, number_in, printed_unit, show, show_tape

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catalogs.grades import Grade

BLANK = "________"
INCH_PARTS = 16
CONDUCTIVE = {True: ", conductive liner", False: ", liner not conductive", None: ""}
"""What a label and an order say of a liner that does or does not carry off the charge of fuel; None: not known."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A number in the unit that the plan's system prints, and how a sheet says it."""

    number: float | None
    unit: str
    text: str


def length_unit(system: System) -> str:
    """The unit of lengths."""
    return printed_unit("length", system)


def blank_length(system: System) -> str:
    """Room for a length to be written in."""
    return f"{BLANK} {length_unit(system)}"


def on_tape(length: float, system: System) -> float:
    """The length [m] of the tape's mark that is nearest to a length [m]: what a sheet prints and sums."""
    finest = units.unit("length", length_unit(system))
    parts = INCH_PARTS if system == "us" else 1
    return finest.to_si(round(finest.from_si(length) * parts) / parts)


def decimal(length: float, system: System) -> str:
    """A length [m] in decimals: hundredths of an inch or tenths of a millimetre."""
    return show(Quantity(length, "length"), system, decimals=_decimals(system))


def taped(length: float, system: System) -> Figure:
    """A length [m] as a tape reads it; the number is that of the tape's mark."""
    marked = on_tape(length, system)
    return Figure(number_in(Quantity(marked, "length"), system), length_unit(system), show_tape(marked, system))


def measured(length: float, system: System) -> Figure:
    """A length [m] in decimals."""
    return Figure(number_in(Quantity(length, "length"), system), length_unit(system), decimal(length, system))


def pressure(value: float, system: System) -> Figure:
    """A rating [Pa gauge]."""
    quantity = Quantity(value, "pressure", "gauge")
    return Figure(number_in(quantity, system), printed_unit("pressure", system), show(quantity, system))


def across_flats(size: float) -> str:
    """A hex [m] as its spanner is marked: in sixteenths of an inch where it is one, else in millimetres."""
    inch = units.unit("length", "in").from_si(size)
    if abs(round(inch * INCH_PARTS) / INCH_PARTS - inch) < 0.002:
        return show_tape(size, "us")
    return f"{units.unit('length', 'mm').from_si(size):.3g} mm"


def dash_size(dash: int) -> str:
    """`-8 AN`: the outside of the matching tube in sixteenths of an inch, not the bore."""
    return f"-{dash} AN"


def basis(grade: Grade | None) -> str:
    """What to say beside a figure that is not sure; empty where it is."""
    return grade.says if grade is not None and grade.provisional else ""


def short(grade: Grade) -> str:
    """How sure a figure is, in a word or two."""
    return grade.says.partition(":")[0].partition(",")[0]


def with_basis(text: str, grade: Grade | None) -> str:
    """A figure, and in brackets what it rests on where it is not sure."""
    return f"{text} ({basis(grade)})" if basis(grade) else text


def difference(length: float, cutoffs: tuple[float, float], cut: float, system: System) -> str:
    """`16.47 - 0.83 - 0.83 = 14.81 in`, with as many decimals as the sum needs to be right as printed.

    Args:
        length: between the seats [m].
        cutoffs: of both ends [m]; one that is less than 0 is printed as added.
        cut: what is left [m].
        system: inches or millimetres.
    """
    parts = {"cut": cut, "A": cutoffs[0], "B": cutoffs[1]}
    texts = agreeing(parts, {"length": (length, ("cut", "A", "B"))}, system, more=2)
    if any(len(text.partition(".")[2]) > _decimals(system) for text in texts.values()):
        texts = {name: text.rstrip("0").rstrip(".") for name, text in texts.items()}
    return f"{texts['length']}{less(texts['A'])}{less(texts['B'])} = {texts['cut']} {length_unit(system)}"


def _decimals(system: System) -> int:
    return 2 if system == "us" else 1


def less(number: str) -> str:
    """A printed number taken away from what stands before it: ` - 0.83`, or ` + 0.75` for one under 0."""
    return f" + {number[1:]}" if number.startswith("-") else f" - {number}"


def agreeing(
    parts: Mapping[str, float], sums: Mapping[str, tuple[float, tuple[str, ...]]], system: System, *, more: int = 1
) -> dict[str, str]:
    """Numbers that add up as printed, all with as few decimals as that takes.

    Args:
        parts: lengths by name [m].
        sums: lengths by name [m], each with the parts that it is the sum of; one that is taken away has a minus
            before its name.
        system: inches or millimetres.
        more: decimals that may be added. With all of them the parts are right and a sum may be one or two off in the
            last place.

    Returns:
        each number by its name, without its unit.
    """
    first = _decimals(system)
    exact = {name: number_in(Quantity(x, "length"), system) for name, x in parts.items()}
    whole = {name: number_in(Quantity(x, "length"), system) for name, (x, _) in sums.items()}
    for places in range(first, first + more + 1):
        rounded = {name: round(n, places) for name, n in exact.items()}
        rounded |= {f"-{name}": -n for name, n in rounded.items()}
        added = {name: round(sum(rounded[part] for part in of), places) for name, (_, of) in sums.items()}
        if all(round(whole[name], places) == n for name, n in added.items()):
            break
    return {name: f"{n + 0.0:.{places}f}" for name, n in (rounded | added).items()}
