"""The verdict on a claim: what is stated, as a range of values, against the interval of the trial.

Each kind of statement is held to what it says. A size ("+5 %", "3 to 5 %") is upheld when its
direction is established, the interval leaves no very different size open, and the size stated is
about the one measured. A bound ("at least 3 %") is upheld when the whole interval keeps it; so is a
margin ("no more than 3 % slower", "no change"), with the claim's own margin.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from slackwater.analysis.audit.rounding import ENDLESS, Span, bounded
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.verdict.verdicts import Word


class ClaimWord(StrEnum):
    """The verdict on a claim, in a word."""

    UPHELD = "upheld"
    COMPATIBLE = "compatible"
    UNDERSTATED = "understated"
    OVERSTATED = "overstated"
    WITHIN_NOISE = "within noise"
    REFUTED = "refuted"
    CONTRADICTED = "contradicted"
    INCONSISTENT = "inconsistent"
    UNTESTABLE = "untestable"


# Chosen so that what DEVELOPERS.md promises of claims holds (tests/calibration, claims_table.py).
ABOUT = Decimal("1.2")  # stated over measured, or measured over stated, at most: "about that size"
LOOSELY = Decimal("1.5")  # the same where the text itself says "about"
OPEN = Decimal(2)  # how many times the size stated, or what part of it, an interval may leave open
INNER = Decimal(
    "0.5"
)  # part of the interval, around the estimate, that the size stated has to reach


def _ends(end: Decimal) -> bool:
    """Whether an end of a span is one, and not beyond all numbers."""
    return bounded(Span(end, end))


@dataclass(frozen=True, slots=True)
class Stated:
    """What a claim states, on the scale of the comparison.

    Attributes
    ----------
    span : Span
        Every value that would have been printed so; endless on one side for a bound.
    loose : bool
        The text says "about".
    none : bool
        No difference, no loss: told in words, or as 0, and not to a digit.
    spread : bool
        A number with its uncertainty or interval, whose middle is the size meant.
    """

    span: Span
    loose: bool = False
    none: bool = False
    spread: bool = False

    @property
    def holds_zero(self) -> bool:
        """Whether no difference at all would fit the words, on both sides or as a bound."""
        low, high = self.span.low, self.span.high
        if low == 0 or high == 0:  # "about 1 %" begins at zero, and yet states a direction
            return low == high or not bounded(self.span)
        return low < 0 < high

    @property
    def size(self) -> Decimal | None:
        """The size stated in one number: the middle of a range, the bound of a bound.

        None where the statement is a margin around zero.
        """
        if self.holds_zero:
            return None
        if bounded(self.span):
            return self.span.middle
        return self.span.low if _ends(self.span.low) else self.span.high


@dataclass(frozen=True, slots=True)
class Found:
    """What the trial gives at the place of the claim.

    Attributes
    ----------
    interval : Span
    change : Decimal
    established : bool
        A difference is established, in the direction of `change`.
    inside : tuple of Span
        Ranges inside of which the trial's own one-sided tests show the difference to lie.
    """

    interval: Span
    change: Decimal
    established: bool
    inside: tuple[Span, ...] = ()

    @classmethod
    def of(cls, row: Compared) -> Found | None:
        """From a comparison; None where it gives no verdict."""
        if row.verdict is Word.UNTESTABLE or None in (row.low, row.high, row.change):
            return None
        low, high, change = (Decimal(repr(v)) for v in (row.low, row.high, row.change))
        return cls(Span(low, high), change, row.verdict.established, _shown_inside(row))


def _shown_inside(row: Compared) -> tuple[Span, ...]:
    """The margins that were declared beforehand and that the trial shows to be kept."""
    if row.worthwhile is None:
        return ()
    alpha = 1 - row.confidence
    limit = Decimal(repr(row.worthwhile))
    lowest = 1 / (1 + limit) - 1 if row.scale == "ratio" else -limit
    found = []
    if row.equivalence_p is not None and row.equivalence_p <= alpha:
        found.append(Span(lowest, limit))
    if row.no_loss_p is not None and row.no_loss_p <= alpha and row.better is not None:
        more = row.better == "more"
        found.append(Span(lowest, ENDLESS) if more else Span(-ENDLESS, limit))
    return tuple(found)


def judge(stated: Stated, found: Found) -> ClaimWord:
    """The verdict on what is stated from what the trial gives."""
    if stated.holds_zero:
        return _of_margin(stated, found)
    if not stated.span.meets(found.interval):
        return _excluded(stated, found)
    if not found.established:
        return ClaimWord.WITHIN_NOISE
    shown = _kept if not bounded(stated.span) else _about_that_size
    return ClaimWord.UPHELD if shown(stated, found) else ClaimWord.COMPATIBLE


def _excluded(stated: Stated, found: Found) -> ClaimWord:
    size = stated.size or Decimal(0)
    if not found.established:
        return ClaimWord.REFUTED
    if (size > 0) != (found.change > 0):
        return ClaimWord.CONTRADICTED
    beyond = (
        stated.span.low > found.interval.high if size > 0 else stated.span.high < found.interval.low
    )
    return ClaimWord.OVERSTATED if beyond else ClaimWord.UNDERSTATED


def _of_margin(stated: Stated, found: Found) -> ClaimWord:
    if _kept(stated, found) or any(_serves(span, stated) for span in found.inside):
        return ClaimWord.UPHELD
    if not stated.span.meets(found.interval):
        return ClaimWord.CONTRADICTED if found.established else ClaimWord.REFUTED
    return ClaimWord.COMPATIBLE if found.established else ClaimWord.WITHIN_NOISE


def _serves(shown: Span, stated: Stated) -> bool:
    """Whether a margin that is shown to be kept is what is stated, or narrower.

    "No change" and "no loss" name no margin; the one declared beforehand is theirs.
    """
    if not stated.none:
        return within(shown, stated.span)
    free = [not _ends(end) for end in (stated.span.low, stated.span.high)]
    kept = [_ends(end) for end in (shown.low, shown.high)]
    return all(one or other for one, other in zip(free, kept, strict=True))


def _kept(stated: Stated, found: Found) -> bool:
    """Whether the whole interval lies in what is stated."""
    return within(found.interval, stated.span)


def within(inner: Span, outer: Span) -> bool:
    """Whether one span lies in another; ends that touch do."""
    return outer.holds(inner.low) and outer.holds(inner.high)


def _about_that_size(stated: Stated, found: Found) -> bool:
    """Whether the size stated is about what was measured, and little else is left open."""
    low, high = sorted(abs(end) for end in (stated.span.low, stated.span.high))
    measured = abs(found.change)
    nearest = abs(stated.span.middle) if stated.spread else min(max(measured, low), high)
    if stated.loose:
        low = high = nearest = abs(stated.span.middle)
    times = LOOSELY if stated.loose else ABOUT
    ends = sorted(abs(end) for end in (found.interval.low, found.interval.high))
    return (
        measured <= nearest * times
        and nearest <= measured * times
        and low / OPEN <= ends[0]
        and ends[1] <= high * OPEN
        and stated.span.meets(_inner(found))
    )


def _inner(found: Found) -> Span:
    low = found.change - (found.change - found.interval.low) * INNER
    return Span(low, found.change + (found.interval.high - found.change) * INNER)
