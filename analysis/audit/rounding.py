"""A published figure as what it is: every value that would have been printed like this.

All of it in decimal arithmetic, since the half that decides a rounding has no exact binary form.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from slackwater.protocol.claims.figure import Figure
from slackwater.protocol.units.quantity import conversion, convert
from slackwater.protocol.units.units import degree_ratio, temperature_kind

ENDLESS = Decimal("1e30")  # stands for no bound
NEARLY = Decimal("0.1")  # of the number, that "nearly" and "just over" leave open: our own choice
_PAD = Decimal("1e-12")  # relative; factors between units come as binary floats
_ZERO, _ONE, _HUNDRED = Decimal(0), Decimal(1), Decimal(100)


@dataclass(frozen=True, slots=True)
class Span:
    """A closed interval of decimal numbers."""

    low: Decimal
    high: Decimal

    def __add__(self, other: Span) -> Span:
        return Span(self.low + other.low, self.high + other.high)

    def __sub__(self, other: Span) -> Span:
        return Span(self.low - other.high, self.high - other.low)

    def __mul__(self, other: Span) -> Span:
        ends = [_product(a, b) for a in (self.low, self.high) for b in (other.low, other.high)]
        return Span(min(ends), max(ends))

    def __truediv__(self, other: Span) -> Span:
        """The quotient; without bounds where the divisor may be zero."""
        if other.low <= 0 <= other.high:
            return Span(-ENDLESS, ENDLESS)
        ends = [_quotient(a, b) for a in (self.low, self.high) for b in (other.low, other.high)]
        return Span(min(ends), max(ends))

    def __neg__(self) -> Span:
        return Span(-self.high, -self.low)

    @property
    def middle(self) -> Decimal:
        """Half-way between the ends."""
        return (self.low + self.high) / 2

    @property
    def width(self) -> Decimal:
        """From end to end."""
        return self.high - self.low

    def meets(self, other: Span) -> bool:
        """Whether a number lies in both; ends that touch do meet."""
        return _not_above(self.low, other.high) and _not_above(other.low, self.high)

    def holds(self, value: Decimal) -> bool:
        """Whether a number lies in it, the ends included."""
        return self.meets(Span(value, value))


def _not_above(low: Decimal, high: Decimal) -> bool:
    """Whether one end is not above another, but for the rounding of factors."""
    return low <= high + _PAD * max(abs(low), abs(high))


def _product(one: Decimal, other: Decimal) -> Decimal:
    """A product of ends; one beyond all numbers stays there, whatever it is multiplied with."""
    if one and other and (abs(one) >= ENDLESS or abs(other) >= ENDLESS):
        return ENDLESS if (one > 0) == (other > 0) else -ENDLESS
    return one * other


def _quotient(one: Decimal, other: Decimal) -> Decimal:
    return _product(one, 1 / other) if abs(one) >= ENDLESS else one / other


def scaled(span: Span, factor: Decimal) -> Span:
    """A span times a number above zero."""
    return Span(_product(span.low, factor), _product(span.high, factor))


def bounded(span: Span) -> bool:
    """Whether a span has two ends."""
    return abs(span.low) < ENDLESS and abs(span.high) < ENDLESS


def total_of(spans: Iterable[Span]) -> Span:
    """The sum of spans."""
    return sum(spans, exact(0))


def ends_of(span: Span) -> tuple[float | None, float | None]:
    """Both ends as plain numbers; None for the one that a bound has not."""
    low, high = (None if abs(end) >= ENDLESS else float(end) for end in (span.low, span.high))
    return low, high


def exact(value: Decimal | int | str) -> Span:
    """A number that is known exactly."""
    number = Decimal(value)
    return Span(number, number)


def coarseness(figures: Iterable[Figure], beside: Iterable[Figure] = ()) -> Decimal:
    """The coarsest step that figures may have been rounded to together; 0 where there is none.

    A whole number of three digits or more that ends in 0 or 5 may have been rounded to tens or
    fives, and so may two values or more that all end in 0 or 5 behind the point, not all in 0: a
    speed read to the nearest half knot. Two leading digits are taken to be meant in any case. One figure beside them
    that does not end so shows that all of them were printed to the digit: common practice.

    Parameters
    ----------
    figures : iterable of Figure
    beside : iterable of Figure
        Differences of them, which may be small.
    """
    values, others = [f for f in figures if not f.is_span], [f for f in beside if not f.is_span]
    steps = {f.step for f in (*values, *others)}
    if len(steps) != 1 or not values:
        return _ZERO
    for step in _round_steps(steps.pop(), values):
        whole = all(f.low % step == 0 for f in (*values, *others))
        if whole and all(step * 20 <= max(abs(f.low), _ONE) for f in values):
            return step
    return _ZERO


def _round_steps(digit: Decimal, values: list[Figure]) -> list[Decimal]:
    """Steps that figures printed to a digit may be rounder by, the coarsest first."""
    if digit == 1:
        return [Decimal(m) * Decimal(10) ** k for k in range(8, -1, -1) for m in (10, 5)]
    half = 5 * digit
    seen = len(values) > 1 and any(f.low % (10 * digit) for f in values)
    return [half] if digit < 1 and seen else []


def half_width(figure: Figure, coarse: Decimal = _ZERO) -> Decimal:
    """How far the true value may lie from the number printed, to either side. [unit of the figure]

    Parameters
    ----------
    figure : Figure
    coarse : Decimal
        A step coarser than the last digit that the figure may have been rounded to.

    Notes
    -----
    A printed number stands for half a unit of its last digit to either side. "About" makes a
    number as coarse as the roundest step that it is a multiple of (about 30 is 25 to 35, about 25
    is 22.5 to 27.5), and at least one whole unit of its last digit wide. A part told in words is
    off by no more than its tolerance, and what is printed behind ± comes on top.
    """
    if figure.tolerance is not None:
        return figure.tolerance * (2 if figure.about else 1)
    if figure.about:
        return max(figure.step, _roundest(figure) / 2)
    return max(figure.step, coarse) / 2 + (figure.uncertainty or _ZERO)


def _roundest(figure: Figure) -> Decimal:
    ends = [end for end in {figure.low, figure.high} if end]
    if not ends:
        return figure.step
    for power in range(max(end.adjusted() for end in ends), -12, -1):
        for times in (5, 1):
            step = Decimal(times).scaleb(power)
            if all(end % step == 0 and step <= abs(end) for end in ends):
                return step
    return figure.step


def span_of(
    figure: Figure, unit: str = "", *, rounding: str = "nearest", coarse: Decimal = _ZERO
) -> Span:
    """Every value that would have been printed as this figure. [unit]

    Parameters
    ----------
    figure : Figure
    unit : str
        The unit wanted; the figure's own when empty.
    rounding : str
        "nearest", or "down" for digits that were cut off.
    coarse : Decimal
        See `half_width`. [unit of the figure]
    """
    span = _bounded_by(figure, _around(figure, rounding, coarse))
    return in_unit(span, figure.unit, unit or figure.unit)


def _around(figure: Figure, rounding: str, coarse: Decimal) -> Span:
    """The number and what its digits, its ± or its words leave open, without its bound."""
    half = half_width(figure, coarse)
    if figure.ends is not None:
        return Span(figure.ends[0] - figure.step / 2, figure.ends[1] + figure.step / 2)
    if figure.side:
        return _to_one_side(figure, max(half, abs(figure.middle) * NEARLY))
    if rounding == "down" and not figure.about and figure.tolerance is None:
        step, spread = max(figure.step, coarse), figure.uncertainty or _ZERO
        low = figure.low if figure.low > 0 else figure.low - step
        high = figure.high + step if figure.high >= 0 else figure.high
        return Span(low - spread, high + spread)
    return Span(figure.low - half, figure.high + half)


def _to_one_side(figure: Figure, reach: Decimal) -> Span:
    """What "nearly" and "just over" leave open: to one side of the number, by its size."""
    nearer = (figure.side == "below") == (figure.middle >= 0)
    if nearer:
        return Span(figure.low - reach, figure.high)
    return Span(figure.low, figure.high + reach)


def _bounded_by(figure: Figure, around: Span) -> Span:
    """The span with the bound that words put on it; a bound is not rounded in its own favour."""
    low, high = (around.low, around.high) if figure.about else (figure.low, figure.high)
    falls = figure.high < 0 or (figure.high == 0 and figure.low < 0)
    if figure.bound == "up to":
        up = (min(_ZERO, around.low), around.high), (around.low, max(_ZERO, around.high))
        return Span(*up[falls])
    if figure.bound == "within":
        size = max(abs(low), abs(high))
        return Span(-size, size)
    if not figure.bound:
        return around
    # "At least 3 % less" bounds the size; "at least -3 %" the number with its sign.
    upward = (figure.bound == "at least") != (falls and figure.worded)
    return Span(low, ENDLESS) if upward else Span(-ENDLESS, high)


def in_unit(span: Span, from_unit: str, to_unit: str) -> Span:
    """A span in another unit, a hair wider for the factor's own rounding."""
    if from_unit == to_unit:
        return span
    if temperature_kind(from_unit) == "point" and temperature_kind(to_unit) == "point":
        ends = [Decimal(repr(convert(float(v), from_unit, to_unit))) for v in (span.low, span.high)]
    else:
        # A difference of temperatures stays one, whichever of both units it is asked in.
        degrees = temperature_kind(from_unit) and temperature_kind(to_unit)
        ratio = degree_ratio if degrees else conversion
        factor = Decimal(repr(ratio(from_unit, to_unit)))
        ends = [_product(end, factor) for end in (span.low, span.high)]
    return Span(ends[0] - abs(ends[0]) * _PAD, ends[1] + abs(ends[1]) * _PAD)


def nominal(figure: Figure, unit: str = "") -> Span:
    """The number as printed, without its rounding. [unit]"""
    return in_unit(Span(figure.low, figure.high), figure.unit, unit or figure.unit)


def would_print(span: Span, step: Decimal) -> tuple[Decimal, Decimal] | None:
    """The least and the largest number of a step that values in a span are printed as.

    None where the span has no bounds.
    """
    if abs(span.low) >= ENDLESS or abs(span.high) >= ENDLESS:
        return None
    half = step / 2
    low = ((span.low - half) / step).to_integral_value(ROUND_CEILING) * step
    high = ((span.high + half) / step).to_integral_value(ROUND_FLOOR) * step
    return low, high


def can_be_counted(figure: Figure, of: int, items: int = 1) -> bool:
    """Whether a mean or a share of whole numbers can be printed as this figure.

    Parameters
    ----------
    figure : Figure
        A mean, or a share as a percentage or a plain fraction.
    of : int
        How many were averaged, or the share is of. [1]
    items : int
        How many whole numbers each of them is itself a mean of. [1]

    References
    ----------
    N. J. L. Brown and J. A. J. Heathers, "The GRIM test", Social Psychological and Personality
    Science 8 (2017), 363-369.
    """
    span = span_of(figure)
    grains = Decimal(of) * items / (_HUNDRED if figure.unit == "%" else _ONE)
    first = (span.low * grains).to_integral_value(ROUND_CEILING)
    return first <= span.high * grains


def nearest_counts(figure: Figure, of: int, items: int = 1) -> tuple[Decimal, Decimal]:
    """The two values on either side of a figure that so many whole numbers can give."""
    grains = Decimal(of) * items / (_HUNDRED if figure.unit == "%" else _ONE)
    below = (figure.middle * grains).to_integral_value(ROUND_FLOOR)
    return below / grains, (below + 1) / grains
