"""The set point was not held within its tolerance."""

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
from slackwater.analysis.checking.run_rules._needs import held_measured
from slackwater.protocol.units.quantity import Quantity


def allowed(tolerance: Quantity, set_point: float, unit: str) -> float:
    """How far a run may stray from its set point. [unit]"""
    if tolerance.unit == "%" and unit != "%":
        return abs(set_point) * tolerance.value / 100
    return tolerance.size_in(unit)


def check(trial: Trial, runs: RunTable) -> Found:
    protocol = trial.protocol
    held, unit = protocol.set_point_measure, protocol.set_point_unit
    own = protocol.measure(held).unit
    tolerance = protocol.runs.set_points.hold
    bare = [
        session
        for session, group in sessions_of(runs).items()
        if not any(run.used and math.isfinite(run.values.get(held, math.nan)) for run in group)
    ]
    if bare:
        yield RULE.unseen(f"{held} was not recorded in {listed(bare, 8)}", f"{held} of every run")
    for session, group in sessions_of(runs).items():
        strayed, told = [], []
        for run in group:
            value = run.values.get(held, math.nan)
            if not run.used or not math.isfinite(value) or not math.isfinite(run.set_point):
                continue
            value = Quantity(value, own).to(unit).value
            off = abs(value - run.set_point)
            if off > allowed(tolerance, run.set_point, unit) + 1e-9 * abs(run.set_point):
                strayed.append(run)
                told.append(f"row {run.row} ({number(value)} at {number(run.set_point)} {unit})")
        if strayed:
            points = at_set_points(trial, [run.set_point for run in strayed])
            yield RULE.found(
                row_place(trial, runs, strayed[0].row, held),
                f"session {session}: {held} strayed by more than {tolerance} in {listed(told)}"
                + touched(trial, [session], points),
                session=session,
                run=f"row {strayed[0].row}" if len(strayed) == 1 else None,
            )


RULE = RunsRule(
    id="set-point-not-held",
    severity=Severity.WARNING,
    title="The set point was not held within its tolerance.",
    looks_at=(
        "runs: set_point",
        "protocol.runs.set_points.hold",
    ),
    why=(
        "Speed goes with engine speed, so that a run off its set point measures another point "
        "of the curve. The tolerance was set so that this could not matter."
    ),
    fix="correct the value if it is wrong; else set the run aside with the reason, or repeat it",
    source=(
        "the protocol's own tolerance; common practice: speed about proportional to engine speed"
    ),
    passes=Example(runs="S1,1000,1,out,2026-05-04T08:30:00,60,6.9,1009,8.0,,"),
    fails=Example(runs="S1,1000,1,out,2026-05-04T08:30:00,60,6.9,1011,8.0,,"),
    at_limit=Example(runs="S1,1000,1,out,2026-05-04T08:30:00,60,6.9,1010,8.0,,"),
    check=check,
    needs=(held_measured,),
)
