"""The pictures of an outing: speed and what was held over time, and the track, with the runs marked."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.logs.channels import Channel
from slackwater.analysis.logs.survey import GAP_STEPS, SHORTEST_GAP, usual_step
from slackwater.analysis.report.drawing import canvas
from slackwater.analysis.report.drawing.clock import clock_ticks
from slackwater.analysis.report.drawing.scale import Frame, span, tick_texts, ticks
from slackwater.analysis.report.drawing.thinning import followed, outermost, parted, thinned
from slackwater.analysis.report.logs.outings import Outing
from slackwater.analysis.report.svg import BLUE, FAINT, INK, RULE, VERMILION
from slackwater.analysis.steady.cutting import CutRun
from slackwater.analysis.wording.numbers import unit_text
from slackwater.analysis.wording.words import quantity_title

Array = NDArray[np.float64]

WIDTH = 331.0  # [px] two stand side by side on a wide page, one fills a phone
_PANEL, _GAP, _TOP, _FOOT = 104.0, 12.0, 16.0, 20.0  # [px]
_COLORS = {"out": VERMILION, "back": BLUE}
_PALE = 0.22  # how strongly the stretch of a run is coloured
_METRES = 60.0 * 1852.0  # in a degree of latitude
MOST_POINTS = 3000  # of one way
FARTHEST = 100_000.0  # [m] from the middle; what is farther is a wrong fix and not drawn
_MARKED = 3.0  # [px]; a stretch this wide has room for the mark of its direction


def over_time(outing: Outing, label: str) -> str:
    """Speed over ground and below it what was held, over one clock; empty without either."""
    shown = [outing.channels[q] for q in ("speed_over_ground", outing.held) if q in outing.channels]
    if not shown:
        return ""
    midnight = (outing.span[0] + outing.offset) // 86400 * 86400 - outing.offset
    hours = tuple((each - midnight) / 3600 for each in outing.span)
    x = span(hours, 0.01)
    elements: list[str] = []
    left = max(_left(channel) for channel in shown)
    for number, channel in enumerate(shown):
        top = _TOP + number * (_PANEL + _GAP)
        frame = Frame(left, top, WIDTH - 14, top + _PANEL, x, _range(channel))
        elements += _bands(frame, outing.runs, midnight, marks=number == 0)
        elements += _y_axis(frame, channel)
        times = clock_ticks(*x, finest=1 / 60) if channel is shown[-1] else {}
        elements += frame.x_axis(times)
        elements += _curve(frame, channel, midnight)
    height = _TOP + len(shown) * (_PANEL + _GAP) - _GAP + _FOOT
    return canvas.svg(elements, WIDTH, height, label)


def _range(channel: Channel) -> tuple[float, float]:
    """From nought, where nothing is below it."""
    low, high = float(channel.values.min()), float(channel.values.max())
    return (0.0, 1.06 * high) if low >= 0 < high else span([low, high])


def _left(channel: Channel) -> float:
    texts = tick_texts(ticks(*_range(channel), 5))
    return 24 + max(canvas.text_width(words, 9.0) for words in texts)


def _y_axis(frame: Frame, channel: Channel) -> list[str]:
    places = ticks(*frame.y, 5)
    title = f"{quantity_title(channel.quantity)} [{unit_text(channel.unit)}]"
    return frame.y_axis(dict(zip(places, tick_texts(places), strict=True)), title)


def _bands(frame: Frame, runs: Iterable[CutRun], midnight: float, *, marks: bool) -> list[str]:
    """The stretches that runs were cut from; those set aside in outline."""
    found = []
    for run in runs:
        begin = frame.at_x((run.start - midnight) / 3600)
        end = frame.at_x((run.start + run.duration - midnight) / 3600)
        corners = [(begin, frame.top), (end, frame.top), (end, frame.bottom), (begin, frame.bottom)]
        color = FAINT if run.set_aside else _COLORS.get(run.direction, INK)
        found.append(canvas.area(corners, color, _PALE))
        if marks and end - begin >= _MARKED:
            shape = "x" if run.set_aside else {"out": ">", "back": "<"}.get(run.direction, "o")
            found.append(canvas.mark(shape, ((begin + end) / 2, frame.top - 4), 2.3, color))
    return found


def _curve(frame: Frame, channel: Channel, midnight: float) -> list[str]:
    """The values, two for each column of the picture, broken where there are none."""
    columns = int(frame.right - frame.left)
    a_column = 3600 * (frame.x[1] - frame.x[0]) / columns
    found = []
    for part in parted(channel.seconds, max(_silence(channel.seconds), a_column)):
        hours = (channel.seconds[part] - midnight) / 3600
        x, y = thinned(hours, channel.values[part], frame.x, columns)
        points = [frame.at(*each) for each in zip(x.tolist(), y.tolist(), strict=True)]
        if len(points) == 1:
            found.append(canvas.mark("o", points[0], 0.6, INK))
        else:
            found.append(canvas.polyline(points, INK, 0.8))
    return found


def _silence(seconds: Array) -> float:
    """A pause longer than this is a gap. [s]"""
    return max(GAP_STEPS * (usual_step(seconds) or 1.0), SHORTEST_GAP)


def track(outing: Outing, label: str) -> tuple[str, int]:
    """The way made as seen from above, north up, and how many positions are too far to be drawn.

    Empty where no positions were recorded.
    """
    way = _metres(outing)
    if way is None:
        return "", 0
    seconds, east, north, wild = way
    if not seconds.size:
        return "", wild
    frame = _square(east, north)
    pixel = (frame.x[1] - frame.x[0]) / (frame.right - frame.left)
    elements = []
    for part in parted(seconds, _silence(seconds)):
        elements.append(_line(frame, east[part], north[part], pixel, FAINT, 0.7))
    for run in outing.runs:
        a, b = np.searchsorted(seconds, [run.start, run.start + run.duration])
        if b - a > 1 and not run.set_aside:
            color = _COLORS.get(run.direction, INK)
            elements.append(_line(frame, east[a:b], north[a:b], pixel, color, 2.0))
    return canvas.svg([*elements, *_scale_bar(frame)], WIDTH, frame.bottom + 18, label), wild


def _metres(outing: Outing) -> tuple[Array, Array, Array, int] | None:
    """Seconds, metres east and north of the middle, and how many positions are wild."""
    latitude, longitude = (outing.channels.get(q) for q in ("latitude", "longitude"))
    if latitude is None or longitude is None:
        return None
    seconds = np.intersect1d(latitude.seconds, longitude.seconds)
    if not seconds.size:
        return None
    degrees = [c.values[np.searchsorted(c.seconds, seconds)] for c in (latitude, longitude)]
    level = float(np.median(degrees[0]))
    north = (degrees[0] - level) * _METRES
    around = np.exp(1j * np.radians(degrees[1])).mean()  # so that the date line parts nothing
    turn = (degrees[1] - float(np.degrees(np.angle(around))) + 180.0) % 360.0 - 180.0
    east = (turn - float(np.median(turn))) * _METRES * np.cos(np.radians(level))
    near = np.hypot(east, north) <= FARTHEST
    return seconds[near], east[near], north[near], int((~near).sum())


def _square(east: Array, north: Array) -> Frame:
    """A frame in which a metre is as long one way as the other, no taller than it is wide."""
    room = WIDTH - 16
    (left, right), (low, high) = (span([float(v.min()), float(v.max())]) for v in (east, north))
    metres = max(right - left, high - low, 10.0)
    tall = max((high - low) / metres * room, 60.0)
    across, up = (left + right) / 2, (low + high) / 2
    half = metres / 2
    return Frame(
        8, 6, WIDTH - 8, 6 + tall,
        (across - half, across + half), (up - half * tall / room, up + half * tall / room),
    )  # fmt: skip


def _line(frame: Frame, east: Array, north: Array, pixel: float, color: str, width: float) -> str:
    x, y = _drawn_way(east, north, pixel)
    points = [frame.at(*each) for each in zip(x.tolist(), y.tolist(), strict=True)]
    return canvas.polyline(points, color, width)


def _drawn_way(east: Array, north: Array, pixel: float) -> tuple[Array, Array]:
    """A way to within half a pixel; of one that scribbles, as at a berth, how far it goes."""
    cells = np.round(np.stack([east, north]) / (pixel / 2))
    moved = np.append(True, (np.diff(cells) != 0).any(axis=0))
    moved[-1] = True
    return followed(*outermost(east[moved], north[moved], MOST_POINTS), pixel / 4)


def _scale_bar(frame: Frame) -> list[str]:
    """A bar of a round length, and what it is."""
    metres = frame.x[1] - frame.x[0]
    power = 10.0 ** np.floor(np.log10(metres / 4))
    length = next(float(each * power) for each in (5, 2, 1) if each * power <= metres / 4)
    wide = length / metres * (frame.right - frame.left)
    y = frame.bottom + 11
    words = f"{length / 1000:g} km" if length >= 1000 else f"{length:g} m"
    bar = canvas.line((frame.left, y), (frame.left + wide, y), INK, 1.2)
    ends = canvas.line((frame.left, frame.bottom + 4), (frame.right, frame.bottom + 4), RULE, 0.5)
    return [ends, bar, canvas.text((frame.left + wide + 5, y + 3), f"{words}, north up", size=8.5)]
