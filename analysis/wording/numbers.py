"""Figures as text: the digits follow the uncertainty, and rounding happens here and nowhere else.

Rounding is done in decimal arithmetic, half to even, since a binary float has no exact half.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from statistics import median

MINUS = "−"
NBSP = "\u00a0"
MISSING = "–"

#: An uncertainty may be rounded down when that understates it by no more than this.
_NEGLIGIBLE = Decimal("0.01")

#: Two leading digits up to which both count in a figure that stands without its interval.
_TWO_DIGITS_UP_TO = 35

#: Power of ten below which a number is what the arithmetic left of nought.
_NOUGHT = -9

_UNIT_SIGNS = {"degC": "°C", "delta_degC": "°C", "degF": "°F", "N*m": "N·m"}
_FRACTIONS = ("", "1", "fraction")


def _decimal(value: float) -> Decimal:
    return Decimal(repr(float(value)))


def round_uncertainty(value: float) -> Decimal:
    """An uncertainty at two significant digits, rounded up where rounding down would flatter it.

    Parameters
    ----------
    value : float
        Positive and finite. [any unit]

    Raises
    ------
    ValueError
        When it is not positive and finite.

    Notes
    -----
    Common sense prevails over always rounding up, as the Guide puts it [1]_; here that means
    that up to 1 % of the uncertainty may be dropped.

    References
    ----------
    .. [1] JCGM 100:2008, *Guide to the expression of uncertainty in measurement*, 7.2.6.

    Examples
    --------
    >>> str(round_uncertainty(10.47)), str(round_uncertainty(28.05))
    ('11', '28')
    """
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"an uncertainty is positive and finite, not {value}")
    exact = _decimal(value)
    step = Decimal(1).scaleb(exact.adjusted() - 1)
    down = (exact / step).to_integral_value(ROUND_FLOOR) * step
    if exact - down <= _NEGLIGIBLE * exact:
        return down
    return (exact / step).to_integral_value(ROUND_CEILING) * step


def decimals_to_match(uncertainty: float) -> int:
    """Decimals of a value whose uncertainty is given at two significant digits."""
    exponent = round_uncertainty(uncertainty).as_tuple().exponent
    return -int(exponent)


def decimals_for(half_width: float | None, *, lean: bool = False) -> int | None:
    """Decimals at which an interval of that half-width shows two of its digits.

    With `lean`, for figures that stand without their interval, only one where the two leading
    digits exceed 35. Negative when tens are the last digit that counts; None without a half-width.
    """
    if half_width is None or not math.isfinite(half_width) or half_width <= 0:
        return None
    exact = _decimal(half_width)
    lead = exact.scaleb(1 - exact.adjusted()).to_integral_value(ROUND_HALF_EVEN)
    places = 1 - exact.adjusted()
    if lead == 100:  # 0.0996 is 0.10 at two digits
        return places - 1
    return places - 1 if lean and lead > _TWO_DIGITS_UP_TO else places


def common_decimals(half_widths: Iterable[float | None], *, lean: bool = False) -> int | None:
    """One number of decimals for a column, from its median half-width."""
    known = [width for width in half_widths if width is not None and width > 0]
    return decimals_for(median(known), lean=lean) if known else None


def row_decimals(half_width: float | None, column: int | None) -> int | None:
    """The column's decimals where they suit this row's half-width, else the row's own.

    They suit as long as the half-width shows one or two significant digits.
    """
    own = decimals_for(half_width)
    if own is None or column is None:
        return column if own is None else own
    return column if own - 1 <= column <= own else own


def fixed(value: float | None, decimals: int | None, *, signed: bool = False) -> str:
    """The number at so many decimals, with a true minus sign.

    A number that would round to nought and is not is given with its first digit: an interval that
    just clears zero reads "+0.04 to +1.4". Without decimals, four significant digits are given.
    """
    if value is None or not math.isfinite(value):
        return MISSING
    exact = _decimal(value)
    if decimals is None:
        decimals = 3 - exact.adjusted() if exact else 0
    if exact and exact.adjusted() >= _NOUGHT and abs(exact) <= Decimal("0.5").scaleb(-decimals):
        decimals = -exact.adjusted()
    step = Decimal(1).scaleb(-decimals)
    whole = (abs(exact) / step).to_integral_value(ROUND_HALF_EVEN) * step
    text = f"{whole:.{max(decimals, 0)}f}"
    if exact < 0 and (signed or whole):
        return MINUS + text
    return f"+{text}" if signed and exact > 0 else text


def uncertainty_text(value: float | None) -> str:
    """An uncertainty or noise floor at two significant digits, never flattered by rounding."""
    if value is None or not math.isfinite(value):
        return MISSING
    return f"{round_uncertainty(value):f}" if value > 0 else "0"


def unit_text(unit: str | None) -> str:
    """The unit as it is printed."""
    return _UNIT_SIGNS.get(unit or "", unit or "")


def with_unit(text: str, unit: str) -> str:
    """Number and unit, held together by a space that does not break."""
    return f"{text}{NBSP}{unit}" if unit and text != MISSING else text


@dataclass(frozen=True, slots=True)
class Scale:
    """How a quantity or a change is printed: a factor, and the unit after it."""

    factor: float
    unit: str

    def of(self, value: float | None) -> float | None:
        """The value in the printed unit."""
        if value is None or not math.isfinite(value):
            return None
        return float(_decimal(value) * _decimal(self.factor))

    def width(self, low: float | None, high: float | None) -> float | None:
        """Half the interval's width in the printed unit."""
        low, high = self.of(low), self.of(high)
        return None if low is None or high is None else (high - low) / 2


def value_scale(unit: str | None) -> Scale:
    """Plain fractions are printed as per cent, everything else in its unit."""
    return Scale(100.0, "%") if (unit or "") in _FRACTIONS else Scale(1.0, unit_text(unit))


def change_scale(scale: str, unit: str | None) -> Scale:
    """Ratios in per cent; differences of fractions and of per cent in percentage points."""
    if scale == "ratio":
        return Scale(100.0, "%")
    if (unit or "") in _FRACTIONS:
        return Scale(100.0, "percentage points")
    return Scale(1.0, "percentage points" if unit == "%" else unit_text(unit))


def range_text(low: float | None, high: float | None, decimals: int | None) -> str:
    """Two signed ends, as in "+2.1 to +4.0"; one number when both print the same."""
    first, last = (fixed(end, decimals, signed=True) for end in (low, high))
    return first if first == last else f"{first} to {last}"
