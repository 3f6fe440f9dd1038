"""A run follows the one before it without time to settle."""

from __future__ import annotations

import math
from itertools import pairwise

from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    at_set_points,
    listed,
    number,
    row_place,
    sessions_of,
    touched,
)
from slackwater.analysis.checking.run_rules._needs import clocked, starts


def check(trial: Trial, runs: RunTable) -> Found:
    settle = trial.protocol.runs.steady.settle
    least = settle.to("s").value
    for session, group in sessions_of(runs).items():
        hasty, told = [], []
        for before, after in pairwise(group):
            gap = after.start - before.end
            # Overlapping runs are told when the table is read.
            if after.used and math.isfinite(before.duration) and 0 <= gap < least - 1e-6:
                hasty.append(after)
                told.append(f"row {after.row} ({number(gap)} s)")
        if hasty:
            points = at_set_points(trial, [run.set_point for run in hasty])
            yield RULE.found(
                row_place(trial, runs, hasty[0].row, "start"),
                f"session {session}: less than {settle} from the run before to {listed(told)}"
                + touched(trial, [session], points),
                session=session,
                run=f"row {hasty[0].row}" if len(hasty) == 1 else None,
            )


RULE = RunsRule(
    id="not-settled",
    severity=Severity.WARNING,
    title="A run follows the one before it without time to settle.",
    looks_at=(
        "runs: start",
        "runs: duration",
        "protocol.runs.steady.settle",
    ),
    why=(
        "Between two runs the boat turns and her throttle is set anew. Less time than it takes "
        "to settle means that the run holds a part of the turn."
    ),
    fix=(
        "correct the start or the duration if one is wrong; else set the run aside with the reason"
    ),
    source="the protocol's own time; common practice",
    passes=Example(runs="S1,1000,1,back,2026-05-04T08:32:00,60,5.1,1000,8.0,,"),
    fails=Example(runs="S1,1000,1,back,2026-05-04T08:31:19,60,5.1,1000,8.0,,"),
    at_limit=Example(runs="S1,1000,1,back,2026-05-04T08:31:20,60,5.1,1000,8.0,,"),
    check=check,
    everywhere=starts(2),
    needs=(clocked,),
)
