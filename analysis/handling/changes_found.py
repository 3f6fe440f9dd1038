"""Changes of speed in a log: from where a boat held a speed, or lay still, to where she came to another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slackwater.analysis.handling.onset import left_level, moved
from slackwater.analysis.handling.path import Array
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.steady.track import Mask

AT_REST = 1.0  # [kn]; who drifts or idles out of gear shows up to that
WITHIN, LEAST_WITHIN = 0.1, 1.0  # of the speed to begin at, [kn]: how near to it she has to be
LONGEST = 120.0  # [s]; what takes longer is no manoeuvre
STALLED, LEAST_GAIN = (
    15.0,
    (0.05, 0.5),
)  # [s] in which she makes less of the change than so, or [kn], hold her between
BACK = 30.0  # [s] before she left it, that its level is looked for in
HELD = 3.0  # [s] that she is near it before
RISE = (
    0.1,
    0.3,
)  # of the change, which a line back to its beginning is laid through: speeds rise ever more slowly
NEAR = 0.02  # of the change
LEVEL = 5.0  # [s] over which it is taken


@dataclass(frozen=True, slots=True)
class FoundChange:
    """A change of speed.

    Parameters
    ----------
    command : float
        When it was ordered, as well as it can be told. [s]
    uncertainty : float
        Standard uncertainty of that. [s]
    told_by : str
        What told it.
    level : float
        The speed before. [kn]
    reached : float
        When she first came to the other speed. [s]
    """

    command: float
    uncertainty: float
    told_by: str
    level: float
    reached: float


def tolerance(speed: float) -> float:
    """How far from a speed to begin at counts as at it. [kn]"""
    return max(WITHIN * speed, LEAST_WITHIN)


def find_changes(
    seconds: Array,
    speed: Array,
    begin: float | None,
    target: float,
    lever: Channel | None = None,
    *,
    rising: bool,
) -> list[FoundChange]:
    """All changes from one speed to another, in order of time.

    Parameters
    ----------
    seconds, speed : ndarray, shape (samples,)
        [s, kn]
    begin : float, optional
        The speed that they begin at; without one, rest where they rise, and any speed that was held where they fall. [kn]
    target : float
        [kn]
    lever : Channel, optional
        Throttle or engine speed, which tells when it was ordered; without it the speed does, later.
    rising : bool
    """
    sign = 1.0 if rising else -1.0
    values, level = sign * speed, sign * target
    at_begin = _at_begin(speed, begin, target, rising=rising)
    ups = np.flatnonzero((values[:-1] < level) & (values[1:] >= level)) + 1
    found: list[FoundChange] = []
    last = -np.inf
    for up in ups.tolist():
        before = np.flatnonzero(at_begin[:up])
        if (
            not before.size
            or seconds[before[-1]] <= last
            or seconds[up] - seconds[before[-1]] > LONGEST
        ):
            continue
        since = int(before[-1])
        if (values[since:up] >= level).any() or not _was_held(seconds, at_begin, since):
            continue
        last = float(seconds[up])
        if _stalls(seconds[since : up + 1], speed[since : up + 1]):
            continue
        begun = _begun(seconds, at_begin, since)
        found.append(_change(seconds, speed, (begun, since, up), target, lever, rising=rising))
    return found


def _at_begin(speed: Array, begin: float | None, target: float, *, rising: bool) -> Mask:
    """Where she is at the speed that it begins at."""
    if begin is not None and begin > 0:
        return np.abs(speed - begin) <= tolerance(begin)
    if rising:
        return speed <= AT_REST
    return speed >= 3.0 * max(target, AT_REST)


def _stalls(seconds: Array, speed: Array) -> bool:
    """Whether she holds a speed between the two: then it is two changes, and neither is the one sought."""
    change = abs(float(speed[-1] - speed[0]))
    gain = max(LEAST_GAIN[0] * change, LEAST_GAIN[1])
    between = np.abs(speed - speed[0])
    middle = np.flatnonzero((between > 0.1 * change) & (between < 0.9 * change))
    for at in middle.tolist():
        end = int(np.searchsorted(seconds, seconds[at] + STALLED))
        if end < seconds.size and end <= middle[-1]:
            third = max((end - at) // 3, 1)
            first, last = (
                float(speed[at : at + third].mean()),
                float(speed[end - third : end].mean()),
            )
            if abs(last - first) < gain:
                return True
    return False


def _was_held(seconds: Array, at_begin: Mask, since: int) -> bool:
    """Whether she was there for some seconds before."""
    during = (seconds > seconds[since] - HELD) & (seconds <= seconds[since])
    return bool(seconds[since] - seconds[0] >= HELD and at_begin[during].mean() > 0.8)


def _begun(seconds: Array, at_begin: Mask, since: int) -> int:
    """The sample from which on she was there, half a minute back at most."""
    there = np.flatnonzero(at_begin[: since + 1])
    there = there[seconds[there] >= seconds[since] - BACK]
    parted = np.flatnonzero(np.diff(seconds[there]) > HELD)  # noise takes her off it for a moment
    return int(there[parted[-1] + 1 if parted.size else 0])


def _change(
    seconds: Array,
    speed: Array,
    at: tuple[int, int, int],
    target: float,
    lever: Channel | None,
    *,
    rising: bool,
) -> FoundChange:
    """The change: from when to when she was at its first speed, and when she came to the other.

    Its command is told by the lever, else by where the speed left what it was.
    """
    begun, since, up = at
    sign = 1.0 if rising else -1.0
    early = speed[begun : since + 1]
    level = float(early.min() if rising else early.max())
    lowest = np.flatnonzero(sign * early <= sign * level + NEAR * abs(target - level))
    part = slice(begun + int(lowest[0]), up + 1)
    left = left_level(seconds[part], sign * speed[part], sign * level, sign * target, parts=RISE)
    command, uncertainty, told_by = (*left, "speed") if left else (float(seconds[since]), HELD, "speed")  # fmt: skip
    if lever is not None:
        pulled = moved(lever.seconds, lever.values, command)
        words = lever.quantity.replace("_", " ")
        command, uncertainty, told_by = (*pulled, words) if pulled else (command, uncertainty, told_by)  # fmt: skip
    before = (seconds >= command - LEVEL) & (seconds <= command)
    held = float(speed[before].mean()) if before.any() else level
    return FoundChange(command, uncertainty, told_by, held, float(seconds[up]))
