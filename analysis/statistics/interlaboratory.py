"""Repeatability and reproducibility of a measurement, in the sense of ISO 5725.

Made for laboratories that each measure the same material several times. On the water a session
takes the place of the laboratory, and a double run that of the replicate.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import fdtrc, fdtri, stdtr, stdtrit

Array = NDArray[np.float64]

LIMIT = 1.959963984540054 * sqrt(2.0)  # 95 % of differences of two results lie within; about 2.8


class TableError(ValueError):
    """A table of laboratories that gives no precision."""


@dataclass(frozen=True, slots=True)
class Precision:
    """Precision of one material, measured by several laboratories.

    Attributes
    ----------
    mean : float
        Of the laboratories. [unit of the table]
    laboratory_deviation : float
        Standard deviation of the laboratories' means. [unit of the table]
    repeatability, reproducibility : float
        Standard deviations of results of one laboratory, and of different ones. [unit]
    h, k : ndarray, shape (laboratories,)
        How far a laboratory's mean lies from the others, and how large its own scatter is. [1]
    """

    mean: float
    laboratory_deviation: float
    repeatability: float
    reproducibility: float
    h: Array
    k: Array

    @property
    def repeatability_limit(self) -> float:
        """Two results of one laboratory differ by no more, 95 times of 100. [unit]"""
        return LIMIT * self.repeatability

    @property
    def reproducibility_limit(self) -> float:
        """Two results of two laboratories differ by no more, 95 times of 100. [unit]"""
        return LIMIT * self.reproducibility


def reproducibility_variance(between: float, within: float, replicates: float) -> float:
    """Variance of results of different laboratories.

    Parameters
    ----------
    between : float
        Variance of the laboratories' means.
    within : float
        Variance of the results of one laboratory, pooled.
    replicates : float
        Results behind each mean. [1]

    Returns
    -------
    float
        Never below `within`, for a single result carries that in any laboratory.
    """
    return max(between + within * (1 - 1 / replicates), within)


def interlaboratory(values: Array | Sequence[ArrayLike]) -> Precision:
    """Precision from a table of results.

    Parameters
    ----------
    values : array_like, shape (laboratories, replicates), or a sequence of arrays
        Results of one material; laboratories may have unequal numbers of them. [any unit]

    Raises
    ------
    TableError
        With fewer than two laboratories, without two results of one, or with a value missing.

    Notes
    -----
    With unequal numbers the variances are pooled by their degrees of freedom, and the replicates
    behind a mean are those of the analysis of variance, (n - sum n_i^2 / n) / (laboratories - 1).

    References
    ----------
    ISO 5725-2, basic method; ASTM E691, practice for an interlaboratory study.
    """
    table = [np.asarray(each, dtype=float) for each in values]
    counts = np.array([each.size for each in table], dtype=int)
    if len(table) < 2 or any(each.ndim != 1 for each in table) or counts.max() < 2:
        raise TableError(
            f"a table of {len(table)} laboratories with {counts.max(initial=0)} results at most; two "
            "laboratories, and two results of one, are needed"
        )
    if counts.min() < 1 or not all(np.isfinite(each).all() for each in table):
        raise TableError("a result is missing; leave out its laboratory, or give all the results")
    means = np.array([each.mean() for each in table])
    squares = np.array([((each - each.mean()) ** 2).sum() for each in table])
    df = counts - 1
    within = float(np.sqrt(squares.sum() / df.sum()))
    whole = reproducibility_variance(*_between(means, counts, within**2))
    between = float(means.std(ddof=1))
    with np.errstate(invalid="ignore", divide="ignore"):
        own = np.sqrt(squares / df)
        h = np.where(between > 0, (means - means.mean()) / between, 0.0)
        k = np.where(within > 0, own / within, 0.0)
    mean = float(np.average(means, weights=counts))
    return Precision(mean, between, within, sqrt(whole), h, np.where(df > 0, k, np.nan))


def _between(means: Array, counts: NDArray[np.int_], within: float) -> tuple[float, float, float]:
    """Variance of the means, of one result, and the results behind each mean."""
    labs, total = len(means), float(counts.sum())
    behind = (total - float((counts**2).sum()) / total) / (labs - 1)
    grand = float(np.average(means, weights=counts))
    square = float((counts * (means - grand) ** 2).sum()) / (labs - 1)
    return square / behind, within, behind


def critical_h(laboratories: int, level: float = 0.005) -> float:
    """Size of h that a laboratory like the others passes with this chance, two-sided. [1]"""
    p = laboratories
    t = float(stdtrit(p - 2, 1 - level / 2))
    return (p - 1) * t / sqrt(p * (t**2 + p - 2))


def critical_k(laboratories: int, replicates: int, level: float = 0.005) -> float:
    """Size of k that a laboratory like the others passes with this chance. [1]"""
    p, n = laboratories, replicates
    f = float(fdtri(n - 1, (p - 1) * (n - 1), 1 - level))
    return sqrt(p / (1 + (p - 1) / f))


def cochran(variances: ArrayLike, df: float) -> tuple[float, float]:
    """Cochran's statistic for the largest of several variances, and its p-value.

    Parameters
    ----------
    variances : array_like, shape (laboratories,)
        Each on the same degrees of freedom.
    df : float
        Of each of them. [1]

    Returns
    -------
    tuple of float
        The largest over their sum, and how often laboratories alike give as large a one at most
        (Bonferroni over the laboratories, which is hardly too large). [1]

    References
    ----------
    ISO 5725-2, 7.3.3: a straggler below 5 %, an outlier below 1 %.
    """
    found = np.asarray(variances, dtype=float)
    others, total = found.size - 1, float(found.sum())
    if others < 1 or total <= 0 or df <= 0:
        return float("nan"), 1.0
    part = float(found.max()) / total
    ratio = others * part / max(1 - part, 1e-300)
    return part, float(min(found.size * fdtrc(df, others * df, ratio), 1.0))


def grubbs(values: ArrayLike) -> tuple[float, int, float]:
    """Grubbs' statistic for the value that lies furthest from the mean, and its p-value.

    Returns
    -------
    tuple
        The distance over the standard deviation [1], the value's index, and how often values alike
        give one as far out on either side at most. [1]

    References
    ----------
    ISO 5725-2, 7.3.4, one outlying observation; NIST/SEMATECH e-Handbook, 1.3.5.17.1.
    """
    found = np.asarray(values, dtype=float)
    count = found.size
    spread = float(found.std(ddof=1)) if count > 2 else 0.0
    if spread <= 0:
        return 0.0, 0, 1.0
    off = np.abs(found - found.mean()) / spread
    index = int(off.argmax())
    size = float(off[index])
    # The largest possible is (n - 1) / sqrt(n), where the t behind it is infinite.
    room = max((count - 1) ** 2 / count - size**2, 1e-300)
    t = size * sqrt((count - 2) / room)
    return size, index, float(min(2 * count * stdtr(count - 2, -t), 1.0))
