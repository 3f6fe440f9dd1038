"""Published figures, spans and changes as the letter writes them."""

from __future__ import annotations

import math
from decimal import Decimal

from slackwater.analysis.audit.rounding import ENDLESS, Span, ends_of, would_print
from slackwater.analysis.wording.numbers import MINUS, NBSP, unit_text

_KEPT = 4  # significant digits of an end of a span


def number(value: Decimal, decimals: int | None = None, *, signed: bool = False) -> str:
    """A decimal number with a true minus sign, at so many decimals or four significant digits."""
    if abs(value) >= ENDLESS:
        return "any"
    if decimals is None:
        decimals = max(0, _KEPT - 1 - (value.adjusted() if value else 0))
    text = f"{abs(value):.{max(decimals, 0)}f}"
    if value < 0 and text.strip("0."):
        return MINUS + text
    return f"+{text}" if signed and value > 0 else text


def unit_of(unit: str) -> str:
    """The unit as it follows a number."""
    return "" if unit in ("", "1") else f"{NBSP}{unit_text(unit)}"


def span(value: Span, unit: str, *, signed: bool = False) -> str:
    """Both ends with the unit; digits enough to tell the ends apart."""
    if abs(value.low) >= ENDLESS or abs(value.high) >= ENDLESS:
        return "anything"
    width = value.width
    decimals = 0
    if width:
        decimals = max(0, 1 - width.adjusted())
    elif value.low:
        decimals = max(0, _KEPT - 1 - value.low.adjusted())
    decimals = min(decimals, 8)
    ends = [number(v, decimals, signed=signed) for v in (value.low, value.high)]
    text = ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"
    return f"{text}{unit_of(unit)}"


def printable_values(value: Span, step: Decimal, unit: str, *, signed: bool = False) -> str:
    """What could be printed at a step for values in a span: the figures that would agree."""
    ends = would_print(value, step)
    if ends is None:
        return "anything"
    decimals = max(0, -int(step.adjusted()))
    low, high = (number(v, decimals, signed=signed) for v in ends)
    text = low if ends[0] >= ends[1] else f"{low} to {high}"
    return f"{text}{unit_of(unit)}"


def change(value: float | None, unit: str, *, decimals: int | None = None) -> str:
    """A change as people read it: per cent for a fraction, else in its unit."""
    if value is None or not math.isfinite(value):
        return "–"
    scaled = value * 100 if unit in ("", "1") else value
    if decimals is None:
        size = abs(scaled)
        decimals = 0 if size >= 100 else 1 if size >= 1 else 2
    text = f"{abs(scaled):.{decimals}f}"
    sign = "" if not text.strip("0.") else MINUS if scaled < 0 else "+"
    return f"{sign}{text}{change_unit(unit)}"


def change_unit(unit: str) -> str:
    """The unit behind a change."""
    if unit == "":
        return f"{NBSP}%"
    return f"{NBSP}percentage points" if unit in ("1", "%") else f"{NBSP}{unit_text(unit)}"


def stated_range(value: Span, unit: str) -> str:
    """A stated change with its rounding; a bound as a bound. Fractions, or in the unit of a difference."""
    low, high = ends_of(value)
    if low is None or high is None:
        end = high if low is None else low
        return (
            "any" if end is None else f"{change(end, unit)} or {'more' if high is None else 'less'}"
        )
    return interval(low, high, unit)


def span_from(low: float | None, high: float | None) -> Span:
    """A span from its ends; None for the one that a bound has not."""
    return Span(
        -ENDLESS if low is None else Decimal(repr(low)),
        ENDLESS if high is None else Decimal(repr(high)),
    )


def times(value: float) -> str:
    """How many times one size is another, two digits."""
    return f"{value:.1f}" if value >= 0.95 else f"{value:.2f}"


def interval(low: float | None, high: float | None, unit: str) -> str:
    """An interval of a change, digits after its width."""
    if low is None or high is None:
        return "–"
    scale = 100 if unit in ("", "1") else 1
    width = abs(high - low) * scale
    decimals = 0 if width >= 20 else 1 if width >= 0.5 else 2
    tail = change_unit(unit)
    first, last = (change(v, unit, decimals=decimals).removesuffix(tail) for v in (low, high))
    return f"{first}{tail}" if first == last else f"{first} to {last}{tail}"
