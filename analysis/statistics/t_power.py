"""Power of Student's t-test, exactly: the noncentral t distribution.

The plain case, one set point and noise of one kind, as textbooks tabulate it. A sweep whose noise
has several parts goes through `power`.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtri, gammaln, ndtr, stdtrit

_NODES = 160


@lru_cache(maxsize=1)
def _nodes() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    x, w = np.polynomial.legendre.leggauss(_NODES)
    return x, w


def t_power(
    effect: float, n: float, *, groups: int = 2, confidence: float = 0.95, sides: int = 2
) -> float:
    """Chance that a t-test establishes a difference.

    Parameters
    ----------
    effect : float
        True difference over the standard deviation of one value; of one difference where pairs
        are compared. [1]
    n : float
        Values in each group, or pairs. Need not be whole. [1]
    groups : int
        2 for two groups of equal size, 1 for one group or for pairs.
    confidence : float
        0 to 1.
    sides : int
        2 when a difference either way counts, 1 when only the expected one does.

    Returns
    -------
    float
        0 to 1.
    """
    return t_power_unequal(
        effect,
        (n, n) if groups == 2 else (n,),
        confidence=confidence,
        sides=sides,
    )


def t_power_unequal(
    effect: float, sizes: tuple[float, ...], *, confidence: float = 0.95, sides: int = 2
) -> float:
    """The same for one group, or for two whose sizes differ.

    Parameters
    ----------
    effect : float
        True difference over the standard deviation of one value. [1]
    sizes : tuple of float
        Values in each group. [1]
    """
    df = sum(sizes) - len(sizes)
    if df <= 0:
        return math.nan
    shift = abs(effect) / math.sqrt(sum(1 / n for n in sizes))
    limit = float(stdtrit(df, 1 - (1 - confidence) / sides))
    found = _beyond(limit, df, shift)
    if sides == 2:
        found += _beyond(limit, df, -shift)
    return found


def _beyond(limit: float, df: float, shift: float) -> float:
    """P(T > limit) of a noncentral t variate.

    Integrated over the root of the mean square, since the library's own function gives NaN far
    out in the tail.
    """
    x, w = _nodes()
    low, high = (float(np.sqrt(chdtri(df, p) / df)) for p in (1 - 1e-15, 1e-15))
    s = low + (high - low) * (x + 1) / 2
    log_density = (
        (math.log(2) + (df / 2) * math.log(df / 2) - float(gammaln(df / 2)))
        + (df - 1) * np.log(s)
        - df * s**2 / 2
    )
    return float((w * np.exp(log_density) * ndtr(shift - limit * s)).sum() * (high - low) / 2)


def t_sample_size(
    effect: float,
    power: float,
    *,
    groups: int = 2,
    confidence: float = 0.95,
    sides: int = 2,
) -> float:
    """Values in each group that a t-test needs, not rounded.

    Parameters
    ----------
    effect : float
        Difference over the standard deviation of one value, not zero. [1]
    power : float
        Chance wanted, 0 to 1.

    Returns
    -------
    float
        [1]

    Raises
    ------
    ValueError
        When the effect is zero, which no sample can show.
    """
    if effect == 0:
        raise ValueError("an effect of zero cannot be found by any number of values")
    low, high = 1 + 1e-6, 4.0

    def reached(n: float) -> bool:
        return t_power(effect, n, groups=groups, confidence=confidence, sides=sides) >= power

    while not reached(high):
        low, high = high, 2 * high
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (low, middle) if reached(middle) else (middle, high)
    return high
