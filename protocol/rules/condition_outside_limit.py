"""A session was run in conditions outside their limit."""

from __future__ import annotations

from slackwater.protocol.rules._breaches import session_breaches
from slackwater.protocol.rules._kit import Example, Found, Severity, Trial, TrialRule
from slackwater.protocol.rules._needs import limits_of, unrecorded
from slackwater.protocol.rules._trials import session_place, touched


def check(trial: Trial) -> Found:
    for lack in unrecorded(trial, "conditions", compares=False):
        yield lack.of(RULE.id)
    for breach in session_breaches(trial):
        if breach.group == "conditions":
            session = breach.sessions[0]
            yield RULE.found(
                session_place(trial, session, breach.name),
                breach.text + touched(trial, breach.sessions),
                session=session,
            )


RULE = TrialRule(
    id="condition-outside-limit",
    severity=Severity.ERROR,
    title="A session was run in conditions outside their limit.",
    looks_at=(
        "sessions",
        "protocol.conditions",
    ),
    why=(
        "The limits say in which conditions a difference of the size looked for can be trusted."
        " Outside them the day may be larger than the change."
    ),
    fix=(
        "correct the value if it is wrong; else run the session again, or declare "
        "'limits_broken: report' in the protocol before the next trial"
    ),
    source="the protocol's own limit; common practice",
    passes=Example(trial="sessions: [{id: S2, wind_speed: 7 kn}]"),
    fails=Example(trial="sessions: [{id: S2, wind_speed: 9 kn}]"),
    at_limit=Example(trial="sessions: [{id: S2, wind_speed: 8 kn}]"),
    check=check,
    needs=(limits_of("conditions", compares=False),),
)
