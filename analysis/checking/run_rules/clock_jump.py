"""The clock jumps within a session."""

from __future__ import annotations

import math
from itertools import pairwise
from statistics import median

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
from slackwater.analysis.checking.run_rules._needs import clocked, starts

FEWEST = 4  # runs with a start in a session
LONG = 1800.0  # [s]
TIMES = 8.0  # the usual gap


def check(trial: Trial, runs: RunTable) -> Found:
    for session, group in sessions_of(runs).items():
        clocked = [run for run in group if math.isfinite(run.start)]
        if len(clocked) < FEWEST:
            continue
        usual = median(after.start - before.start for before, after in pairwise(clocked))
        for before, after in pairwise(clocked):
            gap = after.start - before.start
            if gap > max(LONG, TIMES * usual):
                yield RULE.found(
                    row_place(trial, runs, after.row, "start"),
                    f"session {session}: {gap / 60:.0f} min from row {before.row} to row {after.row}, "
                    f"usually {usual / 60:.3g} min: a pause, or a clock set anew"
                    + touched(trial, [session]),
                    session=session,
                    run=f"row {after.row}",
                )


RULE = RunsRule(
    id="clock-jump",
    severity=Severity.WARNING,
    title="The clock jumps within a session.",
    looks_at=("runs: start",),
    why=(
        "A gap many times the usual one is a pause, or a clock that was set anew. The current "
        "is fitted over time, so that a wrong clock puts it in the wrong place."
    ),
    fix=(
        "correct the starts if the clock was set; else say in the session's note what the pause"
        " was for, and waive this rule with that reason"
    ),
    source="common practice",
    passes=Example(runs="S1,2000,2,back,2026-05-04T08:52:30,60,10.9,2000,22.0,,"),
    fails=Example(runs="S1,2000,2,back,2026-05-04T10:47:30,60,10.9,2000,22.0,,"),
    check=check,
    everywhere=starts(FEWEST),
    needs=(clocked,),
)
