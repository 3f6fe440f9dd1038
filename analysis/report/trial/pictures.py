"""The pictures of the differences and of the noise."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from slackwater.analysis.report.drawing import canvas
from slackwater.analysis.report.drawing.scale import Frame, span, tick_texts, ticks
from slackwater.analysis.report.svg import BLUE, FAINT, INK, SHADE
from slackwater.analysis.report.trial.blocks import SPEEDS, Block, Row, by_position, split_at
from slackwater.analysis.report.trial.looks import STRETCHES, VERDICT_MARKS, look, short
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.wording.numbers import Scale, change_scale, unit_text, value_scale
from slackwater.analysis.wording.words import quantity_title

WIDTH = 331.0  # [px] two stand side by side on a wide page, one fills a phone
_FOOT = 34.0  # for ticks and title of the horizontal axis
_ROW = 19.0  # of a forest


def _axis_label(title: str, unit: str) -> str:
    return f"{title} [{unit}]" if unit else title


def _positions(rows: Sequence[Row]) -> tuple[dict[str, float], str]:
    """Where each place stands along the axis, and the axis' unit; numbered when it has no number."""
    ordered = list(dict.fromkeys(row["at"] or "" for row in by_position(list(rows))))
    known = {row["at"] or "": row["position"] for row in rows}
    if any(known[at] is None for at in ordered):
        return {at: float(index) for index, at in enumerate(ordered)}, ""
    return {at: float(known[at]) for at in ordered}, split_at(ordered[0])[1] if ordered else ""


def _frame(
    where: Mapping[str, float],
    unit: str,
    y: tuple[float, float],
    top: float,
    height: float,
    right: float,
) -> tuple[Frame, list[str], list[float]]:
    """The frame of a sweep with its axes' labels, and the ticks of the vertical axis."""
    x = span(where.values(), 0.04 if unit else 0.2)
    places = ticks(*y)
    left = 24 + max(canvas.text_width(words, 9.0) for words in tick_texts(places, signed=True))
    frame = Frame(left, top, WIDTH - right, height - _FOOT, x, y)
    return frame, _x_axis(frame, where, unit), places


def _x_axis(frame: Frame, where: Mapping[str, float], unit: str) -> list[str]:
    if not unit:
        return frame.x_axis({place: short(at) for at, place in where.items()})
    title = _axis_label("speed" if unit in SPEEDS else "set point", unit_text(unit))
    places = ticks(*frame.x)
    return frame.x_axis(dict(zip(places, tick_texts(places), strict=True)), title)


def legend(entries: Sequence[tuple[str, str, str]]) -> tuple[list[str], float]:
    """Names with their marks above a picture, and the room that they take. [px]"""
    found, x, y = [], 4.0, 12.0
    for title, color, shape in entries:
        wide = 26 + canvas.text_width(title)
        if x > 4 and x + wide > WIDTH:
            x, y = 4.0, y + 14
        found.append(canvas.line((x, y - 3), (x + 16, y - 3), color, 1.4))
        found.append(canvas.mark(shape, (x + 8, y - 3), 2.6, color))
        found.append(canvas.text((x + 21, y), title))
        x += wide + 8
    return found, y + 8 if entries else 4.0


def sweep(
    rows: Sequence[Row], configurations: dict[str, str], label: str, proven: Sequence[Row] = ()
) -> str:
    """One quantity over the set points: a mark and a line for each configuration, with its band."""
    where, unit = _positions(rows)
    scale = value_scale(rows[0]["unit"])
    curves = {
        name: mine
        for name in configurations
        if (
            mine := [
                row
                for row in by_position(list(rows))
                if row["configuration"] == name and row["mean"] is not None
            ]
        )
    }
    looks = {name: look(list(configurations), name) for name in curves}
    names, top = legend([(short(configurations[name]), *looks[name]) for name in curves])
    ends = [scale.of(row[key]) for row in rows for key in ("mean", "low", "high")]
    y = span(end for end in ends if end is not None)
    shown = [row for row in proven if row["verdict"] in STRETCHES] if unit else []
    if shown:
        y = (y[0] - 0.12 * (y[1] - y[0]), y[1])
    height = 200.0 + top
    frame, elements, places = _frame(where, unit, y, top, height, 8)
    title = _axis_label(quantity_title(rows[0]["quantity"]), scale.unit)
    elements += frame.y_axis(dict(zip(places, tick_texts(places), strict=True)), title)
    for name, mine in curves.items():
        elements += _curve(frame, mine, where, scale, looks[name], bool(unit))
    elements += _proven(frame, shown)
    return canvas.svg([*names, *elements], WIDTH, height, label)


def _curve(
    frame: Frame,
    rows: Sequence[Row],
    where: Mapping[str, float],
    scale: Scale,
    looks: tuple[str, str],
    joined: bool,
) -> list[str]:
    """One configuration: its band, its interval at each place, its line and its marks."""
    color, shape = looks
    ends = [
        (where[row["at"] or ""], low, high)
        for row in rows
        if (low := scale.of(row["low"])) is not None and (high := scale.of(row["high"])) is not None
    ]
    found = []
    if joined and len(ends) > 1:
        outline = [frame.at(x, low) for x, low, _ in ends]
        outline += [frame.at(x, high) for x, _, high in reversed(ends)]
        found.append(canvas.area(outline, color, 0.16))
    found += [canvas.line(frame.at(x, low), frame.at(x, high), color, 1.2) for x, low, high in ends]
    points = [frame.at(where[row["at"] or ""], scale.of(row["mean"]) or 0.0) for row in rows]
    if joined and len(points) > 1:
        found.append(canvas.polyline(points, color))
    return [*found, *(canvas.mark(shape, point, 2.6, color) for point in points)]


def _proven(frame: Frame, stretches: Sequence[Row]) -> list[str]:
    """A bar along the foot of the picture where a difference is shown, with the word over it."""
    found = []
    y = frame.bottom - 5
    for row in stretches:
        color = STRETCHES[row["verdict"]]
        x = frame.at_x(row["from"]), frame.at_x(row["to"])
        found.append(canvas.line((x[0], y), (x[1], y), color, 4.0))
        if x[1] - x[0] > canvas.text_width(row["verdict"], 8.0):
            middle = sum(x) / 2
            found.append(canvas.text((middle, y - 5), row["verdict"], anchor="middle", size=8.0))
    return found


def forest(block: Block, label: str) -> str:
    """The changes of one block: a row a place, with interval, noise floor and worthwhile."""
    names = [short(row.at or "") for row in block.rows]
    verdicts = [str(row.verdict) for row in block.rows]
    left = 8 + max(canvas.text_width(name, 9.0) for name in names)
    right = 8 + max(canvas.text_width(word, 9.0) for word in verdicts)
    height = 12 + _ROW * len(names) + _FOOT
    low, high = span(_reaches(block))
    y = (len(names) - 0.5, -0.5)
    frame = Frame(
        left, 8, WIDTH - right, height - _FOOT, (min(low, -high / 8), max(high, -low / 8)), y
    )
    places = ticks(*frame.x)
    elements = []
    for index, row in enumerate(block.rows):
        elements += _forest_row(frame, block, row, index)
        foot = frame.at_y(index) + 3
        elements.append(canvas.text((left - 6, foot), names[index], anchor="end", size=9.0))
        elements.append(canvas.text((WIDTH - right + 6, foot), verdicts[index], size=9.0))
    zero = frame.at_x(0.0)
    elements.insert(0, canvas.line((zero, frame.top), (zero, frame.bottom), FAINT, 0.9))
    title = _axis_label(f"change in {block.title}", block.change.unit)
    middle = (frame.left + frame.right) / 2
    if canvas.text_width(title) > 2 * min(middle, WIDTH - middle):
        # what stands beside the row as well is not said again where it would be cut off
        title = _axis_label(f"change in {block.title.partition(' (')[0]}", block.change.unit)
    words = dict(zip(places, tick_texts(places, signed=True), strict=True))
    return canvas.svg([*elements, *frame.x_axis(words, title)], WIDTH, height, label)


def _reaches(block: Block) -> Iterable[float]:
    """All that a forest has to hold."""
    scale = block.change
    yield 0.0
    for row in block.rows:
        for value in (row.change, row.low, row.high):
            if (shown := scale.of(value)) is not None:
                yield shown
        for value in (row.noise_floor, row.worthwhile):
            if (shown := scale.of(value)) is not None:
                yield from (-shown, shown)


def _forest_row(frame: Frame, block: Block, row: Compared, index: int) -> list[str]:
    scale, y = block.change, frame.at_y(index)
    found = []
    if (floor := scale.of(row.noise_floor)) is not None:
        corners = (frame.at_x(-floor), y - 0.39 * _ROW), (frame.at_x(floor), y + 0.39 * _ROW)
        found.append(canvas.box(*corners, SHADE))
    if (worthwhile := scale.of(row.worthwhile)) is not None:
        for bound in (-worthwhile, worthwhile):
            x = frame.at_x(bound)
            found.append(canvas.line((x, y - _ROW / 2), (x, y + _ROW / 2), BLUE, 1.0, "3 2"))
    low, high = scale.of(row.low), scale.of(row.high)
    if low is not None and high is not None:
        found.append(canvas.line((frame.at_x(low), y), (frame.at_x(high), y), INK, 1.4))
    if (change := scale.of(row.change)) is not None:
        shape, filled = VERDICT_MARKS[row.verdict]
        found.append(canvas.mark(shape, (frame.at_x(change), y), 3.6, INK, filled))
    return found


def _against_baseline(rows: Sequence[Row], baseline: str, scale: str) -> list[dict[str, Any]]:
    """Each session's value against the baseline's mean at the same place."""
    found: dict[str, list[float]] = {}
    for row in rows:
        if row["configuration"] == baseline and row["value"] is not None:
            found.setdefault(row["at"] or "", []).append(float(row["value"]))
    printed = change_scale(scale, rows[0]["unit"])
    points = []
    for row in rows:
        base = found.get(row["at"] or "")
        if not base or row["value"] is None:
            continue
        mean = sum(base) / len(base)
        if scale == "ratio" and mean == 0:
            continue
        off = row["value"] / mean - 1.0 if scale == "ratio" else row["value"] - mean
        points.append({**row, "off": printed.of(off)})
    return points


def _spread(ends: list[tuple[float, str]], gap: float) -> list[tuple[float, str]]:
    """Move labels at line ends apart until none covers the next. [px, downwards]"""
    placed: list[tuple[float, str]] = []
    for y, words in sorted(ends):
        lowest = placed[-1][0] + gap if placed else y
        placed.append((max(y, lowest), words))
    shift = sum(a[0] - b[0] for a, b in zip(placed, sorted(ends), strict=True)) / max(len(ends), 1)
    return [(y - shift, words) for y, words in placed]


def sessions(
    rows: Sequence[Row], configurations: dict[str, str], baseline: str, scale: str, label: str
) -> str:
    """Every session of one quantity against the baseline's mean: what the noise is made of."""
    points = _against_baseline(rows, baseline, scale)
    where, unit = _positions(rows)
    lines: dict[str, list[dict[str, Any]]] = {}
    for point in by_position(points):
        lines.setdefault(str(point["session"]), []).append(point)
    fitted = list(dict.fromkeys(mine[0]["configuration"] for mine in lines.values()))
    looks = {name: look(list(configurations), name) for name in fitted}
    names, top = legend(
        [(short(configurations.get(name) or str(name)), *looks[name]) for name in fitted]
    )
    height = 205.0 + top
    right = 12 + max(canvas.text_width(short(name), 8.0) for name in lines)
    y = span([0.0, *(float(point["off"]) for point in points)])
    frame, elements, places = _frame(where, unit, y, top, height, right)
    title = f"{quantity_title(rows[0]['quantity'])} against mean of baseline"
    title = _axis_label(title, change_scale(scale, rows[0]["unit"]).unit)
    elements += frame.y_axis(dict(zip(places, tick_texts(places, signed=True), strict=True)), title)
    ends = []
    for session, mine in lines.items():
        color, shape = looks[mine[0]["configuration"]]
        drawn = [frame.at(where[point["at"] or ""], float(point["off"])) for point in mine]
        if unit and len(drawn) > 1:
            elements.append(canvas.polyline(drawn, color, 1.0))
        elements += [canvas.mark(shape, point, 2.0, color) for point in drawn]
        ends.append((drawn[-1][1], short(session)))
    for foot, words in _spread(ends, 9.0):
        elements.append(canvas.text((frame.right + 4, foot + 3), words, size=8.0))
    return canvas.svg([*names, *elements], WIDTH, height, label)
