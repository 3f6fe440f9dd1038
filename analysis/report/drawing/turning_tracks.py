"""Tracks of turning circles to scale: as recorded and with the drift taken out, port and starboard."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np

from slackwater.analysis.intake.try_provenance import Point, TurnTrack
from slackwater.analysis.report.drawing import canvas
from slackwater.analysis.report.drawing.scale import Frame, span
from slackwater.analysis.report.drawing.thinning import followed
from slackwater.analysis.report.svg import FAINT, GREEN, INK, RULE, VERMILION

WIDTH = 331.0  # [px] two stand side by side on a wide page, one fills a phone
COLORS = {"port": VERMILION, "starboard": GREEN}
LEAST = 20.0  # [m] that a picture shows, so that no noise fills it
CAPTION = (
    "The approach comes from below, ● is where the helm was put over; red turned to port, green to starboard. "
    "Solid: with the drift taken out, marks where she had turned by 90, 180 and 360 degrees. Dashed: over ground. "
    "All to one scale."
)

Ends = tuple[float, float, float, float]


def extent(tracks: Iterable[TurnTrack], *, freed: bool = False) -> Ends:
    """Left, right, bottom and top of what all tracks cover, or of those with the drift taken out: pictures share it. [m]"""
    points = [point for track in tracks for way in _ways(track, freed=freed) for point in way]
    across, along = [x for x, _ in points] or [0.0], [y for _, y in points] or [0.0]
    return min(across), max(across), min(along), max(along)


def _ways(track: TurnTrack, *, freed: bool) -> list[tuple[Point, ...]]:
    """The ways that are drawn: both, or only the one with the drift taken out, where there is one."""
    if track.freed is None:
        return [track.over_ground]
    return [track.freed] if freed else [track.over_ground, track.freed]


def turning_tracks(
    tracks: Sequence[TurnTrack], label: str, ends: Ends | None = None, *, freed: bool = False
) -> str:
    """The tracks of some turns about the places where the helm was put over; empty without any.

    Parameters
    ----------
    tracks : sequence of TurnTrack
    label : str
        What it shows, in words.
    ends : (float, float, float, float), optional
        What it shows the extent of; without it that of the tracks. [m]
    freed : bool
        Whether the way over ground is left out where the drift is known.
    """
    if not tracks:
        return ""
    frame = _frame(ends or extent(tracks, freed=freed))
    pixel = (frame.x[1] - frame.x[0]) / (frame.right - frame.left)
    elements = [canvas.line((frame.at_x(0), frame.top), (frame.at_x(0), frame.bottom), RULE, 0.6)]
    for track in tracks:
        color = COLORS[track.side]
        for way in _ways(track, freed=freed):
            elements.append(_way(frame, way, pixel, color, dashed=way is track.over_ground))
        elements += [
            canvas.mark("s", frame.at(*at), 2.0, color, filled=False) for at in track.marks
        ]
    elements.append(canvas.mark("o", frame.at(0, 0), 2.4, INK))
    return canvas.svg([*elements, *_bar(frame)], WIDTH, frame.bottom + 18, label)


def _frame(ends: Ends) -> Frame:
    """A frame in which a metre is as long one way as the other, no taller than it is wide."""
    room = WIDTH - 16
    (left, right), (low, high) = span(ends[:2]), span(ends[2:])
    metres = max(right - left, high - low, LEAST)
    tall = max((high - low) / metres * room, 60.0)
    across, up = (left + right) / 2, (low + high) / 2
    half, half_up = metres / 2, metres / 2 * tall / room
    return Frame(8, 6, WIDTH - 8, 6 + tall, (across - half, across + half), (up - half_up, up + half_up))  # fmt: skip


def _way(frame: Frame, points: Sequence[Point], pixel: float, color: str, *, dashed: bool) -> str:
    across, along = np.array(points, float).T
    x, y = followed(across, along, pixel / 4)
    places = [frame.at(*each) for each in zip(x.tolist(), y.tolist(), strict=True)]
    return canvas.polyline(places, color, 0.9 if dashed else 1.5, "3 2.5" if dashed else "")


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
