"""Configurations differ by more than allowed in loading or conditions."""

from __future__ import annotations

from slackwater.protocol.rules._breaches import pair_breaches
from slackwater.protocol.rules._kit import Example, Found, Severity, Trial, TrialRule
from slackwater.protocol.rules._needs import limits_of, unrecorded
from slackwater.protocol.rules._trials import session_place


def check(trial: Trial) -> Found:
    for lack in unrecorded(trial, "", compares=True):
        yield lack.of(RULE.id)
    for breach in pair_breaches(trial):
        baseline, modified = breach.pair or ("", "")
        yield RULE.found(
            session_place(trial, breach.sessions[0], breach.name),
            f"{breach.text}; touches the verdicts on {modified} against {baseline}",
        )


RULE = TrialRule(
    id="configurations-differ",
    severity=Severity.ERROR,
    title="Configurations differ by more than allowed in loading or conditions.",
    looks_at=(
        "sessions",
        "protocol.loading",
        "protocol.conditions",
    ),
    why=(
        "What differs between the configurations on average adds to the difference looked for. "
        "Scatter over single sessions averages out; a shift between the two sides does not."
    ),
    fix=(
        "correct the values if they are wrong; else run sessions that bring the two sides together"
    ),
    source="the protocol's own limit; common practice",
    passes=Example(trial="sessions: [{id: S2, displacement: 7450 kg}]"),
    fails=Example(trial="sessions: [{id: S2, displacement: 7700 kg}]"),
    at_limit=Example(trial="sessions: [{id: S2, displacement: 7622 kg}]"),
    check=check,
    needs=(limits_of("", compares=True),),
)
