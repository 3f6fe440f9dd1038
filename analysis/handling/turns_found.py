"""Turns in a path: from where the heading begins to go one way to where it no longer does."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from slackwater.analysis.handling.onset import left_level, moved
from slackwater.analysis.handling.path import Array, Path
from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.logs.joining import smoothed
from slackwater.analysis.steady.steadiness import UNDER_WAY
from slackwater.analysis.steady.track import KNOT, Mask

STEP = 0.5  # [s]
SMOOTH, SMOOTHEST = 5.0, 20.0  # [s] of the rate of turn
OVER = 15.0  # [deg] of turn that it is smoothed over, within these: headings of slow turns are as noisy as those of others
BACK = 15.0  # [deg]; who turns back by more has ended her turn
LEAST_FOUND = 150.0  # [deg]; what turns by less is a change of course
LEAST_RATE = 0.5  # [deg/s]; what turns slower bends along a shore
ACTIVE = 0.25  # of the rate that most of the turn was made at
PAUSE = 5.0  # [s] straight on, which part two turns to one side
EASED = 0.7  # of the rate; below it the helm is being eased
LONGEST_GAP = 3.0  # [s]


@dataclass(frozen=True, slots=True)
class FoundTurn:
    """A turn.

    Parameters
    ----------
    order, end : float
        When the helm was put over, as well as it can be told, and when it was eased. [s]
    uncertainty : float
        Standard uncertainty of `order`. [s]
    told_by : str
        What told the order.
    degrees : float
        Turned until `end`, to starboard positive. [deg]
    """

    order: float
    end: float
    uncertainty: float
    told_by: str
    degrees: float


def find_turns(
    path: Path, rudder: Channel | None = None, least: float = LEAST_FOUND
) -> list[FoundTurn]:
    """All turns in order of time.

    Parameters
    ----------
    path : Path
    rudder : Channel, optional
        Rudder angle, which tells when the helm was put over; without it the rate of turn does, later.
    least : float
        How far a turn has to go. [deg]
    """
    found = []
    for seconds, angles in _headings(path):
        for first, last in _one_way(angles):
            if abs(angles[last] - angles[first]) >= least:
                found += _turns(seconds, angles, first, last, rudder, least)
    return found


def _headings(path: Path) -> list[tuple[Array, Array]]:
    """Headings at even steps, or courses where there is no compass, in parts without a gap and under way."""
    seconds, angles = path.heading_seconds, path.heading
    if seconds.size < 2:
        seconds, angles = path.course()
        fast = np.hypot(path.east_velocity, path.north_velocity) >= UNDER_WAY * KNOT
        seconds, angles = seconds[fast], np.unwrap(angles[fast], period=360.0)
    if seconds.size < 2:
        return []
    usual = float(np.median(np.diff(seconds)))
    cuts = np.flatnonzero(np.diff(seconds) > max(LONGEST_GAP, 5 * usual)) + 1
    parts = []
    for times, values in zip(np.split(seconds, cuts), np.split(angles, cuts), strict=True):
        if times.size >= 4 and times[-1] - times[0] > 2 * SMOOTH:
            even = np.arange(times[0], times[-1], STEP)
            parts.append((even, np.interp(even, times, values)))
    return parts


def _one_way(angles: Array) -> list[tuple[int, int]]:
    """Stretches between the places where the heading turns back by more than `BACK`."""
    values, ends = angles.tolist(), [0]
    low = high = 0
    way = 0
    for at, value in enumerate(values):
        low = at if value < values[low] else low
        high = at if value > values[high] else high
        if way >= 0 and value < values[high] - BACK:
            ends, way, low = [*ends, high], -1, at
            high = at
        elif way <= 0 and value > values[low] + BACK:
            ends, way, high = [*ends, low], 1, at
            low = at
    ends = sorted({*ends, len(values) - 1})
    return list(pairwise(ends))


def _turns(
    seconds: Array, angles: Array, first: int, last: int, rudder: Channel | None, least: float
) -> list[FoundTurn]:
    """The turns of a stretch in which the heading goes one way."""
    sign = math.copysign(1.0, angles[last] - angles[first])
    reach = slice(max(first - 2 * _cells(SMOOTHEST), 0), last + 2 * _cells(SMOOTHEST))
    times, turned = seconds[reach], sign * angles[reach]
    smooth = SMOOTH
    for _ in range(2):  # once to see how fast she turns, once as that wants it
        rate = smoothed(np.gradient(turned, STEP), _cells(smooth))
        ahead = np.where(rate > 0, rate, 0.0)
        level = float((ahead**2).sum() / max(ahead.sum(), 1e-9))  # the mean over the way turned
        smooth = min(max(SMOOTH, OVER / max(level, 1e-9)), SMOOTHEST)
    if level < LEAST_RATE:
        return []
    found = []
    for a, b in _stretches(rate >= ACTIVE * level, _cells(max(PAUSE, smooth))):
        if turned[b] - turned[a] >= least:
            found.append(_turn(times, turned, rate, a, b, sign, smooth, rudder))
    return found


def _cells(seconds: float) -> int:
    """An odd number of steps, so that what is smoothed over them is not shifted."""
    return 2 * round(seconds / STEP / 2) + 1


def _stretches(active: Mask, pause: int) -> list[tuple[int, int]]:
    """First and last cell of each stretch, those joined that are a short pause apart."""
    change = np.flatnonzero(np.diff(np.concatenate([[0], active.astype(int), [0]])))
    found: list[tuple[int, int]] = []
    for a, b in zip(change[::2].tolist(), (change[1::2] - 1).tolist(), strict=True):
        if found and a - found[-1][1] <= pause:
            found[-1] = (found[-1][0], b)
        else:
            found.append((a, b))
    return found


def _turn(
    times: Array,
    turned: Array,
    rate: Array,
    a: int,
    b: int,
    sign: float,
    smooth: float,
    rudder: Channel | None,
) -> FoundTurn:
    """One turn: its order from the rudder, else from where the rate left nought."""
    third = max((b - a) // 3, 1)
    begin, level = max(a - 2 * _cells(smooth), 0), float(np.median(rate[a : b + 1]))
    early = slice(begin, a + third + 1)
    left = left_level(times[early], rate[early], 0.0, level, _cells(smooth) * STEP)
    order, uncertainty, told_by = (*left, "rate of turn") if left else (float(times[a]), smooth / 2, "rate of turn")  # fmt: skip
    if rudder is not None:
        helm = moved(rudder.seconds, rudder.values, order)
        order, uncertainty, told_by = (*helm, "rudder") if helm else (order, uncertainty, told_by)
    order = max(order, float(times[0]))
    late = float(np.median(rate[b - third : b + 1]))
    held = np.flatnonzero(rate[: b + 1] >= EASED * late)
    end = float(times[held[-1]])
    degrees = sign * float(np.interp(end, times, turned) - np.interp(order, times, turned))
    return FoundTurn(order, end, uncertainty, told_by, degrees)
