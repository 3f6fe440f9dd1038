"""The picture of what was tried: a column a session, every try a mark, the value of the session a bar."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from slackwater.analysis.report.drawing import canvas
from slackwater.analysis.report.drawing.scale import Frame, tick_texts, ticks
from slackwater.analysis.report.svg import FAINT, RULE
from slackwater.analysis.report.trial.looks import look, short
from slackwater.analysis.report.trial.pictures import WIDTH, legend

_HEIGHT = 190.0  # [px]
_MARKS = ("o", "^")  # of the first direction, and of the second
_MOST_NAMES = 14  # sessions that are named below the picture


def tries(
    rows: Sequence[dict[str, Any]],
    values: Sequence[dict[str, Any]],
    configurations: dict[str, str],
    ways: Sequence[str],
    label: str,
) -> str:
    """Every try of one value, session by session.

    Parameters
    ----------
    rows : sequence of dict
        Of the result's table of tries; those of the value that count.
    values : sequence of dict
        Its rows of the table of session values, in the order run.
    configurations : dict
        Id to title, in the order declared.
    ways : sequence of str
        The directions, as tables write them.
    label : str
        What the picture shows, for who cannot see it.
    """
    sessions = list(
        dict.fromkeys([*(row["session"] for row in values), *(r["session"] for r in rows)])
    )
    fitted = {row["session"]: row["configuration"] for row in (*values, *rows)}
    names = [name for name in configurations if name in fitted.values()]
    colors = {name: look(list(configurations), name)[0] for name in names}
    entries = [(short(configurations[name]), colors[name], "s") for name in names]
    entries += [(way, FAINT, mark) for way, mark in zip(ways, _MARKS, strict=False) if way]
    elements, top = legend(entries)
    seen = [row["value"] for row in rows]
    low, high = min(seen), max(seen)
    room = 0.06 * (high - low) or abs(high) * 0.05 or 1.0
    at = ticks(low - room, high + room, 6)
    texts = tick_texts(at)
    left = 16 + max((canvas.text_width(each, 9.0) for each in texts), default=10.0)
    top += 14  # the unit stands above the axis
    frame = Frame(
        left, top, WIDTH - 12, top + _HEIGHT, (0.0, float(len(sessions))), (low - room, high + room)
    )
    unit = next((row["unit"] for row in rows if row["unit"]), "")
    elements.append(canvas.text((left - 6, top - 6), unit, anchor="end", size=9.0, color=FAINT))
    for place, text in zip(at, texts, strict=True):
        y = frame.at_y(place)
        elements.append(canvas.line((left, y), (WIDTH - 12, y), RULE, 0.6))
        elements.append(canvas.text((left - 6, y + 3), text, anchor="end", size=9.0))
    level = {row["session"]: row["value"] for row in values}
    every = max(1, -(-len(sessions) // _MOST_NAMES))
    for number, session in enumerate(sessions):
        mine = [row for row in rows if row["session"] == session]
        color = colors[fitted[session]]
        for place, row in enumerate(mine):
            x = frame.at_x(number + 0.2 + 0.6 * (place + 0.5) / len(mine))
            mark = _MARKS[ways.index(row["direction"])] if row["direction"] in ways else _MARKS[0]
            elements.append(canvas.mark(mark, (x, frame.at_y(row["value"])), 2.4, color))
        if session in level:
            y = frame.at_y(level[session])
            ends = frame.at_x(number + 0.12), frame.at_x(number + 0.88)
            elements.append(canvas.line((ends[0], y), (ends[1], y), color, 1.6))
        if number % every == 0:
            middle = frame.at_x(number + 0.5), top + _HEIGHT + 13
            elements.append(canvas.text(middle, short(session)[:8], anchor="middle", size=9.0))
    return canvas.svg(elements, WIDTH, top + _HEIGHT + 20, label)
