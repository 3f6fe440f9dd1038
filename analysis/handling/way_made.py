"""What a boat made good between two moments: her speed with the drift taken out, her turn, her course."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from slackwater.analysis.handling.circles_found import BORROWED, Circles
from slackwater.analysis.handling.drift import Drift
from slackwater.analysis.handling.path import Array, Path
from slackwater.analysis.handling.wanted import Wanted
from slackwater.analysis.steady.track import KNOT

MOST_TURN = 30.0  # [deg] by which she may turn in a try along a line


def drift_near(circles: Circles, when: float) -> Drift | None:
    """What the nearest turn within half an hour told of the drift."""
    own = [c for c in circles.found if c.drift is not None and abs(c.order - when) <= BORROWED]
    near = min(own, key=lambda circle: abs(circle.order - when), default=None)
    return None if near is None or near.drift is None else replace(near.drift, uncertainty=None)


def through_water(wanted: Wanted, path: Path, circles: Circles) -> tuple[Path, bool]:
    """The path to read speeds from, and whether it is freed of what it has to be freed of."""
    if wanted.current != "drift_taken_out":
        return path, True
    drift = drift_near(circles, sum(path.span) / 2) or next(
        (circle.drift for circle in circles.found if circle.drift is not None), None
    )
    return (
        (path, False) if drift is None else (path.less(drift.east, drift.north, path.span[0]), True)
    )


def speed_of(path: Path) -> Array:
    """Its speed. [kn]"""
    return np.asarray(np.hypot(path.east_velocity, path.north_velocity) / KNOT)


def turned(way: Path, start: float, end: float) -> float:
    """By how much she turned between two moments; by her course, as soon as she made way. [s, deg]"""
    during = way.within(start, end)
    if during.heading.size >= 2:
        return float(np.ptp(during.heading))
    _, angles = during.course()
    fast = speed_of(during) > 3.0
    return float(np.ptp(np.unwrap(angles[fast], period=360.0))) if fast.sum() >= 2 else 0.0


def course_made(way: Path, start: float, end: float) -> float | None:
    """The way made between two moments. [s, deg]"""
    during = way.within(start, end)
    if during.seconds.size < 2:
        return None
    east, north = during.east[-1] - during.east[0], during.north[-1] - during.north[0]
    return math.degrees(math.atan2(float(east), float(north))) % 360.0
