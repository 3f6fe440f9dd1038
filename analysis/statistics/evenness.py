"""Noise that is not even: what set points and configurations say of it themselves.

What sessions share is taken to be the same part of the value at every set point. Where a planing hump
makes it several times as large, the set point's own mean square stands out from the total that the
model gives it, and its variance is raised.

With as many sessions of either side, a mean square pooled over configurations gives the variance of
their difference whichever is the noisier. With unequal numbers it does not, and a third
configuration that is quiet makes it too small for the two. There the variance of the difference
comes from the two sides apart, in the manner of Welch [1]_, each side's scatter averaged over the
sweep, and its degrees of freedom are those that they show.

References
----------
.. [1] B. L. Welch, "The generalization of Student's problem when several different population
   variances are involved", Biometrika 34 (1947), 28-35, for the idea.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.statistics.contrasts import Contrasts
from slackwater.analysis.statistics.noise import NoiseEstimate, residuals_of

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

# Further configurations whose mean square is less than this part of the pair's do not count.
QUIET = 0.35
# A set point's own mean square may be so much of the model's total (1 + ALLOWED / sqrt(df)) before
# its variance is raised, and is then counted so many times, for what a hump does to the total hides a
# part of it. Like QUIET chosen by simulation (tests/calibration): an even sweep loses a point of
# power, and a hump four times as noisy would give 12 to 16 % of false sweeps.
ALLOWED, STEEPNESS = 2.4, 8.0
# Over a sweep the degrees of freedom are a little more than Welch's, since set points tell something
# by themselves; chosen so that the error rates hold.
MORE_FREEDOM = 1.1
# Tables are made for these degrees of freedom; the next one below, or 3 % above, is taken.
_STEPS = np.exp(np.linspace(0.0, np.log(60.0), 60))


def by_side(noise: NoiseEstimate, values: Array, layout: Contrasts) -> tuple[Array, NoiseEstimate]:
    """Factor on the variance of a difference, and the noise with the freedom that it has then.

    Parameters
    ----------
    noise : NoiseEstimate
        Pooled over the configurations.
    values : ndarray, shape (..., sessions, set_points)
    layout : Contrasts

    Returns
    -------
    factor : ndarray, shape (..., set_points) or ()
        One where the pooled noise serves. [1]
    noise : NoiseEstimate
    """
    if layout.sides is None or (noise.prior_fits is not None and noise.prior_fits.all()):
        return np.array(1.0), noise
    numbers = [side.sum(axis=0) for side in layout.sides]
    usable = (numbers[0] > 1) & (numbers[1] > 1)
    further = layout.residual_df - (numbers[0] + numbers[1] - 2)
    if not usable.any() or not (((numbers[0] != numbers[1]) | (further > 0)) & usable).any():
        return np.array(1.0), noise
    # Every set point counts alike: in units of what the pooled noise gives it.
    unit = np.maximum(noise.total, 1e-300)
    parts, freedom, squares = [], [], []
    for side, count in zip(layout.sides, numbers, strict=True):
        square = _squares(values, side) / unit
        squares.append(square)
        each = square / np.maximum(count - 1, 1) / np.maximum(count, 1) / layout.spread
        parts.append(each[..., usable].mean(axis=-1))
        freedom.append(float(np.median(count[usable] - 1)))
    whole = np.maximum(parts[0] + parts[1], 1e-300)
    if (numbers[0] == numbers[1])[usable].all():  # the pooled mean square of the pair
        df = np.full(whole.shape, sum(freedom))
    else:
        df = whole**2 / sum(part**2 / each for part, each in zip(parts, freedom, strict=True))
        df = df * (MORE_FREEDOM if noise.specific_df > 0 else 1.0)
    quiet = _quiet(values, layout, squares, unit, usable & (further > 0))
    apart = usable & ((numbers[0] != numbers[1]) | quiet[..., None])
    factor = np.where(apart, whole[..., None], 1.0)
    factor = np.where(_joined(noise)[..., None], 1.0, factor)
    return factor, _with_freedom(noise, np.where(apart.any(axis=-1), df, np.inf))


def by_set_point(noise: NoiseEstimate, values: Array, layout: Contrasts, factor: Array) -> Array:
    """Factor on the variance of set points that scatter far more than the sweep allows them.

    Parameters
    ----------
    noise : NoiseEstimate
    values : ndarray, shape (..., sessions, set_points)
    layout : Contrasts
    factor : ndarray, shape (..., set_points) or ()
        From `by_side`.

    Returns
    -------
    ndarray, shape (..., set_points)
        One where nothing stands out; with a single set point nothing can. [1]
    """
    seen = layout.residual_df > 0
    if noise.specific_df <= 0 or not seen.any():
        return np.ones(noise.specific.shape)
    df = np.maximum(layout.residual_df, 1.0)
    square = (residuals_of(values, layout) ** 2).sum(axis=-2) / df
    own = square / np.maximum(noise.total * factor, 1e-300)
    # What all set points show alike is no unevenness: sessions far apart, or a prior.
    typical = own[..., seen].mean(axis=-1, keepdims=True)
    own = own / np.maximum(typical, 1.0)
    beyond = np.maximum(own - 1 - ALLOWED / np.sqrt(df), 0.0)
    return np.where(seen, 1 + STEEPNESS * beyond, 1.0)


def _joined(noise: NoiseEstimate) -> Mask:
    """Where a prior was joined in, which speaks for all configurations."""
    if noise.prior_fits is None:
        return np.zeros(noise.ratio.shape, dtype=bool)
    return noise.prior_fits


def _squares(values: Array, side: Mask) -> Array:
    """Sum of squares about the mean of one side, shape (..., set_points)."""
    count = np.maximum(side.sum(axis=0), 1)
    filled = np.where(side, values, 0.0)
    mean = filled.sum(axis=-2, keepdims=True) / count
    return np.asarray((np.where(side, filled - mean, 0.0) ** 2).sum(axis=-2))


def _quiet(
    values: Array, layout: Contrasts, squares: list[Array], unit: Array, where: Mask
) -> Mask:
    """Trials in which further configurations are much quieter than the pair, shape (...)."""
    if not where.any() or layout.sides is None:
        return np.zeros(values.shape[:-2], dtype=bool)
    residuals = residuals_of(values, layout)
    pair_df = layout.sides[0].sum(axis=0) + layout.sides[1].sum(axis=0) - 2
    pair = squares[0] + squares[1]
    rest = (residuals**2).sum(axis=-2) / unit - pair
    further = rest / np.maximum(layout.residual_df - pair_df, 1)
    own = pair / np.maximum(pair_df, 1)
    return np.asarray(further[..., where].mean(axis=-1) < QUIET * own[..., where].mean(axis=-1))


def _with_freedom(noise: NoiseEstimate, df: Array) -> NoiseEstimate:
    """The noise with degrees of freedom of its own in each trial, no more than it had."""
    shared, specific = noise.freedom or (
        np.full(noise.ratio.shape, noise.shared_df),
        np.full(noise.ratio.shape, noise.specific_df),
    )
    if noise.specific_df > 0:
        wanted = np.minimum(df, shared)
        step = np.searchsorted(_STEPS, np.maximum(wanted, 1.0) * 1.03, side="right") - 1
        df = np.where(wanted < shared, _STEPS[step], shared)
    found = np.where(_joined(noise), shared, np.minimum(df, shared))
    return replace(noise, freedom=(found, specific))
