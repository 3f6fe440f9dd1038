"""Taking the current out: runs over ground to speed through the water.

A cell is all that was run at one set point in one session. Speeds are in any one unit; signs are
+1 for runs out and -1 for runs back, so that a positive current sets the way the runs out go.
Each method gives, cell by cell, the speed through the water; how its variance follows from that
of a run (`factor`); and what the scatter within the cell says of the variance of a run
(`scatter`, a sum of squares, with `df` degrees of freedom).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import comb

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

MAX_DEGREE = 6


class ReductionError(ValueError):
    """Runs that a method cannot reduce."""


@dataclass(frozen=True, slots=True)
class Cells:
    """Values of the cells, shape (cells,) each.

    Attributes
    ----------
    value : ndarray
        [unit of the runs]
    factor : ndarray
        Variance of the value over the variance of one run. [1]
    scatter : ndarray
        Sum of squares within the cell, scaled to the variance of one run. [unit squared]
    df : ndarray
        Degrees of freedom of `scatter`. [1]
    """

    value: Array
    factor: Array
    scatter: Array
    df: Array


@dataclass(frozen=True, slots=True)
class CurrentCurve:
    """A current that varies smoothly with time: Legendre polynomials over one outing.

    Attributes
    ----------
    start, end : float
        First and last middle of a run. [s]
    coefficients : ndarray, shape (degree + 1,)
        [unit of the runs]
    covariance : ndarray, shape (degree + 1, degree + 1)
        [unit squared]
    residual_df : float
        Of the fit. [1]
    """

    start: float
    end: float
    coefficients: Array
    covariance: Array
    residual_df: float

    @property
    def degree(self) -> int:
        """Degree of the polynomial."""
        return len(self.coefficients) - 1

    def at(self, seconds: ArrayLike) -> tuple[Array, Array]:
        """Current and its standard uncertainty at given times.

        Parameters
        ----------
        seconds : array_like
            Times, on the clock of the runs. [s]
        """
        basis = _basis(np.asarray(seconds, dtype=float), self.start, self.end, self.degree)
        variance = np.einsum("...i,ij,...j->...", basis, self.covariance, basis)
        return basis @ self.coefficients, np.sqrt(np.maximum(variance, 0.0))


def _basis(seconds: Array, start: float, end: float, degree: int) -> Array:
    span = max(end - start, 1.0)
    scaled = 2 * (seconds - start) / span - 1
    return np.asarray(np.polynomial.legendre.legvander(scaled, degree))


def mean_of_means(ground_speed: ArrayLike) -> float:
    """Average alternating runs so that a drifting current drops out.

    Parameters
    ----------
    ground_speed : array_like, shape (runs,)
        Mean speed over ground of each run, in the order run, directions alternating. [any unit]

    Returns
    -------
    float
        Speed through the water. [same unit]

    Raises
    ------
    ReductionError
        With fewer than 2 runs, or with a run that is not finite.

    Notes
    -----
    Run k of n has weight C(n-1, k) / 2^(n-1), so that a current which is a polynomial of degree
    n-2 in time cancels exactly when the runs are evenly spaced [1]_.

    References
    ----------
    .. [1] E. C. Tupper, *Introduction to Naval Architecture*, pp. 243-245 (four runs); the
       general weights follow from the algebra.

    Examples
    --------
    >>> round(mean_of_means([21.0, 18.8, 21.4, 18.4]), 9)  # current 1.0, 1.2, 1.4, 1.6
    20.0
    """
    speed = np.asarray(ground_speed, dtype=float)
    if speed.size < 2:
        raise ReductionError(f"{speed.size} run has no mean of means; it takes at least 2")
    if not np.isfinite(speed).all():
        gap = int(np.flatnonzero(~np.isfinite(speed))[0]) + 1
        raise ReductionError(f"run {gap} of {speed.size} has no speed; leave out its double run")
    return float(binomial_weights(speed.size) @ speed)


def binomial_weights(n: int) -> Array:
    """Weights of the mean of means of n runs; they add up to 1. [1]"""
    return np.array([comb(n - 1, k) for k in range(n)]) / 2.0 ** (n - 1)


def _sums(cell: NDArray[np.int_], values: Array) -> Array:
    """Sum of the values of each cell."""
    return np.asarray(np.bincount(cell, values), dtype=float)


def by_double_runs(speed: Array, pair: NDArray[np.int_], cell: NDArray[np.int_]) -> Cells:
    """Mean of the double runs, each the mean of its two runs.

    Parameters
    ----------
    speed : ndarray, shape (runs,)
    pair, cell : ndarray of int, shape (runs,)
        Double run and cell of each run, both counted from 0; each double run is whole.
    """
    means = _sums(pair, speed) / np.bincount(pair)
    cell_of_pair = np.zeros(means.size, dtype=int)
    cell_of_pair[pair] = cell
    cells = by_single_runs(means, cell_of_pair)
    # The mean of two runs has half the variance of a run.
    return Cells(cells.value, cells.factor / 2, cells.scatter * 2, cells.df)


def by_single_runs(values: Array, cell: NDArray[np.int_]) -> Cells:
    """Plain mean of the values of a cell, whatever their direction."""
    count = np.bincount(cell)
    # Sums of what is left about the middle of it all keep the digits that sums of large values lose.
    middle = values.mean()
    mean = _sums(cell, values - middle) / count
    scatter = _sums(cell, (values - middle - mean[cell]) ** 2)
    return Cells(middle + mean, 1.0 / count, scatter, count.astype(float) - 1.0)


def by_mean_of_means(
    speed: Array,
    sign: Array,
    seconds: Array,
    pair: NDArray[np.int_],
    cell: NDArray[np.int_],
) -> tuple[Cells, list[int]]:
    """Mean of means of each cell, with the scatter of its double runs.

    Returns
    -------
    cells : Cells
    plain : list of int
        Cells whose runs do not alternate in direction: the weights would not cancel a drift, and
        the plain mean of the double runs stands instead.
    """
    cells = by_double_runs(speed, pair, cell)
    value, factor, plain = cells.value.copy(), cells.factor.copy(), []
    for c in range(value.size):
        rows = np.flatnonzero(cell == c)
        rows = rows[np.argsort(seconds[rows], kind="stable")]
        if (np.diff(sign[rows]) == 0).any():
            plain.append(c)
            continue
        value[c] = mean_of_means(speed[rows])
        factor[c] = (binomial_weights(rows.size) ** 2).sum()
    return Cells(value, factor, cells.scatter, cells.df), plain


def tide_fit(
    speed: Array, sign: Array, seconds: Array, cell: NDArray[np.int_]
) -> tuple[Cells, CurrentCurve, Array]:
    """Fit a smooth current and the speed of every cell to all runs of one outing at once.

    Parameters
    ----------
    speed, sign, seconds : ndarray, shape (runs,)
        Speed over ground, direction and middle of each run. [any unit], [1], [s]
    cell : ndarray of int, shape (runs,)
        Cell of each run, counted from 0; every cell has runs in both directions.

    Returns
    -------
    cells : Cells
    curve : CurrentCurve
    residuals : ndarray, shape (runs,)
        Speed over ground less the fit. [unit of speed]

    Raises
    ------
    ReductionError
        When a cell has runs in one direction only, or the current cannot be told.

    Notes
    -----
    The current is a polynomial in time whose degree is the one with the least small-sample
    Akaike criterion [1]_, at most 6 and at most what leaves a degree of freedom. Least squares in
    closed form: the speeds of the cells are taken out first (Frisch-Waugh-Lovell).

    References
    ----------
    .. [1] C. M. Hurvich and C.-L. Tsai, "Regression and time series model selection in small
       samples", Biometrika 76 (1989), 297-307; the criterion as the R packages sme and qpcR
       document it.
    """
    count = np.bincount(cell)
    if (np.abs(_sums(cell, sign)) == count).any():
        raise ReductionError("a set point run in one direction only tells no current")
    n, n_cells = speed.size, count.size
    start, end = float(seconds.min()), float(seconds.max())
    full = sign[:, None] * _basis(seconds, start, end, MAX_DEGREE)
    cell_means = np.stack([_sums(cell, column) / count for column in full.T], axis=1)
    centred = full - cell_means[cell]
    mean = _sums(cell, speed) / count
    response = speed - mean[cell]

    degree = _choose_degree(centred, response, n, n_cells)
    x = centred[:, : degree + 1]
    inverse = np.linalg.pinv(x.T @ x)
    coefficients = inverse @ (x.T @ response)
    residuals = response - x @ coefficients
    df = float(n - n_cells - degree - 1)
    variance = float(residuals @ residuals) / df if df > 0 else 0.0

    bar = cell_means[:, : degree + 1]
    factor = 1.0 / count + np.einsum("ci,ij,cj->c", bar, inverse, bar)
    leverage = 1.0 / count[cell] + np.einsum("ni,ij,nj->n", x, inverse, x)
    cells = Cells(
        value=mean - bar @ coefficients,
        factor=factor,
        scatter=_sums(cell, residuals**2),
        df=np.maximum(_sums(cell, 1 - leverage), 0.0),
    )
    covariance = np.asarray(inverse * variance, dtype=float)
    return cells, CurrentCurve(start, end, coefficients, covariance, df), residuals


def _choose_degree(centred: Array, response: Array, n: int, n_cells: int) -> int:
    """Degree of the current's polynomial by the small-sample Akaike criterion."""
    q, r = np.linalg.qr(centred)
    gained = (q.T @ response) ** 2
    left = float(response @ response) - np.cumsum(gained)
    floor = 1e-12 * max(float(response @ response), 1e-12)
    solid = np.abs(np.diag(r)) > 1e-8 * max(float(np.abs(r).max()), 1e-12)
    best, lowest = 0, np.inf
    # The speeds of the cells are taken out already: what is left tells of the current alone.
    free = n - n_cells
    for degree in range(MAX_DEGREE + 1):
        parameters = degree + 2  # the variance counts
        if not solid[: degree + 1].all() or free - parameters - 1 <= 0:
            break
        spread = max(left[degree], floor)
        criterion = free * np.log(spread / free)
        criterion += 2 * parameters * free / (free - parameters - 1)
        if criterion < lowest - 1e-9:
            best, lowest = degree, criterion
    return best
