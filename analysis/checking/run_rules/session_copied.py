"""A session carries the values of another."""

from __future__ import annotations

from slackwater.analysis.checking.run_rules._copies import copied
from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    row_place,
    touched,
)
from slackwater.analysis.checking.run_rules._needs import with_less_than


def check(trial: Trial, runs: RunTable) -> Found:
    lack = with_less_than(1, runs, double_runs=True)
    if lack is not None:
        yield lack.of(RULE.id)
    for session in copied(runs)[0]:
        row = session.copies[0].again.row
        yield RULE.found(
            row_place(trial, runs, row),
            session.words + touched(trial, sorted({session.first, session.again})),
            session=session.again,
            run=f"row {row}",
        )


def _copy() -> str:
    rows = []
    for day, session in (("04", "S1"), ("19", "S5")):
        clock = 30
        for point, speeds, flow in ((1000, (6.91, 5.13), 8.1), (2000, (12.74, 10.88), 22.0)):
            for number in (1, 2):
                for way, speed in zip(("out", "back"), speeds, strict=True):
                    rows.append(
                        f"{session},{point},{number},{way},2026-05-{day}T08:{clock:02d}:00,60,"
                        f"{speed + 0.03 * number:.2f},{point + number},{flow + 0.1 * number:.1f},,"
                    )
                    clock += 3
    return "\n".join(rows) + "\n"


RULE = RunsRule(
    id="session-copied",
    severity=Severity.WARNING,
    title="A session carries the values of another.",
    looks_at=(
        "runs: session",
        "protocol.measures",
    ),
    why=(
        "A session pasted in again under a new name and new times counts as one more, though "
        "nothing new was measured. The noise between sessions then looks smaller than it is, and "
        "every verdict surer."
    ),
    fix="enter the session from its sheet or log again; delete the copy",
    source="common practice",
    passes=Example(runs="S1,1000,2,out,2026-05-04T08:37:30,60,6.9,1001,8.1,,"),
    fails=Example(runs=_copy()),
    check=check,
)
