"""Critical values for a whole sweep of comparisons, when the noise is known from few sessions.

A difference at one set point carries two kinds of noise: the part that a session shares over
all its set points, known from few degrees of freedom, and the part of each set point, known from
more. No single t distribution describes their sum. The critical value used here is the quantile
of the largest |difference / standard error| over the set points when both variances are given
their fiducial distributions (mean square times degrees of freedom over chi-square), which is the
Behrens-Fisher way of adding the two [1]_. Its true error rate depends on the ratio of the two
variances, which nobody knows, and lies below the nominal one for middling ratios. In the manner
of Welch [2]_ the nominal level is therefore raised where few sessions happen to agree well, just
so far that the error rate stays at the declared one in the least favourable ratio.

References
----------
.. [1] R. A. Fisher, "The fiducial argument in statistical inference", Annals of Eugenics 6
   (1935), 391-398. From memory.
.. [2] B. L. Welch, "The generalization of Student's problem when several different population
   variances are involved", Biometrika 34 (1947), 28-35. From memory.
"""

from __future__ import annotations

from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import chdtri, fdtri, gammaincinv, ndtr, stdtrit

Array = NDArray[np.float64]

# The tables' axes: log mean-square ratio, log share, and log critical value.
_LOG_RATIO = np.linspace(-4.0, 9.0, 27)
_LOG_SHARE = np.linspace(0.0, np.log(250.0), 6)
_LOG_VALUE = np.concatenate([np.linspace(0.1, 1.7, 27), np.linspace(1.8, 7.0, 18)])
_LEVEL_RISE = np.array([0.85, 1.0, 1.15, 1.4, 1.7, 2.1, 2.7, 3.6, 5.0])


def _unit_nodes(n: int) -> tuple[Array, Array]:
    x, w = np.polynomial.legendre.leggauss(n)
    return (x + 1) / 2, w / 2


def _factor_nodes(n: int) -> tuple[Array, Array]:
    """Half of the Gauss-Hermite nodes of a standard normal; the integrand is even."""
    z, w = np.polynomial.hermite_e.hermegauss(2 * n)
    return z[n:], 2 * w[n:] / w.sum()


def _inside(limit: Array, loading: Array, nodes: Array) -> Array:
    """P(|N + loading z| < limit) for each z of the last axis; N standard normal."""
    shift = loading * nodes
    return np.asarray(ndtr(limit - shift) - ndtr(-limit - shift))


class CriticalValues:
    """Critical values of max |difference| / standard error over the set points of a sweep.

    Parameters
    ----------
    shared_df, specific_df : float
        Degrees of freedom of the mean square between sessions and of the one of set points
        within sessions. [1]
    set_points : int
        Comparisons in the family.
    confidence : float
        0 to 1.

    Notes
    -----
    Both arguments of a look-up are dimensionless. `ratio` is the mean square between sessions
    over the one within (their F). `share` is the noise of one set point alone, times the sum
    over all set points of one over that noise: the number of set points when all are alike.
    """

    def __init__(
        self, shared_df: float, specific_df: float, set_points: int, confidence: float
    ) -> None:
        self.shared_df, self.specific_df = shared_df, specific_df
        self.set_points, self.confidence = set_points, confidence

    @cached_property
    def _tails(self) -> Array:
        """log fiducial tail, shape (family size, ratio, share, value)."""
        u, wu = _unit_nodes(20)
        chi_shared = chdtri(self.shared_df, 1 - u**2) / self.shared_df  # dense at small values
        v, wv = _unit_nodes(4)
        chi_specific = chdtri(self.specific_df, 1 - v) / self.specific_df
        z, wz = _factor_nodes(7)
        ratio = np.exp(_LOG_RATIO)[:, None, None, None, None]
        share = np.exp(_LOG_SHARE)[:, None, None, None]
        kappa = 1 / chi_specific
        shared = np.maximum(ratio / chi_shared[:, None] - kappa, 0.0)
        own = share * kappa
        estimate = np.maximum(ratio - 1, 0.0) + share
        limit = np.sqrt(estimate / own) * np.exp(_LOG_VALUE)[:, None, None]
        inside = _inside(limit[..., None], np.sqrt(shared / own)[..., None], z)
        weights = (2 * u * wu)[:, None, None] * wv[:, None] * wz
        tails = np.empty((self.set_points, len(_LOG_RATIO), len(_LOG_SHARE), len(_LOG_VALUE)))
        power = np.ones_like(inside)
        for k in range(self.set_points):
            power = power * inside
            tails[k] = 1 - np.einsum("fhcabz,abz->fhc", power, weights)
        return np.log(np.maximum(tails, 1e-14))

    def _solve(self, family: int, log_level: Array) -> Array:
        """log critical value at each (ratio, share), for log levels of the same shape."""
        tails = self._tails[family - 1]
        out = np.empty(tails.shape[:2])
        for i, j in np.ndindex(*out.shape):
            out[i, j] = np.interp(-log_level[i, j], -tails[i, j], _LOG_VALUE)
        return out

    def _rising_level(self, rise: float) -> Array:
        """Nominal log level over (ratio, share): raised where the sessions agree well."""
        level = 1 - self.confidence
        ratio, share = np.exp(_LOG_RATIO)[:, None], np.exp(_LOG_SHARE)
        return np.asarray(np.log(level * (1 + (rise - 1) / (1 + 4 * ratio / share))))

    def _error_rates(self, values: Array, share: int) -> Array:
        """Error rate of the whole family at one share, for true ratios from 1 upwards."""
        h = np.exp(_LOG_SHARE[share])
        theta = np.exp(np.linspace(0.0, 8.0, 17))
        x, wx = _unit_nodes(24)
        u, wu = x * x * (3 - 2 * x), wx * 6 * x * (1 - x)  # dense at both ends
        ratio = fdtri(self.shared_df, self.specific_df, u) * theta[:, None]
        v, wv = _unit_nodes(5)
        # Given the observed ratio, the mean square within sessions is a gamma variate.
        df_both = self.shared_df + self.specific_df
        rate = (self.specific_df + self.shared_df * ratio / theta[:, None]) / 2
        within = gammaincinv(df_both / 2, v) / rate[..., None]
        estimate = within * (np.maximum(ratio - 1, 0.0) + h)[..., None]
        truth = (theta - 1 + h)[:, None, None]
        value = np.exp(np.interp(np.log(ratio), _LOG_RATIO, values))
        limit = value[..., None] * np.sqrt(estimate / h)
        loading = np.sqrt((truth - h) / h)
        z, wz = _factor_nodes(7)
        inside = _inside(limit[..., None], loading[..., None], z) ** self.set_points
        return np.asarray(1 - np.einsum("tuvz,u,v,z->t", inside, wu, wv, wz))

    @cached_property
    def _rise(self) -> Array:
        """Level rise at each share that keeps the worst error rate at the declared level."""
        level = 1 - self.confidence
        candidates = [self._solve(self.set_points, self._rising_level(r)) for r in _LEVEL_RISE]
        out = np.ones(len(_LOG_SHARE))
        for j in range(len(_LOG_SHARE)):
            worst = np.array([self._error_rates(c[:, j], j).max() for c in candidates])
            out[j] = np.interp(level, np.maximum.accumulate(worst), _LEVEL_RISE)
        return out

    @cached_property
    def _table(self) -> Array:
        """log critical values, shape (family size, ratio, share)."""
        levels = np.stack([self._rising_level(r)[:, j] for j, r in enumerate(self._rise)], axis=1)
        return np.stack([self._solve(k, levels) for k in range(1, self.set_points + 1)])

    def values(self, ratio: ArrayLike, share: ArrayLike, family: ArrayLike | None = None) -> Array:
        """Critical values.

        Parameters
        ----------
        ratio, share : array_like
            As in the class notes; broadcast against each other. [1]
        family : array_like of int, optional
            Comparisons still in the family; all of them when not given.

        Returns
        -------
        ndarray
            Multipliers of the standard error. [1]
        """
        log_ratio = np.log(np.clip(ratio, 1e-12, None))
        x = _position(log_ratio, _LOG_RATIO)
        y = _position(np.log(np.clip(share, 1e-12, None)), _LOG_SHARE)
        k = np.asarray(self.set_points if family is None else family, dtype=int) - 1
        k, x, y = np.broadcast_arrays(k, x, y)
        i = np.minimum(x.astype(int), len(_LOG_RATIO) - 2)
        j = np.minimum(y.astype(int), len(_LOG_SHARE) - 2)
        a, b = x - i, y - j
        t = self._table
        low = t[k, i, j] * (1 - a) + t[k, i + 1, j] * a
        high = t[k, i, j + 1] * (1 - a) + t[k, i + 1, j + 1] * a
        return np.exp(low * (1 - b) + high * b)

    def tail(self, value: ArrayLike, ratio: ArrayLike, share: ArrayLike, sides: int = 2) -> Array:
        """Fiducial p-value of one difference by itself, of `sides` sides.

        Parameters
        ----------
        value : array_like
            |difference| / standard error; signed when one-sided. [1]
        ratio, share : array_like
            As in the class notes. [1]
        """
        value, ratio, share = np.broadcast_arrays(
            np.asarray(value, float), np.asarray(ratio, float), np.asarray(share, float)
        )
        u, wu = _unit_nodes(40)
        chi_shared = chdtri(self.shared_df, 1 - u**2) / self.shared_df
        v, wv = _unit_nodes(8)
        kappa = self.specific_df / chdtri(self.specific_df, 1 - v)
        f, h = ratio[..., None, None], share[..., None, None]
        shared = np.maximum(f / chi_shared[:, None] - kappa, 0.0)
        scale = np.sqrt((np.maximum(f - 1, 0.0) + h) / (shared + h * kappa))
        outside = sides * ndtr(-value[..., None, None] * scale)
        return np.asarray(np.einsum("...ab,a,b->...", outside, 2 * u * wu, wv))


class StudentValues:
    """The same look-ups where all the noise is of one kind: a single set point.

    Parameters
    ----------
    df : float
        Degrees of freedom. [1]
    set_points : int
        Comparisons in the family (Bonferroni; one in all ordinary use).
    confidence : float
        0 to 1.
    """

    def __init__(self, df: float, set_points: int, confidence: float) -> None:
        self.df, self.set_points, self.confidence = df, set_points, confidence

    def values(self, ratio: ArrayLike, share: ArrayLike, family: ArrayLike | None = None) -> Array:
        """Student's t quantile for each element of the broadcast arguments. [1]"""
        shape = np.broadcast(np.asarray(ratio), np.asarray(share))
        k = np.asarray(self.set_points if family is None else family, dtype=float)
        quantile = stdtrit(self.df, 1 - (1 - self.confidence) / (2 * k))
        return np.broadcast_to(np.asarray(quantile, dtype=float), shape.shape).copy()

    def tail(self, value: ArrayLike, ratio: ArrayLike, share: ArrayLike, sides: int = 2) -> Array:
        """p-value of one difference by itself, of `sides` sides. [1]"""
        from scipy.special import stdtr

        return np.asarray(sides * stdtr(self.df, -np.asarray(value, dtype=float)))


def _position(x: Array, axis: Array) -> Array:
    """Fractional index of x on an evenly spaced axis, held at its ends."""
    step = (axis[-1] - axis[0]) / (len(axis) - 1)
    return np.asarray(np.clip((x - axis[0]) / step, 0, len(axis) - 1))


@lru_cache(maxsize=64)
def critical_values(
    shared_df: float, specific_df: float, set_points: int, confidence: float
) -> CriticalValues | StudentValues:
    """The look-up for one design; tables are made once and kept.

    Parameters
    ----------
    shared_df, specific_df : float
        Degrees of freedom between sessions, and of set points within sessions; zero of the
        latter means that there is one set point only. [1]
    set_points : int
        Comparisons in the family.
    confidence : float
        0 to 1.
    """
    if specific_df <= 0:
        return StudentValues(shared_df, set_points, confidence)
    return CriticalValues(shared_df, specific_df, set_points, confidence)
