"""Two double runs carry the same values."""

from __future__ import annotations

from slackwater.analysis.checking.run_rules._copies import copied
from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    row_place,
    set_point_text,
    touched,
)
from slackwater.analysis.checking.run_rules._needs import with_less_than


def check(trial: Trial, runs: RunTable) -> Found:
    lack = with_less_than(1, runs, double_runs=True)
    if lack is not None:
        yield lack.of(RULE.id)
    for copy in copied(runs)[1]:
        first, again = copy.first, copy.again
        sessions = sorted({first.session, again.session})
        points = [
            set_point_text(trial, value) for value in sorted({first.set_point, again.set_point})
        ]
        yield RULE.found(
            row_place(trial, runs, again.row),
            f"the double runs from rows {first.row} and {again.row} carry the same values in both "
            f"directions{touched(trial, sessions, points)}",
            session=again.session,
            run=f"row {again.row}",
        )


RULE = RunsRule(
    id="double-run-copied",
    severity=Severity.WARNING,
    title="Two double runs carry the same values.",
    looks_at=(
        "runs: double_run",
        "protocol.measures",
    ),
    why=(
        "That every reading of two runs agrees with every reading of two others does not happen"
        " on the water, unless the readings are so coarse that many agree; the digits of the"
        " trial itself tell. A copied double run makes the scatter look smaller than it is."
    ),
    fix="enter the double run from the sheet or the log again; delete the copy",
    source="common practice",
    passes=Example(runs="S1,1000,2,out,2026-05-04T08:37:30,60,6.9,1001,8.1,,"),
    fails=Example(
        runs="""\
S1,1000,1,out,2026-05-04T08:30:00,60,6.91,1002,8.1,,
S1,1000,1,back,2026-05-04T08:32:30,60,5.13,1001,8.0,,
S2,1000,1,out,2026-05-06T08:30:00,60,6.91,1002,8.1,,
S2,1000,1,back,2026-05-06T08:32:30,60,5.13,1001,8.0,,
"""
    ),
    check=check,
)
