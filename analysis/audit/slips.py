"""The slips that people make with figures, each as a way to read a figure anew."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

from slackwater.protocol.claims.figure import Figure
from slackwater.protocol.units.units import QuantityError, normal_unit, same_dimension

#: Units that are taken for each other, as they stand in a product such as nmi/L.
_CONFUSED: tuple[tuple[str, ...], ...] = (
    ("kn", "mph", "km/h", "m/s"),
    ("nmi", "mi", "km"),
    ("L", "gal", "imp_gal"),
    ("m", "ft"),
    ("in", "cm"),
    ("kg", "lb"),
    ("kW", "hp", "PS"),
    ("degC", "degF"),
)


def swapped_digits(figure: Figure) -> Iterator[Figure]:
    """The figure with two neighbouring digits in each other's place."""
    if figure.is_span or figure.about or _said(figure):
        return
    digits = f"{abs(figure.low):f}"
    sign = -1 if figure.low < 0 else 1
    places = [i for i, c in enumerate(digits) if c.isdigit()]
    for first, second in pairwise(places):
        if digits[first] == digits[second]:
            continue
        swapped = list(digits)
        swapped[first], swapped[second] = swapped[second], swapped[first]
        if swapped[0] == "0" and digits[0] != "0":
            continue  # nobody prints 02
        value = sign * Decimal("".join(swapped))
        yield replace(figure, low=value, high=value, text=_as_printed(figure, value))


def _said(figure: Figure) -> bool:
    """Whether it is a bound or a part in words, which is no measured number with digits to slip."""
    return figure.bound not in ("", "up to") or figure.tolerance is not None


def other_units(figure: Figure) -> Iterator[Figure]:
    """The figure's digits with another unit behind them, one that is taken for its own."""
    seen = {figure.unit}
    for group in _CONFUSED:
        for own in group:
            for other in group:
                if own == other:
                    continue
                unit = _with_unit(figure.unit, own, other)
                if unit and unit not in seen and same_dimension(unit, figure.unit):
                    seen.add(unit)
                    yield replace(figure.in_unit(unit), text=_as_printed(figure, figure.low, unit))


def _with_unit(unit: str, own: str, other: str) -> str:
    parts = unit.split("/")
    if unit == own:
        return other
    if own not in parts:
        return ""
    parts[parts.index(own)] = other
    try:
        return normal_unit("/".join(parts))
    except QuantityError:
        return ""


def mirrored(figure: Figure) -> Figure | None:
    """A percentage that was carried over to the inverse: 20 % less a mile is 25 % more miles, not 20 %.

    None where it has no inverse.
    """
    low, high = (
        100 / (1 - end / 100) - 100 if end < 100 else None for end in (figure.low, figure.high)
    )
    if low is None or high is None or figure.low == 0:
        return None
    return replace(figure, low=low, high=high, tolerance=None, text=_as_printed(figure, low))


def shifted_point(figure: Figure) -> Iterator[Figure]:
    """The figure with its decimal point one digit off."""
    if figure.low == figure.high == 0 or _said(figure):
        return
    for factor in (Decimal(10), Decimal("0.1")):
        low, high = figure.low * factor, figure.high * factor
        step = figure.step * factor
        yield replace(figure, low=low, high=high, step=step, text=_as_printed(figure, low))


def carry_slips(
    minuend: Decimal, subtrahend: Decimal, step: Decimal
) -> Iterator[tuple[Decimal, str]]:
    """Wrong results of a subtraction, with what was done.

    Parameters
    ----------
    minuend, subtrahend : Decimal
        As printed, in the same unit.
    step : Decimal
        The last digit of the result.
    """
    right = minuend - subtrahend
    power = int(step.adjusted())
    for place in range(power + 1, power + 5):
        for sign in (1, -1):
            yield right + sign * Decimal(1).scaleb(place), "a carry was lost or counted twice"
    yield _without_borrowing(minuend, subtrahend, step), "digits were subtracted without borrowing"
    yield minuend + subtrahend, "the values were added"


def _without_borrowing(minuend: Decimal, subtrahend: Decimal, step: Decimal) -> Decimal:
    """In each place the smaller digit taken from the larger."""
    first, second = (int(abs(v) / step) for v in (minuend, subtrahend))
    width = max(len(str(first)), len(str(second)))
    pairs = zip(str(first).zfill(width), str(second).zfill(width), strict=True)
    digits = "".join(str(abs(int(a) - int(b))) for a, b in pairs)
    value = Decimal(digits) * step
    return value if minuend >= subtrahend else -value


def coarser(value: Decimal, step: Decimal) -> Iterator[Decimal]:
    """A value rounded one digit too early, half-way cases both ways."""
    coarse = step * 10
    down = (value / coarse).to_integral_value(rounding="ROUND_HALF_DOWN") * coarse
    up = (value / coarse).to_integral_value(rounding="ROUND_HALF_UP") * coarse
    yield from dict.fromkeys((down, up))


def _as_printed(figure: Figure, value: Decimal, unit: str = "") -> str:
    shown = unit or figure.unit
    return f"{value:f}" if shown == "1" else f"{value:f} {shown}"
