"""Starts as crews write them: the day or the month first, or a time of day only, where the trial says so."""

from __future__ import annotations

import re
from datetime import date, datetime, time

from slackwater.analysis.intake.grid import Cell, plain

YEAR_FIRST, DAY_FIRST, MONTH_FIRST, OF_SESSION = (
    "year first",
    "day first",
    "month first",
    "of the session",
)
_CLOCK = (
    r"(?P<hour>[0-9]{1,2})[:.h](?P<minute>[0-9]{2})(?:[:.](?P<second>[0-9]{2})(?:[.,][0-9]+)?)?"
    r"\s*(?P<half>[ap]\.?m\.?)?"
)
_TIME = re.compile(_CLOCK, re.IGNORECASE)
_MOMENT = re.compile(
    r"(?P<first>[0-9]{1,2})[./\- ](?P<next>[0-9]{1,2})[./\- ](?P<year>[0-9]{4}|[0-9]{2})[ T,]+"
    + _CLOCK,
    re.IGNORECASE,
)


def written_moment(text: str, dates: str) -> datetime | None:
    """A date with a time, day or month first; None where the text is none.

    Raises
    ------
    ValueError
        When it has the form, and there is no such day or time.
    """
    found = _MOMENT.fullmatch(text)
    if found is None or dates not in (DAY_FIRST, MONTH_FIRST):
        return None
    first, then = int(found["first"]), int(found["next"])
    day, month = (first, then) if dates == DAY_FIRST else (then, first)
    year = int(found["year"]) + (2000 if len(found["year"]) == 2 else 0)
    return datetime.combine(date(year, month, day), _time(found))


def written_time(cell: Cell) -> time | None:
    """A time of day; None where the cell is none.

    Raises
    ------
    ValueError
        When it has the form, and there is no such time.
    """
    if isinstance(cell, time):
        return cell
    found = _TIME.fullmatch(cell.strip()) if isinstance(cell, str) else None
    return None if found is None else _time(found)


def _time(found: re.Match[str]) -> time:
    hour, half = int(found["hour"]), (found["half"] or "").casefold()
    if half and not 1 <= hour <= 12:
        raise ValueError(f"hour must be in 1..12 before {half}")
    if half:
        hour = hour % 12 + (12 if half.startswith("p") else 0)
    return time(hour, int(found["minute"]), int(found["second"] or 0))


def joined(day: Cell, clock: Cell) -> str:
    """A date and a time that stand in two cells, as one text; what a spreadsheet typed as ISO 8601."""
    if isinstance(day, datetime):
        day = day.date()
    if isinstance(clock, datetime):
        clock = clock.time()
    return " ".join(text for text in (plain(day), plain(clock)) if text)
