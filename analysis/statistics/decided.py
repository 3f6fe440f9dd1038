"""Differences with one decision on each: what the verdict is given on, whatever they were made from.

The differences of one trial (`comparison`) and those of several boats (`pooled_differences`) are
judged alike: estimate, how far noise alone reaches, and the steps over the positions. Only the reach
is their own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slackwater.analysis.statistics.largest import Sides
from slackwater.analysis.statistics.multiplicity import Decision, Reach, adjusted, decide

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Beyond:
    """Whether differences are shown to lie beyond a margin, shape (..., set_points) each.

    Attributes
    ----------
    established : ndarray of bool
    p_values : ndarray
        Adjusted over the family by the same steps. [1]
    reach : ndarray
        How far noise alone reaches, on the scale of the analysis: the bound that decided is the
        difference less this, or plus this.
    """

    established: NDArray[np.bool_]
    p_values: Array
    reach: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """Differences along a sweep, each decided once, on the scale of the analysis.

    All arrays have shape (..., set_points); log ratios for quantities compared as ratios,
    differences in the unit of the quantity otherwise.

    Attributes
    ----------
    difference : ndarray
        Modified less baseline; NaN where it cannot be given.
    half_width : ndarray
        Half the simultaneous interval by a single step.
    floor : ndarray
        Smallest |difference| that would have been told from zero, at the step that decided.
    established : ndarray of bool
        |difference| is above the floor.
    family : ndarray of int, shape (...)
        Comparisons that are judged together.
    confidence : float
    known, common : ndarray, shape (set_points,)
        Variance of a difference from known errors: independent by position, common to all.
    given : ndarray of bool, shape (set_points,)
        Positions at which there is a difference.
    simultaneous : bool
    factor : ndarray, shape (set_points,)
        What the scale was multiplied with after the comparison. [1]
    """

    difference: Array
    half_width: Array
    floor: Array
    established: NDArray[np.bool_]
    family: NDArray[np.int_]
    confidence: float
    known: Array
    common: Array
    given: NDArray[np.bool_]
    simultaneous: bool
    factor: Array

    @property
    def low(self) -> Array:
        """Lower limit: that of the single step, or clear of zero where a step established it."""
        near = self.established & (self.difference > 0)
        return self.difference - np.where(near, self.floor, self.half_width)

    @property
    def high(self) -> Array:
        """Upper limit: that of the single step, or clear of zero where a step established it."""
        near = self.established & (self.difference < 0)
        return self.difference + np.where(near, self.floor, self.half_width)

    @property
    def degrees(self) -> Array:
        """Degrees of freedom that each difference rests on. [1]"""
        raise NotImplementedError

    def _reach(self, sides: Sides) -> Reach:
        """How far noise alone reaches, on the scale that the comparison was made on."""
        raise NotImplementedError

    def p_values(self) -> Array:
        """Two-sided p-values against no difference, adjusted by the steps that decided. [1]"""
        distance = np.abs(self.difference) / self.factor
        decision = Decision(self.established, self.floor, self.half_width)
        return self._adjusted(distance, self._reach("both"), decision)

    def inside(self, low: ArrayLike, high: ArrayLike) -> Beyond:
        """Equivalence: differences shown to lie between two margins.

        Two one-sided tests at each position, and the steps over the positions: those shown to
        be equivalent leave the family first. The critical value is that of the least favourable
        mixture of true differences at either margin.

        Parameters
        ----------
        low, high : array_like, shape (set_points,) or ()
            The margins, on the scale of the analysis.
        """
        low, high = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
        return self._beyond(np.minimum(self.difference - low, high - self.difference), "margins")

    def above(self, margin: ArrayLike, sign: int = 1) -> Beyond:
        """Differences shown to lie above a margin (below it, with a sign of -1): one-sided.

        Parameters
        ----------
        margin : array_like, shape (set_points,) or ()
            On the scale of the analysis.
        """
        return self._beyond(sign * (self.difference - np.asarray(margin, dtype=float)), "one")

    def _beyond(self, distance: Array, sides: Sides) -> Beyond:
        distance = np.asarray(distance / self.factor)
        reach = self._reach(sides)
        found = decide(distance, reach, self.given, together=self.simultaneous)
        p = self._adjusted(distance, reach, found)
        return Beyond(found.established, p, found.bound * self.factor)

    def _adjusted(self, distance: Array, reach: Reach, decision: Decision) -> Array:
        level = 1 - self.confidence
        p = adjusted(distance, reach, self.given, decision, level, together=self.simultaneous)
        return np.where(np.isfinite(distance), p, np.nan)
