"""By how much one channel comes after another that shows the same of the boat."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from slackwater.analysis.logs.channels import Channel, Numbers
from slackwater.analysis.logs.joining import smoothed

STEP = 0.2  # [s]
SMOOTH = 3.0  # [s]
FARTHEST = 8.0  # [s]
LEAST_LIKENESS = 0.5  # correlation of the changes; below it there is nothing to measure a lag by
SHORTEST = 60.0  # [s] in common
SAME, MOSTLY = 1e-6, 0.95  # [unit], part of the values from which one is a copy of the other
MOST_CELLS = 400_000  # 22 h; of a longer log its beginning tells the lag

#: What shows the same of the boat, so that the later of two is late.
ALIKE: tuple[frozenset[str], ...] = (
    frozenset({"speed_over_ground", "speed_through_water"}),
    frozenset({"course_over_ground", "heading"}),
    frozenset({"course_over_ground_magnetic", "heading_magnetic"}),
)
#: What moves the boat and what shows it: their lag holds the beginning of the boat's own answer, too.
ANSWERED = ("engine_speed", "speed_over_ground")


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
    common : float
        For how long both were recorded, which it rests on. [s]
    answer : bool
        Whether the boat's own answer to her engine is in it.
    """

    first: tuple[str, str]
    second: tuple[str, str]
    seconds: float
    likeness: float
    common: float = 0.0
    answer: bool = False


@dataclass(frozen=True, slots=True)
class NoLag:
    """Two channels whose lag cannot be told, and why."""

    first: tuple[str, str]
    second: tuple[str, str]
    why: str


def lags_of(channels: Sequence[Channel]) -> list[Lag]:
    """The lags between all channels that show the same of the boat, where they can be told."""
    told = (compared(one, other) for one, other in pairs_of(channels))
    return [each for each in told if isinstance(each, Lag)]


def pairs_of(channels: Sequence[Channel]) -> list[tuple[Channel, Channel]]:
    """Channels that may be held against each other."""
    ours = frozenset().union(*ALIKE)
    return [
        (one, other)
        for one, other in combinations(channels, 2)
        if (one.quantity == other.quantity and one.quantity in ours)
        or frozenset({one.quantity, other.quantity}) in ALIKE
    ]


def answers_of(channels: Sequence[Channel]) -> list[Lag | NoLag]:
    """Speed over ground after engine speed."""
    engines = [c for c in channels if c.quantity == ANSWERED[0]]
    speeds = [c for c in channels if c.quantity == ANSWERED[1]]
    return [compared(one, other, answer=True) for one in engines for other in speeds]


def lag_between(one: Channel, other: Channel) -> Lag | None:
    """The lag at which the changes of both are most alike; None where they are alike at none."""
    found = compared(one, other)
    return found if isinstance(found, Lag) else None


def compared(one: Channel, other: Channel, *, answer: bool = False) -> Lag | NoLag:
    """The lag of two channels, or why it cannot be told."""
    first, second = (one.quantity, one.source), (other.quantity, other.source)
    if min(one.seconds.size, other.seconds.size) < 2:
        return NoLag(first, second, "too few values")
    start = max(one.seconds[0], other.seconds[0])
    end = min(one.seconds[-1], other.seconds[-1])
    if end - start < SHORTEST:
        return NoLag(
            first, second, f"{max(end - start, 0):.0f} s in common, {SHORTEST:g} s are needed"
        )
    if one.quantity != other.quantity and _copied(one, other):
        return NoLag(
            first,
            second,
            "the same values: one was filled with the other, and tells nothing by itself",
        )
    time = start + STEP * np.arange(min(int((end - start) / STEP), MOST_CELLS))
    likeness = _likeness(_changes(one, time), _changes(other, time))
    if likeness is None:
        return NoLag(first, second, "one of them stands still")
    best = int(np.nanargmax(likeness))
    most = (likeness.size - 1) // 2
    if likeness[best] < LEAST_LIKENESS:
        alike = max(float(likeness[best]), 0.0)
        return NoLag(first, second, f"not enough change to tell: alike by {alike:.2f} at most")
    if best in (0, likeness.size - 1):
        return NoLag(
            first, second, f"most alike at {FARTHEST:g} s or beyond, farther than is looked"
        )
    seconds = (best - most + _vertex(likeness[best - 1 : best + 2])) * STEP
    return Lag(first, second, seconds, float(likeness[best]), float(end - start), answer)


def _copied(one: Channel, other: Channel) -> bool:
    """Whether nearly all values of one are those that the other has then."""
    at = np.clip(np.searchsorted(other.seconds, one.seconds), 0, other.seconds.size - 1)
    alike = np.abs(other.values[at] - one.values) < SAME
    return bool(alike.mean() > MOSTLY and one.values.std() > 0)


def _likeness(a: Numbers, b: Numbers) -> Numbers | None:
    """Correlation of two rows of changes at every lag; None where one has none."""
    most = round(FARTHEST / STEP)
    inner = a[most:-most]
    if min(inner.std(), b.std()) == 0:
        return None
    with np.errstate(invalid="ignore"):  # of what stands still all the while there is no likeness
        found = np.array([
            np.corrcoef(inner, b[most + shift : b.size - most + shift])[0, 1]
            for shift in range(-most, most + 1)
        ])  # fmt: skip
    return None if np.isnan(found).all() else found


def _changes(channel: Channel, time: Numbers) -> Numbers:
    """Rate of change on an even grid, smoothed."""
    values = channel.values
    if channel.circular:
        values = np.unwrap(values, period=360.0)
    cells = round(SMOOTH / STEP)
    return np.asarray(np.gradient(smoothed(np.interp(time, channel.seconds, values), cells)))


def _vertex(three: Numbers) -> float:
    """Where the parabola through three values about a peak has it, from the middle one."""
    bend = three[0] - 2 * three[1] + three[2]
    return float(0.5 * (three[0] - three[2]) / bend) if bend < 0 else 0.0
