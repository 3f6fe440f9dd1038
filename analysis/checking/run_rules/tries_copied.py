"""Two sessions have the same tries, figure by figure."""

from __future__ import annotations

from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    touched,
)
from slackwater.analysis.checking.run_rules._sprints import sprint, sprints
from slackwater.analysis.checking.run_rules._tries import made, tries, tries_place
from slackwater.analysis.intake.tries import Try

LEAST = 4  # figures that are alike; fewer may be so by chance, as watches show tenths


def check(trial: Trial, _: RunTable) -> Found:
    table = made(trial)
    for name in trial.protocol.manoeuvres:
        sessions: dict[str, list[Try]] = {}
        for each in table.used:
            if each.manoeuvre == name:
                sessions.setdefault(each.session, []).append(each)
        first: dict[tuple[float, ...], str] = {}
        for session, mine in sessions.items():
            read = tuple(value for each in _in_order(mine) for value in each.values.values())
            earlier = first.setdefault(read, session) if len(read) >= LEAST else session
            if earlier != session:
                yield RULE.found(
                    tries_place(trial, mine[0].row),
                    f"all {len(read)} figures of {name} in session {session} are those of session "
                    f"{earlier}{touched(trial, [earlier, session])}",
                    session=session,
                )


def _in_order(mine: list[Try]) -> list[Try]:
    return sorted(mine, key=lambda each: (each.direction, each.number))


RULE = RunsRule(
    id="tries-copied",
    severity=Severity.WARNING,
    title="Two sessions have the same tries, figure by figure.",
    looks_at=("manoeuvres: session", "manoeuvres: try", "manoeuvres: direction"),
    why=(
        "No hand does the same thing twice to the last digit, so one of the two was copied. It makes"
        " sessions look steadier than they are, and a verdict surer."
    ),
    fix="write the session down from its own sheet, or set its tries aside with the reason",
    source="common practice",
    passes=Example(
        protocol=sprint(2),
        tries=sprints(
            "A out 5.07 back 5.51 back 5.22 out 5.22",
            "A out 5.13 back 5.08 back 5.14 out 5",
            "A out 4.86 back 4.83 back 4.78 out 5.07",
            "A out 5.13 back 5.35 back 5.12 out 5.08",
            "A out 5.16 back 5.02 back 4.64 out 5.24",
            "A out 4.93 back 5.07 back 4.97 out 5.62",
        ),
    ),
    fails=Example(
        protocol=sprint(2),
        tries=sprints(
            "A out 5.07 back 5.51 back 5.22 out 5.22",
            "A out 5.13 back 5.08 back 5.14 out 5",
            "A out 4.86 back 4.83 back 4.78 out 5.07",
            "A out 5.13 back 5.35 back 5.12 out 5.08",
            "A out 5.13 back 5.08 back 5.14 out 5",
            "A out 4.93 back 5.07 back 4.97 out 5.62",
        ),
    ),
    check=check,
    needs=(tries,),
)
