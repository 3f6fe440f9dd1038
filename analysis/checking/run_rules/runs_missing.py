"""Set points or double runs are missing."""

from __future__ import annotations

from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    all_double_runs,
    listed,
    nearest_declared,
    row_place,
    set_point_text,
    touched,
)


def check(trial: Trial, runs: RunTable) -> Found:
    protocol = trial.protocol
    wanted, reciprocal = protocol.runs.double_runs, protocol.runs.directions == "reciprocal"
    for session, found in all_double_runs(runs).items():
        # A run set aside with its reason was made, and is on record.
        made = {declared: 0 for declared in protocol.set_point_values}
        for one in found:
            declared = nearest_declared(trial, one.set_point)
            whole = {run.direction for run in one.runs} == {"out", "back"}
            if declared is not None and (whole or not reciprocal):
                made[declared] += 1
        short = [value for value, count in made.items() if count < wanted]
        if not short:
            continue
        told = [f"{made[value]} of {wanted} at {set_point_text(trial, value)}" for value in short]
        points = [set_point_text(trial, value) for value in short]
        noun = "double runs" if reciprocal else "runs"
        yield RULE.found(
            row_place(trial, runs, found[0].row if found else 1),
            f"session {session} lacks {noun}: {listed(told)}{touched(trial, [session], points)}",
            session=session,
        )


RULE = RunsRule(
    id="runs-missing",
    severity=Severity.WARNING,
    title="Set points or double runs are missing.",
    looks_at=(
        "runs: set_point",
        "runs: double_run",
        "protocol.runs.double_runs",
    ),
    why=(
        "A set point that one configuration lacks cannot be compared, and one with fewer double"
        " runs weighs less. Runs left out because they looked wrong bend the result."
    ),
    fix=(
        "add their rows; a run that was made and cannot be used stays in the table with its "
        "reason under set_aside"
    ),
    source=("40 CFR 1066, 1066.601(b): all results are reported, also those discarded"),
    passes=Example(protocol="runs: {double_runs: 2}"),
    fails=Example(protocol="runs: {double_runs: 3}"),
    at_limit=Example(protocol="runs: {double_runs: 2}"),
    check=check,
)
