"""What the noise of a trial is made of, seen in its session values.

A session value at a set point is the configuration's true value there, plus a part that the
session shares over all its set points (sea, load, fouling, installation), plus a part of the set
point in that session, plus what is left of the noise of its runs:

    value[s, p] = configuration[c(s), p] + shared[s] + specific[s, p] + runs[s, p]

Variances are on the scale of the analysis: squared fractions for quantities compared as ratios.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtrc, ndtri, stdtrit

from slackwater.analysis.statistics.contrasts import Contrasts

Array = NDArray[np.float64]

# A set point's own evidence on its noise stands against this many degrees of freedom of the
# evidence that all set points give together. Chosen by simulation (tests/calibration): with
# none, set points three times as noisy as the others break the error rate; with fewer, trials
# with equal noise lose power.
POOLING_DF = 6.0

# The sessions' noise contradicts a prior when as large a mean square comes up less often. Chosen by
# simulation: a prior of half the true noise otherwise gives 9 to 32 % of false sweeps.
DOUBTFUL = 0.15


@dataclass(frozen=True, slots=True)
class PriorNoise:
    """What earlier trials showed, on the scale of the analysis.

    Attributes
    ----------
    between_sessions : float
        Variance shared by the set points of a session.
    session_by_set_point : float or None
        Variance of a set point within a session, runs not counted; None where nothing is known of
        it.
    within_session : float
        Variance of a session value from its runs.
    df : float
        Degrees of freedom behind them. [1]
    """

    between_sessions: float
    session_by_set_point: float | None
    within_session: float
    df: float


@dataclass(frozen=True, slots=True)
class NoiseEstimate:
    """Variances of a session value, for one or many trials of one layout.

    Attributes
    ----------
    shared : ndarray, shape (...)
        Variance that a session shares over its set points, never below zero.
    specific : ndarray, shape (..., set_points)
        Variance of one set point in one session, runs included.
    runs : ndarray, shape (..., set_points)
        The part of `specific` that the runs within the session account for.
    ratio : ndarray, shape (...)
        Mean square between sessions over the one of set points within sessions. [1]
    share : ndarray, shape (..., set_points)
        `specific` in units of the noise of a session mean; see `simultaneous`. [1]
    shared_df, specific_df : float
        Degrees of freedom of the two mean squares; `specific_df` is 0 with one set point. [1]
    loading : ndarray or None, shape (set_points,)
        How strongly what is shared shows at each set point, where that differs. [1]
    freedom : tuple of ndarray, shape (...) each, or None
        Degrees of freedom trial by trial, where they differ between trials. [1]
    prior_fits : ndarray of bool, shape (...), or None
        The sessions' own noise does not contradict the prior, which was joined in; None without
        one, or where no session is repeated.
    """

    shared: Array
    specific: Array
    runs: Array
    ratio: Array
    share: Array
    shared_df: float
    specific_df: float
    loading: Array | None = None
    freedom: tuple[Array, Array] | None = None
    prior_fits: NDArray[np.bool_] | None = None

    @property
    def total(self) -> Array:
        """Variance of one session value, shape (..., set_points)."""
        loading = 1.0 if self.loading is None else self.loading
        return np.asarray(self.shared[..., None] * loading**2 + self.specific)

    def typical(self, variance: Array) -> Array:
        """A variance of each set point as one for all, shape (...).

        Set points count by the inverse of their noise, as they do in what sessions share.
        """
        weight = 1 / self.specific
        return np.asarray((variance * weight).mean(axis=-1) / weight.mean(axis=-1))

    def effective_df(self) -> Array:
        """Welch-Satterthwaite degrees of freedom of `total`, shape (..., set_points). [1]"""
        if self.specific_df <= 0:
            return np.full(self.specific.shape, self.shared_df)
        unit = self.specific / self.share  # the noise of a session mean from set points alone
        between = self.ratio[..., None] * unit
        rest = self.specific - unit
        whole = np.maximum(between + rest, self.specific * 1e-9)
        return np.asarray(
            whole**2 / (between**2 / self.shared_df + rest**2 / max(self.specific_df, 1.0))
        )


def estimate_noise(
    values: Array,
    runs: Array,
    layout: Contrasts,
    prior: PriorNoise | None = None,
    confidence: float | None = None,
) -> NoiseEstimate | None:
    """Estimate the noise of session values.

    Parameters
    ----------
    values : ndarray, shape (..., sessions, set_points)
        Session values on the scale of the analysis; NaN where missing.
    runs : ndarray, shape (..., set_points)
        Variance of a session value from its runs; 0 where unknown.
    layout : Contrasts
        Which sessions are compared.
    prior : PriorNoise, optional
        Joined in with its own degrees of freedom, where the sessions do not contradict it.
    confidence : float, optional
        That differences will be compared with, 0 to 1. With one set point no bound is then narrower than
        the runs alone allow, as normal theory has it; without it, no variance is smaller than theirs.

    Returns
    -------
    NoiseEstimate or None
        None where neither the sessions nor the prior tell anything.

    Notes
    -----
    The variance of set points within sessions is found by the method of Mandel and Paule [1]_:
    the one that makes the weighted residual mean square equal to one. The sum of squares
    between sessions is the reduction that fitting a level for each session brings (Henderson's
    third method [2]_), so that missing set points need no special case.

    References
    ----------
    .. [1] R. C. Paule and J. Mandel, "Consensus values and weighting factors", Journal of
       Research of the National Bureau of Standards 87 (1982), 377-385; as statsmodels documents
       it (combine_effects, "pm"), to which a test holds it.
    .. [2] C. R. Henderson, "Estimation of variance and covariance components", Biometrics 9
       (1953), 226-252, for the method's name; held to mean squares by statsmodels in a test.
    """
    residuals = residuals_of(values, layout)
    usable = layout.residual_df > 0
    if _rank_between(layout) <= 0:
        return None if prior is None else _from_prior(runs, prior)
    if usable.sum() <= 1:
        own = _one_set_point(residuals, runs, layout, None, confidence)
        joined = (
            None if prior is None else _one_set_point(residuals, runs, layout, prior, confidence)
        )
    else:
        own = _two_parts(residuals, runs, layout, None)
        joined = None if prior is None else _two_parts(residuals, runs, layout, prior)
    return own if prior is None or joined is None else _checked(own, joined, prior, runs)


def _two_parts(
    residuals: Array, runs: Array, layout: Contrasts, prior: PriorNoise | None
) -> NoiseEstimate:
    """What sessions share and what set points have of their own."""
    usable = layout.residual_df > 0
    df_shared = _rank_between(layout)
    df_specific = float(layout.residual_df.sum()) - df_shared
    extra = _mandel_paule(residuals, runs, layout, df_specific)
    specific = np.maximum(runs + extra[..., None], 1e-16)
    if prior is not None and prior.session_by_set_point is not None:
        known = prior.session_by_set_point + runs
        specific = (df_specific * specific + prior.df * known) / (df_specific + prior.df)
    levels, _, _ = between_sessions(residuals, specific, layout)
    own, expected = _own_mean_square(residuals, levels, specific, layout)
    specific = specific * (POOLING_DF + own) / (POOLING_DF + expected)

    _, square, unit = between_sessions(residuals, specific, layout)
    ratio = square / df_shared
    specific_df = float(min(np.median(layout.residual_df[usable]) + POOLING_DF, df_specific))
    if prior is not None:
        prior_ratio = 1 + prior.between_sessions * unit
        ratio = (df_shared * ratio + prior.df * prior_ratio) / (df_shared + prior.df)
        df_shared += prior.df
        specific_df += 0.0 if prior.session_by_set_point is None else prior.df
    return NoiseEstimate(
        shared=np.maximum(ratio - 1, 0.0) / unit,
        specific=specific,
        runs=np.minimum(runs, specific),
        ratio=ratio,
        share=specific * unit[..., None],
        shared_df=df_shared,
        specific_df=specific_df,
    )


def _checked(
    own: NoiseEstimate, joined: NoiseEstimate, prior: PriorNoise, runs: Array
) -> NoiseEstimate:
    """The noise with the prior where it fits the sessions' own mean squares, else without."""
    if own.specific_df > 0:
        unit = (own.share / own.specific).mean(axis=-1)  # of a mean square between sessions
        own_square = own.ratio / unit
        seen = 1 / (1 / own.specific).mean(axis=-1)
        part = prior.session_by_set_point
        mean_runs = runs.mean(axis=-1)
        rest = 1 / unit if part is None else (part + mean_runs) / own.specific.shape[-1]
        expected = np.asarray(prior.between_sessions + rest)
        doubtful = fdtrc(own.shared_df, prior.df, own_square / expected) < DOUBTFUL
        if part is not None:
            within = seen / np.maximum(part + mean_runs, 1e-300)
            doubtful |= fdtrc(own.specific_df, prior.df, within) < DOUBTFUL / 4
    else:
        expected = np.asarray(prior.between_sessions + (prior.session_by_set_point or 0.0) + runs)
        square = (own.specific / np.maximum(expected, 1e-300)).max(axis=-1)
        doubtful = fdtrc(own.shared_df, prior.df, square) < DOUBTFUL
    fits = np.asarray(~doubtful)

    def chosen(one: Array, other: Array) -> Array:
        wide = fits[..., None] if one.ndim > fits.ndim else fits
        return np.where(wide, one, other)

    return NoiseEstimate(
        shared=chosen(joined.shared, own.shared),
        specific=chosen(joined.specific, own.specific),
        runs=chosen(joined.runs, own.runs),
        ratio=chosen(joined.ratio, own.ratio),
        share=chosen(joined.share, own.share),
        shared_df=joined.shared_df if fits.all() else own.shared_df,
        specific_df=joined.specific_df if fits.all() else own.specific_df,
        freedom=(
            np.where(fits, joined.shared_df, own.shared_df),
            np.where(fits, joined.specific_df, own.specific_df),
        ),
        prior_fits=fits,
    )


def residuals_of(values: Array, layout: Contrasts) -> Array:
    """Residuals about the configurations, zero where a value is missing."""
    filled = np.where(np.isfinite(values), values, 0.0)
    if layout.complete:
        return np.asarray(np.einsum("st,...tp->...sp", layout.residual[0], filled))
    return np.asarray(np.einsum("pst,...tp->...sp", layout.residual, filled))


def _rank_between(layout: Contrasts) -> float:
    if layout.complete:
        return float(layout.residual_df[0])
    return float(np.linalg.matrix_rank(layout.residual.sum(axis=0), tol=1e-8))


def between_sessions(
    residuals: Array, specific: Array, layout: Contrasts
) -> tuple[Array, Array, Array]:
    """Session levels, their sum of squares, and the weight of one session level.

    Returns
    -------
    levels : ndarray, shape (..., sessions)
    square : ndarray, shape (...)
        Sum of squares between sessions in units of the set-point noise. [1]
    unit : ndarray, shape (...)
        What the shared variance is multiplied with in the mean square's expectation.
    """
    weight = np.where(layout.residual_df > 0, 1 / specific, 0.0)
    sums = np.einsum("...sp,...p->...s", residuals, weight)
    if layout.complete:
        unit = weight.sum(axis=-1)
        levels = sums / unit[..., None]
        return levels, np.asarray((sums * levels).sum(axis=-1)), np.asarray(unit)
    normal = np.einsum("...p,pst->...st", weight, layout.residual)
    levels = np.einsum("...st,...t->...s", np.linalg.pinv(normal, hermitian=True), sums)
    square = (sums * levels).sum(axis=-1)
    unit = np.trace(normal, axis1=-2, axis2=-1) / _rank_between(layout)
    return levels, np.asarray(square), np.asarray(unit)


def _deviations(residuals: Array, levels: Array, layout: Contrasts) -> Array:
    if layout.complete:
        return np.asarray(residuals - levels[..., None])
    return np.asarray(residuals - np.einsum("pst,...t->...sp", layout.residual, levels))


def _own_mean_square(
    residuals: Array, levels: Array, specific: Array, layout: Contrasts
) -> tuple[Array, Array]:
    """Each set point's sum of squares about the session levels, and its expectation. [1]"""
    deviations = _deviations(residuals, levels, layout)
    own = (deviations**2).sum(axis=-2) / specific
    weight = np.where(layout.residual_df > 0, 1 / specific, 0.0)
    leverage = weight / np.maximum(weight.sum(axis=-1, keepdims=True), 1e-300)
    return own, np.asarray(layout.residual_df * (1 - leverage))


def _mandel_paule(residuals: Array, runs: Array, layout: Contrasts, df: float) -> Array:
    """Variance of set points within sessions beyond their runs, shape (...), not below zero."""
    largest = (residuals**2).sum(axis=(-2, -1)) + 1e-30
    floor = largest * 1e-9 + 1e-18  # a set point with no run noise at all still has a weight

    def excess(extra: Array) -> Array:
        specific = runs + extra[..., None]
        levels, _, _ = between_sessions(residuals, specific, layout)
        deviations = _deviations(residuals, levels, layout)
        return np.asarray(((deviations**2).sum(axis=-2) / specific).sum(axis=-1) - df)

    low, high = np.log(floor), np.log(largest)
    none_needed = excess(floor) <= 0
    for _ in range(24):
        middle = (low + high) / 2
        above = excess(np.exp(middle)) > 0
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return np.asarray(np.where(none_needed, floor, np.exp((low + high) / 2)))


def _one_set_point(
    residuals: Array,
    runs: Array,
    layout: Contrasts,
    prior: PriorNoise | None,
    confidence: float | None,
) -> NoiseEstimate:
    """With one set point, what is shared and what is its own cannot be told apart.

    The bound of a difference is the larger of Student's on the sessions and the normal one on the runs
    alone. To hold the runs' variance against Student's quantile instead would charge sessions that are
    few for a scatter that is known from many runs, and make repeats within a session worth nothing.
    """
    df = _rank_between(layout)
    # Of set points that no session repeats there is rounding at most, and nothing to divide it by.
    repeated = layout.residual_df > 0
    freedom = np.where(repeated, layout.residual_df, 1.0)
    total = np.where(repeated, (residuals**2).sum(axis=-2), 0.0) / freedom
    if prior is not None:
        known = prior.between_sessions + (prior.session_by_set_point or 0.0) + runs
        total = (df * total + prior.df * known) / (df + prior.df)
        df = df + prior.df
    least = runs if confidence is None else runs * _normal_over_t(df, confidence) ** 2
    total = np.maximum(np.nan_to_num(total), np.maximum(least, 1e-16))
    shape = total.shape[:-1]
    return NoiseEstimate(
        shared=np.zeros(shape),
        specific=total,
        runs=np.minimum(runs, total),
        ratio=np.ones(shape),
        share=np.ones_like(total),
        shared_df=df,
        specific_df=0.0,
    )


def _normal_over_t(df: float, confidence: float) -> float:
    """The normal quantile over Student's, two-sided. [1]"""
    at = (1 + confidence) / 2
    return float(ndtri(at) / stdtrit(df, at))


def _from_prior(runs: Array, prior: PriorNoise) -> NoiseEstimate | None:
    """No session is repeated: all that is known comes from earlier trials.

    None where they do not tell the part of each set point, which nothing here could make up for.
    """
    own = np.where(runs > 0, runs, prior.within_session)
    single = own.shape[-1] == 1
    if prior.session_by_set_point is None and not single:
        return None
    specific = np.maximum((prior.session_by_set_point or 0.0) + own, 1e-16)
    shared = 0.0 if single else prior.between_sessions
    if single:
        specific = specific + prior.between_sessions
    unit = (1 / specific).sum(axis=-1)
    ratio = 1 + shared * unit
    return NoiseEstimate(
        shared=np.full(specific.shape[:-1], shared),
        specific=specific,
        runs=np.minimum(own, specific),
        ratio=np.asarray(ratio),
        share=specific * unit[..., None],
        shared_df=prior.df,
        specific_df=0.0 if single else prior.df,
    )
