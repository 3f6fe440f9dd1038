"""Where the samples of a table begin, what parts its cells, and what each column holds."""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from slackwater.analysis.intake.everyday import meant_by
from slackwater.analysis.intake.grid import visible
from slackwater.analysis.intake.headings import squash
from slackwater.analysis.logs.points import Key
from slackwater.analysis.logs.table_times import Times, times_of
from slackwater.analysis.logs.table_words import DATE, ELAPSED, Meaning, Told, meaning_of
from slackwater.protocol.units.quantity import convert

SEPARATORS = (",", ";", "\t", "|")
_ROWS_LOOKED_AT = 400
_LEAST_CELLS = 2
_LONGEST_NAME = 80  # of a source
_MISSING = frozenset({"", "-", "--", "---", "n/a", "na", "nan", "null", "none", "#n/a"})
_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+")
_POINT = re.compile(r"[+-]?[0-9]+\.[0-9]+")


@dataclass(frozen=True, slots=True)
class ColumnOfSamples:
    """A column that is read: value in the unit of its quantity = slope · cell + offset."""

    index: int
    key: Key
    slope: float = 1.0
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class TableHead:
    """How a table of samples is to be read.

    Parameters
    ----------
    separator, decimal : str
    first : int
        Line of the first row of samples, counted from 1.
    width : int
        Cells in a row.
    time_columns : tuple of int
        One, or a date's and a time's.
    times : Times or None
        None where no column is a time.
    columns : tuple of ColumnOfSamples
    headings : tuple of str
        All of them.
    unread : tuple of str
        Headings that stand for nothing known here.
    unitless : tuple of str
        Headings whose quantity is known and whose unit is not.
    """

    separator: str
    decimal: str
    first: int
    width: int
    time_columns: tuple[int, ...]
    times: Times | None
    columns: tuple[ColumnOfSamples, ...]
    headings: tuple[str, ...]
    unread: tuple[str, ...]
    unitless: tuple[str, ...]

    @property
    def usable(self) -> bool:
        """Whether it says when, and something besides."""
        return self.times is not None and bool(self.columns)

    @property
    def of_runs(self) -> bool:
        """Whether its headings are those of a run table, a row of it a run."""
        columns = ("session", "set_point", "double_run", "direction")
        names = {meant_by(each, columns) for each in self.headings}
        exact = {name for name in columns if squash(name) in map(squash, self.headings)}
        return ("set_point" in names | exact and len(names | exact - {""}) > 2) or len(exact) > 1


def encoding_of(head: bytes) -> str:
    """UTF-8, or Windows-1252 where it is not that."""
    decoder = codecs.getincrementaldecoder("utf-8-sig")()
    try:
        decoder.decode(head)
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8-sig" if head.startswith(codecs.BOM_UTF8) else "utf-8"


def cells_of(line: str, separator: str) -> list[str]:
    """The cells of a row; what stands in quotation marks is one cell."""
    if '"' not in line:
        return line.split(separator)
    import csv

    try:
        whole = [line.replace("\r", " ")]
        return next(csv.reader(whole, delimiter=separator, skipinitialspace=True), [])
    except csv.Error:  # a cell beyond all bounds
        return []


def find_head(head: bytes, told: Told) -> TableHead | None:
    """The heading that most columns are known by, with what follows it; None where there is none."""
    lines = re.split(r"\r\n|\n|\r", head.decode(encoding_of(head), "replace"))
    if len(lines) > 2:
        lines = lines[:-1]  # the last may be cut off
    best: tuple[int, TableHead] | None = None
    for separator in SEPARATORS:
        rows = [cells_of(line, separator) for line in islice(lines, _ROWS_LOOKED_AT)]
        for at, row in enumerate(rows[:-1]):
            scored = _scored(rows, at, row, separator, told)
            if scored is not None and (best is None or scored[0] > best[0]):
                best = scored
    return best and best[1]


def _scored(
    rows: Sequence[Sequence[str]], at: int, row: Sequence[str], separator: str, told: Told
) -> tuple[int, TableHead] | None:
    """How many columns of a row are known, as a heading; None for what is none."""
    if len(row) < _LEAST_CELLS or not _is_heading(row):
        return None
    below = rows[at + 1]
    has_units = _is_units(below, len(row))
    units = below if has_units else [""] * len(row)
    meanings = [meaning_of(h.strip(), u.strip(), told) for h, u in zip(row, units, strict=True)]
    first = at + 1 + has_units
    samples = [each for each in rows[first:] if _fits(each, len(row))]
    if not samples:
        return None
    head = _head(row, meanings, samples, separator, first + 1, told)
    known = len(head.columns) + len(head.unitless)
    return (2 * known + 3 * (head.times is not None) if known or head.times else 0), head


def _is_heading(row: Sequence[str]) -> bool:
    """Whether there are words in it, and no cell is a number."""
    filled = [cell.strip() for cell in row if cell.strip()]
    return len(filled) >= _LEAST_CELLS and not any(c[0].isdigit() or c[0] in "+-" for c in filled)


def _is_units(row: Sequence[str], width: int) -> bool:
    if len(row) != width or not _is_heading(row):
        return False
    return sum(cell.strip()[:1] in "([" for cell in row if cell.strip()) * 2 > width


def _fits(row: Sequence[str], width: int) -> bool:
    """Whether a row has a cell for each heading; a separator at its end makes one more."""
    return len(row) == width or (len(row) == width + 1 and not row[-1].strip())


def is_missing(cell: str) -> bool:
    """Whether a cell says that there is no value."""
    return cell.strip().casefold() in _MISSING


def _head(
    row: Sequence[str],
    meanings: Sequence[Meaning],
    samples: Sequence[Sequence[str]],
    separator: str,
    first: int,
    told: Told,
) -> TableHead:
    headings = tuple(cell.strip() for cell in row)
    columns, unitless = [], []
    for index, meaning in enumerate(meanings):
        if not meaning.name or meaning.is_time:
            continue
        if not meaning.unit:
            unitless.append(headings[index])
            continue
        unit = told.unit_of(meaning.name)
        offset = convert(0.0, meaning.unit, unit)
        slope = convert(1.0, meaning.unit, unit) - offset
        source = visible(headings[index].replace("\t", " "))[:_LONGEST_NAME]
        if headings.count(headings[index]) > 1:
            source += f" (column {index + 1})"  # two of one name are two sources
        key = meaning.name, source
        columns.append(ColumnOfSamples(index, key, slope, offset))
    place, times = _times(headings, meanings, samples, told)
    unread = tuple(h for h, m in zip(headings, meanings, strict=True) if h and not m.name)
    decimal = _decimal([each[c.index] for c in columns for each in samples], separator)
    return TableHead(
        separator, decimal, first, len(row), place, times, tuple(columns), headings, unread, tuple(unitless)
    )  # fmt: skip


def _decimal(cells: Sequence[str], separator: str) -> str:
    commas = sum(_COMMA.fullmatch(cell.strip()) is not None for cell in cells)
    points = sum(_POINT.fullmatch(cell.strip()) is not None for cell in cells)
    return "," if separator != "," and commas > points else "."


def _times(
    headings: Sequence[str],
    meanings: Sequence[Meaning],
    samples: Sequence[Sequence[str]],
    told: Told,
) -> tuple[tuple[int, ...], Times | None]:
    """The columns that tell when: with a date before those without, in UTC before others."""
    found = [
        (place, times)
        for place, meaning in _candidates(headings, meanings)
        if (times := _written(place, meaning, headings, samples, told)) is not None
    ]
    if not found:
        return (), None
    ranks = {"utc": 0, "time of day": 1, "since start": 2, "none": 3}
    return min(found, key=lambda each: (ranks[each[1].clock], "utc" not in _name(headings, each[0])))  # fmt: skip


def _candidates(
    headings: Sequence[str], meanings: Sequence[Meaning]
) -> Iterator[tuple[tuple[int, ...], Meaning]]:
    """Columns of times, each by itself and behind a column of dates."""
    dates = [i for i, meaning in enumerate(meanings) if meaning.name == DATE]
    for index, meaning in enumerate(meanings):
        if meaning.is_time:
            yield (index,), meaning
            if meaning.name not in (DATE, ELAPSED):
                yield from (((date, index), meaning) for date in dates)


def _name(headings: Sequence[str], place: tuple[int, ...]) -> str:
    return " ".join(headings[index] for index in place).casefold()


def _written(
    place: tuple[int, ...],
    meaning: Meaning,
    headings: Sequence[str],
    samples: Sequence[Sequence[str]],
    told: Told,
) -> Times | None:
    cells = [joined(row, place) for row in samples]
    cells = [cell for cell in cells if not is_missing(cell)]
    times = times_of(cells, meaning.unit, told.dates, since=meaning.name == ELAPSED)
    if times is None or "utc" not in _name(headings, place):
        return times
    if times.clock == "since start":
        return None  # digits of a clock, run together
    return replace(times, notes=()) if times.clock == "utc" else times


def joined(row: Sequence[str], place: tuple[int, ...]) -> str:
    """A time out of the cells of a row; of a date and a time in one text."""
    return " ".join(row[index].strip() for index in place)
