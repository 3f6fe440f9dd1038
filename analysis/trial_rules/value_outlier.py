"""A value lies far from the others at its set point."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

from slackwater.analysis.trial_rules._outliers import cutoff, mad, z_scores
from slackwater.analysis.trial_rules._rule import RunsRule
from slackwater.analysis.trial_rules._runs import (
    DoubleRun,
    RunMade,
    all_double_runs,
    number,
    row_place,
    set_point_text,
)
from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.rules._rule import Example
from slackwater.protocol.rules._trials import touched

if TYPE_CHECKING:
    from slackwater.analysis.intake.tables import RunTable
    from slackwater.protocol.trial import Trial

FEWEST = 5  # values at a set point; with fewer a median says little
FLOOR = 0.002  # least median absolute deviation, as a fraction: rounding makes values alike
OVER_GROUND = "speed_over_ground"  # carries the current, so that its double runs are looked at


@dataclass(frozen=True, slots=True)
class Value:
    """One value and the run it comes from, or the double run for a speed over ground."""

    run: RunMade
    rows: str
    value: float


def values_of(trial: Trial, runs: RunTable, name: str) -> dict[tuple[str, float], list[Value]]:
    """The values of one measure by configuration and set point."""
    found: dict[tuple[str, float], list[Value]] = {}
    reciprocal = trial.protocol.runs.directions == "reciprocal"
    for session in all_double_runs(runs).values():
        for one in session:
            key = (one.configuration, one.set_point)
            pair = one.pair()
            if name == OVER_GROUND and reciprocal:
                if pair is None:
                    continue
                mean = (pair[0].values[name] + pair[1].values[name]) / 2
                rows = f"rows {pair[0].row} and {pair[1].row}"
                found.setdefault(key, []).append(Value(one.runs[0], rows, mean))
                continue
            for run in one.runs:
                if run.used:
                    value = Value(run, f"row {run.row}", run.values[name])
                    found.setdefault(key, []).append(value)
    return found


def outliers(
    groups: dict[tuple[str, float], list[Value]], ratio: bool
) -> Iterator[tuple[Value, float, float]]:
    """Each outlier with the median of its group and its modified z-score."""
    by_set_point: dict[float, list[tuple[Value, float, float]]] = {}
    for (_, set_point), group in groups.items():
        kept = [one for one in group if math.isfinite(one.value) and (one.value > 0 or not ratio)]
        if len(kept) < FEWEST:
            continue
        middle = median(one.value for one in kept)
        for one in kept:
            off = math.log(one.value / middle) if ratio else one.value - middle
            by_set_point.setdefault(set_point, []).append((one, middle, off))
    spreads = [mad([off for *_, off in group]) for group in by_set_point.values()]
    if not spreads:
        return
    # Neither its own set point nor the sweep as a whole may call a value common.
    floor = max(median(spreads), FLOOR if ratio else 0.0)
    limit = cutoff(sum(len(group) for group in by_set_point.values()))
    for members in by_set_point.values():
        scores = z_scores([off for *_, off in members], floor)
        for (one, middle, _), score in zip(members, scores, strict=True):
            if abs(score) > limit:
                yield one, middle, score


def uneven(
    trial: Trial, runs: RunTable, name: str, ratio: bool
) -> Iterator[tuple[DoubleRun, float]]:
    """Double runs whose two values differ unlike those of the others, with the z-score."""
    pairs: list[tuple[DoubleRun, float]] = []
    for session in all_double_runs(runs).values():
        for one in session:
            pair = one.pair()
            out, back = (run.values[name] for run in pair) if pair else (math.nan, math.nan)
            if math.isfinite(out - back) and (min(out, back) > 0 or not ratio):
                pairs.append((one, math.log(out / back) if ratio else out - back))
    if len(pairs) < FEWEST:
        return
    middle = median(off for _, off in pairs)
    scores = z_scores([off - middle for _, off in pairs], FLOOR if ratio else 0.0)
    for (one, _), score in zip(pairs, scores, strict=True):
        if abs(score) > cutoff(len(pairs)):
            yield one, score


def check(trial: Trial, runs: RunTable) -> Iterator[Finding]:
    protocol = trial.protocol
    for name in protocol.measures:
        if name == protocol.set_point_measure:
            continue
        measure = protocol.measure(name)
        groups = values_of(trial, runs, name)
        told: set[int] = set()
        for one, middle, score in outliers(groups, measure.scale == "ratio"):
            told.add(one.run.row)
            point = set_point_text(trial, one.run.set_point)
            what = "mean of " if one.rows.startswith("rows") else ""
            yield RULE.found(
                row_place(trial, runs, one.run.row, name),
                f"session {one.run.session}, {what}{one.rows}: {name} {number(one.value)} "
                f"{measure.unit} at {point}, where the median of {one.run.configuration} is "
                f"{number(middle)}: modified z-score {score:.1f}"
                + touched(trial, [one.run.session], [point]),
                session=one.run.session,
                run=f"row {one.run.row}",
            )
        # A speed over ground differs between out and back by twice the current.
        if name == OVER_GROUND:
            continue
        for double, score in uneven(trial, runs, name, measure.scale == "ratio"):
            if told & {run.row for run in double.runs}:
                continue
            values = " and ".join(number(run.values[name]) for run in double.runs if run.used)
            point = set_point_text(trial, double.set_point)
            yield RULE.found(
                row_place(trial, runs, double.row, name),
                f"session {double.session}, double run from row {double.row}: {name} {values} "
                f"{measure.unit} out and back at {point}, unlike the other double runs: modified "
                f"z-score {score:.1f}{touched(trial, [double.session], [point])}",
                session=double.session,
                run=f"row {double.row}",
            )


RULE = RunsRule(
    id="value-outlier",
    severity=Severity.WARNING,
    title="A value lies far from the others at its set point.",
    looks_at=(
        "runs: set_point",
        "protocol.measures",
    ),
    why=(
        "A slip of the pen, a wrong unit or a disturbed run stands out from the other runs of "
        "the configuration at the set point. It moves the mean by more than honest scatter, and"
        " widens every interval."
    ),
    fix=(
        "look at the run's sheet or log; correct it, or set it aside with a reason that does "
        "not rest on the value. Nothing is left out by itself"
    ),
    source=(
        "B. Iglewicz and D. Hoaglin (1993), modified z-score above 3.5, as in NIST/SEMATECH "
        "e-Handbook, 1.3.5.17 (from memory)"
    ),
    passes=Example(runs="S1,1000,1,out,2026-05-04T08:30:00,60,6.93,1000,8.1,,"),
    fails=Example(runs="S1,1000,1,out,2026-05-04T08:30:00,60,7.91,1000,8.0,,"),
    check=check,
)
