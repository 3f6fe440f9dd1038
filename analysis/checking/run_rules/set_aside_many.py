"""Many runs are set aside."""

from __future__ import annotations

from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    all_double_runs,
    by_session,
    row_place,
    runs_of,
    set_point_text,
    touched,
)

SHARE = 0.2  # of all runs


def check(trial: Trial, runs: RunTable) -> Found:
    made = runs_of(runs)
    aside = [run for run in made if not run.used]
    if len(aside) > SHARE * len(made):
        yield RULE.found(
            row_place(trial, runs, aside[0].row, "set_aside"),
            f"{len(aside)} of {len(made)} runs are set aside"
            + touched(trial, list(by_session(aside))),
        )
    for session, found in all_double_runs(runs).items():
        for point in dict.fromkeys(one.set_point for one in found):
            here = [one for one in found if one.set_point == point]
            if all(not run.used for one in here for run in one.runs):
                text = set_point_text(trial, point)
                yield RULE.found(
                    row_place(trial, runs, here[0].row, "set_aside"),
                    f"session {session}: every run at {text} is set aside"
                    + touched(trial, [session], [text]),
                    session=session,
                )


RULE = RunsRule(
    id="set-aside-many",
    severity=Severity.WARNING,
    title="Many runs are set aside.",
    looks_at=("runs: set_aside",),
    why=(
        "Setting runs aside shapes the result, however good each reason is. When a fifth of "
        "them or a whole set point goes, the trial is no longer the one that was planned."
    ),
    fix=(
        "say in the report how they would have changed the result; repeat the session where it "
        "can be done"
    ),
    source=(
        "40 CFR 1066, 1066.601(b): outliers may be discarded, and all results are reported; "
        "common practice: the fifth"
    ),
    passes=Example(runs="S1,1000,1,out,2026-05-04T08:30:00,60,6.9,1000,8.0,crossed a wake,"),
    fails=Example(
        runs="""\
S1,1000,1,out,2026-05-04T08:30:00,60,6.9,1000,8.0,crossed a wake,
S1,1000,1,back,2026-05-04T08:32:30,60,5.1,1000,8.0,crossed a wake,
S1,1000,2,out,2026-05-04T08:37:30,60,6.9,1000,8.0,crossed a wake,
S1,1000,2,back,2026-05-04T08:35:00,60,5.1,1000,8.0,crossed a wake,
"""
    ),
    check=check,
)
