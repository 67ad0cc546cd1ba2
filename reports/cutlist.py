"""The cut list: every assembly by stock, the longest first, and how much of each stock it takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from reports.cutting import CUTTABLE, WORDS, cut_of, cut_state
from reports.figures import dash_size, on_tape, taped

if TYPE_CHECKING:
    from catalogs.records import Stock
    from catalogs.units import System
    from lines.assembly import Assembly
    from reports.cutting import Cut, State
    from reports.figures import Figure
    from solver.study import Study

ALLOWANCE = (
    "Totals are the sums of the lengths as printed. Nothing is added for the saw, for squaring, "
    "for a first mistake or for the roll's last piece."
)


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece to cut."""

    tag: str
    line: str
    cut: Cut
    ends: tuple[str, str]


@dataclass(frozen=True, slots=True)
class StockPieces:
    """Every piece of one stock."""

    stock: Stock
    size: str
    pieces: tuple[Piece, ...]
    total: Figure
    """Sum of the lengths as printed, with those that are provisional or in doubt."""

    def count(self, state: State) -> int:
        """How many pieces are in such a state."""
        return sum(piece.cut.state == state for piece in self.pieces)

    @property
    def open(self) -> str:
        """What the total leaves open; empty where every length is final."""
        counted = {state: self.count(state) for state in WORDS if state != "final" and self.count(state)}
        says = [f"{number} {WORDS[state]}" + _not_summed(state) for state, number in counted.items()]
        return ", ".join(says)


def _not_summed(state: State) -> str:
    return "" if state in CUTTABLE else " and not in the total"


def cut_list(study: Study) -> list[StockPieces]:
    """The pieces of each stock, stocks by family and size, pieces the longest first and those not known last."""
    by_stock: dict[str, list[Assembly]] = {}
    for made in sorted(study.assemblies.values(), key=lambda a: (a.stock.family, a.stock.dash, -(a.cut or 0.0))):
        by_stock.setdefault(made.stock.id, []).append(made)
    return [_of_stock(pieces, study.plan.system) for pieces in by_stock.values()]


def _of_stock(assemblies: list[Assembly], system: System) -> StockPieces:
    stock = assemblies[0].stock
    total = sum(on_tape(made.cut or 0.0, system) for made in assemblies if cut_state(made) in CUTTABLE)
    pieces = tuple(_piece(made, system) for made in assemblies)
    return StockPieces(stock, dash_size(stock.dash), pieces, taped(total, system))


def _piece(made: Assembly, system: System) -> Piece:
    first, second = (chosen.end.id if chosen.end is not None else "not chosen" for chosen in made.ends)
    return Piece(made.tag, made.run.line, cut_of(made, system), (first, second))
