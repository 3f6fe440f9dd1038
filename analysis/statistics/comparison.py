"""Session values to differences: estimate, interval, noise floor.

Every quantity comes through here, whatever it is and wherever on the sweep it stands. The core
works on arrays, so that a trial and ten thousand simulated ones take the same path.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from slackwater.analysis.statistics.contrasts import Contrasts
from slackwater.analysis.statistics.noise import NoiseEstimate, PriorNoise, estimate_noise
from slackwater.analysis.statistics.simultaneous import (
    CriticalValues,
    StudentValues,
    critical_values,
)

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Differences:
    """The comparison of two configurations along a sweep, on the scale of the analysis.

    All arrays have shape (..., set_points); log ratios for quantities compared as ratios,
    differences in the unit of the quantity otherwise.

    Attributes
    ----------
    difference : ndarray
        Modified less baseline; NaN where the sessions cannot give it.
    standard_error : ndarray
        From the noise of the sessions.
    half_width : ndarray
        Half the simultaneous interval.
    floor : ndarray
        Smallest |difference| that would have been told from zero.
    established : ndarray of bool
        |difference| is above the floor.
    df : ndarray
        Effective degrees of freedom. [1]
    family : ndarray of int, shape (...)
        Comparisons that the interval covers together.
    noise : NoiseEstimate
    """

    difference: Array
    standard_error: Array
    half_width: Array
    floor: Array
    established: NDArray[np.bool_]
    df: Array
    family: NDArray[np.int_]
    noise: NoiseEstimate
    confidence: float
    known: Array

    @property
    def low(self) -> Array:
        """Lower simultaneous limit."""
        return self.difference - self.half_width

    @property
    def high(self) -> Array:
        """Upper simultaneous limit."""
        return self.difference + self.half_width

    def scaled(self, factor: Array) -> Differences:
        """The same comparison with each position's scale changed.

        Parameters
        ----------
        factor : ndarray, shape (set_points,)
            What the values were divided by before they were compared. [1]
        """
        noise = replace(
            self.noise,
            specific=self.noise.specific * factor**2,
            runs=self.noise.runs * factor**2,
            loading=factor,
        )
        return replace(
            self,
            difference=self.difference * factor,
            standard_error=self.standard_error * factor,
            half_width=self.half_width * factor,
            floor=self.floor * factor,
            known=self.known * factor**2,
            noise=noise,
        )

    def p_values(self) -> Array:
        """Two-sided p-values, each by itself, against no difference. [1]"""
        return self._tail(np.abs(self.difference), sides=2)

    def equivalence_p_values(self, low: ArrayLike, high: ArrayLike) -> Array:
        """p-values of equivalence, each by itself: the larger of two one-sided tests. [1]

        Parameters
        ----------
        low, high : array_like, shape (set_points,) or ()
            The worthwhile difference on either side, on the scale of the analysis.
        """
        above = self._tail(self.difference - np.asarray(low), sides=1)
        below = self._tail(np.asarray(high) - self.difference, sides=1)
        return np.maximum(above, below)

    def _tail(self, distance: Array, sides: int) -> Array:
        values = _look_up(self.noise, int(self.family.max(initial=1)), self.confidence)
        error = np.sqrt(self.standard_error**2 + self.known)
        return values.tail(distance / error, self.noise.ratio[..., None], self.noise.share, sides)


def _look_up(
    noise: NoiseEstimate, family: int, confidence: float
) -> CriticalValues | StudentValues:
    return critical_values(noise.shared_df, noise.specific_df, max(family, 1), confidence)


def compare(
    values: Array,
    runs: Array,
    layout: Contrasts,
    *,
    confidence: float = 0.95,
    simultaneous: bool = True,
    prior: PriorNoise | None = None,
    known: ArrayLike = 0.0,
) -> Differences | None:
    """Compare two configurations along a sweep.

    Parameters
    ----------
    values : ndarray, shape (..., sessions, set_points)
        Session values on the scale of the analysis; NaN where missing.
    runs : ndarray, shape (..., set_points)
        Variance of a session value from its runs; 0 where unknown.
    layout : Contrasts
        From `contrasts`, with the same missing values.
    confidence : float
        Of the interval, 0 to 1.
    simultaneous : bool
        One interval statement for all set points together, or one for each by itself.
    prior : PriorNoise, optional
        What earlier trials showed.
    known : array_like, shape (set_points,) or ()
        Variance of a difference from instruments that do not cancel.

    Returns
    -------
    Differences or None
        None where nothing is known of the noise between sessions.

    Notes
    -----
    The interval is single-step: its coverage is joint over the family. The floor is step-down:
    differences already established leave the family before the next are judged [1]_, which keeps
    the chance of any false gain or loss at the same level and finds more. A difference can so be
    established while the interval for its size still touches zero.

    What instruments add is independent of the sessions and known; its expanded uncertainty is
    joined to that of the sessions in quadrature (JCGM 100:2008, section 5.1 and G.4).

    References
    ----------
    .. [1] R. Marcus, E. Peritz, K. R. Gabriel, "On closed testing procedures with special
       reference to ordered analysis of variance", Biometrika 63 (1976), 655-660. From memory.
    """
    noise = estimate_noise(values, runs, layout, prior)
    if noise is None:
        return None
    weights = np.nan_to_num(layout.weights)
    filled = np.where(np.isfinite(values), values, 0.0)
    given = np.isfinite(layout.weights).all(axis=0)
    difference = np.where(given, np.einsum("sp,...sp->...p", weights, filled), np.nan)
    error = np.where(given, np.sqrt(np.nan_to_num(layout.spread) * noise.total), np.nan)

    family = int(given.sum()) if simultaneous else 1
    known_variance = np.asarray(known, dtype=float)
    known_half = ndtri(0.5 + confidence / 2) * np.sqrt(known_variance)
    table = _look_up(noise, family, confidence)

    def half_width(size: NDArray[np.int_]) -> Array:
        values = table.values(noise.ratio[..., None], noise.share, np.maximum(size, 1)[..., None])
        return np.asarray(np.hypot(values * error, known_half))

    left = np.full(difference.shape[:-1], family)
    single_step = half_width(left)
    floor = single_step
    established = np.abs(difference) > floor
    while simultaneous and family > 1:
        fewer = family - established.sum(axis=-1)
        moved = (fewer < left) & (fewer > 0)
        if not moved.any():
            break
        left = np.where(moved, fewer, left)
        floor = np.where(established, floor, half_width(left))
        established = established | (np.abs(difference) > floor)
    return Differences(
        difference=difference,
        standard_error=error,
        half_width=single_step,
        floor=floor,
        established=established,
        df=noise.effective_df(),
        family=np.full(difference.shape[:-1], family),
        noise=noise,
        confidence=confidence,
        known=known_variance,
    )
