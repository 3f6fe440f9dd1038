"""Session values to differences: estimate, interval, noise floor, p-value: one decision.

Every quantity comes through here, whatever it is and wherever on the sweep it stands. The core
works on arrays, so that a trial and ten thousand simulated ones take the same path.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from slackwater.analysis.statistics.contrasts import Contrasts
from slackwater.analysis.statistics.decided import Decided
from slackwater.analysis.statistics.evenness import by_set_point, by_side
from slackwater.analysis.statistics.largest import Sides
from slackwater.analysis.statistics.multiplicity import Reach, decide
from slackwater.analysis.statistics.noise import NoiseEstimate, PriorNoise, estimate_noise
from slackwater.analysis.statistics.reach import reach_of

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Differences(Decided):
    """The comparison of two configurations along a sweep, with the noise that it rests on.

    Attributes
    ----------
    standard_error : ndarray, shape (..., set_points)
        From the noise of the sessions.
    noise : NoiseEstimate
    spread : ndarray, shape (..., set_points)
        Variance of a difference per unit variance of a session value. [1]
    """

    standard_error: Array
    noise: NoiseEstimate
    spread: Array

    @property
    def df(self) -> float:
        """Degrees of freedom between sessions, those of earlier trials included. [1]

        The fewest of any trial, where there are several and they differ.
        """
        freedom = self.noise.freedom
        return self.noise.shared_df if freedom is None else float(freedom[0].min())

    @property
    def degrees(self) -> Array:
        """The same at each position, shape (..., set_points). [1]"""
        return np.full(self.difference.shape, self.df)

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
    noise = estimate_noise(values, runs, layout, prior, confidence)
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
