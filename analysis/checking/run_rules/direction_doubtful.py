"""A double run shows a current unlike its neighbours'."""

from __future__ import annotations

import math
from itertools import combinations
from statistics import median

from slackwater.analysis.checking.run_rules._kit import (
    DoubleRun,
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    all_double_runs,
    number,
    row_place,
    set_point_text,
    touched,
)
from slackwater.analysis.checking.run_rules._needs import double_runs, over_ground, reciprocal
from slackwater.analysis.checking.run_rules._outliers import NORMAL_QUARTER, cutoff, mad

NEIGHBOURS = 4  # the nearest in time, on both sides where there are any
FEWEST = 4  # double runs in a session
FLOOR = 0.03  # [unit of speed], least median absolute deviation


def trend(currents: list[float], which: list[int]) -> float:
    """Median of all slopes between some of the currents (Theil and Sen); 0 for too few."""
    slopes = [(currents[b] - currents[a]) / (b - a) for a, b in combinations(sorted(which), 2)]
    return median(slopes) if len(which) >= FEWEST else 0.0


def leaps(found: list[DoubleRun]) -> list[tuple[DoubleRun, float, float]]:
    """Each double run in order with its current and how far that is from its neighbours'."""
    seen = []
    for one in found:
        pair = one.pair()
        if pair is not None:
            out, back = (run.values["speed_over_ground"] for run in pair)
            if math.isfinite(out) and math.isfinite(back):
                seen.append((one, (out - back) / 2))
    if len(seen) < FEWEST:
        return []
    currents = [current for _, current in seen]
    result = []
    for i, (one, current) in enumerate(seen):
        reach = range(max(i - 2 * NEIGHBOURS, 0), min(i + 2 * NEIGHBOURS + 1, len(seen)))
        others = [j for _, j in sorted((abs(j - i), j) for j in reach if j != i)]
        slope = trend(currents, others[: 2 * NEIGHBOURS])
        near = [currents[j] + slope * (i - j) for j in others[:NEIGHBOURS]]
        result.append((one, current, current - median(near)))
    return result


def check(trial: Trial, runs: RunTable) -> Found:
    protocol = trial.protocol
    seen = [leap for found in all_double_runs(runs).values() for leap in leaps(found)]
    spread = max(mad([off for *_, off in seen]), FLOOR)
    limit, unit = cutoff(len(seen)), protocol.measure("speed_over_ground").unit
    for one, current, off in seen:
        score = NORMAL_QUARTER * off / spread
        if abs(score) <= limit:
            continue
        usual = current - off
        turned = abs(-current - usual) < abs(off) / 3
        guess = "out and back seem exchanged" if turned else "a speed may be in error"
        point = set_point_text(trial, one.set_point)
        yield RULE.found(
            row_place(trial, runs, one.row, "direction"),
            f"session {one.session}: the double run from row {one.row} shows a current of "
            f"{number(round(current, 2))} {unit}, its neighbours about {number(round(usual, 2))}: "
            f"{guess}{touched(trial, [one.session], [point])}",
            session=one.session,
            run=f"row {one.row}",
        )


RULE = RunsRule(
    id="direction-doubtful",
    severity=Severity.WARNING,
    title="A double run shows a current unlike its neighbours'.",
    looks_at=(
        "runs: direction",
        "runs: speed_over_ground",
    ),
    why=(
        "Half the difference of a double run is the current, and currents do not leap from one "
        "double run to the next. Out and back exchanged, or a speed in error, is what leaps."
    ),
    fix=(
        "look at the sheet or the track; exchange the directions where they are the wrong way round"
    ),
    source=(
        "B. Iglewicz and D. Hoaglin, How to Detect and Handle Outliers (1993): modified "
        "z-score above 3.5; NIST/SEMATECH e-Handbook of Statistical Methods, detection of "
        "outliers: the same"
    ),
    passes=Example(protocol="runs: {directions: reciprocal}"),
    fails=Example(
        runs="""\
S1,2000,1,out,2026-05-04T08:40:00,60,10.90,2000,22.0,,
S1,2000,1,back,2026-05-04T08:42:30,60,12.70,2000,22.0,,
"""
    ),
    check=check,
    everywhere=double_runs(FEWEST),
    needs=(
        reciprocal,
        over_ground,
    ),
)
