"""Outliers told by the modified z-score, which an outlier cannot hide from.

References
----------
.. [1] B. Iglewicz and D. Hoaglin, *How to Detect and Handle Outliers* (1993), as in NIST/SEMATECH
   e-Handbook of Statistical Methods, on the detection of outliers: |0.6745 (x - median) / MAD|
   above 3.5.
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import NormalDist, median

CUTOFF = 3.5
NORMAL_QUARTER = 0.6745  # the MAD of a standard normal
FAMILY = 0.01  # chance that one of all values is named by accident


def cutoff(values: int) -> float:
    """The modified z-score from which a value is an outlier.

    3.5 [1]_, and more where so many values are looked at that one of them would pass it by chance.
    """
    if values < 1:
        return CUTOFF
    return max(CUTOFF, NormalDist().inv_cdf(1 - FAMILY / (2 * values)))


def z_scores(residuals: Sequence[float], spread: float) -> list[float]:
    """Modified z-scores of residuals about zero. [1]

    Parameters
    ----------
    residuals : sequence of float
    spread : float
        Median absolute deviation, of these or of more values than these. [as the residuals]
    """
    if spread == 0:
        return [0.0 if value == 0 else float("inf") for value in residuals]
    return [NORMAL_QUARTER * value / spread for value in residuals]


def mad(residuals: Sequence[float]) -> float:
    """Median absolute deviation from zero. [as the residuals]"""
    return median(abs(value) for value in residuals) if residuals else 0.0
