"""A configuration has more sessions than declared."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Severity, Trial, TrialRule
from slackwater.protocol.rules._needs import begun
from slackwater.protocol.rules._trials import compared, touched


def check(trial: Trial) -> Found:
    declared = trial.protocol.sessions.per_configuration
    for name in compared(trial):
        ids = [session.id for session in trial.sessions if session.configuration == name]
        if len(ids) > declared:
            yield RULE.found(
                trial.document.place(("sessions",)),
                f"{name} has {len(ids)} sessions, {declared} were declared{touched(trial, ids)}",
            )


RULE = TrialRule(
    id="sessions-extra",
    severity=Severity.ADVICE,
    title="A configuration has more sessions than declared.",
    looks_at=(
        "sessions",
        "protocol.sessions.per_configuration",
    ),
    why=(
        "Sessions added after the first results were seen let the result decide when to stop. "
        "The error rate then rises above the one declared."
    ),
    fix=(
        "declare the number of sessions beforehand, or say in the report when the others were "
        "decided on"
    ),
    source=(
        "P. Armitage, C. K. McPherson and B. C. Rowe, J. R. Statist. Soc. A 132 (1969): 0.083 "
        "with two looks at 0.05, computed anew in tests/reference"
    ),
    passes=Example(protocol="sessions: {per_configuration: 4, order: ABBABAAB}"),
    fails=Example(protocol="sessions: {per_configuration: 2, order: ABBA}"),
    at_limit=Example(protocol="sessions: {per_configuration: 3, order: ABBAAB}"),
    check=check,
    needs=(begun,),
)
