"""Tracks of turning circles to scale: as recorded and with the drift taken out, port and starboard."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.handling.path import Path
from slackwater.analysis.handling.turning import TurningCircle
from slackwater.analysis.report.drawing import canvas
from slackwater.analysis.report.drawing.scale import Frame, span
from slackwater.analysis.report.drawing.thinning import followed
from slackwater.analysis.report.svg import FAINT, GREEN, INK, RULE, VERMILION

Array = NDArray[np.float64]

WIDTH = 331.0  # [px] two stand side by side on a wide page, one fills a phone
COLORS = {"port": VERMILION, "starboard": GREEN}
LEAST = 20.0  # [m] that a picture shows, so that no noise fills it
MARKED = ("time_to_90", "time_to_180", "time_to_360")
CAPTION = (
    "The approach comes from below, ● is where the helm was put over; red turned to port, green to starboard. "
    "Solid: with the drift taken out, marks where she had turned by 90, 180 and 360 degrees. Dashed: over ground. "
    "All to one scale."
)

Ends = tuple[float, float, float, float]


def extent(circles: Iterable[TurningCircle]) -> Ends:
    """Left, right, bottom and top of what all circles cover, approach upwards: several pictures share it. [m]"""
    ways = [
        _turned(circle, path) for circle in circles for path in (circle.over_ground, circle.freed)
    ]
    across = [float(f(x)) for x, _ in ways for f in (np.min, np.max)] or [0.0]
    along = [float(f(y)) for _, y in ways for f in (np.min, np.max)] or [0.0]
    return min(across), max(across), min(along), max(along)


def turning_tracks(circles: Sequence[TurningCircle], label: str, ends: Ends | None = None) -> str:
    """The tracks of some turns about the places where the helm was put over; empty without any.

    Parameters
    ----------
    circles : sequence of TurningCircle
    label : str
        What it shows, in words.
    ends : (float, float, float, float), optional
        What it shows the extent of; without it that of the circles. [m]
    """
    if not circles:
        return ""
    frame = _frame(ends or extent(circles))
    pixel = (frame.x[1] - frame.x[0]) / (frame.right - frame.left)
    elements = [canvas.line((frame.at_x(0), frame.top), (frame.at_x(0), frame.bottom), RULE, 0.6)]
    for circle in circles:
        color = COLORS[circle.side]
        elements.append(
            _way(frame, *_turned(circle, circle.over_ground), pixel, color, dashed=True)
        )
        if circle.drift is not None:
            elements.append(_way(frame, *_turned(circle, circle.freed), pixel, color, dashed=False))
            elements += _marks(frame, circle, color)
    elements.append(canvas.mark("o", frame.at(0, 0), 2.4, INK))
    return canvas.svg([*elements, *_bar(frame)], WIDTH, frame.bottom + 18, label)


def _turned(circle: TurningCircle, path: Path) -> tuple[Array, Array]:
    """The path about the order, turned so that the approach goes up. [m, m]"""
    return _about(circle, path, path.east, path.north)


def _about(circle: TurningCircle, path: Path, east: Array, north: Array) -> tuple[Array, Array]:
    begin = np.array([min(max(circle.order, path.span[0]), path.span[1])])
    middle_east, middle_north = (float(each[0]) for each in path.at(begin))
    angle = math.radians(circle.course if circle.course is not None else _first_course(circle))
    e, n = east - middle_east, north - middle_north
    return e * math.cos(angle) - n * math.sin(angle), e * math.sin(angle) + n * math.cos(angle)


def _first_course(circle: TurningCircle) -> float:
    """Course at the order, where there is no approach. [deg]"""
    seconds, angles = circle.freed.course()
    return float(np.interp(circle.order, seconds, angles))


def _frame(ends: Ends) -> Frame:
    """A frame in which a metre is as long one way as the other, no taller than it is wide."""
    room = WIDTH - 16
    (left, right), (low, high) = span(ends[:2]), span(ends[2:])
    metres = max(right - left, high - low, LEAST)
    tall = max((high - low) / metres * room, 60.0)
    across, up = (left + right) / 2, (low + high) / 2
    half, half_up = metres / 2, metres / 2 * tall / room
    return Frame(8, 6, WIDTH - 8, 6 + tall, (across - half, across + half), (up - half_up, up + half_up))  # fmt: skip


def _way(
    frame: Frame, across: Array, along: Array, pixel: float, color: str, *, dashed: bool
) -> str:
    x, y = followed(across, along, pixel / 4)
    points = [frame.at(*each) for each in zip(x.tolist(), y.tolist(), strict=True)]
    return canvas.polyline(points, color, 0.9 if dashed else 1.5, "3 2.5" if dashed else "")


def _marks(frame: Frame, circle: TurningCircle, color: str) -> list[str]:
    """Where she had turned by quarter, half and whole turns."""
    times = [circle.figures[name].value for name in MARKED]
    moments = np.array([circle.order + time for time in times if time is not None])
    moments = moments[moments <= circle.freed.span[1]]
    across, along = _about(circle, circle.freed, *circle.freed.at(moments))
    places = zip(across.tolist(), along.tolist(), strict=True)
    return [canvas.mark("s", frame.at(*each), 2.0, color, filled=False) for each in places]


def _bar(frame: Frame) -> list[str]:
    """A bar of a round length, and what it is."""
    metres = frame.x[1] - frame.x[0]
    power = 10.0 ** math.floor(math.log10(metres / 4))
    length = next(each * power for each in (5.0, 2.0, 1.0) if each * power <= metres / 4)
    wide = length / metres * (frame.right - frame.left)
    y = frame.bottom + 11
    rule = canvas.line((frame.left, frame.bottom + 4), (frame.right, frame.bottom + 4), FAINT, 0.5)
    bar = canvas.line((frame.left, y), (frame.left + wide, y), INK, 1.2)
    return [rule, bar, canvas.text((frame.left + wide + 5, y + 3), f"{length:g} m, approach upwards", size=8.5)]  # fmt: skip
