"""Looks at what a comparison assumes: an outlying session, a drift, the order that was drawn.

Each session is one number here, its level: the mean over the set points that every session has, about
the means of its configuration (and block). What is found changes no verdict; it is said beside it.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations, product
from math import comb

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtr

from slackwater.analysis.statistics.contrasts import Contrasts

Array = NDArray[np.float64]

MOST_ORDERS = 20_000


@dataclass(frozen=True, slots=True)
class Levels:
    """Session levels, shape (sessions,); NaN in a session that has none.

    Attributes
    ----------
    level : ndarray
        Mean over the set points that all sessions have.
    residual : ndarray
        About the configurations and blocks.
    hat : ndarray, shape (sessions, sessions)
        Takes levels to residuals. [1]
    df : float
        Degrees of freedom of the residuals. [1]
    """

    level: Array
    residual: Array
    hat: Array
    df: float


def session_levels(values: Array, layout: Contrasts) -> Levels | None:
    """Levels of the sessions; None where no set point has a value in every session.

    Parameters
    ----------
    values : ndarray, shape (sessions, set_points)
    layout : Contrasts
    """
    there = np.isfinite(values)
    sessions = there.any(axis=1)
    shared = there[sessions].all(axis=0) if sessions.any() else np.zeros(values.shape[1], bool)
    if not shared.any():
        return None
    point = int(shared.argmax())
    level = values[:, shared].mean(axis=1)  # NaN where a session has none
    hat = layout.residual[point]
    residual = np.where(sessions, hat @ np.nan_to_num(level), np.nan)
    return Levels(level, residual, hat, float(layout.residual_df[point]))


def outlying(levels: Levels) -> tuple[int, float, float] | None:
    """The session furthest from the others of its kind, and how surprising that is.

    Returns
    -------
    session : int
    deviation : float
        Its level less what the others of its configuration give.
    p_value : float
        Two-sided, for the largest of so many sessions (Bonferroni): the externally studentised
        residual has Student's t distribution with one degree of freedom less. [1]

    Notes
    -----
    The residuals are held to those of statsmodels (`OLSInfluence.resid_studentized_external`), and
    the false alarms counted, in tests/calibration/test_assumptions.py.
    """
    known = np.isfinite(levels.residual)
    free = np.diag(levels.hat)
    can = known & (free > 1e-9)
    if levels.df < 2 or not can.any():
        return None
    squares = np.where(can, levels.residual**2 / np.maximum(free, 1e-9), 0.0)
    total = float((levels.residual[known] ** 2).sum())
    left = np.maximum(total - squares, 1e-30) / (levels.df - 1)
    size = np.sqrt(squares / left)
    session = int(size.argmax())
    tail = 2 * float(stdtr(levels.df - 1, -size[session]))
    deviation = float(levels.residual[session] / free[session])
    return session, deviation, min(tail * int(can.sum()), 1.0)


def drift(levels: Levels) -> tuple[float, float] | None:
    """Change of the level from the first session to the last, and its two-sided p-value."""
    known = np.isfinite(levels.residual)
    if levels.df < 2:
        return None
    order = np.where(known, np.arange(len(known), dtype=float), 0.0)
    freed = levels.hat @ order
    weight = float(freed @ freed)
    if weight < 1e-9:
        return None
    residual = np.nan_to_num(levels.residual)
    slope = float(freed @ residual) / weight
    left = float(residual @ residual) - slope**2 * weight
    error = np.sqrt(max(left, 1e-30) / (levels.df - 1) / weight)
    span = float(np.ptp(np.flatnonzero(known)))
    return slope * span, 2 * float(stdtr(levels.df - 1, -abs(slope) / error))


def randomised(
    levels: Levels, one: NDArray[np.bool_], other: NDArray[np.bool_], blocks: list[str] | None
) -> tuple[float, float] | None:
    """p-value of the mean difference over all orders that might have been drawn, and the least.

    Parameters
    ----------
    one, other : ndarray of bool, shape (sessions,)
        The two sides.
    blocks : list of str, optional
        Sessions change sides within their block alone.

    Returns
    -------
    tuple of float or None
        None with too many orders to go through, or a block that is no pair.
    """
    mine = (one | other) & np.isfinite(levels.level)
    level, first = levels.level[mine], one[mine]
    if not first.any() or first.all():
        return None
    orders = _orders(
        first, None if blocks is None else [b for b, m in zip(blocks, mine, strict=True) if m]
    )
    if orders is None:
        return None
    a = orders.sum(axis=1)
    means = (orders @ level) / a - (~orders @ level) / (len(level) - a)
    seen = abs(level[first].mean() - level[~first].mean())
    return (
        float((np.abs(means) >= seen * (1 - 1e-9)).mean()),
        float((np.abs(means) >= np.abs(means).max() * (1 - 1e-9)).mean()),
    )


def _orders(first: NDArray[np.bool_], blocks: list[str] | None) -> NDArray[np.bool_] | None:
    """Every assignment of the sides, shape (orders, sessions)."""
    n, k = len(first), int(first.sum())
    if blocks is None:
        if comb(n, k) > MOST_ORDERS:
            return None
        rows = np.zeros((comb(n, k), n), dtype=bool)
        for row, chosen in enumerate(combinations(range(n), k)):
            rows[row, list(chosen)] = True
        return rows
    names = sorted(set(blocks))
    pairs = [np.array([b == name for b in blocks]) for name in names]
    if (
        any(pair.sum() != 2 or first[pair].sum() != 1 for pair in pairs)
        or 2 ** len(names) > MOST_ORDERS
    ):
        return None
    drawn = []
    for flips in product((False, True), repeat=len(names)):
        order = first.copy()
        for pair, flip in zip(pairs, flips, strict=True):
            order[pair] ^= flip
        drawn.append(order)
    return np.array(drawn)
