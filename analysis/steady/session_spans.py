"""When each session was, on the clock of the logs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from slackwater.protocol.findings import Finding, InputError, Severity

if TYPE_CHECKING:
    from slackwater.protocol.declared.trial import Session, Trial

LONGEST = timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class SessionSpan:
    """One session from `start` to before `end`, in seconds since 1970-01-01 UTC. [s]"""

    session: str
    configuration: str
    start: float
    end: float


def session_spans(trial: Trial, offset: timedelta) -> list[SessionSpan]:
    """The span of every session, from its date, start and end; local time is ahead of UTC by `offset`.

    A session without an end lasts to the next one's start, or to the end of its day.

    Raises
    ------
    InputError
        When sessions share a day and do not say when they began, or have no day.
    """
    begins = {each.id: _begin(each, offset) for each in trial.sessions}
    wrong = [_undated(each.id) for each in trial.sessions if begins[each.id] is None]
    days: dict[str, list[Session]] = {}
    for each in trial.sessions:
        days.setdefault(each.day, []).append(each)
    for day, several in days.items():
        silent = [each.id for each in several if each.start is None]
        if day and silent and len(several) > 1:
            wrong.append(_unclear(day, silent))
    if wrong:
        raise InputError(wrong)
    ordered = sorted((b, i) for i, b in begins.items() if b is not None)
    following = {one[1]: other[0] for one, other in pairwise(ordered)}
    spans = []
    for each in trial.sessions:
        begin = begins[each.id]
        if begin is not None:
            end = _end(each, begin, following.get(each.id), offset)
            spans.append(
                SessionSpan(each.id, each.configuration, begin.timestamp(), end.timestamp())
            )
    return spans


def _moment(session: Session, value: time | datetime, offset: timedelta) -> datetime | None:
    """A time or moment of a session in UTC; what has no zone is local."""
    if isinstance(value, time):
        if session.date is None:
            return None
        value = datetime.combine(session.date, value)
    return value.astimezone(UTC) if value.tzinfo else (value - offset).replace(tzinfo=UTC)


def _begin(session: Session, offset: timedelta) -> datetime | None:
    return _moment(session, session.start or time(0), offset)


def _end(
    session: Session, begin: datetime, following: datetime | None, offset: timedelta
) -> datetime:
    end = _moment(session, session.end, offset) if session.end is not None else None
    if end is not None:
        return end if end > begin else end + timedelta(days=1)
    day = begin + offset
    midnight = (day + timedelta(days=1)).replace(hour=0, minute=0, second=0, microsecond=0) - offset
    return min(midnight, following) if following else midnight


def _undated(session: str) -> Finding:
    return Finding(
        "session-undated",
        Severity.ERROR,
        f"session {session} has no date, so its part of the logs cannot be told",
        "give its date, and its start where a day has several sessions",
    )


def _unclear(day: str, sessions: list[str]) -> Finding:
    return Finding(
        "session-start-missing",
        Severity.ERROR,
        f"the sessions of {day} cannot be told apart in the logs: no start of {', '.join(sessions)}",
        "write when each began, as 'start: 09:30', and its end where it matters",
    )
