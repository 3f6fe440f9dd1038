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
from scipy.special import chdtri, fdtri, gammaincinv, ndtr, stdtr, stdtrit

Array = NDArray[np.float64]

# The tables' axes: log mean-square ratio, log share, and log critical value.
_LOG_RATIO = np.linspace(-4.0, 9.0, 27)
_LOG_SHARE = np.linspace(0.0, np.log(250.0), 6)
_LOG_VALUE = np.concatenate([np.linspace(0.1, 1.7, 24), np.linspace(1.8, 10.0, 20)])
_LEVEL_RISE = np.array([1.0, 1.15, 1.4, 1.8, 2.5, 4.0])

# The axes of `_largest`: bound in standard deviations, and the part of the noise not shared.
_BOUND = np.linspace(0.0, 9.0, 91)
_OWN = np.linspace(0.0, 1.0, 21)


@lru_cache(maxsize=16)
def _unit_nodes(n: int) -> tuple[Array, Array]:
    x, w = np.polynomial.legendre.leggauss(n)
    return np.asarray((x + 1) / 2, dtype=float), np.asarray(w / 2, dtype=float)


def _crowded_nodes(df: float, n: int) -> tuple[Array, Array]:
    """Nodes and weights of a mean square that crowd near zero."""
    u, w = _unit_nodes(n)
    return np.asarray(chdtri(df, 1 - u**2) / df, dtype=float), 2 * u * w


def _mean_square_nodes(df: float, n: int) -> tuple[Array, Array]:
    """Nodes and weights of a mean square: a chi-square variate over its degrees of freedom.

    What is integrated grows like one over the mean square. With few degrees of freedom that is
    too wild near zero for Gauss nodes (Golub and Welsch), and nodes crowd there instead.
    """
    if df <= 5:
        return _crowded_nodes(df, 4 * n)
    i, a = np.arange(n), df / 2 - 1
    off = np.sqrt(i[1:] * (i[1:] + a))
    nodes, vectors = np.linalg.eigh(np.diag(2 * i + 1 + a) + np.diag(off, 1) + np.diag(off, -1))
    return 2 * nodes / df, vectors[0] ** 2


@lru_cache(maxsize=1)
def _inside_given_shared() -> tuple[Array, Array]:
    """P(one deviate within its bound | shared part), shape (bound, own, node), and weights."""
    u, w = _unit_nodes(200)
    z = 6.0 * u
    weights = 12.0 * w * np.exp(-z * z / 2) / np.sqrt(2 * np.pi)  # both signs
    own = np.maximum(_OWN, 1e-3)[:, None]
    shift = np.sqrt(1 - own**2) * z
    bound = _BOUND[:, None, None]
    return ndtr((bound - shift) / own) - ndtr((-bound - shift) / own), weights / weights.sum()


@lru_cache(maxsize=256)
def _largest(k: int) -> Array:
    """log P(largest of k equally correlated |deviates| > bound), shape (bound, own)."""
    inside, weights = _inside_given_shared()
    tail = 1 - (inside**k) @ weights
    tail[:, 0] = 2 * ndtr(-_BOUND)  # all of the noise shared: one deviate
    return np.log(np.maximum(tail, 1e-16))


class _Spot:
    """Where to read `_largest`: bilinear, for bounds and own parts of any shape."""

    def __init__(self, bound: Array, own: Array) -> None:
        bound, own = np.broadcast_arrays(bound, own)
        x, y = _position(bound, _BOUND), _position(own, _OWN)
        i = np.minimum(x.astype(np.intp), len(_BOUND) - 2)
        j = np.minimum(y.astype(np.intp), len(_OWN) - 2)
        self.at = i * len(_OWN) + j
        self.a, self.b = x - i, y - j

    def tail(self, k: int) -> Array:
        """P(largest of k > bound)."""
        flat = _largest(k).ravel()
        n = len(_OWN)
        low = flat[self.at] * (1 - self.b) + flat[self.at + 1] * self.b
        high = flat[self.at + n] * (1 - self.b) + flat[self.at + n + 1] * self.b
        return np.asarray(np.exp(low + (high - low) * self.a))


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

    The quadratures are good for confidences up to 99.9 %.
    """

    def __init__(
        self, shared_df: float, specific_df: float, set_points: int, confidence: float
    ) -> None:
        self.shared_df, self.specific_df = shared_df, specific_df
        self.set_points, self.confidence = set_points, confidence

    @cached_property
    def _spots(self) -> tuple[_Spot, Array]:
        """Where fiducial tails are read, shape (ratio, share, value, nodes), and their weights."""
        between, wu = _crowded_nodes(self.shared_df, 20)
        square, wv = _mean_square_nodes(self.specific_df, 4)
        kappa = 1 / square
        ratio, share = np.exp(_LOG_RATIO), np.exp(_LOG_SHARE)
        shared = np.maximum(ratio[:, None, None] / between[:, None] - kappa, 0.0)
        own = (share[:, None] * kappa)[None, :, None, :]
        whole = shared[:, None] + own
        estimate = np.maximum(ratio[:, None] - 1, 0.0) + share
        scale = np.sqrt(estimate[..., None, None] / whole)
        bound = np.exp(_LOG_VALUE)[:, None, None] * scale[:, :, None]
        weights = wu[:, None] * wv
        return _Spot(bound, np.sqrt(own / whole)[:, :, None]), weights

    @lru_cache(maxsize=128)  # noqa: B019 - instances are few and kept by `critical_values`
    def _tails(self, family: int) -> Array:
        """log fiducial tail of the largest of a family, shape (ratio, share, value)."""
        spot, weights = self._spots
        return np.asarray(np.log(np.einsum("fhcab,ab->fhc", spot.tail(family), weights)))

    @lru_cache(maxsize=128)  # noqa: B019
    def _solve(self, family: int, rise: tuple[float, ...]) -> Array:
        """log critical values, shape (ratio, share), at a level rise for each share."""
        tails = self._tails(family)
        levels = self._rising_level(np.array(rise))
        out = np.empty(tails.shape[:2])
        for i, j in np.ndindex(*out.shape):
            out[i, j] = np.interp(-levels[i, j], -tails[i, j], _LOG_VALUE)
        return out

    def _rising_level(self, rise: Array) -> Array:
        """Nominal log level over (ratio, share): raised where the sessions agree well."""
        level = 1 - self.confidence
        ratio, share = np.exp(_LOG_RATIO)[:, None], np.exp(_LOG_SHARE)
        return np.asarray(np.log(level * (1 + (rise - 1) / (1 + 4 * ratio / share))))

    def _error_rates(self, values: Array, share: int) -> Array:
        """Error rate of the whole family at one share, for true ratios from 1 upwards.

        Parameters
        ----------
        values : ndarray, shape (ratio,)
            log critical values that are used.
        share : int
            Index on the axis of shares.
        """
        h = np.exp(_LOG_SHARE[share])
        theta = np.exp(np.linspace(0.0, 8.0, 17))
        x, wx = _unit_nodes(24)
        u, wu = x * x * (3 - 2 * x), wx * 6 * x * (1 - x)  # dense at both ends
        ratio = fdtri(self.shared_df, self.specific_df, u) * theta[:, None]
        v, wv = _unit_nodes(8)
        # Given the observed ratio, the mean square within sessions is a gamma variate.
        df_both = self.shared_df + self.specific_df
        rate = (self.specific_df + self.shared_df * ratio / theta[:, None]) / 2
        within = gammaincinv(df_both / 2, v) / rate[..., None]
        estimate = within * (np.maximum(ratio - 1, 0.0) + h)[..., None]
        truth = (theta - 1 + h)[:, None, None]
        value = np.exp(np.interp(np.log(ratio), _LOG_RATIO, values))
        spot = _Spot(value[..., None] * np.sqrt(estimate / truth), np.sqrt(h / truth))
        return np.asarray(np.einsum("tuv,u,v->t", spot.tail(self.set_points), wu, wv))

    @cached_property
    def _rise(self) -> tuple[float, ...]:
        """Level rise at each share that keeps the worst error rate at the declared level."""
        level = (1 - self.confidence) * 1.005  # what the quadratures are good for
        shares = len(_LOG_SHARE)
        tried = [self._solve(self.set_points, (float(rise),) * shares) for rise in _LEVEL_RISE]
        out = []
        for j in range(shares):
            worst = np.array([self._error_rates(values[:, j], j).max() for values in tried])
            out.append(float(np.interp(level, np.maximum.accumulate(worst), _LEVEL_RISE)))
        return tuple(out)

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
        k = np.asarray(self.set_points if family is None else family, dtype=int)
        k, x, y = np.broadcast_arrays(k, x, y)
        i = np.minimum(x.astype(int), len(_LOG_RATIO) - 2)
        j = np.minimum(y.astype(int), len(_LOG_SHARE) - 2)
        a, b = x - i, y - j
        sizes = np.unique(k)
        t = np.stack([self._solve(int(size), self._rise) for size in sizes])
        k = np.searchsorted(sizes, k)
        low = t[k, i, j] * (1 - a) + t[k, i + 1, j] * a
        high = t[k, i, j + 1] * (1 - a) + t[k, i + 1, j + 1] * a
        return np.asarray(np.exp(low * (1 - b) + high * b))

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
        between, wu = _crowded_nodes(self.shared_df, 40)
        square, wv = _mean_square_nodes(self.specific_df, 8)
        kappa = 1 / square
        f, h = ratio[..., None, None], share[..., None, None]
        shared = np.maximum(f / between[:, None] - kappa, 0.0)
        scale = np.sqrt((np.maximum(f - 1, 0.0) + h) / (shared + h * kappa))
        outside = sides * ndtr(-value[..., None, None] * scale)
        return np.asarray(np.einsum("...ab,a,b->...", outside, wu, wv))


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
