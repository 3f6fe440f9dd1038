"""Curves within a session: what lies between the set points, and how far that can be trusted.

A session gives a value at each set point. Between them the curve is the shape-preserving piecewise
cubic of Fritsch and Butland [1]_: it rises where the values rise and makes no hump of its own.
Beyond the measured ends there is no curve. The slopes are those of scipy's PchipInterpolator, and
the tests hold them to it; scipy's own would take longer to import than a whole analysis takes.

References
----------
.. [1] F. N. Fritsch and J. Butland, "A method for constructing local monotone piecewise cubic
   interpolants", SIAM Journal on Scientific and Statistical Computing 5 (1984), 300-304. From
   memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

# What a gap's middle is off by, as a standard uncertainty, in parts of what the curve is off by
# when a set point beside the gap is left out. A gap is half as long as the one that leaving out
# makes: a smooth curve is off by an eighth or less there, one with a kink in the gap by up to a
# half and more, which two standard uncertainties have to reach. Chosen by simulation
# (tests/calibration).
LEFT_OUT_PART = 0.36

# Fewer set points tell nothing of how the curve bends.
MIN_SET_POINTS = 3


@dataclass(frozen=True, slots=True)
class Curves:
    """Shape-preserving curves over one axis, one for each session (and trial, when simulated).

    Attributes
    ----------
    x : ndarray, shape (set_points,)
        Ascending.
    y, slope : ndarray, shape (..., set_points)
        Values and slopes at the set points; NaN outside a session's measured ends.
    """

    x: Array
    y: Array
    slope: Array

    def at(self, position: ArrayLike) -> Array:
        """Values of the curves.

        Parameters
        ----------
        position : array_like, shape (..., n) or (n,)
            Where; each session may have its own. [unit of the axis]

        Returns
        -------
        ndarray, shape (..., n)
            NaN outside the measured ends.
        """
        i, t, h = self._gap(position)
        y0, y1, d0, d1 = self._ends(i)
        value = _cubic(t, h, y0, y1, d0, d1)
        # At a set point the curve is the value, also at an end beyond which nothing was measured.
        return np.where(t == 0, y0, np.where(t == 1, y1, value))

    def slope_at(self, position: ArrayLike) -> Array:
        """Slopes of the curves; shapes as in `at`. [unit of the values a unit of the axis]"""
        i, t, h = self._gap(position)
        y0, y1, d0, d1 = self._ends(i)
        return np.asarray(
            6 * t * (1 - t) * (y1 - y0) / h + (1 - t) * (1 - 3 * t) * d0 + t * (3 * t - 2) * d1
        )

    def variance_at(self, position: ArrayLike, variance: Array) -> Array:
        """Variance of the curves from that of the values, by the weights of a straight line.

        Parameters
        ----------
        position : array_like
            As in `at`.
        variance : ndarray, shape (..., set_points)
            Of the values; independent of each other.
        """
        i, t, _ = self._gap(position)
        v0, v1 = _pick(variance, i), _pick(variance, i + 1)
        return np.asarray((1 - t) ** 2 * v0 + t**2 * np.where(t > 0, v1, 0.0))

    def crossing(self, level: ArrayLike) -> Array:
        """Where the curves first reach a level.

        Parameters
        ----------
        level : array_like, shape (n,) or (..., n)
            [unit of the values]

        Returns
        -------
        ndarray, shape (..., n)
            Lowest position at which the curve has the level; NaN where it never does.
        """
        level = np.asarray(level, dtype=float)
        left, right = self.y[..., :-1, None], self.y[..., 1:, None]
        with np.errstate(invalid="ignore"):
            target = level[..., None, :]
            holds = (np.minimum(left, right) <= target) & (target <= np.maximum(left, right))
        found, i = holds.any(axis=-2), holds.argmax(axis=-2)
        h = self.x[i + 1] - self.x[i]
        ends = self._ends(i)
        rising = ends[1] >= ends[0]
        low, high = np.zeros(i.shape), np.ones(i.shape)
        for _ in range(48):
            t = (low + high) / 2
            below = (_cubic(t, h, *ends) < level) == rising
            low, high = np.where(below, t, low), np.where(below, high, t)
        t = np.where(level == ends[0], 0.0, np.where(level == ends[1], 1.0, (low + high) / 2))
        position = np.where(t == 1, self.x[i + 1], self.x[i] + t * h)
        return np.where(found, position, np.nan)

    def _gap(self, position: ArrayLike) -> tuple[NDArray[np.int_], Array, Array]:
        position = np.broadcast_to(
            np.asarray(position, dtype=float),
            np.broadcast_shapes(np.shape(position), (*self.y.shape[:-1], 1)),
        )
        last = len(self.x) - 1
        inside = np.where(np.isnan(position), self.x[0], position)
        i = np.clip(np.searchsorted(self.x, inside, side="right") - 1, 0, last - 1)
        h = self.x[i + 1] - self.x[i]
        t = (position - self.x[i]) / h
        return i, np.where((t >= 0) & (t <= 1), t, np.nan), h

    def _ends(self, i: NDArray[np.int_]) -> tuple[Array, Array, Array, Array]:
        return (
            _pick(self.y, i),
            _pick(self.y, i + 1),
            _pick(self.slope, i),
            _pick(self.slope, i + 1),
        )


def _cubic(t: Array, h: Array, y0: Array, y1: Array, d0: Array, d1: Array) -> Array:
    """Hermite's cubic over a gap of width h, at the part t of it."""
    u = 1 - t
    return u * u * (1 + 2 * t) * y0 + t * t * (3 - 2 * t) * y1 + h * t * u * (u * d0 - t * d1)


def _pick(values: Array, i: NDArray[np.int_]) -> Array:
    return np.take_along_axis(np.broadcast_to(values, (*i.shape[:-1], values.shape[-1])), i, -1)


def shape_preserving_slopes(x: Array, y: Array) -> Array:
    """Slopes at the points of a curve that rises only where its values rise.

    Parameters
    ----------
    x : ndarray, shape (n,)
        Ascending, at least two.
    y : ndarray, shape (rows, n)
        All finite.

    Returns
    -------
    ndarray, shape (rows, n)
        Inside, the weighted harmonic mean of the two slopes beside a point, zero where they differ
        in sign; at the ends, three-point slopes, held back where they would overshoot.
    """
    h = np.diff(x)
    chord = np.diff(y, axis=1) / h
    if len(x) == 2:
        return np.repeat(chord, 2, axis=1)
    before, after = chord[:, :-1], chord[:, 1:]
    first, second = 2 * h[1:] + h[:-1], h[1:] + 2 * h[:-1]
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = (first + second) / (first / before + second / after)
    inner = np.where(before * after > 0, mean, 0.0)
    start = _end_slope(h[0], h[1], chord[:, 0], chord[:, 1])
    end = _end_slope(h[-1], h[-2], chord[:, -1], chord[:, -2])
    return np.concatenate([start[:, None], inner, end[:, None]], axis=1)


def _end_slope(h0: float, h1: float, chord: Array, next_chord: Array) -> Array:
    slope = ((2 * h0 + h1) * chord - h0 * next_chord) / (h0 + h1)
    turns = np.sign(chord) != np.sign(next_chord)
    slope = np.where(turns & (np.abs(slope) > 3 * np.abs(chord)), 3 * chord, slope)
    return np.where(np.sign(slope) != np.sign(chord), 0.0, slope)


def curves(x: ArrayLike, y: ArrayLike) -> Curves:
    """Shape-preserving curves through session values.

    Parameters
    ----------
    x : array_like, shape (set_points,)
        Ascending, at least two.
    y : array_like, shape (..., set_points)
        NaN where a session has no value: its curve passes over the gap, and ends where its values
        end.
    """
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    flat = y.reshape(-1, len(x))
    if np.isfinite(flat).all() and len(x) > 1:  # nothing is passed over: the curve is its points
        # Nought is added so that a slope of -0 is one of 0, as it is where gaps are passed over.
        return Curves(x, y.copy(), (shape_preserving_slopes(x, flat) + 0.0).reshape(y.shape))
    value, slope = np.full(flat.shape, np.nan), np.full(flat.shape, np.nan)
    present, group = np.unique(np.isfinite(flat), axis=0, return_inverse=True)
    for number, here in enumerate(present):
        if here.sum() < 2:
            continue
        rows = np.flatnonzero(group.reshape(-1) == number)
        known, measured = x[here], flat[rows][:, here]
        curve = Curves(known, measured, shape_preserving_slopes(known, measured))
        inside = np.flatnonzero((x >= known[0]) & (x <= known[-1]))
        value[np.ix_(rows, inside)] = curve.at(x[inside])
        slope[np.ix_(rows, inside)] = curve.slope_at(x[inside])
    return Curves(x, value.reshape(y.shape), slope.reshape(y.shape))


def left_out(x: ArrayLike, y: ArrayLike) -> Array:
    """What the curve is off by at each set point when that set point is left out.

    Returns
    -------
    ndarray, shape (..., set_points)
        Curve less value; NaN at the ends, which cannot be left out. [unit of y]
    """
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    off = np.full(y.shape, np.nan)
    for p in range(1, len(x) - 1):
        keep = np.arange(len(x)) != p
        off[..., p] = curves(x[keep], y[..., keep]).at(x[p : p + 1])[..., 0] - y[..., p]
    return off


@dataclass(frozen=True, slots=True)
class Spread:
    """How far curves may be off between their set points, from leaving set points out.

    Attributes
    ----------
    x : ndarray, shape (set_points,)
    off : ndarray, shape (..., set_points)
        Error at each set point when it is left out; zero at the ends. [unit of the values]
    """

    x: Array
    off: Array

    def at(self, position: ArrayLike) -> Array:
        """Standard uncertainty of the curves at positions of shape (..., n) or (n,).

        Zero at the set points, largest in the middle of a gap, and there `LEFT_OUT_PART` of the
        larger error found by leaving out the set points at the gap's ends (or half of those next
        to them); NaN outside the axis, or with fewer than three set points. [unit of the values]
        """
        return np.asarray(np.abs(self.signed_at(position)[1]).max(axis=-1))

    def signed_at(self, position: ArrayLike) -> tuple[NDArray[np.int_], Array]:
        """The same with its sign, by each of the set points that tell it.

        Returns
        -------
        gap : ndarray of int, shape (..., n)
            Between which set points each position lies.
        signed : ndarray, shape (..., n, 4)
            By the set points at the gap's ends, and by half of those next to them.
        """
        off = self.off
        i, t, _ = Curves(self.x, off, off)._gap(position)
        edge = np.zeros_like(off[..., :1])
        padded = np.concatenate([edge, off, edge], axis=-1)
        told = [_pick(off, i), _pick(off, i + 1), _pick(padded, i) / 2, _pick(padded, i + 3) / 2]
        enough = 1.0 if len(self.x) >= MIN_SET_POINTS else np.nan
        size = enough * LEFT_OUT_PART * 4 * t * (1 - t)
        return i, np.asarray(size[..., None] * np.stack(told, axis=-1))


def spread(x: ArrayLike, y: ArrayLike) -> Spread:
    """The uncertainty of curves between their set points.

    Parameters
    ----------
    x : array_like, shape (set_points,)
    y : array_like, shape (..., set_points)
        The mean curve of a configuration, so that the scatter of single sessions is averaged out.

    Notes
    -----
    All sessions of a configuration share this error, so it does not shrink with more sessions;
    more set points make it smaller. What scatter is left in the mean curve makes it larger.
    """
    return Spread(np.asarray(x, dtype=float), np.nan_to_num(left_out(x, y)))
