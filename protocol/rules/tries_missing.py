"""Manoeuvres are declared and no tries are there."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Severity, Trial, TrialRule
from slackwater.protocol.rules._needs import begun, tried
from slackwater.protocol.rules._trials import touched


def check(trial: Trial) -> Found:
    if trial.manoeuvres is None and not trial.logs:
        yield RULE.found(
            trial.document.place(("trial",)),
            "the protocol has manoeuvres, and the trial names no tries of them"
            f"{touched(trial, [each.id for each in trial.sessions])}",
        )


RULE = TrialRule(
    id="tries-missing",
    severity=Severity.WARNING,
    title="Manoeuvres are declared and no tries are there.",
    looks_at=("manoeuvres", "protocol.manoeuvres"),
    why=(
        "What was declared and is not told leaves open whether it was not done or not liked."
        " Readers of the protocol will ask."
    ),
    fix="write 'manoeuvres: tries.csv' with its table, or 'logs:' to have them found, or say in the note why nothing was tried",
    source="common practice",
    passes=Example(
        protocol="manoeuvres: {sprint: {start: at rest, end: on the plane, directions: reciprocal, tries: 1, current: averaged, values: {time_to_plane: {}}}}",
        tries="S1,sprint,out,1,5.1,A\nS1,sprint,back,1,5.3,A",
    ),
    fails=Example(
        protocol="manoeuvres: {sprint: {start: at rest, end: on the plane, directions: reciprocal, tries: 1, current: averaged, values: {time_to_plane: {}}}}"
    ),
    check=check,
    needs=(tried, begun),
)
