"""Double runs did not start in the direction declared."""

from __future__ import annotations

from itertools import pairwise

from slackwater.analysis.checking.run_rules._kit import (
    DoubleRun,
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    all_double_runs,
    listed,
    row_place,
    touched,
)
from slackwater.analysis.checking.run_rules._needs import reciprocal


def out_of_turn(found: list[DoubleRun], first_direction: str) -> list[DoubleRun]:
    """The double runs that start otherwise than declared, in the order made."""
    whole = [one for one in found if len(one.runs) > 1 and all(r.direction for r in one.runs)]
    firsts = [one.runs[0].direction for one in whole]
    if first_direction == "fixed":
        return [one for one, first in zip(whole, firsts, strict=True) if first != firsts[0]]
    by_set_point: dict[float, list[DoubleRun]] = {}
    for one in whole:
        by_set_point.setdefault(one.set_point, []).append(one)
    found_here = [
        after
        for group in by_set_point.values()
        for before, after in pairwise(group)
        if before.runs[0].direction == after.runs[0].direction
    ]
    if all(len(group) == 1 for group in by_set_point.values()) and len(whole) > 2:
        # One double run at each set point: the turn goes from set point to set point.
        found_here = whole[1:] if len(set(firsts)) == 1 else []
    return found_here


def check(trial: Trial, runs: RunTable) -> Found:
    declared = trial.protocol.runs.first_direction
    for session, found in all_double_runs(runs).items():
        odd = out_of_turn(found, declared)
        if odd:
            told = [f"row {one.row} ({one.runs[0].direction})" for one in odd]
            words = "alternate" if declared == "alternate" else "stay the same"
            yield RULE.found(
                row_place(trial, runs, odd[0].row, "direction"),
                f"session {session}: the first direction of the double runs does not {words}: "
                f"{listed(told)}{touched(trial, [session])}",
                session=session,
            )


RULE = RunsRule(
    id="first-direction",
    severity=Severity.WARNING,
    title="Double runs did not start in the direction declared.",
    looks_at=(
        "runs: direction",
        "protocol.runs.first_direction",
    ),
    why=(
        "With the same direction first every time, the drift of the current within the pairs "
        "has one sign and does not average out. Alternating was declared to take it out."
    ),
    fix=(
        "correct the directions or starts if they are wrong; take the result at this session "
        "with care"
    ),
    source=(
        "algebra: alternating runs take out a steady drift; E. C. Tupper, Introduction to "
        "Naval Architecture, pp. 243-245"
    ),
    passes=Example(protocol="runs: {first_direction: alternate}"),
    fails=Example(protocol="runs: {first_direction: fixed}"),
    check=check,
    needs=(reciprocal,),
)
