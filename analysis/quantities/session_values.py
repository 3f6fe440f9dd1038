"""Session values: the one table that every quantity goes through."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


# Curves that look alike at the set points may still bend at different places between them: so much
# of what two curves may be off by apart counts in any case. Chosen by simulation, for a hump that
# lifts all at once and earlier with one configuration (tests/calibration).
LEAST_PART = 0.75


@dataclass(frozen=True, slots=True)
class CurveErrors:
    """What curves may be off by where they are read, with its sign, so that alike errors cancel.

    Two curves of one shape, read at the same place between the same set points, are off alike: the
    error of their difference is that of the difference, not of each.

    Attributes
    ----------
    gap : ndarray of int, shape (sessions, positions)
        Between which set points each session's configuration is read.
    signed : ndarray, shape (sessions, positions, 4)
        Standard uncertainties by what leaving out each of the nearest set points shows, on the
        scale of the analysis; in the same order for every configuration.
    rest : ndarray, shape (sessions, positions)
        Variance from elsewhere that does not cancel.
    """

    gap: NDArray[np.int_]
    signed: Array
    rest: Array

    def of_difference(self, one: NDArray[np.bool_], other: NDArray[np.bool_]) -> Array:
        """Variance of a difference between two configurations, shape (positions,).

        Parameters
        ----------
        one, other : ndarray of bool, shape (sessions,)
            Their sessions, which share their errors.
        """
        sides = []
        for mine in (one, other):
            known = np.isfinite(self.signed[mine]).all(axis=-1)
            # All sessions of a configuration carry the same; some do not reach.
            row = known.argmax(axis=0)
            at = np.arange(self.gap.shape[1])
            sides.append((self.gap[mine][row, at], np.nan_to_num(self.signed[mine][row, at])))
        (gap, signed), (other_gap, other_signed) = sides
        alike = ((signed - other_signed) ** 2).max(axis=-1)
        apart = (signed**2).max(axis=-1) + (other_signed**2).max(axis=-1)
        alike = np.maximum(alike, LEAST_PART**2 * apart)
        rest = [np.nan_to_num(self.rest[mine]).max(axis=0) for mine in (one, other)]
        return np.asarray(np.where(gap == other_gap, alike, apart) + rest[0] + rest[1])

    def at_positions(self, positions: NDArray[np.int_]) -> CurveErrors:
        """Of some positions alone."""
        return CurveErrors(
            self.gap[:, positions], self.signed[:, positions], self.rest[:, positions]
        )


@dataclass(frozen=True, slots=True)
class SessionValues:
    """The values of one quantity: a row a session, a column a position along the sweep.

    Attributes
    ----------
    quantity, unit : str
    scale : str
        "ratio" (compared as a fraction of the baseline) or "difference".
    better : str or None
        "more", "less" or None.
    sessions : tuple of str
    positions : ndarray, shape (positions,)
        Set points, or speeds for a comparison at equal speed. [unit of the axis]
    labels : tuple of str
        The positions as text with their unit.
    values : ndarray, shape (sessions, positions)
        NaN where missing. [unit]
    run_variance : ndarray, shape (sessions, positions)
        Variance of each value from its runs; 0 where unknown. [unit squared]
    double_runs : ndarray of int, shape (sessions, positions)
    instrument_variance : ndarray, shape (positions,)
        Variance that instruments add to a difference on the scale of the analysis.
    common_errors : bool
        The instruments' errors are common to all positions; else independent of each other.
    untestable : str
        Why no comparison can be made, or empty.
    kind : str
        "set points" (as measured), "equal speed" (read off the curves at a speed) or "whole
        sweep" (one figure for a session).
    beyond : tuple of str
        For each position, what is to be said where a session does not reach it, which forbids
        the comparison there; empty where a missing value is merely missing.
    curve_variance : ndarray or None, shape (sessions, positions)
        Variance, on the scale of the analysis, that reading off curves adds to the mean of a
        configuration and to a difference. The sessions of one configuration share it.
    curve_errors : CurveErrors or None
        The same with its sign, where that is known: what of it cancels in a difference.
    level_variance : ndarray or None, shape (sessions, positions)
        The same for what adds to a mean and cancels in a difference.
    loading : ndarray or None, shape (positions,)
        How strongly what disturbs a whole session shows at each position, where that is known
        to differ. [1]
    covariates : ndarray or None, shape (sessions, n)
        What else differed between the sessions, to be allowed for as the sessions themselves
        show it.
    """

    quantity: str
    unit: str
    scale: str
    better: str | None
    sessions: tuple[str, ...]
    positions: Array
    labels: tuple[str, ...]
    values: Array
    run_variance: Array
    double_runs: NDArray[np.int_]
    instrument_variance: Array
    untestable: str = ""
    kind: str = "set points"
    beyond: tuple[str, ...] = ()
    curve_variance: Array | None = None
    level_variance: Array | None = None
    loading: Array | None = None
    covariates: Array | None = None
    common_errors: bool = False
    curve_errors: CurveErrors | None = None

    @property
    def key(self) -> str:
        """What tells it from the other tables of a trial: the quantity, and where it was read."""
        if self.kind == "set points":
            return self.quantity
        where = "at equal speed" if self.kind == "equal speed" else f"by {self.labels[0]}"
        return f"{self.quantity} {where}"

    def on_scale(self) -> Array:
        """Values on the scale of the analysis: logarithms for ratios."""
        if self.scale == "difference":
            return self.values
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.where(self.values > 0, np.log(self.values), np.nan)

    def run_variance_on_scale(self) -> Array:
        """Mean run variance at each position on the scale of the analysis, shape (positions,)."""
        variance = self.run_variance
        if self.scale == "ratio":
            with np.errstate(invalid="ignore", divide="ignore"):
                variance = variance / self.values**2
        seen = np.isfinite(variance) & np.isfinite(self.values)
        total = np.where(seen, variance, 0.0).sum(axis=0)
        return np.asarray(total / np.maximum(seen.sum(axis=0), 1))

    def curve_variance_of(self, mine: NDArray[np.bool_], *, level: bool = False) -> Array:
        """Variance that some sessions share from reading off curves, shape (positions,).

        Parameters
        ----------
        mine : ndarray of bool, shape (sessions,)
            The sessions of one configuration.
        level : bool
            Of their mean; else of a difference from it.
        """
        parts = [self.curve_variance, self.level_variance if level else None]
        total = np.zeros(len(self.positions))
        for part in parts:
            if part is not None and mine.any():
                known = np.where(np.isfinite(part[mine]), part[mine], 0.0)
                total = total + known.max(axis=0)
        return total


def errors_common(*tables: SessionValues) -> bool:
    """Whether all errors of instruments that tables carry are common to all positions."""
    carrying = [table for table in tables if (table.instrument_variance > 0).any()]
    return bool(carrying) and all(table.common_errors for table in carrying)
