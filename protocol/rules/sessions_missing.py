"""A configuration has fewer sessions than declared."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Severity, Trial, TrialRule
from slackwater.protocol.rules._needs import begun
from slackwater.protocol.rules._trials import compared, touched


def check(trial: Trial) -> Found:
    declared = trial.protocol.sessions.per_configuration
    for name in compared(trial):
        ids = [session.id for session in trial.sessions if session.configuration == name]
        if len(ids) >= declared:
            continue
        pairs = [p for p in trial.comparisons if name in (p.baseline, p.modified)]
        others = [
            s.id
            for s in trial.sessions
            if any(s.configuration in (p.baseline, p.modified) for p in pairs)
        ]
        yield RULE.found(
            trial.document.place(("sessions",)),
            f"{name} has {len(ids)} of {declared} sessions declared{touched(trial, ids or others)}",
        )


RULE = TrialRule(
    id="sessions-missing",
    severity=Severity.WARNING,
    title="A configuration has fewer sessions than declared.",
    looks_at=(
        "sessions",
        "protocol.sessions.per_configuration",
    ),
    why=(
        "The number of sessions sets how small a difference can be told. Stopping early, "
        "perhaps when the result looked good, makes intervals that hold less often than they "
        "say."
    ),
    fix="run the sessions that are missing, or say in the report why the trial was cut short",
    source=(
        "common practice; P. Armitage, C. K. McPherson and B. C. Rowe, J. R. Statist. Soc. A "
        "132 (1969): stopping when it looks good"
    ),
    passes=Example(protocol="sessions: {per_configuration: 2, order: ABBA}"),
    fails=Example(protocol="sessions: {per_configuration: 4, order: ABBABAAB}"),
    at_limit=Example(protocol="sessions: {per_configuration: 3, order: ABBAAB}"),
    check=check,
    needs=(begun,),
)
