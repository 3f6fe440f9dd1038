"""A run was made on another day or at another time than its session."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunMade,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    listed,
    row_place,
    sessions_of,
    touched,
)
from slackwater.analysis.checking.run_rules._needs import clocked

if TYPE_CHECKING:
    from slackwater.protocol.declared.trial import Session


def span(session: Session) -> tuple[datetime, datetime] | None:
    """From when to when the runs of a session may lie; None when it is not dated."""
    start, end = session.start, session.end
    day = session.date
    if day is None:
        if not isinstance(start, datetime):
            return None
        day = start.date()
    first = _on(day, start) if start is not None else datetime.combine(day, time.min)
    last = _on(day, end) if end is not None else datetime.combine(day, time.max)
    if last <= first:  # past midnight
        last += timedelta(days=1)
    return first, last


def _on(day: date, moment: time | datetime) -> datetime:
    whole = moment if isinstance(moment, datetime) else datetime.combine(day, moment)
    return whole.replace(tzinfo=None)


def _clock(run: RunMade) -> datetime:
    return datetime.fromtimestamp(run.start, UTC).replace(tzinfo=None)


def check(trial: Trial, runs: RunTable) -> Found:
    sessions = {session.id: session for session in trial.sessions}
    bare = [name for name in sessions_of(runs) if span(sessions[name]) is None]
    if bare:
        yield RULE.unseen(f"no date of {listed(bare, 8)}", "'date:' of each session")
    for name, group in sessions_of(runs).items():
        allowed = span(sessions[name])
        if allowed is None:
            continue
        slack = timedelta(minutes=1)
        odd = [
            run
            for run in group
            if math.isfinite(run.start)
            and not allowed[0] - slack <= _clock(run) <= allowed[1] + slack
        ]
        if odd:
            told = [f"row {run.row} ({_clock(run):%Y-%m-%d %H:%M})" for run in odd]
            yield RULE.found(
                row_place(trial, runs, odd[0].row, "start"),
                f"session {name} is of {allowed[0]:%Y-%m-%d %H:%M} to {allowed[1]:%H:%M}, and "
                f"{listed(told)} lie outside{touched(trial, [name])}",
                session=name,
                run=f"row {odd[0].row}" if len(odd) == 1 else None,
            )


RULE = RunsRule(
    id="outside-session-date",
    severity=Severity.ERROR,
    title="A run was made on another day or at another time than its session.",
    looks_at=(
        "runs: start",
        "sessions.date",
        "sessions.start",
        "sessions.end",
    ),
    why=(
        "A run outside its session belongs to another one, or its clock was wrong. Either way "
        "the configuration and the tide that it is counted with may be another's."
    ),
    fix="correct the session of the row, its start, or the date of the session",
    source="common practice",
    passes=Example(trial="sessions: [{id: S1, date: 2026-05-04}]"),
    fails=Example(trial="sessions: [{id: S1, date: 2026-05-03}]"),
    check=check,
    needs=(clocked,),
)
