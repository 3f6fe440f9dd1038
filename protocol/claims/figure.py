"""Figures as published, and what the text says of them: a bound, a tolerance, a direction.

The digits are kept as they were printed, in decimal arithmetic, since the number of digits is part
of what was said. What the rounding of the digits leaves open is worked out in the audit; how a text
becomes a figure is in `figure_reading`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

Bound = Literal["", "up to", "at least", "at most", "within"]
Side = Literal["", "below", "above"]


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure as it was published.

    Parameters
    ----------
    text : str
        As it stands in the text, on one line.
    low, high : Decimal
        The number printed; two numbers for a span such as `13 to 15 kn`. [unit]
    unit : str
        In its usual spelling; "1" for a plain number.
    step : Decimal
        What one in the last printed digit is worth. [unit]
    about : bool
        "about", so that it is not meant to a digit.
    bound : "", "up to", "at least", "at most" or "within"
        What the text says of it beside the number. "Up to" is reached somewhere; "at most" nowhere
        exceeded; "within" bounds both sides.
    uncertainty : Decimal, optional
        What was printed after ±. [unit]
    signed : bool
        A sign, or a word such as "less", tells the direction.
    worded : bool
        A word does, so that a bound is one on the size: "at least 3 % less" is -3 % or beyond.
    side : "", "below" or "above"
        "nearly" is below the number printed, "just over" above it.
    tolerance : Decimal, optional
        How far a part told in words may be off. [unit]
    ends : (Decimal, Decimal), optional
        An interval printed in brackets behind the number. [unit]
    average : bool
        "on average": of all places that the claim speaks of.
    none : bool
        "no change", "no loss": nothing, told in words and not to a digit.
    assumed : str
        What was taken for granted in reading the unit, in words; else empty.
    """

    text: str
    low: Decimal
    high: Decimal
    unit: str
    step: Decimal
    about: bool = False
    bound: Bound = ""
    uncertainty: Decimal | None = None
    signed: bool = False
    worded: bool = False
    side: Side = ""
    tolerance: Decimal | None = None
    ends: tuple[Decimal, Decimal] | None = None
    average: bool = False
    none: bool = False
    assumed: str = ""

    @property
    def is_span(self) -> bool:
        """Whether two numbers were printed."""
        return self.low != self.high

    @property
    def plain(self) -> bool:
        """Whether it is a number and its digits, and nothing else is said of it."""
        return not (
            self.is_span or self.about or self.bound or self.side or self.tolerance or self.spread
        )

    @property
    def spread(self) -> bool:
        """Whether the text says how far the value may lie from the number."""
        return self.uncertainty is not None or self.ends is not None

    @property
    def middle(self) -> Decimal:
        """The number printed, or the middle of a span. [unit]"""
        return (self.low + self.high) / 2

    @property
    def zeros(self) -> int:
        """Zeros at the end of a whole number: they may be digits, or stand for lack of them."""
        if self.step != 1 or self.low == 0:
            return 0
        count = 0
        while all(end % 10 ** (count + 1) == 0 for end in (self.low, self.high)):
            count += 1
        return count

    def in_unit(self, unit: str) -> Figure:
        """The same digits read as if another unit stood behind them."""
        return replace(self, unit=unit)

    def __str__(self) -> str:
        return self.text
