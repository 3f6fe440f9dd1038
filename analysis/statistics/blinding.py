"""Whether blinding held: Bang's and James's indices of what raters guess. Counts only."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from slackwater.analysis.statistics.agreement import NOTHING, Estimate

Array = NDArray[np.float64]


def bang_index(
    right: int, wrong: int, unsure: int, confidence: float = 0.95, *, sides: int = 2
) -> Estimate:
    """Bang's blinding index of one configuration: 1 all guess right, 0 as by chance, -1 all wrong.

    Parameters
    ----------
    right, wrong, unsure : int
        Guesses where this configuration was fitted; `unsure` did not want to say.
    confidence : float
        Of the interval, 0 to 1.
    sides : int
        With 1, both limits are those of one-sided statements.

    References
    ----------
    .. [1] H. Bang, L. Ni and C. E. Davis, "Assessment of blinding in clinical trials", Controlled
       Clinical Trials 25 (2004), 143-156.
    """
    count = right + wrong + unsure
    if not count:
        return NOTHING
    index, variance = _bang(right, wrong, count)
    half = ndtri(1 - (1 - confidence) / sides) * np.sqrt(variance)
    return Estimate(index, max(index - half, -1.0), min(index + half, 1.0))


def _bang(right: int, wrong: int, count: int) -> tuple[float, float]:
    index = (right - wrong) / count
    return index, ((right + wrong) / count - index**2) / count


def mean_bang_low(counts: Array, confidence: float = 0.95) -> float:
    """One-sided lower limit of the mean of two configurations' indices.

    Raters who always name the same configuration have 1 on one side and -1 on the other: they
    know nothing, and the mean is 0.

    Parameters
    ----------
    counts : ndarray, shape (2, 3)
        As in `james_index`.
    """
    if counts.sum(axis=1).min() == 0:
        return np.nan
    found = []
    for arm in range(2):
        right, wrong = counts[arm, arm], counts[arm, 1 - arm]
        found.append(_bang(right, wrong, counts[arm].sum()))
    error = np.sqrt(sum(variance for _, variance in found)) / 2
    return float(sum(index for index, _ in found) / 2 - ndtri(confidence) * error)


def james_index(counts: Array, confidence: float = 0.95) -> Estimate:
    """James's blinding index: 1 nobody would guess, 0.5 as by chance, 0 all guess right.

    Parameters
    ----------
    counts : ndarray, shape (2, 3)
        By what was fitted, then by what was guessed: the first, the second, unsure.
    confidence : float
        Of the interval, by the delta method on the multinomial of the counts.

    References
    ----------
    .. [1] K. E. James, D. A. Bloch, K. K. Lee, H. C. Kraemer and R. K. Fuller, "An index for
       assessing blindness in a multi-centre clinical trial", Statistics in Medicine 15 (1996),
       1421-1434.
    """
    total = float(counts.sum())
    if not total:
        return NOTHING
    part = counts / total
    index = _james(part)
    slope, step = np.zeros_like(part), 1e-6
    for at in np.ndindex(*part.shape):
        moved = np.zeros_like(part)
        moved[at] = step
        slope[at] = (_james(part + moved) - _james(part - moved)) / (2 * step)
    variance = float((part * slope**2).sum() - (part * slope).sum() ** 2) / total
    half = ndtri(0.5 + confidence / 2) * np.sqrt(max(variance, 0.0))
    return Estimate(index, max(index - half, 0.0), min(index + half, 1.0))


def _james(part: Array) -> float:
    unsure = float(part[:, 2].sum())
    sure = float(part.sum()) - unsure
    if sure <= 1e-9:
        return 1.0
    seen = (part[0, 1] + part[1, 0]) / sure
    fitted, guessed = part[:, :2].sum(axis=1), part[:, :2].sum(axis=0)
    chance = (fitted[0] * guessed[1] + fitted[1] * guessed[0]) / sure**2
    beyond = (seen - chance) / chance if chance > 0 else 0.0
    whole = float(part.sum())
    return float((1 + unsure / whole + (1 - unsure / whole) * beyond) / 2)
