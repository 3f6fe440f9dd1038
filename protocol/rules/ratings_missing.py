"""Ratings are declared and none are there."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Severity, Trial, TrialRule
from slackwater.protocol.rules._needs import begun, scored
from slackwater.protocol.rules._rated import ASKED
from slackwater.protocol.rules._trials import touched


def check(trial: Trial) -> Found:
    if trial.ratings is None:
        yield RULE.found(
            trial.document.place(("trial",)),
            "the protocol has people score, and the trial names no ratings"
            f"{touched(trial, [each.id for each in trial.sessions])}",
        )


RULE = TrialRule(
    id="ratings-missing",
    severity=Severity.WARNING,
    title="Ratings are declared and none are there.",
    looks_at=("ratings", "protocol.ratings"),
    why=(
        "What was declared and is not told leaves open whether it was not done or not liked."
        " Readers of the protocol will ask."
    ),
    fix="write 'ratings: ratings.csv' with its table, or say in the note why nobody scored",
    source="common practice",
    passes=Example(
        protocol=ASKED,
        ratings="S1,ride,AB,4",
    ),
    fails=Example(protocol=ASKED),
    check=check,
    needs=(scored, begun),
)
