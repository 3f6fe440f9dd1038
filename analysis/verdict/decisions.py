"""What is decided of every position of a comparison, and the figures that say it.

Each decision is made once, by the steps of `multiplicity`: against no difference, inside the
worthwhile difference, and beyond a loss that would matter. Its p-value, its bound and its verdict
are the same decision in other words, also where a look part-way or a seal asks for more than the
confidence that is declared: p-values are then brought to the level of all looks together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.statistics.decided import Beyond, Decided
from slackwater.analysis.verdict.terms import Terms
from slackwater.analysis.verdict.verdicts import Evidence

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Decisions:
    """The decisions on one sweep.

    Attributes
    ----------
    found : Decided
    table : SessionValues
    p_values : ndarray, shape (positions,)
    equivalence : Beyond or None
        Of differences inside the worthwhile one; None where none is declared, or one side only.
    no_loss : Beyond or None
        Of losses smaller than the one that would matter; None where that is not declared.
    level_factor : float
        What p-values are multiplied with, so that the declared level is the one of this look.
    """

    found: Decided
    table: SessionValues
    p_values: Array
    equivalence: Beyond | None
    no_loss: Beyond | None
    level_factor: float

    @classmethod
    def of(cls, found: Decided, table: SessionValues, terms: Terms) -> Decisions:
        """Decide everything that the terms ask of a comparison."""
        equivalence = no_loss = None
        if terms.worthwhile is not None:
            size = np.asarray(terms.worthwhile, dtype=float)
            limit = np.log1p(size) if table.scale == "ratio" else size
            if not terms.one_sided:
                equivalence = found.inside(-limit, limit)
            elif table.better is not None:
                sign = 1 if table.better == "more" else -1
                no_loss = found.above(-sign * limit, sign)
        factor = (1 - terms.confidence) / (1 - found.confidence)
        return cls(found, table, found.p_values(), equivalence, no_loss, factor)

    def evidence(self, p: int, terms: Terms) -> Evidence:
        """What the verdict on one position is given on."""
        found, scale = self.found, self.table.scale
        # The floor on the side of the change: a ratio is not as far below 1 as above it.
        side = float(np.copysign(found.floor[p], found.difference[p]))
        ends = self._equivalence_ends(p)
        return Evidence(
            change=natural(float(found.difference[p]), scale),
            low=natural(float(found.low[p]), scale),
            high=natural(float(found.high[p]), scale),
            noise_floor=abs(natural(side, scale)),
            established=bool(found.established[p]),
            worthwhile=terms.worthwhile_at(p),
            better=self.table.better,
            scale=scale,
            unit=self.table.unit,
            inside=ends if self.equivalence and self.equivalence.established[p] else None,
            one_sided=terms.one_sided,
            no_loss=self._no_loss_bound(p)
            if self.no_loss and self.no_loss.established[p]
            else None,
        )

    def columns(self, p: int) -> dict[str, Any]:
        """The p-values of one position, and the bounds of the one-sided tests."""
        low, high = self._equivalence_ends(p) or (None, None)
        inside, no_loss = self.equivalence, self.no_loss
        return {
            "p_value": self._at_level(self.p_values[p]),
            "equivalence_p": inside and self._at_level(inside.p_values[p]),
            "equivalence_low": low,
            "equivalence_high": high,
            "no_loss_p": no_loss and self._at_level(no_loss.p_values[p]),
            "no_loss_bound": self._no_loss_bound(p),
        }

    def _at_level(self, p: float) -> float:
        """A p-value brought from the level of this look to the declared one."""
        return float(min(p * self.level_factor, 1.0))

    def _equivalence_ends(self, p: int) -> tuple[float, float] | None:
        """Bounds of the two one-sided tests."""
        if self.equivalence is None:
            return None
        middle, reach = float(self.found.difference[p]), float(self.equivalence.reach[p])
        scale = self.table.scale
        return natural(middle - reach, scale), natural(middle + reach, scale)

    def _no_loss_bound(self, p: int) -> float | None:
        """The largest loss that is not ruled out, signed as a change; a gain where all are."""
        if self.no_loss is None:
            return None
        sign = 1 if self.table.better == "more" else -1
        bound = float(self.found.difference[p]) - sign * float(self.no_loss.reach[p])
        return natural(bound, self.table.scale)


def natural(value: float, scale: str) -> float:
    """From the scale of the analysis to the one people read: fraction or difference."""
    return float(np.expm1(value)) if scale == "ratio" else float(value)
