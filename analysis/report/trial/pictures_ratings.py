"""The picture of what people scored: a row a rater, every score a mark."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from slackwater.analysis.report.drawing import canvas
from slackwater.analysis.report.drawing.scale import Frame
from slackwater.analysis.report.svg import FAINT, RULE
from slackwater.analysis.report.trial.looks import look, short
from slackwater.analysis.report.trial.pictures import WIDTH, legend

_ROW = 17.0  # of one configuration of one rater [px]
_STACK = 5.0  # between scores that are alike [px]
_MOST_TICKS = 11


def scores(
    rows: Sequence[dict[str, Any]],
    item: dict[str, Any],
    configurations: dict[str, str],
    label: str,
) -> str:
    """Every score of one item: a line for each rater and configuration, with the mean as a bar.

    Parameters
    ----------
    rows : sequence of dict
        Of the result's table of scores; those that count.
    item : dict
        Its row of the table of ratings: the scale and its anchors.
    configurations : dict
        Id to title, in the order declared.
    label : str
        What the picture shows, for who cannot see it.
    """
    raters = list(dict.fromkeys(str(row["rater"]) for row in rows))
    fitted = [name for name in configurations if any(r["configuration"] == name for r in rows)]
    looks = {name: look(list(configurations), name) for name in fitted}
    elements, top = legend([(short(configurations[name]), *looks[name]) for name in fitted])
    block = _ROW * len(fitted) + 7
    left = 14 + max(canvas.text_width(short(rater), 9.0) for rater in raters)
    bottom = top + block * len(raters)
    low, high = item["lowest"], item["highest"]
    frame = Frame(left, top, WIDTH - 12, bottom, (low - 0.5, high + 0.5), (0.0, 1.0))
    for number, rater in enumerate(raters):
        y = top + number * block
        elements.append(canvas.line((left, y), (WIDTH - 12, y), RULE, 0.6))
        middle = y + block / 2 + 3
        elements.append(canvas.text((left - 6, middle), short(rater), anchor="end", size=9.0))
        for place, name in enumerate(fitted):
            mine = [r["score"] for r in rows if r["rater"] == rater and r["configuration"] == name]
            elements += _line(frame, mine, y + 4 + _ROW * (place + 0.5), looks[name])
    elements += frame.x_axis(_ticks(low, high))
    foot = bottom + 27
    ends = ((left, item["lowest_means"], "start"), (WIDTH - 12, item["highest_means"], "end"))
    for x, words, anchor in ends:
        elements.append(canvas.text((x, foot), short(words), anchor=anchor, size=9.0, color=FAINT))
    return canvas.svg(elements, WIDTH, foot + 6, label)


def _line(frame: Frame, mine: Sequence[float], y: float, looks: tuple[str, str]) -> list[str]:
    """Scores of one rater with one configuration; those alike stand side by side."""
    color, shape = looks
    found = []
    for score, count in sorted(Counter(mine).items()):
        first = frame.at_x(score) - _STACK * (count - 1) / 2
        found += [canvas.mark(shape, (first + _STACK * i, y), 2.4, color) for i in range(count)]
    if mine:
        x = frame.at_x(sum(mine) / len(mine))
        found.append(canvas.line((x, y - 7), (x, y + 7), color, 1.6))
    return found


def _ticks(low: int, high: int) -> dict[float, str]:
    step = max(1, -(-(high - low + 1) // _MOST_TICKS))
    return {float(place): str(place) for place in range(low, high + 1, step)}
