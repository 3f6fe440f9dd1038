"""A rater scored one configuration earlier than the other, on the whole."""

from __future__ import annotations

from statistics import fmean

from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    touched,
)
from slackwater.analysis.checking.run_rules._ratings import by_rater, ratings_place, scores
from slackwater.protocol.rules._rated import ASKED
from slackwater.protocol.rules._trials import in_order_of_time

MOST = 1.0  # places in a rater's own order by which two configurations may be apart on average


def check(trial: Trial, _: RunTable) -> Found:
    for rater, mine in by_rater(trial).items():
        scored = {each.session for each in mine}
        order = [each for each in in_order_of_time(trial) if each.id in scored]
        row = mine[0].row
        for pair in trial.comparisons:
            sides = [
                [i for i, each in enumerate(order) if each.configuration == side]
                for side in (pair.baseline, pair.modified)
            ]
            if not all(sides):
                seen = "modified" if sides[1] else "baseline"
                yield RULE.found(
                    ratings_place(trial, row),
                    f"rater {rater} scored sessions of the {seen} alone, and says nothing of a difference"
                    f"{touched(trial, scored)}",
                )
            elif abs(apart := fmean(sides[1]) - fmean(sides[0])) > MOST + 1e-9:
                word = "later" if apart > 0 else "earlier"
                yield RULE.found(
                    ratings_place(trial, row),
                    f"rater {rater} scored {pair.modified} {abs(apart):.1f} places {word} than "
                    f"{pair.baseline} on average: practice and fatigue stand in the difference"
                    f"{touched(trial, scored)}",
                )


RULE = RunsRule(
    id="rater-order",
    severity=Severity.WARNING,
    title="A rater scored one configuration earlier than the other, on the whole.",
    looks_at=(
        "ratings: session",
        "ratings: rater",
        "sessions",
    ),
    why=(
        "Raters learn, tire and grow bolder with the scale. What each of them does so cancels only"
        " where both configurations stand alike in that rater's own order."
    ),
    fix="let every rater score sessions in turns, such as ABBA; or let all score every session",
    source="R. A. Fisher, The Design of Experiments (1935): balance; common practice: the bound",
    passes=Example(
        protocol=ASKED,
        ratings="S1,ride,A,4\nS2,ride,A,5\nS3,ride,A,5\nS4,ride,A,4",
    ),
    fails=Example(
        protocol=ASKED,
        ratings="S4,ride,A,4\nS5,ride,A,5\nS6,ride,A,5",
    ),
    at_limit=Example(
        protocol=ASKED,
        ratings="S1,ride,A,4\nS2,ride,A,5",
    ),
    check=check,
    needs=(scores,),
)
