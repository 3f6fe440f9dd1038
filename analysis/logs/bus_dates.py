"""Date and time as senders on the bus tell them, and a clock without a date brought to them."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from slackwater.analysis.logs.channels import Numbers
from slackwater.analysis.logs.decimals import Bytes, Whole

DAY = 86400.0
#: Where the date begins in each parameter group; the time follows it, in steps of 0.1 ms.
DATED = {126992: 2, 129029: 1}
#: Days since 1970 before which no satellite clock tells the time: 6 January 1980.
_FIRST_DAY = 3657
#: How far the two clocks may part, as a median, to be two clocks of one boat. [s]
APART = 2.0

Sender = tuple[int, int]  # parameter group, source


def moments_of(group: int, payload: Bytes, length: Whole) -> tuple[Whole, Numbers]:
    """Which messages tell date and time, and which. [s since 1970]

    Parameters
    ----------
    payload : ndarray of uint8, shape (messages, bytes)
    length : ndarray of int, shape (messages,)
    """
    at = DATED[group]
    whole = np.ascontiguousarray(payload[:, at : at + 6]).astype(np.int64)
    days = whole[:, 0] | whole[:, 1] << 8
    ticks = whole[:, 2] | whole[:, 3] << 8 | whole[:, 4] << 16 | whole[:, 5] << 24
    good = (length >= at + 6) & (days >= _FIRST_DAY) & (days < 0xFFFD) & (ticks < 864_010_000)
    rows = np.flatnonzero(good)
    return rows, days[rows] * DAY + ticks[rows] * 1e-4


def brought_to_date(
    line: Whole, seconds: Numbers, told: Iterable[tuple[Sender, Whole, Numbers]]
) -> tuple[float, str]:
    """By how much a clock that counts from some start is behind the bus's own, and a note of it.

    Parameters
    ----------
    line, seconds : ndarray, shape (messages,)
        By rising line; NaN where there is no stamp.
    told : iterable of (sender, line, moment)
        What each sender tells, by rising line.

    Returns
    -------
    float
        NaN where none tells, or none that goes with the clock. [s]
    str
        What is to be said; empty where none tells.
    """
    best = max(told, key=lambda each: (each[1].size, -each[0][0], -each[0][1]), default=None)
    if best is None:
        return np.nan, ""
    (group, source), lines, moments = best
    at = np.minimum(np.searchsorted(line, lines), line.size - 1)
    apart = (moments - seconds[at])[line[at] == lines]
    apart = apart[np.isfinite(apart)]
    if not apart.size:
        return np.nan, ""
    usual = float(np.median(apart))
    spread = float(np.median(np.abs(apart - usual)))
    name = f"{group} from {source}"
    if spread > APART:
        return (
            np.nan,
            f"the date of {name} does not go with the clock of the device: it is not used",
        )
    return usual, (
        f"the clock of the device counts from its start; the date is that of {name} ({apart.size} messages, which "
        f"agree within {max(spread, 0.001):.3f} s)"
    )
