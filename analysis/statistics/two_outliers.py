"""Grubbs' test for two values that lie off on one side, where each hides the other from a test for one."""

from __future__ import annotations

from functools import lru_cache
from math import comb, pi, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

_GRID = (
    8193,
    32769,
)  # angles at which the largest residual of up to 50 values, and of more, is known
_FEW = 50
_MOST = 200  # values up to which the double integral is worth its time
_NODES = 96  # of each quadrature


def grubbs_two(values: ArrayLike) -> tuple[float, tuple[int, int], float]:
    """Grubbs' statistic for two outlying values on one side, and its p-value.

    Parameters
    ----------
    values : array_like, shape (n,)
        Four at least. [any unit]

    Returns
    -------
    tuple
        The sum of squares without the two largest or the two smallest over that of all, whichever
        is smaller [1], the indices of the two, and how often values alike give as small a one on
        either side at most. [1]

    References
    ----------
    ISO 5725-2, 7.3.4, two outlying observations, to be asked where one alone is none; F. E. Grubbs,
    "Sample criteria for testing outlying observations", Annals of Mathematical Statistics 21 (1950).
    """
    found = np.asarray(values, dtype=float)
    count = found.size
    whole = float(((found - found.mean()) ** 2).sum()) if count > 3 else 0.0
    if whole <= 0:
        return 1.0, (0, 0), 1.0
    order = np.argsort(found, kind="stable")
    sides = ((order[-2:], order[:-2]), (order[:2], order[2:]))
    ratios = [float(((found[rest] - found[rest].mean()) ** 2).sum()) / whole for _, rest in sides]
    side = int(np.argmin(ratios))
    first, second = (int(each) for each in sides[side][0])
    return ratios[side], (first, second), min(2 * chance_of_two(ratios[side], count), 1.0)


def chance_of_two(ratio: float, count: int) -> float:
    """How often the two largest of normal values leave so small a part of the squares, one-sided. [1]

    Parameters
    ----------
    ratio : float
        Sum of squares without the two over that of all. [1]
    count : int
        Of the values, four at least. [1]

    Notes
    -----
    Of two values named beforehand the part that they leave is a beta variate, the direction in which
    the two lie is uniform, and the pattern of the others is independent of both. So the chance that
    they are the two largest as well is a double integral over the distribution of the largest
    residual of the others; any of the pairs may be it, and no two pairs can. Of more than 200 values
    the others are taken to lie at their mean, which is never too small a chance.
    """
    power = (count - 3) / 2
    if count > _MOST:
        sector = np.arccos(-1 / (count - 1)) / (2 * pi)
        return float(min(comb(count, 2) * sector * ratio**power, 1.0))
    v, v_weight = _quadrature(0.0, min(max(ratio, 0.0), 1.0) ** power)
    tilt = sqrt(1 - 2 / count)
    angle, angle_weight = _quadrature(0.0, np.arctan(1 / tilt))
    left = np.maximum(v[:, None] ** (1 / power), 1e-30)  # part of the squares that is left
    reach = np.sqrt((1 - left) / left) * (np.cos(angle) / tilt - np.sin(angle)) / sqrt(2)
    inside = _largest_below(count - 2, reach)
    return float(comb(count, 2) * (v_weight @ inside @ angle_weight) / pi)


def _quadrature(low: float, high: float) -> tuple[Array, Array]:
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    half = (high - low) / 2
    return low + half * (nodes + 1), half * weights


def _largest_below(count: int, size: Array) -> Array:
    """Chance that the largest of so many residuals, over the root of their squares, is below `size`."""
    top = sqrt((count - 1) / count)
    angle, known = _largest(count)
    return np.interp(np.arcsin(np.clip(size / top, -1.0, 1.0)), angle, known)


@lru_cache(maxsize=8)
def _largest(count: int) -> tuple[Array, Array]:
    """Distribution of the largest residual, at the arc sine of its part of the largest possible.

    Grubbs' recursion: the largest is one of all, and all others lie below it, which is the same
    question of one value less.
    """
    angle = np.linspace(-pi / 2, pi / 2, _GRID[count > _FEW])
    known = (angle >= pi / 2 - 1e-12).astype(float)  # of two values it is always the same
    for k in range(3, count + 1):
        below = np.sqrt(k / (k - 1)) * np.tan(np.clip(angle, -1.5707, 1.5707))
        inner = np.arcsin(np.clip(below / sqrt((k - 2) / (k - 1)), -1.0, 1.0))
        density = np.cos(angle) ** (k - 3)
        density /= _cumulated(density, angle)[-1]
        known = np.minimum(_cumulated(k * density * np.interp(inner, angle, known), angle), 1.0)
    return angle, known


def _cumulated(values: Array, at: Array) -> Array:
    steps = (values[1:] + values[:-1]) / 2 * np.diff(at)
    return np.concatenate([[0.0], np.cumsum(steps)])
