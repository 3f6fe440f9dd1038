"""Double runs, and whole sessions, that carry the values of others."""

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
    set_point_text,
    touched,
)
from slackwater.analysis.checking.run_rules._needs import double_runs


def double_runs_copied(trial: Trial, runs: RunTable) -> Found:
    for copy in copied(runs)[1]:
        first, again = copy.first, copy.again
        sessions = sorted({first.session, again.session})
        points = [
            set_point_text(trial, value) for value in sorted({first.set_point, again.set_point})
        ]
        yield DOUBLE_RUN.found(
            row_place(trial, runs, again.row),
            f"the double runs from rows {first.row} and {again.row} carry the same values in both "
            f"directions{touched(trial, sessions, points)}",
            session=again.session,
            run=f"row {again.row}",
        )


def sessions_copied(trial: Trial, runs: RunTable) -> Found:
    for session in copied(runs)[0]:
        row = session.copies[0].again.row
        yield SESSION.found(
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


DOUBLE_RUN = RunsRule(
    id="double-run-copied",
    severity=Severity.WARNING,
    title="Two double runs carry the same values.",
    looks_at=(
        "runs: double_run",
        "protocol.measures",
    ),
    why=(
        "That every reading of two runs agrees with every reading of two others does not happen"
        " on the water, unless the readings are so coarse that many agree; the digits of the"
        " trial itself tell. A copied double run makes the scatter look smaller than it is."
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
    check=double_runs_copied,
    everywhere=double_runs(1),
)

SESSION = RunsRule(
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
    check=sessions_copied,
    everywhere=double_runs(1),
)

RULES = (DOUBLE_RUN, SESSION)
