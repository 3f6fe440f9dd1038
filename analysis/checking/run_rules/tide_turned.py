"""The tide turned in a session, and the simplest method takes the current out."""

from __future__ import annotations

from slackwater.analysis.checking.run_rules._conditions import smooth_currents
from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    all_double_runs,
    number,
    row_place,
    touched,
)
from slackwater.analysis.checking.run_rules._needs import (
    double_runs,
    over_ground,
    pair_by_pair,
    reciprocal,
)

CLEAR = 0.1  # [kn], beyond it a current has a direction


def check(trial: Trial, runs: RunTable) -> Found:
    for session, found in all_double_runs(runs).items():
        seen = smooth_currents(trial, found)
        if not seen:
            continue
        currents = [current for _, current in seen]
        low, high = min(currents), max(currents)
        if low < -CLEAR and high > CLEAR:
            yield RULE.found(
                row_place(trial, runs, seen[0][0].row),
                f"session {session}: the current went from {number(round(currents[0], 2))} to "
                f"{number(round(currents[-1], 2))} kn through slack water, and 'double_run' keeps its "
                f"drift{touched(trial, [session])}",
                session=session,
            )


RULE = RunsRule(
    id="tide-turned",
    severity=Severity.WARNING,
    title="The tide turned in a session, and the simplest method takes the current out.",
    looks_at=(
        "runs: speed_over_ground",
        "protocol.analysis.current",
    ),
    why=(
        "About its turn the current changes fastest, and 'double_run' keeps half of what "
        "changes between the two runs of a pair. The session's speeds then hold a part of the "
        "tide."
    ),
    fix=(
        "declare 'current: tide_fit' or 'mean_of_means' for the next trial; take this session "
        "with care"
    ),
    source=(
        "algebra: a pair keeps half the drift between its runs, and one double run about "
        "slack water is the worst case"
    ),
    passes=Example(protocol="analysis: {current: double_run}"),
    fails=Example(
        protocol="analysis: {current: double_run}",
        runs="""\
S1,2000,1,out,2026-05-04T08:40:00,60,10.90,2000,22.0,,
S1,2000,1,back,2026-05-04T08:42:30,60,12.70,2000,22.0,,
S1,2000,2,back,2026-05-04T08:45:00,60,12.70,2000,22.0,,
S1,2000,2,out,2026-05-04T08:47:30,60,10.90,2000,22.0,,
""",
    ),
    check=check,
    everywhere=double_runs(3),
    needs=(
        reciprocal,
        over_ground,
        pair_by_pair,
    ),
)
