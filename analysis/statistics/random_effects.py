"""Several boats as one statement: the mean of effects that differ, and where the next one lies.

What each boat showed is her own true change and the error of her trial:

    estimate[i] = mean + own[i] + error[i],   own ~ N(0, heterogeneity),  error ~ N(0, variance[i])

The heterogeneity is the variance of the boats' own changes. With it known, the best weights are
1 / (heterogeneity + variance[i]). All functions take estimates of shape (..., boats), NaN where a
boat gives none, so that a pool and ten thousand simulated ones take the same path.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc, chdtri, ndtri, stdtrit

Array = NDArray[np.float64]

Method = Literal["paule-mandel", "reml"]

_STEPS = 60  # halvings of an interval, enough for double precision
_CLOSE = 1e-14  # of a step against what it leads to: rounding begins there
_REACH = 0.975  # where Student's t and the normal distribution are held against each other


@dataclass(frozen=True, slots=True)
class Pooled:
    """Estimates put together by random effects, shape (...) each.

    Attributes
    ----------
    estimates, variances : ndarray, shape (..., boats)
        On the scale of the analysis; NaN where a boat gives none.
    allowed : ndarray, shape (..., boats)
        The variances with what few degrees of freedom leave open.
    count : ndarray of int
        Boats that give one.
    heterogeneity : ndarray
        Variance of the boats' own changes, never below zero.
    mean : ndarray
    standard_error : ndarray
        By Hartung, Knapp, Sidik and Jonkman, and never below the one of a common change.
    df : ndarray
        Of the standard error: boats less one. [1]
    q, q_p_value : ndarray
        Cochran's Q of estimates that share one change, and how often chance alone does as much. [1]
    weights : ndarray, shape (..., boats)
        Adding up to one. [1]
    """

    estimates: Array
    variances: Array
    allowed: Array
    count: NDArray[np.int_]
    heterogeneity: Array
    mean: Array
    standard_error: Array
    df: Array
    q: Array
    q_p_value: Array
    weights: Array

    @property
    def inconsistency(self) -> Array:
        """Part of the scatter of the estimates beyond their errors (I squared), 0 to 1. [1]"""
        with np.errstate(invalid="ignore", divide="ignore"):
            part = 1 - self.df / self.q
        return np.where(self.q > 0, np.maximum(part, 0.0), 0.0)


def pool(
    estimates: Array,
    variances: Array,
    df: Array | float = np.inf,
    method: Method = "paule-mandel",
) -> Pooled:
    """Put estimates together by random effects.

    Parameters
    ----------
    estimates : ndarray, shape (..., boats)
        On the scale of the analysis; NaN where a boat gives none.
    variances : ndarray, shape (..., boats)
        Squared standard errors, above zero.
    df : ndarray, shape (..., boats), or float
        Degrees of freedom of the variances. [1]
    method : "paule-mandel" or "reml"
        By which the heterogeneity is estimated.

    Notes
    -----
    The standard error is that of Hartung and Knapp [1]_ and of Sidik and Jonkman [2]_, the scatter
    of the estimates about their mean under their weights, with Student's t of boats less one. Where
    they happen to agree better than their errors let expect, it would come out below the one of a
    common change; the larger of the two is taken, for simulation (tests/calibration) shows the
    smaller to miss more than it may when the boats differ in precision.

    A variance known from few degrees of freedom is as often far too small, and such a boat would
    weigh too much. In weights and standard error it is therefore taken as the one whose normal
    error reaches as far as Student's t does at 95 %. The heterogeneity is estimated with the
    variances as they are, since it is left over once they are taken off.

    References
    ----------
    .. [1] G. Knapp, J. Hartung, "Improved tests for a random effects meta-regression with a single
       covariate", Statistics in Medicine 22 (2003), 2693-2710.
    .. [2] K. Sidik, J. N. Jonkman, "A simple confidence interval for meta-analysis", Statistics in
       Medicine 21 (2002), 3153-3159.
    """
    estimates, variances = _masked(estimates, variances)
    allowed = variances * (stdtrit(df, _REACH) / ndtri(_REACH)) ** 2
    count = np.isfinite(estimates).sum(axis=-1)
    heterogeneity = paule_mandel(estimates, variances)
    if method == "reml":
        heterogeneity = reml(estimates, variances, heterogeneity)
    mean, precision, scatter = weighed(estimates, allowed, heterogeneity)
    freedom = np.maximum(count - 1.0, 0.0)
    q = weighed(estimates, variances, np.zeros(count.shape))[2]
    with np.errstate(invalid="ignore", divide="ignore"):
        stretch = np.maximum(scatter / freedom, 1.0)
        error = np.sqrt(stretch / precision)
        p = np.where(freedom > 0, chdtrc(np.maximum(freedom, 1), q), np.nan)
    weight = _weight(allowed, heterogeneity)
    return Pooled(
        estimates=estimates,
        variances=variances,
        allowed=allowed,
        count=count,
        heterogeneity=heterogeneity,
        mean=mean,
        standard_error=np.where(freedom > 0, error, np.nan),
        df=freedom,
        q=q,
        q_p_value=p,
        weights=weight / np.maximum(weight.sum(axis=-1, keepdims=True), 1e-300),
    )


def _masked(estimates: Array, variances: Array) -> tuple[Array, Array]:
    """Both with NaN wherever either tells nothing."""
    given = np.isfinite(estimates) & np.isfinite(variances) & (variances > 0)
    return np.where(given, estimates, np.nan), np.where(given, variances, np.nan)


def _weight(variances: Array, heterogeneity: Array) -> Array:
    given = np.isfinite(variances)
    whole = np.where(given, variances, 1.0) + heterogeneity[..., None]
    return np.where(given, 1 / whole, 0.0)


def weighed(estimates: Array, variances: Array, heterogeneity: Array) -> tuple[Array, Array, Array]:
    """Weighted mean, sum of the weights, and weighted sum of squares about the mean."""
    weight, mean, parts = _parts(estimates, variances, heterogeneity)
    return mean, weight.sum(axis=-1), parts.sum(axis=-1)


def _parts(estimates: Array, variances: Array, heterogeneity: Array) -> tuple[Array, Array, Array]:
    """Weights, weighted mean, and each boat's part of the weighted sum of squares about it."""
    weight = _weight(variances, heterogeneity)
    filled = np.nan_to_num(estimates)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = (weight * filled).sum(axis=-1) / weight.sum(axis=-1)
    return weight, mean, weight * np.where(weight > 0, filled - mean[..., None], 0.0) ** 2


def heterogeneity_at(estimates: Array, variances: Array, square: Array) -> Array:
    """The heterogeneity at which the weighted sum of squares comes to a value, shape (...).

    Zero where it lies below that value at no heterogeneity already. With one variance for all boats
    the reciprocal of the sum is a straight line, so Newton's step is taken along the reciprocal; a
    step that leaves the interval in which the solution lies is replaced by half of it.

    Parameters
    ----------
    estimates, variances : ndarray, shape (..., boats)
    square : ndarray, shape (...)
        Above zero where there are two boats; may have axes of its own in front. [1]

    Notes
    -----
    The sum falls as the heterogeneity rises, by the weighted sum of squares with squared weights
    [1]_.

    References
    ----------
    .. [1] R. DerSimonian, R. Kacker, "Random-effects model for meta-analysis of clinical trials: an
       update", Contemporary Clinical Trials 28 (2007), 105-114.
    """
    spread = np.nanmax(estimates, axis=-1, initial=-np.inf, where=np.isfinite(estimates))
    spread = spread - np.nanmin(estimates, axis=-1, initial=np.inf, where=np.isfinite(estimates))
    boats = np.isfinite(estimates).sum(axis=-1)
    # Each term is at most the squared range over the heterogeneity.
    high = boats * np.where(boats > 1, spread, 0.0) ** 2 / np.maximum(square, 1e-12)
    low = found = np.zeros(high.shape)
    for _ in range(_STEPS):
        weight, _, parts = _parts(estimates, variances, found)
        strayed, slope = parts.sum(axis=-1), (weight * parts).sum(axis=-1)
        above = strayed > square
        low, high = np.where(above, found, low), np.where(above, high, found)
        with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
            step = found + strayed / square * (strayed - square) / slope
        inside = (step >= low) & (step <= high)  # also false for what is no number
        nearer = np.where(inside, step, (low + high) / 2)
        moved = np.abs(nearer - found) > _CLOSE * nearer
        found = nearer
        if not moved.any():
            break
    return found


def paule_mandel(estimates: Array, variances: Array) -> Array:
    """Heterogeneity by Paule and Mandel, shape (...).

    The one at which the weighted sum of squares equals what it expects, boats less one [1]_.

    References
    ----------
    .. [1] R. C. Paule, J. Mandel, "Consensus values and weighting factors", Journal of Research of
       the National Bureau of Standards 87 (1982), 377-385.
    """
    boats = np.isfinite(estimates).sum(axis=-1)
    return heterogeneity_at(estimates, variances, np.maximum(boats - 1.0, 0.0))


def reml(estimates: Array, variances: Array, start: Array) -> Array:
    """Heterogeneity by restricted maximum likelihood, shape (...).

    Parameters
    ----------
    estimates, variances : ndarray, shape (..., boats)
    start : ndarray, shape (...)
        Where the search begins.

    Notes
    -----
    The likelihood is looked through on a grid about its scale, and the best stretch is narrowed by
    golden sections, so that neither a start far off nor a second summit leads astray.
    """
    top = heterogeneity_at(
        estimates, variances, np.full(start.shape, 1e-2)
    )  # beyond it the likelihood only falls
    top = np.maximum(top, start)
    parts = np.concatenate([[0.0], np.geomspace(1e-6, 1.0, 60)])
    grid = top[..., None] * parts
    height = np.stack(
        [_restricted(estimates, variances, grid[..., i]) for i in range(len(parts))], axis=-1
    )
    best = height.argmax(axis=-1)
    low = np.take_along_axis(grid, np.maximum(best - 1, 0)[..., None], -1)[..., 0]
    high = np.take_along_axis(grid, np.minimum(best + 1, len(parts) - 1)[..., None], -1)[..., 0]
    golden = (np.sqrt(5.0) - 1) / 2
    for _ in range(_STEPS):
        one, two = high - golden * (high - low), low + golden * (high - low)
        left = _restricted(estimates, variances, one) >= _restricted(estimates, variances, two)
        low, high = np.where(left, low, one), np.where(left, two, high)
    found = (low + high) / 2
    at_zero = _restricted(estimates, variances, np.zeros(found.shape))
    return np.where(_restricted(estimates, variances, found) > at_zero, found, 0.0)


def _restricted(estimates: Array, variances: Array, heterogeneity: Array) -> Array:
    """Restricted log-likelihood, but for a constant."""
    _, precision, scatter = weighed(estimates, variances, heterogeneity)
    weight = _weight(variances, heterogeneity)
    logs = np.log(np.where(weight > 0, weight, 1.0)).sum(axis=-1)
    with np.errstate(divide="ignore"):
        return np.asarray((logs - np.log(precision) - scatter) / 2)


def heterogeneity_interval(
    estimates: Array, variances: Array, confidence: float = 0.95
) -> tuple[Array, Array]:
    """Interval of the heterogeneity from the profile of Q, shape (...) each.

    Notes
    -----
    Under the true heterogeneity the weighted sum of squares is a chi-squared variable of boats less
    one; the interval holds those under which what was seen is not out of the ordinary [1]_.

    References
    ----------
    .. [1] W. Viechtbauer, "Confidence intervals for the amount of heterogeneity in meta-analysis",
       Statistics in Medicine 26 (2007), 37-52.
    """
    estimates, variances = _masked(estimates, variances)
    df = np.maximum(np.isfinite(estimates).sum(axis=-1) - 1.0, 1.0)
    tail = (1 - confidence) / 2
    return (
        heterogeneity_at(estimates, variances, chdtri(df, tail)),
        heterogeneity_at(estimates, variances, chdtri(df, 1 - tail)),
    )
