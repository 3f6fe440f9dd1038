"""Reading the sweeps at one speed: what each session does there, and how well that is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slackwater.analysis.curves import Curves, curves, spread

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Reading:
    """Session values read off the curves, shape (..., sessions, n) each.

    Attributes
    ----------
    values : ndarray
        NaN where a session does not reach.
    run_variance : ndarray
        From the runs.
    curve_variance : ndarray
        From reading between the set points; all sessions of a configuration share it.
    position : ndarray
        Where on the axis each session has the speed.
    gradient : ndarray, shape (..., 1, n)
        Change of the measure a unit change of log speed, along the mean of all curves.
    """

    values: Array
    run_variance: Array
    curve_variance: Array
    position: Array
    gradient: Array


@dataclass(frozen=True, slots=True)
class Sweeps:
    """The speed of every session over the set points, and what was fitted.

    Attributes
    ----------
    x : ndarray, shape (set_points,)
        The set points; their logarithms where all are above zero.
    speed : ndarray, shape (..., sessions, set_points)
        Logarithm of the speed.
    speed_variance : ndarray, shape (..., sessions, set_points)
        From the runs; of the logarithm.
    fitted : sequence of str, length sessions
    """

    x: Array
    speed: Array
    speed_variance: Array
    fitted: Sequence[str]

    def mean(self, values: Array) -> Array:
        """Mean over the sessions of each configuration, laid out over the sessions again."""
        out = np.full(values.shape, np.nan)
        labels = np.array(self.fitted)
        for name in dict.fromkeys(self.fitted):
            mine = labels == name
            out[..., mine, :] = _mean(values[..., mine, :])
        return out

    def grand_mean(self, values: Array) -> Array:
        """Mean over the configurations, shape (..., 1, n)."""
        first = [list(self.fitted).index(name) for name in dict.fromkeys(self.fitted)]
        return _mean(self.mean(values)[..., first, :])

    def where(self, log_speed: ArrayLike) -> Array:
        """Lowest set point at which each session has a speed; NaN where it never has."""
        return curves(self.x, self.speed).crossing(log_speed)


def _mean(values: Array) -> Array:
    """Mean over axis -2, kept; NaN where nothing is known."""
    count = np.isfinite(values).sum(axis=-2, keepdims=True)
    total = np.nansum(values, axis=-2, keepdims=True)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def read(sweeps: Sweeps, measure: Array, variance: Array, log_speed: ArrayLike) -> Reading:
    """Read a measure off every session's curve where that session has a given speed.

    Parameters
    ----------
    sweeps : Sweeps
    measure, variance : ndarray, shape (..., sessions, set_points)
        Session values of the measure on the scale of the analysis, and their variance from the
        runs.
    log_speed : array_like, shape (n,) or (..., sessions, n)
        Logarithm of the speeds.

    Notes
    -----
    A session's own speed decides where it is read, so noise in the speed moves the reading along
    the curve: the variance of the speed counts with the square of the measure's gradient in speed.
    """
    speed, other = curves(sweeps.x, sweeps.speed), curves(sweeps.x, measure)
    position = speed.crossing(log_speed)
    gradient = _gradient(other, speed, position)
    runs = other.variance_at(position, variance)
    runs = runs + gradient**2 * speed.variance_at(position, sweeps.speed_variance)

    mean_speed, mean_measure = sweeps.mean(sweeps.speed), sweeps.mean(measure)
    own_speed, own_measure = curves(sweeps.x, mean_speed), curves(sweeps.x, mean_measure)
    at = own_speed.crossing(log_speed)
    slope = _gradient(own_measure, own_speed, at)
    between = spread(sweeps.x, mean_measure).at(at) ** 2
    between = between + (slope * spread(sweeps.x, mean_speed).at(at)) ** 2

    all_speed = curves(sweeps.x, sweeps.grand_mean(sweeps.speed))
    all_measure = curves(sweeps.x, sweeps.grand_mean(measure))
    level = log_speed if np.ndim(log_speed) == 1 else _mean(np.asarray(log_speed, dtype=float))
    values = other.at(position)
    # Where the mean curve is too short for any error to be told, neither is the value.
    seen = np.isfinite(values) & np.isfinite(between)
    return Reading(
        values=np.where(seen, values, np.nan),
        run_variance=np.where(seen, runs, np.nan),
        curve_variance=np.where(seen, between, np.nan),
        position=position,
        gradient=_gradient(all_measure, all_speed, all_speed.crossing(level)),
    )


def _gradient(measure: Curves, speed: Curves, position: Array) -> Array:
    """Change of the measure a unit change of log speed, along the curve."""
    with np.errstate(divide="ignore", invalid="ignore"):
        gradient = measure.slope_at(position) / speed.slope_at(position)
    return np.where(np.isfinite(gradient), gradient, 0.0)
