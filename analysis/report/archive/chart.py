"""The control chart of the reference boat: each session against its limits, and where it shifted."""

from __future__ import annotations

from datetime import date

from slackwater.analysis.many.reference_boat import ReferenceChart
from slackwater.analysis.report.drawing import canvas
from slackwater.analysis.report.drawing.scale import Frame, span, tick_texts, ticks
from slackwater.analysis.report.svg import BLUE, FAINT, INK, VERMILION
from slackwater.analysis.wording.numbers import change_scale
from slackwater.analysis.wording.words import quantity_title

WIDTH, _HEIGHT = 400.0, 180.0  # [px]
CAPTION = (
    "Each session of the reference boat, against what she usually does: limits of individual values "
    "dashed, moving average as a line, sessions beyond the limits filled."
)


def picture(each: ReferenceChart) -> str:
    """The chart of individuals with the moving average, as an inline SVG."""
    series, chart = each.series, each.chart
    scale = change_scale(series.scale, series.unit)
    days = [date.fromisoformat(point.day).toordinal() for point in series.points]
    values = [_of(scale.of(value)) for value in chart.values.tolist()]
    limits = [_of(scale.of(value)) for value in (chart.low, chart.centre, chart.high)]
    places = ticks(*span([*values, *limits], 0.06))
    texts = tick_texts(places, signed=True)
    left = 24 + max(canvas.text_width(words, 9.0) for words in texts)
    frame = Frame(
        left, 12, WIDTH - 10, _HEIGHT - 30, span([float(d) for d in days], 0.03),
        span([*values, *limits], 0.06),
    )  # fmt: skip
    title = f"{quantity_title(series.quantity)} [{scale.unit}]"
    elements = frame.y_axis(dict(zip(places, texts, strict=True)), title, grid=False)
    elements += frame.x_axis({float(d): date.fromordinal(d).isoformat() for d in days})
    for value, dashes in zip(limits, ("5 3", "", "5 3"), strict=True):
        ends = frame.at(frame.x[0], value), frame.at(frame.x[1], value)
        elements.append(canvas.line(*ends, FAINT, 1.0, dashes))
    if each.shift_begins is not None:
        x = frame.at_x(date.fromisoformat(each.shift_begins).toordinal())
        elements.append(canvas.line((x, frame.top), (x, frame.bottom), VERMILION, 1.2, "2 2"))
        side = "start" if x < WIDTH * 0.7 else "end"
        elements.append(
            canvas.text(
                (x + (4 if side == "start" else -4), frame.top - 3),  # clear of the limits
                f"shift from {each.shift_begins}",
                anchor=side,
                size=9.0,
            )
        )
    average = [_of(scale.of(value)) for value in chart.average.tolist()]
    elements.append(
        canvas.polyline([frame.at(d, v) for d, v in zip(days, average, strict=True)], INK, 1.2)
    )
    for number, (day, value) in enumerate(zip(days, values, strict=True)):
        out = number in chart.beyond
        shape, color = ("D", VERMILION) if out else ("o", BLUE)
        elements.append(canvas.mark(shape, frame.at(day, value), 3.0, color, out))
    label = f"Control chart of {series.boat}, {quantity_title(series.quantity)}"
    return canvas.svg(elements, WIDTH, _HEIGHT, label)


def _of(value: float | None) -> float:
    return float("nan") if value is None else value
