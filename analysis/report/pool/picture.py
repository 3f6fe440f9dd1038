"""The forest of a pool: each boat at a place, the mean over boats, and the next one."""

from __future__ import annotations

from collections.abc import Iterator
from math import sqrt

from slackwater.analysis.many.pool_result import PooledPlace
from slackwater.analysis.report.drawing import canvas
from slackwater.analysis.report.drawing.scale import Frame, span, tick_texts, ticks
from slackwater.analysis.report.svg import BLUE, FAINT, INK, SHADE
from slackwater.analysis.report.trial.looks import short
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.wording.numbers import Scale, change_scale
from slackwater.analysis.wording.words import quantity_title

WIDTH = 331.0  # [px] as the pictures of a trial
_FOOT = 34.0  # for ticks and title of the horizontal axis
_ROW = 19.0
_LARGEST = 5.0  # radius of a mark that is all of the mean [px]


def forest(place: PooledPlace, label: str) -> str:
    """One place: a row a boat, marks by their part of the mean, then the mean and the next boat."""
    row = place.mean
    scale = change_scale(row.scale, row.unit)
    names = [*(short(each.boat) for each in place.boats), "mean of boats", "next boat"]
    words = [*("" for _ in place.boats), str(row.verdict), str(place.next_boat.verdict)]
    left = 8 + max(canvas.text_width(name, 9.0) for name in names)
    right = 8 + max(canvas.text_width(word, 9.0) for word in words)
    height = 12 + _ROW * len(names) + _FOOT
    frame = Frame(
        left,
        8,
        WIDTH - right,
        height - _FOOT,
        span(_reaches(place, scale)),
        (len(names) - 0.5, -0.5),
    )
    shaded = (frame.left, frame.at_y(len(names) - 2.5)), (frame.right, frame.bottom)
    elements = [canvas.box(*shaded, SHADE), *_ground(frame, row, scale)]
    elements += _boats(frame, place, scale)
    elements += _pooled(frame, row, scale, len(names) - 2)
    elements += _pooled(frame, place.next_boat, scale, len(names) - 1)
    for index, (name, word) in enumerate(zip(names, words, strict=True)):
        foot = frame.at_y(index) + 3
        elements.append(canvas.text((left - 6, foot), name, anchor="end", size=9.0))
        if word:
            elements.append(canvas.text((WIDTH - right + 6, foot), word, size=9.0))
    places = ticks(*frame.x)
    title = f"change in {quantity_title(row.quantity)}, {row.at}"
    title = f"{title} [{scale.unit}]" if scale.unit else title
    axis = frame.x_axis(dict(zip(places, tick_texts(places, signed=True), strict=True)), title)
    return canvas.svg([*elements, *axis], WIDTH, height, label)


def _reaches(place: PooledPlace, scale: Scale) -> Iterator[float]:
    """All that a forest has to hold."""
    yield 0.0
    values = [value for each in place.boats for value in (each.change, each.low, each.high)]
    for row in (place.mean, place.next_boat):
        values += [value for value in (row.low, row.high) if value is not None]
    for value in values:
        if (shown := scale.of(value)) is not None:
            yield shown


def _ground(frame: Frame, row: Compared, scale: Scale) -> list[str]:
    """The line of no change, and those of the worthwhile difference."""
    zero = frame.at_x(0.0)
    found = [canvas.line((zero, frame.top), (zero, frame.bottom), FAINT, 0.9)]
    if (worthwhile := scale.of(row.worthwhile)) is not None:
        for bound in (-worthwhile, worthwhile):
            if frame.x[0] < bound < frame.x[1]:
                x = frame.at_x(bound)
                found.append(canvas.line((x, frame.top), (x, frame.bottom), BLUE, 1.0, "3 2"))
    return found


def _boats(frame: Frame, place: PooledPlace, scale: Scale) -> Iterator[str]:
    for index, each in enumerate(place.boats):
        y = frame.at_y(index)
        ends = [frame.at_x(scale.of(value) or 0.0) for value in (each.low, each.high)]
        yield canvas.line((ends[0], y), (ends[1], y), INK, 1.2)
        size = max(_LARGEST * sqrt(each.weight), 1.5)
        yield canvas.mark("s", (frame.at_x(scale.of(each.change) or 0.0), y), size, INK)


def _pooled(frame: Frame, row: Compared, scale: Scale, index: int) -> Iterator[str]:
    """The interval of a statement on all boats, with a mark where its middle is."""
    y = frame.at_y(index)
    low, high = scale.of(row.low), scale.of(row.high)
    if low is not None and high is not None:
        yield canvas.line((frame.at_x(low), y), (frame.at_x(high), y), BLUE, 2.4)
    if (change := scale.of(row.change)) is not None and low is not None:
        yield canvas.mark("D", (frame.at_x(change), y), 3.6, BLUE)
