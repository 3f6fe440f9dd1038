"""By how much one channel comes after another that shows the same of the boat."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.steady.steadiness import smoothed
from slackwater.analysis.steady.track import Array

STEP = 0.2  # [s]
SMOOTH = 3.0  # [s]
FARTHEST = 8.0  # [s]
LEAST_LIKENESS = 0.5  # correlation of the changes; below it there is nothing to measure a lag by
SHORTEST = 60.0  # [s] in common
MOST_CELLS = 400_000  # 22 h; of a longer log its beginning tells the lag

#: What shows the same of the boat, so that the later of two is late. Engine speed and speed are no
#: such pair: the boat herself takes her time.
ALIKE: tuple[frozenset[str], ...] = (
    frozenset({"speed_over_ground", "speed_through_water"}),
    frozenset({"course_over_ground", "heading"}),
    frozenset({"course_over_ground_magnetic", "heading_magnetic"}),
)


@dataclass(frozen=True, slots=True)
class Lag:
    """The second comes so many seconds after the first (negative: before it).

    Parameters
    ----------
    first, second : tuple of str
        Quantity and source.
    seconds : float
        [s]
    likeness : float
        Correlation of their changes at that lag. [1]
    """

    first: tuple[str, str]
    second: tuple[str, str]
    seconds: float
    likeness: float


def lags_of(channels: Sequence[Channel]) -> list[Lag]:
    """The lags between all channels that show the same of the boat, where they can be told."""
    found = []
    for one, other in combinations(channels, 2):
        same = one.quantity == other.quantity and one.quantity in frozenset().union(*ALIKE)
        if same or frozenset({one.quantity, other.quantity}) in ALIKE:
            lag = lag_between(one, other)
            if lag is not None:
                found.append(lag)
    return found


def lag_between(one: Channel, other: Channel) -> Lag | None:
    """The lag at which the changes of both are most alike; None where they are alike at none."""
    if min(one.seconds.size, other.seconds.size) < 2:
        return None
    start = max(one.seconds[0], other.seconds[0])
    end = min(one.seconds[-1], other.seconds[-1])
    if end - start < SHORTEST:
        return None
    time = start + STEP * np.arange(min(int((end - start) / STEP), MOST_CELLS))
    a, b = _changes(one, time), _changes(other, time)
    most = round(FARTHEST / STEP)
    if min(a[most:-most].std(), b.std()) == 0:
        return None
    inner = a[most:-most]
    with np.errstate(invalid="ignore"):  # of what stands still all the while there is no likeness
        likeness = np.array([
            np.corrcoef(inner, b[most + shift : b.size - most + shift])[0, 1]
            for shift in range(-most, most + 1)
        ])  # fmt: skip
    best = int(np.nanargmax(likeness))
    if likeness[best] < LEAST_LIKENESS or best in (0, likeness.size - 1):
        return None
    seconds = (best - most + _vertex(likeness[best - 1 : best + 2])) * STEP
    return Lag(
        (one.quantity, one.source), (other.quantity, other.source), seconds, float(likeness[best])
    )


def _changes(channel: Channel, time: Array) -> Array:
    """Rate of change on an even grid, smoothed."""
    values = channel.values
    if channel.circular:
        values = np.unwrap(values, period=360.0)
    cells = round(SMOOTH / STEP)
    return np.asarray(np.gradient(smoothed(np.interp(time, channel.seconds, values), cells)))


def _vertex(three: Array) -> float:
    """Where the parabola through three values about a peak has it, from the middle one."""
    bend = three[0] - 2 * three[1] + three[2]
    return float(0.5 * (three[0] - three[2]) / bend) if bend < 0 else 0.0
