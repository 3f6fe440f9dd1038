"""Two sessions lie in the same hours."""

from __future__ import annotations

import math

from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    row_place,
    sessions_of,
    touched,
)
from slackwater.analysis.checking.run_rules._needs import clocked, several_sessions


def check(trial: Trial, runs: RunTable) -> Found:
    clocked = [
        run for group in sessions_of(runs).values() for run in group if math.isfinite(run.start)
    ]
    clocked.sort(key=lambda run: run.start)
    told: set[tuple[str, str]] = set()
    left: dict[str, str] = {}  # sessions left for another one, and which
    for i, run in enumerate(clocked):
        before = clocked[i - 1].session if i else run.session
        if before == run.session:
            continue
        left[before] = run.session
        if run.session not in left:
            continue
        other = (min(before, run.session), max(before, run.session))
        if other in told:
            continue
        told.add(other)
        yield RULE.found(
            row_place(trial, runs, run.row, "session"),
            f"runs of {before} lie between runs of {run.session}: row {run.row} comes after row "
            f"{clocked[i - 1].row}{touched(trial, other)}",
            session=run.session,
            run=f"row {run.row}",
        )


RULE = RunsRule(
    id="sessions-overlap",
    severity=Severity.ERROR,
    title="Two sessions lie in the same hours.",
    looks_at=(
        "runs: start",
        "runs: session",
    ),
    why=(
        "One boat cannot be fitted in two ways at once. Rows that interleave belong to another "
        "session, or a clock was wrong."
    ),
    fix="correct the sessions or the starts of the rows",
    source="common practice",
    passes=Example(runs="S2,1000,1,out,2026-05-06T08:30:00,60,6.9,1000,8.0,,"),
    fails=Example(runs="S2,1000,1,out,2026-05-04T08:41:30,60,6.9,1000,8.0,,"),
    check=check,
    needs=(
        several_sessions,
        clocked,
    ),
)
