"""A run was recorded for less time than declared, or for an unknown time."""

from __future__ import annotations

import math

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


def check(trial: Trial, runs: RunTable) -> Found:
    record = trial.protocol.runs.steady.record
    least = record.to("s").value
    for session, group in sessions_of(runs).items():
        for words, short in (
            (
                f"recorded for less than {record}",
                [r for r in group if r.used and r.duration < least * (1 - 1e-9)],
            ),
            ("without a duration", [r for r in group if r.used and math.isnan(r.duration)]),
        ):
            if not short:
                continue
            told = [
                f"row {r.row}" + (f" ({number(r.duration)} s)" if math.isfinite(r.duration) else "")
                for r in short
            ]
            points = at_set_points(trial, [run.set_point for run in short])
            yield RULE.found(
                row_place(trial, runs, short[0].row, "duration"),
                f"session {session} has runs {words}: {listed(told)}"
                + touched(trial, [session], points),
                session=session,
                run=f"row {short[0].row}" if len(short) == 1 else None,
            )


RULE = RunsRule(
    id="run-too-short",
    severity=Severity.WARNING,
    title="A run was recorded for less time than declared, or for an unknown time.",
    looks_at=(
        "runs: duration",
        "protocol.runs.steady.record",
    ),
    why=(
        "A short run holds fewer independent readings and scatters more. Runs cut short because"
        " something happened are also not steady."
    ),
    fix=(
        "correct the duration if it is wrong; else set the run aside with the reason, or repeat it"
    ),
    source=("the protocol's own time; algebra: of n correlated readings n(1-r)/(1+r) count"),
    passes=Example(runs="S1,1000,1,out,2026-05-04T08:30:00,61,6.9,1000,8.0,,"),
    fails=Example(runs="S1,1000,1,out,2026-05-04T08:30:00,59,6.9,1000,8.0,,"),
    at_limit=Example(runs="S1,1000,1,out,2026-05-04T08:30:00,60,6.9,1000,8.0,,"),
    check=check,
)
