"""The track of a turn as it is drawn and kept: about the place of the order, the approach upwards."""

from __future__ import annotations

import math

import numpy as np

from slackwater.analysis.handling.path import Array, Path
from slackwater.analysis.handling.turning import TurningCircle
from slackwater.analysis.intake.try_provenance import Point, TurnTrack

MARKED = ("time_to_90", "time_to_180", "time_to_360")
MOST_POINTS = 120  # of one track; two circles of 80 m then stray from their chords by 6 cm


def track_of(circle: TurningCircle) -> TurnTrack:
    """The track of a turn, to a centimetre."""
    freed = None if circle.drift is None else _points(circle, circle.freed)
    return TurnTrack(
        side=circle.side,
        over_ground=_points(circle, circle.over_ground),
        freed=freed,
        marks=() if freed is None else _marks(circle),
    )


def _points(circle: TurningCircle, path: Path) -> tuple[Point, ...]:
    step = max(1, math.ceil(path.seconds.size / MOST_POINTS))
    kept = np.unique(np.append(np.arange(0, path.seconds.size, step), path.seconds.size - 1))
    return _about(circle, path, path.east[kept], path.north[kept])


def _marks(circle: TurningCircle) -> tuple[Point, ...]:
    """Where she had turned by quarter, half and whole turns."""
    times = [circle.figures[name].value for name in MARKED]
    moments = np.array([circle.order + time for time in times if time is not None])
    moments = moments[moments <= circle.freed.span[1]]
    return _about(circle, circle.freed, *circle.freed.at(moments))


def _about(circle: TurningCircle, path: Path, east: Array, north: Array) -> tuple[Point, ...]:
    begin = np.array([min(max(circle.order, path.span[0]), path.span[1])])
    middle_east, middle_north = (float(each[0]) for each in path.at(begin))
    angle = math.radians(circle.course if circle.course is not None else _first_course(circle))
    e, n = east - middle_east, north - middle_north
    across = np.round(e * math.cos(angle) - n * math.sin(angle), 2)
    along = np.round(e * math.sin(angle) + n * math.cos(angle), 2)
    return tuple(zip(across.tolist(), along.tolist(), strict=True))


def _first_course(circle: TurningCircle) -> float:
    """Course at the order, where there is no approach. [deg]"""
    seconds, angles = circle.freed.course()
    return float(np.interp(circle.order, seconds, angles))
