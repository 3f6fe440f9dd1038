"""Repeatability and reproducibility of a measurement, in the sense of ISO 5725.

Made for laboratories that each measure the same material several times. On the water a session
takes the place of the laboratory, and a double run that of the replicate.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import fdtri, stdtrit

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


def interlaboratory(values: ArrayLike) -> Precision:
    """Precision from a table of results.

    Parameters
    ----------
    values : array_like, shape (laboratories, replicates)
        Results of one material. [any unit]

    Raises
    ------
    TableError
        With fewer than two laboratories or replicates, or with a value that is missing.

    References
    ----------
    ISO 5725-2, basic method; ASTM E691, practice for an interlaboratory study.
    """
    table = np.asarray(values, dtype=float)
    if table.ndim != 2 or min(table.shape) < 2:
        raise TableError(
            f"a table of shape {table.shape}; two laboratories with two results each are needed"
        )
    if not np.isfinite(table).all():
        raise TableError("a result is missing; leave out its laboratory, or give all the results")
    means, own = table.mean(axis=1), table.std(axis=1, ddof=1)
    between = float(means.std(ddof=1))
    within = float(np.sqrt((own**2).mean()))
    whole = reproducibility_variance(between**2, within**2, table.shape[1])
    with np.errstate(invalid="ignore", divide="ignore"):
        h = np.where(between > 0, (means - means.mean()) / between, 0.0)
        k = np.where(within > 0, own / within, 0.0)
    return Precision(float(means.mean()), between, within, sqrt(whole), h, k)


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
