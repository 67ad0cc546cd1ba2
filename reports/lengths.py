"""The lengths of an assembly, each by its name: cut, seat to seat, overall, free; and how one follows from another."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

from catalogs.units import Quantity, show
from lines.assembly import overhang
from reports.figures import BLANK, agreeing, decimal, length_unit, less

if TYPE_CHECKING:
    from catalogs.records import HoseEnd
    from catalogs.units import System
    from lines.assembly import Assembly

Way = Literal["collar", "spigot", "flare"]


@dataclass(frozen=True, slots=True)
class Named:
    """A length by its name."""

    name: str
    text: str
    """With its unit, or room for it."""
    says: str
    """How it follows, or what to measure."""


def way_on(end: HoseEnd) -> Way:
    """How an end and its hose meet: the hose in a collar, over a spigot, or the tube itself flared."""
    if end.attaches == "flared":
        return "flare"
    return "spigot" if end.cutoff < 0 else "collar"


def part_of(end: HoseEnd | None, mark: str) -> str:
    """What a formula calls the length between the cut edge and the seat."""
    names = {"collar": f"cut-off {mark}", "spigot": f"over spigot {mark}", "flare": f"flare {mark}"}
    return names["collar" if end is None else way_on(end)]


def lengths(made: Assembly, system: System) -> tuple[Named, ...]:
    """Every length that has a meaning for the assembly, cut first."""
    texts = _agreed(made, system)
    found = [_cut(made, texts, system), _seats(made, texts, system), _overall(made, texts, system)]
    return tuple(found if made.stock.rigid else [*found, _free(made, texts, system)])


def _agreed(made: Assembly, system: System) -> dict[str, str]:
    """The numbers of all formulas, so that each adds up as printed; what was measured stays as it is."""
    ends = [(mark, end) for mark, end in zip("AB", made.chosen, strict=True) if end is not None]
    if made.length is None:
        return {}
    if made.cut is None:
        return {"seats": _bare(made.length, system)}
    cutoffs = {f"cutoff {mark}": end.cutoff for mark, end in ends}
    over = {f"over {mark}": size for mark, end in ends if (size := overhang(end)) is not None}
    parts, sums = cutoffs | over, {}
    if made.run.length_is in {"seat-to-seat", "overall"}:
        parts["seats"] = made.length
        sums["cut"] = made.cut, ("seats", *(f"-{name}" for name in cutoffs))
        seats: tuple[str, ...] = ("seats",)
    else:
        parts["cut"] = made.cut
        seats = ("cut", *cutoffs)
        sums["seats"] = made.length, seats
    if made.overall is not None:
        sums["overall"] = made.overall, (*seats, *over)
    return agreeing(parts, sums, system)


def _bare(length: float, system: System) -> str:
    return decimal(length, system).removesuffix(f" {length_unit(system)}")


def _named(name: str, number: str | None, says: str, system: System) -> Named:
    return Named(name, f"{number or BLANK} {length_unit(system)}", says)


def _cut(made: Assembly, texts: dict[str, str], system: System) -> Named:
    terms = "".join(_taken(made, texts, i) for i in (0, 1))
    says = f"= {texts.get('seats', BLANK)}{terms}"
    if made.does_not_fit:
        says += "; DO NOT CUT: it does not fit as it lies"
    if made.nuts_in_length:
        says = f"= {texts.get('seats', BLANK)}{terms}; the nuts are not taken off yet: too long"
    return _named("cut", texts.get("cut"), says, system)


def _taken(made: Assembly, texts: dict[str, str], i: int) -> str:
    mark = "AB"[i]
    return f"{less(texts.get(f'cutoff {mark}', BLANK))} ({part_of(made.chosen[i], mark)})"


def _seats(made: Assembly, texts: dict[str, str], system: System) -> Named:
    if made.nuts_in_length:
        ends = " and ".join(made.nuts_in_length)
        says = f"= overall less how far the nut of end {ends} reaches over its seat: measure that first"
        return _named("seat to seat", None, says, system)
    says = f"known by {made.how}" if made.how else "not measured"
    marks = [mark for mark, joint in zip("AB", made.joints, strict=True) if joint in made.adapters_in_length]
    says += f"; the adapter at {' and '.join(marks)} is not measured" if marks else ""
    return _named("seat to seat", texts.get("seats"), says, system)


def _overall(made: Assembly, texts: dict[str, str], system: System) -> Named:
    if made.nuts_in_length and made.run.length is not None:
        return _named("overall", _bare(made.run.length, system), "by tape, over the ends of the nuts", system)
    if all(end is not None and way_on(end) == "spigot" for end in made.chosen):
        return _named("overall", texts.get("cut"), "= cut: nothing reaches over the hose itself", system)
    if made.overall is not None and "overall" in texts:
        nuts = "".join(
            f" + {texts[f'over {m}']} (nut {m})" for m, end in zip("AB", made.chosen, strict=True) if overhang(end)
        )
        says = f"= {texts['seats']}{nuts}"
        return _named("overall", texts["overall"], says, system)
    open_ = [m for m, end in zip("AB", made.chosen, strict=True) if overhang(end) is None]
    says = f"measure how far the nut of end {' and '.join(open_)} reaches over its seat, and add it to seat to seat"
    return _named("overall", None, says, system)


def _free(made: Assembly, texts: dict[str, str], system: System) -> Named:
    name = "free"
    inside = {m: end.insertion for m, end in zip("AB", made.chosen, strict=True) if end is not None and end.insertion}
    open_ = " and ".join(mark for mark in "AB" if mark not in inside)
    if open_ or "cut" not in texts:
        return _named(name, None, f"= cut less what is inside end {open_ or 'A and B'}, not known", system)
    taken = {mark: _bare(length, system) for mark, length in inside.items()}
    # The difference of the figures as printed: nothing is cut by it.
    rest = Decimal(texts["cut"]) - sum(Decimal(text) for text in taken.values())
    held = "".join(f"{less(text)} (inside {mark})" for mark, text in taken.items())
    return _named(name, str(rest), f"= {texts['cut']}{held}, between both ends", system)


def between(made: Assembly, system: System) -> str:
    """Between which lengths a cut length by points may lie; empty where it is by tape or has no bends."""
    if made.run.length is not None or made.route is None or made.cut is None or not made.route.line.bends:
        return ""
    line = made.route.line
    low, high = decimal(line.shortest, system), decimal(line.length, system)
    if low == high:
        return ""
    widest = "at the radius said" if made.run.radius is not None else "as tight as allowed"
    return f"cut length between {low}, bends as wide as fits, and {high}, {widest}"


def over(end: HoseEnd, system: System) -> str:
    """How far the hose goes over a spigot, or what a flare takes."""
    return show(Quantity(abs(end.cutoff), "length"), system, decimals=2 if system == "us" else 1)
