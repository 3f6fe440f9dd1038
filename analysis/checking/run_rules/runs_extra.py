"""More double runs than declared."""

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
    wanted = trial.protocol.runs.double_runs
    for session, found in all_double_runs(runs).items():
        rows: dict[float, list[int]] = {}
        for one in found:
            if nearest_declared(trial, one.set_point) is not None and any(r.used for r in one.runs):
                rows.setdefault(one.set_point, []).append(one.row)
        over = {value: all_ for value, all_ in rows.items() if len(all_) > wanted}
        if over:
            told = [
                f"{len(all_)} at {set_point_text(trial, value)}" for value, all_ in over.items()
            ]
            points = [set_point_text(trial, value) for value in over]
            yield RULE.found(
                row_place(trial, runs, next(iter(over.values()))[wanted]),
                f"session {session} has more than the {wanted} double runs declared: {listed(told)}"
                + touched(trial, [session], points),
                session=session,
            )


RULE = RunsRule(
    id="runs-extra",
    severity=Severity.ADVICE,
    title="More double runs than declared.",
    looks_at=(
        "runs: double_run",
        "protocol.runs.double_runs",
    ),
    why=(
        "A double run repeated because the first looked wrong favours what was expected. A "
        "session with more runs than the others also weighs more at that set point."
    ),
    fix=(
        "say in 'note' why it was repeated; set the one aside that does not count, with the reason"
    ),
    source="common practice",
    passes=Example(protocol="runs: {double_runs: 3}"),
    fails=Example(protocol="runs: {double_runs: 1}"),
    at_limit=Example(protocol="runs: {double_runs: 2}"),
    check=check,
)
