"""The order list: hose, ends, adapters, seals and small parts in sums, and what is not chosen yet."""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from catalogs import units
from catalogs.units import Quantity, show
from lines.supports import clamps
from reports.cutting import WORDS, cut_state
from reports.figures import CONDUCTIVE, basis, length_unit, measured
from solver.checks.static import charging

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from catalogs.catalog import Catalog
    from catalogs.records import Adapter, HoseEnd, Seal, Stock
    from catalogs.units import System
    from lines.assembly import Assembly
    from lines.joints import Joint
    from lines.plan import Plan
    from reports.cutlist import StockPieces
    from reports.cutting import State
    from reports.figures import Figure
    from solver.study import Study

NOT_SURE: dict[State, str] = {
    "in doubt": "the tape says less than any way through its points; it is in the total",
    "does not fit": "no length of it is in the total",
    "impossible": "its two ends alone are longer than the place between the ports; no length of it is in the total",
}
LEFT_OUT = (
    "Not in this list: sleeve and its bands, grommets, bulkhead nuts, bungs to weld in, bolts of clamps, "
    "and spare parts."
)


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to order."""

    sort: str
    """hose, end, adapter, seal or small part."""
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
    """Everything to order: hose, then ends, adapters, sealing parts and small parts."""
    plan, made = study.plan, list(study.assemblies.values())
    # A plain end is the hose itself, pushed over a spigot: nothing to buy.
    ends = Counter(end.id for a in made for end in a.chosen if end is not None and end.attaches != "clamped")
    joints = [joint for a in made for joint in a.joints]
    adapters = Counter(joint.adapter.id for joint in joints if joint.adapter is not None)
    catalog = plan.catalog
    seals = _seals(catalog, joints)
    return [
        *(_hose(pieces, plan.system) for pieces in cut),
        *(_each("end", catalog.end(key), number) for key, number in sorted(ends.items(), key=_natural)),
        *(_each("adapter", _adapter(catalog, key), number) for key, number in sorted(adapters.items(), key=_natural)),
        *(item for item in seals if item.sort == "seal"),
        *(item for item in seals if item.sort == "small part"),
        *_small_parts(plan, made),
    ]


def _natural(item: tuple[str, int]) -> list[tuple[str, int]]:
    """Sorts by name, and -4 before -10."""
    return [(text, int(n or 0)) for text, n in re.findall(r"(\D+)(\d*)", item[0].casefold())]


def _hose(pieces: StockPieces, system: System) -> Item:
    stock = pieces.stock
    unit = length_unit(system)
    number = pieces.total.number or 0.0
    count = len(pieces.pieces)
    note = ", ".join(filter(None, [f"{count} piece{'s' * (count > 1)}", pieces.open]))
    says = f"{pieces.total.text} ({_by_the_roll(pieces.total, system)})"
    means = f"{stock.means}{CONDUCTIVE[stock.conducts]}"
    return Item("hose", stock.id, means, number, unit, says, stock.part, _price(stock), note)


def _by_the_roll(total: Figure, system: System) -> str:
    """The total in feet or metres, rounded up."""
    unit, places = ("ft", 1) if system == "us" else ("m", 2)
    size = units.unit("length", total.unit).to_si(total.number or 0.0)
    number = math.ceil(round(units.unit("length", unit).from_si(size) * 10**places, 6)) / 10**places
    return f"{number:.{places}f} {unit}"


def _each(sort: str, record: HoseEnd | Adapter, number: int) -> Item:
    note = basis(record.origin("part").grade) if record.part else ""
    return Item(sort, record.id, record.means, number, "each", f"{number} each", record.part, _price(record), note)


def _price(record: Stock | HoseEnd | Adapter | Seal) -> str:
    return "" if record.price is None else show(Quantity(record.price, "price"), "metric", decimals=2)


def _adapter(catalog: Catalog, key: str) -> Adapter:
    return cast("Adapter", catalog.get("adapters", key))


def _seals(catalog: Catalog, joints: Iterable[Joint]) -> list[Item]:
    """What seals the joints; a clamp over a spigot and the bolt of a banjo are small parts."""
    numbers: Counter[str] = Counter()
    for joint in joints:
        numbers.update(dict(joint.seals))
    known = set(catalog.ids("seals"))
    return [
        _seal(name, number, catalog.seal(name) if name in known else None)
        for name, number in sorted(numbers.items(), key=_natural)
    ]


def _seal(name: str, number: int, seal: Seal | None) -> Item:
    if seal is None:
        return Item("seal", name, name, number, "each", f"{number} each", "", "", "not in the table of seals")
    sort = "small part" if seal.sort in {"clamp", "bolt"} else "seal"
    by_joint = seal.sort == "sealant"
    says = f"for {number} joint{'s' * (number > 1)}" if by_joint else f"{number} each"
    note = "new at every assembly" if seal.once and not by_joint else ""
    unit = "joints" if by_joint else "each"
    return Item(sort, name, seal.means, number, unit, says, seal.part, _price(seal), note)


def _small_parts(plan: Plan, made: list[Assembly]) -> Iterator[Item]:
    held = Counter[str]()
    for a in made:
        held[f"support clamp, {a.stock.id}"] += len(clamps(plan, a))
    sizes = {f"support clamp, {a.stock.id}": measured(a.stock.outside, plan.system).text for a in made}
    for name, number in sorted(held.items(), key=_natural):
        if number:
            yield _small(name, f"cushioned clamp round {sizes[name]}", number, "")
    threads = Counter(chosen.end.thread for a in made for chosen in a.ends if chosen.end is not None)
    for name, number in sorted(threads.items(), key=_natural):
        yield _small(f"cap or plug, {name}", "shuts an end as soon as it is made and clean", number, "used again")
    if made:
        yield _small("label", "its text stands on the bench sheet", len(made), "")


def _small(name: str, means: str, number: int, note: str) -> Item:
    return Item("small part", name, means, number, "each", f"{number} each", "", "", note)


def not_chosen(study: Study) -> list[Lack]:
    """What has to be chosen or measured before the order is whole."""
    found = [lack for made in study.assemblies.values() for lack in _lacks(made)]
    found += [lack for name in study.plan.circuits for lack in _rubber(study, name)]
    return found + list(_charged(study))


def _charged(study: Study) -> Iterator[Lack]:
    """Hose for fuel whose liner charges unless it conducts, which nobody said."""
    not_said = {a.stock.id for a in study.assemblies.values() if a.stock.conducts is None and charging(study, a)}
    for stock in sorted(not_said):
        yield Lack(stock, "for fuel, whether its liner conducts: what run.static asks for")


def _rubber(study: Study, circuit: str) -> Iterator[Lack]:
    """Rings of a circuit whose rubber nobody said."""
    catalog, plan = study.plan.catalog, study.plan
    known = set(catalog.ids("seals"))
    joints = [j for made in study.assemblies.values() if made.run.circuit == circuit for j in made.joints]
    rings = {name for j in joints for name, _ in j.seals if name in known and catalog.seal(name).of_rubber}
    if rings and not plan.circuits[circuit].seals:
        yield Lack(f"circuit {circuit}", f"the rubber of {', '.join(sorted(rings))}: seals in [circuits.{circuit}]")


def _lacks(made: Assembly) -> Iterator[Lack]:
    for mark, chosen, joint in zip("AB", made.ends, made.joints, strict=True):
        place = f"{made.tag} end {mark}, {joint.port}"
        if chosen.end is None:
            yield Lack(place, f"hose end with its cap or plug: {chosen.needs}")
        if joint.port_thread is None:
            yield Lack(place, "thread of the port, and with it adapter and seal")
        if joint.fits is False:
            yield Lack(place, "an adapter, or an end of the port's own seat: none in the tables joins them")
    state = cut_state(made)
    if state == "unknown":
        yield Lack(made.tag, f"cut length, and with it its support clamps: {'; '.join(made.needs)}")
    if state in NOT_SURE:
        yield Lack(made.tag, f"cut length {WORDS[state]}: {NOT_SURE[state]}")
    if made.angled and made.clock is None and made.run.clock is None:
        yield Lack(made.tag, "clock angle: set on the vehicle")
