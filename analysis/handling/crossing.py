"""When a noisy series first comes to a level and stays there."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
CLEAR = 6.0  # times the noise of single values; what is so far off is clear of it


def crossing(seconds: Array, values: Array, level: float) -> tuple[float, float] | None:
    """When rising values come to a level, and the standard uncertainty of it.

    Noise takes values across a level several times. The moment is the middle between the first time that they
    reach it and the last time that they rise through it, of those that lie no further behind than they took to rise out
    of the noise below; the uncertainty is that of anywhere between the two.

    Parameters
    ----------
    seconds, values : ndarray, shape (samples,)
    level : float

    Returns
    -------
    (float, float) or None
        [s, s]; None where they never reach it, or begin beyond it.

    Examples
    --------
    >>> import numpy as np
    >>> crossing(np.arange(4.0), np.array([0.0, 1.0, 2.0, 3.0]), 1.5)
    (1.5, 0.0)
    """
    above = values >= level
    if above.size < 2 or above[0] or not above.any():
        return None
    rising = np.flatnonzero(~above[:-1] & above[1:])
    first = int(rising[0])
    clear = CLEAR * noise_of(values)
    below = np.flatnonzero(values[: first + 1] <= level - clear)
    took = float(seconds[first + 1] - seconds[below[-1] if below.size else 0])
    near = rising[seconds[rising] <= seconds[first] + 2 * took]
    above_noise = np.flatnonzero(values[first + 1 :] >= level + clear)
    until = first + 1 + int(above_noise[0]) if above_noise.size else values.size
    last = int(near[near < until][-1])
    times = [_through(seconds, values, at, level) for at in (first, last)]
    return (times[0] + times[1]) / 2, (times[1] - times[0]) / math.sqrt(12.0)


def noise_of(values: Array) -> float:
    """Standard deviation of what single values stray by, from their second differences: no trend is in it."""
    if values.size < 4:
        return 0.0
    return float(np.median(np.abs(np.diff(values, 2)))) / (0.6745 * math.sqrt(6.0))


def rounded_to(values: Array) -> float:
    """The standard uncertainty of rounding: the least that two values differ by, over the square root of twelve.

    Nought where all are one value, which tell nothing of it.
    """
    apart = np.diff(np.unique(np.round(values, 6)))
    return float(apart.min()) / math.sqrt(12.0) if apart.size else 0.0


def _through(seconds: Array, values: Array, at: int, level: float) -> float:
    part = (level - values[at]) / (values[at + 1] - values[at])
    return float(seconds[at] + part * (seconds[at + 1] - seconds[at]))


def independent(values: Array) -> float:
    """How many independent values a series of residuals is worth, by its autocorrelation.

    The initial positive sequence of the autocorrelation is summed, as is common practice with simulated
    series; never less than one nor more than there are.
    """
    count = values.size
    centred = values - values.mean()
    square = float(centred @ centred)
    if count < 3 or square <= 1e-24:
        return float(count)
    size = 1 << (2 * count - 1).bit_length()
    spectrum = np.fft.rfft(centred, size)
    likeness = np.fft.irfft(np.abs(spectrum) ** 2, size)[:count] / square
    ends = np.flatnonzero(likeness <= 0.0)
    total = 1.0 + 2.0 * float(likeness[1 : ends[0] if ends.size else count].sum())
    return float(min(max(count / total, 1.0), count))
