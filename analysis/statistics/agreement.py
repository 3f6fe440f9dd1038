"""How far raters agree: intraclass correlation, Kendall's W, Krippendorff's alpha. Arrays only."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtrc, fdtri

Array = NDArray[np.float64]
Metric = Literal["nominal", "ordinal", "interval"]


@dataclass(frozen=True, slots=True)
class Estimate:
    """A coefficient with its interval; NaN where it cannot be computed."""

    value: float
    low: float
    high: float


NOTHING = Estimate(np.nan, np.nan, np.nan)


def complete(scores: Array) -> Array:
    """The scores of the raters who scored every session that anybody scored."""
    rows = scores[np.isfinite(scores).any(axis=1)]
    return rows[:, np.isfinite(rows).all(axis=0)]


def intraclass(scores: Array, confidence: float = 0.95) -> tuple[Estimate, Estimate]:
    """Intraclass correlation: two-way, absolute agreement, of one rater and of the raters' mean.

    Parameters
    ----------
    scores : ndarray, shape (targets, raters)
        Without missing values.
    confidence : float
        Of the intervals, 0 to 1.

    Returns
    -------
    single, mean : Estimate
        ICC(2,1) and ICC(2,k) of Shrout and Fleiss [1]_, with the limits of McGraw and Wong [2]_.

    References
    ----------
    .. [1] P. E. Shrout and J. L. Fleiss, "Intraclass correlations: uses in assessing rater
       reliability", Psychological Bulletin 86 (1979), 420-428.
    .. [2] K. O. McGraw and S. P. Wong, "Forming inferences about some intraclass correlation
       coefficients", Psychological Methods 1 (1996), 30-46, case 2A.
    """
    n, k = scores.shape
    if n < 2 or k < 2:
        return NOTHING, NOTHING
    rows, columns, rest = _mean_squares(scores)
    whole = rows + (k - 1) * rest + k / n * (columns - rest)
    if whole <= 0:
        return NOTHING, NOTHING
    one = (rows - rest) / whole
    below = rows + (columns - rest) / n
    mean = (rows - rest) / below if below > 0 else np.nan
    low, high = _limits(one, rows, columns, rest, n, k, confidence)
    stepped = [_stepped_up(end, k) for end in (low, high)]
    return Estimate(one, low, high), Estimate(mean, *stepped)


def _mean_squares(scores: Array) -> tuple[float, float, float]:
    """Of targets, raters and what is left."""
    n, k = scores.shape
    middle = scores.mean()
    rows = k * float(((scores.mean(axis=1) - middle) ** 2).sum()) / (n - 1)
    columns = n * float(((scores.mean(axis=0) - middle) ** 2).sum()) / (k - 1)
    fitted = scores.mean(axis=1)[:, None] + scores.mean(axis=0)[None, :] - middle
    return rows, columns, float(((scores - fitted) ** 2).sum()) / ((n - 1) * (k - 1))


def _limits(
    one: float, rows: float, columns: float, rest: float, n: int, k: int, confidence: float
) -> tuple[float, float]:
    if one >= 1 - 1e-12:
        return 1.0, 1.0
    if rows <= 0:
        return np.nan, np.nan
    a = k * one / (n * (1 - one))
    b = 1 + k * one * (n - 1) / (n * (1 - one))
    parts = (a * columns) ** 2 / (k - 1) + (b * rest) ** 2 / ((n - 1) * (k - 1))
    v = (a * columns + b * rest) ** 2 / parts
    tail = 1 - (1 - confidence) / 2
    lower, upper = float(fdtri(n - 1, v, tail)), float(fdtri(v, n - 1, tail))
    spread = k * columns + (k * n - k - n) * rest
    return (
        n * (rows - lower * rest) / (lower * spread + n * rows),
        n * (upper * rows - rest) / (spread + n * upper * rows),
    )


def _stepped_up(one: float, k: int) -> float:
    """Spearman and Brown: of the mean of k raters, from that of one."""
    below = 1 + (k - 1) * one
    return k * one / below if below > 0 else -np.inf if np.isfinite(one) else np.nan


def kendall_w(scores: Array) -> tuple[float, float]:
    """Kendall's coefficient of concordance, ties allowed for, and its p.

    Parameters
    ----------
    scores : ndarray, shape (targets, raters)
        Without missing values.

    Returns
    -------
    w, p : float
        p by the F approximation [1]_, which is closer than chi-squared with few targets.

    References
    ----------
    .. [1] M. G. Kendall and B. Babington Smith, "The problem of m rankings", Annals of
       Mathematical Statistics 10 (1939), 275-287, for both; from memory.
    """
    n, m = scores.shape
    if n < 2 or m < 2:
        return np.nan, np.nan
    from scipy.stats import rankdata

    ranks = np.apply_along_axis(rankdata, 0, scores)
    ties = 0.0
    for column in ranks.T:
        count = np.unique(column, return_counts=True)[1].astype(float)
        ties += float((count**3 - count).sum())
    square = float(((ranks.sum(axis=1) - m * (n + 1) / 2) ** 2).sum())
    most = m**2 * (n**3 - n) / 12 - m * ties / 12
    if most <= 1e-12:
        return np.nan, np.nan
    w = min(square / most, 1.0)
    free = n - 1 - 2 / m
    if free <= 0:
        return w, np.nan
    p = 0.0 if w >= 1 else float(fdtrc(free, free * (m - 1), (m - 1) * w / (1 - w)))
    return w, p


def krippendorff_alpha(scores: Array, metric: Metric = "ordinal") -> float:
    """Krippendorff's alpha; missing values are allowed.

    Parameters
    ----------
    scores : ndarray, shape (targets, raters)
    metric : str
        How far two scores are apart: "ordinal" by the scores between them, "interval" by their
        difference, "nominal" by being different.

    Returns
    -------
    float
        NaN where no target was scored twice or all scores are one and the same.

    References
    ----------
    .. [1] K. Krippendorff, "Computing Krippendorff's alpha-reliability" (2011), for the coincidences
       and the ordinal difference.
    """
    seen = np.isfinite(scores)
    rows = scores[seen.sum(axis=1) >= 2]
    known = np.unique(rows[np.isfinite(rows)])
    if not len(rows) or len(known) < 2:
        return np.nan
    counts = (rows[:, :, None] == known).sum(axis=1).astype(float)
    pairs = counts.sum(axis=1)
    together = np.einsum("uc,uk,u->ck", counts, counts, 1 / (pairs - 1))
    together -= np.diag((counts / (pairs - 1)[:, None]).sum(axis=0))
    each = together.sum(axis=1)
    apart = _apart(known, each, metric)
    expected = float((np.outer(each, each) * apart).sum())  # a score is not apart from itself
    return float(1 - (each.sum() - 1) * (together * apart).sum() / expected)


def _apart(known: Array, each: Array, metric: Metric) -> Array:
    if metric == "nominal":
        return 1.0 - np.eye(len(known))
    if metric == "interval":
        return np.asarray((known[:, None] - known[None, :]) ** 2)
    # Between the middles of two groups of scores laid end to end.
    middle = np.cumsum(each) - each / 2
    return np.asarray((middle[:, None] - middle[None, :]) ** 2)
