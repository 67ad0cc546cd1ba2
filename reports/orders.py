"""The order list: hose, ends, adapters and sealing parts in sums, and what is not chosen yet."""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from catalogs import units
from catalogs.units import Quantity, show
from reports.cutting import cut_state
from reports.ends import angled
from reports.figures import basis, length_unit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from catalogs.catalog import Catalog
    from catalogs.records import Adapter, HoseEnd, Stock
    from catalogs.units import System
    from lines.assembly import Assembly, Joint
    from reports.cutlist import StockPieces
    from reports.figures import Figure
    from solver.study import Study

LEFT_OUT = "Not in this list: sleeve, clamps, grommets, bulkhead nuts, caps, labels, bungs and spare parts."


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to order."""

    sort: str
    id: str
    means: str
    quantity: float
    unit: str
    says: str
    """The quantity with its unit, as a sheet prints it."""
    part: str
    price: str
    note: str


@dataclass(frozen=True, slots=True)
class Lack:
    """One thing that is not chosen or not known yet."""

    place: str
    what: str


def order_list(study: Study, cut: list[StockPieces]) -> list[Item]:
    """Everything to order: hose, then ends, adapters and sealing parts."""
    catalog, made = study.plan.catalog, list(study.assemblies.values())
    ends = Counter(chosen.end.id for a in made for chosen in a.ends if chosen.end is not None)
    joints = [joint for a in made for joint in a.joints]
    adapters = Counter(joint.adapter.id for joint in joints if joint.adapter is not None)
    seals: Counter[str] = Counter()
    for joint in joints:
        seals.update(_seals(joint))
    return [
        *(_hose(pieces, study.plan.system) for pieces in cut),
        *(_each("end", catalog.end(key), number) for key, number in sorted(ends.items(), key=_natural)),
        *(_each("adapter", _adapter(catalog, key), number) for key, number in sorted(adapters.items(), key=_natural)),
        *(_seal(name, number) for name, number in sorted(seals.items(), key=_natural)),
    ]


def _natural(item: tuple[str, int]) -> list[tuple[int, str]]:
    """Sorts -4 before -10."""
    return [(int(n or 0), text) for text, n in re.findall(r"(\D+)(\d*)", item[0])]


def _hose(pieces: StockPieces, system: System) -> Item:
    stock = pieces.stock
    unit = length_unit(system)
    number = pieces.total.number or 0.0
    count = len(pieces.pieces)
    note = ", ".join(filter(None, [f"{count} piece{'s' * (count > 1)}", pieces.open]))
    says = f"{pieces.total.text} ({_by_the_roll(pieces.total, system)})"
    return Item("hose", stock.id, stock.means, number, unit, says, stock.part, _price(stock), note)


def _by_the_roll(total: Figure, system: System) -> str:
    """The total in feet or metres, rounded up."""
    unit, places = ("ft", 1) if system == "us" else ("m", 2)
    size = units.unit("length", total.unit).to_si(total.number or 0.0)
    number = math.ceil(round(units.unit("length", unit).from_si(size) * 10**places, 6)) / 10**places
    return f"{number:.{places}f} {unit}"


def _each(sort: str, record: HoseEnd | Adapter, number: int) -> Item:
    note = basis(record.origin("part").grade) if record.part else ""
    return Item(sort, record.id, record.means, number, "each", f"{number} each", record.part, _price(record), note)


def _seal(name: str, number: int) -> Item:
    unit = "joints" if name.startswith("thread sealant") else "each"
    says = f"for {number} joint{'s' * (number > 1)}" if unit == "joints" else f"{number} each"
    return Item("seal", name, name, number, unit, says, "", "", "")


def _price(record: Stock | HoseEnd | Adapter) -> str:
    return "" if record.price is None else show(Quantity(record.price, "price"), "metric", decimals=2)


def _adapter(catalog: Catalog, key: str) -> Adapter:
    return cast("Adapter", catalog.get("adapters", key))


def _seals(joint: Joint) -> dict[str, int]:
    """What seals a joint: its adapter's part, or that of the port's own thread."""
    if joint.adapter is not None:
        needs, port = joint.adapter.needs, joint.adapter.port
    elif joint.fits and joint.port_thread is not None:
        needs, port = joint.port_thread.ring, joint.port_thread.id
    else:
        return {}
    counted = re.fullmatch(r"(\d+) (.+)", needs)
    number, name = (int(counted[1]), counted[2]) if counted else (1, needs)
    if not name:
        return {}
    own_size = name.startswith(("O-ring AS568", "thread sealant"))
    return {name if own_size else f"{name}, {port}": number}


def not_chosen(study: Study) -> list[Lack]:
    """What has to be chosen or measured before the order is whole."""
    return [lack for made in study.assemblies.values() for lack in _lacks(made)]


def _lacks(made: Assembly) -> Iterator[Lack]:
    for mark, chosen, joint in zip("AB", made.ends, made.joints, strict=True):
        place = f"{made.tag} end {mark}, {joint.port}"
        if chosen.end is None:
            yield Lack(place, f"hose end: {chosen.needs}")
        if joint.port_thread is None:
            yield Lack(place, "thread of the port")
        if joint.fits is False:
            yield Lack(place, "an adapter, or an end of the port's own seat: none in the tables joins them")
    state = cut_state(made)
    if state == "unknown":
        yield Lack(made.tag, f"cut length: {'; '.join(made.needs)}")
    if state == "impossible":
        yield Lack(made.tag, "cut length: its two ends alone are longer than the place between the ports")
    if angled(made) and made.run.clock is None:
        yield Lack(made.tag, "clock angle: set on the vehicle")
