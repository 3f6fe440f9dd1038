"""Tries in two directions: a mean over tries first, then over directions, so that neither outweighs the other.

Arrays only; values are on the scale of the analysis, logarithms for ratios.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Indices = NDArray[np.int_]

#: Standard deviation over the median of absolute deviations, of the normal distribution.
AS_SD = 1.4826


@dataclass(frozen=True, slots=True)
class Levels:
    """Tries as one level for each session.

    Attributes
    ----------
    values : ndarray, shape (sessions,)
        Mean over directions of means over tries; NaN where a direction has no try.
    variance : ndarray, shape (sessions,)
        Of each value from the scatter of its tries; 0 where nothing tells that, NaN with the value.
    means : ndarray, shape (sessions, directions)
        NaN where there is no try.
    counts : ndarray of int, shape (sessions, directions)
    scatter : float
        Variance of a try about its session and direction, pooled; 0 without degrees of freedom.
    df : float
        [1]
    """

    values: Array
    variance: Array
    means: Array
    counts: NDArray[np.int_]
    scatter: float
    df: float


def levels_of(
    values: Array, session: Indices, direction: Indices, sessions: int, directions: int
) -> Levels:
    """Take the mean of the tries of each session and direction, and of the directions of each session.

    Parameters
    ----------
    values : ndarray, shape (tries,)
    session, direction : ndarray of int, shape (tries,)
        Of each try, from 0.
    sessions, directions : int

    Notes
    -----
    With as many tries either way this is their plain mean. With unequal numbers it is the least
    squares estimate of the mean of both directions, whatever these differ by.
    """
    shape = sessions, directions
    cell = session * directions + direction
    counts = np.bincount(cell, minlength=sessions * directions).reshape(shape)
    total = np.bincount(cell, weights=values, minlength=sessions * directions).reshape(shape)
    means = np.where(counts > 0, total / np.maximum(counts, 1), np.nan)
    residual = values - means[session, direction]
    df = float(len(values) - np.count_nonzero(counts))
    scatter = float(residual @ residual) / df if df > 0 else 0.0
    whole = (counts > 0).all(axis=1)
    middle = np.where(whole, np.where(counts > 0, means, 0.0).mean(axis=1), np.nan)
    spread = (1.0 / np.maximum(counts, 1)).sum(axis=1) / directions**2
    return Levels(middle, np.where(whole, scatter * spread, np.nan), means, counts, scatter, df)


def trend_of(values: Array, cell: Indices, order: Array) -> tuple[float, float, float]:
    """What each try brings over the one before it, in the same session and direction.

    Parameters
    ----------
    values, order : ndarray, shape (tries,)
    cell : ndarray of int, shape (tries,)
        Session and direction as one number.

    Returns
    -------
    slope, error, df : float
        Least squares within the cells, its standard error, and degrees of freedom; NaN and 0 where
        the tries are too few to tell.
    """
    _, cell = np.unique(cell, return_inverse=True)
    count = np.bincount(cell)

    def within(x: Array) -> Array:
        return np.asarray(x - (np.bincount(cell, weights=x) / count)[cell])

    y, x = within(values), within(order)
    spread, df = float(x @ x), float(len(values) - len(count) - 1)
    if spread <= 0 or df <= 0:
        return np.nan, np.nan, 0.0
    slope = float(x @ y) / spread
    rest = y - slope * x
    return slope, float(np.sqrt(rest @ rest / df / spread)), df


def standings(values: Array, cell: Indices) -> Array:
    """How far each try is from the middle of its cell, in standard deviations as medians tell them.

    Parameters
    ----------
    values : ndarray, shape (tries,)
    cell : ndarray of int, shape (tries,)
        What tries are alike in, such as configuration and direction.

    Returns
    -------
    ndarray, shape (tries,)
        Zero throughout where more than half of the tries are exactly alike.
    """
    away = np.array(values, dtype=float)
    for each in np.unique(cell):
        away[cell == each] -= np.median(away[cell == each])
    usual = AS_SD * float(np.median(np.abs(away)))
    return away / usual if usual > 0 else np.zeros_like(away)
