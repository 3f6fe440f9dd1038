"""A value lies far from the others at its set point."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import TypeVar

from slackwater.analysis.checking.run_rules._doubtful import doubtful_runs
from slackwater.analysis.checking.run_rules._kit import (
    DoubleRun,
    Example,
    Found,
    Iterator,
    RunMade,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    all_double_runs,
    at_set_points,
    listed,
    number,
    row_place,
    set_point_text,
    touched,
)
from slackwater.analysis.checking.run_rules._outliers import cutoff, mad, z_scores

FEWEST = 5  # values at a set point; with fewer a median says little
FLOOR = 0.002  # least median absolute deviation, as a fraction
# The median absolute deviation of few values errs itself: of n normal ones by this over sqrt(n),
# as a fraction (its efficiency is 37 % of the standard deviation's, 1 / sqrt(2 * 0.37)).
MAD_ERROR = 1.17
OVER_GROUND = "speed_over_ground"  # carries the current, so that its double runs are looked at
Of = TypeVar("Of")


@dataclass(frozen=True, slots=True)
class Value:
    """One value and the run it comes from, or the double run for a speed over ground."""

    run: RunMade
    rows: str
    value: float


def values_of(
    trial: Trial, runs: RunTable, name: str, doubted: Collection[int] = ()
) -> dict[tuple[str, float], list[Value]]:
    """The values of one measure by configuration and set point."""
    found: dict[tuple[str, float], list[Value]] = {}
    reciprocal = trial.protocol.runs.directions == "reciprocal"
    for session in all_double_runs(runs).values():
        for one in session:
            key = (one.configuration, one.set_point)
            pair = one.pair()
            if name == OVER_GROUND and reciprocal:
                if pair is None or any(run.row in doubted for run in pair):
                    continue
                mean = (pair[0].values[name] + pair[1].values[name]) / 2
                rows = f"rows {pair[0].row} and {pair[1].row}"
                found.setdefault(key, []).append(Value(one.runs[0], rows, mean))
                continue
            for run in one.runs:
                if run.used and run.row not in doubted:
                    value = Value(run, f"row {run.row}", run.values[name])
                    found.setdefault(key, []).append(value)
    return found


def outliers(
    groups: dict[tuple[str, float], list[Value]], ratio: bool
) -> Iterator[tuple[Value, float, float]]:
    """Each outlier with the median of its group and its modified z-score."""
    seen: list[tuple[float, Value, float, float]] = []
    for (_, set_point), group in groups.items():
        kept = [one for one in group if math.isfinite(one.value) and (one.value > 0 or not ratio)]
        if len(kept) < FEWEST:
            continue
        middle = median(one.value for one in kept)
        for one in kept:
            off = math.log(one.value / middle) if ratio else one.value - middle
            seen.append((set_point, one, middle, off))
    # What shifts a whole session is the noise between sessions, and makes no run an outlier.
    of_session: dict[str, list[float]] = {}
    for _, one, _, off in seen:
        of_session.setdefault(one.run.session, []).append(off)
    by_set_point: dict[float, list[tuple[Value, float, float]]] = {}
    shifts = {session: median(offs) for session, offs in of_session.items()}
    for set_point, one, middle, off in seen:
        off -= shifts[one.run.session]
        by_set_point.setdefault(set_point, []).append((one, middle, off))
    yield from scored(by_set_point, ratio)


def scored(
    by_set_point: dict[float, list[tuple[Of, float, float]]], ratio: bool
) -> Iterator[tuple[Of, float, float]]:
    """Those of the values whose distance from their median is an outlier's, with the z-score.

    Parameters
    ----------
    by_set_point : dict of lists
        Of what the value is, the median that it belongs to, and its distance from that: a
        logarithm where ratios are compared.
    """
    found = {point: [off for *_, off in group] for point, group in by_set_point.items()}
    levels = {
        point: abs(median(middle for _, middle, _ in group)) if ratio else 1.0
        for point, group in by_set_point.items()
    }
    spreads = {point: mad(offs) for point, offs in found.items()}
    if not spreads:
        return
    # A few values can agree by chance, so that the sweep as a whole has its say: some instruments
    # scatter by a part of the value, others by so much whatever the value.
    relative = max(median(spreads.values()), FLOOR if ratio else 0.0)
    absolute = median(spread * levels[point] for point, spread in spreads.items())
    limit = cutoff(sum(len(offs) for offs in found.values()))
    for point, group in by_set_point.items():
        own = spreads[point] * (1 + MAD_ERROR / math.sqrt(len(group)))
        own = own if len(group) >= FEWEST else 0.0
        spread = max(own, relative, absolute / levels[point], rounding(found[point]) / 2)
        for (one, middle, _), score in zip(group, z_scores(found[point], spread), strict=True):
            if abs(score) > limit:
                yield one, middle, score


def rounding(values: list[float]) -> float:
    """The step between values that were rounded; 0 where no two are alike."""
    steps = sorted({round(value, 12) for value in values})
    gaps = [after - before for before, after in pairwise(steps) if after - before > 1e-9]
    return min(gaps) if gaps and 2 * len(steps) < len(values) else 0.0


def uneven(
    trial: Trial, runs: RunTable, name: str, ratio: bool
) -> Iterator[tuple[DoubleRun, float, float]]:
    """Double runs whose two values differ unlike those of the others, with the z-score."""
    pairs: list[tuple[DoubleRun, float, float]] = []
    for session in all_double_runs(runs).values():
        for one in session:
            pair = one.pair()
            out, back = (run.values[name] for run in pair) if pair else (math.nan, math.nan)
            if math.isfinite(out - back) and (min(out, back) > 0 or not ratio):
                middle = (out + back) / 2
                pairs.append((one, middle, math.log(out / back) if ratio else out - back))
    if len(pairs) < FEWEST:
        return
    usual = median(off for *_, off in pairs)
    by_set_point: dict[float, list[tuple[DoubleRun, float, float]]] = {}
    for one, middle, off in pairs:
        by_set_point.setdefault(one.set_point, []).append((one, middle, off - usual))
    yield from scored(by_set_point, ratio)


def check(trial: Trial, runs: RunTable) -> Found:
    protocol = trial.protocol
    doubted = {found.run.row for found in doubtful_runs(trial, runs)}  # told by a rule of its own
    for name in protocol.measures:
        if name == protocol.set_point_measure:
            continue
        measure = protocol.measure(name)
        groups = values_of(trial, runs, name, doubted)
        few = at_set_points(trial, [key[1] for key, all_ in groups.items() if len(all_) < FEWEST])
        if few:
            yield RULE.unseen(
                f"{name}: fewer than {FEWEST} values of a configuration at {listed(few)}",
                f"{FEWEST} runs with each configuration at each set point",
            )
        told = set(doubted)
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
        for double, _, score in uneven(trial, runs, name, measure.scale == "ratio"):
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
        "B. Iglewicz and D. Hoaglin, How to Detect and Handle Outliers (1993): modified "
        "z-score above 3.5; NIST/SEMATECH e-Handbook of Statistical Methods, detection of "
        "outliers: the same"
    ),
    passes=Example(runs="S1,1000,1,out,2026-05-04T08:30:00,60,6.93,1000,8.1,,"),
    fails=Example(runs="S1,1000,1,out,2026-05-04T08:30:00,60,6.93,1000,8.6,,"),
    check=check,
)
