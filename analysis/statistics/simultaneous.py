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
   (1935), 391-398, for the idea.
.. [2] B. L. Welch, "The generalization of Student's problem when several different population
   variances are involved", Biometrika 34 (1947), 28-35, for the idea. What comes of both is shown in
   tests/calibration.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import chdtri, fdtri, gammaincinv, ndtri, stdtr, stdtrit

from slackwater.analysis.statistics.largest import Sides, Spot, position, unit_nodes

Array = NDArray[np.float64]

# The tables' axes: log mean-square ratio, log share, and log critical value.
_LOG_RATIO = np.linspace(-4.0, 9.0, 27)
_LOG_SHARE = np.linspace(0.0, 1.4 * np.log(250.0), 8)
_LOG_VALUE = np.concatenate(
    [np.linspace(-2.4, 0.0, 10), np.linspace(0.1, 1.7, 24), np.linspace(1.8, 10.0, 20)]
)
_LEVEL_RISE = np.array([1.0, 1.15, 1.4, 1.8, 2.5, 4.0])
LEAST_P = 1e-12  # smaller ones are not told apart


@lru_cache(maxsize=256)
def crowded_nodes(df: float, n: int) -> tuple[Array, Array]:
    """Nodes and weights of a mean square that crowd near zero."""
    u, w = unit_nodes(n)
    return np.asarray(chdtri(df, 1 - u**2) / df, dtype=float), 2 * u * w


@lru_cache(maxsize=256)
def _mean_square_nodes(df: float, n: int) -> tuple[Array, Array]:
    """Nodes and weights of a mean square: a chi-square variate over its degrees of freedom.

    What is integrated grows like one over the mean square. With few degrees of freedom that is
    too wild near zero for Gauss nodes (Golub and Welsch), and nodes crowd there instead.
    """
    if df <= 5:
        return crowded_nodes(df, 4 * n)
    i, a = np.arange(n), df / 2 - 1
    off = np.sqrt(i[1:] * (i[1:] + a))
    nodes, vectors = np.linalg.eigh(np.diag(2 * i + 1 + a) + np.diag(off, 1) + np.diag(off, -1))
    return 2 * nodes / df, vectors[0] ** 2


@lru_cache(maxsize=600)
def _spot(shared_df: float, specific_df: float, at_ratio: int, at_share: int) -> tuple[Spot, Array]:
    """Where fiducial tails are read at one node, shape (value, nodes), and their weights."""
    between, wu = crowded_nodes(shared_df, 20)
    square, wv = _mean_square_nodes(specific_df, 4)
    kappa = 1 / square
    ratio, share = float(np.exp(_LOG_RATIO[at_ratio])), float(np.exp(_LOG_SHARE[at_share]))
    own = share * kappa
    whole = np.maximum(ratio / between[:, None] - kappa, 0.0) + own
    scale = np.sqrt((max(ratio - 1, 0.0) + share) / whole)
    bound = np.exp(_LOG_VALUE)[:, None, None] * scale
    return Spot(bound, np.sqrt(own / whole)), wu[:, None] * wv


@lru_cache(maxsize=20_000)
def _tails(
    shared_df: float, specific_df: float, family: int, sides: Sides, at_ratio: int, at_share: int
) -> Array:
    """log fiducial tail of the largest of a family at one node, shape (value,)."""
    spot, weights = _spot(shared_df, specific_df, at_ratio, at_share)
    return np.asarray(np.log(np.einsum("cab,ab->c", spot.tail(family, sides), weights)))


@lru_cache(maxsize=32)
def _levels(level: float) -> tuple[Array, int]:
    """p-values from 0.999 down to the least that tables are made for, and where the level is."""
    above = np.log(np.array([0.999, *np.linspace(0.98, level, 24)]))
    below = np.linspace(np.log(level), np.log(LEAST_P), 40)[1:]
    return np.concatenate([above, below]), len(above) - 1


def _raised(at: tuple[int, int], rise: float | Array) -> Array:
    """What a level is multiplied with at one node: all of a rise where sessions agree well."""
    ratio, share = np.exp(_LOG_RATIO[at[0]]), np.exp(_LOG_SHARE[at[1]])
    return np.asarray(1 + (rise - 1) / (1 + 4 * ratio / share))


class CriticalValues:
    """Critical values of max difference / standard error over the set points of a sweep.

    Parameters
    ----------
    shared_df, specific_df : float
        Degrees of freedom of the mean square between sessions and of the one of set points
        within sessions. [1]
    set_points : int
        Comparisons in the family.
    confidence : float
        0 to 1.
    sides : "both", "one" or "margins"
        What counts as large, see `largest`.

    Notes
    -----
    Both arguments of a look-up are dimensionless. `ratio` is the mean square between sessions
    over the one within (their F). `share` is the noise of one set point alone, times the sum
    over all set points of one over that noise: the number of set points when all are alike.

    Critical values are read from tables of log values over (ratio, share) at many levels, the
    declared one among them; p-values are read from the same tables the other way round. So a
    p-value is at most the declared level exactly where the critical value is reached.

    The quadratures are good for confidences up to 99.9 %.
    """

    def __init__(
        self,
        shared_df: float,
        specific_df: float,
        set_points: int,
        confidence: float,
        sides: Sides = "both",
    ) -> None:
        self.shared_df, self.specific_df = shared_df, specific_df
        self.set_points, self.confidence, self.sides = set_points, confidence, sides
        self._made: dict[int, tuple[Array, NDArray[np.bool_]]] = {}

    def _solve(self, family: int, at: tuple[int, int], rise: float, log_levels: Array) -> Array:
        """log critical values at one node, shape (level,), at a level rise."""
        tails = _tails(self.shared_df, self.specific_df, family, self.sides, *at)
        nominal = self._nominal(at, rise, log_levels)
        return np.asarray(np.interp(-nominal, -tails, _LOG_VALUE))

    def _nominal(self, at: tuple[int, int], rise: float, log_levels: Array) -> Array:
        """Nominal log levels, shape (level,): raised where sessions agree well.

        Raised by one factor at the declared level and below; above it the rise runs out, so that
        a p-value of one stays one.
        """
        level = 1 - self.confidence
        factor = _raised(at, rise)
        p = np.exp(log_levels)
        above = 1 - (1 - p) * max(1 - level * factor, 1e-6) / (1 - level)
        return np.asarray(np.log(np.where(p > level * (1 + 1e-12), above, p * factor)))

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
        x, wx = unit_nodes(24)
        u, wu = x * x * (3 - 2 * x), wx * 6 * x * (1 - x)  # dense at both ends
        ratio = fdtri(self.shared_df, self.specific_df, u) * theta[:, None]
        v, wv = unit_nodes(8)
        # Given the observed ratio, the mean square within sessions is a gamma variate.
        df_both = self.shared_df + self.specific_df
        rate = (self.specific_df + self.shared_df * ratio / theta[:, None]) / 2
        within = gammaincinv(df_both / 2, v) / rate[..., None]
        estimate = within * (np.maximum(ratio - 1, 0.0) + h)[..., None]
        truth = (theta - 1 + h)[:, None, None]
        value = np.exp(np.interp(np.log(ratio), _LOG_RATIO, values))
        spot = Spot(value[..., None] * np.sqrt(estimate / truth), np.sqrt(h / truth))
        return np.asarray(np.einsum("tuv,u,v->t", spot.tail(self.set_points, self.sides), wu, wv))

    @lru_cache(maxsize=128)  # noqa: B019 - instances are few and kept by `critical_values`
    def _rise(self, share: int) -> float:
        """Level rise at one share that keeps the worst error rate at the declared level."""
        level = 1 - self.confidence
        values = []  # log critical values, shape (ratio, rise)
        for i in range(len(_LOG_RATIO)):
            tails = _tails(self.shared_df, self.specific_df, self.set_points, self.sides, i, share)
            nominal = np.log(level * _raised((i, share), _LEVEL_RISE))
            values.append(np.interp(-nominal, -tails, _LOG_VALUE))
        worst = [self._error_rates(each, share).max() for each in np.transpose(values)]
        # The quadratures are good for half a per cent of the level.
        return float(np.interp(level * 1.005, np.maximum.accumulate(worst), _LEVEL_RISE))

    def _table(self, family: int, wanted: NDArray[np.bool_]) -> Array:
        """log critical values, shape (ratio, share, level), made at the nodes that are wanted."""
        log_levels, _ = _levels(1 - self.confidence)
        if family not in self._made:
            shape = (len(_LOG_RATIO), len(_LOG_SHARE))
            self._made[family] = np.zeros((*shape, len(log_levels))), np.zeros(shape, dtype=bool)
        table, done = self._made[family]
        for i, j in np.argwhere(wanted & ~done).tolist():
            table[i, j] = self._solve(family, (i, j), self._rise(j), log_levels)
            done[i, j] = True
        return table

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
        read = self._reader(ratio, share, family)
        return np.asarray(np.exp(read(_levels(1 - self.confidence)[1])))

    def p_values(
        self, value: ArrayLike, ratio: ArrayLike, share: ArrayLike, family: ArrayLike | None = None
    ) -> Array:
        """p-values of a whole family, were this its largest: `values` the other way round.

        Parameters
        ----------
        value : array_like
            Difference / standard error, on the side that counts as large. [1]
        ratio, share, family : array_like
            As in `values`. [1]
        """
        shape = np.broadcast_shapes(*map(np.shape, (value, ratio, share)))
        size = np.broadcast_to(np.asarray(value, dtype=float), shape)
        log_size = np.log(np.maximum(np.nan_to_num(size), 1e-300))
        read = self._reader(np.broadcast_to(ratio, shape), share, family)
        log_levels, _ = _levels(1 - self.confidence)
        low = np.zeros(shape, dtype=np.intp)
        high = np.full(shape, len(log_levels) - 1)
        while (high - low > 1).any():  # the rows rise: halve until the step is found
            middle = (low + high) // 2
            reached = read(middle) <= log_size
            low, high = np.where(reached, middle, low), np.where(reached, high, middle)
        at_low, at_high = read(low), read(high)
        part = np.clip((log_size - at_low) / np.maximum(at_high - at_low, 1e-12), 0.0, 1.0)
        p = np.exp(log_levels[low] * (1 - part) + log_levels[high] * part)
        return np.asarray(np.where(log_size < read(np.zeros(shape, dtype=np.intp)), 1.0, p))

    def _reader(self, ratio: ArrayLike, share: ArrayLike, family: ArrayLike | None) -> _Reader:
        k = np.asarray(self.set_points if family is None else family, dtype=int)
        return _Reader(self._table, ratio, share, k)


class _Reader:
    """Reads tables of log critical values, bilinear in log ratio and log share."""

    def __init__(
        self,
        table: Callable[[int, NDArray[np.bool_]], Array],
        ratio: ArrayLike,
        share: ArrayLike,
        family: ArrayLike,
    ) -> None:
        x = position(np.log(np.clip(ratio, 1e-12, None)), _LOG_RATIO)
        y = position(np.log(np.clip(share, 1e-12, None)), _LOG_SHARE)
        k, x, y = np.broadcast_arrays(np.asarray(family, dtype=int), x, y)
        i = np.minimum(np.nan_to_num(x).astype(np.intp), len(_LOG_RATIO) - 2)
        j = np.minimum(np.nan_to_num(y).astype(np.intp), len(_LOG_SHARE) - 2)
        sizes = np.unique(k)
        number = np.searchsorted(sizes, k)
        wanted = np.zeros((len(sizes), len(_LOG_RATIO), len(_LOG_SHARE)), dtype=bool)
        for di, dj in ((0, 0), (1, 0), (0, 1), (1, 1)):
            wanted[number, i + di, j + dj] = True
        tables = [table(int(size), wanted[n]) for n, size in enumerate(sizes)]
        self.flat = np.stack(tables)
        self.levels = self.flat.shape[-1]
        self.across = len(_LOG_SHARE) * self.levels
        start = number * len(_LOG_RATIO) + i
        self.start = start * self.across + j * self.levels
        self.flat = self.flat.ravel()
        self.a, self.b = x - i, y - j

    def __call__(self, level: int | NDArray[np.intp]) -> Array:
        """log critical values at one level, or at one for each element."""
        at = self.start + level
        low = self.flat[at] * (1 - self.a) + self.flat[at + self.across] * self.a
        at = at + self.levels
        high = self.flat[at] * (1 - self.a) + self.flat[at + self.across] * self.a
        return np.asarray(low * (1 - self.b) + high * self.b)


class StudentValues:
    """Half-widths and p-values where all the noise is of one kind: a single set point.

    Parameters
    ----------
    df : float or ndarray
        Degrees of freedom. [1]
    set_points : int
        Comparisons in the family (Bonferroni; one in all ordinary use).
    confidence : float
        0 to 1.
    sides : "both", "one" or "margins"
    """

    def __init__(
        self, df: float | Array, set_points: int, confidence: float, sides: Sides = "both"
    ) -> None:
        self.df, self.set_points, self.confidence, self.sides = df, set_points, confidence, sides

    def _each(self, level: ArrayLike, family: ArrayLike | None) -> Array:
        """What one tail of one comparison may take of a level of the whole family."""
        k = np.asarray(self.set_points if family is None else family, dtype=float)
        return np.asarray(np.asarray(level) / k / (2 if self.sides == "both" else 1))

    def values(self, ratio: ArrayLike, share: ArrayLike, family: ArrayLike | None = None) -> Array:
        """Student's t quantile for each element of the broadcast arguments. [1]"""
        shape = np.broadcast_shapes(np.shape(ratio), np.shape(share))
        quantile = -stdtrit(self.df, self._each(1 - self.confidence, family))
        return np.broadcast_to(np.asarray(quantile, dtype=float), shape).copy()

    def half_widths(
        self, error: ArrayLike, known: ArrayLike, family: ArrayLike | None, level: ArrayLike
    ) -> Array:
        """Half-widths with a known standard uncertainty joined in quadrature, expanded.

        Parameters
        ----------
        error, known : array_like
            Standard error from the sessions, and the one that is known.
        level : array_like
            1 less the confidence.
        """
        each = self._each(level, family)
        return np.asarray(np.hypot(stdtrit(self.df, each) * error, ndtri(each) * known))

    def p_values(
        self, distance: ArrayLike, error: ArrayLike, known: ArrayLike, family: ArrayLike | None
    ) -> Array:
        """p-values whose half-widths are just the distances. [1]"""
        distance, error = np.asarray(distance, dtype=float), np.asarray(error, dtype=float)
        factor = self._each(1.0, family)
        with np.errstate(invalid="ignore", divide="ignore"):
            alone = stdtr(self.df, -distance / error) / factor
        if not np.any(known):
            return np.asarray(np.clip(alone, 0.0, 1.0))
        low, high = np.full(distance.shape, np.log(1e-300)), np.zeros(distance.shape)
        for _ in range(70):
            middle = (low + high) / 2
            wide = self.half_widths(error, known, family, np.exp(middle)) > distance
            low, high = np.where(wide, middle, low), np.where(wide, high, middle)
        return np.asarray(np.where(distance > 0, np.exp(high), 1.0))


@lru_cache(maxsize=64)
def critical_values(
    shared_df: float,
    specific_df: float,
    set_points: int,
    confidence: float,
    sides: Sides = "both",
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
    sides : "both", "one" or "margins"
    """
    if specific_df <= 0:
        return StudentValues(shared_df, set_points, confidence, sides)
    return CriticalValues(shared_df, specific_df, set_points, confidence, sides)
