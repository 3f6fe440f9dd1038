"""Raters who were to be blind knew what was fitted."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Severity, Trial, TrialRule
from slackwater.protocol.rules._needs import begun, scored
from slackwater.protocol.rules._rated import ASKED
from slackwater.protocol.rules._trials import touched


def check(trial: Trial) -> Found:
    if trial.raters_aware and trial.protocol.ratings is not None and trial.protocol.ratings.blind:
        names = ", ".join(trial.raters_aware)
        yield RULE.found(
            trial.document.place(("raters_aware",)),
            f"{names} knew which configuration was fitted; the ratings are called not blind"
            f"{touched(trial, [each.id for each in trial.sessions])}",
        )


RULE = TrialRule(
    id="raters-aware",
    severity=Severity.WARNING,
    title="Raters who were to be blind knew what was fitted.",
    looks_at=("raters_aware", "protocol.ratings.blind"),
    why=(
        "One rater who knows tells the others without a word. The ratings of the trial are"
        " called not blind in every output, those of the other raters too."
    ),
    fix="set the rows of who knew aside, with that reason, and take the name away from here",
    source="ICH E9, Statistical Principles for Clinical Trials (1998), 2.3.1: blinding",
    passes=Example(
        protocol=ASKED,
        ratings="S1,ride,AB,4",
    ),
    fails=Example(
        protocol=ASKED,
        trial="raters_aware: [AB]",
        ratings="S1,ride,AB,4",
    ),
    check=check,
    needs=(scored, begun),
)
