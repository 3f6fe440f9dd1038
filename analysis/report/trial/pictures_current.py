"""The pictures of the current over time, an outing a panel."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from slackwater.analysis.report.drawing import canvas
from slackwater.analysis.report.drawing.clock import clock_ticks
from slackwater.analysis.report.drawing.scale import Frame, span, tick_texts, ticks
from slackwater.analysis.report.svg import BLUE, FAINT, INK, SKY, VERMILION
from slackwater.analysis.report.trial.blocks import Row
from slackwater.analysis.report.trial.looks import short
from slackwater.analysis.report.trial.pictures import WIDTH
from slackwater.analysis.wording.numbers import unit_text

_HEIGHT = 132.0  # [px]
_MARKS = {"out": (">", VERMILION), "back": ("<", BLUE)}


def _hours(rows: Sequence[Row], start: datetime) -> list[float]:
    """Hours since the midnight before the outing began, so that the axis reads as a clock."""
    midnight = start.replace(hour=0, minute=0, second=0, microsecond=0)
    return [
        (datetime.fromisoformat(row["at"]).replace(tzinfo=None) - midnight).total_seconds() / 3600
        for row in rows
    ]


def limits(curve: Sequence[Row], runs: Sequence[Row]) -> tuple[float, float]:
    """One range of current for all panels, so that they can be compared by eye."""
    keys = ("value", "low", "high")
    values = [row[key] for row in curve for key in keys if row[key] is not None]
    values += [row["value"] for row in runs if row["value"] is not None]
    return span([0.0, *values], 0.06)


def outing(
    curve: Sequence[Row], runs: Sequence[Row], between: tuple[float, float], label: str
) -> str:
    """The current along the course through one outing, with each run's own estimate."""
    rows = [*curve, *runs]
    start = datetime.fromisoformat(min(row["at"] for row in rows)).replace(tzinfo=None)
    x, seen = _hours(curve, start), _hours(runs, start)
    places = ticks(*between, 5)
    texts = tick_texts(places)
    left = 24 + max(canvas.text_width(words, 9.0) for words in texts)
    frame = Frame(left, 16, WIDTH - 8, _HEIGHT - 18, span([*x, *seen], 0.03), between)
    unit = unit_text(rows[0]["unit"])
    elements = frame.y_axis(dict(zip(places, texts, strict=True)), f"current [{unit}]", grid=False)
    elements += frame.x_axis(clock_ticks(*frame.x))
    elements.append(canvas.line(frame.at(frame.x[0], 0.0), frame.at(frame.x[1], 0.0), FAINT, 0.8))
    for hour, row in zip(seen, runs, strict=True):
        shape, color = _MARKS.get(row["direction"], (">", FAINT))
        elements.append(canvas.mark(shape, frame.at(hour, row["value"]), 2.3, color, False))
    elements += _line(frame, curve, x)
    named = short(", ".join(dict.fromkeys(row["session"] or "" for row in rows)))
    elements.append(canvas.text((left, 10), f"{named}   {start:%Y-%m-%d}", size=8.5))
    return canvas.svg(elements, WIDTH, _HEIGHT, label)


def _line(frame: Frame, curve: Sequence[Row], x: Sequence[float]) -> list[str]:
    """The current that was taken out, in its band."""
    if not curve:
        return []
    found = []
    if all(row["low"] is not None and row["high"] is not None for row in curve):
        band = [frame.at(hour, row["low"]) for hour, row in zip(x, curve, strict=True)]
        upper = [frame.at(hour, row["high"]) for hour, row in zip(x, curve, strict=True)]
        found.append(canvas.area([*band, *reversed(upper)], SKY, 0.4))
    points = [frame.at(hour, row["value"]) for hour, row in zip(x, curve, strict=True)]
    return [*found, canvas.polyline(points, INK)]


def usable(row: Row) -> bool:
    """Whether a row can be drawn: it has a value and a time."""
    return row["value"] is not None and bool(row["at"])
