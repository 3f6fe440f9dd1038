"""Tables of samples over time to channels: any columns, a row a moment."""

from __future__ import annotations

from array import array
from collections import Counter
from collections.abc import Sequence
from math import nan

import numpy as np

from slackwater.analysis.logs.blocks import COMMENT
from slackwater.analysis.logs.channels import Log, Numbers
from slackwater.analysis.logs.clocks import unwrapped
from slackwater.analysis.logs.meaning import NO_NUMBER
from slackwater.analysis.logs.opening import Opened, refused
from slackwater.analysis.logs.points import Points
from slackwater.analysis.logs.table_head import (
    ColumnOfSamples,
    TableHead,
    cells_of,
    encoding_of,
    find_head,
    is_missing,
    joined,
)
from slackwater.analysis.logs.table_times import number
from slackwater.analysis.logs.table_words import Told

NAME = "table of samples"
RAGGED = "row with more or fewer cells than there are headings"
BLANK = "cell left empty, or marked as without a value"
NO_CLOCK = "row whose time cannot be read"
_MOST_NAMED = 20


def read_table(opened: Opened, head: TableHead, told: Told) -> Log:
    """Read a table whose heading was found.

    Raises
    ------
    InputError
        When no row of it is a sample.
    """
    if head.times is None:
        raise ValueError("a table without a time is no log")
    points = Points(NAME, "table", head.times.clock, apart=True, units=told.measures)
    encoding = encoding_of(opened.head())
    line = 0
    for block in opened.blocks():
        lines = block.decode(encoding, "replace").split("\n")[:-1]
        _take(points, head, lines, line)
        line += len(lines)
    points.count = line
    points.notes += [*head.times.notes, *_about_columns(head)]
    if head.times.clock == "time of day":
        _over_midnight(points)
    _spread(points)
    return points.log(opened)


def _take(points: Points, head: TableHead, lines: Sequence[str], before: int) -> None:
    """Read one block."""
    rows, numbers = [], []
    for at, text in enumerate(lines, before + 1):
        if at < head.first or not text.strip():
            continue
        if text.startswith("#"):
            points.faults[COMMENT] += 1
            continue
        cells = cells_of(text.rstrip("\r"), head.separator)
        if len(cells) != head.width and not (len(cells) == head.width + 1 and not cells[-1].strip()):  # fmt: skip
            points.faults[RAGGED] += 1
            continue
        rows.append(cells)
        numbers.append(at)
    seconds = _seconds(head, rows)
    points.faults[NO_CLOCK] += int(np.isnan(seconds).sum())
    there = np.isfinite(seconds).tolist()
    kept = [row for row, good in zip(rows, there, strict=True) if good]
    values = {
        column.key: _values(kept, column, head.decimal, points.faults) for column in head.columns
    }
    points.extend(
        [n for n, good in zip(numbers, there, strict=True) if good], seconds[there], values
    )


def _seconds(head: TableHead, rows: Sequence[Sequence[str]]) -> Numbers:
    if head.times is None:
        return np.full(len(rows), nan)
    read = head.times.read
    if len(head.time_columns) == 1:
        at = head.time_columns[0]
        return np.array([read(row[at].strip()) for row in rows], float)
    return np.array([read(joined(row, head.time_columns)) for row in rows], float)


def _values(
    rows: Sequence[Sequence[str]], column: ColumnOfSamples, decimal: str, faults: Counter[str]
) -> array[float]:
    """One column of a block, in the unit of its quantity."""
    cells = [row[column.index] for row in rows]
    if decimal == ",":
        cells = ["?" if "." in cell else cell.replace(",", ".") for cell in cells]
    values = np.array([number(cell) for cell in cells], float)
    without = np.flatnonzero(np.isnan(values)).tolist()
    blank = sum(is_missing(cells[at]) for at in without)
    faults[BLANK] += blank
    faults[NO_NUMBER] += len(without) - blank
    return array("d", (column.slope * values + column.offset).tobytes())


def _over_midnight(points: Points) -> None:
    points.seconds = array("d", unwrapped(np.array(points.seconds)).tobytes())


def _spread(points: Points) -> None:
    """Lay rows evenly whose stamps are coarser than they come: several a second, stamped by the second."""
    seconds = np.array(points.seconds)
    if seconds.size < 3 or len(points.columns) == 0:
        return
    filled = np.isfinite(np.array(next(iter(points.columns.values()))))
    if filled.sum() < 3 or (np.diff(seconds[filled]) == 0).mean() <= 0.5:
        return  # or rows of several instruments, each with its own columns filled
    steps = np.diff(seconds)
    starts = np.flatnonzero(np.concatenate([[True], steps != 0]))
    counts = np.diff(np.append(starts, seconds.size))
    moving = steps[steps > 0]
    width = float(np.median(moving)) if moving.size else 1.0
    within = np.arange(seconds.size) - np.repeat(starts, counts)
    usual = np.maximum(np.repeat(counts, counts), np.median(counts))
    points.seconds = array("d", (seconds + width * within / usual).tobytes())
    points.notes.append(
        f"several rows have one time ({np.median(counts):.0f} usually): they are laid evenly over {width:g} s"
    )


def _about_columns(head: TableHead) -> list[str]:
    """What of the table was not read, by heading."""
    notes = []
    if head.unitless:
        notes.append(
            f"columns left out, since nothing tells their unit: {_listed(head.unitless)}; a heading tells it in "
            "brackets, or the trial's 'units:'"
        )
    if head.unread:
        notes.append(f"columns not read: {_listed(head.unread)}")
    return notes


def _listed(headings: Sequence[str]) -> str:
    shown = ", ".join(f"'{_plain(each)}'" for each in headings[:_MOST_NAMED])
    more = len(headings) - _MOST_NAMED
    return f"{shown} and {more} more" if more > 0 else shown


def _plain(text: str) -> str:
    return "".join(c if c.isprintable() else "?" for c in text)[:60]


_CONVERT = (
    "give it as the trial's 'runs:'; slackwater new trial --runs FILE proposes a trial for it, and its 'columns' "
    "say what each heading means"
)


def refuse_table(opened: Opened, head: TableHead) -> None:
    """Stop on a table that is a run table, or that does not say when, or what.

    Raises
    ------
    InputError
    """
    if head.of_runs:
        raise refused(
            opened.path,
            "log-is-run-table",
            f"is a table of runs, a row a run, and no log: its headings are {_listed(head.headings)}",
            _CONVERT,
        )
    if head.usable:
        return
    lacks = (
        "no column of it that says when could be read"
        if head.times is None
        else f"the unit of {_listed(head.unitless)} is not told"
        if head.unitless
        else "no other heading than that of the time is known"
    )
    raise refused(
        opened.path,
        "log-columns-unknown",
        f"is a table, and {lacks}; its headings are {_listed(head.headings)}",
        "name them in a trial and give that with --trial: columns: {start: 'heading of the time', "
        "speed_over_ground: 'heading of the speed'}, units: {speed_over_ground: kn}; where a row is a run, "
        + _CONVERT,
    )


def table_head(opened: Opened, head: bytes, told: Told) -> TableHead | None:
    """The heading of a table that can be read; None for what is no table by its headings.

    Raises
    ------
    InputError
        When it is one, and cannot be used.
    """
    found = find_head(head, told)
    if found is None or not (found.columns or found.unitless or found.times):
        return None
    refuse_table(opened, found)
    return found
