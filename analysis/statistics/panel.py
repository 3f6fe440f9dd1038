"""A panel of raters: each rater's own level taken out of the scores, before a session has a value.

Arrays only; scores have shape (sessions, raters), NaN where a rater did not score a session.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtrc, fdtri

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Panel:
    """Scores as a level for each session and one for each rater, by least squares.

    Attributes
    ----------
    values : ndarray, shape (sessions,)
        What the mean of all raters would have given each session; NaN where nobody scored.
    covariance : ndarray, shape (sessions, sessions)
        Of the values, per unit variance of a score; zero where nobody scored. [1]
    residual_variance : float
        Of a score about its session and its rater; 0 without degrees of freedom. [points squared]
    residual_df : float
        [1]
    agreement_p : float
        How often raters who agree on nothing differ as much over the sessions as these; NaN where
        there is nothing to tell it from.
    connected : bool
        Every rater's level can be told from that of every other, through sessions they share.
    """

    values: Array
    covariance: Array
    residual_variance: float
    residual_df: float
    agreement_p: float
    connected: bool


def panel_of(scores: Array) -> Panel:
    """Fit sessions and raters.

    Parameters
    ----------
    scores : ndarray, shape (sessions, raters)

    Notes
    -----
    The two-way layout with one score a cell and no interaction; what raters have of their own in
    a session is its residual. That raters agree on the sessions is tested by F, the mean square of
    sessions (raters taken out) over that of the residuals.
    """
    sessions, raters = scores.shape
    seen = np.isfinite(scores)
    there = seen.any(axis=1)
    rows, columns = np.nonzero(seen)
    heard = [r for r in range(raters) if seen[:, r].any()]
    values, covariance = np.full(sessions, np.nan), np.zeros((sessions, sessions))
    if not rows.size:
        return Panel(values, covariance, 0.0, 0.0, np.nan, connected=False)
    known = np.flatnonzero(there)
    session = (rows[:, None] == known[None, :]).astype(float)
    rater = (columns[:, None] == np.array(heard)[None, :]).astype(float)
    # Raters sum to nought, so that a session's level is that of the panel's mean.
    own = rater[:, :-1] - rater[:, -1:]
    y = scores[rows, columns]
    design = np.hstack([session, own])
    rank = int(np.linalg.matrix_rank(design))
    connected = rank == design.shape[1]
    normal = np.linalg.pinv(design.T @ design, hermitian=True)
    fitted = normal @ design.T @ y
    residual = float(((y - design @ fitted) ** 2).sum())
    df = float(len(y) - rank)
    values[known] = fitted[: len(known)]
    covariance[np.ix_(known, known)] = normal[: len(known), : len(known)]
    variance = residual / df if df > 0 else 0.0
    p = _agreement(y, rater, residual, df, rank)
    return Panel(values, covariance, variance, df, p, connected)


def _agreement(y: Array, rater: Array, residual: float, df: float, rank: int) -> float:
    """Upper tail of F for sessions, raters taken out; NaN where nothing can be told."""
    free = rank - rater.shape[1]
    if df <= 0 or free <= 0 or rater.shape[1] < 2:
        return np.nan
    alone = y - rater @ np.linalg.lstsq(rater, y, rcond=None)[0]
    between = float((alone**2).sum()) - residual
    scale = float((y**2).sum()) or 1.0
    if between <= 1e-12 * scale:
        return 1.0
    if residual <= 1e-12 * scale:
        return 0.0
    return float(fdtrc(free, df, (between / free) / (residual / df)))


def agree(values: Array, runs: Array, raters: int, confidence: float) -> NDArray[np.bool_]:
    """Whether raters who all scored all sessions agree on how these differ: the same F, of many panels at once.

    Parameters
    ----------
    values : ndarray, shape (..., sessions)
        The panels' levels of the sessions.
    runs : ndarray, shape (...)
        Variance of a level from its scores: the residual variance over the raters.
    raters : int
    confidence : float
        0 to 1.
    """
    free = values.shape[-1] - 1
    critical = _critical(free, raters, confidence)
    enough = _squares(values) > free * critical * runs
    return np.asarray(enough & np.isfinite(critical), dtype=bool)


def least_agreed(
    values: Array, runs: Array, sides: NDArray[np.bool_], raters: int, confidence: float
) -> Array:
    """How far two configurations have to be apart for raters to agree on the sessions, the rest being as it is.

    Agreement is asked of all sessions together, and a difference between two of the configurations is part of what
    they differ by. So it is one more bound that the difference has to pass, beside that of the comparison.

    Parameters
    ----------
    values : ndarray, shape (..., sessions)
    runs : ndarray, shape (...)
        As `agree` takes them.
    sides : ndarray of bool, shape (2, sessions)
        The sessions of each of the two, as many of the one as of the other.
    raters : int
    confidence : float

    Returns
    -------
    ndarray, shape (...)
        Nought where they agree whatever the difference; infinite with one rater or one session.
    """
    free, each = values.shape[-1] - 1, int(sides[0].sum())
    apart = values[..., sides[1]].mean(axis=-1) - values[..., sides[0]].mean(axis=-1)
    rest = _squares(values) - each / 2 * apart**2
    critical = _critical(free, raters, confidence)
    if not np.isfinite(critical):
        return np.full(rest.shape, np.inf)
    return np.asarray(np.sqrt(2 / each * np.maximum(free * critical * runs - rest, 0.0)))


def _squares(values: Array) -> Array:
    return np.asarray(((values - values.mean(axis=-1, keepdims=True)) ** 2).sum(axis=-1))


def _critical(free: int, raters: int, confidence: float) -> float:
    """What F of a whole panel has to pass; infinite where nothing can be told."""
    if free < 1 or raters < 2:
        return np.inf
    return float(fdtri(free, free * (raters - 1), confidence))


def shared_excess(panel: Panel, groups: NDArray[np.bool_]) -> Array:
    """What errors in raters' levels add to the mean of some sessions, beyond each session's own.

    Zero where every rater scored every session: the levels then cancel.

    Parameters
    ----------
    panel : Panel
    groups : ndarray of bool, shape (groups, sessions)
        The sessions of each configuration.

    Returns
    -------
    ndarray, shape (groups,)
        Variances whose sum for two groups is that of their difference, or more. [points squared]
    """
    there = np.isfinite(panel.values)
    out = np.zeros(len(groups))
    everywhere = there / max(there.sum(), 1)
    own = np.diag(np.diag(panel.covariance))
    for g, mine in enumerate(groups):
        mine = mine & there
        if not mine.any():
            continue
        weight = mine / mine.sum() - everywhere
        excess = weight @ (panel.covariance - own) @ weight
        out[g] = 2 * max(float(excess), 0.0) * panel.residual_variance
    return out


def ranks_within(scores: Array) -> Array:
    """Scores as ranks among the rater's own, from -1 to 1; ties share their mean rank.

    Where raters scored every session, the mean over the raters of a difference between two groups
    of sessions is how much more often the one is scored above the other than below it: Cliff's d,
    the probability of superiority taken twice less one.
    """
    from scipy.stats import rankdata

    out = np.full(scores.shape, np.nan)
    for r in range(scores.shape[1]):
        seen = np.isfinite(scores[:, r])
        count = int(seen.sum())
        if count:
            out[seen, r] = (2 * rankdata(scores[seen, r]) - count - 1) / count
    return out
