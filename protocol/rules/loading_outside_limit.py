"""A session was loaded outside its limit."""

from __future__ import annotations

from slackwater.protocol.rules._breaches import session_breaches
from slackwater.protocol.rules._kit import Example, Found, Severity, Trial, TrialRule
from slackwater.protocol.rules._needs import limits_of, unrecorded
from slackwater.protocol.rules._trials import session_place, touched


def check(trial: Trial) -> Found:
    for lack in unrecorded(trial, "loading", compares=False):
        yield lack.of(RULE.id)
    for breach in session_breaches(trial):
        if breach.group == "loading":
            session = breach.sessions[0]
            yield RULE.found(
                session_place(trial, session, breach.name),
                breach.text + touched(trial, breach.sessions),
                session=session,
            )


RULE = TrialRule(
    id="loading-outside-limit",
    severity=Severity.ERROR,
    title="A session was loaded outside its limit.",
    looks_at=(
        "sessions",
        "protocol.loading",
    ),
    why=(
        "Loading moves speed and fuel as surely as most changes do. A session outside its limit"
        " compares two loadings, not two configurations."
    ),
    fix=(
        "correct the value if it is wrong; else run the session again, or declare "
        "'limits_broken: report' in the protocol before the next trial"
    ),
    source="the protocol's own limit; common practice",
    passes=Example(trial="sessions: [{id: S2, fuel: 45 %}]"),
    fails=Example(trial="sessions: [{id: S2, fuel: 39 %}]"),
    at_limit=Example(trial="sessions: [{id: S2, fuel: 40 %}]"),
    check=check,
    needs=(limits_of("loading", compares=False),),
)
