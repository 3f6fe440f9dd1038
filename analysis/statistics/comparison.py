"""Session values to differences: estimate, interval, noise floor, p-value: one decision.

Every quantity comes through here, whatever it is and wherever on the sweep it stands. The core
works on arrays, so that a trial and ten thousand simulated ones take the same path.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slackwater.analysis.statistics.contrasts import Contrasts
from slackwater.analysis.statistics.evenness import by_set_point, by_side
from slackwater.analysis.statistics.largest import Sides
from slackwater.analysis.statistics.multiplicity import Decision, Reach, adjusted, decide
from slackwater.analysis.statistics.noise import NoiseEstimate, PriorNoise, estimate_noise
from slackwater.analysis.statistics.reach import reach_of

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
        Half the simultaneous interval by a single step.
    floor : ndarray
        Smallest |difference| that would have been told from zero, at the step that decided.
    established : ndarray of bool
        |difference| is above the floor.
    family : ndarray of int, shape (...)
        Comparisons that are judged together.
    noise : NoiseEstimate
    confidence : float
    known, common : ndarray, shape (set_points,)
        Variance of a difference from known errors: independent by position, common to all.
    spread : ndarray, shape (..., set_points)
        Variance of a difference per unit variance of a session value. [1]
    given : ndarray of bool, shape (set_points,)
        Set points whose difference the sessions can give.
    simultaneous : bool
    factor : ndarray, shape (set_points,)
        What the scale was multiplied with after the comparison. [1]
    """

    difference: Array
    standard_error: Array
    half_width: Array
    floor: Array
    established: NDArray[np.bool_]
    family: NDArray[np.int_]
    noise: NoiseEstimate
    confidence: float
    known: Array
    common: Array
    spread: Array
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
    def df(self) -> float:
        """Degrees of freedom between sessions, those of earlier trials included. [1]

        The fewest of any trial, where there are several and they differ.
        """
        freedom = self.noise.freedom
        return self.noise.shared_df if freedom is None else float(freedom[0].min())

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
            common=self.common * factor**2,
            factor=self.factor * factor,
            noise=noise,
        )

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

    def _reach(self, sides: Sides) -> Reach:
        """On the scale that the comparison was made on."""
        squared = self.factor**2
        noise = replace(self.noise, specific=self.noise.specific / squared, loading=None)
        return reach_of(
            noise,
            self.spread,
            known=self.known / squared,
            common=self.common / squared,
            family=int(self.family.max(initial=1)),
            confidence=self.confidence,
            sides=sides,
        )


def compare(
    values: Array,
    runs: Array,
    layout: Contrasts,
    *,
    confidence: float = 0.95,
    simultaneous: bool = True,
    prior: PriorNoise | None = None,
    known: ArrayLike = 0.0,
    common: ArrayLike = 0.0,
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
        One statement for all set points together, or one for each by itself.
    prior : PriorNoise, optional
        What earlier trials showed.
    known, common : array_like, shape (set_points,) or ()
        Variance of a difference from errors that are known beforehand and do not cancel:
        independent from set point to set point, and common to all of them.

    Returns
    -------
    Differences or None
        None where nothing is known of the noise between sessions.

    Notes
    -----
    The steps of `multiplicity` decide, and p-value, noise floor and the limit of the interval on
    the side of zero follow from the one bound that decided. The other limit, and both limits of a
    difference that is not established, are those of a single step, whose coverage is joint over
    the family.
    """
    noise = estimate_noise(values, runs, layout, prior)
    if noise is None:
        return None
    points = values.shape[-1]
    weights = np.nan_to_num(layout.weights)
    filled = np.where(np.isfinite(values), values, 0.0)
    given = np.asarray(np.isfinite(layout.weights).all(axis=0))
    difference = np.where(given, np.einsum("sp,...sp->...p", weights, filled), np.nan)
    factor, noise = by_side(noise, values, layout)
    factor = factor * by_set_point(noise, values, layout, factor)
    spread = factor * np.where(given, layout.spread, np.nan)
    family = int(given.sum()) if simultaneous else 1
    known = np.broadcast_to(np.asarray(known, dtype=float), (points,))
    common = np.broadcast_to(np.asarray(common, dtype=float), (points,))
    reach = reach_of(
        noise, spread, known=known, common=common, family=max(family, 1), confidence=confidence
    )
    decision = decide(np.abs(difference), reach, given, together=simultaneous)
    return Differences(
        difference=difference,
        standard_error=np.sqrt(spread * noise.total),
        half_width=decision.single_step,
        floor=decision.bound,
        established=decision.established,
        family=np.full(difference.shape[:-1], family),
        noise=noise,
        confidence=confidence,
        known=known,
        common=common,
        spread=spread,
        given=given,
        simultaneous=simultaneous,
        factor=np.ones(points),
    )
