"""When runs started: ISO 8601, or as the trial says; any other order of day and month is a guess."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta

from slackwater.analysis.intake.cells import BROKEN, CellError, is_missing, read_number
from slackwater.analysis.intake.grid import Cell, Row, Uncomputed, clean, plain, quoted
from slackwater.analysis.intake.local_dates import (
    OF_SESSION,
    YEAR_FIRST,
    written_moment,
    written_time,
)
from slackwater.analysis.intake.problems import Problems
from slackwater.protocol.files.dates import FIRST_YEAR_OF_CLOCKS, LAST_YEAR

EXAMPLE = "2026-05-04T09:12:00"

_ISO = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}[Tt ][0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:[.,][0-9]+)?)?"
    r"(?P<zone> ?(?:[Zz]|[+-][0-9]{2}(?::?[0-9]{2})?))?"
    r"|[0-9]{8}[Tt][0-9]{4}(?:[0-9]{2}(?:[.,][0-9]+)?)?(?:[Zz]|[+-][0-9]{2}(?:[0-9]{2})?)?"
)
_NUMBER = re.compile(r"[0-9]+(?:[.,][0-9]+)?")
_DAY_ONLY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}|[0-9]{8}")
_CLOCK_ONLY = re.compile(
    r"T?[0-9]{1,3}:[0-9]{2}(?::[0-9]{2})?(?:[.,][0-9]+)?( ?[ap]\.?m\.?)?Z?", re.IGNORECASE
)
_OTHER_ORDER = re.compile(r"([0-9]{1,2})[/.\- ]([0-9]{1,2})[/.\- ]([0-9]{2,4})\b")


def read_start(cell: Cell, dates: str = YEAR_FIRST, day: date | None = None) -> datetime | None:
    """Read a cell as the date and time at which a run started; None when it is blank.

    Parameters
    ----------
    cell : Cell
    dates : str
        How starts are written that are not in ISO 8601, as the trial's `dates` has it.
    day : date, optional
        Of the session, for a time of day.

    Raises
    ------
    CellError
        When it is not a date and time so written, or a clock that was not set.
    """
    if is_missing(cell):
        return None
    own = _as_the_trial_says(cell, dates, day)
    if own is not None:
        stamp = own
    elif isinstance(cell, datetime):
        stamp = cell
    elif isinstance(cell, str):
        stamp = _from_text(clean(cell))
    elif isinstance(cell, bool | Uncomputed):
        read_number(cell, ".", lambda _: False)  # has the words for these
        raise CellError("start-format", f"{quoted(cell)} is no date", f"write it as {EXAMPLE}")
    elif isinstance(cell, int | float):
        raise _serial(cell)
    elif isinstance(cell, time | timedelta):
        raise _clock_only(cell)
    else:
        raise _day_only(cell)
    if not FIRST_YEAR_OF_CLOCKS <= stamp.year <= LAST_YEAR:
        raise CellError(
            "start-clock-unset",
            f"{quoted(cell)} lies in the year {stamp.year}: the clock of the instrument was not "
            "set yet, or the year is mistyped",
            "correct the start of the run, or leave the cell empty",
        )
    return stamp


def _as_the_trial_says(cell: Cell, dates: str, day: date | None) -> datetime | None:
    """The start by the trial's own `dates`; None where the cell is not written so."""
    try:
        if dates == OF_SESSION:
            clock = written_time(cell)
            if clock is None:
                return None
            if day is None:
                raise CellError(
                    "start-without-date",
                    f"{quoted(cell)} is a time of day, and the session has no date in the trial",
                    "write the date of the session in the trial: date: 2026-05-04",
                )
            return datetime.combine(day, clock)
        if not isinstance(cell, str):
            return None
        if dates != YEAR_FIRST and _OTHER_ORDER.fullmatch(clean(cell)):
            raise _day_only(cell)
        return written_moment(clean(cell), dates)
    except ValueError as error:
        if isinstance(error, CellError):
            raise
        raise CellError(
            "start-format",
            f"{quoted(cell)} is no date and time with the {dates} ({error})",
            "correct it, or the trial's 'dates:'",
        ) from None


def _from_text(text: str) -> datetime:
    if _ISO.fullmatch(text):
        try:
            return datetime.fromisoformat(text.replace(" ", "T", 1).replace(" ", "").upper())
        except ValueError as error:
            raise CellError(
                "start-format",
                f"{quoted(text)} is no date and time ({error})",
                f"correct it; it is written as {EXAMPLE}",
            ) from None
    if _DAY_ONLY.fullmatch(text):
        raise _day_only(text)
    if _NUMBER.fullmatch(text):
        raise _serial(text)
    if _CLOCK_ONLY.fullmatch(text):
        raise _clock_only(text)
    if text.casefold() in BROKEN:
        read_number(text, ".", lambda _: False)
    other = _OTHER_ORDER.match(text)
    if other:
        raise CellError("start-day-month", *_day_or_month(text, other[1], other[2], other[3]))
    raise CellError(
        "start-format",
        f"{quoted(text)} is not a date and time in ISO 8601",
        f"write it as {EXAMPLE}, with the zone after it where it is known (Z, +02:00)",
    )


def _day_or_month(text: str, first: str, second: str, last: str) -> tuple[str, str]:
    year = last if len(last) == 4 else f"20{last[-2:]}"
    a, b = int(first), int(second)
    if max(a, b) > 12 or len(last) == 3:
        why = "rows up to the 12th of a month could be read either way"
        first_is = "day" if a > 12 >= b else "month" if b > 12 >= a else ""
        way = f"write year-month-day, as in {EXAMPLE}"
        if first_is:
            way = f"say so in the trial: 'dates: {first_is} first'; or {way}"
    else:
        why = (
            f"it may be {year}-{b:02d}-{a:02d} (day first) or {year}-{a:02d}-{b:02d} (month first)"
        )
        way = (
            f"say which in the trial, 'dates: day first' or 'dates: month first'; or write "
            f"year-month-day, as in {EXAMPLE}"
        )
    return f"{quoted(text)} does not say which is the day and which the month: {why}", way


def _serial(cell: Cell) -> CellError:
    number = float(plain(cell).replace(",", "."))
    kind = "a fraction of a day" if number < 1 else "a day number of a spreadsheet"
    return CellError(
        "start-serial",
        f"{quoted(cell)} is a number, not a date and time; it looks like {kind}",
        f"format the column as date and time, so that it reads {EXAMPLE}, and export again",
    )


def _day_only(cell: Cell) -> CellError:
    return CellError(
        "start-without-time",
        f"{quoted(cell)} has no time of day; the current is followed through the day by it",
        f"write the time too, as in {EXAMPLE}, or leave the cell empty",
    )


def _clock_only(cell: str | time | timedelta) -> CellError:
    return CellError(
        "start-without-date",
        f"{quoted(cell)} has no date; it may be a time of day or a time that has passed",
        f"write the date too, as in {EXAMPLE}; or, where every session has its date in the trial, say "
        "there 'dates: of the session'",
    )


def settle_zones(stamps: Sequence[tuple[Row, datetime]], problems: Problems) -> list[datetime]:
    """Bring all starts to one clock.

    Parameters
    ----------
    stamps : sequence of (row, start)
        As read.

    Returns
    -------
    list of datetime
        Without zone: the clock as written when all carry the same offset or none, else UTC.
    """
    bare = [pair for pair in stamps if pair[1].tzinfo is None]
    zoned = [pair for pair in stamps if pair[1].tzinfo is not None]
    if bare and zoned:
        fewer, more = sorted((bare, zoned), key=len)
        row, stamp = fewer[0]
        has = "no zone" if stamp.tzinfo is None else "a zone"
        problems.error(
            "start-zone-mixed",
            f"the start in row {row.number} ({quoted(stamp)}) has {has}, unlike {len(more)} others: "
            "the two clocks may be hours apart",
            "write the zone (Z, +02:00) with every start, or with none",
            row=row,
        )
        return [stamp.replace(tzinfo=None) for _, stamp in stamps]
    offsets = {stamp.utcoffset() for _, stamp in zoned}
    if len(offsets) > 1:
        problems.advice(
            "start-zone",
            f"starts are written in {len(offsets)} zones; they were all brought to UTC",
        )
        return [stamp.astimezone(UTC).replace(tzinfo=None) for _, stamp in stamps]
    return [stamp.replace(tzinfo=None) for _, stamp in stamps]


def check_midnights(stamps: Sequence[tuple[Row, datetime]], problems: Problems) -> None:
    """Tell starts that a spreadsheet holds as bare dates: all of them at midnight."""
    if len(stamps) < 2 or any(stamp.time() != time() for _, stamp in stamps):
        return
    row = stamps[0][0]
    error = _day_only(stamps[0][1])
    problems.error(
        error.rule, f"row {row.number} and all others: {error.message}", error.fix, row=row
    )
