"""Which set point a steady stretch was made at, by the order of the plan, where nothing held was recorded.

The legs and the plan are two rows in one order, with some left out on either side. They are aligned by
dynamic programming. What a set point's speed is, is not known beforehand: it is read off the alignment
itself, which is done anew until it stands. A speed alone never places a leg: its turn in the order does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slackwater.analysis.steady.set_points import Placed
from slackwater.analysis.steady.terms import PlannedLeg
from slackwater.analysis.steady.track import Array, Track
from slackwater.analysis.steady.windows import Window, mean_course

OFF_AXIS = 30.0  # [deg] from the line that the runs are made on
SCALE = 0.05  # of speed: how far a leg may be from its set point's speed, one standard deviation
LEAST_SCALE = 0.3  # [kn]
LEFT_OUT = 4.5  # what it costs to leave a leg or a planned run out: three standard deviations
ROUNDS = 8
LEAST_FOUND = 0.5  # of the plan; less is another outing's


@dataclass(frozen=True, slots=True)
class Alignment:
    """For each leg the index in the plan, -1 for none; and what the whole costs."""

    planned: tuple[int, ...]
    cost: float


def axis_of(courses: Array) -> float:
    """The line that most courses lie on, either way. [deg, 0 to 180]"""
    doubled = np.radians(2 * courses)
    first = np.degrees(np.arctan2(np.sin(doubled).mean(), np.cos(doubled).mean())) / 2
    off = (courses - first + 90.0) % 180.0 - 90.0
    return float((first + np.median(off)) % 180.0)


def by_order(track: Track, windows: Sequence[Window], plan: Sequence[PlannedLeg]) -> list[Placed]:
    """Each window at the set point that its turn in the plan has."""
    if not windows:
        return []
    courses = np.array([mean_course(track, window) for window in windows])
    speeds = np.array([float(track.speed[window.cells].mean()) for window in windows])
    axis = axis_of(courses)
    off = (courses - axis + 180.0) % 360.0 - 180.0
    sign = np.where(np.abs(off) <= OFF_AXIS, 1, np.where(np.abs(off) >= 180.0 - OFF_AXIS, -1, 0))
    both = [(out, _settled(speeds, out * sign, plan)) for out in (1, -1)]
    out, best = min(both, key=lambda pair: pair[1].cost)
    if sum(each >= 0 for each in best.planned) < LEAST_FOUND * len(plan):
        return [Placed(w, None, "not planned: no order of the plan fits the legs") for w in windows]
    return [
        _placed(w, k, s, plan) for w, k, s in zip(windows, best.planned, sign * out, strict=True)
    ]


def _placed(window: Window, index: int, sign: int, plan: Sequence[PlannedLeg]) -> Placed:
    if index >= 0:
        return Placed(window, plan[index].set_point, direction=plan[index].direction)
    if sign == 0:
        return Placed(window, None, "not planned: off the line of the runs")
    return Placed(window, None, "not planned: no run of the plan is left that it could be")


def _settled(speeds: Array, sign: Array, plan: Sequence[PlannedLeg]) -> Alignment:
    """Align, read the speeds of the set points off it, and align anew until it stands."""
    points = np.array([leg.set_point for leg in plan])
    ways = np.array([{"out": 1, "back": -1}.get(leg.direction, 0) for leg in plan])
    expected = _by_rank(speeds[sign != 0], points)
    found = align(speeds, sign, expected, ways)
    for _ in range(ROUNDS):
        again = align(speeds, sign, _expected(speeds, found, points, ways), ways)
        if again.planned == found.planned:
            break
        found = again
    return found


def _by_rank(speeds: Array, points: Array) -> Array:
    """First guess of each planned run's speed: as high among the legs as its set point in the plan."""
    if not speeds.size:
        return np.zeros(points.size)
    values, where = np.unique(points, return_inverse=True)
    rank = np.array([(points < v).mean() + (points == v).mean() / 2 for v in values])
    return np.asarray(np.quantile(speeds, rank)[where])


def _expected(speeds: Array, found: Alignment, points: Array, ways: Array) -> Array:
    """What each planned run's speed is, by what is aligned with its set point, current and all."""
    rows = np.flatnonzero(np.array(found.planned) >= 0)
    if not rows.size:
        return _by_rank(speeds, points)
    at = np.array(found.planned)[rows]
    values = np.unique(points)
    level = np.array([
        np.median(speeds[rows[points[at] == v]]) if (points[at] == v).any() else np.nan for v in values
    ])  # fmt: skip
    there = np.isfinite(level)
    level = np.interp(values, values[there], np.maximum.accumulate(level[there]))
    by_point = np.asarray(np.interp(points, values, level))
    current = float(np.median(ways[at] * (speeds[rows] - by_point[at]))) if ways.any() else 0.0
    return np.asarray(by_point + ways * current)


def align(speeds: Array, sign: Array, expected: Array, ways: Array) -> Alignment:
    """The cheapest way to lay two rows beside each other in order, some of either left out.

    Parameters
    ----------
    speeds, sign : ndarray, shape (legs,)
        Speed [kn] and direction along the line of each leg; 0 is off the line and fits nothing.
    expected, ways : ndarray, shape (planned,)
        The same of the plan; 0 is a direction that is not told and fits both.
    """
    legs, planned = speeds.size, expected.size
    scale = np.maximum(SCALE * expected, LEAST_SCALE)
    match = ((speeds[:, None] - expected) / scale) ** 2 / 2
    fits = (sign[:, None] != 0) & ((ways == 0) | (sign[:, None] == ways))
    match = np.where(fits, match, np.inf)
    cost = np.zeros((legs + 1, planned + 1))
    cost[:, 0], cost[0] = LEFT_OUT * np.arange(legs + 1), LEFT_OUT * np.arange(planned + 1)
    for i in range(legs):
        for j in range(planned):
            cost[i + 1, j + 1] = min(
                cost[i, j] + match[i, j], cost[i, j + 1] + LEFT_OUT, cost[i + 1, j] + LEFT_OUT
            )
    chosen, i, j = [-1] * legs, legs, planned
    while i and j:
        if cost[i, j] == cost[i - 1, j - 1] + match[i - 1, j - 1]:
            i, j = i - 1, j - 1
            chosen[i] = j
        elif cost[i, j] == cost[i - 1, j] + LEFT_OUT:
            i -= 1
        else:
            j -= 1
    return Alignment(tuple(chosen), float(cost[-1, -1]))
