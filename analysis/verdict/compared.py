"""One comparison with its verdict: a row of the result's table of comparisons."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from slackwater.analysis.verdict.verdicts import Word, Worth


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """Two configurations compared in one quantity at one place.

    `change`, `low`, `high`, `noise_floor`, `worthwhile`, `vanishes_at` and the bounds of the
    one-sided tests are fractions of the baseline, or differences in `unit` where the scale is a difference. None stands for what
    cannot be computed. The fields are described one by one in `result.fields`.
    """

    baseline: str
    modified: str
    quantity: str
    at: str
    position: float | None
    baseline_mean: float | None
    modified_mean: float | None
    unit: str
    change: float | None = None
    low: float | None = None
    high: float | None = None
    confidence: float
    simultaneous: bool
    family: int = 0
    p_value: float | None = None
    noise_floor: float | None = None
    worthwhile: float | None = None
    verdict: Word
    declared: bool | None = None
    final: bool | None = None
    deciding: bool | None = None
    worth: Worth | None = None
    equivalence_p: float | None = None
    equivalence_low: float | None = None
    equivalence_high: float | None = None
    no_loss_p: float | None = None
    no_loss_bound: float | None = None
    reason: str
    degrees_of_freedom: float | None = None
    scale: str
    better: str | None
    sessions_baseline: int
    sessions_modified: int
    vanishes_at: float | None = None
    shared_uncertainty: float | None = None
    curve_uncertainty: float | None = None

    def as_row(self) -> dict[str, Any]:
        """The same by name, as a table takes it."""
        return {each.name: getattr(self, each.name) for each in fields(self)}


def compared_from(row: Mapping[str, Any]) -> Compared:
    """A comparison from a row of the table; what is none of its fields is left out."""
    known = {each.name: row[each.name] for each in fields(Compared) if each.name in row}
    worth = known.get("worth")
    return Compared(
        **known
        | {
            "verdict": Word(known.get("verdict") or Word.UNTESTABLE),
            "worth": None if worth is None else Worth(worth),
        }
    )
