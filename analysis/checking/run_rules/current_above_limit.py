"""The runs show a stronger current than the limit allows."""

from __future__ import annotations

from slackwater.analysis.checking.run_rules._conditions import current_breaches
from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    row_place,
    touched,
)
from slackwater.analysis.checking.run_rules._needs import (
    current_limited,
    double_runs,
    over_ground,
    reciprocal,
)


def check(trial: Trial, runs: RunTable) -> Found:
    for breach in current_breaches(trial, runs):
        yield RULE.found(
            row_place(trial, runs, breach.rows[0][0], "speed_over_ground"),
            f"session {breach.session}: the double runs about row {breach.rows[0][0]} show a current "
            f"of {breach.rows[0][1]}; the limit is {breach.limit}{touched(trial, [breach.session])}",
            session=breach.session,
        )


RULE = RunsRule(
    id="current-above-limit",
    severity=Severity.ERROR,
    title="The runs show a stronger current than the limit allows.",
    looks_at=(
        "runs: speed_over_ground",
        "protocol.conditions.current",
    ),
    why=(
        "Half the difference of a double run is the current along the course, whatever was "
        "noted. The stronger it runs, the more of it is left in the speeds."
    ),
    fix=(
        "correct the speeds or directions if they are wrong; else run the session again in a "
        "slacker tide"
    ),
    source="the protocol's own limit; algebra: half the difference of the two speeds over ground",
    passes=Example(protocol="conditions: {current: {at_most: 1.5 kn}}"),
    fails=Example(protocol="conditions: {current: {at_most: 0.5 kn}}"),
    check=check,
    everywhere=double_runs(3),
    needs=(
        reciprocal,
        over_ground,
        current_limited,
    ),
)
