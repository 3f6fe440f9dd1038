"""Many scores stand at an end of their scale."""

from __future__ import annotations

from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    touched,
)
from slackwater.analysis.checking.run_rules._ratings import ratings_place, scores, table_of
from slackwater.protocol.rules._rated import ASKED

MOST = 0.15  # part of the scores at one end
LEAST = 6  # scores from which a part can be told


def check(trial: Trial, _: RunTable) -> Found:
    asked, table = trial.protocol.ratings, table_of(trial)
    if asked is None or table is None:
        return
    for name, item in asked.items.items():
        mine = [each for each in table.used if each.item == name]
        for end, word in ((item.lowest, "low"), (item.highest, "high")):
            at = [each for each in mine if each.score == end]
            sessions = {each.session for each in mine}
            if len(mine) >= LEAST and len(at) / len(mine) > MOST + 1e-9:
                yield RULE.found(
                    ratings_place(trial, at[0].row),
                    f"{name}: {len(at)} of {len(mine)} scores are {end}, the {word} end of the scale "
                    f"({item.anchors[end]}); what lies beyond it cannot be told"
                    f"{touched(trial, sessions)}",
                )


RULE = RunsRule(
    id="scale-end",
    severity=Severity.WARNING,
    title="Many scores stand at an end of their scale.",
    looks_at=(
        "ratings: score",
        "protocol.ratings.items",
    ),
    why=(
        "Beyond the last point there is none, so that a change there is squeezed and the scatter"
        " with it. Differences come out too small, and surer than they are."
    ),
    fix="move the anchors outwards or add points before the next trial; say in print that the scale ended",
    source="common practice",
    passes=Example(
        protocol=ASKED,
        ratings="S1,ride,A,4\nS1,ride,B,7\nS2,ride,A,5\nS2,ride,B,6\nS3,ride,A,5\nS3,ride,B,6\nS4,ride,A,3",
    ),
    fails=Example(
        protocol=ASKED,
        ratings="S1,ride,A,7\nS1,ride,B,7\nS2,ride,A,5\nS2,ride,B,6\nS3,ride,A,5\nS3,ride,B,6\nS4,ride,A,3",
    ),
    check=check,
    needs=(scores,),
)
