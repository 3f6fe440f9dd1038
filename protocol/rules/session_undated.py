"""A session has no date."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Severity, Trial, TrialRule
from slackwater.protocol.rules._needs import begun
from slackwater.protocol.rules._trials import listed, session_place, touched


def check(trial: Trial) -> Found:
    bare = [session.id for session in trial.sessions if not session.day]
    if bare:
        yield RULE.found(
            session_place(trial, bare[0]),
            f"no date is given for {listed(bare, 8)}{touched(trial, bare)}",
            session=bare[0] if len(bare) == 1 else None,
        )


RULE = TrialRule(
    id="session-undated",
    severity=Severity.WARNING,
    title="A session has no date.",
    looks_at=("sessions",),
    why=(
        "Without dates the order of the sessions cannot be told, nor a drift from one to the "
        "next. Runs cannot be held against the day that they belong to."
    ),
    fix="add 'date:' as year-month-day",
    source="common practice",
    passes=Example(trial="sessions: [{id: S2, date: 2026-05-06}]"),
    fails=Example(trial="sessions: [{id: S2, date: }]"),
    check=check,
    needs=(begun,),
)
