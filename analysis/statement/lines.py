"""One comparison as a line that may be printed: both values, the change, and how much of it is said.

What may be said of a change is not decided here. A form of words is tried on the rules by which the
audit judges published claims, and the first that they uphold is taken: the size; else the interval as
a range, where it leaves too many sizes open; else a margin that the trial shows to be kept.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import hypot
from statistics import NormalDist
from typing import Any

from slackwater.analysis.audit.against_data import hold
from slackwater.analysis.audit.stated_values import hold_value
from slackwater.analysis.audit.verdict_rules import ClaimWord
from slackwater.analysis.result.mean import Mean
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.verdict.verdicts import Word
from slackwater.analysis.wording.numbers import (
    MINUS,
    MISSING,
    NBSP,
    Scale,
    change_scale,
    decimals_for,
    fixed,
    value_scale,
)
from slackwater.protocol.claims.claim import Claim

Entry = dict[str, Any]

#: Units of differences, as a claim writes them.
_DIFFERENCES = {"percentage points": "%", "°C": "delta_degC", "°F": "delta_degF"}


class Said(StrEnum):
    """How much is said of a change."""

    SIZE = "size"
    RANGE = "range"
    DIRECTION = "direction"
    WITHIN = "within"
    NOT_SHOWN = "not shown"
    NOT_TESTED = "not tested"

    @property
    def shown(self) -> bool:
        """A difference is shown."""
        return self in (Said.SIZE, Said.RANGE, Said.DIRECTION)


@dataclass(frozen=True, slots=True)
class Value:
    """What one configuration gave at one place, rounded by its uncertainty.

    Attributes
    ----------
    text, interval : str
        Without their unit; the interval is empty where no noise is known.
    sessions : int
    """

    text: str
    interval: str
    sessions: int


@dataclass(frozen=True, slots=True)
class Line:
    """A comparison as it may be printed.

    Attributes
    ----------
    row : Compared
        The numbers behind it.
    baseline, modified : Value or None
        None where the trial has no value of a configuration at this place.
    unit : str
        Of both values.
    said : Said
    change : str
        As a table has it: "+8.7 %", "higher" where the size is left open, "not shown".
    interval : str
        Of the change, with its unit; empty where there is none.
    size : str
        As a sentence has it, without direction: "8.7 % (5.5 to 11.9 %)", "0.6 to 5.9 %".
    kept : str
        The margin that is shown to be kept, in words; empty where none is.
    claims : tuple of dict
        What the line comes to, as a file of claims has it.
    """

    row: Compared
    baseline: Value | None
    modified: Value | None
    unit: str
    said: Said
    change: str
    interval: str
    size: str
    kept: str
    claims: tuple[Entry, ...]

    @property
    def at(self) -> str:
        """Where: the set point or speed with its unit."""
        return self.row.at

    @property
    def higher(self) -> bool:
        """The modified configuration gave more."""
        return (self.row.change or 0.0) > 0


def line_of(
    row: Compared, comparisons: Sequence[Compared], means: Sequence[Mean], place: str | None
) -> Line:
    """The line of one comparison.

    Parameters
    ----------
    row : Compared
    comparisons, means : sequences
        Of the whole result: what is said is held against them.
    place : str or None
        Where, as a claim names it; None for a figure of the whole sweep.
    """
    wording = _Wording(row, comparisons, place)
    values = {side: _mean_of(row, getattr(row, side), means) for side in ("baseline", "modified")}
    said, change, entries = wording.change()
    kept, margin = wording.kept()
    entries = [*entries, *margin, *_values_claimed(wording, values, means)]
    if said is Said.NOT_SHOWN and row.verdict is Word.EQUIVALENT and kept:
        said, change = Said.WITHIN, kept
    return Line(
        row=row,
        baseline=_value(values["baseline"], row.confidence),
        modified=_value(values["modified"], row.confidence),
        unit=value_scale(row.unit).unit,
        said=said,
        change=change,
        interval=wording.interval(),
        size=wording.size(said),
        kept=kept,
        claims=tuple(entries),
    )


def _mean_of(row: Compared, configuration: str, means: Sequence[Mean]) -> Mean | None:
    key = (configuration, row.quantity, row.at)
    return next((m for m in means if (m.configuration, m.quantity, m.at) == key), None)


def _value(mean: Mean | None, confidence: float) -> Value | None:
    """A mean, its interval widened by the calibration of the instruments, which no change carries."""
    if mean is None:
        return None
    scale = value_scale(mean.unit)
    if mean.low is None or mean.high is None:
        return Value(fixed(scale.of(mean.mean), None), "", mean.sessions)
    known = NormalDist().inv_cdf(0.5 + confidence / 2) * (mean.calibration or 0.0)
    low = mean.mean - hypot(mean.mean - mean.low, known)
    high = mean.mean + hypot(mean.high - mean.mean, known)
    decimals = decimals_for(scale.width(low, high), lean=True)
    text, *ends = (fixed(scale.of(value), decimals) for value in (mean.mean, low, high))
    return Value(text, " to ".join(ends), mean.sessions)


@dataclass(frozen=True, slots=True)
class _Wording:
    """A comparison in words and figures, each tried on the rules of the audit."""

    row: Compared
    comparisons: Sequence[Compared]
    place: str | None

    @property
    def scale(self) -> Scale:
        return change_scale(self.row.scale, self.row.unit)

    @property
    def decimals(self) -> int | None:
        return decimals_for(self.scale.width(self.row.low, self.row.high))

    def end(self, value: float | None, *, signed: bool = True) -> str:
        """An end of the interval; one that is not zero is never printed as zero."""
        scaled, decimals = self.scale.of(value), self.decimals
        if scaled and decimals is not None and not float(f"{scaled:.{max(decimals, 0)}f}"):
            decimals = -int(f"{scaled:.0e}".partition("e")[2])
        text = fixed(scaled, decimals, signed=signed)
        return text if signed else text.lstrip(MINUS)

    def interval(self) -> str:
        """The interval of the change with its unit; empty without one."""
        if self.row.low is None or self.row.high is None:
            return ""
        return f"{self.end(self.row.low)} to {self.end(self.row.high)}{NBSP}{self.scale.unit}"

    def size(self, said: Said) -> str:
        """The size of the change and its interval, without direction."""
        if not said.shown:
            return ""
        ends = sorted((self.row.low or 0.0, self.row.high or 0.0), key=abs)
        low, high = (self.end(value, signed=False) for value in ends)
        span = f"{low} to {high}{NBSP}{self.scale.unit}"
        if said is not Said.SIZE:
            return span
        own = fixed(self.scale.of(self.row.change), self.decimals).lstrip(MINUS)
        return f"{own}{NBSP}{self.scale.unit} ({span})"

    def change(self) -> tuple[Said, str, list[Entry]]:
        """How much is said of the change, as the table has it, and the claim that it comes to."""
        row = self.row
        if row.verdict is Word.UNTESTABLE or self.decimals is None:
            return Said.NOT_TESTED, "not tested", []
        if not row.verdict.established:
            return Said.NOT_SHOWN, "not shown", []
        size = fixed(self.scale.of(row.change), self.decimals, signed=True)
        span = f"{self.end(row.low)} to {self.end(row.high)}"
        word = "higher" if (row.change or 0.0) > 0 else "lower"
        for said, text in ((Said.SIZE, size), (Said.RANGE, span)):
            entry = self.entry("change", {self.stated_as: _typed(text, self.claim_unit)})
            if self.upheld(entry):
                told = f"{text}{NBSP}{self.scale.unit}" if said is Said.SIZE else word
                return said, told, [entry]
        return Said.DIRECTION, word, []

    def kept(self) -> tuple[str, list[Entry]]:
        """A margin declared beforehand that is shown to be kept, and the claim of it."""
        row = self.row
        if row.worthwhile is None or row.verdict is Word.UNTESTABLE or row.scale != "ratio":
            return "", []
        limit = f"{100 * row.worthwhile:.6f}".rstrip("0").rstrip(".")
        alpha = 1 - row.confidence
        tries = []
        if row.equivalence_p is not None and row.equivalence_p <= alpha:
            tries.append((f"-{limit} to {limit} %", f"within ±{limit}{NBSP}%"))
        if row.no_loss_p is not None and row.no_loss_p <= alpha:
            word = "lower" if row.better == "more" else "higher"
            side = "less" if row.better == "more" else "more"
            tries.append((f"at most {limit} % {side}", f"no more than {limit}{NBSP}% {word}"))
        for stated, words in tries:
            entry = self.entry("margin", {"change": stated})
            if self.upheld(entry):
                return words, [entry]
        return "", []

    @property
    def stated_as(self) -> str:
        """Whether a claim states this change as a percentage or as a difference."""
        return "change" if self.row.scale == "ratio" else "difference"

    @property
    def claim_unit(self) -> str:
        return _DIFFERENCES.get(self.scale.unit, self.scale.unit)

    def entry(self, name: str, stated: dict[str, str]) -> Entry:
        """A claim about this comparison."""
        row = self.row
        words = (row.quantity, self.place or "", name)
        found: Entry = {
            "id": "-".join(filter(None, map(_plain, words))),
            "quantity": row.quantity,
            "baseline": row.baseline,
            "modified": row.modified,
        }
        if self.place is not None:
            found["at"] = self.place
        return {**found, "stated": stated}

    def upheld(self, entry: Entry) -> bool:
        """Whether the audit upholds a claim."""
        return hold(Claim.model_validate(entry), self.comparisons).verdict is ClaimWord.UPHELD


def _values_claimed(
    wording: _Wording, values: dict[str, Mean | None], means: Sequence[Mean]
) -> list[Entry]:
    """Both values as claims of their own; one whose noise is not known is none."""
    found = []
    for side, mean in values.items():
        value = _value(mean, wording.row.confidence)
        if mean is None or value is None or not value.interval or value.text == MISSING:
            continue
        entry = wording.entry(side, {side: _typed(value.text, value_scale(mean.unit).unit)})
        if hold_value(Claim.model_validate(entry), side, means).verdict is ClaimWord.UPHELD:
            found.append(entry)
    return found


def _typed(text: str, unit: str) -> str:
    """As it is typed into a file: with a plain minus sign and space."""
    return f"{text} {unit}".replace(MINUS, "-").replace(NBSP, " ").strip()


def _plain(text: str) -> str:
    return re.sub(r"[^A-Za-z0-9.]+", "-", text).strip("-")
