"""A run shows what nothing else in the trial bears out."""

from __future__ import annotations

from slackwater.analysis.checking.run_rules._doubtful import FAR, FEWEST, doubtful_runs
from slackwater.analysis.checking.run_rules._doubts import far_words
from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    all_double_runs,
    row_place,
    set_point_text,
    touched,
)


def check(trial: Trial, runs: RunTable) -> Found:
    whole = [one for group in all_double_runs(runs).values() for one in group if one.used]
    if len(whole) < FEWEST and trial.protocol.runs.directions == "reciprocal":
        yield RULE.unseen(f"there are {len(whole)} whole double runs", f"{FEWEST} double runs")
    for found in doubtful_runs(trial, runs):
        point = set_point_text(trial, found.run.set_point)
        yield RULE.found(
            row_place(trial, runs, found.run.row, found.measure),
            f"{far_words(trial, found)}: {found.distance:.0f} times the scatter of a run"
            + touched(trial, [found.run.session], [point]),
            session=found.run.session,
            run=f"row {found.run.row}",
        )


RULE = RunsRule(
    id="run-doubtful",
    severity=Severity.WARNING,
    title="A run shows what nothing else in the trial bears out.",
    looks_at=(
        "runs: set_point",
        "runs: direction",
        "protocol.measures",
    ),
    why=(
        f"A value more than {FAR:g} standard deviations from what its set point, its session and the "
        "current of the hour let expect, as medians tell them, is hardly ever honest scatter, heavy "
        "tails included. One such value hides every difference at its set point."
    ),
    fix=(
        "look at the run's sheet or log; correct it, or set it aside with a reason that does "
        "not rest on the value. The answer says what the verdicts are with and without it"
    ),
    source=(
        "B. Iglewicz and D. Hoaglin, How to Detect and Handle Outliers (1993): medians and median "
        "deviations; simulation: the limit (tests/calibration/test_doubtful.py)"
    ),
    passes=Example(runs="S1,1000,1,out,2026-05-04T08:30:00,60,6.93,1000,8.1,,"),
    fails=Example(runs="S1,1000,1,out,2026-05-04T08:30:00,60,13.86,1000,8.0,,"),
    check=check,
)
