"""What the bearings of a turbocharger want of their oil feed: the range of pressure at each duty."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from catalogs.grades import weakest
from lines.finding import Verdict
from solver.checks.judging import verdict_of

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from catalogs.records import Limit

    Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Wanted:
    """What the bearings of a turbocharger want at each duty."""

    bearing: str
    top: Limit
    """At top engine speed."""
    least: Limit
    """At any duty."""
    tops: list[int]
    """The duties of top engine speed with warm oil."""
    warm: list[int]
    """Those with warm oil."""
    running: list[int]
    """Those in which the engine turns."""

    @property
    def middle(self) -> float:
        low, high = self.top.caution_below, self.top.caution_above
        assert low is not None
        assert high is not None
        return (low + high) / 2

    def limit(self, duty: int) -> Limit:
        """Its range at a duty: at top speed both hold; the high side wherever the oil is warm."""
        top, least = self.top, self.least
        source = top.source if top.source == least.source else f"{top.source}; at any duty: {least.source}"
        if duty in self.tops:
            changes = {"fail_below": least.fail_below, "source": source, "grade": weakest([top.grade, least.grade])}
            return top.model_copy(update=changes | {"id": "oil.feed"})
        if duty not in self.warm:
            return least.model_copy(update={"id": "oil.feed"})
        low = {"fail_below": least.fail_below, "caution_below": least.caution_below, "source": source}
        return top.model_copy(update=low | {"grade": weakest([top.grade, least.grade]), "id": "oil.feed"})

    def broken(self, duty: int, reads: float) -> tuple[float | None, float | None]:
        """The least that a reading at a duty does not come to, or the most that it passes [Pa over ambient]."""
        limit = self.limit(duty)
        if limit.caution_above is not None and reads > limit.caution_above:
            return None, limit.caution_above
        below = (limit.fail_below, limit.caution_below)
        return next((low for low in below if low is not None and reads < low), None), None

    def ailing(self, reads: Array) -> dict[int, Verdict]:
        """The duties that read out of their range, and how far."""
        verdicts = {i: verdict_of(self.limit(i), float(reads[i])) for i in self.running}
        return {i: verdict for i, verdict in verdicts.items() if verdict is not Verdict.PASS}
