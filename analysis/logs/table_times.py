"""Times in the rows of a table: moments, times of day, seconds since something, in the ways that loggers write."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from math import nan

import numpy as np

from slackwater.analysis.logs.channels import Clock
from slackwater.protocol.units.quantity import convert

DAY_FIRST, MONTH_FIRST = "day first", "month first"
#: A unit that nothing else is measured in here.
MILLISECONDS = "ms"
_DAY_ZERO = 25569  # 1970-01-01 as spreadsheets number days
_CLOCK = r"(?P<hour>[0-9]{1,2}):(?P<minute>[0-9]{2})(?::(?P<second>[0-9]{2}(?:[.,][0-9]+)?))?\s*(?P<half>[ap]\.?m\.?)?"
_OF_DAY = re.compile(rf"T?{_CLOCK}Z?", re.IGNORECASE)
_OTHER_ORDER = re.compile(
    rf"(?P<one>[0-9]{{1,2}})[./-](?P<two>[0-9]{{1,2}})[./-](?P<year>[0-9]{{4}}|[0-9]{{2}})[ T,]+{_CLOCK}",
    re.IGNORECASE,
)
_SINCE = re.compile(r"(?:(?P<hours>[0-9]+):)?(?P<minutes>[0-9]{1,3}):(?P<seconds>[0-9]{2}(?:[.,][0-9]+)?)")  # fmt: skip
_ZONE_NAME = re.compile(r"\s*(?:GMT|UTC)$", re.IGNORECASE)
_BEFORE_OFFSET = re.compile(r"\s*(?:GMT|UTC)?\s*(?=[+-][0-9]{2}:?[0-9]{2}$)", re.IGNORECASE)
#: Numbers that count from 1970, by their size: in seconds, milliseconds, microseconds, nanoseconds.
_EPOCHS = ((1e8, 1e10, 1.0), (1e11, 1e13, 1e-3), (1e14, 1e16, 1e-6), (1e17, 1e19, 1e-9))


@dataclass(frozen=True, slots=True)
class Times:
    """How the times of a table are written.

    Parameters
    ----------
    clock : Clock
        What they count from.
    read : callable
        From a cell to seconds; NaN for what is none. [s]
    notes : tuple of str
        What has to be said of it.
    """

    clock: Clock
    read: Callable[[str], float]
    notes: tuple[str, ...] = ()


def times_of(cells: Sequence[str], unit: str, dates: str, *, since: bool) -> Times | None:
    """How cells of a time column are written, by the first of them; None where they are no times.

    Parameters
    ----------
    cells : sequence of str
        The first, blank ones left out.
    unit : str
        Of its heading; empty for none.
    dates : str
        "day first", "month first", or empty where nobody said.
    since : bool
        Whether the heading says that time has passed.
    """
    if not cells:
        return None
    for found in (_numbered(cells, unit, since), _iso(cells), _ordered(cells, dates)):
        if found is not None:
            return found
    if since and _most(cells, _since):
        return Times("since start", _since, (_NO_START,))
    if _most(cells, _of_day):
        return Times("time of day", _of_day, (_NO_DATE,))
    return None


_NO_START = "no date in the log: seconds count from a start that it does not name"
_NO_DATE = "no date in the log: times are times of day, as the logger has them"
_NO_ZONE = (
    "times are written without a zone and taken for UTC; where they are those of the place, leave --ahead-of-utc "
    "out, and give no log in UTC beside it"
)


def _most(cells: Sequence[str], read: Callable[[str], float]) -> bool:
    """Whether most cells can be read so."""
    return int(np.isfinite([read(cell) for cell in cells]).sum()) * 2 > len(cells)


def number(text: str) -> float:
    """A number as loggers write it; NaN for anything else."""
    try:
        value = float(text)
    except ValueError:
        return nan
    return value if abs(value) < 1e300 and "_" not in text else nan


def _numbered(cells: Sequence[str], unit: str, since: bool) -> Times | None:
    """Seconds since 1970 or since a start, or days as spreadsheets number them."""
    values = np.array([_counted(cell) for cell in cells])
    values = values[np.isfinite(values)]
    if values.size * 2 <= len(cells):
        return None
    middle = float(np.median(values))
    scale = next((each for low, high, each in _EPOCHS if low < middle < high), None)
    if scale is not None:
        return Times("utc", lambda text: _counted(text) * scale)
    between = np.diff(values)
    if not (unit or since) and 20_000 < middle < 80_000 and between.size and between.max() < 0.01:
        return Times("utc", lambda text: (_counted(text) - _DAY_ZERO) * 86400.0, (_NO_ZONE,))
    if middle > _EPOCHS[0][0] or values.min() < 0:
        return None
    seconds = 1e-3 if unit == MILLISECONDS else convert(1.0, unit, "s") if unit else 1.0
    return Times("since start", lambda text: _counted(text) * seconds, (_NO_START,))


def _counted(text: str) -> float:
    return number(text.replace(",", "."))


def _iso(cells: Sequence[str]) -> Times | None:
    if not _most(cells, iso_seconds):
        return None
    bare = sum(_moment(cell).tzinfo is None for cell in cells if np.isfinite(iso_seconds(cell)))
    return Times("utc", iso_seconds, (_NO_ZONE,) if bare else ())


def _moment(text: str) -> datetime:
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        tidy = _ZONE_NAME.sub("Z", _BEFORE_OFFSET.sub("", text.strip()))
        return datetime.fromisoformat(tidy.replace("/", "-"))


def iso_seconds(text: str) -> float:
    """A moment in ISO 8601, or nearly; what has no zone is taken for UTC. [s since 1970]"""
    if ":" not in text or len(text) < 14:  # a day is no moment
        return nan
    try:
        moment = _moment(text)
        return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()
    except (ValueError, OverflowError):
        return nan


def _ordered(cells: Sequence[str], dates: str) -> Times | None:
    """Dates with the day or the month first: as the trial says, or as a day beyond 12 shows."""
    found = [match for cell in cells if (match := _OTHER_ORDER.fullmatch(cell.strip()))]
    if len(found) * 2 <= len(cells):
        return None
    order = dates if dates in (DAY_FIRST, MONTH_FIRST) else _shown_order(found)
    if order:
        return Times("utc", lambda text: _of_order(text, order), (_NO_ZONE,))
    shown = found[0].group()
    note = (
        f"'{shown}' does not say which is the day and which the month: times are taken as times of day; the "
        "trial's 'dates: day first' or 'dates: month first' tells it"
    )
    return Times("time of day", _clock_of_moment, (note,))


def _shown_order(found: Sequence[re.Match[str]]) -> str:
    if any(int(match["one"]) > 12 for match in found):
        return DAY_FIRST
    return MONTH_FIRST if any(int(match["two"]) > 12 for match in found) else ""


def _of_order(text: str, order: str) -> float:
    match = _OTHER_ORDER.fullmatch(text.strip())
    if match is None:
        return nan
    day, month = (match["one"], match["two"]) if order == DAY_FIRST else (match["two"], match["one"])  # fmt: skip
    year = int(match["year"]) + (2000 if len(match["year"]) == 2 else 0)
    try:
        days = date(year, int(month), int(day)).toordinal() - date(1970, 1, 1).toordinal()
    except ValueError:
        return nan
    return days * 86400.0 + _seconds_of_day(match)


def _clock_of_moment(text: str) -> float:
    match = _OTHER_ORDER.fullmatch(text.strip())
    return nan if match is None else _seconds_of_day(match)


def _of_day(text: str) -> float:
    """A time of day. [s since midnight]"""
    match = _OF_DAY.fullmatch(text.strip())
    return nan if match is None else _seconds_of_day(match)


def _seconds_of_day(match: re.Match[str]) -> float:
    hour, minute = int(match["hour"]), int(match["minute"])
    second = float((match["second"] or "0").replace(",", "."))
    half = (match["half"] or "").casefold()
    if half:
        hour = hour % 12 + (12 if half.startswith("p") else 0)
    return hour * 3600 + minute * 60 + second if hour < 24 and minute < 60 and second < 61 else nan


def _since(text: str) -> float:
    """Time passed, as hours, minutes and seconds. [s]"""
    match = _SINCE.fullmatch(text.strip())
    if match is None:
        return nan
    rest = float(match["seconds"].replace(",", "."))
    return int(match["hours"] or 0) * 3600 + int(match["minutes"]) * 60 + rest
