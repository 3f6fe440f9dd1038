"""Two double runs carry the same values."""

from __future__ import annotations

import math

from slackwater.analysis.checking.run_rules._kit import (
    DoubleRun,
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
from slackwater.analysis.checking.run_rules._needs import with_less_than

FEWEST = 4  # values in two runs that must all agree


def check(trial: Trial, runs: RunTable) -> Found:
    lack = with_less_than(1, runs, double_runs=True)
    if lack is not None:
        yield lack.of(RULE.id)
    seen: dict[tuple[object, ...], DoubleRun] = {}
    for found in all_double_runs(runs).values():
        for one in found:
            pair = one.pair()
            if pair is None:
                continue
            values = [value for run in pair for value in run.values.values()]
            if sum(math.isfinite(value) for value in values) < FEWEST:
                continue
            key = (one.set_point, *("" if math.isnan(value) else value for value in values))
            first = seen.setdefault(key, one)
            if first is not one:
                sessions = sorted({first.session, one.session})
                yield RULE.found(
                    row_place(trial, runs, one.row),
                    f"the double runs from rows {first.row} and {one.row} carry the same values in "
                    f"both directions{touched(trial, sessions, [set_point_text(trial, one.set_point)])}",
                    session=one.session,
                    run=f"row {one.row}",
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
        " on the water. A copied double run makes the scatter look smaller than it is."
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
