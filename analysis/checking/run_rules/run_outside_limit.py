"""A run was made in conditions outside their limit."""

from __future__ import annotations

from slackwater.analysis.checking.run_rules._conditions import run_breaches
from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    listed,
    row_place,
    touched,
)
from slackwater.protocol.rules._breaches import groups


def check(trial: Trial, runs: RunTable) -> Found:
    if not any(name in trial.protocol.measures for _, name, _ in groups(trial)):
        yield RULE.not_applicable("no limit is declared on what every run records")
        return
    for breach in run_breaches(trial, runs):
        rows = [f"row {row} ({text})" for row, text in breach.rows]
        yield RULE.found(
            row_place(trial, runs, breach.rows[0][0], breach.name),
            f"session {breach.session}: {breach.name.replace('_', ' ')} outside its limit "
            f"({breach.limit}) in {listed(rows)}{touched(trial, [breach.session])}",
            session=breach.session,
            run=f"row {breach.rows[0][0]}" if len(rows) == 1 else None,
        )


RULE = RunsRule(
    id="run-outside-limit",
    severity=Severity.ERROR,
    title="A run was made in conditions outside their limit.",
    looks_at=(
        "runs: measures",
        "protocol.loading",
        "protocol.conditions",
    ),
    why=(
        "Where a condition is read on every run, the limit holds for every run. Outside it the "
        "day may be larger than the change."
    ),
    fix=("correct the value if it is wrong; else set the run aside with that reason, or repeat it"),
    source="the protocol's own limit; common practice",
    passes=Example(protocol="{loading: {fuel_flow: {at_most: 30 L/h}}}"),
    fails=Example(protocol="{loading: {fuel_flow: {at_most: 21 L/h}}}"),
    at_limit=Example(protocol="{loading: {fuel_flow: {at_most: 22.5 L/h}}}"),
    check=check,
)
