"""Control charts of a figure that should stay the same: individuals, moving ranges, sums, averages.

Charts by ISO 7870-2 (individuals and moving range), ISO 7870-4 (cumulative sums) and ISO 7870-6
(exponentially weighted moving averages). What is "in control" is told by the first values, which are
taken for the state that all others are held against.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtrit

Array = NDArray[np.float64]

#: Mean and standard deviation of the range of two normal values of unit variance. [1]
D2, D3 = 2 / sqrt(pi), sqrt(2 - 4 / pi)
#: Limits: of individuals, in mean moving ranges; of moving ranges, the same. [1]
E2, D4 = 3 / D2, 1 + 3 * D3 / D2

#: Half a shift that cumulative sums are looking for, and where they tell it [standard deviations]:
#: a steady figure is told to have shifted once in 465 values, one shifted by 1 after 10.4.
SLACK, DECISION = 0.5, 5.0
#: Weight of the newest value in a moving average, and its limits [standard deviations of it].
WEIGHT, WIDTH = 0.2, 2.86

FEWEST = 5  # values that tell the state in control


class ChartError(ValueError):
    """Too few values for a chart."""


@dataclass(frozen=True, slots=True)
class Shift:
    """A lasting change of level.

    Attributes
    ----------
    told_at, begins_at : int
        Index of the value at which it was told, and of the first one that belongs to it.
    size, low, high : float
        From the level before to the level since, with its 95 % interval. [unit]
    """

    told_at: int
    begins_at: int
    size: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class ControlChart:
    """A figure over time, held against its first values.

    Attributes
    ----------
    values : ndarray, shape (n,)
        In the order of time. [unit]
    reference : int
        How many of the first values tell the state in control.
    centre, deviation : float
        Their mean, and the standard deviation from their moving ranges. [unit]
    low, high : float
        Limits of individual values. [unit]
    ranges : ndarray, shape (n - 1,)
        Of each value and the one before. [unit]
    range_limit : float
        [unit]
    beyond, wide : tuple of int
        Values beyond the limits; values whose moving range is.
    upper, lower : ndarray, shape (n,)
        Cumulative sums of what lies above and below, from the end of the state in control on, where
        they begin at zero. [standard deviations]
    average, average_low, average_high : ndarray, shape (n,)
        Moving average with its limits. [unit]
    average_beyond : tuple of int
    shift : Shift or None
        The first that the cumulative sums tell.
    """

    values: Array
    reference: int
    centre: float
    deviation: float
    low: float
    high: float
    ranges: Array
    range_limit: float
    beyond: tuple[int, ...]
    wide: tuple[int, ...]
    upper: Array
    lower: Array
    average: Array
    average_low: Array
    average_high: Array
    average_beyond: tuple[int, ...]
    shift: Shift | None


def control_chart(values: ArrayLike, reference: int | None = None) -> ControlChart:
    """A figure over time, held against its first values.

    Parameters
    ----------
    values : array_like, shape (n,)
        In the order of time, all finite. [any unit]
    reference : int, optional
        How many of the first values tell the state in control; a third of them, and ten at least
        where there are as many, when not given.

    Raises
    ------
    ChartError
        With fewer than five values in control, or values that are all the same.
    """
    found = np.asarray(values, dtype=float)
    first = min(max(len(found) // 3, 10), len(found)) if reference is None else reference
    if not FEWEST <= first <= len(found):
        raise ChartError(
            f"{len(found)} values, {first} of them for the state in control; "
            f"{FEWEST} are needed at least"
        )
    if not np.isfinite(found).all():
        raise ChartError("a value is missing; leave it out")
    ranges = np.abs(np.diff(found))
    centre, spread = float(found[:first].mean()), float(ranges[: first - 1].mean())
    if spread <= 0:
        raise ChartError("the values in control are all the same, which tells nothing of scatter")
    low, high = centre - E2 * spread, centre + E2 * spread
    deviation = spread / D2
    upper, lower = np.zeros(len(found)), np.zeros(len(found))
    upper[first:], lower[first:] = cumulative_sums((found[first:] - centre) / deviation)
    average, half = moving_average(found, centre, deviation)
    return ControlChart(
        values=found,
        reference=first,
        centre=centre,
        deviation=deviation,
        low=low,
        high=high,
        ranges=ranges,
        range_limit=D4 * spread,
        beyond=_where((found < low) | (found > high)),
        wide=tuple(i + 1 for i in _where(ranges > D4 * spread)),
        upper=upper,
        lower=lower,
        average=average,
        average_low=centre - half,
        average_high=centre + half,
        average_beyond=_where(np.abs(average - centre) > half),
        shift=_shift(found, upper, lower),
    )


def _where(held: NDArray[np.bool_]) -> tuple[int, ...]:
    return tuple(np.flatnonzero(held).tolist())


def cumulative_sums(off: Array, slack: float = SLACK) -> tuple[Array, Array]:
    """Cumulative sums of what lies above and below by more than the slack, shape (n,) each.

    Parameters
    ----------
    off : ndarray, shape (n,)
        Distance from the centre. [standard deviations]
    slack : float
        [standard deviations]
    """
    upper, lower = np.zeros(len(off)), np.zeros(len(off))
    above = below = 0.0
    for i, each in enumerate(off):
        above, below = max(above + each - slack, 0.0), max(below - each - slack, 0.0)
        upper[i], lower[i] = above, below
    return upper, lower


def moving_average(
    values: Array, centre: float, deviation: float, weight: float = WEIGHT, width: float = WIDTH
) -> tuple[Array, Array]:
    """Exponentially weighted moving average from the centre on, and half its limits.

    Parameters
    ----------
    values : ndarray, shape (n,)
    centre, deviation : float
        [unit of the values]
    weight : float
        Of the newest value. [1]
    width : float
        Of the limits. [standard deviations of the average]
    """
    average, last = np.empty(len(values)), centre
    for i, value in enumerate(values):
        last = weight * value + (1 - weight) * last
        average[i] = last
    steps = 1 - (1 - weight) ** (2 * np.arange(1, len(values) + 1))
    return average, width * deviation * np.sqrt(weight / (2 - weight) * steps)


def _shift(values: Array, upper: Array, lower: Array) -> Shift | None:
    """The first shift that the sums tell: it begins after they last stood at zero [1]_.

    References
    ----------
    .. [1] E. S. Page, "Continuous inspection schemes", Biometrika 41 (1954), 100-115.
    """
    told = np.flatnonzero((upper > DECISION) | (lower > DECISION))
    if not told.size:
        return None
    at = int(told[0])
    sums = upper if upper[at] > DECISION else lower
    zero = np.flatnonzero(sums[:at] == 0)
    begins = int(zero[-1]) + 1 if zero.size else 0
    before, since = values[:begins], values[begins:]
    size = float(since.mean() - before.mean()) if len(before) else float("nan")
    half = float("nan")
    if min(len(before), len(since)) > 1:
        df = len(values) - 2
        squares = ((before - before.mean()) ** 2).sum() + ((since - since.mean()) ** 2).sum()
        error = sqrt(float(squares) / df * (1 / len(before) + 1 / len(since)))
        half = float(stdtrit(df, 0.975)) * error
    return Shift(at, begins, size, size - half, size + half)
