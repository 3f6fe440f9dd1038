"""A limited condition was not recorded."""

from __future__ import annotations

from slackwater.protocol.rules._breaches import common_unit, groups, recorded
from slackwater.protocol.rules._kit import Example, Found, Severity, Trial, TrialRule
from slackwater.protocol.rules._needs import begun
from slackwater.protocol.rules._trials import compared, listed, session_place, touched


def check(trial: Trial) -> Found:
    if not trial.protocol.limits:
        yield RULE.not_applicable("no limit is declared")
    taking_part = compared(trial)
    sessions = [session for session in trial.sessions if session.configuration in taking_part]
    everywhere: list[tuple[str, str]] = []
    for _, name, limit in groups(trial):
        if name in trial.protocol.measures:
            continue  # read on every run
        unit = common_unit(trial, name, limit)
        bare = [s for s in sessions if unit is None or recorded(trial, s, name, unit) is None]
        if not bare:
            continue
        ids = [session.id for session in bare]
        if (
            len(sessions) > 1
            and len(bare) == len(sessions)
            and not any(s.value(name) for s in bare)
        ):
            everywhere.append((name.replace("_", " "), str(limit)))
            continue
        unlike = [session.id for session in bare if session.value(name) is not None]
        words = name.replace("_", " ")
        message = f"{words} is limited ({limit}) and not recorded in {listed(ids, 8)}"
        if unlike:
            message = (
                f"{words} in {listed(unlike, 8)} cannot be held against its limit ({limit}): another "
                "kind of quantity, and no fuel_capacity to go by"
            )
        yield RULE.found(
            session_place(trial, ids[0], name),
            message + touched(trial, ids),
            session=ids[0] if len(ids) == 1 else None,
        )
    if everywhere:
        told = ", ".join(f"{words} ({limit})" for words, limit in everywhere)
        are = "is limited and recorded" if len(everywhere) == 1 else "are limited and recorded"
        ids = [session.id for session in sessions]
        yield RULE.found(
            session_place(trial, ids[0]), f"{told} {are} in no session{touched(trial, ids)}"
        )


RULE = TrialRule(
    id="limit-not-recorded",
    severity=Severity.WARNING,
    title="A limited condition was not recorded.",
    looks_at=(
        "sessions",
        "protocol.loading",
        "protocol.conditions",
    ),
    why=(
        "A limit that nobody checked is a hope. Whether the session kept it cannot be told "
        "afterwards, so that its verdicts rest on trust."
    ),
    fix="add the value to the session, from the log or the harbour's record",
    source="common practice",
    passes=Example(trial="sessions: [{id: S2, wind_speed: 5 kn}]"),
    fails=Example(trial="sessions: [{id: S2, wind_speed: }]"),
    check=check,
    needs=(begun,),
)
