"""What was held was not recorded."""

from __future__ import annotations

import math

from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    listed,
    row_place,
    sessions_of,
    touched,
)
from slackwater.analysis.checking.run_rules._needs import held_measured


def check(trial: Trial, runs: RunTable) -> Found:
    held = trial.protocol.set_point_measure
    for session, group in sessions_of(runs).items():
        bare = [r for r in group if r.used and not math.isfinite(r.values.get(held, math.nan))]
        if bare:
            rows = [str(run.row) for run in bare]
            yield RULE.found(
                row_place(trial, runs, bare[0].row, held),
                f"session {session}: {held} was not recorded in row{'s' if len(rows) > 1 else ''} "
                f"{listed(rows, 8)}{touched(trial, [session])}",
                session=session,
                run=f"row {rows[0]}" if len(rows) == 1 else None,
            )


RULE = RunsRule(
    id="hold-not-recorded",
    severity=Severity.WARNING,
    title="What was held was not recorded.",
    looks_at=(
        "runs: set_point",
        "protocol.runs.set_points.of",
    ),
    why=(
        "Whether the set point was held can be told only from a reading of it. Without one the "
        "run may belong anywhere near its set point."
    ),
    fix="add the mean over the run from the log, or the reading noted aboard",
    source="common practice",
    passes=Example(runs="S1,1000,1,out,2026-05-04T08:30:00,60,6.9,1000,8.0,,"),
    fails=Example(runs="S1,1000,1,out,2026-05-04T08:30:00,60,6.9,,8.0,,"),
    check=check,
    needs=(held_measured,),
)
