"""Differences of several boats, decided as those of one trial are.

A boat takes the place that a session has in a trial: what she showed is one value. Two statements are
made of the same pool, and each is a row of differences with a reach of its own: the mean over boats
like these, and the change of the next boat.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from slackwater.analysis.statistics.decided import Decided
from slackwater.analysis.statistics.largest import Sides
from slackwater.analysis.statistics.multiplicity import Counts, Reach, decide
from slackwater.analysis.statistics.random_effects import Pooled, heterogeneity_at, weighed
from slackwater.analysis.statistics.simultaneous import StudentValues, crowded_nodes

Array = NDArray[np.float64]

#: Fewer boats tell nothing of how much the next one differs.
LEAST_BOATS = 3

# Heterogeneities that the profile of Q is read at.
_NODES = 24
# The reach for the next boat leaves out so much of the error it may: where boats differ about as much
# as their trials err it would otherwise cover 93 to 94 % in place of 95 (tests/calibration/pool_table.py).
_CAUTION = 0.85
_HALVINGS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class PooledDifferences(Decided):
    """Differences of several boats, with the pool that they rest on.

    Attributes
    ----------
    pooled : Pooled
        Shape (..., positions).
    reaches : callable
        How far noise alone reaches, for one side or both.
    """

    pooled: Pooled
    reaches: Callable[[Sides], Reach]

    @property
    def degrees(self) -> Array:
        """Boats less one. [1]"""
        return self.pooled.df

    def _reach(self, sides: Sides) -> Reach:
        return self.reaches(sides)


def mean_of_boats(
    pooled: Pooled, *, confidence: float = 0.95, simultaneous: bool = True
) -> PooledDifferences:
    """The mean change over boats like these, with its decisions.

    Parameters
    ----------
    pooled : Pooled
        Shape (..., positions): estimates of shape (..., positions, boats).
    confidence : float
        0 to 1.
    simultaneous : bool
        One statement for all positions together (Bonferroni, in steps), or one for each by itself.

    Notes
    -----
    The interval is that of the standard error in `Pooled` with Student's t, and never narrower than
    the one that lets the heterogeneity be as uncertain as the profile of Q shows it. With boats
    of unequal precision the first alone covers as little as 93 % in place of 95.
    """
    reaches = _reaches_of_mean(pooled, confidence)
    return _decided(pooled, reaches, pooled.count >= 2, confidence, simultaneous)


def _reaches_of_mean(pooled: Pooled, confidence: float) -> Callable[[Sides], Reach]:
    profile = _Profile.of(pooled, for_next=False)

    def reaches(sides: Sides) -> Reach:
        return _Larger(_Student(pooled, confidence, sides), _ByProfile(profile, confidence, sides))

    return reaches


def next_boat(
    pooled: Pooled, *, confidence: float = 0.95, simultaneous: bool = True
) -> PooledDifferences:
    """The change of the next boat like these, with its decisions.

    Parameters
    ----------
    As `mean_of_boats`.

    Notes
    -----
    The heterogeneity is not taken as known: under each value of it the weighted sum of squares is a
    chi-squared variable, independent of the weighted mean, so that its quantiles give a fiducial
    distribution of the heterogeneity and, mixed over it, one of the next boat's change [1]_. No
    difference is given with fewer than three boats.

    References
    ----------
    .. [1] K. Nagashima, H. Noma, T. A. Furukawa, "Prediction intervals for random-effects
       meta-analysis: a confidence distribution approach", Statistical Methods in Medical Research
       28 (2019), 1689-1702, for the principle; here by quadrature in place of a bootstrap.
    """
    profile = _Profile.of(pooled, for_next=True)
    of_mean = _reaches_of_mean(pooled, confidence)

    def reaches(sides: Sides) -> Reach:
        # The next boat is never known better than the mean that she is expected at.
        return _Larger(of_mean(sides), _ByProfile(profile, confidence, sides, _CAUTION))

    return _decided(pooled, reaches, pooled.count >= LEAST_BOATS, confidence, simultaneous)


def _decided(
    pooled: Pooled,
    reaches: Callable[[Sides], Reach],
    enough: NDArray[np.bool_],
    confidence: float,
    simultaneous: bool,
) -> PooledDifferences:
    given = np.asarray(enough.reshape(-1, enough.shape[-1]).all(axis=0))
    difference = np.where(given, pooled.mean, np.nan)
    points = difference.shape[-1]
    family = int(given.sum()) if simultaneous else 1
    decision = decide(np.abs(difference), reaches("both"), given, together=simultaneous)
    return PooledDifferences(
        difference=difference,
        half_width=decision.single_step,
        floor=decision.bound,
        established=decision.established,
        family=np.full(difference.shape[:-1], family),
        confidence=confidence,
        known=np.zeros(points),
        common=np.zeros(points),
        given=given,
        simultaneous=simultaneous,
        factor=np.ones(points),
        pooled=pooled,
        reaches=reaches,
    )


class _Student:
    """Student's t of boats less one, a part of the error for each position (Bonferroni)."""

    def __init__(self, pooled: Pooled, confidence: float, sides: Sides) -> None:
        self.table = StudentValues(pooled.df, 1, confidence, sides)
        self.error, self.level = pooled.standard_error, round(1 - confidence, 12)

    def widths(self, family: Counts) -> Array:
        sizes = np.asarray(family)[..., None]
        return self.table.half_widths(self.error, 0.0, sizes, self.level)

    def p_values(self, distance: Array, family: Counts) -> Array:
        return self.table.p_values(distance, self.error, 0.0, np.asarray(family)[..., None])


class _Larger:
    """Beyond the reach of both."""

    def __init__(self, one: Reach, other: Reach) -> None:
        self.one, self.other = one, other

    def widths(self, family: Counts) -> Array:
        return np.maximum(self.one.widths(family), self.other.widths(family))

    def p_values(self, distance: Array, family: Counts) -> Array:
        both = self.one.p_values(distance, family), self.other.p_values(distance, family)
        return np.maximum(*both)


@dataclass(frozen=True, slots=True)
class _Profile:
    """Normal distributions, one for each heterogeneity that the profile of Q allows.

    Attributes
    ----------
    off, deviation : ndarray, shape (nodes, ..., positions)
        How far the weighted mean lies from that of the pool, and the standard deviation about it.
    weights : ndarray, shape (nodes, ..., positions)
        Adding up to one. [1]
    """

    off: Array
    deviation: Array
    weights: Array

    @classmethod
    def of(cls, pooled: Pooled, *, for_next: bool) -> _Profile:
        """Of the mean over boats, or of the next one."""
        squares, weights = _chi_squared(pooled.df)
        spread = heterogeneity_at(pooled.estimates, pooled.variances, squares)
        mean, precision, _ = weighed(pooled.estimates, pooled.allowed, spread)
        with np.errstate(divide="ignore"):
            variance = 1 / precision + (spread if for_next else 0.0)
        return cls(mean - pooled.mean, np.sqrt(variance), weights)

    def beyond(self, distance: Array) -> Array:
        """Chance of lying further than a distance from the mean of the pool, on either side."""
        with np.errstate(invalid="ignore"):
            above = ndtr((self.off - distance) / self.deviation)
            below = ndtr((-self.off - distance) / self.deviation)
        return np.asarray((self.weights * (above + below)).sum(axis=0))

    def at_most(self) -> Array:
        """A distance that nothing lies beyond, as far as double precision tells."""
        return np.asarray((np.abs(self.off) + 9 * self.deviation).max(axis=0))


def _chi_squared(df: Array) -> tuple[Array, Array]:
    """Nodes and weights of a chi-squared variable, shape (nodes, ...) each."""
    squares = np.ones((_NODES, *df.shape))
    weights = np.full(squares.shape, 1 / _NODES)
    for one in np.unique(df[df > 0]):
        nodes, parts = crowded_nodes(float(one), _NODES)
        squares[:, df == one] = one * np.asarray(nodes)[:, None]
        weights[:, df == one] = np.asarray(parts)[:, None]
    return squares, weights


class _ByProfile:
    """The reach that lets the heterogeneity be as uncertain as the profile of Q shows it."""

    def __init__(
        self, profile: _Profile, confidence: float, sides: Sides, part: float = 1.0
    ) -> None:
        self.profile, self.level = profile, round(1 - confidence, 12)
        # Of the chance on both sides, what one comparison may take for each unit of its level.
        self.share = part * (1.0 if sides == "both" else 2.0)
        self.one_sided = sides != "both"

    def widths(self, family: Counts) -> Array:
        wanted = self.level * self.share / np.asarray(family, dtype=float)[..., None]
        high = self.profile.at_most()
        low = np.zeros(high.shape)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            short = self.profile.beyond(middle) > wanted
            low, high = np.where(short, middle, low), np.where(short, high, middle)
        return np.asarray((low + high) / 2)

    def p_values(self, distance: Array, family: Counts) -> Array:
        chance = self.profile.beyond(np.abs(distance))
        if self.one_sided:
            chance = np.where(distance > 0, chance, 2.0 - chance)
        sizes = np.asarray(family, dtype=float)[..., None]
        return np.asarray(np.clip(chance * sizes / self.share, 0.0, 1.0))
