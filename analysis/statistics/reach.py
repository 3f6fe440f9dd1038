"""How far the noise of sessions, and errors that are known beforehand, reach over a family.

Known errors are of two kinds: independent from position to position, and common to all positions
(one calibration that shifts them alike). Over a family they cannot be added in quadrature to what
the sessions' noise may be off by, for the largest of several sums is not the sum of two largest. An
independent error is noise of a set point, and a common one noise of a session, that happens to be
known from many degrees of freedom; so each joins its kind, and the kind's degrees of freedom grow by
Welch and Satterthwaite's formula.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.statistics.largest import Sides
from slackwater.analysis.statistics.multiplicity import Counts, Reach
from slackwater.analysis.statistics.noise import NoiseEstimate
from slackwater.analysis.statistics.simultaneous import (
    CriticalValues,
    StudentValues,
    critical_values,
)

Array = NDArray[np.float64]

# Tables are made for degrees of freedom so many times those of the sessions, rounded down.
_MORE_FREEDOM = np.array([1.0, 3.0, 30.0, 300.0])


def reach_of(
    noise: NoiseEstimate,
    spread: Array,
    *,
    known: Array,
    common: Array,
    family: int,
    confidence: float,
    sides: Sides = "both",
) -> Reach:
    """How far noise alone reaches in a comparison.

    Parameters
    ----------
    noise : NoiseEstimate
    spread : ndarray, shape (positions,)
        Variance of a difference per unit variance of a session value. [1]
    known, common : ndarray, shape (positions,)
        Variance of a difference from known errors, independent by position and common to all.
    family : int
        Comparisons that are judged together.
    confidence : float
        0 to 1.
    sides : Sides
    """
    if noise.specific_df <= 0:
        df = noise.shared_df if noise.freedom is None else noise.freedom[0][..., None]
        table = StudentValues(df, family, confidence, sides)
        return _OfOne(table, np.sqrt(spread * noise.total), np.sqrt(known + common), confidence)
    return _OfSweep(noise, spread, known, common, family, confidence, sides)


class _OfOne:
    """All the noise is of one kind: Student's t, and what is known expanded in quadrature."""

    def __init__(self, table: StudentValues, error: Array, known: Array, confidence: float) -> None:
        self.table, self.error, self.known = table, error, known
        self.level = round(1 - confidence, 12)

    def widths(self, family: Counts) -> Array:
        sizes = np.asarray(family)[..., None]
        return self.table.half_widths(self.error, self.known, sizes, self.level)

    def p_values(self, distance: Array, family: Counts) -> Array:
        return self.table.p_values(distance, self.error, self.known, np.asarray(family)[..., None])


class _OfSweep:
    """The largest of a family with two kinds of noise, each joined by known errors of its kind."""

    def __init__(
        self,
        noise: NoiseEstimate,
        spread: Array,
        known: Array,
        common: Array,
        family: int,
        confidence: float,
        sides: Sides,
    ) -> None:
        self.share = noise.share
        self.freedom: tuple[Array, Array]
        self.ratio = np.broadcast_to(noise.ratio[..., None], self.share.shape)
        self.error = np.sqrt(spread * noise.total)
        shape = self.share.shape
        if noise.freedom is None:
            self.freedom = (np.full(shape, noise.shared_df), np.full(shape, noise.specific_df))
        else:
            one, two = noise.freedom
            self.freedom = (
                np.broadcast_to(one[..., None], shape),
                np.broadcast_to(two[..., None], shape),
            )
        if np.any(known > 0) or np.any(common > 0):
            self._join(noise, spread, known, common)
        self.tables: list[tuple[CriticalValues, NDArray[np.bool_]]] = []
        for shared_df, specific_df in _pairs(*self.freedom):
            table = critical_values(shared_df, specific_df, max(family, 1), confidence, sides)
            where = (self.freedom[0] == shared_df) & (self.freedom[1] == specific_df)
            if isinstance(table, CriticalValues):
                self.tables.append((table, where))

    def _join(self, noise: NoiseEstimate, spread: Array, known: Array, common: Array) -> None:
        """Take known errors in, and the degrees of freedom that they add."""
        scale = np.nan_to_num(spread * noise.specific / noise.share, nan=1.0)
        own, shared = self.share, np.maximum(self.ratio, 1.0)
        with_own, with_shared = own + known / scale, shared + common / scale
        self.share = with_own
        self.ratio = np.where(common > 0, with_shared, self.ratio)
        self.error = np.where(
            np.isfinite(self.error),
            np.sqrt(scale * (np.maximum(self.ratio - 1, 0.0) + with_own)),
            np.nan,
        )
        step = np.searchsorted(_MORE_FREEDOM, (with_shared / shared) ** 2, side="right") - 1
        step_own = np.searchsorted(_MORE_FREEDOM, (with_own / own) ** 2, side="right") - 1
        shared_df, specific_df = self.freedom
        self.freedom = (shared_df * _MORE_FREEDOM[step], specific_df * _MORE_FREEDOM[step_own])

    def widths(self, family: Counts) -> Array:
        sizes = np.asarray(family)[..., None]
        limits = self._by_table(lambda table, r, h, k: table.values(r, h, k), sizes)
        return np.asarray(limits * self.error)

    def p_values(self, distance: Array, family: Counts) -> Array:
        with np.errstate(invalid="ignore", divide="ignore"):
            size = distance / self.error
        sizes = np.asarray(family)[..., None]
        return self._by_table(lambda table, r, h, k, t: table.p_values(t, r, h, k), sizes, size)

    def _by_table(self, read: Callable[..., Array], family: Counts, *more: Array) -> Array:
        arrays = [self.ratio, self.share, np.broadcast_to(family, self.share.shape)]
        arrays += [np.broadcast_to(each, self.share.shape) for each in more]
        if len(self.tables) == 1:
            return read(self.tables[0][0], *arrays)
        out = np.full(self.share.shape, np.nan)
        for table, where in self.tables:
            out[where] = read(table, *(each[where] for each in arrays))
        return out


def _pairs(one: Array, other: Array) -> list[tuple[float, float]]:
    """The pairs of values that stand at one place."""
    if one.size and (one == one.flat[0]).all() and (other == other.flat[0]).all():
        return [(float(one.flat[0]), float(other.flat[0]))]
    both = np.unique(np.stack([one.ravel(), other.ravel()]), axis=1)
    return [(float(a), float(b)) for a, b in both.T]
