"""A run was made at a set point that was not declared."""

from __future__ import annotations

from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    listed,
    nearest_declared,
    row_place,
    sessions_of,
    set_point_text,
    touched,
)


def check(trial: Trial, runs: RunTable) -> Found:
    for session, group in sessions_of(runs).items():
        odd = [run for run in group if run.used and nearest_declared(trial, run.set_point) is None]
        if odd:
            told = [f"row {run.row} ({set_point_text(trial, run.set_point)})" for run in odd]
            yield RULE.found(
                row_place(trial, runs, odd[0].row, "set_point"),
                f"session {session} has runs at set points that were not declared: {listed(told)}"
                + touched(trial, [session]),
                session=session,
                run=f"row {odd[0].row}" if len(odd) == 1 else None,
            )


RULE = RunsRule(
    id="set-point-not-declared",
    severity=Severity.WARNING,
    title="A run was made at a set point that was not declared.",
    looks_at=(
        "runs: set_point",
        "protocol.runs.set_points.values",
    ),
    why=(
        "A set point chosen on the water may have been chosen for what it showed. It may also "
        "be a slip of the pen, and then its double run is missing elsewhere."
    ),
    fix=(
        "correct the set point, or set the run aside with the reason; declare it before the "
        "next trial"
    ),
    source="common practice",
    passes=Example(protocol="runs: {set_points: {values: [1000 rpm, 2000 rpm]}}"),
    fails=Example(protocol="runs: {set_points: {values: [1000 rpm, 2100 rpm]}}"),
    check=check,
)
