"""The noise of single runs, steadied over the set points."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import digamma, polygamma

Array = NDArray[np.float64]


def pool_run_noise(variance: Array, df: Array) -> Array:
    """Steady the run noise of each set point with that of the others, never downwards.

    Parameters
    ----------
    variance : ndarray, shape (..., set_points)
        Variance estimates of one and the same kind; NaN where there is none.
    df : ndarray, shape (..., set_points)
        Their degrees of freedom. [1]

    Returns
    -------
    ndarray
        The larger of the estimate itself and its empirical-Bayes mean [1]_.

    References
    ----------
    .. [1] G. K. Smyth, "Linear models and empirical Bayes methods for assessing differential
       expression", Statistical Applications in Genetics and Molecular Biology 3 (2004), no. 3,
       as the R package limma documents it (squeezeVar, fitFDist).
    """
    known = np.isfinite(variance) & (variance > 0) & (df > 0)
    count = known.sum(axis=-1, keepdims=True)
    if not known.any():
        return np.where(np.isfinite(variance), variance, 0.0)
    half = np.where(known, df, 1.0) / 2
    log_variance = np.log(np.where(known, variance, 1.0)) - digamma(half) + np.log(half)
    log_variance = np.where(known, log_variance, 0.0)
    n = np.maximum(count, 1)
    mean = log_variance.sum(axis=-1, keepdims=True) / n
    spread = np.where(known, (log_variance - mean) ** 2, 0.0).sum(axis=-1, keepdims=True)
    sampling = np.where(known, polygamma(1, half), 0.0).sum(axis=-1, keepdims=True) / n
    excess = np.maximum(spread / np.maximum(n - 1, 1) - sampling, 1e-4)
    prior_half = _trigamma_inverse(excess)
    prior = np.exp(mean + digamma(prior_half) - np.log(prior_half))
    own = np.where(known, variance, 0.0)
    own_half = np.where(known, df, 0.0) / 2
    steadied = (prior_half * prior + own_half * own) / (prior_half + own_half)
    return np.asarray(np.where(count > 1, np.maximum(steadied, own), own))


def _trigamma_inverse(value: Array) -> Array:
    x = 0.5 + 1 / value
    for _ in range(6):
        tri = polygamma(1, x)
        x = x + tri * (1 - tri / value) / polygamma(2, x)
    return np.asarray(x)
